"""What the breakdown of a sheet keeps asking of its cutting tree, found once."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from nesting.cutting.pieces import Line, Split, distance, reach, reverse, split
from nesting.cutting.room import Room, play
from nesting.geometry import Point, Polygon, bounds, twice_area
from nesting.lengths import INCH
from nesting.packing.instance import Instance, Size
from nesting.packing.layout import Node, Piece, corners_of, keepable
from nesting.plan import SheetEdge

PLAY = 2  # inner units that the plan's format grants where a slant makes a size irrational
NEAR = PLAY + 1  # as near as a part lies to a line that is its own edge
EDGES: tuple[SheetEdge, ...] = ("lower", "upper", "left", "right")  # straight reference edge first
KEPT_FREE: tuple[SheetEdge, SheetEdge] = ("right", "upper")  # what play is kept along, and across
SIDES = ("straight", "end", "far", "start")  # of a part, c0 to c1 and on
LONG = 60 * INCH  # a part that is hard to make again (common practice, no source)

Hidden = Mapping[int, frozenset[str]]
"""Edges of an item's parts that casing, a joint or band will hide."""


Splits = dict[tuple[Polygon, Line], Split | None]
"""What cuts with one kerf make of pieces; other trees of a sheet have most of them in common."""


class Along(NamedTuple):
    """Part edges on a line: their length in sight, and how far back from it the parts reach."""

    seen: int
    depths: tuple[float, ...]


