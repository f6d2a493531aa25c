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


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """A sheet of labels as it is sold; millimetres, across and down.

    Attributes
    ----------
    corner, pitch : tuple of float
        The first label's upper left corner, and from each label to the next.
    inset : float
        Left free within a label, for a printer that is a little off.
    """

    page: tuple[float, float]
    grid: tuple[int, int]
    size: tuple[float, float]
    corner: tuple[float, float]
    pitch: tuple[float, float]
    inset: float = 1.6


LETTER, A4 = (215.9, 279.4), (210.0, 297.0)
LABEL_SHEETS = {
    "letter-30": LabelSheet(LETTER, (3, 10), (66.675, 25.4), (4.7625, 12.7), (69.85, 25.4)),
    "letter-10": LabelSheet(LETTER, (2, 5), (101.6, 50.8), (3.969, 12.7), (106.3625, 50.8)),
    "a4-21": LabelSheet(A4, (3, 7), (63.5, 38.1), (7.21, 15.15), (66.04, 38.1)),
    "a4-14": LabelSheet(A4, (2, 7), (99.1, 38.1), (4.65, 15.15), (101.6, 38.1)),
}
"""Common sheets by paper and number of labels: 2 5/8 x 1 and 4 x 2 in, 63.5 x 38.1 and 99.1 x 38.1 mm.

Common measures, no source: lay a print over a sheet of labels before it is used up.
"""


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
