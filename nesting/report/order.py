"""What to order: sheets, what the shop gives, and edge banding by the roll."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from nesting.check import CheckedPlan
from nesting.lengths import FOOT, INCH, Units, show, to_number, with_unit
from nesting.plan import BandTotal, ChoiceRecord, Plan, StockRecord, band_name
from nesting.report.blocks import Block, Section, as_text, table
from nesting.report.rounding import decimal, money, rounded

ROLLS = (250, 50, 25)
"""Feet on a roll of banding (a furniture maker's site and an edge banding guide, 25 to 250 ft)."""
BAND_WIDTHS = tuple(Fraction(text) for text in ("13/16", "7/8", "1", "3/2", "2"))
"""Inches; 7/8 is usual on a 3/4 edge (a woodworker's magazine, an edge banding guide)."""
BAND_OVER = Fraction(1, 8)
"""Inches by which a strip is cut wider than its edge (the same magazine)."""


@dataclass(frozen=True, slots=True)
class OrderLine:
    """So many of one stock. ``price`` and ``cost`` are money; ``cost`` is for all of them."""

    stock: StockRecord
    count: int
    price: float
    cost: float


def order_lines(plan: Plan) -> list[OrderLine]:
    """List what the plan opens, in the order the job names it; remnants of the shop among it."""
    lines = []
    for stock in plan.stock:
        prices = [sheet.price for sheet in plan.sheets if sheet.stock == stock.name]
        if prices:
            lines.append(OrderLine(stock, len(prices), stock.price, round(sum(prices), 2)))
    return lines


def rolls_for(length: int) -> dict[int, int]:
    """Choose rolls for a length of banding: least bought, then fewest rolls.

    Parameters
    ----------
    length : int
        Inner units, allowance included.

    Returns
    -------
    dict
        How many by the roll's length in feet, largest first.
    """
    left, rolls = -(-length // (ROLLS[-1] * FOOT)) * ROLLS[-1], {}
    for roll in ROLLS:
        if count := left // roll:
            rolls[roll], left = count, left % roll
    return rolls


def with_allowance(length: int) -> int:
    """A tenth more, for splices to be dodged (common practice, no source)."""
    return length + -(-length // 10)


def order_data(checked: CheckedPlan) -> dict[str, Any]:
    """Build the order as data; lengths in the plan's units, rolls in feet."""
    plan = checked.plan
    return {
        "stock": [
            {"stock": line.stock.name, "count": line.count, "in_shop": line.stock.in_shop,
             "price": line.price, "cost": line.cost, "weight": line.stock.weight}
            for line in order_lines(plan)
        ],
        "priced_by_area": plan.priced_by_area,
        "cost": plan.totals.cost,
        "banding": [
            {"material": name, "thickness": to_number(band.thickness, plan.units), "strips": band.strips,
             "length": to_number(band.length, plan.units),
             "order_length": to_number(with_allowance(band.length), plan.units),
             "rolls_ft": {str(ft): n for ft, n in rolls_for(with_allowance(band.length)).items()}}
            for name, band in plan.totals.banding.items()
        ],
    }  # fmt: skip


def order_section(checked: CheckedPlan) -> Section:
    """Build the order of sheets for print."""
    plan = checked.plan
    lines = order_lines(plan)
    buy = [line for line in lines if not line.stock.in_shop]
    shop = [line for line in lines if line.stock.in_shop]
    blocks: list[Block] = []
    if buy:
        blocks.append(_stock_table(plan, buy, "To buy"))
    else:
        blocks.append("Nothing to buy: all comes out of the shop.")
    if shop:
        blocks.append(_stock_table(plan, shop, "From the shop"))
    if plan.priced_by_area:
        blocks.append("No prices given: area stands for money.")
    blocks.append("Length runs along the grain. Order as pieces, thickness, width × length.")
    return Section("Order", tuple(blocks))


def choice_sections(checked: CheckedPlan) -> tuple[Section, ...]:
    """Say which material each opening takes that may choose, and what the other would have cost."""
    plan = checked.plan
    openings = [opening for opening in plan.openings if opening.choices]
    if not openings:
        return ()
    rows = [
        (opening.name if k == 0 else "", other.material, *_choice_words(plan, other))
        for opening in openings
        for k, other in enumerate(sorted(opening.choices, key=lambda other: not other.taken))
    ]
    head = ("opening", "material", "", "whole job", "not below", "remark")
    note = (
        "What the whole job costs if this opening alone is of the material; of those not taken as a short "
        "look found it. Not below: what is proved."
    )
    return (Section("Board or sheet", (table(head, rows, "lllrrl"), note)),)


def _choice_words(plan: Plan, other: ChoiceRecord) -> tuple[str, ...]:
    if other.taken:
        return "taken", money(plan.totals.cost), money(plan.proof.lower_bound), ""
    cost = "" if other.cost is None else money(other.cost)
    bound = "" if other.lower_bound is None else money(other.lower_bound)
    return "", cost, bound, other.why


def order_text(checked: CheckedPlan) -> str:
    """Write the order as plain text."""
    return as_text([order_section(checked), *choice_sections(checked), *banding_sections(checked)])


def _stock_table(plan: Plan, lines: list[OrderLine], title: str) -> Block:
    pounds = "lb each" if plan.units is Units.INCH else "kg each"
    rows: list[tuple[str, ...]] = [
        (str(line.count), line.stock.name, line.stock.material, *_size(plan, line.stock),
         "" if line.stock.weight is None else decimal(rounded(Fraction(line.stock.weight)), 0),
         *_prices(plan, line))
        for line in lines
    ]  # fmt: skip
    head = ("count", "stock", "material", "thick", "width", "length", pounds, "price", "cost")
    if not plan.priced_by_area:
        total = money(sum(line.cost for line in lines))
        rows.append((str(sum(line.count for line in lines)), "in all", *[""] * 6, total))
    return table(head, rows, "rllrrrrrr", title, total=not plan.priced_by_area)


def _size(plan: Plan, stock: StockRecord) -> tuple[str, str, str]:
    width, length = (show(size, plan.units) for size in (stock.width, stock.length))
    return with_unit(stock.thickness, plan.units), width, length


def _prices(plan: Plan, line: OrderLine) -> tuple[str, str]:
    return ("", "") if plan.priced_by_area else (money(line.price), money(line.cost))


def banding_sections(checked: CheckedPlan) -> tuple[Section, ...]:
    """Say what banding to order, if any: strips, their length with what each needs over, rolls."""
    plan = checked.plan
    if not plan.totals.banding:
        return ()
    over = "1 in" if plan.units is Units.INCH else "25 mm"
    of = {band_name(part, plan.units): part.material for part in plan.parts if part.band}
    rows = [_band_row(plan, of.get(name, name), band) for name, band in plan.totals.banding.items()]
    head = ("for", "thick", "strips", "length", "with 10 % more", "rolls")
    note = (
        f"Each strip is counted {over} longer than its edge. {_band_width(plan)}No strip is pieced: "
        "see that whole strips come out of each roll, and dodge splices on show edges."
    )
    return (Section("Edge banding", (table(head, rows, "lrrrrl"), note)),)


def _band_row(plan: Plan, name: str, band: BandTotal) -> tuple[str, ...]:
    rolls = rolls_for(with_allowance(band.length))
    return (
        name,
        with_unit(band.thickness, plan.units),
        str(band.strips),
        _run(band.length, plan.units),
        _run(with_allowance(band.length), plan.units),
        " + ".join(f"{count} of {feet} ft{_metres(feet, plan.units)}" for feet, count in rolls.items()),
    )


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
