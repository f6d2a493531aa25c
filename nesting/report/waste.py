"""The waste report: what was bought, where it went, and what is proved about it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from nesting.check import CheckedPlan
from nesting.geometry import bounds, twice_area
from nesting.lengths import show, to_number, to_step
from nesting.plan import Offcut, Plan, Sheet
from nesting.report.areas import (
    FINE,
    LARGE,
    SHARES,
    AreaUnit,
    in_units,
    percents,
    shares,
    show_area,
    used_percent,
)
from nesting.report.blocks import Block, Cell, Ref, Section, Table, as_text, table
from nesting.report.play import kept_play, play_table
from nesting.report.rounding import decimal, money, share_out

EXACT = "half of a square of 1/8128 inch"


def bought(plan: Plan) -> dict[str, int]:
    """Count what is cut up, ``sheet`` and ``board`` apart; what there is none of is left out."""
    boards = {stock.name for stock in plan.stock if stock.board}
    return dict(Counter("board" if sheet.stock in boards else "sheet" for sheet in plan.sheets))


def named(plan: Plan) -> str:
    """Say what is cut up: ``sheets``, ``boards``, or both."""
    return " and ".join(f"{name}s" for name in bought(plan)) or "sheets"


def proof_line(plan: Plan) -> str:
    """Say what has been proved about the money, and no more."""
    what = "area bought" if plan.priced_by_area else "cost"
    proof, kept = plan.proof, kept_play(plan)
    if proof.proved:
        cheaper = "plan that buys less" if plan.priced_by_area else "cheaper plan"
        return f"Proved: no {cheaper} exists{_nor_fewer(plan)} for these {named(plan)}, saw and parts{kept}."
    if proof.lower_bound < 0 and not plan.priced_by_area:  # what a credit for offcuts may come to
        return f"Not proved: at most {money(proof.value - proof.lower_bound)} could be saved{kept}."
    if proof.lower_bound <= 0:
        return f"Not proved: how far the {what} is from the least is not known."
    least = "" if plan.priced_by_area else f" ({money(proof.lower_bound)})"
    return (f"Not proved: the {what} is at most {gap_percent(plan)} % above what is proved to be "
            f"needed{least}{kept}.")  # fmt: skip


def _nor_fewer(plan: Plan) -> str:
    """Of more sheets than one, that no fewer do for this money, where that is proved."""
    if not 1 < len(plan.sheets) <= plan.proof.fewest_sheets:
        return ""
    like = "that buys as little" if plan.priced_by_area else "as cheap"
    return f", nor one {like} with fewer {named(plan)},"


def single_rail_line(plan: Plan) -> tuple[str, ...]:
    """Say what a plan without joined rails would cost, where this one joins some; else nothing."""
    single = plan.single_rail
    if single is None:
        return ()
    if single.cost is None:
        return (f"Without joined rails: {single.why}.",)
    sheets = ", ".join(f"{count} {name}" for name, count in single.sheets.items())
    more = round((single.cost - single.credit) * 100) - round((plan.totals.cost - plan.totals.credit) * 100)
    if plan.priced_by_area:
        return (f"Without joined rails: {sheets}.",)
    proved = single.lower_bound >= single.cost - single.credit
    net = f" less {money(single.credit)} credit" if single.credit else ""
    least = "" if proved else f"; at least {money(single.lower_bound)} is proved to be needed"
    return (f"Without joined rails: {money(single.cost)}{net}, {money(more / 100)} more ({sheets}){least}.",)


def gap_percent(plan: Plan) -> str:
    """How far the cost may be above the least, in percent of the proved bound, rounded up."""
    value, bound = Fraction(plan.proof.value), Fraction(plan.proof.lower_bound)
    return decimal(-((bound - value) * 1000 // bound), 1)


def waste_data(checked: CheckedPlan) -> dict[str, Any]:
    """Build the waste report as data, for ``waste.json``.

    Areas come three times: ``exact`` in whole half square inner units, and in the large and the fine
    unit for people; in each of the three they add up exactly, over the shares and over the sheets.
    """
    plan = checked.plan
    exact = [list(shares(sheet.area)) for sheet in plan.sheets]
    large, fine = LARGE[plan.units], FINE[plan.units]
    in_large, in_fine = in_units(exact, large), in_units(exact, fine)
    tables = [[*rows, _sums(rows)] for rows in (in_large, in_fine, exact)]
    figures = [
        {"large": _figures(a, large), "fine": _figures(b, fine), "exact": _named(c)}
        for a, b, c in zip(*tables, strict=True)
    ]
    return {
        "format": "nesting-waste/1",
        "job": plan.job,
        "units": str(plan.units),
        "areas_in": {"large": large.name, "fine": fine.name, "exact": EXACT},
        "sheets_by_stock": _bought_sheets(plan),
        "money": _money_data(plan),
        "proof": {**plan.proof.model_dump(), "words": proof_line(plan)},
        "total": {**figures[-1], "used_percent": float(used_percent(plan.totals.area))},
        "sheets": [
            {"number": sheet.number, "stock": sheet.stock, **figures[k],
             "used_percent": float(used_percent(sheet.area))}
            for k, sheet in enumerate(plan.sheets)
        ],
        "kept_offcuts": [_offcut_data(plan, number, offcut) for number, offcut in _kept(plan)],
    }  # fmt: skip


def _bought_sheets(plan: Plan) -> dict[str, int]:
    return {name: count for name, count in plan.totals.sheets.items() if count}


def _sums(rows: Sequence[Sequence[int]]) -> list[int]:
    return [sum(column) for column in zip(*rows, strict=True)] or [0] * len(SHARES)


def _named(row: Sequence[int]) -> dict[str, int]:
    return {"bought": sum(row), **dict(zip(SHARES, row, strict=True))}


def _figures(row: Sequence[int], unit: AreaUnit) -> dict[str, float]:
    return {name: round(whole / 10**unit.places, unit.places) for name, whole in _named(row).items()}


def _money_data(plan: Plan) -> dict[str, Any]:
    if plan.priced_by_area:
        return {"priced_by_area": True, "note": "no prices given: area stands for money"}
    cost, credit = plan.totals.cost, plan.totals.credit
    return {"priced_by_area": False, "cost": cost, "credit": credit, "net": round(cost - credit, 2)}


def _kept(plan: Plan) -> list[tuple[int, Offcut]]:
    return [(sheet.number, offcut) for sheet in plan.sheets for offcut in sheet.offcuts if offcut.keep]


def _offcut_data(plan: Plan, sheet: int, offcut: Offcut) -> dict[str, Any]:
    x0, y0, x1, y1 = bounds(offcut.corners)
    return {
        "sheet": sheet,
        "number": offcut.number,
        "length": to_number(x1 - x0, plan.units),
        "width": to_number(y1 - y0, plan.units),
        "size": offcut_size(plan, offcut),
        "exact": abs(twice_area(offcut.corners)),
    }


def offcut_size(plan: Plan, offcut: Offcut) -> str:
    """Length along the grain by width, rounded down; a slanted one with the widths at both ends."""
    x0, _, x1, _ = bounds(offcut.corners)
    ends = [_height(offcut, x) for x in (x0, x1)]
    widths = [show(to_step(w, plan.step, "down"), plan.units, plan.step) for w in ends]
    length = show(to_step(x1 - x0, plan.step, "down"), plan.units, plan.step)
    return f"{length} × {widths[0]}" + (f" to {widths[1]}" if widths[0] != widths[1] else "")


def _height(offcut: Offcut, x: int) -> int:
    """Width at the end that has its corners at ``x`` or within two units of it."""
    ys = [y for cx, y in offcut.corners if abs(cx - x) <= 2]
    return max(ys) - min(ys)


def waste_section(checked: CheckedPlan) -> Section:
    """Build the waste report for print."""
    plan = checked.plan
    return Section(
        "Waste report",
        (
            *_bought(plan), proof_line(plan), *single_rail_line(plan), _by_share(plan), _by_sheet(plan),
            *_kept_blocks(plan), *play_table(plan),
        ),
    )


def waste_text(checked: CheckedPlan) -> str:
    """Write the waste report as plain text."""
    return as_text([waste_section(checked)])


def _bought(plan: Plan) -> tuple[Block, ...]:
    unit = LARGE[plan.units].name
    sheets = ", ".join(f"{count} {name}" for name, count in _bought_sheets(plan).items())
    used = used_percent(plan.totals.area)
    area = show_area(plan.totals.area.sheet, plan.units)
    whole = f"Whole sheets: {sheets}. That is {area} {unit}; {used} % of it is in parts."
    if plan.priced_by_area:
        return (whole, "No prices given: area stands for money.")
    cost, credit = plan.totals.cost, plan.totals.credit
    net = f", less {money(credit)} credit for kept offcuts: {money(cost - credit)}" if credit else ""
    return (whole, f"Cost: {money(cost)}{net}.")


def _by_share(plan: Plan) -> Table:
    exact = [shares(sheet.area) for sheet in plan.sheets]
    large, fine = LARGE[plan.units], FINE[plan.units]
    # sums over the sheets' rounded figures, so that every table shows the same numbers
    in_large, in_fine = _sums(in_units(exact, large)), _sums(in_units(exact, fine))
    in_percent = percents(_sums(exact))
    names = ("parts", "kerf", "offcuts to keep", "trims of factory edges", "scrap")
    figures = [*zip(names, in_large, in_fine, in_percent, strict=True)]
    figures.append(("bought", sum(in_large), sum(in_fine), sum(in_percent)))
    rows = [
        (name, decimal(a, large.places), decimal(b, fine.places), decimal(c, 1))
        for name, a, b, c in figures
    ]
    return Table(("where it went", large.name, fine.name, "%"), tuple(rows), "lrrr", total=True)


def _by_sheet(plan: Plan) -> Table:
    unit = LARGE[plan.units]
    cells = in_units([shares(sheet.area) for sheet in plan.sheets], unit)
    rows: list[tuple[Cell, ...]] = [
        (Ref(str(s.number), s.number), s.stock, *_printed(row, unit), used_percent(s.area))
        for s, row in zip(plan.sheets, cells, strict=True)
    ]
    rows.append(("all", "", *_printed(_sums(cells), unit), used_percent(plan.totals.area)))
    head = ("sheet", "stock", "parts", "kerf", "kept", "trims", "scrap", "bought", "used %")
    return Table(head, tuple(rows), "llrrrrrrr", f"By sheet, {unit.name}", total=True)


def _printed(row: Sequence[int], unit: AreaUnit) -> list[str]:
    return [decimal(cell, unit.places) for cell in (*row, sum(row))]


def _kept_blocks(plan: Plan) -> tuple[Block, ...]:
    unit = LARGE[plan.units]
    kept = in_units([shares(sheet.area) for sheet in plan.sheets], unit)
    rows = [
        (Ref(str(sheet.number), sheet.number), str(offcut.number), offcut_size(plan, offcut),
         decimal(area, unit.places), sheet.stock)
        for sheet, printed in zip(plan.sheets, kept, strict=True)
        for offcut, area in _kept_areas(sheet, unit, printed[SHARES.index("kept")])
    ]  # fmt: skip
    if not rows:
        return ("No offcut is large enough to keep.",)
    head = ("sheet", "offcut", "length × width", unit.name, "off stock")
    return (table(head, rows, "lllrl", "Offcuts to keep (mark each with size, material and grain)"),)


def _kept_areas(sheet: Sheet, unit: AreaUnit, printed: int) -> list[tuple[Offcut, int]]:
    """Pair each kept offcut with its rounded area; they add up to the sheet's printed figure."""
    offcuts = [offcut for offcut in sheet.offcuts if offcut.keep]
    exact = [abs(twice_area(offcut.corners)) * 10**unit.places for offcut in offcuts]
    return [*zip(offcuts, share_out(exact, unit.twice, printed), strict=True)]
