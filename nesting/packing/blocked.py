"""The ways in which a whole sheet may begin: one piece, pieces round its bad zones, pieces within reach.

A bad zone is freed by cuts from edge to edge along its four sides; in which order they come decides which
of the pieces around it is the large one. Where no rail reaches from end to end, the sheet may be cut in two
first, one piece as long as can still be ripped: two parts in a row beside a longer one would otherwise find
no place, since a part is cut out where it ends, and a zone might be in the way of all that is long.
"""

from __future__ import annotations

import itertools

from nesting.packing import tables as c
from nesting.packing.instance import Size

Box = tuple[int, int, int, int]
MOST_WAYS = 48
MOSTLY_WHOLE = 4  # times as often as a sheet that is cut within reach first
SIDES = ("left", "lower", "right", "upper")


def roots_of(size: Size, kerf: int, reach: int | None) -> list[list[list[int]]]:
    """Rows of the trees that a sheet of this size may begin with; the first row is its root.

    None of their cuts is longer than ``reach``, factory edges still on.
    """
    zones = [zone for zone in size.blocked if _inside(zone, size.region) is not None]
    whole = [_row(size.region, c.NONE)]
    parted = [] if reach is None else _within_reach(size, kerf, reach, from_far=bool(zones))
    if not zones:
        return [whole] * (1 if reach is None else MOSTLY_WHOLE) + parted
    starts = [whole, *parted]
    return [rows for start in starts
            for rows in _freed(size, start, zones, kerf, reach, MOST_WAYS // len(starts))]  # fmt: skip


def _freed(
    size: Size, start: list[list[int]], zones: list[Box], kerf: int, reach: int | None, most: int
) -> list[list[list[int]]]:
    """The zones cut out of the pieces of a sheet, in each order of the cuts."""
    found: list[list[list[int]]] = []
    for orders in itertools.islice(itertools.product(_orders(), repeat=len(zones)), 4_000):
        rows = [row.copy() for row in start]
        for zone, order in zip(zones, orders, strict=True):
            _cut_round(rows, zone, order, kerf)
        if rows not in found and (reach is None or _longest(rows, size) <= reach):
            found.append(rows)
        if len(found) == most:
            break
    return found


def _within_reach(size: Size, kerf: int, reach: int, from_far: bool) -> list[list[list[int]]]:
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
                rows = [_row(size.region, c.NONE)]
                _cut_off(rows, 0, (at, at, at, at), side, kerf)
                found.append(rows)
    return [rows for rows in found if _longest(rows, size) <= reach]


def _longest(rows: list[list[int]], size: Size) -> int:
    """Length of the longest cut: one that ends at the trimmed edge may have to go on to the factory edge."""
    x0, y0, x1, y1 = size.region
    longest = 0
    for row in rows:
        if row[c.KID] >= 0:
            (ax, ay), (bx, by) = (row[c.AX], row[c.AY]), (row[c.BX], row[c.BY])
            along = size.trim.left * (ax == x0 and bx != ax) + size.trim.right * (bx == x1 and bx != ax)
            across = size.trim.lower * (ay == y0 and by != ay) + size.trim.upper * (by == y1 and by != ay)
            longest = max(longest, abs(bx - ax) + along, abs(by - ay) + across)
    return longest


def _orders() -> list[tuple[str, ...]]:
    return list(itertools.permutations(SIDES))


def _inside(zone: Box, region: Box) -> Box | None:
    x0, y0, x1, y1 = (max(zone[0], region[0]), max(zone[1], region[1]), min(zone[2], region[2]),
                      min(zone[3], region[3]))  # fmt: skip
    return (x0, y0, x1, y1) if x0 < x1 and y0 < y1 else None


def _row(box: Box, parent: int) -> list[int]:
    x0, y0, x1, y1 = box
    row = [0] * c.COLUMNS
    row[c.X0], row[c.X1], row[c.L0], row[c.L1], row[c.U0], row[c.U1] = x0, x1, y0, y0, y1, y1
    row[c.PARENT], row[c.KID], row[c.OTHER], row[c.ITEM] = parent, c.NONE, c.NONE, c.NONE
    return row


def _box(row: list[int]) -> Box:
    return row[c.X0], row[c.L0], row[c.X1], row[c.U0]


def _cut_round(rows: list[list[int]], zone: Box, order: tuple[str, ...], kerf: int) -> None:
    """Cut the zone out of every free piece that it reaches into."""
    for n in range(len(rows)):
        if rows[n][c.KID] < 0 and rows[n][c.ITEM] == c.NONE and _inside(zone, _box(rows[n])):
            left: int | None = n
            for side in order:
                left = None if left is None else _cut_off(rows, left, zone, side, kerf)
            if left is not None:
                rows[left][c.ITEM], rows[left][c.FIXED] = c.BAD, 1


def _cut_off(rows: list[list[int]], n: int, zone: Box, side: str, kerf: int) -> int | None:
    """Cut off what lies beyond one side of the zone; returns the row that still holds it, if one does.

    The line is the edge of the piece that is used; the kerf is taken out of the zone.
    """
    x0, y0, x1, y1 = _box(rows[n])
    at = {"left": zone[0], "lower": zone[1], "right": zone[2], "upper": zone[3]}[side]
    low, high = (x0, x1) if side in ("left", "right") else (y0, y1)
    before = side in ("left", "lower")
    if not (low < at if before else at < high):
        return n
    cut = at if before else at - kerf
    if cut <= low:
        return n  # no wider than the kerf: what is beyond it stays with it

    def part(begin: int, end: int) -> Box:
        return (begin, y0, end, y1) if side in ("left", "right") else (x0, begin, x1, end)
    first, second = part(low, cut), part(min(high, cut + kerf), high)
    kid = len(rows)
    rows.append(_row(first, n))
    rows[n][c.KID], rows[n][c.FIXED] = kid, 1
    line = (cut, y0, cut, y1) if side in ("left", "right") else (x0, cut, x1, cut)
    rows[n][c.AX], rows[n][c.AY], rows[n][c.BX], rows[n][c.BY] = line
    if second[0] < second[2] and second[1] < second[3]:
        rows[n][c.OTHER] = kid + 1
        rows.append(_row(second, n))
    elif before:
        return None  # all of it is kerf
    return kid + 1 if before else kid
