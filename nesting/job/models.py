"""The job as the file gives it, in inner units; the README lists the keys.

Each field's text is converted by :mod:`nesting.job.fields`; the units of bare numbers, and what else of
the file a field must know, come with the validation context. Without a context (a program builds a model
itself) lengths are inner units, and what one key has to do with another is not looked at. Descriptions
say what to write where a key is missing.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    ValidationInfo,
    field_validator,
)

from nesting import stock
from nesting.job.buying import TrimOrLength
from nesting.job.edging import Banding, PartBand, RollEntry, priced_alike
from nesting.job.fields import (
    ByUnits,
    Context,
    Count,
    CountOrZero,
    Degrees,
    KerfLength,
    Length,
    LengthOrZero,
    MaterialName,
    Money,
    Name,
    Slope,
    Weight,
    YesNo,
    all_defaults,
    as_list,
    below_zero,
    default,
    each_side,
    one_of,
)
from nesting.job.measured import (  # noqa: F401 - Reading belongs with the rest of an opening's records
    Corners,
    Diagonals,
    Feet,
    Floor,
    Framing,
    Height,
    Line,
    Reading,
    Record,
    Wall,
    Width,
    needed,
)
from nesting.job.outline import Row, Table
from nesting.lengths import Units, with_unit

MOST_RAILS = 12
NO_WINDOW = "has no meaning for a window"

Face = Annotated[Literal["A", "B"], one_of("A", "B")]
FaceUp = Annotated[Literal["show", "back"], one_of("show", "back")]
Grain = Annotated[
    Literal["length", "across", "any"], one_of("length", "across", "any")
]
Kind = Annotated[Literal["cased", "window"], one_of("cased", "window")]
Lie = Annotated[Literal["level", "parallel"], one_of("level", "parallel")]
Joint = Annotated[
    Literal["head over legs", "head between legs", "rabbet"],
    one_of("head over legs", "head between legs", "rabbet"),
]


def _both_ends(value: Any) -> Any:
    """Start and end width; one alone is both."""
    if isinstance(value, Table) or (isinstance(value, Row) and len(value) != 2):
        raise ValueError("must be one width, or two in brackets: [start, end]")
    return (value, value) if isinstance(value, str) else value


Ends = Annotated[tuple[Length, Length], BeforeValidator(_both_ends)]


class Saw(Record):
    """The saw and the rails in the van."""

    kerf: KerfLength = needed("what the blade takes, like 3/32")
    rails: Annotated[tuple[Length, ...], BeforeValidator(as_list)] = ()
    join: YesNo = False
    lead_in: LengthOrZero = default("7", "178")
    lead_out: LengthOrZero = default("3", "76")
    face_up: FaceUp = "show"

    @field_validator("rails")
    @classmethod
    def _few(cls, rails: tuple[int, ...]) -> tuple[int, ...]:
        if len(rails) > MOST_RAILS:
            raise ValueError(f"more than {MOST_RAILS} rails; leave out those you would not take along")
        return rails

    def build(self) -> stock.Saw:
        """As the planner takes it."""
        return stock.Saw(self.kerf, self.rails, self.join, self.lead_in, self.lead_out, self.face_up)


class Keep(Record):
    """The least offcut worth keeping, and hundredths of money for a square foot (m²) of it."""

    length: Length = default("24", "600")
    width: Length = default("6", "150")
    credit: Money = 0


class Head(Record):
    """The whole file, its lists not yet read."""

    job: Name | None = None
    date: Name | None = None
    units: Annotated[Units, one_of(inch=Units.INCH, mm=Units.MM)] = needed("inch or mm")
    step: Length = default("1/32", "0.5")
    saw: Saw = needed("a table with the kerf, like {kerf: 3/32}")
    trim: TrimOrLength = default("1/4", "6")
    lean: Degrees = Fraction(1, 2)
    keep: Keep = all_defaults()
    play: LengthOrZero = 0
    lines: dict[Name, Any] = Field(default_factory=dict)
    materials: dict[Name, Any] = needed("a table like {birch: {thickness: 23/32}}")
    stock: list[Any] = needed("a list of the sheets, each with name, material, length and width")
    openings: list[Any] = Field(default_factory=list)
    readings: Any = None
    parts: list[Any] = Field(default_factory=list)
    rolls: Annotated[tuple[RollEntry, ...], AfterValidator(priced_alike)] = ()


class Material(Record):
    """What stands behind a material's name."""

    thickness: Length = needed("the actual thickness, like 23/32")
    grain: YesNo = True
    faces: Annotated[Literal["one", "both"], one_of("one", "both")] = "one"
    weight: Weight | None = None
    play: LengthOrZero | None = None

    def build(self, name: str) -> stock.Material:
        """As the planner takes it."""
        return stock.Material(name, self.thickness, self.grain, self.faces == "both", self.weight, self.play)


