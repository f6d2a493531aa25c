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
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from ortools.linear_solver import pywraplp

from nesting.packing.bounds import Bound
from nesting.packing.instance import Instance
from nesting.packing.recursion import Cutting, Ints, Piece, Tree, counts_of
from nesting.packing.single import Limited

MOST_POINTS = 110  # on an axis of the recursion
CELLS = 2_000  # of the width, for bars
DIGITS = 1 << 24  # whole prices: steps of the dearest sheet's price
# how hard a sheet is looked at, the next where one finds nothing: rounds of multipliers, rectangles joined
DEPTHS = ((3, 0), (20, 0), (20, 1_000), (30, 4_000), (40, 20_000))
SMOOTH = 0.6  # weight of the best prices so far (Wentges 1997)
MOST_SUMS = 4_000_000


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


@dataclass(frozen=True, slots=True)
class Column:
    """What one sheet of a size holds of each item, in the linear programme."""

    size: int
    holds: tuple[float, ...]
    tree: Tree | None = None


class Pricer(Protocol):
    """Bounds what one sheet of its size can hold of values."""

    def price(
        self, values: Ints, enough: int, depth: int, ended: Callable[[], bool]
    ) -> tuple[int, list[Column]]:
        """No sheet holds more than this; and sheets that hold much. Up to ``enough`` is not looked into."""


class CuttingPricer:
    """Edge-to-edge cuttings of rectangles."""

    def __init__(self, instance: Instance, takes: Sequence[Sequence[bool]], size: int) -> None:
        self.size = size
        self.takes = np.array([row[size] for row in takes])
        room = instance.sizes[size].usable
        pieces = [_piece(instance, item, bool(self.takes[item])) for item in range(len(instance.items))]
        self.cutting = Cutting(pieces, room, instance.saw.kerf, MOST_POINTS)
        self.limits = np.array([piece[3] for piece in pieces], dtype=np.int64)
        self.prices: Ints | None = None

    def price(
        self, values: Ints, enough: int, depth: int, ended: Callable[[], bool]
    ) -> tuple[int, list[Column]]:
        """Multipliers first, started from the last time's; then rectangles joined."""
        values = np.where(self.takes, values, 0)
        loose = int(values[self.cutting.loose] @ self.limits[self.cutting.loose])
        values = np.where(self.cutting.loose, 0, values)
        enough -= loose
        task = Limited(self.cutting, values, self.limits, measured=False)
        start = None if self.prices is None else np.minimum(self.prices, values)
        rounds, built = DEPTHS[depth]
        self.prices = task.relax(rounds, enough, start)
        if built and task.value <= enough:
            task.build(built, enough, ended)
        columns = []
        for tree in task.found:
            counts = counts_of(tree, len(values))
            real = self.cutting.exact or self.cutting.fits(tree)  # else it only does for prices
            columns.append(Column(self.size, tuple(map(float, counts)), tree if real else None))
        return task.bound + loose, columns


    def alike(self) -> list[Column]:
        """For each item a sheet with rows of it alone."""
        columns = []
        for item, turned, a, b in self.cutting.shapes:
            kerf, room = self.cutting.kerf, self.cutting.room
            across, up = (room[0] + kerf) // (a + kerf), (room[1] + kerf) // (b + kerf)
            many = min(int(self.limits[item]), across * up)
            rows = [_chain("beside", [(item, turned)] * min(across, many - done))
                    for done in range(0, many, across)]  # fmt: skip
            tree = _chain("above", rows)
            counts = counts_of(tree, len(self.limits))
            columns.append(Column(self.size, tuple(map(float, counts)), tree))
        return columns


def _chain(way: str, trees: list[Tree]) -> Tree:
    """Halved again and again, so that no tree is deep."""
    if len(trees) == 1:
        return trees[0]
    half = len(trees) // 2
    return way, _chain(way, trees[:half]), _chain(way, trees[half:])


def _piece(instance: Instance, index: int, taken: bool) -> Piece:
    item = instance.items[index]
    ways = item.turns()
    a, b = (item.start, item.length) if ways == (True,) else (item.length, item.start)
    return a, b, 0, item.count if taken else 0, len(ways) == 2


class BarPricer:
    """Lines across the sheet and along it, each filled as well as it can be."""

    def __init__(self, instance: Instance, bound: Bound, size: int) -> None:
        self.size, kerf = size, instance.saw.kerf
        self.takes = bound.takes[:, size]
        length, width = instance.sizes[size].usable
        self.demand = bound.demand
        # per direction: how far the line travels, its room, and each way to lie: item, chord, run
        self.directions = []
        for far, room, lies in ((length, width, False), (width, length, True)):
            ways = []
            for index, item in enumerate(instance.items):
                sure = bound.sure[index]
                for turned in item.turns():
                    chord, run = (
                        (sure.chord_width, sure.run) if turned == lies else (sure.chord_length, sure.rise)
                    )
                    ways.append((index, chord + kerf, run))
            self.directions.append((far, room + kerf, ways))

    def price(
        self, values: Ints, enough: int, depth: int, ended: Callable[[], bool]
    ) -> tuple[int, list[Column]]:
        """The smaller of the two directions."""
        found = [self._direction(values, *direction) for direction in self.directions]
        worth, holds = min(found, key=lambda pair: pair[0])
        return worth, [Column(self.size, holds)]

    def _direction(
        self, values: Ints, far: int, room: int, ways: list[tuple[int, int, int]]
    ) -> tuple[int, tuple[float, ...]]:
        """``far`` times the densest line; a density is a value over the part's run, rounded up."""
        grid = max(1, room // CELLS)
        cells = room // grid
        steps = 1 << 20
        best = np.zeros(cells + 1, dtype=np.int64)
        taken: list[tuple[int, int, int, int, NDArray[np.bool_]]] = []
        for index, chord, run in ways:
            value, size = int(values[index]), chord // grid
            if not self.takes[index] or value <= 0 or chord > room:
                continue
            if run <= 0 or size <= 0:  # nothing is sure of it: it may lie on no line at all
                return int(values @ self.demand), tuple(map(float, self.demand))
            density = -(-value * steps // run)
            left, lot = min(int(self.demand[index]), cells // size), 1
            while left > 0:
                lot = min(lot, left)
                more = best.copy()
                with_it = best[: cells + 1 - lot * size] + lot * density
                more[lot * size :] = np.maximum(best[lot * size :], with_it)
                taken.append((index, lot, lot * size, run, more > best))
                best, left, lot = more, left - lot, 2 * lot
        holds = [0.0] * len(values)
        at = cells
        for index, lot, size, run, better in reversed(taken):
            if better[at]:
                holds[index] += lot * far / run
                at -= size
        return -(-int(best[cells]) * far // steps), tuple(holds)


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
            bound = Bound(instance, [list(row) for row in takes]) if self.slanted else None
            for size in range(len(instance.sizes)):
                if bound is not None:
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
        while self.usable and self.iterations < effort:
            solved = self.master.solve()
            if solved is None:
                return
            items, sizes, money = solved
            if self.exact and float(self.exact) >= money * (1 - 1e-7):
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
