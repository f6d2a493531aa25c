"""A lower bound on the money from prices on the parts: columns, one a sheet filled (Gilmore and Gomory 1965).

A linear programme asks how often each filled sheet is cut (GLOP); its dual prices make the next sheets worth
filling. Whatever the prices are, they give a bound (Lagrange; Farley 1990): if no cutting of a sheet of size
s holds more than K(s) of them, the parts' prices add up to no more than the sheets' K. Prices are rounded
down to whole numbers and the rest is done in whole numbers and fractions, so that no rounding of the solver's
can make a bound too high. K comes from :mod:`nesting.packing.single`: the recursion over edge-to-edge
cuttings with multipliers on how many of each part there are, then joined rectangles.

With tapers a slanted cut may part what no straight one does, and the recursion does not hold. Then K comes
from bars: on any line across the sheet the sure chords of the parts, with their kerfs, fit into its width, so
the sheet is worth at most its length times the best filled line (Scheithauer 1999; Belov, Kartak, Rohling
and Scheithauer 2009); the same the other way, and the smaller counts.

The bound is rounded up to the next sum of prices that the counts allow.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from ortools.linear_solver import pywraplp

from nesting.packing.bounds import Bound
from nesting.packing.functions import WHOLE
from nesting.packing.instance import Instance
from nesting.packing.pricers import DEPTHS, BarPricer, Column, CuttingPricer, Pricer
from nesting.packing.recursion import Ints, Tree

DIGITS = 1 << 34  # whole prices: steps of the dearest sheet's price
SMOOTH = 0.6  # weight of the best prices so far (Wentges 1997)
MOST_SUMS = 4_000_000
WEIGHED = 30  # rounds for the prices to begin with


@dataclass(frozen=True, slots=True)
class Pattern:
    """One sheet filled: the index of its size, how many of each item, and its cutting.

    Attributes
    ----------
    times : float
        How often the last linear programme would cut it.
    """

    size: int
    counts: tuple[int, ...]
    tree: Tree
    times: float = 0.0


@dataclass(frozen=True, slots=True)
class PricedOutcome:
    """A bound on money less credit, and the sheets that were filled on the way.

    Attributes
    ----------
    exact : Fraction
        The bound before it was rounded up to a sum of prices.
    closed : bool
        No better prices exist for the bound on a sheet's value that was used.
    stopped : bool
        By the clock or from outside, so another run may come further.
    """

    bound: int
    patterns: tuple[Pattern, ...]
    exact: Fraction
    iterations: int
    closed: bool
    stopped: bool


class Master:
    """Least money for sheets filled that hold each item as often as wanted, within the counts (GLOP)."""

    def __init__(self, demand: Ints, costs: Sequence[Fraction], counts: Sequence[int | None]) -> None:
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        self.costs = costs
        infinity = self.solver.infinity()
        self.rows = [self.solver.Constraint(float(wanted), infinity) for wanted in demand]
        self.had = [None if n is None else self.solver.Constraint(-infinity, float(n)) for n in counts]
        self.objective = self.solver.Objective()
        self.objective.SetMinimization()
        dear = 4 * float(max(costs)) + 1
        for row in self.rows:  # what no sheet is found for yet
            missing = self.solver.NumVar(0, infinity, "")
            row.SetCoefficient(missing, 1)
            self.objective.SetCoefficient(missing, dear)
        self.columns: dict[tuple[int, tuple[float, ...]], tuple[Column, pywraplp.Variable]] = {}

    def add(self, column: Column) -> bool:
        """Whether the column is new."""
        key = (column.size, column.holds)
        if key in self.columns:
            return False
        times = self.solver.NumVar(0, self.solver.infinity(), "")
        for row, holds in zip(self.rows, column.holds, strict=True):
            if holds:
                row.SetCoefficient(times, holds)
        had = self.had[column.size]
        if had is not None:
            had.SetCoefficient(times, 1)
        self.objective.SetCoefficient(times, float(self.costs[column.size]))
        self.columns[key] = (column, times)
        return True

    def solve(self) -> tuple[list[float], list[float], float] | None:
        """Prices of the items, of the sizes that are counted, and the money; None if the solver fails."""
        if self.solver.Solve() != pywraplp.Solver.OPTIMAL:
            return None
        items = [max(0.0, row.dual_value()) for row in self.rows]
        sizes = [0.0 if row is None else max(0.0, -row.dual_value()) for row in self.had]
        return items, sizes, self.objective.Value()


def next_sum(least: Fraction, prices: Sequence[int], counts: Sequence[int | None]) -> int:
    """The least sum of prices, each within its count, that is not below ``least``; at least its ceiling.

    Where all counts together do not reach it, the ceiling.
    """
    low = math.ceil(least)
    step = math.gcd(*prices)
    if low <= 0 or step == 0:
        return max(0, low)
    target = -(-low // step)
    most = target + max(prices) // step
    if most > MOST_SUMS:
        return target * step
    bits, mask = 1, (1 << most + 1) - 1
    for price, count in zip(prices, counts, strict=True):
        unit = price // step
        if unit:
            left, lot = most // unit if count is None else min(count, most // unit), 1
            while left > 0:
                lot = min(lot, left)
                bits |= bits << lot * unit & mask
                left, lot = left - lot, 2 * lot
    above = bits >> target
    return (target + (above & -above).bit_length() - 1) * step if above else low


def dual_bound(
    values: Ints,
    demand: Ints,
    worth: Sequence[int],
    costs: Sequence[Fraction],
    counts: Sequence[int | None],
) -> Fraction:
    """The bound that prices give, scaled to where it is best (Farley 1990; with counts by Lagrange).

    Parameters
    ----------
    values : Ints
        Prices of the items, in any whole unit.
    worth : sequence of int
        No sheet of the size holds more than this of them.
    costs : sequence of Fraction
        Of the sizes, in the same unit, not below 0.
    """
    total = sum(int(v) * int(d) for v, d in zip(values, demand, strict=True))
    scales = [c / k for c, k in zip(costs, worth, strict=True) if k > 0]
    free = [c / k for c, k, n in zip(costs, worth, counts, strict=True) if k > 0 and n is None]
    most = min(free, default=None)
    best = Fraction(0)
    for scale in {*scales, Fraction(1)}:
        if most is not None and scale > most:
            continue
        over = sum(
            n * max(Fraction(0), scale * k - c)
            for c, k, n in zip(costs, worth, counts, strict=True)
            if n is not None
        )
        best = max(best, scale * total - over)
    return best


class Weighed:
    """Prices from the weights of :mod:`nesting.packing.bounds`: the dual of its linear programme.

    Only where the column generation begins, so that it starts from that bound.
    """

    def __init__(self, bound: Bound, costs: Sequence[Fraction], counts: Sequence[int | None]) -> None:
        self.bound = bound
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        self.infinity = self.solver.infinity()
        most = [self.infinity if count is None else float(count) for count in counts]
        self.numbers = [self.solver.NumVar(0, count, "") for count in most]
        self.shares = {
            (int(i), int(s)): self.solver.NumVar(0, self.infinity, "") for i, s in np.argwhere(bound.takes)
        }
        self.cut = [self.solver.Constraint(float(wanted), self.infinity) for wanted in bound.demand]
        for (i, _), share in self.shares.items():
            self.cut[i].SetCoefficient(share, 1)
        self.solver.Minimize(sum(float(c) * number for c, number in zip(costs, self.numbers, strict=True)))

    def prices(self) -> list[float]:
        """Add the weights that are broken most until none is, or for some rounds."""
        prices = [0.0] * len(self.cut)
        chosen: set[tuple[int, int]] = set()
        broken = [(size, 0) for size in range(len(self.numbers))]
        for _ in range(WEIGHED):
            for size, at in broken:
                self._hold(size, at)
            chosen.update(broken)
            if not broken or self.solver.Solve() != pywraplp.Solver.OPTIMAL:
                break
            prices = [max(0.0, row.dual_value()) for row in self.cut]
            broken = [row for row in self._broken() if row not in chosen]
        return prices

    def _hold(self, size: int, at: int) -> None:
        row = self.solver.Constraint(-self.infinity, 0)
        row.SetCoefficient(self.numbers[size], -1)
        for (i, s), share in self.shares.items():
            if s == size:
                row.SetCoefficient(share, float(self.bound.pools[size][at, i]) / WHOLE)

    def _broken(self) -> list[tuple[int, int]]:
        found = []
        for size, number in enumerate(self.numbers):
            held = np.zeros(len(self.cut))
            for (i, s), share in self.shares.items():
                if s == size:
                    held[i] = share.solution_value()
            over = self.bound.pools[size] @ held - WHOLE * number.solution_value()
            worst = np.argsort(-over, kind="stable")[:4]
            found += [(size, int(at)) for at in worst if over[at] > 1]
        return found


class Pricing:
    """One run of the column generation."""

    def __init__(
        self,
        instance: Instance,
        takes: Sequence[Sequence[bool]],
        ended: Callable[[], bool],
    ) -> None:
        self.instance, self.ended = instance, ended
        self.counts = [size.count for size in instance.sizes]
        self.demand = np.array([item.count for item in instance.items], dtype=np.int64)
        areas = [math.prod(size.usable) for size in instance.sizes]
        # a kept offcut is never more than what the parts leave
        self.costs = [size.price - instance.credit * a for size, a in zip(instance.sizes, areas, strict=True)]
        self.offset = instance.credit * Fraction(sum(i.twice_area * i.count for i in instance.items), 2)
        self.usable = bool(instance.items) and min(self.costs, default=Fraction(-1)) >= 0 < max(self.costs)
        self.exact = Fraction(0)
        self.closed = self.stopped = False
        self.iterations = 0
        self.pricers: list[Pricer] = []
        if self.usable:
            self.unit = DIGITS / max(self.costs)
            self.master = Master(self.demand, self.costs, self.counts)
            self.slanted = any(not item.rectangular for item in instance.items)
            bound = Bound(instance, [list(row) for row in takes])
            self.start = Weighed(bound, self.costs, self.counts).prices()
            for size in range(len(instance.sizes)):
                if self.slanted:
                    self.pricers.append(BarPricer(instance, bound, size))
                    continue
                pricer = CuttingPricer(instance, takes, size)
                self.pricers.append(pricer)
                for column in pricer.alike():
                    self.master.add(column)

    def go(self, effort: int) -> None:
        """Price and solve in turns, ``effort`` times at the most."""
        center: list[float] | None = None
        depth = 0
        if self.usable and effort and self._ask(self.start, [0.0] * len(self.costs), 0)[0]:
            center = self.start
        while self.usable and self.iterations < effort:
            solved = self.master.solve()
            if solved is None:
                return
            items, sizes, money = solved
            if self.exact and float(self.exact) >= money * (1 - 1e-6):
                self.closed = True
                return
            asked = items
            if center is not None:
                asked = [SMOOTH * c + (1 - SMOOTH) * p for c, p in zip(center, items, strict=True)]
            better, added = self._ask(asked, sizes, depth)
            center = asked if better or center is None else center
            if not (added or self.stopped or asked is items):
                better, added = self._ask(items, sizes, depth)
                center = items if better else center
            if not (added or better):  # look deeper, and end where that is of no use
                depth += 1
            if self.stopped or depth == len(DEPTHS):
                return

    def _ask(self, prices: Sequence[float], sizes: Sequence[float], depth: int) -> tuple[bool, bool]:
        """Price all sizes; whether the bound rose, and whether a new column was found."""
        self.iterations += 1
        values = np.array([math.floor(price * float(self.unit)) for price in prices], dtype=np.int64)
        worth, added = [], False
        for pricer, cost, extra in zip(self.pricers, self.costs, sizes, strict=True):
            enough = math.floor((cost + Fraction(extra)) * self.unit)
            most, columns = pricer.price(values, enough, depth, self.ended)
            if self.ended():
                self.stopped = True
                return False, False
            worth.append(most)
            for column in columns:
                added |= self.master.add(column)
        costs = [cost * self.unit for cost in self.costs]
        reached = dual_bound(values, self.demand, worth, costs, self.counts) / self.unit
        if reached <= self.exact:
            return False, added
        self.exact = reached
        return True, added

    def outcome(self) -> PricedOutcome:
        """The bound, rounded up, and the patterns that can be cut."""
        if not self.usable:
            return PricedOutcome(0, (), Fraction(0), 0, False, False)
        if self.instance.credit:
            bound = math.ceil(self.exact + self.offset)
        else:
            bound = next_sum(self.exact, [size.price for size in self.instance.sizes], self.counts)
        solved = self.master.solve() is not None
        patterns = tuple(
            Pattern(column.size, tuple(map(int, column.holds)), column.tree,
                    times.solution_value() if solved else 0.0)
            for column, times in self.master.columns.values()
            if column.tree is not None
        )  # fmt: skip
        return PricedOutcome(bound, patterns, self.exact, self.iterations, self.closed, self.stopped)


def priced_bound(
    instance: Instance,
    takes: Sequence[Sequence[bool]],
    effort: int,
    stop: Callable[[], bool] = lambda: False,
    seconds: float | None = None,
) -> PricedOutcome:
    """A lower bound on money less credit by column generation.

    Parameters
    ----------
    takes : sequence of sequence of bool
        Which sizes can take which item: ``takes[item][size]``.
    effort : int
        Times that all sizes are priced, at the most; the same effort gives the same outcome unless it was
        stopped.
    stop : callable
        Asked now and then whether to end.
    seconds : float, optional
        Wall clock on top of the effort.
    """
    deadline = None if seconds is None else time.monotonic() + seconds
    run = Pricing(instance, takes, lambda: stop() or (deadline is not None and time.monotonic() > deadline))
    run.go(effort)
    return run.outcome()
