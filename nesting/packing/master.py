"""A linear programme over the sheets remembered, whose prices tell which sheets to look for next.

Least money such that each part is cut at least as often as wanted (Gilmore and Gomory 1961): its dual
values are what a part is worth. Sheets whose parts are worth more than they cost can make plans cheaper;
they are looked for by local search (:mod:`nesting.packing.pricing`), so the programme's value is no bound.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from ortools.linear_solver import pywraplp

from nesting.packing import tables as c
from nesting.packing.improve import next_burst
from nesting.packing.pool import Pool
from nesting.packing.pricing import run_single
from nesting.packing.rules import Rules
from nesting.packing.state import State
from nesting.packing.tables import Array

HISTORY = 40
MOSTLY = 0.6  # a sheet that is taken at least so often is fixed
SHARE = 0.15  # of the sheets, at the most, in one step of a dive
NEAR = 0.1
STILL_WORTH = 0.97  # of a sheet's price are its parts that are still wanted, or it is not fixed
WORTH_IT = 1e-6


class Master:
    """The programme, kept from round to round; columns are added as sheets are remembered.

    Attributes
    ----------
    value : float
        Money of the relaxation over the sheets known so far, for the parts that are left.
    left : [item]
        How many parts are left: all, but in a dive.
    used : [size]
        How many sheets a dive has fixed.
    stop : callable
        Asked now and then whether it is time to come to an end.
    tries : int
        Made in looking for sheets.
    values : [item]
        What a part is worth.
    fees : [size]
        What a sheet costs beyond its price, where there are too few of its size.
    """

    def __init__(self, rules: Rules, pool: Pool, seed: int, stop: Callable[[], bool]) -> None:
        self.rules = rules
        self.pool = pool
        self.stop = stop
        self.rng = np.array([seed * 2_654_435_761 % 0xFFFFFFFF + 1], dtype=np.int64)
        self.values = np.zeros(len(rules.instance.items))
        self.fees = np.zeros(len(rules.prices))
        self.value = 0.0
        self.left = rules.table.wanted.copy()
        self.used = np.zeros(len(rules.prices), dtype=np.int64)
        self.tries = 0
        self.begin()

    def begin(self) -> None:
        """Build the programme anew, from all sheets that the pool has."""
        self.forgotten = self.pool.forgotten
        self.times: list[pywraplp.Variable] = []
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        infinity = self.solver.infinity()
        items, sizes = self.rules.instance.items, self.rules.instance.sizes
        self.wanted = [self.solver.Constraint(item.count, infinity, f"wanted_{i}")
                       for i, item in enumerate(items)]  # fmt: skip
        self.had = [self.solver.Constraint(-infinity, infinity if s.count is None else s.count, f"had_{i}")
                    for i, s in enumerate(sizes)]  # fmt: skip
        self._ask_for_the_rest()
        self.solver.Objective().SetMinimization()

    def solve(self) -> bool:
        """Take in new sheets and solve; False if they do not make a plan."""
        if self.forgotten != self.pool.forgotten:
            self.begin()
        sizes, content = self.pool.contents()
        for index in range(len(self.times), len(sizes)):
            times = self.solver.NumVar(0, self.solver.infinity(), f"times_{index}")
            for item in np.flatnonzero(content[index]):
                self.wanted[item].SetCoefficient(times, int(content[index, item]))
            self.had[sizes[index]].SetCoefficient(times, 1)
            self.solver.Objective().SetCoefficient(times, self.rules.prices[sizes[index]])
            self.times.append(times)
        if self.solver.Solve() != pywraplp.Solver.OPTIMAL:
            return False
        self.value = self.solver.Objective().Value()
        self.values = np.array([max(0.0, row.dual_value()) for row in self.wanted])
        self.fees = np.array([max(0.0, -row.dual_value()) for row in self.had])
        return True

    def price(self, tries: int) -> int:
        """Look for sheets worth more than they cost, of each size; returns how many were remembered."""
        before = int(self.pool.store.counts[0])
        self.tries += tries * len(self.rules.prices)
        for size, price in enumerate(self.rules.prices):
            self.look(self.values, size, tries, price + self.fees[size] + WORTH_IT * max(1, price))
        return int(self.pool.store.counts[0]) - before

    def look(self, values: Array, size: int, tries: int, least: float) -> None:
        """Look for sheets of one size whose parts are worth more than ``least``, by these values."""
        now, trial = self._waiting(values, size), self._waiting(values, size)
        if not now.waiting:
            return
        history, keys = np.zeros(HISTORY + 1), np.zeros(len(values))
        done, burst = 0, 5
        while done < tries and not self.stop():
            begun, until = time.thread_time(), min(tries, done + burst)
            self.rules.loops(
                run_single, self.rules.table, now.work, trial.work, self.pool.store, self.rng, history,
                values, keys, size, done, until, float(least),
            )  # fmt: skip
            burst = next_burst(burst, (time.thread_time() - begun) / (until - done))
            done = until

    def _waiting(self, values: Array, size: int) -> State:
        """All parts that are worth something and that the size takes, waiting for the one sheet."""
        state = State(self.rules, 1)
        table = self.rules.table
        area = table.sizes[size, c.AREA]
        items = [
            index
            for index, count in enumerate(self.left)
            if values[index] > 0 and self.rules.finds[index][size]
            for _ in range(min(int(count), int(area / self.rules.areas[index]) + 1))
        ]
        state.wait(items)
        return state

    def improve(self, rounds: int, tries: int) -> bool:
        """Solve and look for sheets, a number of rounds; False where nothing better is found any more."""
        for _ in range(rounds):
            self.thin_out()
            if self.stop() or not self.solve() or not self.price(tries):
                return False
        return True

    def dive(self, limit: int, tries: int) -> State:
        """Fix sheets one by one, those that the programme takes most of, and look for better ones in between.

        Returns
        -------
        State
            Sheets for no more than the limit; what they do not hold waits.
        """
        state, paid = State(self.rules), 0
        basis: Array | None = None  # what all parts together take, for the time after the dive
        while self.left.any() and not self.stop() and self.solve():
            share = np.array([times.solution_value() for times in self.times])
            basis = np.flatnonzero(share) if basis is None else basis
            sizes, content = self.pool.contents()
            best = self._pick(share)
            if paid + self.rules.prices[sizes[best]] > limit or not self._can_be_had(sizes[best]):
                break
            often = np.flatnonzero(share > MOSTLY)
            often = often[np.argsort(-share[often], kind="stable")][: int(share.sum() * SHARE)]
            for index in [best, *(int(i) for i in often if i != best)]:
                wanted, size = np.minimum(content[index], self.left), int(sizes[index])
                price = self.rules.prices[size]
                too_little = index != best and wanted @ self.values < STILL_WORTH * price
                if too_little or paid + price > limit or not self._can_be_had(size):
                    continue
                state.adopt(self.pool.nodes_of(index), size)
                paid += price
                self.used[size] += 1
                self.left = self.left - wanted
            self._ask_for_the_rest()
            if self.left.any() and self.solve():
                basis = self._make_room(basis)
                self.price(tries)
        self.left, self.used = self.rules.table.wanted.copy(), np.zeros_like(self.used)
        self._ask_for_the_rest()
        state.drop_surplus()
        return state

    def _can_be_had(self, size: int) -> bool:
        """Whether there is one more of a size beside the sheets fixed."""
        return bool(self.used[size] < self.rules.table.sizes[size, c.COUNT])

    def _ask_for_the_rest(self) -> None:
        """Of parts and of sheets only those count that a dive has left."""
        for row, count in zip(self.wanted, self.left, strict=True):
            row.SetLb(int(count))
        for row, size, used in zip(self.had, self.rules.instance.sizes, self.used, strict=True):
            if size.count is not None:
                row.SetUb(size.count - int(used))

    def _make_room(self, basis: Array) -> Array:
        """Where the pool is full, forget what is least likely, but not these; returns their new places."""
        if not self.pool.full:
            return basis
        penalties = self.reduced()
        penalties[basis] = -np.inf
        kept = self.pool.forget(penalties)
        self.begin()
        self.solve()
        return np.searchsorted(kept, basis)

    def _pick(self, share: Array) -> int:
        """The sheet taken most, or one taken nearly as much."""
        near = np.flatnonzero(share >= share.max() - NEAR)
        self.rng[0] = (int(self.rng[0]) * 48_271) % 2_147_483_647
        return int(near[int(self.rng[0]) % len(near)])

    def thin_out(self) -> None:
        """Where the pool has no room for more, forget the half that is least likely in a cheaper plan."""
        if self.pool.full and self.solve():
            self.pool.forget(self.reduced())
            self.begin()

    def reduced(self) -> Array:
        """Reduced cost of each sheet that the pool has."""
        sizes, content = self.pool.contents()
        prices = np.array(self.rules.prices, dtype=float) + self.fees
        return prices[sizes] - content @ self.values
