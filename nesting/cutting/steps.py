"""One sheet broken down: what cuts there are, on which side each has its line and its rail.

In which order pieces that do not depend on each other are cut is not decided here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from nesting.cutting.facts import EDGES, NEAR, PLAY, Along, Facts, is_slanted, outline_of
from nesting.cutting.pieces import Line, Split, beyond, distance, reach, reverse
from nesting.cutting.room import TIGHT
from nesting.errors import NestingError
from nesting.geometry import Point, Polygon, bounds, rectangle, twice_area
from nesting.lengths import INCH
from nesting.packing.layout import Node
from nesting.packing.leaning import LEVEL
from nesting.plan import SheetEdge

RAIL_WIDTH = 8 * INCH  # a narrower keeper does not carry the rail (common practice, no source)
SLIVER = INCH // 4  # thinner waste breaks and flies (trade press: no rip under 1/4)
FACING, STEEP = 0.9, 0.708  # cosines: of a side to read from, and where none is so level: up to 45 degrees
OUTWARD: dict[SheetEdge, Point] = {"left": (-1, 0), "right": (1, 0), "lower": (0, -1), "upper": (0, 1)}
NOTHING = Along(0, ())

When = Literal["at once", "in one piece", "in the part"]
"""When a factory edge is trimmed: as soon as it can be; once one piece holds all that reaches it; or only
when each part and offcut is freed."""
Way = Mapping[SheetEdge, When]

ROUNDED = 0.6  # units by which a whole corner can lie off its true place, and a little more


@dataclass(slots=True, eq=False)
class Piece:
    """What lies on the bench; ``step`` is the next cut in it, ``node`` None where nothing in it is wanted.

    ``sides`` are those of a part's outline that may still have to be cut.
    """

    polygon: Polygon
    node: Node | None
    trim: bool = False
    sides: tuple[Line, ...] | None = None
    step: Step | None = None
    area: int = field(init=False)

    def __post_init__(self) -> None:
        self.area = twice_area(self.polygon)


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """One cut as it will be told, and the two pieces that it leaves.

    Attributes
    ----------
    readings : tuple of int
        From ``edge`` to the line, at its two ends.
    short : bool
        What the tape does not read to has no room for a sheet that is a little short.
    unread : bool
        The edge is a factory edge still to be trimmed.
    own_size : bool
        The readings are a part's own size, whatever the sheet's turns out to be.
    exposed : bool
        Part edges in sight lie on the side that no splinter strip guards.
    risk : int
        Of the parts that are free once this cut is made.
    """

    piece: Piece
    line: Line
    waste_side: Literal["left", "right"]
    kind: Literal["trim", "rip", "crosscut", "taper"]
    kept: Piece
    rest: Piece | None
    rails: tuple[int, ...]
    rail_on: Literal["kept", "waste"]
    packer: bool
    edge: SheetEdge
    readings: tuple[int, int]
    short: bool
    unread: bool
    own_size: bool
    sliver: bool
    exposed: bool
    risk: int = 0

    @property
    def setting(self) -> tuple[SheetEdge, tuple[int, int]]:
        """Cuts with one setting are made one after the other without setting anything anew."""
        return self.edge, self.readings


@dataclass(frozen=True, slots=True)
class _Side:
    """One side of a cut: how far it reaches, what of its parts lies along the line, how much could go."""

    breadth: float
    along: Along
    play: float

    @property
    def finished(self) -> bool:
        """A part takes all of it, so that the reading is a part's own size."""
        return any(abs(depth - self.breadth) <= NEAR for depth in self.along.depths)


Known = dict[tuple[int, Polygon, bool], Piece]


