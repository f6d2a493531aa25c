"""The frame in its opening: clear width, heights, and how long each piece is by its joint.

Places along a leg are heights above the finished floor on its side; along the head they are distances
from the framing on the left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from nesting.job.models import Opening
from nesting.lengths import to_step
from nesting.openings.studs import SIDES, Side, between, outward

Role = Literal["left leg", "right leg", "head", "sill"]
ROLES: tuple[Role, ...] = ("left leg", "right leg", "head")
LEG: dict[Side, Role] = {"left": "left leg", "right": "right leg"}


@dataclass(frozen=True, slots=True)
class Edge:
    """A straight edge over its run: its offset at the place ``start``, and its slope."""

    start: Fraction
    offset: Fraction
    slope: Fraction

    @classmethod
    def through(cls, start: Fraction, first: Fraction, end: Fraction, last: Fraction) -> Edge:
        """The edge with the offset ``first`` at ``start`` and ``last`` at ``end``."""
        return cls(start, first, (last - first) / (end - start))

    def at(self, place: Fraction | int) -> Fraction:
        """Offset at a place, the line carried on where that lies past an end."""
        return self.offset + self.slope * (place - self.start)


@dataclass(frozen=True, slots=True)
class Piece:
    """Where a piece lies along its run.

    Attributes
    ----------
    length : int
        Rounded to the step.
    start : Fraction
        Place of its lower or left end. A leg stands on the floor, or is held up off it; the head hangs
        in the middle between the joints, so that what its length was rounded by falls to both sides alike.
    joints : tuple of int
        A leg's foot and the height of the head's underside; the inner faces of the two legs.
    fall : int
        By how much the floor under a leg falls from room A to room B. Its place is that at room A.
    """

    role: Role
    length: int
    start: Fraction
    joints: tuple[int, int]
    fall: int = 0

    @property
    def end(self) -> Fraction:
        """Place of its upper or right end."""
        return self.start + self.length


@dataclass(frozen=True, slots=True)
class Frame:
    """Clear width between the legs, height under the head on each side, and the three pieces."""

    clear_width: int
    height: dict[Side, int]
    pieces: dict[Role, Piece]


def make_frame(opening: Opening, thickness: int, step: int) -> Frame:
    """Lengths and joints of the three pieces, by the table of joints (t thickness, r rabbet, h horn):

    ================= ========= ========
    joint             leg       head
    ================= ========= ========
    head over legs    H         W + 2t
    head between legs H + t + h W
    rabbet            H + t + h W + 2r
    ================= ========= ========

    A head that follows framing out of level is measured along its slope (2 inches over 36 make a length of
    36 longer by 1/18). What the feet are held up is taken off the legs. Where the studs lean, the framing at
    the head's height, from which its readings are taken, is further out than where the frame is pinched.
    """
    clear = clear_width(opening, thickness)
    height = heights(opening, thickness)
    inside = opening.gap.left + thickness + outward(opening, "left", height["left"])
    top = 0 if opening.joint == "head over legs" else thickness + horn(opening)
    past = {"head over legs": thickness, "rabbet": opening.rabbet}.get(opening.joint, 0)
    legs = [
        Piece(
            role=LEG[side],
            length=_cut(height[side] + top - foot, step, _legs_pressed(opening)),
            start=Fraction(foot),
            joints=(foot, height[side]),
            fall=getattr(opening.floor, side),
        )
        for side in SIDES
        for foot in [getattr(opening.feet, side)]
    ]
    out = rise(opening)
    slanted = math.isqrt((clear + 2 * past) ** 2 * (clear**2 + out**2) // clear**2)
    length = _cut(slanted, step, _head_pressed(opening))
    start = inside + Fraction(clear - length, 2)
    head = Piece("head", length, start, (inside, inside + clear))
    return Frame(clear, height, {piece.role: piece for piece in (*legs, head)})


def clear_width(opening: Opening, thickness: int) -> int:
    """What the studs leave for a plumb frame, less both gaps less two thicknesses."""
    return between(opening).width - opening.gap.left - opening.gap.right - 2 * thickness


def heights(opening: Opening, thickness: int) -> dict[Side, int]:
    """Floor to the head's underside on each side.

    Under the framing the gap, the horns and the head's thickness are taken off, so that the horns end
    the gap below it; a level line says where the underside itself comes, and nothing is taken off. A head
    that is to be level under the framing goes by the side where that is lower, and has a wider gap on the
    other; the floor is then level, or the right foot lower by its fall along the wall.
    """
    if opening.height:
        lost = opening.gap.top + rises(opening, thickness)
        left, right = opening.height.left - lost, opening.height.right - lost
        if opening.head == "level":
            fall = opening.floor.along or 0
            left = min(left, right - fall)
            right = left + fall
        return {"left": left, "right": right}
    if opening.line:
        up = opening.line.up
        return {"left": opening.line.left + up, "right": opening.line.right + up}
    raise ValueError(f"{opening.name}: neither height nor line is given")


def rises(opening: Opening, thickness: int) -> int:
    """How far the frame reaches above the head's underside."""
    return thickness + horn(opening)


def horn(opening: Opening) -> int:
    """How far the legs run on above the head's upper face."""
    return 0 if opening.joint == "head over legs" else opening.horn


def rise(opening: Opening) -> int:
    """By how much a head that follows the framing is higher on the right, the floor level unless measured."""
    if not opening.height or opening.head == "level":
        return 0
    return opening.height.right - (opening.floor.along or 0) - opening.height.left


def _legs_pressed(opening: Opening) -> bool:
    return opening.height is not None and opening.gap.top == 0


def _head_pressed(opening: Opening) -> bool:
    # A rabbeted head lies between the bottoms of the legs' rabbets.
    return opening.joint != "head over legs" or min(opening.gap.left, opening.gap.right) == 0


def _cut(length: int, step: int, pressed: bool) -> int:
    return to_step(length, step, "down" if pressed else "nearest")
