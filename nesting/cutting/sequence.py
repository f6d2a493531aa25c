"""The cuts of one sheet, in an order that can be made, as the plan tells them.

What makes one way better than another stands in :mod:`nesting.cutting.criteria`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass

from nesting.cutting.criteria import Score, score
from nesting.cutting.facts import Facts, Hidden
from nesting.cutting.order import best_breakdown, ordered
from nesting.cutting.steps import Breakdown, Piece, Step, walk
from nesting.geometry import Point, Polygon
from nesting.packing.instance import Instance, Size
from nesting.packing.layout import Node
from nesting.plan import Cut, Mark


@dataclass(frozen=True, slots=True)
class Final:
    """A piece after the last cut: a part, an offcut to keep, or scrap."""

    polygon: Polygon
    item: int | None = None
    corners: tuple[Point, ...] = ()
    keep: bool = False
    trim: bool = False


@dataclass(frozen=True, slots=True)
class Sequence:
    """One sheet cut up; ``facts`` is what is known of it, ``score`` how good the way is."""

    facts: Facts
    cuts: tuple[Cut, ...]
    finals: tuple[Final, ...]
    score: Score


def letters() -> Iterator[str]:
    """A, B .. Z, AA, AB .."""
    alphabet = [chr(code) for code in range(ord("A"), ord("Z") + 1)]
    for count in itertools.count(1):
        for word in itertools.product(alphabet, repeat=count):
            yield "".join(word)


def sequence(instance: Instance, size: Size, root: Node, hidden: Hidden | None = None) -> Sequence:
    """Find the cuts of one sheet and their order.

    Parameters
    ----------
    hidden : mapping, optional
        For an item, the edges of its parts (``straight``, ``far``, ``start``, ``end``) that nobody will see.
    """
    facts = Facts(instance, size, root, hidden)
    return sequence_of(facts, best_breakdown(facts))


def sequence_of(facts: Facts, broken: Breakdown) -> Sequence:
    """The order of the cuts of one sheet that is broken down."""
    order = ordered(broken)
    finals = tuple(_final(facts, piece) for piece in walk(broken.root) if piece.step is None)
    return Sequence(facts, tuple(_told(order)), finals, score(order))


def _final(facts: Facts, piece: Piece) -> Final:
    node = piece.node
    if node is None or not facts.wanted(node):
        return Final(piece.polygon, trim=piece.trim)
    if node.item is None:
        return Final(piece.polygon, keep=True)
    return Final(piece.polygon, node.item, facts.corners(node))


def _told(order: list[Step]) -> Iterator[Cut]:
    """The cuts with their numbers and letters: what is kept keeps its letter."""
    names = letters()
    letter = {order[0].piece: next(names)} if order else {}
    for number, step in enumerate(order, 1):
        letter[step.kept] = letter[step.piece]
        if step.rest is not None:
            letter[step.rest] = next(names)
        yield Cut(
            number=number,
            kind=step.kind,
            start=step.line[0],
            to=step.line[1],
            waste_side=step.waste_side,
            length=round(math.dist(*step.line)),
            rails=step.rails,
            joined=len(step.rails) > 1,
            rail_on=step.rail_on,
            packer=step.packer,
            piece=letter[step.piece],
            marks=tuple(
                Mark(at=at, edge=step.edge, reading=reading)
                for at, reading in zip(("from", "to"), step.readings, strict=True)
            ),
        )