class Breakdown:
    """Breaks down one sheet; ``root`` is the whole sheet, with its cuts in it.

    ``known`` are pieces that another breakdown of the sheet has broken down, and for which it does not matter
    when edges are trimmed: with one part in them, or without a factory edge that has to be.
    """

    def __init__(self, facts: Facts, way: Way | None = None, known: Known | None = None) -> None:
        self.facts, self.saw = facts, facts.saw
        self.known = {} if known is None else known
        self.way: Way = way or dict.fromkeys(EDGES, "at once")
        self.root = Piece(rectangle(0, 0, facts.size.length, facts.size.width), facts.root)
        waiting = [self.root]
        while waiting:
            piece = waiting.pop()
            if piece.step is None:
                piece.step = self._next(piece)
                if piece.step:
                    waiting += [other for other in (piece.step.rest, piece.step.kept) if other]

    def _piece(self, polygon: Polygon, node: Node, trim: bool) -> Piece:
        if node.item is None and self._pending(polygon, node):
            return Piece(polygon, node, trim)
        return self.known.setdefault((id(node), polygon, trim), Piece(polygon, node, trim))

    def steps(self) -> list[Step]:
        """All cuts; each after the one that made its piece."""
        return [piece.step for piece in walk(self.root) if piece.step]

    def _next(self, piece: Piece) -> Step | None:
        while (node := piece.node) is not None and self.facts.wanted(node):
            if node.item is not None:
                return self._free(piece, node)
            step = self._trim(piece, node) or self._part(piece, node)
            if step or not node.kids:
                return step
            # the piece ends at the line already
            piece.node = node.kids[0] if self.facts.wanted(node.kids[0]) else node.kids[-1]
        return None

    def _trim(self, piece: Piece, node: Node) -> Step | None:
        """Take off a factory edge that bounds something wanted and is due, where a rail reaches along it."""
        for edge in self._due(piece, node):
            line = self.facts.inside[edge]
            parted = self.facts.split(piece.polygon, line)
            if not parted or not parted.kept or self.saw.rails_for(_length(parted.line)) is None:
                continue
            kept = self._piece(parted.kept, node, piece.trim)
            return self._step(piece, parted, kept, None, NOTHING, NOTHING)
        return None

    def _due(self, piece: Piece, node: Node) -> Iterator[SheetEdge]:
        pending = self._pending(piece.polygon, node)
        if not node.kids:
            yield from pending
            return
        for pair in (EDGES[:2], EDGES[2:]):  # a long edge to square from; then what a crosscut is read off
            read_off = pair == EDGES[:2] or _upright(self.facts.parting(node, 0))
            if read_off and not any(self._made(piece.polygon, edge) for edge in pair):
                yield from [edge for edge in pair if edge in pending]
        for edge in pending:
            reaching = sum(edge in self.facts.touched(kid) for kid in node.kids)
            when = self.way[edge]
            if when == "at once" or (when == "in one piece" and reaching > 1):
                yield edge

    def _pending(self, polygon: Polygon, node: Node) -> list[SheetEdge]:
        """Factory edges of a piece that have to be trimmed for what is wanted in it."""
        touched = self.facts.touched(node)
        return [edge for edge in EDGES if edge in touched and not self._made(polygon, edge)]

    def _made(self, polygon: Polygon, edge: SheetEdge) -> bool:
        """Whether nothing of an edge's trim is left on a piece."""
        return beyond(polygon, self.facts.inside[edge]) <= 0

    def _part(self, piece: Piece, node: Node) -> Step | None:
        """Part the two pieces that a node is cut into; the line is the edge of one that is wanted."""
        if not node.kids:
            return None
        wanted = [kid for kid, one in enumerate(node.kids) if self.facts.wanted(one)]
        wanted = [kid for kid in wanted if self.facts.holds_part(node.kids[kid])] or wanted
        if len(wanted) == 2 and is_slanted(self.facts.parting(node, 0)):
            wanted = [0]  # the engine's own line is on whole steps
        found = [step for kid in wanted if (step := self._part_at(piece, node, kid))]
        return min(found, key=_cost, default=None)

    def _part_at(self, piece: Piece, node: Node, kid: int) -> Step | None:
        other = node.kids[1 - kid] if len(node.kids) > 1 else None
        beside = NOTHING if other is None else self.facts.along(other, self.facts.parting(node, 1 - kid))
        inner, line = node.kids[kid], self.facts.parting(node, kid)
        if not beside.depths:
            past = self._past_scrap(inner, line)
            if self._in_reach(piece, other, past[1]):
                inner, line = past
            if other is None or not self.facts.wanted(other):
                line = self._own_end(piece, inner, line)
        parted = self.facts.split(piece.polygon, line)
        if not parted or not parted.kept or beyond(piece.polygon, parted.line) <= slack(line):
            return None
        kept = self._piece(parted.kept, inner, piece.trim)
        return self._step(piece, parted, kept, other, self.facts.along(inner, line), beside)

    def _in_reach(self, piece: Piece, other: Node | None, line: Line) -> bool:
        """Whether rails reach along all that lies beyond a line, where it is cut on round a bad zone."""
        if not self.facts.size.blocked or other is None or not other.kids or not self.facts.wanted(other):
            return True
        parted = self.facts.split(piece.polygon, line)
        if not parted or not parted.rest:
            return True
        x0, y0, x1, y1 = bounds(parted.rest)
        return self.saw.rails_for(max(x1 - x0, y1 - y0)) is not None

    def _past_scrap(self, inner: Node, line: Line) -> tuple[Node, Line]:
        """Scrap along the line goes with what lies beyond it, where no part begins: one cut for two."""
        while inner.kids and not is_slanted(line):
            wanted = [kid for kid, one in enumerate(inner.kids) if self.facts.wanted(one)]
            next_line = self.facts.parting(inner, wanted[0])
            if any(self.facts.spoiled(outline_of(kid.piece)) for kid in inner.kids):
                break  # a bad zone goes with nothing that is kept
            if len(wanted) != 1 or is_slanted(next_line) or _direction(next_line) != _direction(line):
                break
            inner, line = inner.kids[wanted[0]], next_line
        return inner, line

    def _own_end(self, piece: Piece, inner: Node, line: Line) -> Line:
        """Where there is only scrap beyond, a part's own end off square saves the crosscut of its cell."""
        leaves = [leaf for leaf in inner.walk() if not leaf.kids and self.facts.wanted(leaf)]
        if len(leaves) != 1 or leaves[0].item is None or is_slanted(line):
            return line
        sides = [side for side in self.facts.sides(leaves[0]) if _upright(side) == _upright(line)]
        if leaves[0].lies == LEVEL:  # a taper is read at its own ends, after these are cut
            c0, c1, c2, c3 = self.facts.corners(leaves[0])
            sides = [side for side in sides if {*side} in ({c1, c2}, {c3, c0})]
        if not sides:
            return line
        own = min(sides, key=lambda side: max(abs(off) for off in reach(side, line)))
        parted = self.facts.split(piece.polygon, own)
        return own if parted and self.saw.rails_for(_length(parted.line)) is not None else line

    def _free(self, piece: Piece, node: Node) -> Step | None:
        """Cut the next side of a part that is not cut yet."""
        sides = self.facts.sides(node) if piece.sides is None else piece.sides
        beyond_rails = None
        for i, side in enumerate(sides):
            parted = self.facts.split(piece.polygon, side)
            if beyond(piece.polygon, side) <= slack(side) or not parted or not parted.kept:
                continue
            if beyond(piece.polygon, parted.line) <= slack(side):
                continue
            beyond_rails = _length(parted.line)
            if self.saw.rails_for(beyond_rails) is not None:
                kept = Piece(parted.kept, node, piece.trim, (*sides[:i], *sides[i + 1 :]))
                return self._step(piece, parted, kept, None, self.facts.along(node, side), NOTHING)
        if beyond_rails is not None:
            raise NestingError(f"a cut of {beyond_rails} units is beyond the rails")  # a bug, if seen
        return None

    def _step(
        self, piece: Piece, parted: Split, kept: Piece, other: Node | None, along: Along, beside: Along
    ) -> Step:
        """Tell one cut: what it is, where the rail lies, and what the tape reads."""
        line = parted.line
        drawn, waste_side = (reverse(line), "left") if _turn(line) else (line, "right")
        rails = self.saw.rails_for(_length(line))
        if rails is None:
            raise NestingError(f"a cut of {_length(line)} units is beyond the rails")  # a bug, if seen
        right, left = reach(piece.polygon, line)
        scrap = other is None or not self.facts.wanted(other)
        rest_play = self._play(None if scrap else other, line)
        sides = (_Side(left, along, self._play(kept.node, line)),
                 _Side(-right - self.saw.kerf, beside, rest_play))  # fmt: skip
        kind = self._kind(line)
        trim = kind == "trim" or piece.trim
        rest = None
        if parted.rest:
            inner = None if scrap else other
            rest = self._piece(parted.rest, inner, trim) if inner else Piece(parted.rest, None, trim)
        on = min((0, 1), key=lambda i: (sides[i].breadth < RAIL_WIDTH, sides[1 - i].along.seen > 0, i))
        edge, readings, short, unread, own_size = self._read(piece.polygon, line, drawn, kind, sides)
        return Step(
            piece=piece, line=drawn, waste_side="left" if waste_side == "left" else "right", kind=kind,
            kept=kept, rest=rest, rails=rails, rail_on="waste" if on else "kept",
            packer=sides[on].breadth < RAIL_WIDTH, edge=edge, readings=readings, short=short, unread=unread,
            own_size=own_size, sliver=scrap and sides[1].breadth < SLIVER,
            exposed=sides[1 - on].along.seen > 0, risk=sum(self._risk(one) for one in (kept, rest) if one),
        )  # fmt: skip

    def _play(self, node: Node | None, line: Line) -> float:
        """What could be missing of a piece beside a line, and its parts still come out: of scrap, all."""
        return math.inf if node is None else self.facts.play(node)[0 if _upright(line) else 1]

    def _risk(self, piece: Piece) -> int:
        """Of a part that no further cut has to free."""
        node = piece.node
        if node is None or node.item is None:
            return 0
        sides = self.facts.sides(node) if piece.sides is None else piece.sides
        done = all(beyond(piece.polygon, side) <= slack(side) for side in sides)
        return self.facts.risk(node) if done else 0

    def _kind(self, line: Line) -> Literal["trim", "rip", "crosscut", "taper"]:
        if is_slanted(line):
            return "taper"
        for inside in self.facts.inside.values():
            alike = _direction(inside) == _direction(line)
            if alike and -distance(inside, line[0]) >= 0:
                return "trim"
        return "crosscut" if _upright(line) else "rip"

    def _read(
        self, polygon: Polygon, line: Line, drawn: Line, kind: str, sides: Sequence[_Side]
    ) -> tuple[SheetEdge, tuple[int, int], bool, bool, bool]:
        """The edge to read from: on the side that must have its size, made, the shorter to a part's own size.

        What a sheet is short of is missing on the other side. Else a straight edge; else the kept piece's.
        """
        found: list[tuple[tuple[int, ...], SheetEdge, tuple[int, int], bool, bool, bool]] = []
        pair = EDGES[2:] if _upright(line) else EDGES[:2]
        edges = {edge: side for edge in pair if (side := edge_of(polygon, edge))}
        edges = edges or {edge: side for edge in pair if (side := edge_of(polygon, edge, STEEP))}
        for edge, side in edges.items():
            readings = (read_off(side, edge, drawn[0]), read_off(side, edge, drawn[1]))
            own = sum(distance(line, point) for point in side) > 0
            unread = kind != "trim" and not self._made(polygon, edge)
            own_size = kind != "trim" and sides[not own].finished
            rank = (kind != "trim" and _is_short(sides[own], sides[not own]), unread, not own_size,
                    is_slanted(side), own_size * max(readings), own == (kind == "trim"))  # fmt: skip
            found.append((rank, edge, readings, bool(rank[0]), unread, own_size))
        assert found, "a convex piece has a side to each hand"
        return min(found, key=lambda one: one[0])[1:]


