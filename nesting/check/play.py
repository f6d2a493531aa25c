"""Judge the play of a sheet: by how much it may be shorter and narrower and still hold its parts."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import ceil

from nesting.check import shapes
from nesting.check.supply import stock_of
from nesting.check.violation import Violation, say
from nesting.plan import Plan, Sheet


def judge_play(plan: Plan, sheet: Sheet) -> Iterator[Violation]:
    """Judge what a sheet says of its play, if it does, against the parts on it and the play to be kept."""
    size, units = stock_of(plan, sheet), plan.units
    kept = size.play if size else 0
    if sheet.play is None:
        if kept > 0:
            yield _fault(sheet, "it says nothing of its play, and some was to be kept")
        return
    for i, (way, said) in enumerate((("along", sheet.play.along), ("across", sheet.play.across))):
        most = _most(sheet, i, said)
        if said < kept:
            yield _fault(sheet, f"{say(said, units)} {way} it, and {say(kept, units)} was to be kept")
        elif said < 0 or said > most:
            yield _fault(sheet, f"{say(said, units)} {way} it, where the parts leave {say(most, units)}")


def _fault(sheet: Sheet, text: str) -> Violation:
    return Violation("sheet-play", sheet.number, None, text)


def _most(sheet: Sheet, way: int, said: int) -> int:
    """What the parts and a kerf between each two leave of the trimmed sheet, on the fullest line.

    Of a slanted part only the rectangle in it counts, and as such parts slide along each other when a sheet
    is shorter, all are taken narrower by as much as that could move them sideways.
    """
    trim = sheet.edge_trim
    room = (sheet.length - trim.left - trim.right, sheet.width - trim.lower - trim.upper)[way]
    parts = [shape for placed in sheet.placed if (shape := shapes.hull(placed.corners))]
    aside = ceil(max(said, 0) * sum(map(_slope, parts)))
    spans = [(low + aside, high - aside, size) for shape in parts for low, high, size in [_core(shape, way)]]
    least = room
    for line in {low for low, _, _ in spans}:
        sizes = [size for low, high, size in spans if low <= line < high]
        if sizes:
            least = min(least, room - sum(sizes) - sheet.kerf * (len(sizes) - 1) + shapes.SLACK)
    return least


def _core(shape: shapes.Shape, way: int) -> tuple[int, int, int]:
    """The rectangle in a four-cornered shape: from where to where beside the way, and its size along it."""
    along, beside = (sorted(int(spot[i]) for spot in shape) for i in (way, 1 - way))
    return beside[1], beside[-2], max(along[-2] - along[1], 0)


def _slope(shape: shapes.Shape) -> float:
    """Of the steepest slanted edge, as run over rise or rise over run, whichever is less."""
    ring = pairwise((*shape, shape[0]))
    runs = [sorted((abs(float(q[0] - p[0])), abs(float(q[1] - p[1])))) for p, q in ring]
    return max(low / high for low, high in runs)
