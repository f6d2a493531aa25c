"""Dives at one set of sheets at a time, the one that is likeliest to do.

Of few sheets, in several sizes, few sets cost less than the best plan. By how much each must grow, all its
sizes alike, to hold all parts, is told by a linear programme over the sheets known (that of
:mod:`nesting.packing.columns`): what need not grow, or hardly, may do. The programme for the least money
takes a mixture of sets instead, and what is short in that is not what is short on any one of them.

For the set that must grow least sheets are looked for at its own values. Then one sheet after the other is
fixed, of those that the programme takes most of, and better ones are looked for to go beside them (a dive, as
in Sadykov, Vanderbeck, Pessoa, Tahiri and Uchoa 2019). Parts that are left over go to ruin and recreate on
these sheets and no others, then on a few of them at a time (a large neighbourhood search, Shaw 1998). Each
dive at a set counts a little against it when the next is chosen.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable

import numpy as np

from nesting.packing.aiming import Counts, roomy
from nesting.packing.columns import Floats, Programme
from nesting.packing.functions import Ints
from nesting.packing.improve import Improver
from nesting.packing.master import Master
from nesting.packing.pool import Pool
from nesting.packing.regroup import exchanged
from nesting.packing.rules import Rules
from nesting.packing.state import State

MOST_GROWTH = 1.1  # by the sheets known, of a set that is dived at
A_DIVE = 0.002  # of growth, that each dive at a set counts against it
LOOKS, TRIES = 4, 600  # rounds for sheets of a set at the most, and tries for each size in one
BESIDE = 300  # tries for each size beside what is fixed
FEW_NEW = 5  # sheets found in a round: it is the last then
WALK = 4_000  # tries for what is left over
MENDS, FEWEST, MOST = 20, 2, 3  # times that so many sheets are laid anew with what is missing yet
TRIES_A_PART = 20
LEAST = 1e-7  # of the set, that a sheet must be worth more


class Diver:
    """Looks for complete states that cost less, on one set of sheets after the other.

    Attributes
    ----------
    tries : int
        Made so far.
    growth : dict
        What each set must grow to, by the sheets known when it was last asked.
    """

    def __init__(self, rules: Rules, pool: Pool, seed: int, stop: Callable[[], bool]) -> None:
        self.rules, self.pool, self.seed, self.stop = rules, pool, seed, stop
        self.master = Master(rules, pool, seed, stop)
        self.random = random.Random(seed)
        self.demand = rules.table.wanted.astype(np.int64)
        self.growth: dict[Counts, float] = {}
        self.dives: Counter[Counts] = Counter()
        self.tries = self.walks = 0
        self._begin()

    def _begin(self) -> None:
        self.programme = Programme(self.demand, len(self.rules.prices))
        self.sheets: list[int] = []  # places in the pool, by column
        self.taken_over, self.forgotten = 0, self.pool.forgotten

    def promising(self, limit: int) -> Counts | None:
        """The set for no more than a limit that is next; None if none is likely to do, or they are many."""
        if len(self.rules.prices) == 1:
            return None
        sets = [counts for counts in roomy(self.rules, limit) if sum(counts) <= self.rules.slots]
        for counts in sets:
            if counts not in self.growth and not self.stop():
                self.growth[counts] = self._solve(counts, self.demand)[0]
        likely = [(self.growth[counts] + A_DIVE * self.dives[counts], counts) for counts in sets
                  if self.growth.get(counts, MOST_GROWTH) < MOST_GROWTH]  # fmt: skip
        return min(likely)[1] if likely else None

    def dive(self, counts: Counts) -> State | None:
        """One dive at a set; a complete state on it, if one is found."""
        self.dives[counts] += 1
        sheets, left = np.array(counts), self.demand.copy()
        for _ in range(LOOKS):
            known = len(self.programme.times)
            self._look(sheets, left, TRIES)
            self.growth[counts] = self._solve(counts, left)[0]
            if len(self.programme.times) < known + FEW_NEW:
                break
        rules = self.rules.with_counts(counts)
        state = State(rules, sum(counts))
        while left.any() and sheets.any() and not self.stop():
            fixed = self._pick(sheets)
            if fixed is None:
                break
            sizes, contents = self.pool.contents()
            state.adopt(self.pool.nodes_of(fixed), int(sizes[fixed]))
            sheets[sizes[fixed]] -= 1
            left = np.maximum(0, left - contents[fixed])
            if left.any() and sheets.any():
                self._look(sheets, left, BESIDE)
                self._solve(tuple(sheets), left)
        state.drop_surplus()
        return self._walk(state, counts) if state.waiting else self._done(state)

    def _solve(self, counts: Counts, left: Ints) -> tuple[float, Floats, Floats]:
        """By how much sheets must grow for what is left, and what parts and sheets are worth then."""
        if self.forgotten != self.pool.forgotten:
            self._begin()
        sizes, contents = self.pool.contents()
        for sheet in range(self.taken_over, len(sizes)):
            if self.programme.add(int(sizes[sheet]), contents[sheet]):
                self.sheets.append(sheet)
        self.taken_over = len(sizes)
        self.programme.ask_for(left)
        return self.programme.solve(np.array(counts))

    def _look(self, counts: Ints, left: Ints, tries: int) -> None:
        """Look for sheets of these sizes that are worth more than they should be, for what is left."""
        _, values, fees = self._solve(tuple(counts), left)
        if self.pool.full:
            sizes, contents = self.pool.contents()
            self.pool.forget(fees[sizes] - contents @ values)
        self.master.left = left
        asked = [int(size) for size in np.flatnonzero(counts)]
        self.tries += tries * len(asked)
        for size in asked:
            self.master.look(values, size, tries, float(fees[size]) + LEAST)

    def _pick(self, counts: Ints) -> int | None:
        """A sheet of these sizes, by its place in the pool: likelier the more the programme takes of it."""
        taken = self.programme.taken()
        sizes = self.pool.contents()[0][self.sheets]
        likely = np.where(counts[sizes] > 0, taken, 0.0)
        if likely.max(initial=0.0) < LEAST:
            return None
        likely = np.cumsum(likely**2)
        return self.sheets[int(np.searchsorted(likely, self.random.random() * likely[-1], side="right"))]

    def _walk(self, state: State, counts: Counts) -> State | None:
        """Ruin and recreate on these sheets from what a dive has left."""
        walk, found = self._search(state, counts, WALK)
        self.tries += walk.tries
        found = found or self._mend(walk.now, counts)
        return None if found is None else self._done(found)

    def _mend(self, state: State, counts: Counts) -> State | None:
        """Lay the parts of a few sheets anew with those that are missing; again where no more are missing."""
        for _ in range(MENDS):
            slots = state.slots
            many = min(len(slots), sum(counts) - 1, self.random.randint(FEWEST, MOST))
            if many < 1 or self.stop():
                return None
            chosen = self.random.sample(slots, many)
            kept = Counter(state.size_of(slot) for slot in slots if slot not in chosen)
            free = tuple(count - kept[size] for size, count in enumerate(counts))
            start = State(self.rules.with_counts(free), sum(free))
            for slot in chosen:
                start.adopt(state.rows_of(slot), state.size_of(slot))
            start.wait(state.waiting)
            parts = len(state.waiting) + sum(state.content(slot).total() for slot in chosen)
            walk, found = self._search(start, free, TRIES_A_PART * parts)
            self.tries += walk.tries * parts // self.rules.instance.total  # each a share of a try with all
            better = found or walk.now
            if self._lack(better) <= self._lack(state):
                waiting, state = better.waiting, exchanged(state, chosen, better)
                state.wait(waiting)
            if not state.waiting:
                return state
        return None

    def _lack(self, state: State) -> float:
        """Area of the parts that wait."""
        return float(sum(self.rules.areas[item] for item in state.waiting))

    def _search(self, start: State, counts: Counts, tries: int) -> tuple[Improver, State | None]:
        """Ruin and recreate on so many sheets; a state without parts that wait, if one is found."""
        self.walks += 1
        limit = sum(count * price for count, price in zip(counts, self.rules.prices, strict=True))
        seed = self.seed * 1_000_037 + self.walks
        walk = Improver(start.rules, start, seed, self.pool, limit)
        return walk, walk.search(tries, self.stop)

    def _done(self, state: State) -> State:
        state.rules = self.rules
        return state
