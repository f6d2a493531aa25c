"""A window's pieces in space: each leans outward on its way into the room, and is cut out of a flat sheet.

Looked at from the room, x runs to the right, y up, and z (the depth) from the window's frame towards the
viewer. The frame's inside edge has a corner O and runs on from there along the unit vector e; n is the unit
vector square to it, away from the opening. A piece stands the reveal r back and leans by the slope k, its
run over its depth (the tangent of the splay θ), so its show face is the plane

    X = O + s e + (r + k z) n        s the place along the run, z the depth

and on that face the distance from the window's frame, square to it, is u = z / cos θ. A neighbour (with a
dash) whose face is taken back by P, measured square to it, cuts the show face where

    n' · (X - O') = r + P / cos θ' + k' z

which is linear in s and z, so the end of a piece is the straight line ``s = base + carry z`` (:class:`Line`).
With the pieces square to each other the carry is k' at an upper or right end and -k' at the others: on the
face the end runs off square by k' cos θ. Of 45 degrees both, that is 35.26 degrees.

**Thickness.** The back of a piece lies t behind its show face, and so t sin θ less deep at the same u. To
lie on the frame and along the wall with its whole thickness both long edges are bevelled by θ: the show
face keeps the line on the window's frame, the back keeps the one along the wall. The piece is first cut
square to what holds both, so at the wall it is cut for a depth greater by t sin θ (its *lift*), which is
t tan θ more in width. The ends are bevelled by β, sin β = N · N' with the unit vectors N = (n, -k) cos θ
square to the faces: sin θ sin θ' for pieces square to each other, 30 degrees for 45 and 45. There the show
face keeps the line, as long as the two lean outward.

All numbers are quotients of whole ones; a square root has 15 figures, a slope that was given in degrees ten.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from nesting.job.models import Opening
from nesting.lengths import to_step
from nesting.openings.frame import Edge, Role

Vector = tuple[Fraction, Fraction]
FIGURES = 10**15
# A smaller bevel is neither said nor counted: on a sheet an inch thick it makes 0.004 inch.
LEAST_BEVEL = 0.25
WINDOW: tuple[Role, ...] = ("left leg", "right leg", "head", "sill")
# The neighbours at a piece's lower or left, and at its upper or right end.
NEIGHBOURS: dict[Role, tuple[Role, Role]] = {
    "left leg": ("sill", "head"),
    "right leg": ("sill", "head"),
    "head": ("left leg", "right leg"),
    "sill": ("left leg", "right leg"),
}


class NeverClosesError(ArithmeticError):
    """The edges along the wall do not make a closed line in front of the window."""

    def __init__(self, why: str = "") -> None:
        super().__init__(
            why or "its depth changes so fast along a run that pieces with this splay do not meet; check the "
            "readings, or take one nearer each corner"
        )


@dataclass(frozen=True, slots=True)
class Line:
    """An end on the show face: its place along the run at the window's frame, and further in depth."""

    base: Fraction
    carry: Fraction

    def at(self, depth: Fraction | int) -> Fraction:
        """Place at a depth."""
        return self.base + self.carry * depth

    def meets(self, edge: Edge, deeper: Fraction | int = 0) -> Fraction:
        """Depth at which an edge (depth by place), carried on and taken ``deeper``, crosses the line.

        Raises
        ------
        NeverClosesError
            If it does not, or only behind the window's frame.
        """
        share = 1 - edge.slope * self.carry
        if share <= 0:
            raise NeverClosesError
        return (edge.at(self.base) + deeper) / share


@dataclass(frozen=True, slots=True)
class Plane:
    """A show face: see the module for the letters; ``secant`` is 1 / cos θ."""

    origin: Vector
    along: Vector
    out: Vector
    slope: Fraction
    secant: Fraction

    @property
    def sine(self) -> Fraction:
        """Of the splay."""
        return self.slope / self.secant

    @property
    def degrees(self) -> float:
        """The splay."""
        return math.degrees(math.atan(self.slope))

    def cut_by(self, other: Plane, reveal: int, past: int) -> Line:
        """The line in which a neighbour's face, taken back by ``past``, cuts this one."""
        forward, aside = dot(other.out, self.along), dot(other.out, self.out)
        apart = dot(other.out, minus(self.origin, other.origin))
        base = reveal + past * other.secant - apart - reveal * aside
        return Line(base / forward, (other.slope - self.slope * aside) / forward)

    def bevel(self, other: Plane) -> float:
        """Degrees off square at an end that a neighbour's face cuts; above 0: the back is undercut."""
        square = (dot(self.out, other.out) + self.slope * other.slope) / (self.secant * other.secant)
        return math.degrees(math.asin(square))


