"""How thick a wall is, and how high, wide and true its opening: the tape's part of the job file."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    RootModel,
    ValidationInfo,
    field_validator,
    model_validator,
)

from nesting.job.fields import Context, Length, LengthOrZero, Name, Offset, near
from nesting.job.outline import Row, Table


class Record(BaseModel):
    """Base: frozen, unknown keys refused."""

    model_config = ConfigDict(frozen=True, extra="forbid")


def needed(how: str) -> Any:
    """A key that must be there; ``how`` says what to write."""
    return Field(description=how)


class Reading(Record):
    """One station: where, and the wall there.

    ``at`` is the height above the finished floor (legs) or the distance from the framing on the left
    (head); of a window both from the inside edge of its frame, below 0 past it. Either ``thickness`` is
    given, or both offsets off one plumb plane, ``face_a`` towards room A and ``face_b`` towards room B
    (negative allowed); then thickness is their sum.
    """

    at: LengthOrZero
    face_a: Offset | None = None
    face_b: Offset | None = None
    thickness: Length = Field(default=None, validate_default=True)

    @model_validator(mode="before")
    @classmethod
    def _station(cls, value: Any) -> Any:
        if isinstance(value, Row) and len(value) in (2, 3):
            keys = ("at", "thickness") if len(value) == 2 else ("at", "face_a", "face_b")
            return dict(zip(keys, value, strict=True))
        if isinstance(value, (str, Row, Table)):
            raise ValueError("a station is written [where, thickness] or [where, face A, face B]")
        return value

    @field_validator("thickness", mode="before")
    @classmethod
    def _sum(cls, value: Any, info: ValidationInfo) -> Any:
        if value is not None:
            return value
        face_a, face_b = info.data.get("face_a"), info.data.get("face_b")
        if face_a is None or face_b is None:
            return 1  # a face was at fault, and has been reported
        if face_a + face_b <= 0:
            raise ValueError("the two faces together must be more than 0: they are the wall's thickness")
        return face_a + face_b


class Wall(Record):
    """The readings of the runs, all with both faces or none; a window has a fourth, along its sill."""

    left: tuple[Reading, ...] = needed("two stations or more, like [[2, 12 3/4], [81, 13]]")
    right: tuple[Reading, ...] = needed("two stations or more, like [[2, 12 3/4], [81, 13]]")
    head: tuple[Reading, ...] = needed("two stations or more, like [[0, 13], [37, 13]]")
    sill: tuple[Reading, ...] = ()

    @field_validator("left", "right", "head", "sill")
    @classmethod
    def _two_places(cls, run: tuple[Reading, ...], info: ValidationInfo) -> tuple[Reading, ...]:
        if info.context and len({reading.at for reading in run}) < 2:
            raise ValueError("needs readings at two places at least")
        known = [reading for other in info.data.values() for reading in other]
        if info.context and len({reading.face_a is None for reading in (*known, *run)}) > 1:
            raise ValueError("both faces at every station of an opening, off one plumb plane, or the "
                             "thickness alone at every one")
        return run


class Height(Record):
    """Finished floor to the framing, on each side; of a window, from sill to head inside its frame."""

    left: Length = needed("on the left: floor to framing, or inside the window's frame")
    right: Length = needed("on the right: floor to framing, or inside the window's frame")


class Up(RootModel[LengthOrZero]):
    """From one of the job's level lines up to the underside of all heads on it."""


class Line(Record):
    """From a level line down to the floor on each side, and up to the head's underside.

    ``name`` is that of a line which several openings share; it says how far up, unless ``up`` does.
    ``framing`` is the distance from the line up to the framing, where that is lowest; None if not measured.
    """

    name: Name | None = None
    left: Length = needed("from the line down to the floor, on the left")
    right: Length = needed("from the line down to the floor, on the right")
    up: LengthOrZero = Field(default=None, validate_default=True)
    framing: Length | None = None

    @field_validator("name")
    @classmethod
    def _known(cls, name: str | None, info: ValidationInfo) -> str | None:
        context: Context | None = info.context
        if name is None or context is None or name in context.lines:
            return name
        if not context.lines:
            raise ValueError(f"the job has no lines; write at its top, like lines: {{{name}: 43}}, how far "
                             "above it the heads' undersides are")
        raise ValueError(f"is none of the job's lines{near(name, context.lines)}")

    @field_validator("up", mode="before")
    @classmethod
    def _shared(cls, up: Any, info: ValidationInfo) -> Any:
        context: Context | None = info.context
        if up is not None:
            return up
        name = info.data.get("name", "")
        if context and name is None:
            raise ValueError("is missing (from the line up to the head's underside)")
        return (context.lines.get(name) if context else None) or 0


class Width(Record):
    """Clear width of the framing, or inside a window's frame, at three levels."""

    low: Length = needed("the width of the framing near the floor")
    middle: Length = needed("the width of the framing half way up")
    high: Length = needed("the width of the framing near the head")


class Stud(Record):
    """How far a stud's face stands outward of the plumb line on its side, at a height above the floor."""

    at: LengthOrZero
    off: Offset

    @model_validator(mode="before")
    @classmethod
    def _station(cls, value: Any) -> Any:
        if isinstance(value, Row) and len(value) == 2:
            return {"at": value[0], "off": value[1]}
        if isinstance(value, (str, Row, Table)):
            raise ValueError("a station of the framing is written [height, plumb line out to the stud]")
        return value


class Framing(Record):
    """How the studs lean along the wall: off one plumb line on each side, outward positive.

    ``apart`` is the distance between the two plumb lines; None where the widths have to say it.
    """

    left: tuple[Stud, ...] = needed("two stations or more, like [[2, 1], [81, 1 1/4]]")
    right: tuple[Stud, ...] = needed("two stations or more, like [[2, 1], [81, 1 1/4]]")
    apart: Length | None = None

    @field_validator("left", "right")
    @classmethod
    def _two_places(cls, run: tuple[Stud, ...], info: ValidationInfo) -> tuple[Stud, ...]:
        if info.context and len({stud.at for stud in run}) < 2:
            raise ValueError("needs readings at two heights at least")
        return run


class Floor(Record):
    """By how much the floor falls: through the wall from room A to room B at each leg, and along it.

    Below 0 it rises. ``along`` is from the left foot to the right one; None where it is not measured.
    """

    left: Offset = 0
    right: Offset = 0
    along: Offset | None = None


class Feet(Record):
    """How far each leg is held up off the floor that is there, for one that comes later."""

    left: LengthOrZero = 0
    right: LengthOrZero = 0


def _two(value: Any) -> Any:
    if isinstance(value, (str, Table)) or (isinstance(value, Row) and len(value) != 2):
        raise ValueError("is two lengths in brackets")
    return value


Pair = Annotated[tuple[Offset, Offset], BeforeValidator(_two)]
Diagonals = Annotated[tuple[Length, Length], BeforeValidator(_two)]


class Corners(Record):
    """Room A's face off one flat plane at each side's foot and under the head; towards room A positive."""

    left: Pair = needed("at the foot and under the head on the left, like [0, 1/8]")
    right: Pair = needed("at the foot and under the head on the right, like [0, 0]")
