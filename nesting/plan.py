"""The plan and its file, ``plan.json``: the one record of a solved job.

Inside, lengths are whole inner units and areas whole half square inner units (``twice_area``); in the
file both are numbers in the plan's units. Unknown keys are ignored, as the format asks of a reader.
"""

from __future__ import annotations

import json
from functools import cached_property
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    SerializationInfo,
    ValidationError,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    WrapValidator,
)

from nesting import lengths
from nesting.errors import CheckFailedError, FileError

LARGEST_FILE = 64_000_000
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


def _step(value: Any, read: ValidatorFunctionWrapHandler, info: ValidationInfo) -> int:
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


class Proof(Record):
    """What has been proved about the money."""

    objective: Literal["cost"] = "cost"
    value: float
    lower_bound: float
    gap: float
    proved: bool
    status: Literal["optimal", "feasible"]


class PlanPart(Record):
    """One physical piece; see :class:`nesting.parts.Part`. ``band_thickness`` 0 means not known.

    ``bevels`` are degrees off square at the edges where the saw is tilted: above 0 the show face keeps the
    line and the back is undercut, below 0 the back keeps it. The sizes hold them. ``board`` of an opening's
    piece is the narrowest usual board that it would come out of, or ``sheet`` where none is as wide.
    """

    number: Number
    id: str
    opening: str | None = None
    role: str | None = None
    material: str
    thickness: Len
    length: Len
    width_start: Len
    width_end: Len
    skew_start: Len = 0
    skew_end: Len = 0
    grain: Literal["length", "across", "any"] = "length"
    may_flip: bool = False
    band: tuple[Edge, ...] = ()
    band_thickness: Len = 0
    band_kind: Literal["", "iron-on", "lipping"] = ""
    marks: dict[Edge, str] = {}
    bevels: dict[Edge, Annotated[float, Field(gt=-90, lt=90)]] = {}
    board: str = ""

    @property
    def outline(self) -> Corners:
        """The standard form: show face up, straight edge below, corners c0 to c3 anticlockwise."""
        return (
            (0, 0),
            (self.length, 0),
            (self.length + self.skew_end, self.width_end),
            (self.skew_start, self.width_start),
        )


def band_name(part: PlanPart, units: lengths.Units) -> str:
    """Under what the banding of a part is counted: its material, and the banding's thickness if known."""
    if not part.band_thickness:
        return part.material
    number = f"{part.band_thickness / units.size:.3f}".rstrip("0").rstrip(".")
    return f"{part.material}, {number} {units}"


class Placed(Record):
    """Where a part lies on the sheet; corners in the order of the part's outline."""

    number: Number
    corners: Corners


class Mark(Record):
    """A tape reading: the distance from an edge of the piece in hand to the line, at one end."""

    at: Literal["from", "to"]
    edge: SheetEdge
    reading: Len


class Cut(Record):
    """One straight cut, edge to edge of the piece in hand."""

    model_config = ConfigDict(frozen=True, extra="ignore", populate_by_name=True)

    number: Number
    kind: Literal["trim", "rip", "crosscut", "taper"]
    start: Pt = Field(alias="from")
    to: Pt
    waste_side: Literal["left", "right"]
    length: Len
    rails: tuple[Len, ...]
    joined: bool
    rail_on: Literal["kept", "waste"]
    packer: bool
    piece: str
    marks: tuple[Mark, ...]


class Offcut(Record):
    """What is left beside the parts. ``trim`` says that it is a strip off a factory edge."""

    number: Number
    corners: tuple[Pt, ...]
    keep: bool
    trim: bool = False


class AreaRecord(Record):
    """``sheet = parts + kerf + keep + scrap``; ``trim``: of the scrap, what trims make."""

    sheet: TwiceArea
    parts: TwiceArea
    kerf: TwiceArea
    keep: TwiceArea
    scrap: TwiceArea
    trim: TwiceArea


class PlayRecord(Record):
    """By how much a sheet may be shorter and narrower than it is said to be, and still hold its parts."""

    along: Len
    across: Len


class Sheet(Record):
    """One sheet to be cut. ``outline`` and ``blocked`` only where it is no full rectangle.

    ``outline`` is the ring of the piece of stock, ``blocked`` the rings of zones that no part may take;
    ``play`` None is not known.
    """

    number: Number
    stock: str
    material: str
    length: Len
    width: Len
    thickness: Len
    price: float
    kerf: Len
    edge_trim: TrimRecord
    placed: tuple[Placed, ...]
    cuts: tuple[Cut, ...]
    offcuts: tuple[Offcut, ...]
    area: AreaRecord
    outline: tuple[Pt, ...] = ()
    blocked: tuple[tuple[Pt, ...], ...] = ()
    play: PlayRecord | None = None


class BandTotal(Record):
    """Banding of one thickness: the strips to cut, and their length with 1 in (25 mm) over each."""

    thickness: Len
    strips: Number
    length: Len


class BandStrip(Record):
    """What goes on one banded edge; ``length`` is the edge's and what is cut over.

    ``rolls`` are the numbers of those it comes from: one, several where it has to be spliced, none for
    lipping, which is ripped out of solid stock.
    """

    part: Number
    edge: Edge
    band: str
    kind: Literal["iron-on", "lipping"]
    length: Len
    rolls: tuple[Number, ...] = ()


