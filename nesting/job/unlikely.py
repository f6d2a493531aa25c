"""Measures of an opening that can be, but hardly are meant: readings, studs, floor, level lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

from nesting.job.faults import Path
from nesting.job.job import Job
from nesting.job.measured import Reading
from nesting.job.models import Opening
from nesting.job.outline import Table, Text
from nesting.lengths import FOOT, INCH, Units, with_unit

# Limits of the likely; common practice, no source.
MOST_APART = 2 * INCH
# Neighbours further apart than this: an inch misread on the tape, less what a wall drifts.
SLIP = 7 * INCH // 8
# An end without a reading so near is a guess, as the line is carried on to it.
FAR = 1 * FOOT
PAST = 6 * INCH
MOST_REACH = 12 * FOOT
THICKEST_FLOOR = 2 * INCH
STEEPEST_FLOOR = 1 * INCH
MOST_TWIST = 2 * INCH
AGREE = INCH // 8
# Repeated readings further apart than this ask for a third (a tape's own tolerance over 7 feet and more
# is 1/16 inch: NIST Handbook 44, 5.52).
REPEATED = INCH // 16

Found = tuple[Path, str]


def shared_lines(job: Job, top: Table) -> Iterator[Found]:
    """Lines that no opening is on, and heads that do not come out in line with the others."""
    known = top.get(Text("lines"))
    names = [key.strip() for key in known] if isinstance(known, Table) else []
    lines = {i: opening.line for i, opening in enumerate(job.openings) if opening.line}
    for name in names:
        on = {i: line for i, line in lines.items() if line.name == name}
        if not on:
            yield ["lines", name], "no opening is measured from it"
        ups = [line.up for line in on.values()]
        usual = max(ups, key=ups.count, default=0)
        for i, line in on.items():
            if line.up != usual:
                off = with_unit(abs(line.up - usual), job.units)
                yield ["openings", i, "line", "up"], (
                    f"this head comes {off} {'above' if line.up > usual else 'below'} the others on the line "
                    f"{name}; leave it out for one line"
                )


def measures(opening: Opening, path: Path, units: Units) -> Iterator[Found]:
    """What of a cased opening's measures is doubtful."""
    yield from _ends(opening, path, units)
    yield from _studs(opening, path, units)
    for side in ("left", "right"):
        if (up := getattr(opening.feet, side)) > THICKEST_FLOOR:
            yield [*path, "feet"], f"{with_unit(up, units)} on the {side} is much for a floor to come"
        if abs(fall := getattr(opening.floor, side)) > STEEPEST_FLOOR:
            yield [*path, "floor"], f"{with_unit(abs(fall), units)} is much for a floor to fall within a wall"
    along, line = opening.floor.along, opening.line
    if along is not None and abs(along) > MOST_APART:
        yield [*path, "floor", "along"], "much for a floor to fall between two legs; measure again"
    if along is not None and line and abs(line.right - line.left - along) > AGREE:
        fall = with_unit(line.right - line.left, units)
        yield [*path, "floor", "along"], f"by the level line it falls {fall} to the right; which is it?"
    if opening.corners and max(map(abs, (*opening.corners.left, *opening.corners.right))) > MOST_TWIST:
        yield [*path, "corners"], "far off one plane; are they read off a plane that runs along the wall?"
    if opening.strings is not None and opening.strings > MOST_TWIST // 2:
        yield [*path, "strings"], "so far apart strings hardly cross in front of one wall; measure again"


def _ends(opening: Opening, path: Path, units: Units) -> Iterator[Found]:
    """Readings past the opening, and ends without one near."""
    wide = max(opening.width.low, opening.width.middle, opening.width.high)
    for side in ("left", "right"):
        low, high = _reach(opening, side)
        readings = getattr(opening.wall, side)
        yield from _run_ends(readings, (low, high), [*path, "wall", side], units, ("floor", "head"))
    yield from _run_ends(opening.wall.head, (0, wide), [*path, "wall", "head"], units, ("left", "right"))


