"""What makes a frame impossible, in a carpenter's words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from nesting.errors import Fault
from nesting.job.measured import Wall
from nesting.job.models import Opening
from nesting.lengths import Units, with_unit
from nesting.openings.frame import ROLES, Role, clear_width, heights, rises
from nesting.openings.rounding import Ends

# What is at fault, its length if it has one, and what would be right.
Found = tuple[str, int | None, str]


def frame_faults(opening: Opening, thickness: int, step: int, units: Units) -> list[Fault]:
    """Say what stands in the way before anything is fitted; empty where nothing does."""
    found = [*_sizes(opening, thickness, step, units), *_under_framing(opening, thickness, units)]
    return _faults(opening, [*found, *_readings(opening)], units)


def width_faults(opening: Opening, cut: Sequence[Mapping[Role, Ends]], units: Units) -> list[Fault]:
    """Name the pieces that come to nothing at an end; ``cut`` has one set of ends for each face."""
    right = "comes to nothing at one end; check its readings, or take one nearer that end"
    widths = {role: min(sum(ends[role][end] for ends in cut) for end in (0, 1)) for role in ROLES}
    gone = [(f"width of the {role}", None, right) for role, width in widths.items() if width <= 0]
    return _faults(opening, gone, units)


def _faults(opening: Opening, found: Sequence[Found], units: Units) -> list[Fault]:
    return [
        Fault(f"opening {opening.name}", what, "" if value is None else with_unit(value, units), right)
        for what, value, right in found
    ]


def _sizes(opening: Opening, thickness: int, step: int, units: Units) -> Iterator[Found]:
    sheet = f"the sheet's thickness, {with_unit(thickness, units)}"
    if (clear := clear_width(opening, thickness)) < step:
        least = "what the leaning studs leave between plumb lines" if opening.framing else "the least width"
        yield "clear width between the legs", None, (
            f"comes to {with_unit(clear, units)}: {least} must be more than both side gaps and twice {sheet}"
        )
    for side, height in heights(opening, thickness).items():
        if height < thickness + step:
            yield f"height under the head on the {side}", None, (
                f"comes to {with_unit(height, units)}: must be more than {sheet}; is it measured from the "
                "finished floor?"
            )
        if 0 < height <= (up := getattr(opening.feet, side)):
            yield f"feet, {side}", up, "must be less than the height under the head"
    if opening.joint == "rabbet" and not 0 < opening.rabbet < thickness:
        yield "rabbet", opening.rabbet, f"must be more than 0 and less than {sheet}"


def _under_framing(opening: Opening, thickness: int, units: Units) -> Iterator[Found]:
    """A head off a level line must come under the framing, where that was measured."""
    line, taken = opening.line, rises(opening, thickness)
    if line and line.framing is not None and line.framing < line.up + taken:
        most = line.framing - taken - opening.gap.top
        right = f"at most {with_unit(most, units)}" if most >= 0 else "the line is too near the framing"
        yield "line, up", line.up, (
            f"the framing is {with_unit(line.framing, units)} above the line, and the head with what stands "
            f"above it and its gap takes {with_unit(taken + opening.gap.top, units)}: {right}"
        )


def below_two_places(wall: Wall) -> Iterator[Found]:
    """Name the runs that fix no line."""
    runs = [("left", wall.left), ("right", wall.right), ("head", wall.head)]
    for run, readings in [*runs, *([("sill", wall.sill)] if wall.sill else [])]:
        if len({reading.at for reading in readings}) < 2:
            yield f"wall, {run}", None, "needs readings at two places at least"


def _readings(opening: Opening) -> Iterator[Found]:
    wall = opening.wall
    yield from below_two_places(wall)
    every = (*wall.left, *wall.right, *wall.head)
    if len({None in (reading.face_a, reading.face_b) for reading in every}) > 1:
        yield "wall", None, (
            "give both faces at every station, off one plumb plane, or the thickness alone at every one"
        )
