"""Lengths as a carpenter writes them, and the one whole number they become inside.

The inner unit is 1/8128 inch = 3.125 micrometre: the coarsest that holds both 1/64 inch (127 units)
and 0.1 mm (32 units) exactly (1 inch = 25.4 mm, exact since 1959).
"""

from __future__ import annotations

import math
import re
from enum import StrEnum
from fractions import Fraction

INCH = 8128
MM = 320
FOOT = 12 * INCH
LONGEST_TEXT = 60


class Units(StrEnum):
    """What a bare number in a job means, and what is printed."""

    INCH = "inch"
    MM = "mm"

    @property
    def size(self) -> int:
        """Inner units in one of these."""
        return INCH if self is Units.INCH else MM


class LengthError(ValueError):
    """A length that cannot be read; the text says what would be right."""


VULGAR = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_MARKS = str.maketrans({"″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "⁄": "/", "−": "-",
                        "\u00a0": " "})  # fmt: skip
_NUMBER = r"(?:\d+(?:\.\d*)?|\.\d+)"
_MIXED = rf"(?:(?P<whole>\d+)(?:\s+|\s*-\s*))?(?P<num>\d+)\s*/\s*(?P<den>\d+)|(?P<dec>{_NUMBER})"
_INCHES = re.compile(rf"(?:{_MIXED})\s*(?P<unit>\"|''|in\.?|inch|inches)?")
_METRIC = re.compile(rf"(?P<dec>{_NUMBER})\s*(?P<unit>mm|cm|m)")
_FEET = re.compile(rf"(?P<feet>{_NUMBER})\s*(?:'(?!')|ft\.?|foot|feet)\s*-?\s*(?P<rest>.*)")
_SHORTHAND = re.compile(r"\d+\s*-\s*\d+\s*-\s*\d+")
_DOOR = re.compile(r"(\d+)\s*/\s*(\d+)")
_METRIC_SIZE = {"mm": MM, "cm": 10 * MM, "m": 1000 * MM}
_WAYS = "write it like 13 5/8, 13.625, 8' 2 5/8\" or 346 mm"


def parse_length(text: str, units: Units) -> Fraction:
    """Read a length.

    Parameters
    ----------
    text : str
        As written by a carpenter: ``13 5/8``, ``13-5/8``, ``13⅝``, ``13.625``, ``8' 2 5/8"``,
        ``346 mm``.
    units : Units
        What a bare number means.

    Returns
    -------
    Fraction
        Inner units (1/8128 inch), not yet rounded to whole ones.

    Raises
    ------
    LengthError
        If it is no length, or an ambiguous one (``8-7-8``, ``2/6``), which is asked back.
    """
    if len(text) > LONGEST_TEXT:
        raise LengthError("that is too long for a length; " + _WAYS)
    plain = _plain(text)
    if "," in plain:
        raise LengthError("write decimals with a point, and thousands without a comma")
    if plain.startswith("-"):
        raise LengthError("a length is never negative; write it without the minus sign")
    if _SHORTHAND.fullmatch(plain):
        raise LengthError("three figures can be feet-inches-sixteenths or a slip of the pen; "
                          "write it out, like 8' 7 1/2\"")
    if metric := _METRIC.fullmatch(plain):
        return Fraction(metric["dec"]) * _METRIC_SIZE[metric["unit"]]
    if feet := _FEET.fullmatch(plain):
        return Fraction(feet["feet"]) * FOOT + _after_feet(feet["rest"])
    return _bare_or_inches(plain, units)


def _after_feet(rest: str) -> Fraction:
    inches = _inches(rest) if rest else Fraction(0)
    if inches >= FOOT:
        raise LengthError("after the feet come less than 12 inches; write it in inches alone")
    return inches


def _plain(text: str) -> str:
    plain = text.translate(_MARKS)
    for sign, fraction in VULGAR.items():
        plain = re.sub(rf"\s*-?\s*{sign}", f" {fraction}", plain)
    return plain.strip().lower()


def _bare_or_inches(plain: str, units: Units) -> Fraction:
    match = _INCHES.fullmatch(plain)
    if not match:
        raise LengthError(_WAYS)
    if match["unit"] or units is Units.INCH:
        return _inches(plain)
    if match["num"]:
        raise LengthError("a fraction in a job in millimetres is ambiguous; write mm as a decimal, "
                          "like 12.5, or add inch to it")
    return Fraction(match["dec"]) * MM


