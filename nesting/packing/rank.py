"""What a cutting tree leaves: offcuts worth keeping, and how much room there is to spare."""

from __future__ import annotations

from collections.abc import Sequence

from nesting.geometry import bounds
from nesting.packing.instance import Item
from nesting.packing.layout import Node, Piece, corners_of
from nesting.packing.search import fits_in


def keepable(piece: Piece, keep: tuple[int, int]) -> bool:
    """Whether a rectangle of ``keep`` (along the sheet, across it) fits into a free piece."""
    return fits_in(piece[:6], piece[6], *keep)


def play(node: Node, items: Sequence[Item]) -> tuple[float, float]:
    """How much shorter and narrower a piece could be and still hold its parts, along and across.

    Room beside a part in its own row adds up; of rows side by side the tightest counts.
    """
    if node.free:
        low, high = spans(node.piece)
        return low, high
    if node.item is not None:
        corners = corners_of(node, items[node.item])
        x0, y0, x1, y1 = bounds(corners)
        along, across = spans(node.piece)
        return max(0.0, along - (x1 - x0)), max(0.0, across - (y1 - y0))
    plays = [play(kid, items) for kid in node.kids]
    split = 0 if _parted_along(node) else 1
    fixed = [own[1 - split] for kid, own in zip(node.kids, plays, strict=True) if not kid.free]
    other = min(fixed, default=spans(node.piece)[1 - split])
    summed = sum(own[split] for own in plays)
    return (summed, other) if split == 0 else (other, summed)


def spans(piece: Piece) -> tuple[float, float]:
    """Extents along and across the sheet; of a slanted piece the least."""
    x0, x1, l0, l1, u0, u1, flag = piece
    along, across = x1 - x0, min(u0 - l0, u1 - l1)
    return (across, along) if flag else (along, across)


def _parted_along(node: Node) -> bool:
    """Whether a cut's kids lie one after the other along the sheet."""
    assert node.line is not None
    a, b, _ = node.line
    upright = abs(a[0] - b[0]) < abs(a[1] - b[1])
    return upright != node.piece[6]
