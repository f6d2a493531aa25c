"""One part in one corner of one free piece: whether it fits, what it leaves, whether the rails reach.

A piece is ``(x0, x1, l0, l1, u0, u1)``: upright ends at x0 and x1, a lower edge from height l0 to l1 and an
upper edge from u0 to u1, each straight, so rips may be slanted. A shape is ``(length, left, right, high)``,
a trapezoid whose straight edge is below, or above where ``high``. All are whole units. These functions are
compiled (see :mod:`nesting.packing.compiled`), so they are plain code over numbers and tuples.
"""

from __future__ import annotations

import math
from typing import Any

from nesting.packing.compiled import kernel

Piece = tuple[int, int, int, int, int, int]
Ints = Any  # an array of whole numbers, or a view of one

PLAY = 1  # units; the plan's format grants two where a slant makes a size irrational
OVERRUN = 1.01  # a slanted cut longer than its part is read where it is on no whole step


@kernel
def divided(a: int, b: int) -> int:
    """The nearest whole number to a / b, halves up; b is positive, and a below 2^53.

    A division of floats takes a tenth of the time of one of whole numbers.
    """
    return math.floor(a / b + 0.5)


@kernel
def worth_of(piece: Piece) -> float:
    """What a free piece is worth: its area to the power of 5/4, so that one large is more than two small.

    Gardeyn and Wauters (2022) take 1.2; roots are quicker than powers, and the same on every machine.
    """
    x0, x1, l0, l1, u0, u1 = piece
    area = (x1 - x0) * (u0 - l0 + u1 - l1) / 2
    return area * math.sqrt(math.sqrt(area))


@kernel
def mirrored(piece: Piece, left_right: bool, up_down: bool) -> Piece:
    """Reflect a piece; doing it twice gives the piece back."""
    x0, x1, l0, l1, u0, u1 = piece
    if left_right:
        x0, x1, l0, l1, u0, u1 = -x1, -x0, l1, l0, u1, u0
    if up_down:
        l0, l1, u0, u1 = -u0, -u1, -l0, -l1
    return x0, x1, l0, l1, u0, u1


@kernel
def lower_at(piece: Piece, x: int) -> int:
    """Height of the lower edge."""
    x0, x1, l0, l1, _, _ = piece
    return l0 if l0 == l1 else l0 + divided((l1 - l0) * (x - x0), x1 - x0)


@kernel
def upper_at(piece: Piece, x: int) -> int:
    """Height of the upper edge."""
    x0, x1, _, _, u0, u1 = piece
    return u0 if u0 == u1 else u0 + divided((u1 - u0) * (x - x0), x1 - x0)


@kernel
def kerf_over(kerf: int, run: int, rise: int) -> int:
    """Height of the kerf, measured square to the line, over a line that rises by ``rise``."""
    if rise == 0:
        return kerf
    return math.floor(kerf * math.sqrt(float(run) * run + float(rise) * rise) / run + 0.5)


@kernel
def level(left: int, right: int) -> int:
    """The higher of two heights; where they are one but for rounding, the one between."""
    if abs(left - right) > PLAY:
        return max(left, right)
    return (left + right) // 2


@kernel
def fit_corner(
    piece: Piece, length: int, left: int, right: int, high: bool
) -> tuple[bool, int, int, int, int, int]:
    """Lay a shape as low as it goes at the left end of a piece.

    Some play is granted where the piece is slanted: heights are whole units there.

    Returns
    -------
    tuple
        Whether it fits; its bottom; the x of its end; its top line at its start, at its end, and at the
        far end of the piece.
    """
    x0, x1, l0, l1, u0, u1 = piece
    end = x0 + length
    if end > x1:
        return False, 0, 0, 0, 0, 0
    low_end, high_end = lower_at(piece, end), upper_at(piece, end)
    play = 0 if l0 == l1 and u0 == u1 else PLAY  # between level edges all heights are exact
    if high:
        top = level(l0 + left, low_end + right)
        if u0 == u1 and abs(top - u0) <= 2 * PLAY:  # the slanted side takes what rounding leaves
            top = u0
        if max(l0 + left, low_end + right) > top + play:
            return False, 0, 0, 0, 0, 0  # its slanted side would stand out by more
        top_end = top
        bottom = top
    else:
        bottom = max(l0, low_end) if l0 == l1 else level(l0, low_end)
        over = max(left, right) + bottom - u0
        if u0 == u1 and l0 != l1 and 0 < over <= play:  # the slanted side takes what rounding leaves
            bottom -= over
        top, top_end = bottom + left, bottom + right
    if top > u0 + play or top_end > high_end + play:
        return False, 0, 0, 0, 0, 0
    far = top_end
    if left != right and not high:
        far = top + divided((top_end - top) * (x1 - x0), length)
    top, top_end = min(top, u0), min(top_end, high_end)
    if high:
        bottom = min(top, top_end)
    return True, bottom, end, top, top_end, far


@kernel
def first_not_below(heights: Ints, height: int) -> int:
    """Index of the first of the rising ``heights`` that is not below one."""
    low, high = 0, len(heights)
    while low < high:
        middle = (low + high) // 2
        if heights[middle] < height:
            low = middle + 1
        else:
            high = middle
    return low


