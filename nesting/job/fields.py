"""What may stand behind a key: the text as written becomes a length, a count, money, a choice, a name.

Only text is converted. A value that is not text (an inner length, where a program builds the models
itself) is taken as it is. The units of bare numbers come with the validation context.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from fractions import Fraction
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, InstanceOf, ValidationInfo

from nesting.job.outline import Row, Table, Text
from nesting.lengths import MM, LengthError, Units, nearest, parse_length
from nesting.stock import Material

LONGEST_TEXT = 60
LONGEST_NAME = 500
MOST_DIGITS = 6  # of a count
MOST_DECIMAL = 9  # digits before the point, and after it
# Longer than any sheet, board, rail or wall by far; whatever is computed from it stays small.
LONGEST = 100_000 * MM
STEEPEST = Fraction(17321, 10000)  # the tangent of 60 degrees, and a little
NEVER_NEGATIVE = "is never negative; write it without the minus sign"


@dataclass(frozen=True, slots=True)
class Context:
    """What a field has to know of the rest of the file.

    Attributes
    ----------
    materials : dict
        Those that the file names; None for one that is itself at fault.
    priced : bool
        Some stock has a price, so all that is not in the shop needs one.
    lines : dict
        How far the heads' undersides are above each of the job's level lines; None for one at fault.
    """

    units: Units = Units.INCH
    materials: Mapping[str, Material | None] = field(default_factory=dict)
    priced: bool = False
    lines: Mapping[str, int | None] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ByUnits:
    """A default that depends on the job's units, written as a carpenter would."""

    inch: str
    mm: str

    def text(self, units: Units) -> str:
        """The one for these units."""
        return self.inch if units is Units.INCH else self.mm


def default(inch: str, mm: str | None = None) -> Any:
    """A length, as written, for a key that is left out; ``mm`` where a metric job has another."""
    return Field(default=ByUnits(inch, mm or inch), validate_default=True)


def all_defaults() -> Any:
    """For a table that is left out: as if it stood there with nothing in it."""
    return Field(default_factory=dict, validate_default=True)


def written(read: Callable[[str, Context], Any], longest: int = LONGEST_TEXT) -> BeforeValidator:
    """Read a scalar; refuse a list, a table, and nothing at all."""

    def validate(value: Any, info: ValidationInfo) -> Any:
        context = info.context or Context()
        if isinstance(value, ByUnits):
            value = value.text(context.units)
        if isinstance(value, (Row, Table)):
            raise ValueError("one value is needed, not a list or a table")
        if not isinstance(value, str):
            return value
        if trouble := getattr(value, "trouble", ""):
            raise ValueError(trouble)
        text = value.strip()
        if not text:
            raise ValueError(nothing(value))
        if len(text) > longest:
            raise ValueError(f"is longer than {longest} characters")
        return read(text, context)

    return BeforeValidator(validate)


def nothing(value: str) -> str:
    """Say that nothing stands there, and why."""
    if trouble := getattr(value, "trouble", ""):
        return str(trouble)
    if comment := getattr(value, "comment", ""):
        return f"what follows a # is a comment, so nothing is left; put it in quotes: \"{comment}\""
    return "nothing is written here; write a value, or leave the key out"


def _length(
    zero: bool = False, signed: bool = False, rounding: Callable[[Fraction], int] = nearest
) -> BeforeValidator:
    def read(text: str, context: Context) -> int:
        sign, size = _sign(text) if signed else (1, text)
        length = rounding(parse_length(size, context.units))
        if length > LONGEST:
            raise LengthError("is longer than 100 m (328 ft); that cannot be meant")
        if length == 0 and not zero:
            raise LengthError("must be more than 0")
        return sign * length

    return written(read)


def _sign(text: str) -> tuple[int, str]:
    return (-1, text[1:]) if text[0] in "-−" else (1, text)


def _ceil(value: Fraction) -> int:
    return math.ceil(value)


def _floor(value: Fraction) -> int:
    return math.floor(value)


def _count(text: str, _: Context) -> int:
    if text.startswith(("-", "−")):
        raise ValueError(NEVER_NEGATIVE)
    if not re.fullmatch(r"[0-9]+", text) or not text.strip("0"):
        raise ValueError("must be a whole number from 1, like 4")
    if len(text) > MOST_DIGITS:
        raise ValueError(f"is a number of more than {MOST_DIGITS} digits; that cannot be meant")
    return int(text)


def _count_or_none(text: str, context: Context) -> int:
    return 0 if re.fullmatch(r"0+", text) else _count(text, context)


def _decimal(text: str, like: str) -> Fraction:
    if text.startswith(("-", "−")):
        raise ValueError(NEVER_NEGATIVE)
    number = re.fullmatch(r"(?=.*[0-9])([0-9]*)(?:\.([0-9]*))?", text)
    if not number:
        raise ValueError(f"must be a number alone, with a point for decimals, like {like}")
    if max(map(len, number.groups(""))) > MOST_DECIMAL:
        raise ValueError(f"has over {MOST_DECIMAL} digits on one side of the point; that cannot be meant")
    return Fraction(text)


