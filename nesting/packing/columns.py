"""Whether a set of sheets does for all parts, from what single sheets can hold.

By how much must a set of sheets grow, all sizes alike, to hold each part as often as wanted? A linear
programme over columns, filled sheets, tells (Gilmore and Gomory 1961). Its dual values make each part and a
sheet of each size worth something: where all parts are worth more than the set, and no sheet can hold parts
worth more than itself, the set does not do (Farkas; Lagrange, Farley 1990). Nor does any other set that is
worth less than all parts: what is learned is an inequality on the numbers of sheets (Benders 1962).

What a sheet can hold is relaxed (:mod:`nesting.packing.contents`). A content worth more than its sheet that
stands is a column more; where none does, the set is ruled out, in whole numbers.

Of one size a set is a number of sheets. Of several sizes the question is about one set at a time: asked for
the least money instead, the next sum of prices is near, and the values can hardly be lowered.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from ortools.linear_solver import pywraplp

from nesting.packing.compiled import Loops
from nesting.packing.contents import Pricer
from nesting.packing.functions import Ints
from nesting.packing.lying import HALT

if TYPE_CHECKING:
    from nesting.packing.bounds import Bound
    from nesting.packing.seeking import Seeker

A_COLUMN = 3e-7  # deterministic seconds for each column, when the programme is solved
ONE = 1 << 36  # what a set of sheets is worth
JUST = 1e-6  # more than that: then it does not do
SMOOTH = 0.6  # weight of the duals so far (Wentges 1997)
MISSING = 2.0  # sets of sheets, for a part that is left over: more than any part is worth
MOST_OF_IT = 0.6  # of the growth is kept where small parts are left out
MOST_ROUNDS, IN_VAIN = 120, 3  # of looking for sheets; in so many no better one is found
Floats = NDArray[np.float64]


class Programme:
    """The linear programme over the columns known (GLOP): by how much a set of sheets must grow."""

    def __init__(self, demand: Ints, sizes: int) -> None:
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        infinity = self.solver.infinity()
        self.wanted = [self.solver.Constraint(float(count), infinity) for count in demand]
        self.had = [self.solver.Constraint(-infinity, 0.0) for _ in range(sizes)]
        self.growth = self.solver.NumVar(0, infinity, "growth")
        self.objective = self.solver.Objective()
        self.objective.SetMinimization()
        self.objective.SetCoefficient(self.growth, 1.0)
        for row in self.wanted:
            left_over = self.solver.NumVar(0, infinity, "")
            row.SetCoefficient(left_over, 1.0)
            self.objective.SetCoefficient(left_over, MISSING)
        self.columns: set[tuple[int, bytes]] = set()
        self.times: list[pywraplp.Variable] = []

    def add(self, size: int, content: NDArray[np.generic]) -> bool:
        """One more column; whether it is new."""
        key = size, content.astype(np.int64).tobytes()
        if key in self.columns:
            return False
        self.columns.add(key)
        times = self.solver.NumVar(0, self.solver.infinity(), "")
        for item in np.flatnonzero(content):
            self.wanted[item].SetCoefficient(times, float(content[item]))
        self.had[size].SetCoefficient(times, 1.0)
        self.times.append(times)
        return True

    def ask_for(self, demand: Ints) -> None:
        """How many of each item are wanted from now on."""
        for row, count in zip(self.wanted, demand, strict=True):
            row.SetLb(float(count))

    def taken(self) -> Floats:
        """How much of each column the last solution takes, in the order in which they were added."""
        return np.array([times.solution_value() for times in self.times])

    def solve(self, counts: Ints) -> tuple[float, Floats, Floats]:
        """The growth of so many sheets; what parts and sheets are worth then; 0 if the solver fails."""
        for row, count in zip(self.had, counts, strict=True):
            row.SetCoefficient(self.growth, -float(count))
        if self.solver.Solve() != pywraplp.Solver.OPTIMAL:
            return 0.0, np.zeros(len(self.wanted)), np.zeros(len(self.had))
        values = np.array([row.dual_value() for row in self.wanted])
        fees = np.array([-row.dual_value() for row in self.had])
        return float(self.objective.Value()), np.maximum(values, 0.0), np.maximum(fees, 0.0)


class ColumnBound:
    """Rules out sets of sheets.

    Attributes
    ----------
    usable : bool
        Not where the parts are too many.
    stand : set of tuple of int
        Sets that are not to be ruled out in this way.
    """

    def __init__(self, bound: Bound, loops: Loops, seeker: Seeker) -> None:
        self.bound = bound
        self.seeker = seeker
        self.steps = np.zeros(6, dtype=np.int64)
        self.pricers = [Pricer(bound, size, loops, self.steps) for size in range(len(bound.instance.sizes))]
        self.usable = all(pricer.known for pricer in self.pricers)
        self.origins = np.array(bound.origins)
        self.sizes = int(self.origins.max()) + 1
        self.programme = Programme(bound.demand, self.sizes)
        self.stand: set[tuple[int, ...]] = set()
        self.taken_over = 0
        for origin, pricer in zip(bound.origins, self.pricers, strict=True):
            for item in np.flatnonzero(pricer.most):
                self.programme.add(origin, np.arange(len(bound.demand)) == item)

    def interrupt(self) -> None:
        """End the question that is being asked; from another thread."""
        self.steps[HALT] = 1

    def counts(self, sheets: Ints) -> tuple[int, ...]:
        """Of the sizes that there are, however they are used."""
        counts = np.bincount(self.origins, weights=sheets, minlength=self.sizes)
        return tuple(int(count) for count in counts)

    def rules_out(self, counts: tuple[int, ...], effort: float, in_all: float) -> bool:
        """Whether it is proved that so many sheets do not do; then the bound has one cut more.

        Parameters
        ----------
        counts : [size]
        effort, in_all : float
            Deterministic seconds for each question to CP-SAT, and for everything.
        """
        if counts in self.stand:
            return False
        until = self.bound.until
        self.bound.until = min(until, self.bound.spent + in_all)
        proved = self._rules_out(np.array(counts), effort)
        self.bound.until = until
        if proved is False:
            self.stand.add(counts)
        return bool(proved)

    def _rules_out(self, counts: Ints, effort: float) -> bool | None:
        """The same; None where the effort does not tell."""
        self.programme.ask_for(self.bound.demand)
        fewer = self._leave_out(counts, self._look(counts))
        center: Floats | None = None
        while not self.bound.exhausted:
            growth, values, fees = self.solve(counts)
            if growth <= 1 + JUST:
                if not fewer:
                    return False
                fewer, center = False, None
                self.programme.ask_for(self.bound.demand)
                continue
            duals = np.concatenate((values, fees))
            center = duals if center is None else SMOOTH * center + (1 - SMOOTH) * duals
            proved, new = self._ask(center[: len(values)], center[len(values) :], counts, effort)
            if proved is not False:
                return proved
            if new:
                self._look(counts)
            else:
                center = None
        return None

    def solve(self, counts: Ints) -> tuple[float, Floats, Floats]:
        """By how much a set must grow by the sheets known; what parts and sheets are worth then."""
        self.bound.spend(len(self.programme.columns) * A_COLUMN)
        return self.programme.solve(counts)

    def _look(self, counts: Ints) -> float:
        """Add sheets that can be cut, until no better ones are found; the growth then."""
        self._take_over()
        in_vain = 0
        for _ in range(MOST_ROUNDS):
            growth, values, fees = self.solve(counts)
            if growth <= 1 + JUST or in_vain == IN_VAIN or self.bound.exhausted:
                break
            self.bound.spend(self.seeker.look(values, fees, counts))
            in_vain = 0 if self._take_over() else in_vain + 1
        return growth

    def _take_over(self) -> bool:
        """Columns from the search; whether one of them is new."""
        sizes, contents = self.seeker.contents(self.taken_over)
        self.taken_over += len(sizes)
        new = [self.programme.add(int(size), content) for size, content in zip(sizes, contents, strict=True)]
        return any(new)

    def _leave_out(self, counts: Ints, growth: float) -> bool:
        """Ask for small parts no more, as long as the set must grow by most of what it must now.

        Without them far fewer contents are to be looked at. Whether any is left out.
        """
        if growth <= 1 + JUST:
            return False
        demand, items = self.bound.demand.copy(), self.bound.instance.items
        for item in sorted(range(len(items)), key=lambda i: items[i].twice_area):
            count, demand[item] = demand[item], 0
            self.programme.ask_for(demand)
            if self.solve(counts)[0] - 1 < MOST_OF_IT * (growth - 1):
                demand[item] = count
        self.programme.ask_for(demand)
        return bool((demand < self.bound.demand).any())

    def _ask(self, values: Floats, fees: Floats, counts: Ints, effort: float) -> tuple[bool | None, bool]:
        """Whether lowered values prove it, and whether they bring a new column.

        None where it is not known what they prove.
        """
        demand, paid = self.bound.demand, float(fees @ counts)
        if paid <= 0:
            return None, False  # sheets are worth nothing: some part fits none of them
        worth = np.floor(values * ((1 + JUST) / float(values @ demand) * ONE)).astype(np.int64)
        price = np.floor(fees / paid * ONE).astype(np.int64)
        total = int(worth @ demand)
        if total <= int(price @ counts):
            return False, False
        most = [int(price[size]) if counts[size] else total for size in range(self.sizes)]
        stands = new = False
        for origin, pricer in zip(self.bound.origins, self.pricers, strict=True):
            if not counts[origin]:
                continue
            found = pricer.dearer(worth, most[origin], self.bound.ask, effort)
            if found is None:
                return None, new
            for content in found:
                new |= self.programme.add(origin, content)
            stands = stands or bool(found)
        if not stands:
            self.bound.cuts.append((most, total))
        return not stands, new