@kernel
def fit_snapped(
    piece: Piece, length: int, left: int, right: int, high: bool, kerf: int, heights: Ints
) -> tuple[bool, int, int, int, int, int]:
    """Fit a shape into the corner; its top line may go on to meet another taper exactly.

    A short part fixes its line's far end only to some units; within these the line goes where the
    end of another tapered part would be, so that one slanted cut serves parts that follow each other.
    """
    fits, bottom, end, top, top_end, far = fit_corner(piece, length, left, right, high)
    if not fits or top == top_end or end == piece[1]:
        return fits, bottom, end, top, top_end, far
    run = piece[1] - piece[0]
    play = math.floor(run / length)  # a unit at the end of the part itself
    over = kerf_over(kerf, run, far - top)
    low, room = piece[3], piece[5] - over
    at = first_not_below(heights, far - low - play)
    if at < len(heights) and heights[at] <= far - low + play:
        far = low + heights[at]
    else:
        at = first_not_below(heights, room - far - play)
        if at < len(heights) and heights[at] <= room - far + play:
            far = room - heights[at]
    return True, bottom, end, top, top_end, far


@kernel
def beside(piece: Piece, end: int, kerf: int) -> tuple[bool, Piece]:
    """What a cut across leaves on its right; nothing where that is all kerf."""
    start = end + kerf
    if start >= piece[1] or piece[5] <= piece[3]:
        return False, piece
    low, up = lower_at(piece, start), upper_at(piece, start)
    return up > low, (start, piece[1], low, piece[3], up, piece[5])


@kernel
def above(piece: Piece, left: int, right: int, kerf: int) -> tuple[bool, Piece]:
    """What a cut along leaves above it; nothing where that is all kerf."""
    x0, x1, _, _, u0, u1 = piece
    over = kerf_over(kerf, x1 - x0, right - left)
    if left + over >= u0 or right + over >= u1:
        return False, piece
    return True, (x0, x1, left + over, right + over, u0, u1)


@kernel
def spoiled(
    piece: Piece, worth: float, fit: tuple[bool, int, int, int, int, int], across_first: bool, kerf: int
) -> float:
    """What of a piece's worth an insertion spoils; negative where the cuts do not go edge to edge."""
    x0, x1, l0, l1, u0, u1 = piece
    _, _, end, top, top_end, far = fit
    at_end = upper_at(piece, end)
    if across_first:
        right, room = beside(piece, end, kerf)
        up, roof = above((x0, end, 0, 0, u0, at_end), top, top_end, kerf)
    else:
        if end == x1 or far < l1 or far > u1 or (top == u0 and top_end == at_end):
            return -1.0
        right, room = beside((x0, x1, l0, l1, top, far), end, kerf)
        up, roof = above(piece, top, far, kerf)
    cost = worth
    if right:
        cost -= worth_of(room)
    if up:
        cost -= worth_of(roof)
    if not across_first and top != far:
        cost *= OVERRUN
    return max(cost, 0.0)


@kernel
def longest_cut(
    piece: Piece, fit: tuple[bool, int, int, int, int, int], across_first: bool,
    edges: tuple[int, int, int, int, int, int],
) -> float:  # fmt: skip
    """The longest cut that an insertion takes, trims of factory edges that may still be there included.

    Where rails reach across the piece, its ends are trimmed first that the part reaches to: no cut along it
    is longer than the piece then. Else cuts along it have to reach over its ends; they trim its sides, too,
    and no cut across is longer than the piece is wide then. A rectangle as wide as its piece is not ripped,
    nor trimmed along where there is no trim: only cut across; nor that where it ends with its piece.

    Parameters
    ----------
    edges : tuple of int
        What is on a piece of the factory edges: at both ends, along its sides; and at the near end, at the
        far one, and there if the part reaches to it, once what can be is trimmed; and along the sides then.
    """
    x0, x1, l0, l1, u0, u1 = piece
    _, bottom, end, top, top_end, far = fit
    ends, sides, near, beyond, reached, beside = edges
    as_wide = l0 == l1 == bottom and u0 == u1 == top == top_end
    uncut = ends == 0 and end >= x1  # across
    if sides == 0 and as_wide:
        return 0.0 if uncut else float(u0 - l0)
    across, rise = float(max(u0 - l0, u1 - l1) + sides), float(far - top)
    over = float(x1 - x0 + ends)
    if across_first and end < x1:
        short = float(end - x0 + near)  # it ends where the part does
        rise = (top_end - top) / (end - x0) * short
        trimmed = max(math.sqrt(short * short + rise * rise), across)
        return min(trimmed, max(over, float(u0 - l0 + beside))) if as_wide else trimmed
    lazily = math.sqrt(over * over + rise * rise)
    if uncut:
        return lazily
    run = x1 - x0 + near + (reached if end >= x1 else beyond)
    trimmed = max(math.sqrt(float(run) ** 2 + rise * rise), across)
    return min(trimmed, max(lazily, float(max(top - l0, far - l1) + beside)))
