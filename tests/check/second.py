"""A second opinion: the cuts made again with Shapely, in floating point, from the format's words alone."""

from __future__ import annotations

from math import hypot, inf
from typing import Any

from shapely import LinearRing, hausdorff_distance, intersection, symmetric_difference
from shapely.geometry import Polygon, box

from nesting.plan import Cut, Plan, Sheet

FAR = 10_000_000.0
GRID = 1 / 64  # units to which outlines are snapped before they are laid over each other


def side(start: Any, to: Any, off: float) -> Polygon:
    """Everything on the left of a line that lies ``off`` units to the left of start - to."""
    run = hypot(to[0] - start[0], to[1] - start[1])
    ux, uy = (to[0] - start[0]) / run, (to[1] - start[1]) / run
    x, y = start[0] - uy * off, start[1] + ux * off
    near = [(x - FAR * ux, y - FAR * uy), (x + FAR * ux, y + FAR * uy)]
    return Polygon([*near, *((px - FAR * uy, py + FAR * ux) for px, py in reversed(near))])


def parted(piece: Polygon, cut: Cut, kerf: int) -> tuple[Polygon, Polygon]:
    """Kept and other piece."""
    start, to = (cut.start, cut.to) if cut.waste_side == "right" else (cut.to, cut.start)
    return piece.intersection(side(start, to, 0)), piece.intersection(side(to, start, kerf))


def name(place: int) -> str:
    """A to Z, AA to AZ and so on."""
    letter = chr(65 + place % 26)
    return letter if place < 26 else name(place // 26 - 1) + letter


def pieces(sheet: Sheet) -> dict[str, Polygon]:
    """What is left after the last cut; slanted strips within the two units are left out if not listed."""
    listed = [item for o in sheet.offcuts if (item := Polygon(o.corners)).is_valid and item.area]
    left, used = {"A": box(0, 0, sheet.length, sheet.width)}, 1
    for cut in sheet.cuts:
        whole = left[cut.piece]
        kept, other = parted(whole, cut, sheet.kerf)
        left[cut.piece] = kept
        straight = other.area > 0.999999 * other.envelope.area > 0
        sliver = other.area <= other.length and not any(_beyond(item, whole, kept) for item in listed)
        if other.geom_type == "Polygon" and (straight or not sliver):
            left[name(used)] = other
            used += 1
    return left


def _beyond(item: Polygon, whole: Polygon, kept: Polygon) -> bool:
    """Whether an item of a piece lies in what a cut takes off."""
    inside = _common(item, whole.buffer(2)) > 0.5 * item.area
    return inside and _common(item, kept) < 0.5 * item.area


def _common(one: Polygon, other: Polygon) -> float:
    return float(intersection(one, other, grid_size=GRID).area)


def misfit(sheet: Sheet) -> float:
    """Units by which a part's or offcut's outline is off its piece, at worst; inf where it has none."""
    try:
        left = list(pieces(sheet).values())
    except KeyError:
        return inf
    items = [Polygon(p.corners) for p in sheet.placed] + [Polygon(o.corners) for o in sheet.offcuts]
    if len(items) != len(left) or any(not item.is_valid or not item.area for item in items):
        return inf
    return max(_off(item, left) for item in items)


def _off(item: Polygon, left: list[Polygon]) -> float:
    mine = _nearest(item, left)
    if mine.is_empty or mine.geom_type != "Polygon":
        return inf
    return float(hausdorff_distance(LinearRing(mine.exterior), LinearRing(item.exterior)))


def _nearest(item: Polygon, left: list[Polygon]) -> Polygon:
    """The piece where an item lies.

    Not by the area in common: it came out as none where two outlines were off by thousandths of a unit.
    """
    there = [piece for piece in left if not piece.is_empty] or left
    return min(there, key=lambda piece: piece.centroid.distance(item.centroid))


def room(plan: Plan) -> float:
    """Units that are missing to a kerf between the two nearest parts of any sheet (Shapely's distance)."""
    worst = -inf
    for sheet in plan.sheets:
        parts = [Polygon(p.corners) for p in sheet.placed]
        for i, one in enumerate(parts):
            worst = max([worst, *(sheet.kerf - one.distance(other) for other in parts[:i])])
    return worst


def stray(sheet: Sheet) -> float:
    """Units by which pieces and listed outlines differ, averaged along the outline, at worst.

    Unlike :func:`misfit` it does not mind where the sharp tip of a wedge lies.
    """
    left = list(pieces(sheet).values())
    worst = 0.0
    for corners in [*(p.corners for p in sheet.placed), *(o.corners for o in sheet.offcuts)]:
        item = Polygon(corners)
        mine = _nearest(item, left)
        worst = max(worst, symmetric_difference(mine, item, grid_size=GRID).area / item.length)
        left.remove(mine)
    return max([worst, *(piece.area / piece.length for piece in left)])
