"""What the checker finds: a fixed word, the sheet, the part, and a text for people."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from nesting.lengths import Units

Code = Literal[
    "record", "numbering", "face",
    "part-form", "part-unknown", "part-missing", "part-twice", "part-size", "part-hand",
    "part-top", "part-left", "part-outside", "part-blocked", "overlap", "gap", "grain", "material",
    "stock-unknown", "stock-twice", "stock-size", "stock-price", "stock-trim", "stock-kerf",
    "stock-count", "stock-blocked", "sheet-play",
    "cut-piece", "cut-ends", "cut-idle", "cut-part", "cut-offcut", "cut-waste", "cut-kind",
    "cut-length", "cut-rails", "cut-joined", "cut-reach", "cut-marks",
    "piece-part", "piece-offcut", "piece-unlisted", "offcut-trim", "offcut-small", "offcut-outside",
    "offcut-blocked",
    "area-sheet", "area-parts", "area-kerf", "area-keep", "area-scrap", "area-trim",
    "total-sheets", "total-cost", "total-credit", "total-area", "total-used", "total-banding", "band-list",
    "proof-value", "proof-bound", "proof-gap", "proof-status", "single-cost", "single-bound", "single-use",
    "job-part", "job-stock", "job-saw", "job-keep", "job-lean",
]  # fmt: skip
"""The fixed words; the table in :mod:`nesting.check` says what each means."""


@dataclass(frozen=True, slots=True)
class Violation:
    """One rule that a plan breaks.

    Attributes
    ----------
    code : str
        A fixed word, listed in :mod:`nesting.check`.
    sheet, part : int or None
        Their numbers in the plan; None where the fault is of no one sheet or part.
    text : str
        What is wrong, with the value and what it should be.
    """

    code: Code
    sheet: int | None
    part: int | None
    text: str

    def __str__(self) -> str:
        sheet = [] if self.sheet is None else [f"sheet {self.sheet}"]
        part = [] if self.part is None else [f"part {self.part}"]
        return f"{', '.join(sheet + part) or 'plan'}: [{self.code}] {self.text}"


def say(length: int | Fraction, units: Units) -> str:
    """Write a length to a millionth of a unit, so that one inner unit too much can be seen."""
    number = f"{float(Fraction(length) / units.size):.6f}".rstrip("0").rstrip(".")
    return f"{number} {units}"


def cents(money: float) -> int:
    """Hundredths of the job's money, nearest; exact however large the number is."""
    return round(Fraction(money) * 100)


def say_cents(money: int) -> str:
    """Write hundredths of money."""
    return f"{'-' if money < 0 else ''}{abs(money) // 100}.{abs(money) % 100:02d}"
