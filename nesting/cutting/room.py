"""How much room a cutting tree leaves to spare."""

from __future__ import annotations

from collections.abc import Sequence

from nesting.geometry import bounds
from nesting.lengths import INCH
from nesting.packing.instance import Item
from nesting.packing.layout import Node, Piece, corners_of

Room = tuple[float, float]
TIGHT = INCH // 16  # a sheet may be so much short of its size (PS 1-19)


def play(node: Node, items: Sequence[Item]) -> Room:
    """How much shorter and narrower a piece could be and still hold its parts, along and across.

    Room beside a part in its own row adds up, and so does the kerf of a cut that is not needed once the
    waste beyond it is gone; of rows side by side the tightest counts.
    """
    if node.free:
        return spans(node.piece)
    if node.item is not None:
        x0, y0, x1, y1 = bounds(corners_of(node, items[node.item]))
        along, across = spans(node.piece)
        return max(0.0, along - (x1 - x0)), max(0.0, across - (y1 - y0))
    plays = [play(kid, items) for kid in node.kids]
    way = 0 if _parted_along(node) else 1
    held = [own for kid, own in zip(node.kids, plays, strict=True) if not _empty(kid)]
    other = min((own[1 - way] for own in held), default=spans(node.piece)[1 - way])
    summed = sum(own[way] for own in plays) + (_kerf(node, way) if len(held) < 2 else 0)
    return (summed, other) if way == 0 else (other, summed)


def _empty(node: Node) -> bool:
    return all(part.item is None for part in node.walk())


def _kerf(node: Node, way: int) -> float:
    """What a cut takes of a piece; of a slanted one the least at either end, if it runs along the pieces."""
    assert node.line is not None
    a, b, _ = node.line
    if a[0] == b[0] or a[1] == b[1]:
        return spans(node.piece)[way] - sum(spans(kid.piece)[way] for kid in node.kids)
    x0, x1, l0, l1, u0, u1, flag = node.piece
    pieces = [kid.piece for kid in node.kids]
    if any((piece[0], piece[1], piece[6]) != (x0, x1, flag) for piece in pieces) or (way == 1) == flag:
        return 0.0
    ends = (u0 - l0 - sum(p[4] - p[2] for p in pieces), u1 - l1 - sum(p[5] - p[3] for p in pieces))
    return max(0.0, min(ends))


def spans(piece: Piece) -> Room:
    """Extents along and across the sheet; of a slanted piece the least."""
    x0, x1, l0, l1, u0, u1, flag = piece
    along, across = x1 - x0, min(u0 - l0, u1 - l1)
    return (across, along) if flag else (along, across)


def _parted_along(node: Node) -> bool:
    """Whether a cut's kids lie one after the other along the sheet."""
    assert node.line is not None
    a, b, _ = node.line
    upright = a[0] == b[0]  # in the piece's frame all others run from end to end, however steep
    return upright != node.piece[6]
