"""The cuts of one sheet, in an order that can be made.

The largest piece is broken down first; a factory edge is trimmed as soon as a rail reaches along it and
something in the piece in hand needs it; a part is freed on all its sides at last.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from nesting.cutting.pieces import Line, beyond, distance, left_of, reverse, split
from nesting.errors import NestingError
from nesting.geometry import Point, Polygon, rectangle, twice_area
from nesting.packing.instance import Instance, Size
from nesting.packing.layout import Node, Piece, corners_of
from nesting.packing.rank import keepable
from nesting.plan import Cut, Mark, SheetEdge

PLAY = 2  # inner units that the plan's format grants where a slant makes a size irrational
RAIL_WIDTH = 8 * 8128  # a narrower keeper does not carry the rail (common practice, no source)
EDGES: tuple[SheetEdge, ...] = ("lower", "upper", "left", "right")  # straight reference edge first
OUTWARD: dict[SheetEdge, Point] = {"left": (-1, 0), "right": (1, 0), "lower": (0, -1), "upper": (0, 1)}


@dataclass(frozen=True, slots=True)
class Final:
    """A piece after the last cut: a part, an offcut to keep, or scrap."""

    polygon: Polygon
    item: int | None = None
    corners: tuple[Point, ...] = ()
    keep: bool = False
    trim: bool = False


@dataclass(order=True, slots=True)
class _Waiting:
    """A piece in hand that is still to be cut; the largest comes first."""

    rank: tuple[int, int]
    letter: str = field(compare=False)
    polygon: Polygon = field(compare=False)
    node: Node = field(compare=False)


def letters() -> Iterator[str]:
    """A, B .. Z, AA, AB .."""
    alphabet = [chr(code) for code in range(ord("A"), ord("Z") + 1)]
    for count in itertools.count(1):
        for word in itertools.product(alphabet, repeat=count):
            yield "".join(word)


class Sequencer:
    """Cuts one sheet along its tree; after :meth:`run`, ``cuts`` and ``finals`` hold the outcome."""

    def __init__(self, instance: Instance, size: Size, root: Node) -> None:
        self.instance = instance
        self.saw = instance.saw
        self.size = size
        self.root = root
        self.cuts: list[Cut] = []
        self.finals: list[Final] = []
        self.letters = letters()
        self.order = itertools.count()
        self.queue: list[_Waiting] = []
        x0, y0, x1, y1 = size.region
        self.limits: dict[SheetEdge, int] = {"left": x0, "lower": y0, "right": x1, "upper": y1}
        self.inside = {edge: _limit_line(edge, at) for edge, at in self.limits.items()}

    def run(self) -> Sequencer:
        """Make all cuts."""
        whole = rectangle(0, 0, self.size.length, self.size.width)
        self._put(next(self.letters), whole, self.root)
        while self.queue:
            waiting = heapq.heappop(self.queue)
            polygon = self._trim(waiting.letter, waiting.polygon, waiting.node)
            self._break_down(waiting.letter, polygon, waiting.node)
        return self

    def _put(self, letter: str, polygon: Polygon, node: Node) -> None:
        rank = (-twice_area(polygon), next(self.order))
        heapq.heappush(self.queue, _Waiting(rank, letter, polygon, node))

    def _break_down(self, letter: str, polygon: Polygon, node: Node) -> None:
        if node.item is not None:
            self._free_part(letter, polygon, node)
        elif not node.kids:
            self.finals.append(Final(polygon, keep=self._keeps(node)))
        else:
            self._part_kids(letter, polygon, node)

    def _part_kids(self, letter: str, polygon: Polygon, node: Node) -> None:
        first, line = node.kids[0], self._sheet_line(node)
        kept: Node = first
        other: Node | None
        if len(node.kids) == 2 and self._needless(first) and not self._needless(node.kids[1]):
            line = self._near_edge(node.kids[1], line)
            kept, other = node.kids[1], first
        else:
            kept, other = first, node.kids[1] if len(node.kids) == 2 else None
        done = self._cut(letter, polygon, line)
        if done is None:  # the piece ends at the line already
            self._put(letter, polygon, kept)
            return
        self._put(letter, done[0], kept)
        if done[1]:
            if other is None:
                self.finals.append(Final(done[1]))
            else:
                self._put(done[2], done[1], other)

    def _needless(self, node: Node) -> bool:
        """Nothing in the node is wanted."""
        return node.free and not self._keeps(node)

    def _keeps(self, node: Node) -> bool:
        return keepable(node.piece, self.instance.keep)

    def _sheet_line(self, node: Node) -> Line:
        """A cut's line on the sheet, with the first kid to its left."""
        assert node.line is not None
        a, b, _ = node.line
        line = (_on_sheet(a, node.piece), _on_sheet(b, node.piece))
        inside = outline_of(node.kids[0].piece)
        return line if sum(distance(line, point) for point in inside) > 0 else reverse(line)

    def _near_edge(self, node: Node, line: Line) -> Line:
        """The edge of a piece that lies along a line, with the piece to its left."""
        outline = outline_of(node.piece)
        sides = zip(outline, (*outline[1:], outline[0]), strict=True)
        return min(sides, key=lambda side: max(abs(distance(line, point)) for point in side))

    def _trim(self, letter: str, polygon: Polygon, node: Node) -> Polygon:
        """Take off the factory edges that bound something wanted, where a rail reaches along them."""
        if node.item is not None:
            return polygon  # a part is freed on all its sides anyway
        for edge in EDGES:
            line = self.inside[edge]
            if beyond(polygon, line) <= 0 or not self._touches(node, edge):
                continue
            parted = split(polygon, line, self.saw.kerf)
            if parted and self.saw.rails_for(_length(parted.line)) is not None:
                done = self._cut(letter, polygon, line)
                assert done is not None
                polygon = done[0]
                if done[1]:
                    self.finals.append(Final(done[1], trim=True))
        return polygon

    def _touches(self, node: Node, edge: SheetEdge) -> bool:
        """Whether a part or a kept offcut in the node reaches the trimmed sheet's edge."""
        for leaf in node.walk():
            if leaf.item is not None:
                outline = corners_of(leaf, self.instance.items[leaf.item])
            elif leaf.free and self._keeps(leaf):
                outline = outline_of(leaf.piece)
            else:
                continue
            if min(distance(self.inside[edge], point) for point in outline) <= PLAY:
                return True
        return False

    def _free_part(self, letter: str, polygon: Polygon, node: Node) -> None:
        assert node.item is not None
        corners = corners_of(node, self.instance.items[node.item])
        outline = corners if twice_area(corners) > 0 else corners[::-1]
        sides = list(zip(outline, (*outline[1:], outline[0]), strict=True))
        for side in sorted(sides, key=lambda line: -_length(line)):
            if beyond(polygon, side) <= _slack(side):
                continue
            done = self._cut(letter, polygon, side)
            if done is None:
                continue
            if done[1]:
                self.finals.append(Final(done[1], trim=self.cuts[-1].kind == "trim"))
            polygon = done[0]
        self.finals.append(Final(polygon, item=node.item, corners=corners))

    def _cut(self, letter: str, polygon: Polygon, line: Line) -> tuple[Polygon, Polygon, str] | None:
        """Cut with what is kept to the left of the line; returns kept, rest and the rest's letter."""
        parted = split(polygon, line, self.saw.kerf)
        if parted is None or not parted.kept or beyond(polygon, parted.line) <= _slack(line):
            return None
        other = next(self.letters) if parted.rest else ""
        self.cuts.append(self._describe(letter, polygon, parted.line))
        return parted.kept, parted.rest, other

    def _describe(self, letter: str, polygon: Polygon, line: Line) -> Cut:
        waste_side = "right"
        if _turn(line):
            line, waste_side = reverse(line), "left"
        rails = self.saw.rails_for(_length(line))
        if rails is None:
            raise NestingError(f"a cut of {_length(line)} units is beyond the rails")  # a bug, if seen
        kept = _breadth(polygon, line if waste_side == "right" else reverse(line))
        waste = _breadth(polygon, reverse(line) if waste_side == "right" else line) - self.saw.kerf
        on_waste = kept < RAIL_WIDTH <= waste
        return Cut(
            number=len(self.cuts) + 1,
            kind=self._kind(polygon, line, waste_side),
            start=line[0],
            to=line[1],
            waste_side=waste_side,
            length=round(math.dist(*line)),
            rails=rails,
            joined=len(rails) > 1,
            rail_on="waste" if on_waste else "kept",
            packer=not on_waste and kept < RAIL_WIDTH,
            piece=letter,
            marks=self._marks(polygon, line, waste_side),
        )

    def _kind(self, polygon: Polygon, line: Line, waste_side: str) -> str:
        (x0, y0), (x1, y1) = line
        if x0 != x1 and y0 != y1:
            return "taper"
        kept_left = line if waste_side == "right" else reverse(line)
        away = left_of(polygon, reverse(kept_left))
        if any(beyond(away, reverse(inside)) <= 0 for inside in self.inside.values()):
            return "trim"
        return "rip" if y0 == y1 else "crosscut"

    def _marks(self, polygon: Polygon, line: Line, waste_side: str) -> tuple[Mark, ...]:
        """Both readings from one edge: a straight one, if possible the kept piece's own."""
        upright = abs(line[0][0] - line[1][0]) < abs(line[0][1] - line[1][1])
        near: SheetEdge = "left" if upright else "lower"
        far: SheetEdge = "right" if upright else "upper"
        # seen from `from`, going right or up: the lower edge lies to the right, the left one to the left
        near_kept = (waste_side == "left") != upright
        first, second = (near, far) if near_kept else (far, near)
        if self._kind(polygon, line, waste_side) == "trim":
            first, second = second, first  # a trim is read off the edge that goes
        sides = {edge: edge_of(polygon, edge) for edge in (first, second)}
        edge = next((e for e in (first, second) if sides[e] and _square(sides[e])), first)
        side = sides[edge] or sides[second]
        assert side is not None, "a convex piece has a side to each hand"
        return tuple(
            Mark(at=at, edge=edge, reading=round(abs(distance(side, point))))
            for at, point in zip(("from", "to"), line, strict=True)
        )


