"""What is said of level: the floor along and through the wall, the head, feet held up, a level line."""

from __future__ import annotations

import math
from collections.abc import Iterator

from nesting.job.models import Opening
from nesting.lengths import Units, with_unit
from nesting.openings.frame import Frame, rise, rises
from nesting.openings.splay import LEAST_BEVEL
from nesting.openings.studs import SIDES

ROOMS = ("A", "B")


def warnings(opening: Opening, frame: Frame, thickness: int, units: Units) -> Iterator[str]:
    """A head for which there is less room than it asks for."""
    room = over_head(opening, frame, thickness)
    for side in SIDES:
        if room and room[side] < opening.gap.top:
            yield (
                f"above the head there is {with_unit(room[side], units)} under the framing, less than the "
                f"gap of {with_unit(opening.gap.top, units)}: lower the line's up by the "
                "difference, or trim the framing"
            )
            return


def notes(opening: Opening, frame: Frame, thickness: int, units: Units) -> Iterator[str]:
    """How the head lies, how the legs differ, and how their feet are cut."""
    yield from _head(opening, units)
    yield from _bevel(opening, frame)
    room = over_head(opening, frame, thickness)
    if room and set(room.values()) != {opening.gap.top}:
        left, right = (with_unit(room[side], units) for side in SIDES)
        yield f"above the head the shim space is {left}" + ("" if left == right else f" left, {right} right")
    yield from _feet(opening, frame, units)
    yield from _through(opening, units)


def over_head(opening: Opening, frame: Frame, thickness: int) -> dict[str, int]:
    """What is left under the framing above the head and its horns; empty where that is not known."""
    taken = rises(opening, thickness)
    if opening.height:
        return {side: getattr(opening.height, side) - frame.height[side] - taken for side in SIDES}
    if opening.line and opening.line.framing is not None:
        return dict.fromkeys(SIDES, opening.line.framing - opening.line.up - taken)
    return {}


def _head(opening: Opening, units: Units) -> Iterator[str]:
    height, along = opening.height, opening.floor.along
    if height is None:
        yield from _off_the_line(opening, units)
    elif opening.head == "level":
        yield "the head is level" + (", if the floor is: it is taken as level" if along is None else "")
    elif along is not None:
        fall = height.left - (height.right - along)
        lower = "right" if fall > 0 else "left"
        yield "the head follows the framing, " + (
            f"and is lower on the {lower} by {with_unit(abs(fall), units)}" if fall else "which is level"
        )
    elif height.left != height.right:
        lower = "left" if height.left < height.right else "right"
        out = with_unit(abs(height.left - height.right), units)
        yield (
            f"the head follows the framing, {out} nearer the floor on the {lower}: on a level floor it is "
            "out of level by as much"
        )


def _bevel(opening: Opening, frame: Frame) -> Iterator[str]:
    """Where a head that slopes meets the plumb legs, one of them is not sawn square through its thickness."""
    slope = math.degrees(math.atan(abs(rise(opening)) / frame.clear_width))
    if slope < LEAST_BEVEL:
        return
    if opening.joint == "head over legs":
        yield (f"the head lies on the legs at {slope:.1f}° off level: bevel their tops by it; their lengths "
               "are those of the faces towards the opening")  # fmt: skip
    else:
        yield (f"the head meets the plumb legs at {slope:.1f}° off square: bevel both its ends by it, one "
               "under, one over; its length is that of its underside")  # fmt: skip


def _off_the_line(opening: Opening, units: Units) -> Iterator[str]:
    if opening.line is None:
        return
    if name := opening.line.name:
        yield f"the head's underside is {with_unit(opening.line.up, units)} above the level line {name}"
    if fall := opening.line.right - opening.line.left:
        lower = "right" if fall > 0 else "left"
        yield (
            f"the floor is {with_unit(abs(fall), units)} lower on the {lower}, and the leg there longer "
            "by it"
        )


def _feet(opening: Opening, frame: Frame, units: Units) -> Iterator[str]:
    feet = opening.feet
    if not (feet.left or feet.right):
        return
    left, right = with_unit(feet.left, units), with_unit(feet.right, units)
    up = left if feet.left == feet.right else f"{left} on the left, {right} on the right,"
    heads = [with_unit(frame.height[side] - getattr(feet, side), units) for side in SIDES]
    under = heads[0] if heads[0] == heads[1] else f"{heads[0]} left and {heads[1]} right"
    yield (
        f"the legs are held up {up} off the floor that is there, and are shorter by it; from the floor that "
        f"comes, if it is as thick, to the head's underside: {under}"
    )


def _through(opening: Opening, units: Units) -> Iterator[str]:
    for side in SIDES:
        if fall := getattr(opening.floor, side):
            high, low = ROOMS if fall > 0 else ROOMS[::-1]
            yield (
                f"the floor falls {with_unit(abs(fall), units)} from room {high} to room {low} under the "
                f"{side} leg: its foot is cut to it, and its edge towards room {low} is longer by it"
            )
