"""The pieces on the bench while a sheet is cut: what is in hand at each cut, and what becomes of it.

The plan has passed its check, so every cut parts its piece; what is told here is only where.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from nesting.check import shapes
from nesting.check.shapes import Line, Shape
from nesting.drawing.words import Step, said, steps
from nesting.geometry import Point
from nesting.plan import Cut, Mark, Plan, Sheet

Outline = tuple[tuple[float, float], ...]
SHARES = (0.1, 0.9)  # where along a piece its width is looked at, off the ends, which may be skewed


@dataclass(frozen=True, slots=True)
class InHand:
    """One cut with the piece it is made in; outlines in inner units on the sheet.

    Attributes
    ----------
    kept, other : outline
        The two sides of the cut; ``other`` is empty where it is all sawdust.
    blocked : tuple of outlines
        What of the sheet's blocked zones lies in the piece.
    size : str
        Of the piece, along by across the sheet, to the nearest step.
    """

    cut: Cut
    step: Step
    piece: Outline
    kept: Outline
    other: Outline
    blocked: tuple[Outline, ...]
    size: str

    @property
    def marks(self) -> tuple[Mark, Mark]:
        """The readings beside the line: at its left or lower end, and at its right or upper one."""
        (ax, ay), (bx, by) = self.cut.start, self.cut.to
        along = abs(bx - ax) >= abs(by - ay)
        beside = ("lower", "upper") if along else ("left", "right")
        first, second = (next(m for m in self.cut.marks if m.at == end and m.edge in beside)
                         for end in ("from", "to"))  # fmt: skip
        return (first, second) if (ax < bx if along else ay < by) else (second, first)


def in_hand(plan: Plan, sheet: Sheet) -> Iterator[InHand]:
    """Go through the cuts of a sheet in their order."""
    bench: dict[str, Shape] = {"A": whole(sheet)}
    for cut, step in zip(sheet.cuts, steps(plan, sheet), strict=True):
        piece = bench[cut.piece]
        line = Line.through(cut.start, cut.to)
        line = line if cut.waste_side == "right" else line.flipped()
        kept = shapes.solid(shapes.clip(piece, line))
        other = shapes.solid(shapes.clip(piece, line.flipped().shifted(sheet.kerf)))
        bench[cut.piece] = kept
        if step.other_letter:
            bench[step.other_letter] = other
        inside = (_within(zone, piece) for zone in sheet.blocked)
        yield InHand(cut, step, _floats(piece), _floats(kept), _floats(other),
                     tuple(_floats(zone) for zone in inside if zone), _size(plan, piece))  # fmt: skip


def whole(sheet: Sheet) -> Shape:
    """The sheet as it lies on the bench, anticlockwise."""
    if sheet.outline:
        turn = shapes.twice_area(sheet.outline)
        return tuple(sheet.outline if turn > 0 else reversed(sheet.outline))
    return ((0, 0), (sheet.length, 0), (sheet.length, sheet.width), (0, sheet.width))


def _within(zone: Sequence[Point], piece: Shape) -> Shape:
    """What of a zone lies in a convex piece (the zone may be of any shape that clips well)."""
    found: Shape = tuple(zone if shapes.twice_area(zone) > 0 else reversed(zone))
    for side in shapes.edges(piece):
        found = shapes.clip(found, side)
        if not found:
            return ()
    return shapes.solid(found)


def _floats(shape: Shape) -> Outline:
    return tuple((float(x), float(y)) for x, y in shape)


def _size(plan: Plan, piece: Shape) -> str:
    """Length along the sheet by width across it; of a tapered piece the width at both its ends.

    Where an end is so far off square that the piece has no width there, its greatest one.
    """
    xs, ys = ([float(point[axis]) for point in piece] for axis in (0, 1))
    low, length, most = min(xs), max(xs) - min(xs), max(ys) - min(ys)
    near, far = (_across(piece, low + share * length) for share in SHARES)
    slope = (far - near) / (SHARES[1] - SHARES[0])
    ends = [near + slope * (share - SHARES[0]) for share in (0.0, 1.0)]
    skewed = any(SHARES[0] * length < x - low < SHARES[1] * length for x in xs)
    if skewed or max(ends) > most + plan.step:
        ends = [most, most]
    widths = [said(plan, round(end)) for end in ends]
    different = f" to {widths[1]}" if widths[0] != widths[1] else ""
    return f"{said(plan, round(length))} × {widths[0]}{different}"


def _across(piece: Shape, at: float) -> float:
    """The width of a convex piece at a place along it."""
    ys = []
    for (ax, ay), (bx, by) in zip(_floats(piece), _floats((*piece[1:], piece[0])), strict=True):
        if min(ax, bx) <= at <= max(ax, bx) and ax != bx:
            ys.append(ay + (at - ax) / (bx - ax) * (by - ay))
    return max(ys) - min(ys)
