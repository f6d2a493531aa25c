"""How the studs lean along the wall, off a plumb line on each side or by the opening's diagonals.

On each side hangs a plumb line; d is how far the stud's face stands outward of it. With D between the
lines the opening is D + d_left + d_right wide at one height, and a plumb frame finds between the two
innermost places

    D + min d_left + min d_right

which is never more than the least width. D is measured, or the least that the three widths leave: the low
one is that at the lowest reading of either side, the high one at the highest, the middle one half way.
Between two readings a stud is straight; below the lowest and above the highest it is taken as plumb.

A diagonal closes a triangle. With the left foot at (0, 0), the right one at (w, -f), the left top at
(x, y) and the right top at (x + v, z), a² = (x + v)² + z² and b² = (x - w)² + (y + f)², so

    x = (a² - b² - z² + (y + f)²) / 2(w + v) + (w - v) / 2

is how far the left side's top stands to the right of its foot. A height that is a little off hardly
counts, as it is in both diagonals.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from nesting.job.measured import Framing, Stud, Width
from nesting.job.models import Opening
from nesting.lengths import INCH, MM, Units, nearest, to_step, with_unit

# What carpenters take as true; common practice, no source.
TRUE = INCH // 16
# Studs, widths and diagonals that differ by more than this were not measured at one opening (the same).
AGREE = INCH // 8
Side = Literal["left", "right"]
SIDES: tuple[Side, ...] = ("left", "right")
GapStation = tuple[int, int]
NOT_MEASURED = (
    "how the studs lean along the wall is not measured: three equal widths do not show two studs that "
    "lean the same way, and a plumb frame then has not the gaps it was given"
)


@dataclass(frozen=True, slots=True)
class Between:
    """What the studs leave for a plumb frame.

    Attributes
    ----------
    width : int
        Between the innermost places, or the least of the three widths where that is less.
    by_widths : int
        The least of the three widths.
    apart : int
        Between the two plumb lines.
    least : dict
        The innermost place on each side: its height, and how far it stands off the line.
    """

    width: int
    by_widths: int
    apart: int
    least: dict[Side, Stud]


def between(opening: Opening) -> Between:
    """What is left for the frame between the studs; by the three widths where no lean is measured."""
    by_widths = min(_widths(opening.width))
    framing = opening.framing
    if framing is None:
        return Between(by_widths, by_widths, by_widths, {})
    least = {side: min(getattr(framing, side), key=lambda stud: (stud.off, stud.at)) for side in SIDES}
    apart = framing.apart or min(apart for _, apart in _apart(framing, opening.width))
    plumb = apart + sum(stud.off for stud in least.values())
    return Between(min(plumb, by_widths), by_widths, apart, least)


def outward(opening: Opening, side: Side, height: int) -> int:
    """By how much the stud stands further out at a height than where it is innermost."""
    if opening.framing is None:
        return 0
    studs: tuple[Stud, ...] = getattr(opening.framing, side)
    return nearest(off_at(studs, height)) - min(stud.off for stud in studs)


def gaps(opening: Opening) -> dict[Side, tuple[GapStation, ...]]:
    """Height and shim space at each reading of the studs, the frame at the left gap; empty without."""
    if opening.framing is None:
        return {}
    left, right = (sorted({(s.at, s.off) for s in getattr(opening.framing, side)}) for side in SIDES)
    space, least = between(opening), min(off for _, off in left)
    spare = space.apart + least - space.width  # to the right of the frame, at the right plumb line
    return {
        "left": tuple((at, opening.gap.left + off - least) for at, off in left),
        "right": tuple((at, opening.gap.right + spare + off) for at, off in right),
    }


def off_at(studs: Sequence[Stud], height: Fraction | int) -> Fraction:
    """How far a stud stands off its line at a height; of readings at one height the innermost counts."""
    known: dict[int, int] = {}
    for stud in studs:
        known[stud.at] = min(stud.off, known.get(stud.at, stud.off))
    places = sorted(known)
    if height <= places[0]:
        return Fraction(known[places[0]])
    for low, high in pairwise(places):
        if height <= high:
            return known[low] + (known[high] - known[low]) * Fraction(height - low) / (high - low)
    return Fraction(known[places[-1]])


def _widths(width: Width) -> tuple[int, int, int]:
    return width.low, width.middle, width.high


def _apart(framing: Framing, width: Width) -> list[tuple[str, int]]:
    """How far apart each of the widths would have the two plumb lines."""
    heights = [stud.at for side in SIDES for stud in getattr(framing, side)]
    low, high = min(heights), max(heights)
    places = (low, Fraction(low + high, 2), high)
    return [
        (name, math.floor(wide - sum(off_at(getattr(framing, side), at) for side in SIDES)))
        for name, wide, at in zip(("low", "middle", "high"), _widths(width), places, strict=True)
    ]


def warnings(opening: Opening, units: Units) -> Iterator[str]:
    """Where a plumb frame is pinched, and measures that do not go with each other."""
    if opening.framing:
        yield from _pinched(opening, units)
        yield from _disagree(opening, opening.framing, units)
    if found := rack(opening):
        yield from _racked(opening, *found, units)


def notes(opening: Opening, units: Units) -> Iterator[str]:
    """What is known of the lean along the wall."""
    if opening.framing is None:
        yield NOT_MEASURED
    else:
        yield (
            f"the clear width is taken between plumb lines, {with_unit(between(opening).width, units)} of "
            "framing"
        )
    found = rack(opening)
    if found and abs(found[0]) <= TRUE:
        yield f"the diagonals show no lean along the wall beyond {with_unit(TRUE, units)}{_if_level(opening)}"


def _pinched(opening: Opening, units: Units) -> Iterator[str]:
    space = between(opening)
    if (lost := space.by_widths - space.width) <= TRUE:
        return
    spots = " and ".join(
        f"on the {side} {with_unit(stud.at, units)} above the floor" for side, stud in space.least.items()
    )
    widest = {side: max(gap for _, gap in stations) for side, stations in gaps(opening).items()}
    yield (
        f"the studs lean: between plumb lines there is {with_unit(lost, units)} less than the least of the "
        f"three widths, and the frame is that much narrower. It is pinched {spots}; elsewhere the shim "
        f"space grows to {with_unit(widest['left'], units)} on the left, "
        f"{with_unit(widest['right'], units)} on the right"
    )


def _disagree(opening: Opening, framing: Framing, units: Units) -> Iterator[str]:
    found = _apart(framing, opening.width)
    known = [framing.apart] if framing.apart else []
    values = [*known, *(apart for _, apart in found)]
    if max(values) - min(values) > AGREE:
        said = ", ".join(f"the {name} width {with_unit(apart, units)}" for name, apart in found)
        measured = f"measured {with_unit(framing.apart, units)}; " if framing.apart else ""
        yield (
            "the widths do not go with the readings of the framing: the plumb lines would be apart, "
            f"{measured}by {said}. Take the widths at the heights of the lowest and the highest reading and "
            "half way, and measure again"
        )


# --- diagonals ---------------------------------------------------------------------------------


def rack(opening: Opening) -> tuple[int, int, int] | None:
    """How far the left and the right side's top stand to the right of their feet, by the diagonals.

    The third is by how much the diagonals, so taken, are off the widths and heights. None without diagonals.
    """
    if opening.diagonals is None:
        return None
    (a, b), (w, v) = opening.diagonals, (opening.width.low, opening.width.high)
    y, z = _rises(opening)  # of the falling diagonal to the left top, of the rising one to the right top
    x = Fraction(a**2 - b**2 - z**2 + y**2, 2 * (w + v)) + Fraction(w - v, 2)
    over = a - math.isqrt(round((x + v) ** 2 + z**2))
    return nearest(x), nearest(x + v - w), over


def _rises(opening: Opening) -> tuple[int, int]:
    """Height of the left top over the right foot, and of the right top over the left foot."""
    along = opening.floor.along or 0
    if opening.height:
        return opening.height.left + along, opening.height.right - along
    if opening.line is None:
        raise ValueError(f"{opening.name}: neither height nor line is given")
    line = opening.line
    above = line.up if line.framing is None else line.framing
    return line.right + above, line.left + above


def _if_level(opening: Opening) -> str:
    return "" if opening.line or opening.floor.along is not None else ", if the floor is level"


def _racked(opening: Opening, left: int, right: int, over: int, units: Units) -> Iterator[str]:
    known = opening.height is not None or (opening.line is not None and opening.line.framing is not None)
    if known and abs(over) > 4 * AGREE:
        apart = with_unit(to_step(abs(over), INCH // 16 if units is Units.INCH else MM), units)
        yield (
            f"the diagonals are {apart} {'longer' if over > 0 else 'shorter'} than the "
            "widths and heights make them; measure again"
        )
    elif max(abs(left), abs(right)) > TRUE:
        yield (
            f"by the diagonals {_lean('left', left, units)} and {_lean('right', right, units)}"
            f"{_if_level(opening)}"
            + ("" if opening.framing else ": hang a plumb line on each side and give framing, or a plumb "
               "frame has not the gaps it was given")
        )  # fmt: skip


def _lean(side: str, by: int, units: Units) -> str:
    if not (off := to_step(abs(by), INCH // 32 if units is Units.INCH else MM)):
        return f"the {side} side is plumb"
    return f"the {side} side leans {with_unit(off, units)} to the {'right' if by > 0 else 'left'} at its top"
