"""Room on each sheet, in words: the table, the note on the sheet, and what the proof is of."""

from __future__ import annotations

import pytest

from nesting.check import checked
from nesting.drawing.words import notes, steps
from nesting.lengths import INCH
from nesting.plan import Plan, PlayRecord, SingleRail
from nesting.report.play import kept_play, play_table, tight_sides
from nesting.report.summary import summary_text
from nesting.report.waste import single_rail_line, waste_text
from tests.check import sample


def kiln(along: float = 12.25, across: float = 9, kept: float = 0) -> Plan:
    plan = sample.kiln()
    room = PlayRecord(along=int(along * INCH), across=int(across * INCH))
    return plan.model_copy(update={
        "sheets": tuple(sheet.model_copy(update={"play": room}) for sheet in plan.sheets),
        "stock": tuple(size.model_copy(update={"play": int(kept * INCH)}) for size in plan.stock),
    })  # fmt: skip


def test_the_table_says_how_much_each_sheet_may_be_short_rounded_down():
    """9 and 47/1000 inch is 9 1/32 on a tape that is read to 1/32."""
    (table,) = play_table(kiln(across=9.047))
    assert [str(cell) for cell in table.rows[0]] == ["1", "birch 4x8", "12 1/4", "9 1/32"]
    assert "12 1/4    9 1/32\n" in waste_text(checked(kiln(across=9.047)))


def test_without_known_play_there_is_no_table():
    assert play_table(sample.kiln()) == ()
    assert tight_sides(sample.kiln().sheets[0]) == []


@pytest.mark.parametrize(("along", "across", "sides"), [
    (1 / 16, 1 / 16, []), (0, 1, ["length"]), (1, 1 / 32, ["width"]), (0.06, 0, ["length", "width"])])
def test_under_a_sixteenth_a_sheet_is_too_tight_to_trust(along: float, across: float, sides: list[str]):
    """PS 1-19: a sheet may be 1/16 inch short of its size."""
    plan = kiln(along, across)
    sheet = plan.sheets[0]
    assert tight_sides(sheet) == sides
    said = [note.text for note in notes(plan, sheet, steps(plan, sheet)) if note.topic == "Tight"]
    assert len(said) == bool(sides)
    assert all(f"to spare in its {' and '.join(sides)}" in text for text in said)
    assert ("measure it first" in waste_text(checked(plan))) == bool(sides)


def test_the_proof_says_of_which_plans_it_is():
    assert kept_play(kiln()) == ""
    assert kept_play(kiln(kept=1 / 16)) == ', with 1/16" of play kept on each sheet'


def joining(plan: Plan) -> Plan:
    """The same, its first cut with two rails where one would do."""
    sheet = plan.sheets[0]
    both = sheet.cuts[0].model_copy(update={"rails": plan.saw.rails, "joined": True})
    sheet = sheet.model_copy(update={"cuts": (both, *sheet.cuts[1:])})
    return plan.model_copy(update={"sheets": (sheet, *plan.sheets[1:])})


@pytest.mark.parametrize(("single", "said"), [
    (None, ""),
    (SingleRail(cost=188, lower_bound=188, sheets={"birch 4x8": 2}),
     "Without joined rails: 188.00, 98.45 more (2 birch 4x8)."),  # of 94.00 less 4.45 for offcuts
    (SingleRail(cost=188, credit=4.45, lower_bound=94, sheets={"birch 4x8": 2}),
     "Without joined rails: 188.00 less 4.45 credit, 94.00 more (2 birch 4x8); "
     "at least 94.00 is proved to be needed."),
    (SingleRail(why="no plan within the counts"), "Without joined rails: no plan within the counts."),
])  # fmt: skip
def test_what_single_rails_would_cost(single: SingleRail | None, said: str):
    plan = joining(kiln()) if single else kiln()
    plan = plan.model_copy(update={"single_rail": single})
    assert "".join(single_rail_line(plan)) == said
    assert said in summary_text(checked(plan))
    assert said[:40] in waste_text(checked(plan))
