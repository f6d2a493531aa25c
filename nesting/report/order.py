"""What to order: sheets, what the shop gives, and edge banding by the roll."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from nesting.boards import read_board
from nesting.check import CheckedPlan
from nesting.lengths import Units, show, with_unit
from nesting.plan import ChoiceRecord, Plan, StockRecord
from nesting.report.blocks import Block, Section, as_text, table
from nesting.report.edging import banding_data, banding_sections
from nesting.report.rounding import decimal, money, rounded


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
        **banding_data(plan),
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
    if feet := sum(map(_board_feet, buy)):
        blocks.append(
            f"Boards are ordered by nominal size and length; here {decimal(rounded(feet * 10), 1)} board "
            "feet in all. The width shown is the dressed one: measure before you cut."
        )
    return Section("Order", tuple(blocks))


def _board_feet(line: OrderLine) -> Fraction:
    try:
        return line.count * read_board(line.stock.board).board_feet(line.stock.length)
    except ValueError:  # a sheet, or a name that a plan file from elsewhere made up
        return Fraction(0)


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