@dataclass(frozen=True, slots=True)
class Leaning:
    """A piece as it stands.

    Attributes
    ----------
    length : int
        Of the edge on the window's frame, rounded to the step.
    joints, ends : tuple of Line
        Where the neighbours' show faces cut its own (lower or left, upper or right), and where it ends:
        the ends lie so that what its length was rounded by falls to both alike.
    bevels : tuple of float
        Degrees at the two ends.
    lift : Fraction
        By how much more depth it is cut square, so that both bevels of its long edges lie in it.
    """

    role: Role
    plane: Plane
    length: int
    joints: tuple[Line, Line]
    ends: tuple[Line, Line]
    bevels: tuple[float, float]
    lift: Fraction

    def width(self, depth: Fraction, step: int) -> int:
        """Width on the show face for a depth, a whole step, up."""
        return to_step(depth * self.plane.secant, step, "up")

    def edge(self, widths: tuple[int, int] | list[int], out: int = 0) -> Edge:
        """The edge along the wall (depth by place) of a piece as cut, moved out by a band."""
        low, high = (Fraction(width) / self.plane.secant for width in widths)
        off = out - self.lift
        return Edge.through(self.ends[0].at(low), low + off, self.ends[1].at(high), high + off)


def lean(opening: Opening, thickness: int, step: int) -> dict[Role, Leaning]:
    """The four pieces of a window, by the table of joints (t thickness, r rabbet, R reveal).

    W is the greatest width inside the window's frame, so that no reveal is less than asked for, H its
    height on that side; all lengths are those at the window's frame, where the pieces stand on it:

    ================= =========== ===========
    joint             leg         head, sill
    ================= =========== ===========
    head over legs    H + 2R      W + 2R + 2t
    head between legs H + 2R + 2t W + 2R
    rabbet            H + 2R + 2t W + 2R + 2r
    ================= =========== ===========

    (Legs that lean make t and r longer along a head by 1 / cos θ, and the other way round.)
    """
    planes = _planes(opening)
    past = {"head over legs": (0, thickness), "head between legs": (thickness, 0)}
    of_leg, of_head = past.get(opening.joint, (thickness, opening.rabbet))
    pieces = {}
    for role, plane in planes.items():
        beside = [planes[name] for name in NEIGHBOURS[role]]
        off = of_head if role in ("head", "sill") else of_leg
        joints = tuple(plane.cut_by(other, opening.reveal, 0) for other in beside)
        bevels = tuple(plane.bevel(other) for other in beside)
        ends = [plane.cut_by(other, opening.reveal, off) for other in beside]
        first, last = (
            _outward(line, way, bevel, thickness * other.secant)
            for line, way, bevel, other in zip(ends, (-1, 1), bevels, beside, strict=True)
        )
        length = to_step(last.base - first.base, step)
        spare = (length - (last.base - first.base)) / 2
        pieces[role] = Leaning(
            role=role,
            plane=plane,
            length=length,
            joints=(joints[0], joints[1]),
            ends=(Line(first.base - spare, first.carry), Line(last.base + spare, last.carry)),
            bevels=(bevels[0], bevels[1]),
            lift=thickness * plane.sine,
        )
    return pieces


def _outward(line: Line, way: int, bevel: float, across: Fraction) -> Line:
    """An end moved out where its back keeps the line and reaches further than the show face."""
    if bevel > -LEAST_BEVEL:
        return line
    reach = across * Fraction(round(-math.sin(math.radians(bevel)) * FIGURES), FIGURES)
    return Line(line.base + way * reach, line.carry)


def _planes(opening: Opening) -> dict[Role, Plane]:
    if opening.height is None:
        raise ValueError(f"{opening.name}: the window's height is not given")
    wide, splay = window_width(opening), opening.splay
    left, right = opening.height.left, opening.height.right
    rise = Fraction(right - left, wide)
    long = root(1 + rise**2)
    zero, one = Fraction(0), Fraction(1)
    return {
        "left leg": _plane((zero, zero), (zero, one), (-one, zero), splay.left),
        "right leg": _plane((Fraction(wide), zero), (zero, one), (one, zero), splay.right),
        "head": _plane((zero, Fraction(left)), (1 / long, rise / long), (-rise / long, 1 / long), splay.head),
        "sill": _plane((zero, zero), (one, zero), (zero, -one), splay.sill),
    }


def _plane(origin: Vector, along: Vector, out: Vector, slope: Fraction) -> Plane:
    return Plane(origin, along, out, slope, root(1 + slope**2))


def splay_degrees(opening: Opening) -> dict[str, float]:
    """Degrees by which each side of a window leans outward; empty where none does."""
    slopes = {side: getattr(opening.splay, side) for side in ("left", "right", "head", "sill")}
    if opening.kind != "window" or not any(slopes.values()):
        return {}
    return {side: round(math.degrees(math.atan(slope)), 2) for side, slope in slopes.items()}


def window_width(opening: Opening) -> int:
    """The greatest width inside the window's frame."""
    return max(opening.width.low, opening.width.middle, opening.width.high)


def root(square: Fraction) -> Fraction:
    """The square root, exact where it can be, else with 15 figures behind the point, up."""
    over, under = math.isqrt(square.numerator), math.isqrt(square.denominator)
    if over**2 == square.numerator and under**2 == square.denominator:
        return Fraction(over, under)
    return Fraction(math.isqrt(math.ceil(square * FIGURES**2) - 1) + 1, FIGURES)


def dot(a: Vector, b: Vector) -> Fraction:
    """Inner product."""
    return a[0] * b[0] + a[1] * b[1]


def minus(a: Vector, b: Vector) -> Vector:
    """Difference of two vectors."""
    return a[0] - b[0], a[1] - b[1]