def outline_of(piece: Piece) -> Polygon:
    """A piece's corners on the sheet, anticlockwise."""
    x0, x1, l0, l1, u0, u1, flag = piece
    corners = ((x0, l0), (x1, l1), (x1, u1), (x0, u0))
    return tuple((y, x) for x, y in reversed(corners)) if flag else corners


def edge_of(polygon: Polygon, edge: SheetEdge) -> Line | None:
    """The longest side of a piece that faces left, right, down or up."""
    out = OUTWARD[edge]
    best: Line | None = None
    for a, b in zip(polygon, (*polygon[1:], polygon[0]), strict=True):
        dx, dy = b[0] - a[0], b[1] - a[1]
        facing = dy * out[0] - dx * out[1]  # outward normal of an anticlockwise side: (dy, -dx)
        if facing > 0.9 * math.hypot(dx, dy) and (best is None or _length((a, b)) > _length(best)):
            best = (a, b)
    return best


def _limit_line(edge: SheetEdge, at: int) -> Line:
    """The trimmed sheet's edge as a line with the sheet to its left."""
    return {
        "left": ((at, 1), (at, 0)),
        "right": ((at, 0), (at, 1)),
        "lower": ((0, at), (1, at)),
        "upper": ((1, at), (0, at)),
    }[edge]


def _on_sheet(point: Point, piece: Piece) -> Point:
    return (point[1], point[0]) if piece[6] else point


def _slack(line: Line) -> int:
    return PLAY if line[0][0] != line[1][0] and line[0][1] != line[1][1] else 0


def _length(line: Line) -> int:
    return math.ceil(math.dist(*line))


def _turn(line: Line) -> bool:
    """Cuts are told from left to right, and from the lower edge up."""
    dx, dy = line[1][0] - line[0][0], line[1][1] - line[0][1]
    return dx < 0 if abs(dx) > abs(dy) else dy < 0


def _breadth(polygon: Polygon, line: Line) -> float:
    """How far a polygon reaches to the left of a line."""
    return max(distance(line, point) for point in polygon)


def _square(side: Line | None) -> bool:
    return side is not None and (side[0][0] == side[1][0] or side[0][1] == side[1][1])
