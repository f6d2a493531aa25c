"""The job as the file gives it, in inner units; the README lists the keys.

Each field's text is converted by the validators of :mod:`nesting.job.fields`; the units of bare
numbers come with the validation context. What is left out has its default filled in here or, where
it depends on the units, by :mod:`nesting.job.reading`.
"""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict


class Record(BaseModel):
    """Base: frozen, unknown keys refused."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Reading(Record):
    """One station: where, and the wall there.

    ``at`` is the height above the finished floor (legs) or the distance from the framing on the left
    (head). Either ``thickness`` is given, or both offsets off one plumb plane, ``face_a`` towards
    room A and ``face_b`` towards room B (negative allowed); then thickness is their sum.
    """

    at: int
    thickness: int
    face_a: int | None = None
    face_b: int | None = None


class Wall(Record):
    """The readings of the three runs."""

    left: tuple[Reading, ...]
    right: tuple[Reading, ...]
    head: tuple[Reading, ...]


class Height(Record):
    """Finished floor to the framing, on each side."""

    left: int
    right: int


class Line(Record):
    """From a level line down to the floor on each side, and up to the head's underside."""

    left: int
    right: int
    up: int


class Width(Record):
    """Clear width of the framing at three levels."""

    low: int
    middle: int
    high: int


class Gap(Record):
    """Shim space."""

    left: int
    right: int
    top: int


class Proud(Record):
    """Beyond the wall, both faces together."""

    least: int
    most: int


class Band(Record):
    """Edge banding: on the edges towards which rooms, how thick, and whether it is deducted."""

    edges: tuple[Literal["A", "B"], ...]
    thickness: int
    deduct: bool = False


class Opening(Record):
    """One cased opening. Exactly one of ``height`` and ``line`` is given."""

    name: str
    material: tuple[str, ...]
    joint: Literal["head over legs", "head between legs", "rabbet"]
    rabbet: int = 0
    straight: Literal["A", "B"]
    height: Height | None = None
    line: Line | None = None
    width: Width
    gap: Gap
    proud: Proud
    band: Band | None = None
    wall: Wall


class LoosePart(Record):
    """A part that is given by its size; ``count`` of them."""

    name: str
    material: str
    length: int
    width_start: int
    width_end: int
    count: int
    grain: Literal["length", "across", "any"]


class Keep(Record):
    """The least offcut worth keeping, and hundredths of money for a square foot (m²) of it."""

    length: int
    width: int
    credit: int = 0
