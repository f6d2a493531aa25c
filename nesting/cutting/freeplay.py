"""By how much a sheet may be shorter and narrower and still hold what is on it, round bad zones too."""

from __future__ import annotations

from collections.abc import Sequence

from nesting.cutting.common import span_of, way_of
from nesting.cutting.facts import outline_of
from nesting.cutting.relaying import holds_part, is_low
from nesting.cutting.room import Room, play
from nesting.geometry import bounds
from nesting.packing.instance import Item, Size
from nesting.packing.layout import Node, corners_of


def free_play(root: Node, items: Sequence[Item], size: Size) -> Room:
    """Along and across, what is beside the tree's own piece included.

    A bad zone stays where it is, so parts are moved up no further than to its end.
    """
    x0, y0, x1, y1 = size.region
    if size.blocked:
        moved = _Moved(items, size)
        return x1 - moved.end(root, 0, x0), y1 - moved.end(root, 1, y0)
    (along, across), (_, _, right, upper) = play(root, items), bounds(outline_of(root.piece))
    return along + x1 - right, across + y1 - upper


class _Moved:
    """Parts moved along the sheet, then across it, each as far as what lies before it lets it."""

    def __init__(self, items: Sequence[Item], size: Size) -> None:
        self.items, self.size = items, size
        self.along: dict[int, int] = {}  # how far each has been, so that a sheet may be short in both ways

    def end(self, node: Node, way: int, start: int) -> int:
        """Where the parts of a piece that begins at ``start`` end."""
        if not holds_part(node):
            return start
        cut = way_of(node)
        if cut is None:
            return self._as_one(node, way, start)
        kids = [kid for kid in node.kids if holds_part(kid)]
        if cut != way:
            return max(self.end(kid, way, start) for kid in kids)
        first, *last = kids if is_low(node) else kids[::-1]
        end = self.end(first, way, start)
        for kid in last:
            kerf = span_of(kid, way)[0] - span_of(first, way)[1]
            end = self.end(kid, way, end + kerf)
        return end

    def _as_one(self, node: Node, way: int, start: int) -> int:
        """Of a part, or of what slanted cuts part."""
        leaves = [(leaf, leaf.item) for leaf in node.walk() if leaf.item is not None]
        box = bounds([point for leaf, item in leaves for point in corners_of(leaf, self.items[item])])
        begin, end = box[way], box[2 + way]
        low, high = box[1 - way] - self.along.get(id(node), 0), box[3 - way]
        zones = [zone[2 + way] for zone in self.size.blocked if zone[1 - way] < high and low < zone[3 - way]]
        here = max([start, *(zone for zone in zones if zone <= begin)])
        if way == 0:
            self.along[id(node)] = max(0, begin - here)
        return here + end - begin
