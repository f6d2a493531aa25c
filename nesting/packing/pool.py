"""Every sheet ever filled, and the cheapest set of them that cuts all parts (CP-SAT).

Dropping a part from a sheet keeps it cuttable, so each part is asked for at least once: a covering
(Gilmore and Gomory 1965; the pool of patterns as in Cui, Yao and Zhang 2018).
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from ortools.sat.python import cp_model

from nesting.packing.layout import Node
from nesting.packing.solver import SOLVED, solver_for
from nesting.packing.state import Rules, Sheet, State

Key = tuple[int, tuple[tuple[int, int], ...]]
MOST_SHEETS = 4_000


@dataclass(slots=True)
class Pool:
    """Filled sheets by size and content; the most recent ones are kept."""

    sheets: dict[Key, Sheet]

    def add(self, state: State) -> None:
        """Remember the sheets of a state."""
        for sheet in state.sheets:
            key = (sheet.size, tuple(sorted(sheet.items().items())))
            known = self.sheets.pop(key, None)
            self.sheets[key] = known or sheet.copy()
        while len(self.sheets) > MOST_SHEETS:
            del self.sheets[next(iter(self.sheets))]


class CoverModel:
    """How often each remembered sheet is cut, for the least money."""

    def __init__(self, rules: Rules, pool: Pool, limit: int) -> None:
        self.rules = rules
        self.model = cp_model.CpModel()
        self.keys = list(pool.sheets)
        self.pool = pool
        self.times = [
            self.model.new_int_var(0, rules.instance.total, f"times_{index}")
            for index in range(len(self.keys))
        ]
        self._cover_all()
        self._within_counts()
        self._objective(limit)

    def _cover_all(self) -> None:
        """Sum over the sheets of times * parts of an item on it >= how many are wanted."""
        rows: list[list[cp_model.LinearExpr]] = [[] for _ in self.rules.instance.items]
        for (_, content), times in zip(self.keys, self.times, strict=True):
            for item, count in content:
                rows[item].append(count * times)
        for row, wanted in zip(rows, self.rules.instance.items, strict=True):
            self.model.add(sum(row) >= wanted.count)

    def _within_counts(self) -> None:
        """Sum of times over the sheets of one size <= how many can be had."""
        for index, size in enumerate(self.rules.instance.sizes):
            if size.count is not None:
                used = [t for (s, _), t in zip(self.keys, self.times, strict=True) if s == index]
                self.model.add(sum(used) <= size.count)

    def _objective(self, limit: int) -> None:
        """Least sum of price * times, below the limit."""
        prices = [self.rules.prices[size] for size, _ in self.keys]
        cost = sum(p * t for p, t in zip(prices, self.times, strict=True))
        self.model.add(cost <= limit)
        self.model.minimize(cost)

    def solve(self, effort: float) -> State | None:
        """A complete state within the limit, if the pool holds one and it is found in time."""
        solver = solver_for(effort)
        if solver.solve(self.model) not in SOLVED:
            return None
        sheets = [
            self.pool.sheets[key].copy()
            for key, times in zip(self.keys, self.times, strict=True)
            for _ in range(solver.value(times))
        ]
        return without_surplus(State(self.rules, sheets))


def without_surplus(state: State) -> State:
    """Take out parts that are cut more often than wanted."""
    wanted = Counter(
        {index: item.count for index, item in enumerate(state.rules.instance.items)}
    )
    have = sum((sheet.items() for sheet in state.sheets), Counter[int]())
    for sheet in list(state.sheets):
        for node in _cells(sheet):
            item = node.item
            if item is not None and have[item] > wanted[item]:
                have[item] -= 1
                state.take_out(sheet, node)
    state.waiting = []
    return state


def _cells(sheet: Sheet) -> list[Node]:
    return [node for node in sheet.root.walk() if node.item is not None]
