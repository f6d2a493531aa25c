"""Where the sheets' area went, in figures that add up exactly, also as printed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from nesting.lengths import FOOT, MM, Units
from nesting.plan import AreaRecord
from nesting.report.rounding import decimal, round_table, rounded

SHARES = ("parts", "kerf", "kept", "trims", "scrap")
METRE = 1000 * MM


@dataclass(frozen=True, slots=True)
class AreaUnit:
    """A unit of area for people: its name, half square inner units in one, decimals printed."""

    name: str
    twice: int
    places: int


LARGE = {Units.INCH: AreaUnit("sq ft", 2 * FOOT**2, 2), Units.MM: AreaUnit("m²", 2 * METRE**2, 3)}
FINE = {
    Units.INCH: AreaUnit("sq in", 2 * (FOOT // 12) ** 2, 1),
    Units.MM: AreaUnit("mm²", 2 * MM**2, 0),
}


def shares(area: AreaRecord) -> tuple[int, ...]:
    """Split an area into :data:`SHARES`, in half square inner units; scrap without the trims."""
    return area.parts, area.kerf, area.keep, area.trim, area.scrap - area.trim


def in_units(rows: Sequence[Sequence[int]], unit: AreaUnit) -> list[list[int]]:
    """Round areas to the unit's last place so that rows and columns add up."""
    tens = 10**unit.places
    return round_table([[cell * tens for cell in row] for row in rows], unit.twice)


def percents(row: Sequence[int]) -> list[int]:
    """Tenths of a percent of the row's own sum; they make 1000."""
    return round_table([[cell * 1000 for cell in row]], sum(row))[0] if sum(row) else [0] * len(row)


def used_percent(area: AreaRecord) -> str:
    """Parts as a share of the sheet, ``86.6``."""
    return decimal(rounded(Fraction(1000 * area.parts, area.sheet)), 1) if area.sheet else "0.0"


def show_area(twice: int, units: Units) -> str:
    """One area alone, to the nearest, without its unit."""
    unit = LARGE[units]
    return decimal(rounded(Fraction(twice * 10**unit.places, unit.twice)), unit.places)
