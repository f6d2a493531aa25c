"""A lower bound on the money, which holds for every plan that the rules allow.

Weights of parts along one axis are dual feasible functions (Fekete and Schepers 2004; Carlier, Clautiaux
and Moukrim 2007): on any line across a sheet the weights of the parts that it crosses add up to at most
the sheet's. A second function along the other axis weighs a part's length, or says how many of a few
lines it must meet. Shares of items by sheet size and numbers of sheets, whole ones, then make an integer
programme whose optimum is the bound; functions are added while they cut off its solutions. Since the
numbers of sheets are whole, the bound is always a sum of prices that can really come about. Where no
function helps, the sheets of the solution are asked whether they could hold all parts at all.

Slanted cuts: where the job has tapers a part may lean, and two leaning neighbours are not parted by a
line along the sheet, so that products of functions need care. Then one of the two axes is only looked at
by sections: a part counts on those lines that surely cross it in full (:mod:`nesting.packing.sections` goes
on from there). Where rails are short, what holds of plans is said in :mod:`nesting.packing.halves`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
from ortools.sat.python import cp_model

from nesting.packing.columns import ColumnBound
from nesting.packing.compiled import Loops
from nesting.packing.functions import JOINT, WHOLE, Axis, Function, Ints, identity
from nesting.packing.instance import Instance, Size
from nesting.packing.joints import A_JOIN, Joints, room
from nesting.packing.larger import AtLeast, larger_joined, larger_than, lifted
from nesting.packing.refute import Assignment
from nesting.packing.sections import Sections
from nesting.packing.solver import SOLVED, solver_for
from nesting.packing.sure import sure_area, what_is_sure

if TYPE_CHECKING:
    from nesting.packing.seeking import Seeker

MOST_ROUNDS = 40
MOST_HELD = 12  # sheets, for the question whether they could hold all parts
MOST_VARIANTS = 64
FEW_HELD = 3  # sheets of several sizes are first asked about in that way, more by columns
MOMENT = 0.4  # of the effort of a question, for that as long as columns may tell
COLUMNS_SHARE = 0.8  # of what is left, for columns of one size
SET_EFFORT = 16  # times the effort of a question, for a set by columns
A_CONTENT = 0.06  # deterministic seconds for a question of what one sheet holds
CUT_STEPS = 1 << 26
FINAL = cp_model.OPTIMAL, cp_model.INFEASIBLE
FEW_PARTS = 60  # up to them all of the integer programme is in its relaxation
QUESTIONS = 20  # that may take the effort of one question to the full


def net_prices(instance: Instance, origins: Sequence[int]) -> tuple[list[int], int]:
    """Price of each size less the credit for all of it, and the credit for the parts, which no offcut is.

    A kept offcut is never more than what the parts leave, of the whole sheet where a size is a part of one.
    """
    areas = [math.prod(size.usable) for size in instance.sizes]
    whole = {of: max(a for a, o in zip(areas, origins, strict=True) if o == of) for of in origins}
    prices = [math.floor(size.price - instance.credit * whole[of])
              for size, of in zip(instance.sizes, origins, strict=True)]  # fmt: skip
    parts = sum(item.twice_area * item.count for item in instance.items) // 2
    return prices, math.floor(instance.credit * parts)


def known_at_once(instance: Instance, origins: Sequence[int] | None = None) -> int:
    """A bound that needs no solver: the parts' area at the cheapest sheets, or what credit could bring."""
    if not instance.credit:
        return _by_area(instance)
    prices, offset = net_prices(instance, range(len(instance.sizes)) if origins is None else origins)
    most = [instance.total if size.count is None else min(size.count, instance.total)
            for size in instance.sizes]  # fmt: skip
    return min(0, offset + sum(min(0, price) * count for price, count in zip(prices, most, strict=True)))


def _by_area(instance: Instance) -> int:
    """What as much of the sheets as the parts have costs, the cheapest for their area first."""
    left = Fraction(sum(sure_area(item) * item.count for item in instance.items))
    rates = sorted((Fraction(size.price, math.prod(size.usable)), math.prod(size.usable), size.count)
                   for size in instance.sizes)  # fmt: skip
    cost = Fraction(0)
    for rate, area, count in rates:
        taken = left if count is None else min(left, Fraction(area * count))
        cost, left = cost + rate * taken, left - taken
    return math.ceil(cost)