def _reach(opening: Opening, side: str) -> tuple[int, int]:
    """Where a leg begins and ends, as heights above the floor, roughly."""
    if opening.height:
        return 0, getattr(opening.height, side)
    return 0, (getattr(opening.line, side) + opening.line.up) if opening.line else 0


def _run_ends(
    readings: Sequence[Reading], reach: tuple[int, int], path: Path, units: Units, ends: tuple[str, str]
) -> Iterator[Found]:
    low, high = reach
    places = [reading.at for reading in readings]
    past = [i for i, at in enumerate(places) if at > high + PAST]
    for i in past:
        upto = with_unit(high, units)
        yield [*path, i], f"{with_unit(places[i], units)} is past the opening, which ends at {upto}"
    if past or high > MOST_REACH:  # then the opening itself is in doubt
        return
    for place, end, name in ((min(places), low, ends[0]), (max(places), high, ends[1])):
        if abs(place - end) > FAR and high - low > 2 * FAR:
            yield path, (
                f"no reading within {with_unit(FAR, units)} of the {name}: the line is carried on from "
                f"{with_unit(place, units)}; take one there"
            )


def _studs(opening: Opening, path: Path, units: Units) -> Iterator[Found]:
    if opening.framing is None:
        return
    for side in ("left", "right"):
        run, spot = getattr(opening.framing, side), [*path, "framing", side]
        _, high = _reach(opening, side)
        order = sorted(range(len(run)), key=lambda i: run[i].at)
        for before, after in pairwise(order):
            if abs(run[before].off - run[after].off) > MOST_APART:
                off = with_unit(abs(run[before].off - run[after].off), units)
                yield [*spot, max(before, after)], f"differs by {off} from its neighbour; measure again"
        places = [stud.at for stud in run]
        if max(places) > high + PAST:
            yield spot, f"{with_unit(max(places), units)} is above the opening"
        elif min(places) > FAR or max(places) < high - FAR:
            yield spot, (
                f"needs readings within {with_unit(FAR, units)} of the floor and of the head: past the last "
                "one a stud is taken as plumb"
            )


# --- readings of one run -----------------------------------------------------------------------


def repeated(readings: Sequence[Reading], path: Path, units: Units) -> Iterator[Found]:
    """Readings at one place that differ, and neighbours that are far apart."""
    order = sorted(range(len(readings)), key=lambda i: readings[i].at)
    for before, after in pairwise(order):
        one, other = readings[before], readings[after]
        apart = abs(one.thickness - other.thickness)
        if one.at != other.at and apart > SLIP:
            spot = [*path, max(before, after)]
            yield spot, f"differs by {with_unit(apart, units)} from its neighbour; measure again"
    places: dict[int, list[int]] = {}
    for i in order:
        places.setdefault(readings[i].at, []).append(i)
    for at, group in places.items():
        for face, values in _by_face([readings[i] for i in group]).items():
            if said := _differ(face, values, with_unit(at, units), units):
                yield [*path, max(group)], said


def _by_face(readings: Sequence[Reading]) -> dict[str, list[int]]:
    if any(reading.face_a is None or reading.face_b is None for reading in readings):
        return {"": [reading.thickness for reading in readings]}
    return {
        " of room A's face": [reading.face_a or 0 for reading in readings],
        " of room B's face": [reading.face_b or 0 for reading in readings],
    }


def _differ(face: str, values: Sequence[int], at: str, units: Units) -> str:
    """What to do about readings at one place that differ by more than a tape may."""
    apart = max(values) - min(values)
    if apart <= REPEATED:
        return ""
    said = " and ".join(with_unit(value, units) for value in values)
    close = [(a, b) for a, b in combinations(sorted(values), 2) if b - a <= REPEATED]
    if len(values) == 2 or not close:
        more = "a third" if len(values) == 2 else "another"
        return f"the readings{face} at {at}, {said}, differ by {with_unit(apart, units)}: take {more}"
    odd = [v for v in values if all(abs(v - known) > REPEATED for pair in close for known in pair)]
    if not odd:
        return ""
    return (
        f"of the readings{face} at {at}, {said}, {with_unit(odd[0], units)} stands alone: strike it out, as "
        "the widest binds"
    )