def walk(root: Piece) -> Iterator[Piece]:
    """Every piece that ever lies on the bench, each before what is cut from it."""
    waiting = [root]
    while waiting:
        piece = waiting.pop()
        yield piece
        if piece.step:
            waiting += [other for other in (piece.step.rest, piece.step.kept) if other]


def read_off(side: Line, edge: SheetEdge, point: Point) -> int:
    """What a tape reads from a side to a point, held along the sheet or across it: not square to the side.

    Between the ends of a skewed part that is its own size; square to it, the tape would run off the piece.
    """
    (ax, ay), (bx, by) = side
    if edge in ("left", "right"):
        return round(abs(point[0] - ax - (bx - ax) * (point[1] - ay) / (by - ay)))
    return round(abs(point[1] - ay - (by - ay) * (point[0] - ax) / (bx - ax)))


def edge_of(polygon: Polygon, edge: SheetEdge, least: float = FACING) -> Line | None:
    """The longest side of a piece that faces left, right, down or up, by no less than this cosine."""
    out = OUTWARD[edge]
    best: Line | None = None
    for a, b in zip(polygon, (*polygon[1:], polygon[0]), strict=True):
        dx, dy = b[0] - a[0], b[1] - a[1]
        facing = dy * out[0] - dx * out[1]  # outward normal of an anticlockwise side: (dy, -dx)
        if facing > least * math.hypot(dx, dy) and (best is None or _length((a, b)) > _length(best)):
            best = (a, b)
    return best