class Gap(Record):
    """Shim space; 0 for a press fit."""

    left: LengthOrZero = default("1/4 inch")
    right: LengthOrZero = default("1/4 inch")
    top: LengthOrZero = default("1/4 inch")


class Proud(Record):
    """Beyond the wall, both faces together."""

    least: LengthOrZero = default("1/16 inch")
    most: LengthOrZero = default("1/8 inch")

    @field_validator("most")
    @classmethod
    def _most(cls, most: int, info: ValidationInfo) -> int:
        if info.context and most < (least := info.data.get("least", 0)):
            units = info.context.units
            raise ValueError(f"must be at least the least, {with_unit(least, units)}; it is "
                             f"{with_unit(most, units)} (1/8 inch where it is left out)")
        return most


class Band(Banding):
    """Edge banding: on the edges towards which rooms, how thick, and whether it is deducted."""

    edges: Annotated[tuple[Face, ...], BeforeValidator(as_list)] = needed("like [A, B]")

    @field_validator("edges")
    @classmethod
    def _each_once(cls, edges: tuple[str, ...]) -> tuple[str, ...]:
        if not edges or len(set(edges)) < len(edges):
            raise ValueError("must be [A], [B] or [A, B]")
        return edges


class Splay(Record):
    """How far each piece of a window leans outward on its way into the room: run over depth."""

    left: Slope = Fraction(0)
    right: Slope = Fraction(0)
    head: Slope = Fraction(0)
    sill: Slope = Fraction(0)


