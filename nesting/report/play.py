"""How much room each sheet leaves, and which is too tight to trust."""

from __future__ import annotations

from nesting.cutting.room import TIGHT
from nesting.lengths import show, to_step, with_unit
from nesting.plan import Plan, Sheet
from nesting.report.blocks import Cell, Ref, Table, table


def tight_sides(sheet: Sheet) -> list[str]:
    """``length`` and ``width``, so far as a sheet that is a little short in it would not do."""
    if sheet.play is None:
        return []
    spare = (("length", sheet.play.along), ("width", sheet.play.across))
    return [side for side, rest in spare if rest < TIGHT]


def kept_play(plan: Plan) -> str:
    """What the plan says of the room that it was to leave: empty, or words that go on a sentence."""
    used = {size.play for size in plan.stock if plan.totals.sheets.get(size.name)}
    if not any(used):
        return ""
    if len(used) > 1:
        return ", with the play to be kept on each"
    return f", with {with_unit(min(used), plan.units)} of play kept on each sheet"


def play_table(plan: Plan) -> tuple[Table, ...]:
    """Build the table of each sheet's room, to the tape's step, rounded down; none where nothing is known."""
    rows: list[tuple[Cell, ...]] = []
    for sheet in plan.sheets:
        if sheet.play is not None:
            spare = [show(to_step(rest, plan.step, "down"), plan.units, plan.step)
                     for rest in (sheet.play.along, sheet.play.across)]  # fmt: skip
            mind = "measure it first" if tight_sides(sheet) else ""
            rows.append((Ref(str(sheet.number), sheet.number), sheet.stock, *spare, mind))
    if not rows:
        return ()
    title = f"Play: by how much each sheet may be short, {plan.units}"
    return (table(("sheet", "stock", "in length", "in width", "mind"), rows, "llrrl", title),)
