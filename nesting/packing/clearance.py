"""Whether a part may lie on a sheet clear of its bad zones: for proofs, so no is only said where it is sure.

The search begins such a sheet in some ways out of many (:mod:`nesting.packing.blocked`), and what it finds no
place for may still have one. Here a part counts as a rectangle that is inside it wherever and however it
lies; no cuts are thought of, and no kerf, which may come out of a zone. For a rectangle that cannot lean this
is exact: one that lies clear of all zones can be cut out along its own four sides.
"""

from __future__ import annotations

import math
from fractions import Fraction

from nesting.packing.instance import Item, Size

PLAY = 4  # units, for what a slant makes irrational, and as much for each time that a part is as wide as long


def may_lie(item: Item, size: Size, lean: Fraction) -> bool:
    """Whether an item may lie on a sheet of a size, as far as zones and trims go.

    Parameters
    ----------
    lean : Fraction
        The most by which a part may run off the grain, as a tangent; 0 where none leans.
    """
    length, width = _sure(item, lean)
    return any(_room(size, *((width, length) if turned else (length, width))) for turned in item.turns())


def _sure(item: Item, lean: Fraction) -> tuple[int, int]:
    """Length and width of a rectangle inside a part, level whatever way within the lean the part lies."""
    if item.rectangular and not lean:
        return item.length, item.start
    length = item.length - abs(item.skew_start) - abs(item.skew_end)
    narrow, wide = min(item.start, item.end), max(item.start, item.end)
    play = PLAY * (1 + wide // max(1, item.length))
    return (max(0, length - math.ceil(wide * lean) - play),
            max(0, narrow - math.ceil(item.length * lean) - play))  # fmt: skip


def _room(size: Size, length: int, width: int) -> bool:
    """Whether a rectangle, not turned, lies somewhere inside the trims and clear of all zones.

    Pushed left and down it stops at an edge or a zone on both sides, so those places are all that are asked.
    """
    x0, y0, x1, y1 = size.region
    zones = size.blocked
    lefts = sorted({x for x in (x0, *(zone[2] for zone in zones)) if x0 <= x <= x1 - length})
    lowers = sorted({y for y in (y0, *(zone[3] for zone in zones)) if y0 <= y <= y1 - width})
    for x in lefts:
        near = [zone for zone in zones if zone[0] < x + length and x < zone[2]]
        if any(not any(zone[1] < y + width and y < zone[3] for zone in near) for y in lowers):
            return True
    return False
