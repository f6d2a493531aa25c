"""Cutting trees: pieces of a sheet, the parts in them, and the cuts that part them.

A piece is the tuple ``(x0, x1, l0, l1, u0, u1, turned)``: upright ends at x0 and x1, a lower edge from
height l0 to l1 and an upper edge from u0 to u1, each straight, so rips may be slanted. In a turned
piece x and y of the sheet are exchanged. Every cut of a piece gives two such pieces, a kerf apart.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from nesting.geometry import Point
from nesting.packing.fitting import mirrored
from nesting.packing.instance import Item
from nesting.packing.leaning import LEVEL, ON_UPPER, stance
from nesting.packing.search import fits_in

Piece = tuple[int, int, int, int, int, int, bool]


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


def keepable(piece: Piece, keep: tuple[int, int]) -> bool:
    """Whether a rectangle of ``keep`` (along the sheet, across it) fits into a free piece."""
    return fits_in(piece[:6], piece[6], *keep)


class Node:
    """A piece of the sheet: free, or holding one part, or cut into two.

    Attributes
    ----------
    item : int or None
        Index of the item in a part's cell.
    shape, spot : Shape and (x, y)
        How the part lies, and where the left end of its straight edge is, in the piece's frame.
    lies : int
        Whether it lies level, or along an edge of its cell: see :mod:`nesting.packing.leaning`.
    kids : tuple
        The two pieces that the cut makes; a missing one (all kerf) is None.
    line : tuple
        The cut in the piece's frame: two points, and whether the first kid's edge is the line.
    """

    __slots__ = ("item", "kids", "lies", "line", "parent", "piece", "shape", "spot")

    def __init__(self, piece: Piece, parent: Node | None = None) -> None:
        self.piece = piece
        self.parent = parent
        self.item: int | None = None
        self.shape: Shape | None = None
        self.spot: Point = (0, 0)
        self.lies = LEVEL
        self.kids: tuple[Node, ...] = ()
        self.line: tuple[Point, Point, bool] | None = None

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


def corners_of(node: Node, item: Item) -> tuple[Point, ...]:
    """Where a part's corners c0 to c3 lie on the sheet."""
    shape = node.shape
    assert shape is not None
    place = _level if node.lies == LEVEL else _leaning
    own = [(shape.length - x if shape.reverse else x, -y if shape.high else y) for x, y in item.outline]
    found = place(node, shape, own)
    return tuple((y, x) for x, y in found) if shape.turned else tuple(found)


def _level(node: Node, _: Shape, points: list[Point]) -> list[Point]:
    px, py = node.spot
    return [(px + x, py + y) for x, y in points]


def _leaning(node: Node, shape: Shape, points: list[Point]) -> list[Point]:
    """Points told from the left end of the straight edge, each at the nearest whole place."""
    upper = node.lies == ON_UPPER
    cell = mirrored(node.piece[:6], False, upper)
    up = -1 if upper else 1
    x0, y0, cosine, sine = stance(cell, shape.length, shape.left, shape.right, shape.high != upper)
    return [
        (
            cell[0] + round(x0 + x * cosine - up * y * sine),
            up * (cell[2] + round(y0 + x * sine + up * y * cosine)),
        )
        for x, y in points
    ]
