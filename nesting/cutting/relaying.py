"""A part of a cutting tree laid anew: the same cuts and parts, moved, in a piece of another size.

All is whole units, as the engine has it: where a slanted cut ends elsewhere it is rounded anew, and a part
that would then stand out of its cell by more than the engine grants itself makes the whole come to nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from nesting.cutting.facts import is_slanted, outline_of
from nesting.cutting.pieces import Line, beyond
from nesting.cutting.room import play
from nesting.geometry import Point, Polygon, twice_area
from nesting.packing.fitting import PLAY, above, beside, fit_corner, lower_at, mirrored, upper_at
from nesting.packing.instance import Item
from nesting.packing.layout import Node, Piece, Shape, corners_of
from nesting.packing.leaning import LEVEL

Shift = tuple[int, int]


class Relaying:
    """Lays subtrees anew; parts are of these items, cuts take this kerf."""

    def __init__(self, items: Sequence[Item], kerf: int) -> None:
        self.items, self.kerf = items, kerf

    def laid(self, node: Node, piece: Piece, shift: Shift, whole: bool = True) -> Node | None:
        """A subtree in another piece, moved by so much in the piece's frame.

        All of it, or only what lies on the side to which it moves: what is behind a cut stays where it is.
        """
        own = framed(piece, node.piece[6])
        if own is None:
            return None
        if own != piece:
            piece, shift = own, (shift[1], shift[0])
        if node.item is not None:
            return self._part(node, piece, shift)
        return self._cut(node, piece, shift, whole) if node.kids else Node(piece)

    def pushed(self, node: Node, piece: Piece, by: Shift) -> Node | None:
        """A subtree in a piece that reaches so much further to the right or up, its last parts moved there.

        In a row what is last moves, and the cut before it, if what lies before has the room; else that stays.
        """
        own = framed(piece, node.piece[6])
        if own is None:
            return None
        if own != piece:
            piece, by = own, (by[1], by[0])
        line = _lengthened(node, piece)
        if line is None:
            return self.laid(node, piece, (0, 0))
        (ax, ay), (bx, by_) = line
        low, beside = is_low(node), by[1] == 0
        lays: list[Callable[[Node, Piece, Shift], Node | None]] = [self.pushed, self.pushed]
        shifts = [by, by]
        if (ax == bx) == beside:  # the kids lie in a row that becomes longer
            near, last = int(not low), int(low)
            if len(node.kids) < 2 or not holds_part(node.kids[last]):
                return self.laid(node, piece, (0, 0))
            if play(node.kids[near], self.items)[beside == piece[6]] >= max(by):
                line = (ax + by[0], ay + by[1]), (bx + by[0], by_ + by[1])
                lays[last] = self.laid
            else:
                lays[near], shifts[near] = self.laid, (0, 0)
        rooms = self._parted(piece, line, low)
        pairs = enumerate(zip(node.kids, rooms, strict=False))
        laid = [lays[i](kid, room, shifts[i]) for i, (kid, room) in pairs if room]
        made = Node(piece)
        made.line = (*line, True)
        made.kids = tuple(kid for kid in laid if kid is not None)
        for kid in made.kids:
            kid.parent = made
        return made if len(made.kids) == len(node.kids) else None

    def recut(
        self, node: Node, piece: Piece, line: Line, low: bool, shifts: tuple[Shift, Shift], whole: bool = True
    ) -> Node | None:
        """A node's cut made along another line of a piece.

        Parameters
        ----------
        line : pair of points
            In the piece's frame; upright, or from its one end to the other.
        low : bool
            Whether the first kid lies to its left, or below it.
        shifts : pair of (x, y)
            By how much what is in each kid moves, ``whole`` or not as in :meth:`laid`.
        """
        made = Node(piece)
        made.line = (*line, True)
        rooms = self._parted(piece, line, low)
        for kid, room, shift in zip(node.kids, rooms, shifts, strict=False):
            new = None if room is None else self.laid(kid, room, shift, whole)
            if new is not None:
                new.parent = made
                made.kids = (*made.kids, new)
            elif room is not None or holds_part(kid):
                return None
        # more than kerf now, perhaps, beyond a cut that nothing was left beyond
        made.kids += tuple(Node(room, made) for room in rooms[len(node.kids) :] if room)
        return made

    def inserted(
        self, piece: Piece, item: int, shape: Shape, left_right: bool, up_down: bool, across_first: bool
    ) -> Node | None:
        """A piece with one part cut out of its corner, level, as the engine does it.

        Parameters
        ----------
        left_right, up_down : bool
            Whether the corner is on the right, and above.
        """
        x0, x1, l0, l1, u0, u1 = frame = mirrored(piece[:6], left_right, up_down)
        ends = (shape.right, shape.left) if left_right else (shape.left, shape.right)
        high = shape.high != up_down
        fits, bottom, end, top, top_end, far = fit_corner(frame, shape.length, *ends, high)
        if not fits or (not across_first and (end == x1 or not l1 <= far <= u1)):
            return None
        upright, along = ((end, l0), (end, u0)), ((x0, top), (x1, far))
        cuts = (upright, ((x0, top), (end, top_end))) if across_first else (along, upright)
        root = cell = Node(piece)
        for cut in cuts:
            cell = self._cut_off(cell, cut, left_right, up_down)
        cell.item, cell.shape = item, shape
        cell.spot = (-end if left_right else x0, -bottom if up_down else bottom)
        return root

    def _cut_off(self, node: Node, line: Line, left_right: bool, up_down: bool) -> Node:
        """Cut a free node, the line told as it is seen from a corner; the kid in that corner."""
        _, x1, _, _, u0, u1 = mirrored(node.piece[:6], left_right, up_down)
        (ax, ay), (bx, by) = line
        if ax >= x1 if ax == bx else ay >= u0 and by >= u1:
            return node
        flips = -1 if left_right else 1, -1 if up_down else 1
        own = (flips[0] * ax, flips[1] * ay), (flips[0] * bx, flips[1] * by)
        pieces = self._parted(node.piece, own, not (left_right if ax == bx else up_down))
        node.line = (*own, True)
        node.kids = tuple(Node(piece, node) for piece in pieces if piece is not None)
        return node.kids[0]

    def _part(self, node: Node, piece: Piece, shift: Shift) -> Node | None:
        assert node.item is not None
        made = Node(piece)
        made.item, made.shape, made.lies = node.item, node.shape, node.lies
        made.spot = (node.spot[0] + shift[0], node.spot[1] + shift[1])
        if node.lies != LEVEL and piece != _moved(node.piece, shift):
            return None  # its cell says where and how it leans
        corners = corners_of(made, self.items[node.item])
        walls = sides(outline_of(piece))
        return made if all(beyond(corners, wall) <= PLAY * is_slanted(wall) for wall in walls) else None

    def _cut(self, node: Node, piece: Piece, shift: Shift, whole: bool) -> Node | None:
        """The same cut, moved; where the piece ends before it, what is left of the node."""
        assert node.line is not None
        shifts = shift, shift
        axis = int(node.line[0][0] != node.line[1][0])
        if not whole and shift[axis]:
            behind = int((shift[axis] < 0) == is_low(node))
            shifts = (shift, (0, 0)) if behind else ((0, 0), shift)
        dx, dy = shifts[0]  # the line is an edge of the first kid
        (ax, ay), (bx, by) = ((x + dx, y + dy) for x, y in node.line[:2])
        x0, x1, l0, l1, u0, u1, _ = piece
        if ax == bx:
            line, room = ((ax, ay), (bx, by)), ((ax - x0, ax - x0), (x1 - ax, x1 - ax))
        else:
            left, right = (ay + round((by - ay) * (x - ax) / (bx - ax)) for x in (x0, x1))
            line, room = ((x0, left), (x1, right)), ((left - l0, right - l1), (u0 - left, u1 - right))
        low = is_low(node)
        for kid, ends in enumerate(room if low else room[::-1]):
            if max(ends) <= 0:
                return self._without(node, kid, piece, shifts[1 - kid], whole)
            if min(ends) < 0:
                return None  # the line would leave the piece by its side
        return self.recut(node, piece, line, low, shifts, whole)

    def _without(self, node: Node, gone: int, piece: Piece, shift: Shift, whole: bool) -> Node | None:
        """A node one of whose kids has no room left."""
        left = [kid for i, kid in enumerate(node.kids) if i != gone]
        if len(node.kids) > gone and holds_part(node.kids[gone]):
            return None
        return self.laid(left[0], piece, shift, whole) if left else Node(piece)

    def _parted(self, piece: Piece, line: Line, low: bool) -> tuple[Piece, Piece | None]:
        """The piece of the first kid, and that of the second if there is more than kerf."""
        (ax, ay), (bx, by) = line
        upright = ax == bx
        flips = upright and not low, not upright and not low
        frame = mirrored(piece[:6], *flips)
        x0, x1, l0, l1, u0, _ = frame
        sign = 1 if low else -1
        if upright:
            at = sign * ax
            near = (x0, at, l0, lower_at(frame, at), u0, upper_at(frame, at))
            more, rest = beside(frame, at, self.kerf)
        else:
            near = (x0, x1, l0, l1, sign * ay, sign * by)
            more, rest = above(frame, sign * ay, sign * by, self.kerf)
        turned = piece[6]
        return (*mirrored(near, *flips), turned), (*mirrored(rest, *flips), turned) if more else None


def replaced(node: Node, old: Node, new: Node) -> Node:
    """A copy of a tree in which one node is another."""
    if node is old:
        return new
    made = Node(node.piece)
    for name in ("item", "shape", "spot", "lies", "line"):
        setattr(made, name, getattr(node, name))
    made.kids = tuple(replaced(kid, old, new) for kid in node.kids)
    for kid in made.kids:
        kid.parent = made
    return made


def is_low(node: Node) -> bool:
    """Whether a cut node's first kid lies to the left of the cut, or below it."""
    assert node.line is not None
    a, b, _ = node.line
    way = int(a[0] != b[0])  # the kids lie one after the other in x, or in y
    corners = outline_of(node.kids[0].piece)
    return sum(corner[way ^ node.piece[6]] for corner in corners) < 2 * (a[way] + b[way])


