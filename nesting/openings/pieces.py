"""From cut edges to parts: which way round a piece is, its shape, and what is pencilled on it.

Unfold the three pieces flat around the head with their show faces towards you. With room A's edge below
the right leg then runs from its foot to its top, the head from right to left, the left leg from top
to foot; with room B's edge below all three run the other way. A window's sill folds down below the feet:
with room A's edge below it runs from left to right, with the edge on the window (B) from right to left.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from nesting.job.models import Opening
from nesting.openings.faces import FaceName
from nesting.openings.frame import Piece, Role
from nesting.openings.rounding import Ends
from nesting.parts import Part
from nesting.stock import Material

OTHER: dict[FaceName, FaceName] = {"A": "B", "B": "A"}
Spot = tuple[Fraction, Fraction]
LEG_ENDS = ("floor", "TOP")
HEAD_ENDS = ("left", "right")


def make_part(
    number: int, opening: Opening, material: Material, piece: Piece, straight: Ends, far: Ends
) -> Part:
    """The part in its standard form.

    Parameters
    ----------
    straight, far : tuple of int
        Each edge's offset, towards its own room, at the lower or left and the upper or right end.
    """
    ends = LEG_ENDS if piece.role != "head" else HEAD_ENDS
    feet = (0, -piece.fall) if opening.straight == "A" else (-piece.fall, 0)
    below = _spots(piece.length, tuple(-offset for offset in straight), feet[0])
    above = _spots(piece.length, far, feet[1])
    if runs_back(piece.role, opening.straight):
        ends = ends[::-1]
        below, above = ([(piece.length - x, y) for x, y in spots[::-1]] for spots in (below, above))
    shape = Shape.between(below, above)
    edges = {opening.straight: "straight", OTHER[opening.straight]: "far"}
    banded = opening.band.edges if opening.band else ()
    return Part(
        number=number,
        id=f"{opening.name} {piece.role}",
        material=material.name,
        thickness=material.thickness,
        length=shape.length,
        width_start=shape.width_start,
        width_end=shape.width_end,
        skew_start=shape.skew_start,
        skew_end=shape.skew_end,
        grain="length" if material.grain else "any",
        may_flip=material.both_faces,
        opening=opening.name,
        role=piece.role,
        band=tuple(edge for room, edge in edges.items() if room in banded),
        band_thickness=opening.band.thickness if opening.band else 0,
        marks={"start": ends[0], "end": ends[1]}
        | {edge: f"room {room}" for room, edge in edges.items()},
    )


def runs_back(role: Role, straight: str) -> bool:
    """Whether the standard form starts at the piece's upper or right end."""
    return (straight == "A") != (role in ("right leg", "sill"))


@dataclass(frozen=True, slots=True)
class Shape:
    """Length along the straight edge, widths square to it at its ends, and the far edge's skews."""

    length: int
    width_start: int
    width_end: int
    skew_start: int
    skew_end: int

    @classmethod
    def between(cls, straight: Sequence[Spot], far: Sequence[Spot]) -> Shape:
        """The piece between two edges, each given by its start and its end: x plumb, y towards the far edge.

        Turned so that the straight edge lies along x, a corner's distance from that edge is the cross
        product with its direction, and its place along it the inner product. With ends square to plumb and
        a straight edge that leans by d over the length l, a level width w so becomes w l / L square to
        it and w d / L along it, where L² = l² + d². Each is the nearest whole unit, the roots by
        whole-number arithmetic.
        """
        (x0, y0), (x1, y1) = straight
        dx, dy = x1 - x0, y1 - y0
        square = dx**2 + dy**2
        offs = [(x - a, y - b) for (x, y), (a, b) in zip(far, straight, strict=True)]
        across = [_over_root(dx * y - dy * x, square) for x, y in offs]
        along = [_over_root(dx * x + dy * y, square) for x, y in offs]
        return cls(_over_root(square, square), across[0], across[1], along[0], along[1])


def _spots(length: int, offsets: Sequence[int], foot: int) -> list[Spot]:
    """An edge's two ends; its lower one carried on to where the foot is cut."""
    first, last = offsets
    lower = first + (last - first) * Fraction(foot, length)
    return [(Fraction(foot), lower), (Fraction(length), Fraction(last))]


def _over_root(value: Fraction, square: Fraction) -> int:
    """The whole number nearest to ``value / sqrt(square)``."""
    twice = math.isqrt(math.floor(4 * value**2 / square))
    return (twice + 1) // 2 * (1 if value >= 0 else -1)
