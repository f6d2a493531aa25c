"""Cutting trees: pieces of a sheet, the parts in them, and the cuts that part them.

A piece is the tuple ``(x0, x1, l0, l1, u0, u1, turned)``: upright ends at x0 and x1, a lower edge from
height l0 to l1 and an upper edge from u0 to u1, each straight, so rips may be slanted. In a turned
piece x and y of the sheet are exchanged. Every cut of a piece gives two such pieces, a kerf apart.
"""

from __future__ import annotations

import bisect
import math
from collections.abc import Iterator
from typing import NamedTuple

from nesting.geometry import Point
from nesting.packing.instance import Instance, Item, Size

Piece = tuple[int, int, int, int, int, int, bool]
Key = int | tuple[int, int]  # an item, or two of them as a pair


PLAY = 1  # units; the plan's format grants two where a slant makes a size irrational


class Shape(NamedTuple):
    """One way in which an item may lie: the trapezoid that holds it, as seen in a piece's own frame.

    ``high`` says that the straight edge is the upper one, ``reverse`` that its start is on the right.
    """

    length: int
    left: int
    right: int
    high: bool
    reverse: bool
    turned: bool


def shapes_of(item: Item, mirrored: bool) -> tuple[Shape, ...]:
    """All ways in which an item may lie.

    Turning by 180 degrees exchanges both high and reverse. Turning over exchanges one of them, and so
    does looking at the back, and so does exchanging x and y in a turned piece.
    """
    length, start, end = item.frame
    found = []
    for turned in item.turns():
        hands = {mirrored ^ turned} | ({not (mirrored ^ turned)} if item.flip else set())
        for hand in sorted(hands):
            for high in (False, True):
                reverse = high ^ hand
                left, right = (end, start) if reverse else (start, end)
                found.append(Shape(length, left, right, high, reverse, turned))
    if item.rectangular:  # its turns by 180 degrees, and over, look alike
        return tuple(shape for shape in found if not shape.high)[:: len(found) // 2 // len(item.turns())]
    return tuple(found)


def area_of(piece: Piece) -> float:
    """Area in square units."""
    x0, x1, l0, l1, u0, u1, _ = piece
    return (x1 - x0) * (u0 - l0 + u1 - l1) / 2


def turned(piece: Piece) -> Piece:
    """Exchange x and y of a rectangular piece."""
    x0, x1, l0, _, u0, _, flag = piece
    return (l0, u0, x0, x0, x1, x1, not flag)


def is_rectangle(piece: Piece) -> bool:
    """Both long edges run along the frame."""
    return piece[2] == piece[3] and piece[4] == piece[5]


def mirror(piece: Piece, left_right: bool, up_down: bool) -> Piece:
    """Reflect a piece's frame; doing it twice gives the piece back."""
    x0, x1, l0, l1, u0, u1, flag = piece
    if left_right:
        x0, x1, l0, l1, u0, u1 = -x1, -x0, l1, l0, u1, u0
    if up_down:
        l0, l1, u0, u1 = -u0, -u1, -l0, -l1
    return (x0, x1, l0, l1, u0, u1, flag)


class Node:
    """A piece of the sheet: free, or holding one part, or cut into two.

    Attributes
    ----------
    item : int or None
        Index of the item in a part's cell.
    shape, spot : Shape and (x, y)
        How the part lies, and where the lower left corner of the trapezoid that holds it is, in the
        piece's frame.
    kids : tuple
        The two pieces that the cut makes; a missing one (all kerf) is None.
    line : tuple
        The cut in the piece's frame: two points, and whether the first kid's edge is the line.
    """

    __slots__ = ("cache", "item", "kids", "line", "parent", "piece", "shape", "spot")

    def __init__(self, piece: Piece, parent: Node | None = None) -> None:
        self.piece = piece
        self.parent = parent
        self.clear()

    def clear(self) -> None:
        """Make the piece free again, whatever was in it."""
        self.item: int | None = None
        self.shape: Shape | None = None
        self.spot: Point = (0, 0)
        self.kids: tuple[Node, ...] = ()
        self.line: tuple[Point, Point, bool] | None = None
        self.cache: dict[Key, tuple[Candidate, ...]] = {}

    @property
    def free(self) -> bool:
        """Neither a part nor a cut in it."""
        return self.item is None and not self.kids

    def walk(self) -> Iterator[Node]:
        """This node and all below, parents first."""
        stack = [self]
        while stack:
            node = stack.pop()
            yield node
            stack.extend(reversed(node.kids))

    def copy(self, parent: Node | None = None) -> Node:
        """A tree of its own."""
        twin = Node(self.piece, parent)
        twin.item, twin.shape, twin.spot, twin.line = self.item, self.shape, self.spot, self.line
        twin.cache = self.cache
        twin.kids = tuple(kid.copy(twin) for kid in self.kids)
        return twin


class DoesNotFitError(ValueError):
    """A shape is to be cut out of a piece that does not hold it."""


class Candidate(NamedTuple):
    """A way to put an item into a free piece; ``cost`` is the value of the free room it spoils."""

    cost: float
    shape: Shape
    left_right: bool
    up_down: bool
    across_first: bool


class Fit(NamedTuple):
    """A shape in the lower left corner of a piece: its bottom, and its top line at three places."""

    bottom: int
    end: int
    top: int
    top_at_end: int
    top_far: int


def could_hold(piece: Piece, shape: Shape) -> bool:
    """A quick look before :func:`fit_corner`: False only where the shape cannot fit."""
    x0, x1, l0, l1, u0, u1, _ = piece
    return shape.length <= x1 - x0 and min(shape.left, shape.right) <= max(u0 - l0, u1 - l1) + 1


def fit_corner(piece: Piece, shape: Shape) -> Fit | None:
    """Lay a shape as low as it goes at the left end of a piece that is in its frame.

    Some play is granted where the piece or the shape is slanted: heights are whole units there.
    """
    x0, x1, l0, l1, u0, u1, _ = piece
    length, left, right, high = shape[:4]
    end = x0 + length
    if end > x1:
        return None
    span = x1 - x0
    low_end = l0 if l0 == l1 else l0 + round((l1 - l0) * length / span)
    high_end = u0 if u0 == u1 else u0 + round((u1 - u0) * length / span)
    if high:
        top = top_end = _level(l0 + left, low_end + right)
        if u0 == u1 and abs(top - u0) <= 2 * PLAY:  # the slanted side takes what rounding leaves
            top = top_end = u0
    else:
        bottom = max(l0, low_end) if l0 == l1 else _level(l0, low_end)
        top, top_end = bottom + left, bottom + right
    play = 0 if l0 == l1 and u0 == u1 and left == right else PLAY
    if top > u0 + play or top_end > high_end + play:
        return None
    far = top_end if left == right or high else top + round((top_end - top) * span / length)
    top, top_end = min(top, u0), min(top_end, high_end)
    return Fit(min(top, top_end) if high else bottom, end, top, top_end, far)


def _level(left: int, right: int) -> int:
    """The higher of two heights; where they are one but for rounding, the one between."""
    return max(left, right) if abs(left - right) > PLAY else (left + right) // 2


def kerf_over(kerf: int, run: int, rise: int) -> int:
    """Height of the kerf, measured square to the line, over a line that rises by ``rise``."""
    return kerf if rise == 0 else round(kerf * math.hypot(run, rise) / run)


class Cutter:
    """The rules of one instance and one sheet size: what may be cut out of a piece, and how well."""

    VALUE = 1.2  # exponent of a free room's worth (Gardeyn and Wauters 2022)
    OVERRUN = 1.01  # a slanted cut longer than its part is read where it is on no whole step

    def __init__(self, instance: Instance, size: Size) -> None:
        self.kerf = instance.saw.kerf
        self.reach = instance.saw.reach()
        self.region = size.region
        self.trims = (size.trim.left, size.trim.lower, size.trim.right, size.trim.upper)
        tapers = [item.frame for item in instance.items if not item.rectangular]
        self.heights = sorted({height for _, *heights in tapers for height in heights})

    def root(self) -> Node:
        """A whole sheet, trimmed."""
        x0, y0, x1, y1 = self.region
        return Node((x0, x1, y0, y0, y1, y1, False))

    def candidates(self, node: Node, item: Key, shapes: tuple[Shape, ...]) -> tuple[Candidate, ...]:
        """All ways to put an item, or a pair's blank, into a free node, cheapest first; remembered."""
        known = node.cache.get(item)
        if known is None:
            known = node.cache[item] = tuple(sorted(self._ways(node.piece, shapes)))
        return known

    def _ways(self, piece: Piece, shapes: tuple[Shape, ...]) -> Iterator[Candidate]:
        rectangle = is_rectangle(piece)
        frames = {piece[6]: piece}
        if rectangle:
            frames[not piece[6]] = turned(piece)
        for shape in shapes:
            frame = frames.get(shape.turned)
            if frame is None or not could_hold(frame, shape):
                continue
            if rectangle:
                if not shape.high:  # the others are the same turned by 180 degrees
                    yield from self._in_corner(frame, shape, False, False)
                    if shape.left != shape.right:  # what follows a taper differs by its end
                        yield from self._in_corner(frame, shape, True, False)
                continue
            for left_right in (False, True):
                for up_down in (False, True):
                    yield from self._in_corner(frame, shape, left_right, up_down)

    def _in_corner(
        self, frame: Piece, shape: Shape, left_right: bool, up_down: bool
    ) -> Iterator[Candidate]:
        piece = mirror(frame, left_right, up_down)
        seen = mirror_shape(shape, left_right, up_down)
        fit = self._fit(piece, seen)
        if fit is None:
            return
        worth = area_of(piece) ** self.VALUE
        for across_first in (True, False):
            rooms = self._rooms(piece, fit, across_first)
            if rooms is not None and self._reachable(frame, piece, fit, across_first):
                left = sum(area_of(room) ** self.VALUE for room in rooms if room)
                cost = worth - left
                if not across_first and fit.top != fit.top_far:
                    cost *= self.OVERRUN
                yield Candidate(cost, shape, left_right, up_down, across_first)

    def _fit(self, piece: Piece, shape: Shape) -> Fit | None:
        """Fit a shape into the corner; its top line may go on to meet another taper exactly.

        A short part fixes its line's far end only to some units; within these the line goes where the
        end of another tapered part would be, so that one slanted cut serves parts that follow each other.
        """
        fit = fit_corner(piece, shape)
        if fit is None or fit.top == fit.top_at_end or fit.end == piece[1]:
            return fit
        play = (piece[1] - piece[0]) // shape.length  # a unit at the end of the part itself
        kerf = kerf_over(self.kerf, piece[1] - piece[0], fit.top_far - fit.top)
        for height, sign, base in (
            (fit.top_far - piece[3], 1, piece[3]),
            (piece[5] - kerf - fit.top_far, -1, piece[5] - kerf),
        ):
            index = bisect.bisect_left(self.heights, height - play)
            if index < len(self.heights) and self.heights[index] <= height + play:
                return fit._replace(top_far=base + sign * self.heights[index])
        return fit

    def _rooms(
        self, piece: Piece, fit: Fit, across_first: bool
    ) -> tuple[Piece | None, Piece | None] | None:
        """The free pieces beside and above; None where the cuts do not go edge to edge."""
        x0, x1, _, l1, u0, u1, flag = piece
        if across_first:
            beside = self._beside(piece, fit.end)
            above = self._above((x0, fit.end, 0, 0, u0, _upper_at(piece, fit.end), flag),
                                fit.top, fit.top_at_end)
            return beside, above
        if fit.end == x1 or not l1 <= fit.top_far <= u1:
            return None
        if fit.top == u0 and fit.top_at_end == _upper_at(piece, fit.end):
            return None  # nothing above: the same as across first
        strip = (x0, x1, piece[2], l1, fit.top, fit.top_far, flag)
        return self._beside(strip, fit.end), self._above(piece, fit.top, fit.top_far)

    def _beside(self, piece: Piece, end: int) -> Piece | None:
        start = end + self.kerf
        if start >= piece[1]:
            return None
        low, up = _lower_at(piece, start), _upper_at(piece, start)
        if up <= low or piece[5] <= piece[3]:
            return None
        return (start, piece[1], low, piece[3], up, piece[5], piece[6])

    def _above(self, piece: Piece, left: int, right: int) -> Piece | None:
        x0, x1, _, _, u0, u1, flag = piece
        kerf = kerf_over(self.kerf, x1 - x0, right - left)
        if left + kerf >= u0 or right + kerf >= u1:
            return None
        return (x0, x1, left + kerf, right + kerf, u0, u1, flag)

    def _reachable(self, frame: Piece, piece: Piece, fit: Fit, across_first: bool) -> bool:
        """Whether both cuts are within the rails, factory edges that may still be there included."""
        if self.reach is None:
            return True
        x0, x1, l0, l1, u0, u1, _ = piece
        ends, sides = self._untrimmed(frame)
        if across_first and fit.end < x1:
            run, height = fit.end - x0 + max(ends), max(u0 - l0, u1 - l1)
        else:
            run, height = x1 - x0 + sum(ends), max(fit.top - l0, fit.top_far - l1)
        rise = fit.top_far - fit.top
        return math.hypot(run, rise) <= self.reach and height + sum(sides) <= self.reach

    def _untrimmed(self, frame: Piece) -> tuple[tuple[int, int], tuple[int, int]]:
        """What may still be on the piece of the factory edges: at its ends, and along its sides."""
        x0, x1, l0, l1, u0, u1, flag = frame
        touches = (min(l0, l1), x0, max(u0, u1), x1) if flag else (x0, min(l0, l1), x1, max(u0, u1))
        left, lower, right, upper = (
            trim if at == edge else 0
            for at, edge, trim in zip(touches, self.region, self.trims, strict=True)
        )
        return ((lower, upper), (left, right)) if flag else ((left, right), (lower, upper))

    def insert(self, node: Node, item: int | None, way: Candidate) -> Node:
        """Put an item into a free node, which becomes a small tree; None cuts a free blank.

        Returns
        -------
        Node
            The cell that holds the item, or is the blank.

        Raises
        ------
        DoesNotFitError
            If the node does not hold it; candidates of the node always fit.
        """
        shape = way.shape
        frame = node.piece if shape.turned == node.piece[6] else turned(node.piece)
        node.piece = frame
        piece = mirror(frame, way.left_right, way.up_down)
        seen = mirror_shape(shape, way.left_right, way.up_down)
        fit = self._fit(piece, seen)
        if fit is None:
            raise DoesNotFitError
        if way.across_first:
            column = self._cut(node, way, (fit.end, piece[2]), (fit.end, piece[4]), True)
            cell = self._cut(column, way, (piece[0], fit.top), (fit.end, fit.top_at_end), False)
        else:
            strip = self._cut(node, way, (piece[0], fit.top), (piece[1], fit.top_far), False)
            cell = self._cut(strip, way, (fit.end, 0), (fit.end, 0), True)
        if item is None:
            return cell
        cell.item, cell.shape = item, shape
        x = -fit.end if way.left_right else piece[0]
        y = -fit.bottom if way.up_down else fit.bottom
        cell.spot = (x, y)
        return cell

    def _cut(self, node: Node, way: Candidate, a: Point, b: Point, across: bool) -> Node:
        """Cut a node along a line of the mirrored frame; returns the kid that holds the corner."""
        piece = mirror(node.piece, way.left_right, way.up_down)
        x0, x1, l0, l1, u0, u1, flag = piece
        if across:
            if a[0] >= x1:
                return node
            a, b = (a[0], _lower_at(piece, a[0])), (a[0], _upper_at(piece, a[0]))
            near: Piece = (x0, a[0], l0, a[1], u0, b[1], flag)
            rest = self._beside(piece, a[0])
        else:
            if a[1] >= u0 and b[1] >= u1:
                return node
            near = (x0, x1, l0, l1, a[1], b[1], flag)
            rest = self._above(piece, a[1], b[1])
        kids = [Node(mirror(near, way.left_right, way.up_down), node)]
        if rest:
            kids.append(Node(mirror(rest, way.left_right, way.up_down), node))
        node.kids = tuple(kids)
        node.line = (_mirror_point(a, way), _mirror_point(b, way), True)
        node.cache = {}
        return kids[0]


def mirror_shape(shape: Shape, left_right: bool, up_down: bool) -> Shape:
    """A shape as it looks in a mirrored frame."""
    length, left, right, high, reverse, flag = shape
    if left_right:
        left, right, reverse = right, left, not reverse
    return Shape(length, left, right, high ^ up_down, reverse, flag)


def _mirror_point(point: Point, way: Candidate) -> Point:
    x, y = point
    return (-x if way.left_right else x, -y if way.up_down else y)


def _lower_at(piece: Piece, x: int) -> int:
    x0, x1, l0, l1 = piece[:4]
    return l0 if l0 == l1 else l0 + round((l1 - l0) * (x - x0) / (x1 - x0))


def _upper_at(piece: Piece, x: int) -> int:
    x0, x1, _, _, u0, u1, _ = piece
    return u0 if u0 == u1 else u0 + round((u1 - u0) * (x - x0) / (x1 - x0))


def corners_of(node: Node, item: Item) -> tuple[Point, ...]:
    """Where a part's corners c0 to c3 lie on the sheet.

    ``spot`` is the left end of the trapezoid that holds it, and the height of its straight edge.
    """
    shape = node.shape
    assert shape is not None
    px, py = node.spot
    found = []
    for x, y in item.outline:
        along = px + (shape.length - x if shape.reverse else x)
        up = py - y if shape.high else py + y
        found.append((up, along) if shape.turned else (along, up))
    return tuple(found)
