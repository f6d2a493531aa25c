"""Each set of sheets that would be cheaper is searched by itself, the promising ones longer.

Of few sheets, in several sizes, few sets cost less than the best plan and have room for all parts; a walk
that is free to change its sheets wanders among them and stays with none. Here a walk of its own tries to get
all parts into each set; those that lack least go on, twice as long each time (successive halving: Karnin,
Koren and Somekh 2013).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from nesting.packing import tables as c
from nesting.packing.improve import Improver, all_waiting
from nesting.packing.pool import Pool
from nesting.packing.rules import Rules
from nesting.packing.state import State

MOST_SETS = 100  # where more cost less and have room, none is searched: each would get too little
LOOKED_AT = 20_000  # sets, at the most, to find those with room
TRIES = 400  # for each set at the beginning of the first round; in each later round so many more

Counts = tuple[int, ...]  # how many sheets of each size


class Aimer:
    """Looks for a complete state on each set of sheets that costs no more than a limit.

    Attributes
    ----------
    tries : int
        Made so far.
    """

    def __init__(self, rules: Rules, pool: Pool, seed: int, stop: Callable[[], bool]) -> None:
        self.rules = rules
        self.pool = pool
        self.seed = seed
        self.stop = stop
        self.tries = 0
        self.begun = 0  # walks
        self.first = TRIES

    def improve(self, limit: int, most: int) -> State | None:
        """One round over the sets, of so many tries at the most; a complete state, if one is found."""
        walks = [self._walk(counts) for counts in roomy(self.rules, limit)]
        tries, until = self.first, self.tries + most
        while walks and not self.stop():
            for walk in walks:
                found = self._go(walk, min(tries, until - self.tries))
                if found is not None:
                    return found
            walks.sort(key=lambda walk: float(walk.history[:, 0].mean()))
            walks, tries = walks[: len(walks) // 2], 2 * tries
        self.first += TRIES
        return None

    def _walk(self, counts: Counts) -> Improver:
        """A walk that has these sheets and no others, all parts still waiting."""
        self.begun += 1
        rules = self.rules.with_counts(counts)
        limit = sum(count * price for count, price in zip(counts, rules.prices, strict=True))
        start = all_waiting(rules, min(sum(counts), rules.slots))
        return Improver(rules, start, self.seed * 1_000_003 + self.begun, self.pool, limit)

    def _go(self, walk: Improver, tries: int) -> State | None:
        """So many tries more; counted at the end, since how many bursts they take is up to the clock."""
        before = walk.tries
        found = walk.search(tries, self.stop)
        self.tries += walk.tries - before
        if found is not None:
            found.rules = self.rules
        return found


def roomy(rules: Rules, limit: int) -> list[Counts]:
    """Sets of sheets for no more than the limit that have room for all parts, the roomiest first.

    Only those to which no sheet can be added: what a lesser set takes, these take. Empty where there are too
    many sets.
    """
    table, prices = rules.table, rules.prices
    need = float(table.areas @ table.wanted)
    most = [min(int(count), rules.instance.total) for count in table.sizes[:, c.COUNT]]
    order = sorted(range(len(prices)), key=lambda size: -prices[size])
    found = []
    for number, (counts, left) in enumerate(_sets(order, prices, most, limit)):
        if number == LOOKED_AT:
            return []
        full = all(counts[size] == most[size] or prices[size] > left for size in order)
        room = sum(count * float(area) for count, area in zip(counts, table.sizes[:, c.AREA], strict=True))
        if full and room >= need:
            found.append((-room, counts))
    return [counts for _, counts in sorted(found)] if len(found) <= MOST_SETS else []


def _sets(order: list[int], prices: list[int], most: list[int], limit: int) -> Iterator[tuple[Counts, int]]:
    """All sets for no more than the limit, and what is left of it; of the last size as many as can be."""
    counts = [0] * len(prices)

    def choose(place: int, left: int) -> Iterator[tuple[Counts, int]]:
        if place == len(order):
            yield tuple(counts), left
            return
        size = order[place]
        many = min(most[size], left // prices[size]) if prices[size] else most[size]
        for number in range(many, -1 if place < len(order) - 1 else many - 1, -1):
            counts[size] = number
            yield from choose(place + 1, left - number * prices[size])

    return choose(0, limit)
