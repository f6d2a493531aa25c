"""What a plan records of the job and of the fitted openings, and the numbers that all of it is written in.

Inside, lengths are whole inner units and areas whole half square inner units (``twice_area``); in the
file both are numbers in the plan's units. Unknown keys are ignored, as the format asks of a reader.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    SerializationInfo,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
)

from nesting import lengths

LARGEST_LENGTH = 10**12  # inner units: two miles, far beyond any sheet; keeps floats from overflowing


def _whole(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or value != value // 1:
        raise ValueError("inner units are whole numbers")
    return int(value)


def _length_in(value: Any, info: ValidationInfo) -> int:
    if not info.context:
        return _whole(value)
    if isinstance(value, bool) or not isinstance(value, (int, float)) or abs(value) > 1e7:
        raise ValueError("a length is a number")
    return lengths.from_number(value, info.context["units"])


def _length_out(value: int, info: SerializationInfo) -> Any:
    return lengths.to_number(value, info.context["units"]) if info.context else value


def _area_in(value: Any, info: ValidationInfo) -> int:
    if not info.context:
        return _whole(value)
    if isinstance(value, bool) or not isinstance(value, (int, float)) or abs(value) > 1e12:
        raise ValueError("an area is a number")
    return lengths.area_from_number(value, info.context["units"])


def _area_out(value: int, info: SerializationInfo) -> Any:
    return lengths.area_to_number(value, info.context["units"]) if info.context else value


def step_or_usual(value: Any, read: ValidatorFunctionWrapHandler, info: ValidationInfo) -> int:
    """What the tape is read to; the job file's own default where it is left out, or 0."""
    if value:
        return int(read(value))
    return lengths.INCH // 32 if info.data.get("units") is lengths.Units.INCH else lengths.MM // 2


def _within(limit: int) -> Any:
    return Field(ge=-limit, le=limit)


Len = Annotated[
    int, BeforeValidator(_length_in), PlainSerializer(_length_out), _within(LARGEST_LENGTH)
]
TwiceArea = Annotated[
    int, BeforeValidator(_area_in), PlainSerializer(_area_out), _within(LARGEST_LENGTH**2)
]
Number = Annotated[int, _within(10**9)]
Pt = tuple[Len, Len]
Corners = tuple[Pt, Pt, Pt, Pt]
Edge = Literal["straight", "far", "start", "end"]
SheetEdge = Literal["left", "right", "lower", "upper"]


class Record(BaseModel):
    """Base: frozen, unknown keys ignored, ``inf`` and ``nan`` refused."""

    model_config = ConfigDict(frozen=True, extra="ignore", allow_inf_nan=False)


class Program(Record):
    """What made the plan."""

    version: str
    seed: int
    seconds: float
    job_sha256: str


class SawRecord(Record):
    """The saw and its rails, as the job gave them."""

    kerf: Len
    rails: tuple[Len, ...]
    join: bool
    lead_in: Len
    lead_out: Len
    face_up: Literal["show", "back"]


class TrimRecord(Record):
    """What is lost at each factory edge, kerf included."""

    left: Len = 0
    right: Len = 0
    lower: Len = 0
    upper: Len = 0


class KeepRecord(Record):
    """The least offcut worth keeping; ``credit`` in money for a square foot, or square metre."""

    length: Len
    width: Len
    credit: float = 0


class StockRecord(Record):
    """One size that was offered; ``weight`` of a whole one in pounds or kilograms, if known.

    ``board`` is a board's nominal size, ``1x12``; empty for a sheet. ``blocked`` are the rings of zones that
    nothing may take, ``play`` is by how much each may be shorter and narrower.
    """

    name: str
    material: str
    length: Len
    width: Len
    thickness: Len
    price: float
    count: Number | None = None
    trim: TrimRecord = TrimRecord()
    in_shop: bool = False
    weight: float | None = None
    grain: bool = True
    board: str = ""
    blocked: tuple[tuple[Pt, ...], ...] = ()
    play: Len = 0


class StationRecord(Record):
    """One reading: the wall there, the piece, and how proud the piece stands (all finished sizes).

    ``at`` is the height above the floor or the distance from the framing on the left. With two
    measured faces ``face`` says which one (``A`` or ``B``); else it is null and wall is a thickness.
    """

    at: Len
    wall: Len
    piece: Len
    proud: Len
    face: Literal["A", "B"] | None = None


class RunRecord(Record):
    """The stations of one piece of an opening; ``over`` says that the worst is above the limit.

    ``saves`` is by how much less an edge scribed to the readings would stand proud at the worst station,
    ``saves_area`` the area between the two; ``todo`` says what to do with a piece that is over.
    """

    role: Literal["left leg", "right leg", "head", "sill"]
    stations: tuple[StationRecord, ...]
    worst: Len
    over: bool
    saves: Len = 0
    saves_area: TwiceArea = 0
    todo: str = ""


class LineRecord(Record):
    """The level line that an opening was measured from, and how far above it the head's underside is."""

    name: str | None = None
    up: Len


class GapRecord(Record):
    """The shim space beside a leg, at a height above the floor."""

    at: Len
    gap: Len


class TwistRecord(Record):
    """How far one corner of a face is off the plane of the other three; see :mod:`nesting.openings.plane`.

    ``head`` is by how much the head winds over its width.
    """

    by: Literal["corners", "strings", "faces"]
    face: Literal["A", "B"]
    off: Len
    head: Len = 0


class ChoiceRecord(Record):
    """A material that an opening may be of, and what the whole job comes to if this opening alone is.

    Of the one that was taken neither figure is given: they are the plan's. Of another ``cost`` is what a
    short look found, and null where ``why`` says what stands in the way; no plan costs less than
    ``lower_bound``.
    """

    material: str
    taken: bool
    cost: float | None = None
    lower_bound: float | None = None
    why: str = ""


class OpeningRecord(Record):
    """A measured opening, as far as drawings and reports need it.

    ``corners`` maps ``left`` and ``right`` to the width of leg and of head on the joint line. Of a window
    ``kind`` is ``window``; it has a ``sill`` too, which meets the legs ``lower left`` and ``lower right``;
    ``height`` is that between sill and head, ``reveal`` how far the pieces stand back from the inside
    edge of its frame, and ``splay`` the degrees by which each piece leans outward into the room.

    ``head`` says how it lies; ``feet`` is how far each leg is held up off the floor, ``floor`` how far that
    falls from room A to room B under each leg and ``along`` the wall; ``gaps`` are the shim spaces where
    the studs were measured, ``twist`` what is known of the corners of a face.
    """

    name: str
    material: str
    joint: str
    straight: Literal["A", "B"]
    clear_width: Len
    height: dict[Literal["left", "right"], Len]
    gap: dict[Literal["left", "right", "top"], Len]
    proud: dict[Literal["least", "most"], Len]
    runs: tuple[RunRecord, ...]
    corners: dict[
        Literal["left", "right", "lower left", "lower right"], dict[Literal["leg", "head", "sill"], Len]
    ]
    notes: tuple[str, ...] = ()
    kind: Literal["cased", "window"] = "cased"
    horn: Len = 0
    reveal: Len = 0
    splay: dict[Literal["left", "right", "head", "sill"], float] = {}
    head: Literal["level", "parallel"] = "parallel"
    line: LineRecord | None = None
    feet: dict[Literal["left", "right"], Len] = {}
    floor: dict[Literal["left", "right", "along"], Len] = {}
    gaps: dict[Literal["left", "right"], tuple[GapRecord, ...]] = {}
    twist: tuple[TwistRecord, ...] = ()
    choices: tuple[ChoiceRecord, ...] = ()
