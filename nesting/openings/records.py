"""What comes out of a measured opening; all lengths in inner units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from nesting.openings.faces import FaceName
from nesting.openings.frame import Role
from nesting.openings.studs import GapStation, Side
from nesting.parts import Part

TwistBy = Literal["corners", "strings", "faces"]


@dataclass(frozen=True, slots=True)
class Station:
    """One reading: the wall there, the finished piece, and how proud that stands.

    ``face`` says which face where both are measured; ``wall`` and ``piece`` are then offsets off the
    plumb plane towards that room, else thickness and width.
    """

    at: int
    wall: int
    piece: int
    proud: int
    face: FaceName | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """The stations of one piece; ``over`` says that the worst is above what the job allows.

    ``saves`` is what an edge scribed to the readings would stand proud less at the worst station, at most;
    ``saves_area`` twice the area between the two edges. ``todo`` says how a piece that is over is dealt
    with.
    """

    role: Role
    stations: tuple[Station, ...]
    worst: int
    over: bool
    saves: int = 0
    saves_area: int = 0
    todo: str = ""


@dataclass(frozen=True, slots=True)
class Twist:
    """How far one corner of a face is off the plane of the other three, by what it is known.

    Above 0 the left side leans more towards that face's room at its top; by ``strings`` the sign is not
    known. ``head`` is by how much the head winds over its width.
    """

    by: TwistBy
    face: FaceName
    off: int
    head: int


@dataclass(frozen=True, slots=True)
class Fit:
    """A fitted opening in one material.

    Attributes
    ----------
    parts : tuple of Part
        Left leg, right leg, head and a window's sill, numbered from 1 for want of better.
    runs : tuple of Run
        How proud each piece stands, in the same order.
    clear_width : int
        Between the legs.
    height : dict
        Finished floor to the head's underside, ``left`` and ``right``; of a window from sill to head.
    corners : dict
        Finished width of ``leg`` and ``head`` on the joint line, ``left`` and ``right``; of a window
        how deep they reach there, and ``leg`` and ``sill`` too, ``lower left`` and ``lower right``.
    warnings, notes : tuple of str
        What to act on before cutting, and what to know.
    gaps : dict
        Where the studs are measured: height and shim space at each reading of a side.
    twist : tuple of Twist
        What is known of the four corners of a face.
    """

    parts: tuple[Part, ...]
    runs: tuple[Run, ...]
    clear_width: int
    height: dict[Side, int]
    corners: Mapping[str, dict[str, int]]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]
    gaps: Mapping[Side, tuple[GapStation, ...]] = field(default_factory=dict)
    twist: tuple[Twist, ...] = ()
