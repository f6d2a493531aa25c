"""The order in which complete plans are preferred: money first, then what costs nothing."""

from __future__ import annotations

import math
from collections.abc import Sequence

from nesting.geometry import bounds
from nesting.packing.instance import Instance, Item
from nesting.packing.layout import Node, Piece, area_of, corners_of
from nesting.packing.state import State

Rank = tuple[float, int, int, int, int]
OFFCUT_STEP = 0.005  # of the largest sheet: offcuts that differ by less are equal


def keepable(piece: Piece, keep: tuple[int, int]) -> bool:
    """Whether a rectangle of ``keep`` (along the sheet, across it) fits into a free piece."""
    length, width = (keep[1], keep[0]) if piece[6] else keep
    x0, x1, l0, l1, u0, u1, _ = piece
    span = x1 - x0
    if length <= 0 or width <= 0 or span < length:
        return False
    share = length / span
    low = l0 + (l1 - l0) * share, l1 + (l0 - l1) * share
    high = u0 + (u1 - u0) * share, u1 + (u0 - u1) * share
    at_left = min(u0, high[0]) - max(l0, low[0])
    at_right = min(u1, high[1]) - max(l1, low[1])
    return max(at_left, at_right) >= width


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


def rank(state: State) -> Rank:
    """Money less credit, sheets, cuts with joined rails, the largest kept offcut, cuts; less is better.

    Counted on the trees: the cuts that free a part inside its cell are not in it; a slanted cut that
    runs on beyond its part counts twice.
    """
    instance = state.rules.instance
    usable = [size.usable for size in instance.sizes]
    nodes = [node for sheet in state.sheets for node in sheet.root.walk()]
    kept = [area_of(n.piece) for n in nodes if n.free and keepable(n.piece, instance.keep)]
    value = state.price - float(instance.credit) * sum(kept)
    lines = [node for node in nodes if node.kids]
    return (
        round(value, 3),
        len(state.sheets),
        sum(_needs_joining(node, instance) for node in lines),
        -round(max(kept, default=0.0) / (OFFCUT_STEP * max(a * b for a, b in usable))),
        len(lines) + sum(_overrun(node) for node in lines),
    )


def _overrun(node: Node) -> bool:
    """A slanted line longer than its part is read off its own ends, where it is on no whole step."""
    assert node.line is not None
    (x0, y0), (x1, y1), _ = node.line
    strip = node.kids[0]
    return x0 != x1 and y0 != y1 and strip.item is None


def _needs_joining(node: Node, instance: Instance) -> bool:
    reach = instance.saw.reach(joined=False)
    if reach is None or node.line is None:
        return False
    a, b, _ = node.line
    return math.dist(a, b) > reach
