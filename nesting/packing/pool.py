"""Sheets remembered, and the cheapest set of them that cuts all parts (CP-SAT).

Dropping a part from a sheet keeps it cuttable, so each part is asked for at least once: a covering
(Gilmore and Gomory 1965; the pool of patterns as in Cui, Yao and Zhang 2018).
"""

from __future__ import annotations

import numpy as np

from nesting.packing import tables as c
from nesting.packing.rules import Rules
from nesting.packing.search import remember
from nesting.packing.solver import SOLVED, cp_model, solver_for
from nesting.packing.state import NO_LIMIT, State
from nesting.packing.tables import Array, Store

MOST_SHEETS = 4_000
MOST_ROWS = 400_000


class Pool:
    """Filled sheets by size and content.

    Attributes
    ----------
    forgotten : int
        How often some were forgotten; the others have new places then.
    """

    def __init__(self, rules: Rules) -> None:
        self.rules = rules
        self.forgotten = 0
        items = len(rules.instance.items)
        whole = np.int64
        self.store = Store(
            nodes=np.zeros((MOST_ROWS, c.COLUMNS), dtype=whole),
            begin=np.zeros(MOST_SHEETS, dtype=whole),
            rows=np.zeros(MOST_SHEETS, dtype=whole),
            size=np.zeros(MOST_SHEETS, dtype=whole),
            key=np.zeros(MOST_SHEETS, dtype=whole),
            content=np.zeros((MOST_SHEETS, items), dtype=np.int32),
            slots=np.full(4 * MOST_SHEETS + 1, c.NONE, dtype=whole),
            counts=np.zeros(3, dtype=whole),
        )

    def add(self, state: State) -> None:
        """Remember the sheets of a state."""
        for slot in state.slots:
            self.rules.loops(remember, self.rules.table, state.work, slot, self.store)

    def contents(self) -> tuple[Array, Array]:
        """The size of each sheet, and how many of each item lie on it."""
        count = int(self.store.counts[0])
        return self.store.size[:count], self.store.content[:count]

    @property
    def full(self) -> bool:
        """No room for more sheets."""
        return bool(self.store.counts[2])

    def nodes_of(self, sheet: int) -> Array:
        """The rows of a sheet's tree."""
        begin = int(self.store.begin[sheet])
        return self.store.nodes[begin : begin + int(self.store.rows[sheet])]

    def forget(self, penalties: Array) -> Array:
        """Forget the half of the sheets that have the larger penalties; returns which are kept, in order."""
        sizes, content = self.contents()
        kept = np.sort(np.argsort(penalties, kind="stable")[: len(penalties) // 2])
        trees = [(self.nodes_of(i).copy(), int(sizes[i]), content[i].copy(), int(self.store.key[i]))
                 for i in kept]  # fmt: skip
        self.forgotten += 1
        self.store.counts[:] = 0
        self.store.slots[:] = c.NONE
        row = 0
        for index, (nodes, size, parts, key) in enumerate(trees):
            self.store.nodes[row : row + len(nodes)] = nodes
            self.store.begin[index], self.store.rows[index] = row, len(nodes)
            self.store.size[index], self.store.content[index], self.store.key[index] = size, parts, key
            at = key % len(self.store.slots)
            while self.store.slots[at] >= 0:
                at = (at + 1) % len(self.store.slots)
            self.store.slots[at] = index
            row += len(nodes)
        self.store.counts[:2] = len(trees), row
        return kept


class CoverModel:
    """How often each remembered sheet is cut, for the least money; of all sheets or of those chosen."""

    def __init__(self, rules: Rules, pool: Pool, limit: int = NO_LIMIT, chosen: Array | None = None) -> None:
        self.rules = rules
        self.pool = pool
        self.model = cp_model.CpModel()
        sizes, content = pool.contents()
        self.chosen = np.arange(len(sizes)) if chosen is None else chosen
        self.sizes, self.content = sizes[self.chosen], content[self.chosen]
        self.times = [
            self.model.new_int_var(0, rules.instance.total, f"times_{index}")
            for index in range(len(self.sizes))
        ]
        self._cover_all()
        self._within_counts()
        self._objective(limit)

    def _cover_all(self) -> None:
        """Sum over the sheets of times * parts of an item on it >= how many are wanted."""
        for column, wanted in zip(self.content.T, self.rules.instance.items, strict=True):
            sheets = np.flatnonzero(column)
            self.model.add(sum(int(column[i]) * self.times[i] for i in sheets) >= wanted.count)

    def _within_counts(self) -> None:
        """Sum of times over the sheets of one size <= how many can be had."""
        for index, size in enumerate(self.rules.instance.sizes):
            if size.count is not None:
                used = [self.times[i] for i in np.flatnonzero(self.sizes == index)]
                self.model.add(sum(used) <= size.count)

    def _objective(self, limit: int) -> None:
        """Least sum of price * times, below the limit."""
        prices = self.rules.prices
        cost = sum(prices[size] * times for size, times in zip(self.sizes, self.times, strict=True))
        self.model.add(cost <= limit)
        self.model.minimize(cost)

    def solve(self, effort: float, deadline: float | None = None) -> State | None:
        """A complete state within the limit, if the pool holds one and it is found in time."""
        solver = solver_for(effort, deadline)
        if solver.solve(self.model) not in SOLVED:
            return None
        chosen = [i for i, times in enumerate(self.times) for _ in range(solver.value(times))]
        state = State(self.rules)
        if len(chosen) >= len(state.work.order):
            return None
        for index in chosen:
            state.adopt(self.pool.nodes_of(int(self.chosen[index])), int(self.sizes[index]))
        state.drop_surplus()
        return state
