"""Which of the many ways to begin a sheet with bad zones are kept: those in which most parts find a place.

Each way is a tree of cuts round the zones. A part counts as the rectangle that holds it, and what is left of
a piece beside it as two rectangles, so this is quick and only says what is likely.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from nesting.packing.instance import Item
from nesting.packing.rows import Rows, free_boxes

MOST_FILLED = 24  # parts, the largest, that are put into each way to begin
SHORT_LIST = 160  # ways that are filled
Sides = tuple[int, int]  # along and across the sheet


@dataclass(frozen=True, slots=True)
class Likely:
    """A way to begin.

    Attributes
    ----------
    free : list of Sides
        Its free rectangles.
    worth : float
        Of these: area^5/4 as in the search, so that one large is more than two small.
    held : int
        Area of the parts that were put into it.
    """

    rows: Rows
    free: list[Sides]
    worth: float
    held: int = 0

    def takes(self, ways: Sequence[Sides]) -> bool:
        """Whether a part that may lie in these ways has room in one of the free rectangles."""
        return any(x <= length and y <= width for x, y in ways for length, width in self.free)


def ways_of(item: Item) -> list[Sides]:
    """Along and across the sheet, the rectangle that holds a part, in each way that it may be turned."""
    length, *ends = item.frame
    return [(max(ends), length) if turned else (length, max(ends)) for turned in item.turns()]


def best_of(made: Sequence[Rows], items: Sequence[Item], kerf: int, most: int) -> list[Rows]:
    """The most promising ways to begin, each part in one of them if any of all has room for it.

    Then in turn those that hold most parts, those with the largest free pieces, and those with few cuts.
    """
    ways = {item: ways_of(item) for item in items}
    falling = sorted(items, key=lambda item: -item.twice_area)
    parts = [(item.twice_area // 2, ways[item]) for item in falling for _ in range(item.count)]
    all_ways = [_likely(rows) for rows in made]
    short = list({id(one): one for order in (_by_worth, _by_cuts)
                  for one in sorted(all_ways, key=order)[:SHORT_LIST]}.values())  # fmt: skip
    filled = [Likely(one.rows, one.free, one.worth, _held(one.free, parts[:MOST_FILLED], kerf))
              for one in short]  # fmt: skip
    chosen: list[Likely] = []
    for item in falling:
        if not any(one.takes(ways[item]) for one in chosen):
            roomy = (one for one in itertools.chain(filled, all_ways) if one.takes(ways[item]))
            chosen += sorted(roomy, key=_by_parts)[:1]
    orders: list[Callable[[Likely], tuple[float, ...]]] = [_by_parts, _by_worth, _by_parts, _by_cuts]
    ranked = [iter(sorted(filled, key=order)) for order in orders]
    for of_one_order in itertools.cycle(ranked):
        if len(chosen) >= min(most, len(filled)):
            break
        chosen += itertools.islice((one for one in of_one_order if one not in chosen), 1)
    return [one.rows for one in chosen[:most]]


def _likely(rows: Rows) -> Likely:
    free = [(x1 - x0, y1 - y0) for x0, y0, x1, y1 in free_boxes(rows)]
    return Likely(rows, free, sum((x * y) ** 1.25 for x, y in free))


def _by_parts(one: Likely) -> tuple[float, ...]:
    return -one.held, len(one.rows), -one.worth


def _by_worth(one: Likely) -> tuple[float, ...]:
    return -one.worth, len(one.rows)


def _by_cuts(one: Likely) -> tuple[float, ...]:
    return len(one.rows), -one.worth


def _held(free: Sequence[Sides], parts: Sequence[tuple[int, list[Sides]]], kerf: int) -> int:
    """Area of the parts that find room, each in the smallest piece that takes it, the largest first."""
    pieces, held = list(free), 0
    for area, ways in parts:
        best, least = None, -1
        for n, (length, width) in enumerate(pieces):
            if least < 0 or length * width < least:
                for way in ways:
                    if way[0] <= length and way[1] <= width:
                        best, least = (n, way), length * width
        if best is None:
            continue
        held += area
        n, (x, y) = best
        length, width = pieces.pop(n)
        beside, above = length - x - kerf, width - y - kerf
        if beside * width >= above * length:  # crosscut first: the larger piece stays whole
            rest = (beside, width), (x, above)
        else:
            rest = (length, above), (beside, y)
        pieces += [piece for piece in rest if min(piece) > 0]
    return held