class Bound:
    """The integer programme over shares of items and numbers of sheets.

    Parameters
    ----------
    takes : list of list of bool
        Which sizes can take which item: ``takes[item][size]``.
    origins : sequence of int, optional
        Of sizes that have a count in common the same number.
    """

    def __init__(
        self, instance: Instance, takes: Sequence[Sequence[bool]], origins: Sequence[int] | None = None
    ) -> None:
        self.instance = instance
        self.takes = np.array(takes, dtype=bool)
        self.demand = np.array([item.count for item in instance.items], dtype=np.int64)
        self.slanted = any(not item.rectangular for item in instance.items)
        self.sure = what_is_sure(instance, slanted=self.slanted)
        self.origins = list(range(len(instance.sizes)) if origins is None else origins)
        self.parted = [size > 0 and of == self.origins[size - 1] for size, of in enumerate(self.origins)]
        self.sections = [self._sections(size) for size in instance.sizes]
        self.drawn_on = False
        self.pools = [self._pool(size) for size in range(len(instance.sizes))]
        self.chosen = [[0] for _ in instance.sizes]
        self.refuted: list[tuple[int, ...]] = []
        self.cuts: list[tuple[list[int], int]] = []  # worth of a sheet of each size, of all parts
        self.excluded: list[list[list[AtLeast]]] = [[] for _ in instance.sizes]  # what a sheet cannot hold
        self.larger = larger_than(instance.items, self.sure)
        self.larger_joined = larger_joined(instance.items, float(instance.lean) if self.slanted else 0.0)
        self.light: list[list[set[bytes]]] = [[set() for _ in instance.sizes] for _ in (False, True)]
        self.cut: list[set[bytes]] = [set() for _ in instance.sizes]  # not refuted by what can be cut
        self.hopes: dict[tuple[int, bytes], float] = {}  # not refuted with that effort
        self.value = known_at_once(instance, origins)
        self.impossible = False
        self.stuck = False
        self.deadline: float | None = None
        self.ended: Callable[[], bool] = lambda: False
        self.spent, self.until = 0.0, math.inf
        self.solver: cp_model.CpSolver | None = None
        self.linear = 2 if self.demand.sum() <= FEW_PARTS else 1  # how much the relaxation has of it
        self.columns: ColumnBound | None = None
        self.joints: list[Joints] = []

    def _sections(self, size: Size) -> tuple[Sections, Sections]:
        upright, level = (Sections(self.instance, size, upright=upright, slanted=self.slanted)
                          for upright in (True, False))  # fmt: skip
        return upright, level

    def _axis(self, straight: str, turned: str, kerf: int, room: int) -> Axis:
        def sizes(name: str) -> Ints:
            return np.array([getattr(sure, name) + kerf for sure in self.sure], dtype=np.int64)

        return Axis(sizes(straight), sizes(turned), room + kerf)

    def _pool(self, size: int) -> Ints:
        """Scaled weights, a row a function, that one sheet of a size holds at most ``WHOLE`` of."""
        length, width = self.instance.sizes[size].usable
        kerf = self.instance.saw.kerf
        beside = 0 if self.slanted else kerf  # the kerf is sure on sections only
        up = self._axis("chord_width", "chord_length", kerf, width)
        along = self._axis("run", "rise", beside, length)
        rows = [self._area(length, width)]
        if not self.slanted:
            rows.append(self._products(up, up.family(self.demand), along, along.family(self.demand)))
        else:
            across = self._axis("chord_length", "chord_width", kerf, length)
            over = self._axis("rise", "run", beside, width)
            rows.append(self._products(up, up.family(self.demand), along, [identity, *along.sections()]))
            rows.append(self._products(across, across.family(self.demand), over, over.sections()))
        return np.unique(np.concatenate(rows), axis=0)[::-1]

    def _draw_on(self) -> bool:
        """Take in, once and where parts may lean, the weights for which long parts are drawn on."""
        if self.drawn_on or not self.slanted:
            return False
        self.drawn_on = True
        kerf = self.instance.saw.kerf
        for size, (upright, level) in enumerate(self.sections):
            length, width = self.instance.sizes[size].usable
            up = self._axis("chord_width", "chord_length", kerf, width)
            across = self._axis("chord_length", "chord_width", kerf, length)
            rows = [upright.rows(up.narrow(self.demand)), level.rows(across.narrow(self.demand))]
            self.pools[size] = np.concatenate((self.pools[size], *rows))
        return True

    def _area(self, length: int, width: int) -> Ints:
        """True areas, with a kerf over each part's sure run."""
        kerf = self.instance.saw.kerf
        areas = [
            item.twice_area // 2 + kerf * min(sure.run, sure.rise)
            - JOINT * self.slanted * (item.length + max(item.start, item.end))
            for item, sure in zip(self.instance.items, self.sure, strict=True)
        ]
        return np.array([areas], dtype=np.int64) * WHOLE // (length * (width + kerf) + kerf * length)

    def _products(self, a: Axis, of_a: list[Function], b: Axis, of_b: list[Function]) -> Ints:
        straight_a, turned_a, room_a = a.weigh(of_a)
        straight_b, turned_b, room_b = b.weigh(of_b)
        straight = straight_a[:, None, :] * straight_b[None, :, :]
        turned = turned_a[:, None, :] * turned_b[None, :, :]
        ways = [item.turns() for item in self.instance.items]
        may_straight = np.array([False in way for way in ways])
        may_turn = np.array([True in way for way in ways])
        most = np.iinfo(np.int64).max
        least = np.minimum(np.where(may_straight, straight, most), np.where(may_turn, turned, most))
        rooms = (room_a[:, None] * room_b[None, :]).reshape(-1)
        rows = least.reshape(-1, len(ways))
        useful = rooms > 0
        scale = np.maximum(rooms[useful, None] // WHOLE, 1)
        # scaled down in two exact steps, each rounding down, so as not to pass 64 bits
        scaled: Ints = rows[useful] // scale * WHOLE // np.maximum(-(-rooms[useful, None] // scale), 1)
        return scaled

    def functions(self, size: int) -> list[tuple[Ints, int]]:
        """The functions in use for a size, and what one sheet holds of each."""
        return [(self.pools[size][row], WHOLE) for row in self.chosen[size]]

    def tighten(self, most: int, effort: float, in_all: float = math.inf) -> None:
        """Raise :attr:`value` as far as the effort reaches; :attr:`stuck` once no more is to be had.

        Parameters
        ----------
        most : int
            Money of a known plan: the bound is at most this.
        effort : float
            Deterministic seconds of the solver for each question asked.
        in_all : float
            For all of them; some times ``effort`` at the most.
        """
        self.until = self.spent + min(in_all, effort * QUESTIONS)
        for _ in range(MOST_ROUNDS):
            if self.exhausted:
                return
            outcome = BoundModel(self, most).solve(self.ask(effort))
            if outcome is None:
                self.value, self.impossible = most, True
                return
            self.value = max(self.value, min(outcome.bound, most))
            self.stuck = self.value >= most
            if self.stuck or outcome.shares is None:
                return
            if not (self._separate(outcome) or self._draw_on() or self._refute(outcome, effort)):
                return

    def ask_more_of_sheets(self, seeker: Seeker, loops: Loops) -> None:
        """From now on also ask how parts join, and what sets of sheets hold by columns."""
        shared = room()
        self.joints = [Joints(self, size, loops, shared) for size in range(len(self.instance.sizes))]
        columns = ColumnBound(self, loops, seeker)
        if columns.usable:
            self.columns, self.stuck = columns, False

    def fewest(self, money: int, sheets: int, effort: float) -> int:
        """How many sheets a plan of no more than this money has at least; ``sheets`` is what is known to do.

        The same questions as for the money; ``effort`` is for all of them.
        """
        self.until, least = self.spent + effort, 0
        for _ in range(MOST_ROUNDS):
            outcome = BoundModel(self, money, count=True).solve(self.ask(effort))
            least = least if outcome is None else max(least, outcome.bound)
            if outcome is None or outcome.shares is None or least >= sheets or self.exhausted:
                break
            if not (self._separate(outcome) or self._draw_on() or self._refute(outcome, effort)):
                break
        return min(least, sheets)

    def ask(self, effort: float) -> cp_model.CpSolver:
        """The solver for a question that may take so much, and no more than is left."""
        self.solver = solver_for(min(effort, self.until - self.spent), self.deadline, self.spend)
        return self.solver

    def spend(self, effort: float) -> None:
        """Deterministic seconds that a question took."""
        self.spent += effort

    @property
    def exhausted(self) -> bool:
        """No more effort is left for now, or someone says that it is to end."""
        return self.spent >= self.until or self.ended()

    def interrupt(self) -> None:
        """End the question that is being asked; from another thread."""
        if self.solver is not None:
            self.solver.stop_search()
        if self.columns is not None:
            self.columns.interrupt()

    def _refute(self, outcome: Outcome, effort: float) -> bool:
        """Rule out the sheets of a solution, and with them all that is less, if it can be proved."""
        sheets = outcome.sheets
        assert sheets is not None
        few = sheets.sum() <= FEW_HELD and len(self.instance.sizes) > 1
        if few and self._refute_each(sheets, effort):
            return True
        if self.columns is not None:
            one_size = len(self.instance.sizes) == 1
            in_all = (self.until - self.spent) * COLUMNS_SHARE if one_size else effort * SET_EFFORT
            if self.columns.rules_out(self.columns.counts(sheets), A_CONTENT, in_all):
                return True
        if sheets.sum() > MOST_HELD:
            self.stuck = self._stands(sheets)
            return False
        return not few and self._refute_each(sheets, effort)

    def _stands(self, sheets: Ints) -> bool:
        """Whether columns are not, or no more, to be asked about these sheets."""
        return self.columns is None or self.columns.counts(sheets) in self.columns.stand

    def _refute_each(self, sheets: Ints, effort: float) -> bool:
        """By assignments of parts to these sheets, in each way that they can be used.

        Where columns may tell it is asked for a moment only, in all.
        """
        until = self.until
        if not self._stands(sheets):
            self.until = min(until, self.spent + MOMENT * effort)
        refuted = all(self._refute_these(variant, effort) for variant in self._variants(sheets))
        self.until = until
        return refuted

    def _variants(self, sheets: Ints) -> list[tuple[int, ...]]:
        """These numbers of sheets first, then those that differ by the way the same sheets are used."""
        ways = []
        for origin in dict.fromkeys(self.origins):
            alike = [size for size, of in enumerate(self.origins) if of == origin]
            total = int(sheets[alike].sum())
            ways.append([(total,)] if len(alike) == 1 else [(n, total - n) for n in range(total + 1)])
        first = tuple(int(count) for count in sheets)
        mixed = itertools.islice(itertools.product(*ways), MOST_VARIANTS)
        others = [tuple(itertools.chain.from_iterable(mix)) for mix in mixed]
        return [first, *(other for other in others if other != first)]

    def _refute_these(self, sheets: tuple[int, ...], effort: float) -> bool:
        if any(all(n <= most for n, most in zip(sheets, known, strict=True)) for known in self.refuted):
            return True
        each = [size for size, count in enumerate(sheets) for _ in range(count)]
        if not Assignment(self, each).refuted(self.ask, effort):
            return False
        self.refuted.append(sheets)
        return True

    def failing(self, size: int, content: Ints, *, at_a_glance: bool = False) -> Ints | None:
        """Parts of a content that do not come off a sheet however they are joined; None if none are found."""
        if not self.joints:
            return None
        joints, before = self.joints[size], self.joints[size].taken
        found = joints.fails(content, at_a_glance=at_a_glance)
        self.spend((joints.taken - before) * A_JOIN)
        return found

    def exclude(self, size: int, content: Ints, *, joined: bool = False) -> None:
        """Learn that a sheet cannot hold so much, nor what is larger; ``joined`` if joints told it."""
        larger = self.larger_joined if joined else self.larger
        self.excluded[size].append(lifted(content, larger))

    def breaks(self, size: int, content: Ints) -> bool:
        """Whether so much on one sheet breaks functions that are not in use yet; these are then."""
        over = self.pools[size] @ content - WHOLE
        new = [int(row) for row in np.argsort(-over, kind="stable")[:2]
               if over[row] > 0 and int(row) not in self.chosen[size]]  # fmt: skip
        self.chosen[size] += new
        return bool(new)

    def outweighs(self, size: int, content: Ints, *, at_a_glance: bool = False) -> bool:
        """Whether new weights are found that forbid so much on one sheet; they are in use then."""
        if content.tobytes() in self.light[at_a_glance][size]:
            return False
        for sections in self.sections[size]:
            weights = sections.against(content, self.spend, at_a_glance=at_a_glance)
            if weights is not None and weights @ content > WHOLE:
                self.pools[size] = np.concatenate((self.pools[size], weights[None, :]))
                self.chosen[size].append(len(self.pools[size]) - 1)
                return True
        self.light[at_a_glance][size].add(content.tobytes())
        return False

    def _separate(self, outcome: Outcome) -> bool:
        """Add for each size the functions that the solution breaks most."""
        assert outcome.shares is not None
        assert outcome.sheets is not None
        added = False
        for size, pool in enumerate(self.pools):
            over = pool @ outcome.shares[:, size] - WHOLE * outcome.sheets[size]
            for row in np.argsort(-over, kind="stable")[:3]:
                if over[row] > 0 and int(row) not in self.chosen[size]:
                    self.chosen[size].append(int(row))
                    added = True
        return added


@dataclass(frozen=True, slots=True)
class Outcome:
    """A bound, and the solution behind it where there is one: shares [item, size], sheets [size]."""

    bound: int
    shares: Ints | None = None
    sheets: Ints | None = None


class BoundModel:
    """Shares x[item, size] and numbers z[size] of sheets, least money less credit.

    Where they are to ``count``, the fewest sheets for no more than ``most`` of money.
    """

    def __init__(self, bound: Bound, most: int, *, count: bool = False) -> None:
        self.bound = bound
        self.count = count
        self.most = most
        self.model = cp_model.CpModel()
        sizes = bound.instance.sizes
        self.sheets = [self.model.new_int_var(0, self._limit(s), f"sheets_{s}") for s in range(len(sizes))]
        self.shares = {
            (i, s): self.model.new_int_var(0, int(bound.demand[i]), f"share_{i}_{s}")
            for i, s in itertools.product(range(len(bound.demand)), range(len(sizes)))
            if bound.takes[i, s]
        }
        self._all_cut()
        self._counts_hold()
        self._functions_hold()
        self._not_refuted()
        self._cuts_hold()
        self._objective()

    def _limit(self, size: int) -> int:
        """No more sheets of a size than can be had, than parts, or than the money buys."""
        stock = self.bound.instance.sizes[size]
        limit = int(self.bound.demand.sum())
        if stock.count is not None:
            limit = min(limit, stock.count)
        if stock.price > 0 and not self.bound.instance.credit:
            limit = min(limit, self.most // stock.price)
        return limit

    def _all_cut(self) -> None:
        """Sum over the sizes of x[i, s] = demand[i]."""
        for i, wanted in enumerate(self.bound.demand):
            shares = [x for (item, _), x in self.shares.items() if item == i]
            self.model.add(sum(shares) == int(wanted))

    def _counts_hold(self) -> None:
        """Sizes that have a count in common."""
        for origin in set(self.bound.origins):
            alike = [size for size, of in enumerate(self.bound.origins) if of == origin]
            count = self.bound.instance.sizes[alike[0]].count
            if count is not None and len(alike) > 1:
                self.model.add(sum(self.sheets[size] for size in alike) <= count)

    def _functions_hold(self) -> None:
        """Sum over the items of w[i] x[i, s] <= W z[s], for each function chosen."""
        for s, rows in enumerate(self.bound.chosen):
            for row in rows:
                weights = self.bound.pools[s][row]
                used = [int(weights[i]) * x for (i, size), x in self.shares.items() if size == s]
                self.model.add(sum(used) <= WHOLE * self.sheets[s])

    def _not_refuted(self) -> None:
        """Of each set of sheets that was ruled out, one size more at least."""
        for index, refuted in enumerate(self.bound.refuted):
            more = []
            for size, count in enumerate(refuted):
                one = self.model.new_bool_var(f"more_{index}_{size}")
                self.model.add(self.sheets[size] > count).only_enforce_if(one)
                more.append(one)
            self.model.add_bool_or(more)

    def _cuts_hold(self) -> None:
        """Sheets are worth no less than all parts, as columns proved: in steps, rounded so as to hold."""
        for worths, total in self.bound.cuts:
            step = max(1, total // CUT_STEPS)
            worth = [-(-worths[of] // step) for of in self.bound.origins]
            self.model.add(sum(w * z for w, z in zip(worth, self.sheets, strict=True)) >= total // step)

    def _objective(self) -> None:
        """Sum of price[s] z[s], less the credit for all that is bought and not in parts; or of z[s]."""
        prices, self.offset = net_prices(self.bound.instance, self.bound.origins)
        money = sum(p * z for p, z in zip(prices, self.sheets, strict=True))
        if self.count:
            self.model.add(money <= self.most - self.offset)
            self.offset = 0
        self.model.minimize(sum(self.sheets) if self.count else money)

    def solve(self, solver: cp_model.CpSolver) -> Outcome | None:
        """Solve within the solver's limits; None where there is no solution at all."""
        solver.parameters.linearization_level = self.bound.linear
        status = solver.solve(self.model)
        if status not in FINAL and solver.best_objective_bound <= 0 and not self.bound.exhausted:
            self.bound.linear = solver.parameters.linearization_level = 2  # some are not bounded without
            status = solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return None
        if status == cp_model.UNKNOWN and self.count:
            return Outcome(0)
        if status == cp_model.UNKNOWN and self.bound.instance.credit:
            # the solver says 0, which need not hold
            return Outcome(known_at_once(self.bound.instance, self.bound.origins))
        reached = math.ceil(solver.best_objective_bound - 1e-6) + self.offset
        if status not in SOLVED:
            return Outcome(reached)
        shares = np.zeros((len(self.bound.demand), len(self.sheets)), dtype=np.int64)
        for (i, s), x in self.shares.items():
            shares[i, s] = solver.value(x)
        return Outcome(reached, shares, np.array([solver.value(z) for z in self.sheets]))
