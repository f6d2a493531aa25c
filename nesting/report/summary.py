"""What stands on the screen when a plan is done: sheets, money, waste, proof."""

from __future__ import annotations

from nesting.check import CheckedPlan
from nesting.plan import Plan
from nesting.report.areas import used_percent
from nesting.report.rounding import money
from nesting.report.waste import bought, named, proof_line, single_rail_line


def summary_text(checked: CheckedPlan) -> str:
    """Write a few lines that say what to buy, what it costs, and what is proved about it."""
    plan = checked.plan
    cuts = [cut for sheet in plan.sheets for cut in sheet.cuts]
    joined = sum(cut.joined for cut in cuts)
    what = "area" if plan.priced_by_area else "cost"
    stuff = " and ".join(_count(count, name) for name, count in bought(plan).items()) or "0 sheets"
    lines = [
        f"{plan.job}: {_parts(plan)} on {stuff}, "
        + _count(len(cuts), "cut")
        + (f", {joined} with joined rails" if joined else ""),
        "  " + ", ".join(f"{count} {name}" for name, count in plan.totals.sheets.items()),
        f"  {what} {money(plan.totals.cost)}"
        + (f" less {money(plan.totals.credit)} for kept offcuts" if plan.totals.credit else "")
        + (" (no prices given, so area stands for money)" if plan.priced_by_area else ""),
        f"  {used_percent(plan.totals.area)} % of the {named(plan)} ends in parts",
        f"  {proof_line(plan)}",
        *(f"  {line}" for line in single_rail_line(plan)),
    ]
    return "\n".join(lines)


def _parts(plan: Plan) -> str:
    spares = sum(part.spare for part in plan.parts)
    asked_for = _count(len(plan.parts) - spares, "part")
    return f"{asked_for} and {_count(spares, 'spare')}" if spares else asked_for


def _count(count: int, name: str) -> str:
    return f"{count} {name}{'s' * (count != 1)}"
