"""Invented openings for the tests, in the words of a tape."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from nesting.job.measured import Height, Line, Reading, Wall, Width
from nesting.job.models import Band, Gap, Opening, Proud
from nesting.lengths import INCH, MM, Units, parse_length
from nesting.openings import Fit, fit_opening
from nesting.parts import Part
from nesting.stock import Material

STEP = INCH // 32
THREE_QUARTERS = Material("poplar", 3 * INCH // 4)
BIRCH = Material("birch", 23 * INCH // 32)
IN_MM = Units.MM


def inch(text: str | int) -> int:
    """Inner units of a length in inches; a leading minus for an offset."""
    plain = str(text)
    sign = -1 if plain.startswith("-") else 1
    return sign * int(parse_length(plain.lstrip("-"), Units.INCH))


def mm(value: float) -> int:
    return round(value * MM)


def run(*stations: tuple[Any, ...]) -> tuple[Reading, ...]:
    """Stations ``(at, thickness)`` or ``(at, face A, face B)``, in inches."""
    return tuple(reading(*map(inch, station)) for station in stations)


def reading(at: int, first: int, second: int | None = None) -> Reading:
    if second is None:
        return Reading(at=at, thickness=first)
    return Reading(at=at, thickness=first + second, face_a=first, face_b=second)


def flat(width: str, *places: str | int) -> tuple[Reading, ...]:
    return run(*((place, width) for place in places))


LEG = (0, 40, 80)
# With the gaps of 1/4 and a sheet 3/4 thick the inside corners are at 1 and 37.
HEAD = (1, 19, 37)


def opening(
    left: Iterable[Reading], right: Iterable[Reading], head: Iterable[Reading], **changes: Any
) -> Opening:
    """36 clear in a sheet 3/4 thick, 80 under the head on both sides, nothing proud, head over legs."""
    fields: dict[str, Any] = {
        "name": "Kiln room",
        "material": ("poplar",),
        "joint": "head over legs",
        "straight": "A",
        "line": line("40", "40", "40"),
        "width": width("38"),
        "gap": gap("1/4", "1/4", "1/4"),
        "proud": proud("0", "1/8"),
        "wall": Wall(left=tuple(left), right=tuple(right), head=tuple(head)),
    }
    return Opening(**(fields | changes))


def plain(**changes: Any) -> Opening:
    """A wall 9 thick everywhere."""
    return opening(flat("9", *LEG), flat("9", *LEG), flat("9", *HEAD), **changes)


def line(left: str, right: str, up: str) -> Line:
    return Line(left=inch(left), right=inch(right), up=inch(up))


def height(left: str, right: str) -> Height:
    return Height(left=inch(left), right=inch(right))


def width(low: str, middle: str | None = None, high: str | None = None) -> Width:
    return Width(low=inch(low), middle=inch(middle or low), high=inch(high or low))


def gap(left: str, right: str, top: str) -> Gap:
    return Gap(left=inch(left), right=inch(right), top=inch(top))


def proud(least: str, most: str) -> Proud:
    return Proud(least=inch(least), most=inch(most))


def band(edges: str, thickness: str, deduct: bool) -> Band:
    return Band(edges=tuple(edges), thickness=inch(thickness), deduct=deduct)


def fit(wall: Opening, material: Material = THREE_QUARTERS, step: int = STEP) -> Fit:
    return fit_opening(wall, material, step, Units.INCH)


def part(found: Fit, role: str) -> Part:
    return next(part for part in found.parts if part.role == role)


def widths(found: Fit, role: str) -> tuple[int, int]:
    """Widths at the lower and upper, or left and right, end, whichever way round the part is."""
    piece = part(found, role)
    ends = piece.width_start, piece.width_end
    return ends if piece.marks["start"] in ("floor", "left") else ends[::-1]


def lengths(found: Fit) -> tuple[int, ...]:
    """Left leg, right leg, head."""
    return tuple(part.length for part in found.parts)
