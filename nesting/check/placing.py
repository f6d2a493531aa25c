"""Judge the parts and where they lie: each once, its shape, hand, grain, and room between them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import combinations
from math import radians, tan

from nesting.check import shapes
from nesting.check.violation import Code, Violation, say
from nesting.plan import Corners, Placed, Plan, PlanPart, Pt, Sheet

# Which end of the straight edge is up, by the face it lies on; from unfolding the three pieces of an
# opening round the head with their show faces towards the reader.
_TOP = {("A", "right leg"): "end", ("A", "left leg"): "start",
        ("B", "right leg"): "start", ("B", "left leg"): "end"}  # fmt: skip
# And which end is the left one; a window's sill is folded down below the legs.
_LEFT = {("A", "head"): "end", ("B", "head"): "start", ("A", "sill"): "start", ("B", "sill"): "end"}


def judge_parts(plan: Plan) -> Iterator[Violation]:
    """Judge the parts list alone: numbers, sizes, marks; and that each part is placed once."""
    placed = Counter(spot.number for sheet in plan.sheets for spot in sheet.placed)
    for number, times in Counter(part.number for part in plan.parts).items():
        if times > 1 or number < 1:
            yield Violation("numbering", None, number, "part numbers are unique and count from 1")
        if placed[number] == 0:
            yield Violation("part-missing", None, number, "it is on no sheet")
        if placed[number] > 1:
            yield Violation("part-twice", None, number, f"it is placed {placed[number]} times")
    for part in plan.parts:
        if not _has_form(part):
            yield Violation("part-form", None, part.number, "its sizes make no part: length and widths "
                                                            "above 0, corners that do not cross")
        if part.role in ("left leg", "right leg"):
            yield from _judge_top(plan, part)
        if part.role in ("head", "sill"):
            yield from _judge_left(plan, part)


def _has_form(part: PlanPart) -> bool:
    positive = min(part.length, part.width_start, part.width_end) > 0
    ring = part.outline * 2
    return positive and all(shapes.twice_area(ring[i : i + 3]) > 0 for i in range(4))


def _judge_top(plan: Plan, part: PlanPart) -> Iterator[Violation]:
    straight = {opening.name: opening.straight for opening in plan.openings}
    face = straight.get(part.opening or "")
    ends = ("start", "end") if face is None else (_TOP[face, str(part.role)],)
    marked = [end for end in ("start", "end") if "TOP" in part.marks.get(end, "")]
    if len(marked) != 1 or marked[0] not in ends:
        yield Violation("part-top", None, part.number,
                        f"its upper end, {' or '.join(ends)}, and no other has to be marked TOP")


def _judge_left(plan: Plan, part: PlanPart) -> Iterator[Violation]:
    """A head or sill whose ends are marked left and right at all has them by its hand."""
    face = {opening.name: opening.straight for opening in plan.openings}.get(part.opening or "")
    marked = [end for end in ("start", "end") if part.marks.get(end) == "left"]
    if face and marked and marked != [_LEFT[face, str(part.role)]]:
        yield Violation("part-left", None, part.number,
                        f"its left end, {_LEFT[face, str(part.role)]}, and no other has to be marked left")


def judge_placed(plan: Plan, sheet: Sheet, grain: bool) -> Iterator[Violation]:
    """Judge each part where it lies on a sheet; ``grain`` says whether the sheet has any."""
    parts = {part.number: part for part in plan.parts}
    for placed in sheet.placed:
        part = parts.get(placed.number)
        if part is None:
            yield Violation("part-unknown", sheet.number, placed.number, "no such part is in the list")
            continue
        for code, text in _faults(plan, sheet, part, placed.corners):
            yield Violation(code, sheet.number, part.number, text)
        if grain and (fault := _grain_fault(plan, part, placed.corners)):
            yield Violation("grain", sheet.number, part.number, fault)


def _faults(plan: Plan, sheet: Sheet, part: PlanPart, corners: Corners) -> Iterator[tuple[Code, str]]:
    if (part.material, part.thickness) != (sheet.material, sheet.thickness):
        yield "material", (f"it is of {part.material} {say(part.thickness, plan.units)}, the sheet "
                           f"of {sheet.material} {say(sheet.thickness, plan.units)}")
    hand = shapes.twice_area(corners)
    if not _is_shape(part, corners):
        yield "part-size", "its corners on the sheet do not make its length, widths and skews"
    if not part.may_flip and hand and (hand > 0) != (plan.seen_from == "show"):
        yield "part-hand", (f"its corners run {'anti' if hand > 0 else ''}clockwise seen from the "
                            f"{plan.seen_from}: it would be turned over, which it may not be")
    if not in_trim(sheet, corners):
        yield "part-outside", "it reaches out of the trimmed sheet"
    if in_zone(sheet, corners):
        yield "part-blocked", "it lies in a zone that is no good"


def _is_shape(part: PlanPart, corners: Corners) -> bool:
    """Exact where the straight edge runs along or across; else every distance within the slack."""
    run = (corners[1][0] - corners[0][0], corners[1][1] - corners[0][1])
    if (run[0] == 0) != (run[1] == 0):
        return corners == _laid(part, corners, run)
    pairs = combinations(range(4), 2)
    return shapes.twice_area(corners) != 0 and all(
        shapes.nearly(shapes.distance_squared(corners[i], corners[j]),
                      shapes.distance_squared(part.outline[i], part.outline[j]))
        for i, j in pairs
    )  # fmt: skip


def _laid(part: PlanPart, corners: Corners, run: Pt) -> tuple[Pt, ...]:
    """Corners of the part laid with its straight edge from where it starts, along ``run``."""
    (x0, y0), hand = corners[0], 1 if shapes.twice_area(corners) > 0 else -1
    ux, uy = _sign(run[0]), _sign(run[1])
    return tuple(
        (x0 + ux * along - hand * uy * off, y0 + uy * along + hand * ux * off)
        for along, off in part.outline
    )


def _sign(number: int) -> int:
    return (number > 0) - (number < 0)


def _grain_fault(plan: Plan, part: PlanPart, corners: Corners) -> str:
    if part.grain == "any":
        return ""
    (x0, y0), (x1, y1) = corners[:2]
    along, off = abs(x1 - x0), abs(y1 - y0)
    if part.grain == "across":
        along, off = off, along
    most = Fraction(tan(radians(min(max(plan.lean, 0.0), 45.0)))) * along
    if off <= most + shapes.SLACK:
        return ""
    way = "along the sheet" if part.grain == "length" else "across the sheet"
    return f"its straight edge has to run {way}, {plan.lean:g} degrees off at most"


def in_trim(sheet: Sheet, corners: tuple[Pt, ...]) -> bool:
    """Whether all corners lie inside the trimmed sheet; exact."""
    trim = sheet.edge_trim
    return all(
        trim.left <= x <= sheet.length - trim.right and trim.lower <= y <= sheet.width - trim.upper
        for x, y in corners
    )


def in_zone(sheet: Sheet, corners: Sequence[Pt]) -> bool:
    """Whether a shape overlaps one of the sheet's bad zones."""
    shape = shapes.hull(corners)
    zones = [zone for ring in sheet.blocked if (zone := shapes.hull(ring))]
    return bool(shape) and any(shapes.apart(shape, zone, 0) is not None for zone in zones)


def judge_room(sheet: Sheet) -> Iterator[Violation]:
    """Judge the room between each two parts of a sheet: no overlap, a kerf at least."""
    solid = [(placed, shape) for placed in sheet.placed if (shape := shapes.hull(placed.corners))]
    for (one, shape), (other, beside) in combinations(solid, 2):
        yield from _judge_pair(sheet, one, other, shapes.apart(shape, beside, sheet.kerf))


def _judge_pair(sheet: Sheet, one: Placed, other: Placed, fault: Code | None) -> Iterator[Violation]:
    if fault == "overlap":
        yield Violation("overlap", sheet.number, one.number, f"it overlaps part {other.number}")
    elif fault:
        yield Violation("gap", sheet.number, one.number, f"less than a kerf is between it and part "
                                                         f"{other.number}")
