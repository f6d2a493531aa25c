"""The plan and its file, ``plan.json``: the one record of a solved job."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from functools import cached_property
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import (
    ConfigDict,
    Field,
    ValidationError,
    WrapValidator,
)

from nesting import lengths
from nesting.errors import CheckFailedError, FileError
from nesting.plan_records import (
    ChoiceRecord,
    Corners,
    Edge,
    GapRecord,
    KeepRecord,
    Len,
    LineRecord,
    Number,
    OpeningRecord,
    Program,
    Pt,
    Record,
    RunRecord,
    SawRecord,
    SheetEdge,
    StationRecord,
    StockRecord,
    TrimRecord,
    TwiceArea,
    TwistRecord,
    step_or_usual,
)

__all__ = [
    "AreaRecord",
    "BandRoll",
    "BandStrip",
    "BandTotal",
    "BandingRecord",
    "ChoiceRecord",
    "Corners",
    "Cut",
    "DefaultRecord",
    "Edge",
    "GapRecord",
    "KeepRecord",
    "Len",
    "LineRecord",
    "Mark",
    "Number",
    "Offcut",
    "OpeningRecord",
    "OptionRecord",
    "Placed",
    "Plan",
    "PlanPart",
    "PlayRecord",
    "Program",
    "Proof",
    "Pt",
    "Record",
    "RunRecord",
    "SawRecord",
    "Sheet",
    "SheetEdge",
    "SingleRail",
    "StationRecord",
    "StockRecord",
    "Totals",
    "TrimRecord",
    "TwiceArea",
    "TwistRecord",
    "band_name",
    "plan_from_data",
    "read_plan",
]

LARGEST_FILE = 64_000_000


class Proof(Record):
    """What has been proved about the money; no plan of this value has fewer than ``fewest_sheets``.

    0 where that was not asked, as where the money is not proved.
    """

    objective: Literal["cost"] = "cost"
    value: float
    lower_bound: float
    gap: float
    proved: bool
    status: Literal["optimal", "feasible"]
    fewest_sheets: int = 0


class PlanPart(Record):
    """One physical piece; see :class:`nesting.parts.Part`. ``band_thickness`` 0 means not known.

    ``bevels`` are degrees off square at the edges where the saw is tilted: above 0 the show face keeps the
    line and the back is undercut, below 0 the back keeps it. The sizes hold them. ``board`` of an opening's
    piece is the narrowest usual board that it would come out of, or ``sheet`` where none is as wide. A
    ``spare`` part is one more than the job needs, cut out of what was left over.
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
    marks: dict[Edge, str] = Field(default_factory=dict)
    bevels: dict[Edge, Annotated[float, Field(gt=-90, lt=90)]] = Field(default_factory=dict)
    board: str = ""
    spare: bool = False

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
    banding: dict[str, BandTotal] = Field(default_factory=dict)


class OptionRecord(Record):
    """One way to buy, with what a plan for it came to; see :class:`nesting.report.compare.Option`."""

    name: str
    feasible: bool
    why_not: str = ""
    sheets: dict[str, Number] = Field(default_factory=dict)
    cost: float = 0.0
    waste_percent: float = 0.0
    heaviest: float | None = None
    joined_cuts: Number = 0
    proved: bool = False
    lower_bound: float = 0.0
    material: str = ""


class SingleRail(Record):
    """The cheapest plan found without joined rails; ``cost`` None and ``why`` where there is none.

    ``cost`` is before ``credit``, that of its kept offcuts; ``lower_bound`` is of what is left.
    """

    cost: float | None = None
    credit: float = 0
    lower_bound: float = 0
    sheets: dict[str, Number] = Field(default_factory=dict)
    why: str = ""


class Plan(Record):
    """A cutting plan; made by the planner, judged by :mod:`nesting.check`, drawn and reported.

    ``step`` is what the tape is read to; left out of a file, or 0, it is the job file's own default.
    ``date`` is the job's own, as it is written there: with a clock's the same job would not give the same
    plan. ``comparison`` says what other ways to buy would come to, if that was worked out; ``single_rail``
    what a plan without joined rails would, where this one has some.
    """

    format: Literal["nesting-plan/1"] = "nesting-plan/1"
    units: lengths.Units
    step: Annotated[Len, WrapValidator(step_or_usual)] = Field(default=0, validate_default=True)
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

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Self:
        """Copy with some fields changed; the text of the file is told anew."""
        copied = super().model_copy(update=update, deep=deep)
        for told in ("_text", "check_sum"):
            copied.__dict__.pop(told, None)
        return copied

    @cached_property
    def check_sum(self) -> str:
        """The first eight signs of the SHA-256 of the plan's file: the same on all its pages."""
        return hashlib.sha256(self.to_json().encode("utf-8", "surrogatepass")).hexdigest()[:8]

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
