"""Edge banding for print: what to buy, and each strip by its edge."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from nesting.banding import ALLOWANCE, band_list
from nesting.check import CheckedPlan
from nesting.lengths import FOOT, INCH, MM, Units, show, to_number, with_unit
from nesting.plan import BandingRecord, BandTotal, Plan, band_name
from nesting.report.blocks import Block, Section, table
from nesting.report.rounding import decimal, money, rounded

BAND_WIDTHS = tuple(Fraction(text) for text in ("13/16", "7/8", "1", "3/2", "2"))
"""Inches; 7/8 is usual on a 3/4 edge (a woodworker's magazine, an edge banding guide)."""
BAND_OVER = Fraction(1, 8)
"""Inches by which a strip is cut wider than its edge (the same magazine)."""


def with_allowance(length: int) -> int:
    """A tenth more, for splices to be dodged (common practice, no source)."""
    return length + -(-length // ALLOWANCE)


def banding_of(plan: Plan) -> BandingRecord | None:
    """The plan's band list; of a plan file that has none, made with the rolls in trade."""
    return plan.banding or band_list(plan.parts, plan.units)


def banding_data(plan: Plan) -> dict[str, Any]:
    """What to order and the band list as data; lengths in the plan's units, rolls in feet."""
    listed = banding_of(plan)
    bands = [
        {"material": name, "thickness": to_number(band.thickness, plan.units), "strips": band.strips,
         "length": to_number(band.length, plan.units),
         "order_length": to_number(with_allowance(band.length), plan.units),
         "rolls_ft": {decimal(rounded(Fraction(length, FOOT)), 0): count
                      for (length, _), count in rolls(plan, name).items()}}
        for name, band in plan.totals.banding.items()
    ]  # fmt: skip
    strips = listed.model_dump(mode="json", context={"units": plan.units}) if listed else None
    return {"banding": bands, "band_list": strips}


def banding_sections(checked: CheckedPlan) -> tuple[Section, ...]:
    """Say what banding to order, if any: strips, their length with what each needs over, rolls; then each
    strip by its edge."""
    return strip_sections(checked.plan)


def strip_sections(plan: Plan) -> tuple[Section, ...]:
    """Say the same of a plan that has no sheets yet."""
    listed = banding_of(plan)
    if listed is None:
        return ()
    of = {band_name(part, plan.units): part.material for part in plan.parts if part.band}
    rows = [_band_row(plan, of.get(name, name), name, band) for name, band in plan.totals.banding.items()]
    head = ("for", "kind", "thick", "strips", "length", "with 10 % more", "rolls to buy", "cost")
    blocks: list[Block] = [table(head, rows, "lllrrrlr"), _band_note(plan, listed)]
    blocks += [f"{remark}." for remark in listed.remarks]
    return (Section("Edge banding", (*blocks, _strip_table(plan, listed))),)


def _band_note(plan: Plan, listed: BandingRecord) -> str:
    said = [f"Each strip is cut {with_unit(listed.over, plan.units)} longer than its edge."]
    if listed.rolls:
        none = "No other rolls cost less" if listed.cost is not None else "No less length of rolls holds them"
        said += [
            _band_width(plan),
            "No strip is pieced but where it says so: each comes whole out of its roll, which keeps a tenth "
            "of what it gives free to dodge the maker's splices.",
            none + ("." if listed.least else ", as far as was looked."),
            "Band the edges that are seen least first.",
        ]
    if any(strip.kind == "lipping" for strip in listed.strips):
        said.append("Lipping is ripped out of solid stock; the sheet is cut narrower by it.")
    return " ".join(filter(None, said))


def rolls(plan: Plan, band: str) -> dict[tuple[int, int], int]:
    """How many rolls to buy by length and width, large ones first."""
    listed = banding_of(plan)
    mine = [(roll.length, roll.width) for roll in (listed.rolls if listed else ()) if roll.band == band]
    return {size: mine.count(size) for size in sorted(set(mine), reverse=True)}


def _band_row(plan: Plan, name: str, band: str, total: BandTotal) -> tuple[str, ...]:
    listed = banding_of(plan)
    assert listed is not None
    kinds = dict.fromkeys(strip.kind for strip in listed.strips if strip.band == band)
    prices = [roll.price for roll in listed.rolls if roll.band == band and roll.price is not None]
    bought = [
        f"{count} of {_roll_words(length, plan.units)}"
        + (f", {with_unit(width, plan.units)} wide" if width else "")
        for (length, width), count in rolls(plan, band).items()
    ]
    more = "" if set(kinds) == {"lipping"} else _run(with_allowance(total.length), plan.units)
    thick = with_unit(total.thickness, plan.units)
    if total.thickness % (INCH // 64):  # on no inch tape, and sold by the millimetre
        thick = f"{total.thickness / MM:.3g} mm"
    return (name, " and ".join(kinds), thick, str(total.strips), _run(total.length, plan.units), more,
            " + ".join(bought), money(sum(prices)) if prices else "")  # fmt: skip


def _roll_words(length: int, units: Units) -> str:
    """A roll by its feet, as it is sold; one in odd millimetres by its metres."""
    if length % FOOT == 0:
        return f"{length // FOOT} ft{_metres(length // FOOT, units)}"
    return _run(length, units)


def _strip_table(plan: Plan, listed: BandingRecord) -> Block:
    parts = {part.number: part for part in plan.parts}
    rows = []
    for number in dict.fromkeys(strip.part for strip in listed.strips):
        for k, strip in enumerate(strip for strip in listed.strips if strip.part == number):
            part = parts[number]
            edge = ", ".join(filter(None, (strip.edge, part.marks.get(strip.edge, ""))))
            first = (str(number), part.id) if k == 0 else ("", "")
            length = show(strip.length, plan.units, plan.step)
            rows.append((*first, edge, strip.kind, length, " + ".join(map(str, strip.rolls))))
    head = ("no.", "piece", "edge", "kind", "strip", "roll")
    return table(head, rows, "rlllrr", "Strips by edge")


def _run(length: int, units: Units) -> str:
    """A length off a roll, to a tenth of a foot or of a metre, rounded up."""
    tenth, name = (Fraction(FOOT, 10), "ft") if units is Units.INCH else (Fraction(100 * 320), "m")
    return f"{decimal(-(-length // tenth), 1)} {name}"


def _metres(feet: int, units: Units) -> str:
    tenths = rounded(Fraction(feet * FOOT, 100 * 320))
    return "" if units is Units.INCH else f" ({decimal(tenths, 1)} m)"


def _band_width(plan: Plan) -> str:
    """Name the narrowest usual width that does for each thickness of banded board."""
    said = []
    for thickness in sorted({part.thickness for part in plan.parts if part.band}):
        fits = [w for w in BAND_WIDTHS if w * INCH >= thickness + BAND_OVER * INCH]
        if fits:
            width = with_unit(int(min(fits) * INCH), plan.units)
            said.append(f"{width} wide for {with_unit(thickness, plan.units)} edges")
    return f"Usual width: {', '.join(said)}. " if said else ""
