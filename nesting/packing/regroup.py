"""A few sheets of a plan at a time, whose parts are laid out anew on cheaper ones of whatever sizes.

Changes that a walk over the whole plan seldom makes come about here: one large sheet for two small ones or
the reverse, or three sheets for three of other sizes. What is asked stays small, so the work for a round
over all sheets grows with their number only (a large neighbourhood search, Shaw 1998).
"""

from __future__ import annotations

import random
from collections.abc import Callable

import numpy as np

from nesting.packing import tables as c
from nesting.packing.improve import NEARLY, Improver
from nesting.packing.pool import Pool
from nesting.packing.rules import Rules
from nesting.packing.state import State

FEWEST, MOST = 2, 4  # sheets at a time; the one, of a plan that has one
TRIES_A_PART = 20
DRIFT = 0.01  # dearer at the beginning, than the cheapest so far; nothing at the end


class Regrouper:
    """Looks for cheaper sheets for the parts of a few, again and again.

    Attributes
    ----------
    tries : float
        Made so far, each for the share of all parts that it lays out.
    """

    def __init__(self, rules: Rules, pool: Pool, seed: int, stop: Callable[[], bool]) -> None:
        self.rules = rules
        self.pool = pool
        self.stop = stop
        self.random = random.Random(seed)
        self.tries = 0.0
        sizes = rules.table.sizes
        self.rate = float(np.min(sizes[:, c.PRICE] / sizes[:, c.AREA]))

    def improve(self, state: State, tries: int) -> State:
        """Go over a complete state, now and then by way of a dearer one; returns the cheapest seen."""
        begun, best = self.tries, state
        state = state.copy()
        while (done := self.tries - begun) < tries and state.slots and not self.stop():
            chosen = self._choose(state)
            slack = int(best.price * (1 + DRIFT * (1 - done / tries))) - state.price
            better = self._laid_anew(state, chosen, slack)
            if better is not None and self._can_be_had(state, chosen, better):
                state = exchanged(state, chosen, better)
                if state.price < best.price:
                    best = state
        return best

    def _choose(self, state: State) -> list[int]:
        """The slots of a few sheets, wasteful ones more often."""
        slots = state.slots
        many = min(len(slots), self.random.randint(FEWEST, MOST))
        keys = {slot: self.random.random() ** (1 / (0.02 + self._waste(state, slot))) for slot in slots}
        return sorted(slots, key=lambda slot: -keys[slot])[:many]

    def _waste(self, state: State, slot: int) -> float:
        """Share of a sheet's price that its parts would not cost at the best rate."""
        price = self.rules.prices[state.size_of(slot)]
        used = sum(self.rules.areas[item] * count for item, count in state.content(slot).items())
        return max(0.0, 1 - used * self.rate / price) if price else 0.0

    def _laid_anew(self, state: State, chosen: list[int], slack: int) -> State | None:
        """The parts of some sheets on others that cost less; if none is found, on any within the slack."""
        rules = self.rules
        items = [item for slot in chosen for item in state.content(slot).elements()]
        price = sum(rules.prices[state.size_of(slot)] for slot in chosen)
        start = State(rules, min(len(items), 2 * len(chosen) + 2))
        for slot in chosen:
            start.adopt(state.rows_of(slot), state.size_of(slot))
        found = None
        if sum(rules.areas[item] for item in items) * self.rate <= price - 1:
            found = self._search(start, items, price - 1, TRIES_A_PART * len(items))
        if found is None and slack >= 0:
            found = self._search(start, items, price + slack, len(items))
        return found

    def _search(self, start: State, items: list[int], limit: int, most: int) -> State | None:
        """Ruin and recreate; a try with a tenth of all parts counts as a tenth."""
        improver = Improver(self.rules, start, self.random.randrange(1 << 30), self.pool, limit)
        improver.near = NEARLY * sum(self.rules.areas[item] for item in items)
        found = improver.search(most, self.stop)
        self.tries += (improver.tries + 1) * len(items) / self.rules.instance.total
        return found

    def _can_be_had(self, state: State, chosen: list[int], better: State) -> bool:
        """Whether there are as many of each size as the plan would then have."""
        used = [state.size_of(slot) for slot in state.slots if slot not in chosen]
        used += [better.size_of(slot) for slot in better.slots]
        return all(used.count(size) <= self.rules.table.sizes[size, c.COUNT] for size in set(used))


def exchanged(state: State, chosen: list[int], better: State) -> State:
    """The state with other sheets for those chosen."""
    made = State(state.rules, len(state.work.order) - 1)
    for slot in state.slots:
        if slot not in chosen:
            made.adopt(state.rows_of(slot), state.size_of(slot))
    for slot in better.slots:
        made.adopt(better.rows_of(slot), better.size_of(slot))
    return made