def framed(piece: Piece, turned: bool) -> Piece | None:
    """A piece in a frame that is turned, or not; a slanted one has only its own."""
    x0, x1, l0, l1, u0, u1, flag = piece
    if flag == turned:
        return piece
    return (l0, u0, x0, x0, x1, x1, turned) if l0 == l1 and u0 == u1 else None


def _lengthened(node: Node, piece: Piece) -> Line | None:
    """An upright or level cut of a rectangle, from edge to edge of a larger one."""
    x0, x1, l0, l1, u0, u1, _ = piece
    if node.line is None or l0 != l1 or u0 != u1:
        return None
    (ax, ay), (bx, by), _ = node.line
    if ax == bx:
        return (ax, l0), (bx, u0)
    return ((x0, ay), (x1, by)) if ay == by else None


def parts_in(node: Node) -> int:
    """How many parts lie in a node."""
    return sum(leaf.item is not None for leaf in node.walk())


def holds_part(node: Node) -> bool:
    """Whether a part lies in a node."""
    return any(leaf.item is not None for leaf in node.walk())


def sides(corners: Sequence[Point]) -> list[Line]:
    """The sides of a polygon, with the inside to their left."""
    outline: Polygon = tuple(corners) if twice_area(corners) > 0 else tuple(corners[::-1])
    return list(zip(outline, (*outline[1:], outline[0]), strict=True))


def _moved(piece: Piece, shift: Shift) -> Piece:
    (dx, dy), (x0, x1, l0, l1, u0, u1, flag) = shift, piece
    return x0 + dx, x1 + dx, l0 + dy, l1 + dy, u0 + dy, u1 + dy, flag
