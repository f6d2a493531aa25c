"""The parts as a CSV file, each length as a tape reads it and as a number, for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from nesting.lengths import Units, show, to_number
from nesting.plan import Edge, Plan, PlanPart
from nesting.report.blocks import clean
from nesting.report.partslist import by_opening

LENGTHS = {
    "length": "length", "width": "width_start", "width end": "width_end", "skew start": "skew_start",
    "skew end": "skew_end", "thickness": "thickness",
}  # fmt: skip
EDGES: tuple[Edge, ...] = ("start", "end", "straight", "far")
# A cell that begins with one of these is worked out as a formula by a spreadsheet.
FORMULA = ("=", "+", "-", "@", "\t", "\r")


def parts_csv(plan: Plan) -> str:
    """List every piece, one a row: UTF-8 with its mark, so that spreadsheets read it, and CRLF (RFC 4180)."""
    unit = "in" if plan.units is Units.INCH else "mm"
    heads = [cell for name in LENGTHS for cell in (name, f"{name} ({unit})")]
    file = io.StringIO(newline="")
    table = csv.writer(file)
    table.writerow(["number", "name", "opening", "role", "material", *heads, "grain", "band",
                    *(f"mark {edge}" for edge in EDGES), *(f"bevel {edge}" for edge in EDGES)])
    for parts in by_opening(plan).values():
        for part in parts:
            table.writerow(list(_cells(plan, part)))
    return "\ufeff" + file.getvalue()


def _cells(plan: Plan, part: PlanPart) -> Iterator[str | int | float]:
    yield part.number
    yield from map(guarded, (part.id, part.opening or "", part.role or "", part.material))
    for field in LENGTHS.values():
        length = getattr(part, field)
        yield tape(length, plan.units)
        yield to_number(length, plan.units)
    yield part.grain
    yield " ".join(part.band)
    yield from (guarded(part.marks.get(edge, "")) for edge in EDGES)
    yield from (part.bevels.get(edge, "") for edge in EDGES)


def guarded(text: str) -> str:
    """A name that no spreadsheet takes for a formula: one that looks like it gets an apostrophe."""
    plain = clean(text)
    return f"'{plain}" if plain.startswith(FORMULA) else plain


def tape(length: int, units: Units) -> str:
    """A length as text; less than an inch as ``0 3/4``, since a spreadsheet makes a date of ``3/4``."""
    text = show(abs(length), units)
    whole = f"0 {text}" if "/" in text and " " not in text else text
    return f"-{whole}" if length < 0 else whole