class Opening(Record):
    """One opening. Of a cased one exactly one of ``height`` and ``line`` is given.

    A window's pieces stand on its frame, ``reveal`` back from the frame's inside edge; ``height`` and
    ``width`` are those inside the frame, and the straight edge is the one on it (``B``).
    """

    name: Name = needed("what you call this opening, like Kiln room")
    material: Annotated[tuple[MaterialName, ...], BeforeValidator(as_list)] = needed(
        "one of the materials, or a list of them"
    )
    kind: Kind = "cased"
    joint: Joint = "head over legs"
    rabbet: Length = Field(default=0, validate_default=True)
    horn: LengthOrZero = 0
    reveal: LengthOrZero = default("3/16 inch")
    splay: Annotated[Splay, BeforeValidator(each_side("left", "right", "head", "sill"))] = all_defaults()
    straight: Face = Field(default=None, validate_default=True)
    height: Height | None = None
    line: Line | None = Field(default=None, validate_default=True)
    width: Width = needed("{low: .., middle: .., high: ..}")
    gap: Annotated[Gap, BeforeValidator(each_side("left", "right", "top"))] = all_defaults()
    proud: Proud = all_defaults()
    band: Band | None = None
    wall: Wall = needed("{left: [..], right: [..], head: [..]} with stations like [2, 12 3/4]")
    head: Lie | None = Field(default=None, validate_default=True)
    feet: Annotated[Feet, BeforeValidator(each_side("left", "right"))] = Feet()
    floor: Annotated[Floor, BeforeValidator(each_side("left", "right"))] = Floor()
    framing: Framing | None = None
    diagonals: Diagonals | None = None
    corners: Corners | None = None
    strings: LengthOrZero | None = None

    @field_validator("material")
    @classmethod
    def _some(cls, material: tuple[str, ...]) -> tuple[str, ...]:
        if not material or len(set(material)) < len(material):
            raise ValueError("must be a material, or a list of different ones")
        return material

    @field_validator("rabbet")
    @classmethod
    def _depth(cls, rabbet: int, info: ValidationInfo) -> int:
        context: Context | None = info.context
        if context is None or info.data.get("joint") != "rabbet":
            return rabbet
        if not rabbet:
            raise ValueError("is missing: the joint rabbet needs its depth, like 3/8")
        sheets = (context.materials.get(name) for name in info.data.get("material", ()))
        thin = min((sheet.thickness for sheet in sheets if sheet), default=rabbet + 1)
        if rabbet >= thin:
            raise ValueError(f"must be less than the sheet's thickness, {with_unit(thin, context.units)}")
        return rabbet

    @field_validator("straight", mode="before")
    @classmethod
    def _straight(cls, straight: Any, info: ValidationInfo) -> Any:
        window = info.data.get("kind") == "window"
        if straight is None:
            return "B" if window else "A"
        if info.context and window:
            raise ValueError(f"{NO_WINDOW}: the straight edge is the one on the window's frame; leave it out")
        return straight

    @field_validator("gap", "horn", mode="before")
    @classmethod
    def _door_alone(cls, value: Any, info: ValidationInfo) -> Any:
        if not info.context or info.data.get("kind") != "window":
            return value
        if value:
            raise ValueError(f"{NO_WINDOW}: the pieces stand on the window's frame; leave it out")
        return dict.fromkeys(("left", "right", "top"), 0)

    @field_validator("head", "feet", "floor", "framing", "diagonals", "corners", "strings", mode="before")
    @classmethod
    def _cased_alone(cls, value: Any, info: ValidationInfo) -> Any:
        if info.context and info.data.get("kind") == "window" and value is not None:
            raise ValueError(f"{NO_WINDOW}; leave it out")
        return value

    @field_validator("head")
    @classmethod
    def _level(cls, head: str | None, info: ValidationInfo) -> str:
        if head == "parallel" and info.context and info.data.get("line"):
            raise ValueError("cannot be: off a level line the head comes level; for one that follows the "
                             "framing give height in place of line")
        return head or ("level" if info.data.get("line") else "parallel")

    @field_validator("diagonals")
    @classmethod
    def _reach(cls, diagonals: tuple[int, int] | None, info: ValidationInfo) -> tuple[int, int] | None:
        """A diagonal closes a triangle with the width and the height: longer than each, shorter than both."""
        width, height, context = info.data.get("width"), info.data.get("height"), info.context
        if diagonals and width and height and context:
            low = max(min(width.low, width.high), min(height.left, height.right))
            high = max(width.low, width.high) + max(height.left, height.right)
            if not low < min(diagonals) <= max(diagonals) < high:
                least, most = (with_unit(length, context.units) for length in (low, high))
                raise ValueError(f"must each be longer than the height or the width, {least}, and shorter "
                                 f"than both together, {most}")
        return diagonals

    @field_validator("reveal", "splay", mode="before")
    @classmethod
    def _window_alone(cls, value: Any, info: ValidationInfo) -> Any:
        if info.context and info.data.get("kind") == "cased" and value and not isinstance(value, ByUnits):
            raise ValueError("is for a window: write kind: window, or leave it out")
        return value

    @field_validator("proud", mode="before")
    @classmethod
    def _one_face(cls, proud: Any, info: ValidationInfo) -> Any:
        """A window has a wall on one side only, so half of what both faces get is usual."""
        if not info.context or info.data.get("kind") != "window" or not isinstance(proud, dict):
            return proud
        half = {"least": ByUnits("1/32 inch", "1/32 inch"), "most": ByUnits("1/16 inch", "1/16 inch")}
        return half | proud

    @field_validator("wall", mode="before")
    @classmethod
    def _below(cls, wall: Any, info: ValidationInfo) -> Any:
        """Where a window is splayed, the wall's corners lie below or left of its frame's."""
        if not info.context or info.data.get("kind") != "window" or not isinstance(wall, Table):
            return wall
        return {
            key: [below_zero(station, info.context) for station in run] if isinstance(run, Row) else run
            for key, run in wall.items()
        }

    @field_validator("wall")
    @classmethod
    def _runs(cls, wall: Wall, info: ValidationInfo) -> Wall:
        kind = info.data.get("kind")
        if info.context and kind == "window" and not wall.sill:
            raise ValueError("needs a fourth run for a window: sill: [..], from left to right")
        if info.context and kind == "cased" and wall.sill:
            raise ValueError("has no sill: that run is for a window; write kind: window, or leave it out")
        if info.context and kind == "window" and wall.left[0].face_a is not None:
            raise ValueError("of a window is read [where, depth]: from the edge of the window's frame to the "
                             "finished face of the wall")
        return wall

    @field_validator("line")
    @classmethod
    def _one_height(cls, line: Line | None, info: ValidationInfo) -> Line | None:
        height = info.data.get("height", line)
        if info.context and info.data.get("kind") == "window" and "height" in info.data:
            if line is not None:
                raise ValueError(f"{NO_WINDOW}: give its height inside the frame: {{left: .., right: ..}}")
            if height is None:
                raise ValueError("is no way to measure a window, and its height is missing: give {left: .., "
                                 "right: ..} as height, from sill to head inside its frame")
            return line
        if info.context and "height" in info.data and (height is None) == (line is None):
            raise ValueError("is missing, and height too: give {left: .., right: ..} as height, from the "
                             "finished floor to the framing, or line" if line is None else
                             "must not stand beside height: one of the two fixes the top")
        return line


class LoosePart(Record):
    """A part that is given by its size; ``count`` of them, and up to ``spare`` more where there is room."""

    name: str
    material: str
    length: int
    width_start: int
    width_end: int
    count: int
    grain: Literal["length", "across", "any"]
    band: PartBand | None = None
    spare: int = 0


class PartEntry(Record):
    """A loose part as written."""

    name: Name = needed("what you call this part, like shelf")
    material: MaterialName = needed("one of the materials")
    length: Length = needed("along the straight edge")
    width: Ends = needed("one width, or [start, end] of a taper")
    count: Count = 1
    grain: Grain = "length"
    band: PartBand | None = None
    spare: CountOrZero = 0

    def build(self, grain: bool) -> LoosePart:
        """As the planner takes it; without ``grain`` in the sheet the part may lie any way."""
        return LoosePart(
            name=self.name,
            material=self.material,
            length=self.length,
            width_start=self.width[0],
            width_end=self.width[1],
            count=self.count,
            grain=self.grain if grain else "any",
            band=self.band,
            spare=self.spare,
        )
