"""What one sheet of a size can hold, by its worth: never less than it does.

A content stands unless it is refuted: by lines across the sheet (:mod:`nesting.packing.dearest`), because its
parts do not come off the sheet however they are joined (:mod:`nesting.packing.joints`), or otherwise
(:mod:`nesting.packing.refute`). All of it is in whole numbers, or with room for what rounding takes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np
from ortools.linear_solver import pywraplp

from nesting.packing.compiled import Loops
from nesting.packing.dearest import (
    ALL_OF_THEM,
    ALL_SEEN,
    DEAR_ENOUGH,
    DOES_NOT_LIE,
    FOUND,
    KEYS,
    LEAST,
    LOOK_LONGER,
    OTHERS,
    STANDS_AT,
    Branch,
    Known,
    Query,
    dearest,
    forbidden,
    keep,
)
from nesting.packing.functions import WHOLE, Ints
from nesting.packing.larger import AtLeast
from nesting.packing.lying import (
    A_STEP,
    ALL,
    DEPTH,
    EACH,
    ENOUGH,
    FAR_OFF,
    MOST_PARTS,
    MOST_SUMS,
    PART,
    UNTIL,
    Schedule,
    Shapes,
    may_lie,
)
from nesting.packing.refute import Refuter, Solver

if TYPE_CHECKING:
    from nesting.packing.bounds import Bound

AT_A_TIME = 12  # contents that are looked for
LOOK = 2_000  # steps for one content
ENOUGH_STEPS = 1_000_000  # after which it does if so many are found
SHARES = 0.75, 0.5, 0.25, 0.0  # of what a content can be worth more at the most: the dearest come first
PLACES = 4_000_003  # of answers, for all sizes together
MOST_CUTS = 20  # rounds of weights for multipliers
MULTIPLIER = 1 << 20
SURROGATE = 1 << 28  # what a sheet holds of all weights together
LINES = 3  # weights, besides, by which a branch is bounded


class Pricer:
    """Contents of one size that are not refuted, by their worth."""

    def __init__(self, bound: Bound, size: int, loops: Loops, steps: Ints) -> None:
        self.bound, self.size, self.loops, self.steps = bound, size, loops, steps
        self.refuter = Refuter(bound, thorough=False)
        self.most = bound.demand * bound.takes[:, size]
        self.shapes = self._shapes()
        self.schedule = _schedule()
        self.known = self._known()

    def _shapes(self) -> Shapes:
        items, kerf = self.bound.instance.items, self.bound.instance.saw.kerf
        beside = 0 if self.bound.slanted else kerf
        runs = np.zeros((2, len(items), 2), dtype=np.int64)
        chords = np.zeros_like(runs)
        for index, (item, sure) in enumerate(zip(items, self.bound.sure, strict=True)):
            for way, turned in enumerate(item.turns()):
                lines = ((sure.run, sure.chord_width), (sure.rise, sure.chord_length))
                for direction, (run, chord) in enumerate(lines[::-1] if turned else lines):
                    runs[direction, index, way] = run + beside
                    chords[direction, index, way] = chord + kerf
        length, width = self.bound.instance.sizes[self.size].usable
        room = np.array([[length + beside, width + kerf], [width + beside, length + kerf]], dtype=np.int64)
        ways = np.array([len(item.turns()) for item in items], dtype=np.int64)
        order = np.argsort([-item.twice_area for item in items], kind="stable").astype(np.int64)
        return Shapes(ways, runs, chords, room, order)

    def _known(self) -> Known | None:
        """None where so many different contents have no number."""
        radix = np.zeros((len(self.most), KEYS), dtype=np.int64)
        word, step = 0, 1
        for item, most in enumerate(self.most):
            if step * (int(most) + 1) >= FAR_OFF:
                word, step = word + 1, 1
            if word == KEYS:
                return None
            radix[item, word] = step
            step *= int(most) + 1
        places = PLACES // len(self.bound.instance.sizes) | 1
        shapes = ((places, KEYS + 1), 2, 1, 1, 1, 1)
        return Known(radix, *(np.zeros(shape, dtype=np.int64) for shape in shapes))

    def dearer(self, worth: Ints, least: int, solver: Solver, effort: float) -> list[Ints] | None:
        """Contents that are worth more than ``least`` and not refuted; none if there are none.

        None instead of a list where the effort does not tell.
        """
        while not self.bound.exhausted:
            found = self._ask(worth, least)
            if not found:
                return found
            stand = []
            for content in found:
                if self.bound.exhausted:
                    return None
                if self._refuted(content):
                    continue
                if not self.refuter.learn([self.size], [content], solver, effort):
                    stand.append(content)
            if stand:
                return stand
        return None

    def _refuted(self, content: Ints) -> bool:
        """By what was learned of another one meanwhile."""
        weights = self.bound.pools[self.size][self.bound.chosen[self.size]]
        light = bool((weights @ content <= WHOLE).all())
        return not light or bool(self.loops(forbidden, self._up_to_date(), content, 0))

    def _comes_apart(self, content: Ints) -> bool:
        """Whether its parts do not come off the sheet, which is learned then."""
        failing = self.bound.failing(self.size, content)
        if failing is not None:
            self.bound.exclude(self.size, failing, joined=True)
        return failing is not None

    def _learn(self, content: Ints) -> None:
        """Forbid a content that does not lie, without the small parts that it does not lie without either."""
        for item in self.shapes.order[::-1]:
            while content[item]:
                less = content.copy()
                less[item] -= 1
                if self._may_lie(less):
                    break
                content = less
        self.bound.exclude(self.size, content)

    def _may_lie(self, content: Ints) -> bool:
        return bool(self._count(LOOK_LONGER, may_lie, self.shapes, self.schedule, content, self.steps))

    def _count(self, look: int, loop: Callable[..., int], *asked: object) -> int:
        """What a loop says, with so many steps for a content; all that it takes are spent."""
        before = int(self.steps[ALL])
        self.steps[EACH] = look
        answer = int(self.loops(loop, *asked))
        self.bound.spend((int(self.steps[ALL]) - before) * A_STEP)
        return answer

    def all_dearer(self, worth: Ints, least: int, most: int, effort: float) -> list[Ints] | None:
        """All contents worth more than ``least`` that are not refuted, none within another.

        None where there are more than ``most`` of them before any is looked at closely, or the effort, for
        that many deterministic seconds, does not tell. Of items that are worth nothing they have none.
        """
        query = self._query(worth)
        query.facts[ALL_OF_THEM] = 1
        until = self.bound.spent + effort
        whole, branch = self._enumerate(query, least, (1, most), until)
        return self._largest(branch.found[: query.facts[FOUND]]) if whole else None

    def _largest(self, found: Ints) -> list[Ints] | None:
        """Those that may come off a sheet and are within no other; None if the effort does not tell."""
        kept = np.zeros((0, found.shape[1]), dtype=np.int64)
        for content in found[np.argsort(-found.sum(axis=1), kind="stable")]:
            if self.bound.exhausted:
                return None
            within = (kept >= content).all(axis=1).any()
            if not within and self.bound.failing(self.size, content, at_a_glance=True) is None:
                kept = np.concatenate((kept, content[None, :]))
        return list(kept)

    def _ask(self, worth: Ints, least: int) -> list[Ints] | None:
        """Of the dearest contents some; they are refuted sooner, and so forbid more, than lesser ones."""
        query = self._query(worth)
        more = _relaxed(query) - least
        for share in SHARES:
            above = least + max(0, math.floor(share * more))
            whole, branch = self._enumerate(query, above, (AT_A_TIME, AT_A_TIME), math.inf)
            pairs = zip(branch.best, branch.found, strict=True)
            found = [content for value, content in pairs if value > above]
            if found or not whole:
                return found or None
        return []

    def _enumerate(
        self, query: Query, least: int, places: tuple[int, int], until: float
    ) -> tuple[bool, Branch]:
        """Look at contents worth more than ``least``; whether at all of them, and what is found.

        Parameters
        ----------
        places : tuple of int
            For the worth of the best, and for contents.
        until : float
            Deterministic seconds that may be spent in all.
        """
        items, depth = len(query.worth), int(query.most.sum()) + 2
        shapes = (items, depth, depth, (depth, len(query.weights)), (depth, KEYS), (depth, items), depth,
                  places[0], (places[1], items))  # fmt: skip
        branch = Branch(*(np.zeros(shape, dtype=np.int64) for shape in shapes))
        branch.best[:] = least
        too_heavy = (query.weights > query.rooms[:, None]).any(axis=0)
        branch.left[0] = np.where((query.worth > 0) & ~too_heavy, query.most, 0)
        query.facts[LEAST], query.facts[STANDS_AT] = least, -1
        self.steps[ENOUGH] = self.steps[ALL] + ENOUGH_STEPS
        until = min(until, self.bound.until)
        ended = self._go_on(query, branch, until)
        while ended in (DEAR_ENOUGH, DOES_NOT_LIE) and not self.bound.exhausted:
            if ended == DOES_NOT_LIE:
                self._learn(branch.content.copy())
            elif not self._comes_apart(branch.content):
                self.loops(keep, query, branch)
            ended = self._go_on(query, branch, until)
        return ended == ALL_SEEN, branch

    def _go_on(self, query: Query, branch: Branch, until: float) -> int:
        """The enumeration, to the next content that is dear enough, or the end."""
        self.steps[UNTIL] = self.steps[ALL] + int(min(1e6, until - self.bound.spent) / A_STEP)
        asked = self.shapes, self.schedule, self._up_to_date(), query, branch, self.steps
        return self._count(LOOK, dearest, *asked)

    def _query(self, worth: Ints) -> Query:
        """Weights, their sum by multipliers before them, and the items by what they are worth for them."""
        weights, factors = self._multipliers(worth)
        scale = max(1, sum(factors) * WHOLE // SURROGATE)
        together = [sum(f * int(w) for f, w in zip(factors, column, strict=True)) // scale
                    for column in weights.T]  # fmt: skip
        useful = sorted(range(len(factors)), key=lambda row: -factors[row])
        rows = np.concatenate((np.array([together], dtype=np.int64), weights[useful]))
        rooms = [-(-sum(factors) * WHOLE // scale), *(WHOLE for _ in factors)]
        lines = 1 + min(LINES, sum(factor > 0 for factor in factors))
        ranked = [_by_weight(worth, row) for row in rows[:lines]]
        whole = [np.array(row, dtype=np.int64) for row in (rooms, ranked, [0, 0, -1, 0])]
        return Query(self.shapes.order, worth, self.most, rows, *whole)

    def _multipliers(self, worth: Ints) -> tuple[Ints, list[int]]:
        """Weights of the bound, those among them that the best broken content breaks, and their duals."""
        pool, chosen = self.bound.pools[self.size], self.bound.chosen[self.size]
        solver = pywraplp.Solver.CreateSolver("GLOP")
        shares = [solver.NumVar(0, float(most), "") for most in self.most]
        solver.Maximize(sum(float(v) * share for v, share in zip(worth, shares, strict=True)))
        rows: list[pywraplp.Constraint] = []
        for _ in range(MOST_CUTS):
            for index in chosen[len(rows) :]:
                row = solver.Constraint(-solver.infinity(), 1.0)
                for item in np.flatnonzero(pool[index]):
                    row.SetCoefficient(shares[item], float(pool[index, item]) / WHOLE)
                rows.append(row)
            if solver.Solve() != pywraplp.Solver.OPTIMAL:
                return pool[chosen], [0] * len(chosen)  # never seen; then nothing is bounded by them
            over = pool @ np.array([share.solution_value() for share in shares]) / WHOLE - 1
            new = [int(r) for r in np.argsort(-over, kind="stable")[:3]
                   if over[r] > 1e-4 and int(r) not in chosen]  # fmt: skip
            if not new:
                break
            chosen += new
        duals = [max(0.0, row.dual_value()) for row in rows] + [0.0] * (len(chosen) - len(rows))
        return pool[chosen], [round(dual * MULTIPLIER / WHOLE) for dual in duals]

    def _up_to_date(self) -> Known:
        """With all that is refuted otherwise by now."""
        assert self.known is not None
        for clauses in self.bound.excluded[self.size][int(self.known.counts[OTHERS]) :]:
            self.known = _with(self.known, clauses)
        return self.known


def _by_weight(worth: Ints, weights: Ints) -> Ints:
    """Items, the dearest for their weight first; before them those that weigh nothing: all are taken."""
    shares = np.where(weights > 0, -worth / np.maximum(weights, 1), -np.inf)
    return np.argsort(shares, kind="stable")


def _relaxed(query: Query) -> float:
    """What a content can be worth at the most, by all weights together."""
    room, most = int(query.rooms[0]), 0.0
    for item in query.ranked[0]:
        weight, many = int(query.weights[0, item]), int(query.most[item])
        taken = min(1.0, room / (weight * many)) if weight * many else 1.0
        most += taken * many * int(query.worth[item])
        room -= math.floor(taken * many * weight)
    return most


def _with(known: Known, clauses: list[AtLeast]) -> Known:
    """One content more, in the same arrays as long as they have room."""
    now = int(known.counts[OTHERS])
    clause = int(known.first[now])
    held = int(known.begin[clause])
    ends = held + np.cumsum([len(items) for items, _ in clauses])
    known.counts[OTHERS] = now + 1
    return known._replace(
        first=_put(known.first, now + 1, [clause + len(clauses)]),
        begin=_put(known.begin, clause + 1, ends),
        items=_put(known.items, held, [item for items, _ in clauses for item in items]),
        least=_put(known.least, clause, [count for _, count in clauses]),
    )


def _put(row: Ints, begin: int, values: Sequence[int] | Ints) -> Ints:
    """Write values into a row, or into a longer copy of it."""
    if begin + len(values) > len(row):
        row = np.concatenate((row, np.zeros(len(row) + len(values), dtype=np.int64)))
    row[begin : begin + len(values)] = values
    return row


def _schedule() -> Schedule:
    shapes = (MOST_PARTS + 1, PART), (2 * MOST_PARTS + 4, DEPTH), MOST_SUMS
    return Schedule(*(np.zeros(shape, dtype=np.int64) for shape in shapes))
