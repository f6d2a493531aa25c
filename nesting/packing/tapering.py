"""Sheets that begin with a taper's own slanted cut, which may pass a bad zone where no square cut would.

The zone lies on the other side of that cut, or beyond the part's end. One cut along a side of a zone may come
first. What takes more than that is not looked for.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import replace

from nesting.packing import tables as c
from nesting.packing.fitting import divided, kerf_over
from nesting.packing.instance import Item, Size
from nesting.packing.roots import ways_of
from nesting.packing.rows import (
    SIDES,
    Box,
    Rows,
    box_of,
    cut_off,
    cut_round,
    free,
    free_boxes,
    give_up,
    inside,
    rectangle,
    row_of,
    split,
)
from nesting.stock import Trim

MOST_TAPERS, MOST_ZONES = 8, 6  # for which, and along which, such ways are made


def beside_zones(size: Size, kerf: int, items: Sequence[Item], known: Sequence[Rows]) -> list[Rows]:
    """Ways to begin for the tapers that have no room in the free rectangles of those known."""
    rooms = [(x1 - x0, y1 - y0) for rows in known for x0, y0, x1, y1 in free_boxes(rows)]
    homeless = [
        item for item in items
        if item.frame[1] != item.frame[2]
        and not any(x <= length and y <= width for x, y in ways_of(item) for length, width in rooms)
    ]  # fmt: skip
    found: list[Rows] = []
    for item in sorted(homeless, key=lambda item: -item.twice_area)[:MOST_TAPERS]:
        for turned in item.turns():
            for rows in _beside(_transposed(size) if turned else size, kerf, item):
                for row in rows:
                    row[c.TURNED] = int(turned)
                found.append(rows)
    return found


def _transposed(size: Size) -> Size:
    """The sheet with x and y exchanged, as a turned piece sees it."""
    trim = size.trim
    return replace(
        size, length=size.width, width=size.length,
        trim=Trim(left=trim.lower, right=trim.upper, lower=trim.left, upper=trim.right),
        blocked=tuple((y0, x0, y1, x1) for x0, y0, x1, y1 in size.blocked),
    )  # fmt: skip


def _beside(size: Size, kerf: int, item: Item) -> Iterator[Rows]:
    """The part level in each corner of the sheet, ripped over all of it or only as far as the part goes."""
    zones = [zone for each in size.blocked if (zone := inside(each, size.region))]
    begins = list(_begins(size, zones, kerf))
    length, start, end = item.frame
    for left, right in ((start, end), (end, start)):
        for at_left, at_lower, whole in itertools.product((True, False), repeat=3):
            for begin, piece in begins:
                rows = [row.copy() for row in begin]
                n = piece if whole else _column(rows, piece, length, at_left, kerf)
                if n is not None and _rip(rows, n, (length, left, right), at_left, at_lower, kerf):
                    strip = rows[n][c.KID]
                    _free_the_rest(rows, zones, kerf)
                    if free(rows[strip]):
                        yield rows


def _begins(size: Size, zones: list[Box], kerf: int) -> Iterator[tuple[Rows, int]]:
    """The sheet, then cut in two along a side of a zone; and the row of the piece for the part."""
    yield [row_of(rectangle(size.region))], 0
    for zone, side in itertools.product(zones[:MOST_ZONES], SIDES):
        rows = [row_of(rectangle(size.region))]
        cut_off(rows, 0, zone, side, kerf)
        yield from ((rows, n) for n in range(1, len(rows)))


def _free_the_rest(rows: Rows, zones: list[Box], kerf: int) -> None:
    """Cut the zones out of the other pieces; of those with a slant upright only."""
    for zone in zones:
        cut_round(rows, zone, SIDES, [zone], kerf)
    give_up(rows, zones)


def _column(rows: Rows, n: int, length: int, at_left: bool, kerf: int) -> int | None:
    """Crosscut a rectangle where the part ends; the row of the piece that the part is to be in."""
    x0, y0, x1, y1 = box_of(rows[n])
    if length >= x1 - x0 - kerf:
        return None
    if at_left:
        cut_off(rows, n, (x0 + length, y0, x1, y1), "left", kerf)
        return rows[n][c.KID]
    cut_off(rows, n, (x0, y0, x1 - length, y1), "right", kerf)
    return rows[n][c.OTHER]


def _rip(
    rows: Rows, n: int, shape: tuple[int, int, int], at_left: bool, at_lower: bool, kerf: int
) -> bool:
    """Rip a rectangle along the slanted side of a part that lies at one of its ends; whether that can be.

    ``shape`` is the part's length and its heights on the left and right.
    """
    x0, y0, x1, y1 = box_of(rows[n])
    length, left, right = shape
    run = x1 - x0
    if length > run:
        return False
    if at_left:
        right = left + divided((right - left) * run, length)
    else:
        left = right - divided((right - left) * run, length)
    over = kerf_over(kerf, run, abs(right - left))
    if min(left, right) <= 0 or max(left, right) + over >= y1 - y0:
        return False
    if at_lower:
        strip = (x0, x1, y0, y0, y0 + left, y0 + right)
        rest = (x0, x1, y0 + left + over, y0 + right + over, y1, y1)
        line = (x0, y0 + left, x1, y0 + right)
    else:
        strip = (x0, x1, y1 - left, y1 - right, y1, y1)
        rest = (x0, x1, y0, y0, y1 - left - over, y1 - right - over)
        line = (x0, y1 - left, x1, y1 - right)
    split(rows, n, line, strip, rest)
    return True