class Facts:
    """One sheet, its tree, and what is wanted in each node.

    Attributes
    ----------
    inside : dict
        The trimmed sheet's edges as lines with the sheet to their left.
    spare : dict
        How far off each of them the tree's own piece ends: the play that is kept.
    """

    def __init__(
        self,
        instance: Instance,
        size: Size,
        root: Node,
        hidden: Hidden | None = None,
        splits: Splits | None = None,
    ) -> None:
        self.instance, self.saw, self.size, self.root = instance, instance.saw, size, root
        self.hidden = hidden or {}
        x0, y0, x1, y1 = size.region
        self.inside: dict[SheetEdge, Line] = {
            "left": ((x0, 1), (x0, 0)),
            "right": ((x1, 0), (x1, 1)),
            "lower": ((0, y0), (1, y0)),
            "upper": ((1, y1), (0, y1)),
        }
        self._corners: dict[int, tuple[Point, ...]] = {}
        self._touched: dict[int, frozenset[SheetEdge]] = {}
        self.spare = {edge: reach(outline_of(root.piece), line)[0] for edge, line in self.inside.items()}
        self._wanted: set[int] = set()
        self._parts: set[int] = set()
        self._play: dict[int, Room] = {}
        self._sides: dict[int, tuple[Line, ...]] = {}
        self._along: dict[tuple[int, Line], Along] = {}
        self._lines: dict[tuple[int, int], Line] = {}
        self._splits: Splits = {} if splits is None else splits
        for node in reversed(list(root.walk())):
            self._look(node)

    def _look(self, node: Node) -> None:
        outline: Polygon = ()
        moved = dict.fromkeys(EDGES, 0.0)
        if node.item is not None:
            outline = self._corners[id(node)] = corners_of(node, self.instance.items[node.item])
        elif node.free and self.keeps(node):
            outline, moved = outline_of(node.piece), self.spare
        touched = {edge for edge in EDGES if outline and self._reaches(outline, edge, moved[edge])}
        self._touched[id(node)] = frozenset(touched.union(*(self.touched(kid) for kid in node.kids)))
        if outline or any(self.wanted(kid) for kid in node.kids):
            self._wanted.add(id(node))
        if node.item is not None or any(self.holds_part(kid) for kid in node.kids):
            self._parts.add(id(node))

    def _reaches(self, outline: Polygon, edge: SheetEdge, moved: float) -> bool:
        return reach(outline, self.inside[edge])[0] <= PLAY + moved

    def wanted(self, node: Node) -> bool:
        """Whether a part or an offcut to keep is in the node."""
        return id(node) in self._wanted

    def holds_part(self, node: Node) -> bool:
        """Whether a part is in the node."""
        return id(node) in self._parts

    def play(self, node: Node) -> Room:
        """How much narrower and shorter a node's piece could be, along and across.

        What is kept free along a trimmed edge is beside the piece that reaches there: all of it is its own.
        """
        if id(node) not in self._play:
            outline, room = outline_of(node.piece), play(node, self.instance.items)
            kept = [self.spare[edge] if self._reaches(outline, edge, self.spare[edge]) else 0
                    for edge in KEPT_FREE]  # fmt: skip
            self._play[id(node)] = room[0] + kept[0], room[1] + kept[1]
        return self._play[id(node)]

    def touched(self, node: Node) -> frozenset[SheetEdge]:
        """Edges of the trimmed sheet to which something wanted in the node reaches."""
        return self._touched[id(node)]

    def keeps(self, node: Node) -> bool:
        """Whether a free piece is worth keeping: no bad zone in it, and rails that reach to trim it."""
        return (
            keepable(node.piece, self.instance.keep)
            and not self.spoiled(outline_of(node.piece))
            and all(self.saw.rails_for(cut) is not None for cut in self._trims_of(outline_of(node.piece)))
        )

    def _trims_of(self, outline: Polygon) -> Iterator[int]:
        """Lengths of the cuts that trim a piece, all trims still on."""
        trim, (x0, y0, x1, y1) = self.size.trim, bounds(outline)
        lost = {"left": trim.left, "right": trim.right, "lower": trim.lower, "upper": trim.upper}
        near = {edge for edge in EDGES if self._reaches(outline, edge, self.spare[edge])}
        on = {edge: lost[edge] for edge in near if lost[edge]}
        for edge in on:
            upright = edge in EDGES[2:]
            ends = EDGES[:2] if upright else EDGES[2:]
            lost_there = sum(on.get(end, 0) + math.ceil(self.spare[end]) for end in ends)
            yield (y1 - y0 if upright else x1 - x0) + lost_there

    def spoiled(self, outline: Polygon) -> bool:
        """Whether a bad zone of the sheet may reach into a piece: into its bounding box."""
        x0, y0, x1, y1 = bounds(outline)
        return any(a < x1 and x0 < c and b < y1 and y0 < d for a, b, c, d in self.size.blocked)

    def corners(self, node: Node) -> tuple[Point, ...]:
        """Corners c0 to c3 of the part in a node."""
        return self._corners[id(node)]

    def split(self, polygon: Polygon, line: Line) -> Split | None:
        """As :func:`nesting.cutting.pieces.split`, remembered."""
        key = polygon, line
        if key not in self._splits:
            self._splits[key] = split(polygon, line, self.saw.kerf)
        return self._splits[key]

    def parting(self, node: Node, kid: int) -> Line:
        """The line of a node's cut that is one kid's own edge, with that kid to its left."""
        key = id(node), kid
        if key not in self._lines:
            self._lines[key] = self._find_parting(node, kid)
        return self._lines[key]

    def _find_parting(self, node: Node, kid: int) -> Line:
        assert node.line is not None
        a, b, _ = node.line
        line = (_on_sheet(a, node.piece), _on_sheet(b, node.piece))
        if sum(distance(line, point) for point in outline_of(node.kids[0].piece)) <= 0:
            line = reverse(line)
        return line if kid == 0 else _near_edge(node.kids[1], line)

    def along(self, kid: Node, line: Line) -> Along:
        """What of the parts in a kid lies along the cut that made it."""
        key = id(kid), line
        if key not in self._along:
            self._along[key] = self._find_along(kid, line)
        return self._along[key]

    def _find_along(self, kid: Node, line: Line) -> Along:
        seen, depths = 0, []
        for leaf in kid.walk():
            if leaf.item is None:
                continue
            corners = self.corners(leaf)
            off = [abs(distance(line, point)) for point in corners]
            for i, name in enumerate(SIDES):
                if off[i] <= NEAR >= off[(i + 1) % 4]:
                    depths.append(max(off))
                    seen += self.seen(leaf, name)
        return Along(seen, tuple(depths))

    def seen(self, leaf: Node, name: str) -> int:
        """Length of a part's edge, 0 if nobody will see it."""
        assert leaf.item is not None
        if name in self.hidden.get(leaf.item, ()):
            return 0
        i = SIDES.index(name)
        a, b = self.corners(leaf)[i], self.corners(leaf)[(i + 1) % 4]
        return max(abs(a[0] - b[0]), abs(a[1] - b[1]))

    def sides(self, node: Node) -> tuple[Line, ...]:
        """A part's sides: a straight reference first, then square off it, slanted ones between their ends."""
        if id(node) not in self._sides:
            self._sides[id(node)] = self._find_sides(node)
        return self._sides[id(node)]

    def _find_sides(self, node: Node) -> tuple[Line, ...]:
        corners = self.corners(node)
        outline = corners if twice_area(corners) > 0 else corners[::-1]
        sides = list(zip(outline, (*outline[1:], outline[0]), strict=True))
        spans = [math.dist(*side) for side in sides]

        def rank(i: int) -> tuple[bool, bool, bool, float]:
            long = spans[i] + spans[(i + 2) % 4] >= spans[(i + 1) % 4] + spans[(i + 3) % 4]
            slanted = is_slanted(sides[i])
            return slanted, long == slanted, not self._at_limit(sides[i]), -spans[i]

        return tuple(sides[i] for i in sorted(range(4), key=rank))

    def _at_limit(self, side: Line) -> bool:
        return any(reach(side, line) == (0, 0) for line in self.inside.values())

    def risk(self, leaf: Node) -> int:
        """How much is lost with a part: its area in square inches, more for each thing that can go wrong."""
        assert leaf.item is not None
        item = self.instance.items[leaf.item]
        two_sided = {"straight", "far"} <= self.hidden.get(leaf.item, frozenset())
        area = abs(twice_area(self.corners(leaf))) // (2 * INCH**2)
        return area * (1 + (not item.rectangular) + (item.length >= LONG) + two_sided)


def is_slanted(line: Line) -> bool:
    """Whether a line runs neither along nor across the sheet."""
    return line[0][0] != line[1][0] and line[0][1] != line[1][1]


def outline_of(piece: Piece) -> Polygon:
    """A piece's corners on the sheet, anticlockwise."""
    x0, x1, l0, l1, u0, u1, flag = piece
    corners = ((x0, l0), (x1, l1), (x1, u1), (x0, u0))
    return tuple((y, x) for x, y in reversed(corners)) if flag else corners


def _on_sheet(point: Point, piece: Piece) -> Point:
    return (point[1], point[0]) if piece[6] else point


def _near_edge(node: Node, line: Line) -> Line:
    """The edge of a piece that lies along a line, with the piece to its left."""
    outline = outline_of(node.piece)
    sides = zip(outline, (*outline[1:], outline[0]), strict=True)
    return min(sides, key=lambda side: max(abs(off) for off in reach(side, line)))