def money(text: str, _: Context) -> int:
    """Hundredths of money."""
    hundredths = 100 * _decimal(text, "94.00")
    if hundredths.denominator > 1:
        raise ValueError("money has at most two decimals, like 94.00")
    return int(hundredths)


def _weight(text: str, _: Context) -> float:
    weight = _decimal(text, "2.3")
    if not weight:
        raise ValueError("must be more than 0; leave it out if it is not known")
    return float(weight)


def _degrees(text: str, _: Context) -> Fraction:
    degrees = _angle(text, "1/2 or 0.5 (degrees)")
    if degrees >= 45:
        raise ValueError("must be less than 45 degrees; 1/2 is usual")
    return degrees


def _angle(text: str, like: str) -> Fraction:
    number = re.sub(r"\s*(°|degrees?)$", "", text)
    half = re.fullmatch(r"(?:([0-9]{1,2}) )?([0-9]{1,3})/([1-9][0-9]{0,2})", number)
    if half:
        return int(half[1] or 0) + Fraction(int(half[2]), int(half[3]))
    return _decimal(number, like)


def _slope(text: str, context: Context) -> Fraction:
    """Run over depth, written so (``2 over 6``, exact) or in degrees, whose tangent gets ten figures."""
    over = re.fullmatch(r"(.*\S)\s+over\s+(\S.*)", text, re.IGNORECASE)
    if over:
        run, depth = (parse_length(side, context.units) for side in over.groups())
        if not depth:
            raise ValueError("the depth, behind the word over, must be more than 0")
        slope = run / depth
    else:
        degrees = _angle(text, "15 (degrees), or the run over the depth, like 2 over 6")
        tangent = math.tan(math.radians(min(float(degrees), 80.0)))
        slope = Fraction(round(tangent * 10**10), 10**10)
    if slope > STEEPEST:
        raise ValueError("must be at most 60 degrees, a run of 1.73 over a depth of 1")
    return slope


def _name(text: str, _: Context) -> str:
    for sign in text:
        if unicodedata.category(sign) in ("Cc", "Cs", "Zl", "Zp") or sign in "\ufffe\uffff":
            raise ValueError(f"holds a character that cannot be printed (U+{ord(sign):04X})")
    return text


def _material(text: str, context: Context) -> str:
    name = _name(text, context)
    if context.materials and name not in context.materials:
        raise ValueError(f"is none of the job's materials{near(name, context.materials)}")
    return name


def one_of(*words: str, **meanings: Any) -> BeforeValidator:
    """One word out of several, small or large; it stands for itself or for its meaning."""
    known = {word: word for word in words} | meanings

    def read(text: str, _: Context) -> Any:
        plain = " ".join(text.casefold().split())
        found = next((word for word in known if word.casefold() == plain), None)
        if found is None:
            raise ValueError(f"must be one of these{near(text, known)}")
        return known[found]

    return written(read)


def near(word: str, known: Mapping[str, Any]) -> str:
    """Say which of the known words may be meant, and what they are."""
    names = list(known)[:100]
    close = get_close_matches(word, names, n=1) if len(word) <= LONGEST_TEXT else []
    meant = f"; did you mean '{close[0]}'?" if close else ""
    return ": " + ", ".join(f"'{name}'" for name in names[:20]) + meant


def as_list(value: Any) -> Any:
    """A value alone is a list of one; several need brackets, or they are one text."""
    if isinstance(value, Text) and ", " in value:
        raise ValueError(f"several stand in brackets, like [{value.strip('[]')[:40]}]")
    return [value] if isinstance(value, Text) and value else value


def below_zero(station: Any, context: Context) -> Any:
    """A station whose place may be less than 0."""
    if isinstance(station, Row) and station and isinstance(station[0], Text) and station[0][:1] in "-−":
        try:
            at = nearest(parse_length(station[0][1:], context.units))
        except LengthError:
            return station
        return Row([-at, *station[1:]]) if at <= LONGEST else station
    return station


def each_side(*sides: str) -> Callable[[Any], Any]:
    """A length alone holds for every side."""

    def read(value: Any) -> Any:
        return dict.fromkeys(sides, value) if isinstance(value, (Text, ByUnits)) else value

    return read


Length = Annotated[int, _length()]
LengthOrZero = Annotated[int, _length(zero=True)]
KerfLength = Annotated[int, _length(zero=True, rounding=_ceil)]
SheetLength = Annotated[int, _length(rounding=_floor)]
Offset = Annotated[int, _length(zero=True, signed=True)]
Count = Annotated[int, written(_count)]
CountOrZero = Annotated[int, written(_count_or_none)]
Money = Annotated[int, written(money)]
Weight = Annotated[float, written(_weight)]
Degrees = Annotated[InstanceOf[Fraction], written(_degrees)]
Slope = Annotated[InstanceOf[Fraction], written(_slope)]
Name = Annotated[str, written(_name, LONGEST_NAME)]
MaterialName = Annotated[str, written(_material, LONGEST_NAME)]
YesNo = Annotated[bool, one_of(yes=True, no=False, true=True, false=False)]
