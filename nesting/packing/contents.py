"""What one sheet of a size can hold, by its worth: never less than it does.

A content stands unless it is refuted: by lines across the sheet (:mod:`nesting.packing.dearest`), because its
parts do not come off the sheet however they are joined (:mod:`nesting.packing.joints`), or otherwise
(:mod:`nesting.packing.refute`). All of it is in whole numbers, or with room for what rounding takes.
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

import numpy as np
from ortools.linear_solver import pywraplp

from nesting.packing.compiled import Loops
from nesting.packing.dearest import (
    ALL_OF_THEM,
    FOUND,
    KEYS,
    Branch,
    Forbidden,
    Known,
    Query,
    dearest,
    forbidden,
)
from nesting.packing.functions import WHOLE, Ints
from nesting.packing.larger import larger_than, lifted
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

AT_A_TIME = 32  # contents that are looked for
LOOK, LOOK_LONGER = 2_000, 50_000  # steps for one content
ENOUGH_STEPS = 1_000_000  # after which it does if so many are found
PLACES = 2_000_003  # of answers, for all sizes together
MOST_CUTS = 20  # rounds of weights for multipliers
MULTIPLIER = 1 << 20


class Pricer:
    """Contents of one size that are not refuted, by their worth."""

    def __init__(self, bound: Bound, size: int, loops: Loops, steps: Ints) -> None:
        self.bound, self.size, self.loops, self.steps = bound, size, loops, steps
        self.refuter = Refuter(bound, thorough=False)
        self.most = bound.demand * bound.takes[:, size]
        self.larger = larger_than(bound.instance.items, bound.sure)
        self.shapes = self._shapes()
        self.schedule = _schedule()
        self.known = self._known()
        self.clauses: list[list[tuple[tuple[int, ...], int]]] = []

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
        return Known(
            radix, np.zeros((places, KEYS), np.int64), np.zeros(places, np.int32), np.zeros(1, np.int64)
        )

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
        """By what was learned of another one meanwhile, or by a longer look at the lines."""
        weights = self.bound.pools[self.size][self.bound.chosen[self.size]]
        if (weights @ content > WHOLE).any() or forbidden(self._forbidden(), content, 0):
            return True
        if self._may_lie(content):
            failing = self.bound.failing(self.size, content)
            if failing is not None:
                self.bound.excluded[self.size].append(failing)
            return failing is not None
        for item in self.shapes.order[::-1]:  # what is left out of a forbidden content forbids more
            while content[item]:
                less = content.copy()
                less[item] -= 1
                if self._may_lie(less):
                    break
                content = less
        self.bound.excluded[self.size].append(content)
        return True

    def _may_lie(self, content: Ints) -> bool:
        self.steps[EACH] = LOOK_LONGER
        return bool(self.loops(may_lie, self.shapes, self.schedule, content, self.steps))

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
        whole, branch = self._enumerate(self._query(worth), least, (AT_A_TIME, AT_A_TIME), math.inf)
        found = [content for value, content in zip(branch.best, branch.found, strict=True) if value > least]
        return found if whole or found else None

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
        assert self.known is not None
        items, depth = len(query.worth), len(query.order) + 1
        shapes = (items, depth, (depth, 2), (depth, max(1, len(query.weights))), (depth, KEYS), places[0],
                  (places[1], items))  # fmt: skip
        branch = Branch(*(np.zeros(shape, dtype=np.int64) for shape in shapes))
        branch.best[:] = least
        before = int(self.steps[ALL])
        self.steps[EACH] = LOOK
        self.steps[ENOUGH] = before + ENOUGH_STEPS
        left = min(until, self.bound.until) - self.bound.spent
        self.steps[UNTIL] = before + int(min(1e6, left) / A_STEP)
        whole = self.loops(
            dearest, self.shapes, self.schedule, self.known, self._forbidden(), query, branch, self.steps
        )
        self.bound.spend((int(self.steps[ALL]) - before) * A_STEP)
        return bool(whole), branch

    def _query(self, worth: Ints) -> Query:
        """Multipliers from the linear relaxation, rounded; the rest in whole numbers."""
        weights, factors = self._multipliers(worth)
        reduced = [int(value) * MULTIPLIER - sum(f * int(w) for f, w in zip(factors, column, strict=True))
                   for value, column in zip(worth, weights.T, strict=True)]  # fmt: skip
        reduced = [-(-value // MULTIPLIER) for value in reduced]
        order = np.array(sorted(range(len(worth)), key=lambda i: (-abs(reduced[i]), i)), dtype=np.int64)
        rest = [0]
        for item in order[::-1]:
            rest.append(rest[-1] + max(0, reduced[item]) * int(self.most[item]))
        facts = [WHOLE, -(-sum(factors) * WHOLE // MULTIPLIER), 0, 0]
        whole = [np.array(row, dtype=np.int64) for row in (reduced, rest[::-1], facts)]
        return Query(order, worth, self.most, whole[0], whole[1], weights, whole[2])

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

    def _forbidden(self) -> Forbidden:
        """All that is refuted otherwise by now, lifted."""
        for content in self.bound.excluded[self.size][len(self.clauses) :]:
            self.clauses.append(lifted(content, self.larger))
        first = np.cumsum([0, *(len(each) for each in self.clauses)])
        clauses = list(itertools.chain.from_iterable(self.clauses))
        begin = np.cumsum([0, *(len(items) for items, _ in clauses)])
        items = [item for items, _ in clauses for item in items]
        least = [count for _, count in clauses]
        return Forbidden(*(np.array(row, dtype=np.int64) for row in (first, begin, items, least)))


def _schedule() -> Schedule:
    shapes = (MOST_PARTS + 1, PART), (2 * MOST_PARTS + 4, DEPTH), MOST_SUMS
    return Schedule(*(np.zeros(shape, dtype=np.int64) for shape in shapes))
