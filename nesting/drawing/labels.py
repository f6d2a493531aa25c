"""Labels to stick on the parts: the number large, and at each side what that edge is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from nesting.plan import Edge, Plan, PlanPart
from nesting.report.partslist import by_opening, edge_words, sheet_of, size_words, stuff_words

# Clockwise on the show face, the straight edge below: what lies left, above, right, below.
_ROUND: tuple[Edge, ...] = ("start", "far", "end", "straight")


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on one label; ``left``, ``upper``, ``right``, ``lower`` are words for the edges."""

    number: int
    name: str
    opening: str
    size: str
    stuff: str
    sheet: int | None
    left: str
    upper: str
    right: str
    lower: str


def upright(part: PlanPart) -> tuple[Edge, Edge, Edge, Edge]:
    """Turn a piece, show face up, until its TOP lies above, or its left end on the left.

    Returns
    -------
    tuple of str
        The edges that then lie left, above, right and below.
    """
    turn = 0
    for edge, words in part.marks.items():
        if words in ("TOP", "left"):
            turn = _ROUND.index(edge) - (1 if words == "TOP" else 0)
    left, upper, right, lower = (_ROUND[(k + turn) % 4] for k in range(4))
    return left, upper, right, lower


def labels(plan: Plan) -> list[Label]:
    """Make a label for each piece, by opening as in the parts list."""
    sheets = sheet_of(plan)
    return [
        _label(plan, part, sheets.get(part.number)) for parts in by_opening(plan).values() for part in parts
    ]


def _label(plan: Plan, part: PlanPart, sheet: int | None) -> Label:
    edges: Sequence[str] = [edge_words(part, edge) for edge in upright(part)]
    return Label(part.number, part.role or part.id, part.opening or "", size_words(plan, part),
                 stuff_words(plan, part), sheet, *edges)  # fmt: skip
