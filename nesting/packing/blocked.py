"""The ways in which a whole sheet may begin: one piece, pieces round its bad zones, pieces within reach.

A bad zone is freed by cuts from edge to edge along its sides; in which order they come, and which zone's
come first, decides which of the pieces around it is the large one. Zones near each other may be freed by one
box around them all, and what is left with a zone in it may be left alone: then fewer cuts are made. There are
too many such ways to try them all, so many are made and the most promising kept
(:mod:`nesting.packing.roots`). A part that has room in none of them may still have some on the sheet: what
there is not is proved elsewhere (:mod:`nesting.packing.clearance`).

Where no rail reaches from end to end, the sheet may be cut in two first, one piece as long as can still be
ripped: two parts in a row beside a longer one would otherwise find no place, since a part is cut out where
it ends, and a zone might be in the way of all that is long.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from nesting.packing.instance import Item, Size
from nesting.packing.roots import best_of, ways_of
from nesting.packing.rows import (
    SIDES,
    Box,
    Rows,
    cut_off,
    cut_round,
    free_boxes,
    give_up,
    inside,
    longest_cut_in,
    rectangle,
    row_of,
)
from nesting.packing.tapering import beside_zones

MOST_WAYS = 48  # to begin a sheet with zones
MOSTLY_WHOLE = 4  # times as often as a sheet that is cut within reach first
MOST_STRIPS = 6  # items that a sheet with a zone may be ripped or crosscut for before the zone is freed
MOST_MADE, MOST_LOOKS = 1_000, 1_000_000  # ways to begin, and pieces looked at to make them
Cut = tuple[Box, tuple[str, ...]]  # along these sides of a box, in this order


@lru_cache(maxsize=64)
def roots_of(size: Size, kerf: int, reach: int | None, items: tuple[Item, ...]) -> list[Rows]:
    """Rows of the trees that a sheet of this size may begin with; the first row is its root.

    None of their cuts is longer than ``reach``, factory edges still on. Where there are zones they are chosen
    for the ``items`` that are wanted.
    """
    zones = sorted({zone for each in size.blocked if (zone := inside(each, size.region))})
    whole = [row_of(rectangle(size.region))]
    parted = [] if reach is None else _within_reach(size, kerf, reach, from_far=bool(zones))
    if not zones:
        return [whole] * (1 if reach is None else MOSTLY_WHOLE) + parted
    starts = [whole, *parted]
    found: list[Rows] = []
    for start in starts:
        strips = _strips(size, kerf, items) if start is whole else []
        some = itertools.islice(_made(start, strips, zones, kerf), MOST_MADE // len(starts))
        made = _reached(some, size, reach)
        found += best_of(made, items, kerf, MOST_WAYS // len(starts))
    found += _reached(beside_zones(size, kerf, items, found), size, reach)
    if not found:  # there is nothing to be had of it
        give_up(whole, zones)
        return [whole]
    return found


def _reached(made: Iterable[Rows], size: Size, reach: int | None) -> list[Rows]:
    """Those without a cut that no rail reaches."""
    return [rows for rows in made if reach is None or longest_cut_in(rows, size) <= reach]


def _made(start: Rows, strips: list[Rows], zones: list[Box], kerf: int) -> Iterator[Rows]:
    """The zones cut out of the pieces of a sheet in many ways: no two with the same free pieces."""
    seen: set[tuple[Box, ...]] = set()
    looks = 0
    for begin, cuts in _ways(start, strips, zones):
        rows = [row.copy() for row in begin]
        for box, sides in cuts:
            cut_round(rows, box, sides, zones, kerf)
        give_up(rows, zones)
        looks += len(rows) * (len(cuts) + len(zones))
        pieces = tuple(sorted(free_boxes(rows)))
        if pieces and pieces not in seen:
            seen.add(pieces)
            yield rows
        if looks > MOST_LOOKS:
            return


def _ways(start: Rows, strips: list[Rows], zones: list[Box]) -> Iterator[tuple[Rows, list[Cut]]]:
    """How to begin, and the cuts then: some in order, then all kinds at random, the same each time."""
    around, orders = _around(zones), list(itertools.permutations(SIDES))
    for count in range(1, 5):
        yield from ((start, [(around, sides)]) for sides in itertools.permutations(SIDES, count))
    for order in orders:
        yield start, [(zone, order) for zone in zones]
    rng = random.Random(1)
    groupings = _groupings(zones)
    for turn in range(MOST_MADE):
        begin = rng.choice(strips) if strips and turn % 2 else start
        groups = list(rng.choice(groupings))
        rng.shuffle(groups)
        cuts: list[Cut] = []
        for group in groups:
            order = rng.choice(orders)
            cuts.append((_around(group), order[: rng.choice((2, 3, 4, 4, 4))]))
            if len(group) > 1 and rng.random() < 0.5:  # else all of the box is given up
                cuts += [(zone, rng.choice((order, rng.choice(orders)))) for zone in group]
        yield begin, cuts


def _groupings(zones: list[Box]) -> list[list[list[Box]]]:
    """The zones each by itself, those near each other together, and all of them in one."""
    gaps = sorted({_gap(a, b) for a, b in itertools.combinations(zones, 2)})
    chosen = sorted({-1, *gaps[:: max(1, len(gaps) // 4)], *gaps[-1:]})
    found: list[list[list[Box]]] = []
    for most in chosen:
        groups: list[list[Box]] = []
        for zone in zones:
            near = [group for group in groups if any(_gap(zone, other) <= most for other in group)]
            groups = [group for group in groups if group not in near]
            groups.append([zone, *itertools.chain.from_iterable(near)])
        if groups not in found:
            found.append(groups)
    return found


def _gap(one: Box, other: Box) -> int:
    """How far two boxes are apart, along or across the sheet, whichever is more."""
    return max(other[0] - one[2], one[0] - other[2], other[1] - one[3], one[1] - other[3], 0)


def _around(zones: Sequence[Box]) -> Box:
    x0, y0, x1, y1 = zip(*zones, strict=True)
    return min(x0), min(y0), max(x1), max(y1)


def _strips(size: Size, kerf: int, items: tuple[Item, ...]) -> list[Rows]:
    """The sheet with a strip cut off at one of its sides, as wide as one of the largest parts.

    What is cut along a zone beside it then reaches from that cut only: a strip the whole sheet long and a
    crosscut at the zone above it are otherwise not both to be had.
    """
    x0, y0, x1, y1 = size.region
    found: list[Rows] = []
    for item in sorted(items, key=lambda item: -item.twice_area)[:MOST_STRIPS]:
        for wide, high in ways_of(item):
            edges = (("lower", y0 + high), ("upper", y1 - high), ("left", x0 + wide), ("right", x1 - wide))
            for side, at in edges:
                rows = [row_of(rectangle(size.region))]
                cut_off(rows, 0, (at, at, at, at), side, kerf)
                if len(rows) > 1 and rows not in found:
                    found.append(rows)
    return found


def _within_reach(size: Size, kerf: int, reach: int, from_far: bool) -> list[Rows]:
    """The sheet cut in two, one piece as long, or as wide, as can still be cut from end to end.

    That piece lies at the left or lower end; ``from_far`` says that it may lie at the other one too.
    """
    x0, y0, x1, y1 = size.region
    trim, found = size.trim, []
    ends = (("left", "right", x0, x1, trim.left, trim.right),
            ("lower", "upper", y0, y1, trim.lower, trim.upper))  # fmt: skip
    for near, far, low, high, before, after in ends:
        if high - low + before + after <= reach:
            continue
        for side, at in ((near, low + reach - before), (far, high - reach + after))[: 1 + from_far]:
            if low < at < high:
                rows = [row_of(rectangle(size.region))]
                cut_off(rows, 0, (at, at, at, at), side, kerf)
                found.append(rows)
    return [rows for rows in found if longest_cut_in(rows, size) <= reach]