def _cost(step: Step) -> tuple[bool, bool, bool, bool, bool, bool]:
    """Of two pieces, which one has the line; the first where it is all one."""
    return step.short, step.packer, step.exposed, step.rail_on == "waste", step.unread, not step.own_size


def _is_short(rest: _Side, read: _Side) -> bool:
    """Whether what the tape does not read to has less room than the other side: too little if it is short."""
    return rest.play < min(TIGHT, read.play)


def slack(line: Line) -> float:
    """How far beyond a line a piece may reach and still need no cut: corners here are rounded already."""
    return PLAY - ROUNDED if is_slanted(line) else 0


def _upright(line: Line) -> bool:
    return abs(line[0][0] - line[1][0]) < abs(line[0][1] - line[1][1])


def _direction(line: Line) -> tuple[int, int]:
    dx, dy = line[1][0] - line[0][0], line[1][1] - line[0][1]
    return (dx > 0) - (dx < 0), (dy > 0) - (dy < 0)


def _length(line: Line) -> int:
    return math.ceil(math.dist(*line))


def _turn(line: Line) -> bool:
    """Cuts are told from left to right, and from the lower edge up."""
    dx, dy = line[1][0] - line[0][0], line[1][1] - line[0][1]
    return dx < 0 if abs(dx) > abs(dy) else dy < 0

