"""Trees of a sheet as rows of numbers, made before a search begins: pieces and the cuts between them.

The columns are those of :mod:`nesting.packing.tables`; the first row is the root, and a cut may not be taken
back by the search.
"""

from __future__ import annotations

import math

from nesting.packing import tables as c
from nesting.packing.fitting import Piece, lower_at, upper_at
from nesting.packing.instance import Size

Box = tuple[int, int, int, int]  # x0, y0, x1, y1
Rows = list[list[int]]
SIDES = ("left", "lower", "right", "upper")
CLEAR = 2  # units off a slant: a part may stand over it by one, and heights are rounded


def inside(zone: Box, region: Box) -> Box | None:
    """What of a box lies in another; None if nothing does."""
    x0, y0, x1, y1 = (max(zone[0], region[0]), max(zone[1], region[1]), min(zone[2], region[2]),
                      min(zone[3], region[3]))  # fmt: skip
    return (x0, y0, x1, y1) if x0 < x1 and y0 < y1 else None


def row_of(piece: Piece, parent: int = c.NONE) -> list[int]:
    """A free piece."""
    row = [0] * c.COLUMNS
    row[c.X0], row[c.X1], row[c.L0], row[c.L1], row[c.U0], row[c.U1] = piece
    row[c.PARENT], row[c.KID], row[c.OTHER], row[c.ITEM] = parent, c.NONE, c.NONE, c.NONE
    return row


def rectangle(box: Box) -> Piece:
    """The piece with these corners."""
    x0, y0, x1, y1 = box
    return x0, x1, y0, y0, y1, y1


def piece_of(row: list[int]) -> Piece:
    """The piece of a row."""
    x0, x1, l0, l1, u0, u1 = row[:6]
    return x0, x1, l0, l1, u0, u1


def box_of(row: list[int]) -> Box:
    """The box round the piece of a row."""
    x0, x1, l0, l1, u0, u1 = row[:6]
    return x0, min(l0, l1), x1, max(u0, u1)


def reaches(box: Box, row: list[int]) -> bool:
    """Whether a box may reach into the piece of a row: never said too seldom where it has a slant."""
    x0, x1, l0, l1, u0, u1 = row[:6]
    a, low, b, up = box
    if not (a < x1 and x0 < b):
        return False
    if l0 == l1 and u0 == u1:
        return low < u0 and l0 < up
    piece, ends = piece_of(row), (max(a, x0), min(b, x1))
    highest = max(upper_at(piece, x) for x in ends) + CLEAR * (u0 != u1)
    lowest = min(lower_at(piece, x) for x in ends) - CLEAR * (l0 != l1)
    return low < highest and lowest < up


def free(row: list[int]) -> bool:
    """Neither cut nor given up."""
    return row[c.KID] < 0 and row[c.ITEM] == c.NONE


def free_boxes(rows: Rows) -> list[Box]:
    """The free rectangles, and the boxes round free pieces with a slant."""
    return [box_of(row) for row in rows if free(row)]


def split(
    rows: Rows, n: int, line: tuple[int, int, int, int], first: Piece, second: Piece | None
) -> tuple[int, int]:
    """Cut a free piece in two (the second only if it is more than kerf); their rows, -1 for none."""
    kid, other = len(rows), c.NONE
    rows.append(row_of(first, n))
    if second is not None:
        other = len(rows)
        rows.append(row_of(second, n))
    rows[n][c.KID], rows[n][c.OTHER], rows[n][c.FIXED] = kid, other, 1
    rows[n][c.AX], rows[n][c.AY], rows[n][c.BX], rows[n][c.BY] = line
    return kid, other


def cut_off(rows: Rows, n: int, box: Box, side: str, kerf: int) -> int | None:
    """Cut off what lies beyond one side of a box; returns the row that still holds it, if one does.

    The line is the edge of the piece that is used; the kerf is taken out of the box. A piece with a slant is
    only cut upright.
    """
    piece = x0, x1, l0, l1, u0, u1 = piece_of(rows[n])
    upright = side in ("left", "right")
    at = {"left": box[0], "lower": box[1], "right": box[2], "upper": box[3]}[side]
    low, high = (x0, x1) if upright else (l0, u0)
    before = side in ("left", "lower")
    cut = at if before else at - kerf
    if not (low < cut < high and at < high) or not (upright or (l0 == l1 and u0 == u1)):
        return n  # nothing is beyond it, or no more than a kerf: that stays with it
    begin = cut + kerf

    def part(a: int, b: int) -> Piece:
        if not upright:
            return x0, x1, a, a, b, b
        return a, b, lower_at(piece, a), lower_at(piece, b), upper_at(piece, a), upper_at(piece, b)

    first = part(low, cut)
    line = (cut, first[3], cut, first[5]) if upright else (x0, cut, x1, cut)
    kid, other = split(rows, n, line, first, part(begin, high) if begin < high else None)
    if before:
        return None if other < 0 else other  # None: all of it is kerf
    return kid


def cut_round(rows: Rows, box: Box, sides: tuple[str, ...], zones: list[Box], kerf: int) -> None:
    """Cut along sides of a box in every free piece that it and one of the zones reach into."""
    for n in range(len(rows)):
        if free(rows[n]) and reaches(box, rows[n]) and any(reaches(zone, rows[n]) for zone in zones):
            left: int | None = n
            for side in sides:
                if left is not None and reaches(box, rows[left]):  # a narrow one may be all kerf by now
                    left = cut_off(rows, left, box, side, kerf)


def give_up(rows: Rows, zones: list[Box]) -> None:
    """Let no part lie in the free pieces that a zone reaches into."""
    for row in rows:
        if free(row) and any(reaches(zone, row) for zone in zones):
            row[c.ITEM], row[c.FIXED] = c.BAD, 1


def longest_cut_in(rows: Rows, size: Size) -> int:
    """Length of the longest cut: one that ends at the trimmed edge may have to go on to the factory edge."""
    x0, y0, x1, y1 = size.region
    trim, longest = size.trim, 0
    for row in rows:
        if row[c.KID] >= 0:
            ax, ay, bx, by = row[c.AX], row[c.AY], row[c.BX], row[c.BY]
            if row[c.TURNED]:
                ax, ay, bx, by = ay, ax, by, bx
            (ax, bx), (ay, by) = sorted((ax, bx)), sorted((ay, by))
            run = bx - ax + (trim.left * (ax == x0) + trim.right * (bx == x1)) * (bx != ax)
            rise = by - ay + (trim.lower * (ay == y0) + trim.upper * (by == y1)) * (by != ay)
            longest = max(longest, math.ceil(math.hypot(run, rise)))
    return longest
