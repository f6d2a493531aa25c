"""Parts that lean: a long side lies along a slanted edge of the piece, one cut for both neighbours.

Such a part runs off the grain by a little, so its ends are out of upright by as much. Its cell is a piece
like any other, with upright ends that its corners just reach; its own ends are cut in it afterwards. Where
a part lies in its cell follows from the cell alone: these functions are compiled
(see :mod:`nesting.packing.compiled`) and serve the search as well as who lays the corners out afterwards.
"""

from __future__ import annotations

import math

from nesting.packing.compiled import kernel
from nesting.packing.fitting import PLAY, Piece, lower_at, upper_at

LEVEL, ON_LOWER, ON_UPPER = range(3)  # how a part lies: level, or along an edge of its cell
MILLION = 1_000_000  # what the lean is told in
LEAST_RISE = 2  # units of a straight edge: corners are whole, and one that ran level would have to be exact
ROUNDING = 0.49  # units by which a corner may be over a whole one and is still rounded down to it


@kernel
def direction(run: int, rise: int, length: int, left: int, right: int, high: bool) -> tuple[float, float]:
    """Cosine and sine of a shape's straight edge, when its lower side runs by ``run`` and ``rise``.

    The lower side is the far edge where the straight one is above.
    """
    dx, dy = run, rise
    if high:
        dx, dy = run * length + rise * (left - right), rise * length - run * (left - right)
    size = math.sqrt(float(dx) * dx + float(dy) * dy)
    return dx / size, dy / size


@kernel
def corner(piece: Piece, sine: float, left: int) -> tuple[float, float]:
    """The lower left corner of a leaning shape on the lower edge of its cell, from where that begins."""
    x0, x1, l0, l1, _, _ = piece
    x = max(0.0, left * sine)
    return x, x * (l1 - l0) / (x1 - x0)


@kernel
def stance(cell: Piece, length: int, left: int, right: int, high: bool) -> tuple[float, float, float, float]:
    """Where a shape's straight edge begins on its left, and its direction, along its cell's lower edge.

    The place is told from where that edge begins.
    """
    cosine, sine = direction(cell[1] - cell[0], cell[3] - cell[2], length, left, right, high)
    x, y = corner(cell, sine, left)
    if high:
        x, y = x - left * sine, y + left * cosine
    return x, y, cosine, sine


@kernel
def may_lean(cosine: float, sine: float, length: int, lean: int) -> bool:
    """Whether a straight edge runs off the grain, and by no more than it may."""
    return bool(abs(sine) * MILLION <= lean * cosine and abs(sine) * length >= LEAST_RISE)


@kernel
def fit_leaning(
    piece: Piece, length: int, left: int, right: int, high: bool, lean: int
) -> tuple[bool, int, int, int, int, int]:
    """Lay a shape along the slanted lower edge of a piece, at its left end; as ``fit_corner``."""
    x0, x1, l0, l1, u0, u1 = piece
    none = (False, 0, 0, 0, 0, 0)
    cosine, sine = direction(x1 - x0, l1 - l0, length, left, right, high)
    if not may_lean(cosine, sine, length, lean):
        return none
    low, up = (left - right, left) if high else (0, right)  # of its right end, over the straight line
    reach = length * cosine + max(0.0, left * sine) - min(low * sine, up * sine)
    end = x0 + math.ceil(reach) + 1 + max(left, right) // length  # its cell's edge is off by half a unit
    if end > x1:
        return none
    low_end, high_end = lower_at(piece, end), upper_at(piece, end)
    cosine, sine = direction(end - x0, low_end - l0, length, left, right, high)
    if not may_lean(cosine, sine, length, lean):
        return none
    x, y = corner((x0, end, l0, low_end, u0, high_end), sine, left)
    ax, ay = x - left * sine, y + left * cosine
    bx, by = x + length * cosine - up * sine, y + length * sine + up * cosine
    slope, roof = (by - ay) / (bx - ax), (u1 - u0) / (x1 - x0)
    if max(ay - roof * ax, by - roof * bx) > u0 - l0 + ROUNDING:
        return none
    top = l0 + math.floor(ay - slope * ax + 0.5)
    top_end = l0 + math.floor(ay + slope * (end - x0 - ax) + 0.5)
    if top > u0 + PLAY or top_end > high_end + PLAY:
        return none
    far = l0 + math.floor(ay + slope * (x1 - x0 - ax) + 0.5)
    return True, l0, end, min(top, u0), min(top_end, high_end), far