def _inches(plain: str) -> Fraction:
    match = _INCHES.fullmatch(plain)
    if not match:
        raise LengthError(_WAYS)
    if match["dec"]:
        return Fraction(match["dec"]) * INCH
    whole, num, den = int(match["whole"] or 0), int(match["num"]), int(match["den"])
    return (whole + _fraction(plain, num, den)) * INCH


def _fraction(plain: str, num: int, den: int) -> Fraction:
    door = _DOOR.fullmatch(plain) is not None
    asked = f"; if {num} feet {den} inches is meant, write {num}' {den}\"" if door and den < 12 else ""
    if den not in (2, 4, 8, 16, 32, 64):
        raise LengthError(f"a tape has halves, quarters, 8ths and so on to 64ths, no {num}/{den}{asked}")
    if num >= den:
        raise LengthError(f"{num}/{den} is no proper fraction; write whole inches and the rest{asked}")
    if door and den < 12 and math.gcd(num, den) > 1:
        raise LengthError(f"{num}/{den} can be a door's {num} feet {den} inches or "
                          f"{Fraction(num, den)} inch; write {num}' {den}\" or {Fraction(num, den)}")
    return Fraction(num, den)


def nearest(value: Fraction) -> int:
    """Whole units nearest to ``value``; a half goes down."""
    return math.ceil(value - Fraction(1, 2))


def to_step(value: Fraction | int, step: int, way: str = "nearest") -> int:
    """Whole steps: ``up``, ``down`` or to the ``nearest`` (half a step down); inner units."""
    steps = Fraction(value) / step
    if way == "up":
        return math.ceil(steps) * step
    if way == "down":
        return math.floor(steps) * step
    return nearest(steps) * step


def show(length: int, units: Units, step: int | None = None) -> str:
    """Write a length for print, without its unit: ``13 5/8``, ``346.5``.

    Parameters
    ----------
    length : int
        Inner units.
    step : int, optional
        Round to the nearest step (half a step down); left out, to the coarsest power-of-two
        fraction down to 1/64 inch, or decimal of a millimetre down to 0.1, that is exact, else
        to the nearest of the finest.
    """
    if length < 0:
        return text if (text := show(-length, units, step)) == "0" else f"-{text}"
    if units is Units.MM:
        return _decimal(to_step(length, step) if step else length)
    grid = step if step and (INCH // 64) and step % (INCH // 64) == 0 else INCH // 64
    whole, rest = divmod(to_step(length, grid), INCH)
    if not rest:
        return str(whole)
    fraction = Fraction(rest, INCH)
    text = f"{fraction.numerator}/{fraction.denominator}"
    return f"{whole} {text}" if whole else text


def marked(length: int, units: Units, step: int) -> str:
    """Like :func:`show` to a step, but what a finer mark says exactly is not rounded off it.

    A part and a kerf together need not be whole steps: 3 and 3/32 on a tape that is read to 1/16. Rounded,
    the part would come out half a step off.
    """
    finest = INCH // 64 if units is Units.INCH else MM // 10
    return show(length, units, None if length % finest == 0 else step)


def _decimal(length: int) -> str:
    tenths = nearest(Fraction(length, MM // 10))
    return f"{tenths // 10}" if tenths % 10 == 0 else f"{tenths // 10}.{tenths % 10}"


def with_unit(length: int, units: Units, step: int | None = None) -> str:
    """Like :func:`show`, with its unit: ``13 5/8"``, ``346 mm``."""
    text = show(length, units, step)
    return f'{text}"' if units is Units.INCH else f"{text} mm"


def to_number(length: int, units: Units) -> float:
    """A plan file's number for a length: enough digits to give back the exact inner length."""
    return round(length / units.size, 6)


def from_number(number: float, units: Units) -> int:
    """The inner length that :func:`to_number` wrote."""
    return round(number * units.size)


def area_to_number(twice_area: int, units: Units) -> float:
    """A plan file's number, in square units, for a whole number of half square inner units."""
    return round(twice_area / (2 * units.size**2), 9)


def area_from_number(number: float, units: Units) -> int:
    """The twice-area in inner units that :func:`area_to_number` wrote."""
    return round(number * 2 * units.size**2)
