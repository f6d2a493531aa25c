"""What can be bought or is at hand: sheets, and boards by their nominal names, in one length or several."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, InstanceOf, ValidationInfo, field_validator

from nesting import stock
from nesting.boards import Board, read_board
from nesting.job.fields import (
    Context,
    Count,
    LengthOrZero,
    MaterialName,
    Name,
    SheetLength,
    YesNo,
    as_list,
    each_side,
    money,
    written,
)
from nesting.job.measured import Record, needed
from nesting.job.outline import Row, Table, Text
from nesting.lengths import FOOT, INCH, MM, Units, show, with_unit

END_TRIM = {Units.INCH: INCH // 2, Units.MM: 13 * MM}
"""Lost at each end of a board: ends are out of square and checked (common practice, no source)."""
_RATE = re.compile(r"([0-9.]+)\s*(?:/|an?\s|per\s)\s*(.+)", re.IGNORECASE)
_PER = {
    "foot": ("foot", "ft", "lf", "linear foot", "running foot"),
    "board foot": ("board foot", "bf", "bd ft", "board ft"),
    "metre": ("metre", "meter", "m"),
}


class Trim(Record):
    """What is lost at each factory edge; a side that a table does not name loses nothing."""

    left: LengthOrZero = 0
    right: LengthOrZero = 0
    lower: LengthOrZero = 0
    upper: LengthOrZero = 0

    def build(self) -> stock.Trim:
        """As the planner takes it."""
        return stock.Trim(self.left, self.right, self.lower, self.upper)


TrimOrLength = Annotated[Trim, BeforeValidator(each_side("left", "right", "lower", "upper"))]


@dataclass(frozen=True, slots=True)
class Price:
    """Hundredths of money: one for each length, one for all, or one for each foot, board foot or metre."""

    amounts: tuple[int, ...]
    per: str = ""

    def of(self, index: int, length: int, board: Board | None) -> int:
        """Of one piece of the length with that index, to the nearest hundredth."""
        amount = self.amounts[index] if len(self.amounts) > 1 else self.amounts[0]
        if self.per == "board foot":
            assert board is not None
            return round(amount * board.board_feet(length))
        unit = {"foot": FOOT, "metre": 1000 * MM}.get(self.per)
        return round(Fraction(amount * length, unit)) if unit else amount


def _each(value: Any, info: ValidationInfo) -> Any:
    """A price for each length."""
    if isinstance(value, Row):
        if not value or not all(isinstance(one, Text) for one in value):
            raise ValueError("must be one price for each length, like [24.00, 31.00]")
        return Price(tuple(money(one, info.context or Context()) for one in value))
    return Price((value,)) if isinstance(value, int) else value


def _price(text: str, context: Context) -> Price:
    """Money for one, or by the foot, the board foot or the metre."""
    rate = _RATE.fullmatch(text)
    if not rate:
        return Price((money(text, context),))
    said = " ".join(rate[2].casefold().split()).rstrip(".")
    per = next((unit for unit, names in _PER.items() if said in names), None)
    if per is None:
        raise ValueError("must be by the foot, the board foot or the metre: 3.10 a foot")
    return Price((money(rate[1], context),), per)


PriceField = Annotated[InstanceOf[Price] | None, written(_price), BeforeValidator(_each)]
BoardField = Annotated[InstanceOf[Board] | None, written(lambda text, _: read_board(text))]


class Zone(Record):
    """A bad spot: ``left`` to ``right`` off the sheet's left end, ``lower`` to ``upper`` off its lower edge.

    A side that is not named is the sheet's own.
    """

    left: LengthOrZero = 0
    right: LengthOrZero | None = None
    lower: LengthOrZero = 0
    upper: LengthOrZero | None = None

    def build(self, length: int, width: int) -> tuple[int, int, int, int]:
        """As the planner takes it, on a sheet of this size."""
        right = length if self.right is None else self.right
        return self.left, self.lower, right, width if self.upper is None else self.upper


def _one_alone(value: Any) -> Any:
    return [value] if isinstance(value, Table) else value


class StockEntry(Record):
    """A size that can be had, or a board in several lengths; length runs along the grain.

    ``count`` None is as many as needed, ``trim`` None the job's, or a board's own; ``price`` None asks for
    the area. The width of a ``board`` is its dressed one unless it is given.
    """

    name: Name = needed("what you call this size, like birch 4x8")
    material: MaterialName = needed("one of the materials")
    board: BoardField = None
    length: Annotated[tuple[SheetLength, ...], BeforeValidator(as_list)] = needed("along the grain")
    width: SheetLength = Field(default=None, validate_default=True, description="across the grain")
    in_shop: YesNo = False
    price: PriceField = Field(default=None, validate_default=True)
    count: Count | None = None
    trim: TrimOrLength | None = None
    blocked: Annotated[tuple[Zone, ...], BeforeValidator(_one_alone)] = ()

    @field_validator("length")
    @classmethod
    def _lengths(cls, lengths: tuple[int, ...]) -> tuple[int, ...]:
        if not lengths or len(set(lengths)) < len(lengths):
            raise ValueError("must be a length, or a list of different ones")
        return lengths

    @field_validator("width", mode="before")
    @classmethod
    def _dressed(cls, width: Any, info: ValidationInfo) -> Any:
        board: Board | None = info.data.get("board")
        if width is not None:
            return width
        if board is None:
            if "board" not in info.data:
                return 1  # the board was at fault, and has been reported
            raise ValueError("is missing (across the grain; or a board, like board: 1x12, which has its own)")
        if board.unsure:
            raise ValueError(f"is missing: yards dress {board.name} to 7 1/4 or to 7 1/2; measure yours")
        return board.width

    @field_validator("price")
    @classmethod
    def _priced(cls, price: Price | None, info: ValidationInfo) -> Price | None:
        context: Context | None = info.context
        if price is None and context and context.priced and not info.data.get("in_shop", True):
            raise ValueError("is missing: other stock has one, so every entry that is not in the shop "
                             "needs its price")
        lengths = info.data.get("length")
        if price is None or lengths is None:
            return price
        if price.per == "board foot" and info.data.get("board", True) is None:
            raise ValueError("by the board foot needs the nominal size: board: 1x12")
        if not price.per and len(price.amounts) != len(lengths):
            raise ValueError(f"must be one for each of the {len(lengths)} lengths, in brackets, or by the "
                             "foot: 3.10 a foot" if len(lengths) > 1
                             else "must be one price: there is one length")
        return price

    @field_validator("blocked")
    @classmethod
    def _on_it(cls, zones: tuple[Zone, ...], info: ValidationInfo) -> tuple[Zone, ...]:
        lengths, width = info.data.get("length"), info.data.get("width")
        if not zones or not info.context or lengths is None or width is None:
            return zones
        if len(lengths) > 1:
            raise ValueError("is of one sheet: give the length that has the zone an entry of its own")
        if info.data.get("count", 1) is None and not info.data.get("in_shop", True):
            raise ValueError("is of sheets that are there: say how many have it, with count, or in_shop: yes")
        for number, zone in enumerate(zones, 1):
            which = f"zone {number} " if len(zones) > 1 else ""
            if fault := _zone_fault(zone, lengths[0], width, info.context.units):
                raise ValueError(which + fault)
        return zones

    def build(self, trim: stock.Trim, units: Units) -> tuple[stock.Stock, ...]:
        """As the planner takes it, one for each length; ``trim`` where a sheet has none of its own."""
        return tuple(self._one(index, length, trim, units) for index, length in enumerate(self.length))

    def _one(self, index: int, length: int, trim: stock.Trim, units: Units) -> stock.Stock:
        area = 0 if self.in_shop else round(Fraction(100 * length * self.width, units.size**2))
        ends = END_TRIM[units]
        usual = stock.Trim(left=ends, right=ends) if self.board else trim
        return stock.Stock(
            name=self.name if len(self.length) == 1 else f"{self.name} {_said(length, units)}",
            material=self.material,
            length=length,
            width=self.width,
            price=area if self.price is None else self.price.of(index, length, self.board),
            count=1 if self.count is None and self.in_shop else self.count,
            trim=self.trim.build() if self.trim else usual,
            in_shop=self.in_shop,
            board=self.board.name if self.board else "",
            blocked=tuple(zone.build(length, self.width) for zone in self.blocked),
        )


def _zone_fault(zone: Zone, length: int, width: int, units: Units) -> str:
    """What is wrong with a zone on a sheet of a size; empty if nothing is."""
    if not zone.model_fields_set:
        return "needs a side at least: {left: .., right: .., lower: .., upper: ..}"
    x0, y0, x1, y1 = zone.build(length, width)
    for low, high, most, names in ((x0, x1, length, ("left", "right", "left end", "long")),
                                   (y0, y1, width, ("lower", "upper", "lower edge", "wide"))):  # fmt: skip
        if high > most:
            return f"reaches out of the sheet, which is {with_unit(most, units)} {names[3]}"
        if low >= high:
            return (f"has nothing between {names[0]} {with_unit(low, units)} and {names[1]} "
                    f"{with_unit(high, units)}: both are measured from the sheet's {names[2]}")
    if (x0, y0, x1, y1) == (0, 0, length, width):
        return "is the whole sheet"
    return ""


def _said(length: int, units: Units) -> str:
    """A board's length as a yard says it: ``8'``; else in the job's units."""
    if units is Units.INCH and length % FOOT == 0:
        return f"{length // FOOT}'"
    return show(length, units) if units is Units.MM else with_unit(length, units)