class BandRoll(Record):
    """A roll to buy; ``width`` 0 where none was given, ``used`` what its strips come to."""

    number: Number
    band: str
    length: Len
    width: Len = 0
    price: float | None = None
    used: Len


class BandingRecord(Record):
    """The band list; ``least`` says that no cheaper (without prices: shorter) set of rolls does it.

    ``cost`` of the rolls stands beside the plan's own, which is of the sheets.
    """

    over: Len
    strips: tuple[BandStrip, ...]
    rolls: tuple[BandRoll, ...]
    cost: float | None = None
    least: bool = True
    remarks: tuple[str, ...] = ()


class DefaultRecord(Record):
    """A value that the job left open; ``of`` what it was taken for, empty for the whole job."""

    key: str
    of: tuple[str, ...] = ()
    value: str
    source: str


class Totals(Record):
    """Sums over the sheets. ``cost`` is before any credit."""

    sheets: dict[str, Number]
    cost: float
    credit: float
    area: AreaRecord
    used_percent: float
    banding: dict[str, BandTotal] = {}


class OptionRecord(Record):
    """One way to buy, with what a plan for it came to; see :class:`nesting.report.compare.Option`."""

    name: str
    feasible: bool
    why_not: str = ""
    sheets: dict[str, Number] = {}
    cost: float = 0.0
    waste_percent: float = 0.0
    heaviest: float | None = None
    joined_cuts: Number = 0
    proved: bool = False
    lower_bound: float = 0.0
    material: str = ""


class SingleRail(Record):
    """The cheapest plan found without joined rails; ``cost`` None and ``why`` where there is none."""

    cost: float | None = None
    lower_bound: float = 0
    sheets: dict[str, Number] = {}
    why: str = ""


class Plan(Record):
    """A cutting plan; made by the planner, judged by :mod:`nesting.check`, drawn and reported.

    ``step`` is what the tape is read to; left out of a file, or 0, it is the job file's own default.
    ``date`` is the job's own, as it is written there: with a clock's the same job would not give the same
    plan. ``comparison`` says what other ways to buy would come to, if that was worked out; ``single_rail`` what a
    plan without joined rails would, where this one has some.
    """

    format: Literal["nesting-plan/1"] = "nesting-plan/1"
    units: lengths.Units
    step: Annotated[Len, WrapValidator(_step)] = Field(default=0, validate_default=True)
    job: str
    date: str = ""
    seen_from: Literal["show", "back"]
    program: Program
    saw: SawRecord
    keep: KeepRecord
    lean: float
    priced_by_area: bool = False
    stock: tuple[StockRecord, ...]
    openings: tuple[OpeningRecord, ...] = ()
    warnings: tuple[str, ...] = ()
    proof: Proof
    parts: tuple[PlanPart, ...]
    sheets: tuple[Sheet, ...]
    totals: Totals
    banding: BandingRecord | None = None
    defaults: tuple[DefaultRecord, ...] = ()
    comparison: tuple[OptionRecord, ...] = ()
    single_rail: SingleRail | None = None

    def to_json(self) -> str:
        """Return the text of the plan file; the same plan gives the same bytes."""
        return self._text

    @cached_property
    def _text(self) -> str:
        data = self.model_dump(mode="json", by_alias=True, context={"units": self.units})
        _drop_empty(data, "date", "comparison", "single_rail")
        for sheet in data["sheets"]:  # the two are added only where a piece is no full rectangle
            _drop_empty(sheet, "outline", "blocked", "play")
        for size in data["stock"]:
            _drop_empty(size, "blocked", "play")
        return json.dumps(data, ensure_ascii=False, indent=1) + "\n"


def _drop_empty(data: dict[str, Any], *keys: str) -> None:
    for key in keys:
        if not data[key]:
            del data[key]


def read_plan(path: Path) -> Plan:
    """Read a plan file.

    Raises
    ------
    FileError
        If the file cannot be read or is no JSON.
    CheckFailedError
        If it is JSON but no plan: every key at fault is named.
    """
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise FileError(f"{path}: larger than {LARGEST_FILE // 1_000_000} MB; not a plan file")
        data = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise FileError(f"{path}: cannot be read: {error.strerror or error}") from error
    except (ValueError, RecursionError) as error:
        raise FileError(f"{path}: is no plan file (JSON in UTF-8): {error}") from error
    return plan_from_data(data, str(path))


def plan_from_data(data: Any, name: str = "plan") -> Plan:
    """Build a plan from the data of a plan file; see :func:`read_plan` for the errors."""
    if not isinstance(data, dict):
        raise CheckFailedError(f"{name}: [format] is no plan: a JSON object is needed")
    try:
        units = lengths.Units(data.get("units", ""))
        return Plan.model_validate(data, context={"units": units})
    except ValidationError as error:
        lines = [
            f"{name}: [format] {'.'.join(map(str, item['loc']))}: {item['msg']}"
            for item in error.errors()
        ]
        raise CheckFailedError("\n".join(lines)) from error
    except ValueError as error:
        raise CheckFailedError(f'{name}: [format] units: must be "inch" or "mm"') from error
