"""Room on the sheets, bad zones, and plans without joined rails: from the job file to the plan."""

from __future__ import annotations

import json

import pytest

from nesting.check import check_plan
from nesting.errors import JobError
from nesting.job.reading import parse_job
from nesting.lengths import INCH
from nesting.packing.instance import Settings
from nesting.plan import Plan, plan_from_data
from nesting.report.waste import proof_line, single_rail_line, waste_text
from nesting.work.judging import against_job
from nesting.work.planner import plan_job

HEAD = """
job: Ebb Street mill
units: inch
saw: {kerf: 1/8, rails: [118, 63]}
trim: 1/4
materials:
  birch: {thickness: 23/32}
stock:
  - {name: birch 4x8, material: birch, length: 96, width: 48, price: 94}
parts:
"""


def planned(text: str, seconds: float = 5) -> Plan:
    job = parse_job(text, "job.yaml")
    plan = plan_job(job, Settings(seconds=seconds)).plan
    assert against_job(plan, job) == []
    return plan


def test_the_play_of_one_part_is_what_the_trimmed_sheet_has_beyond_it():
    """95 1/2 less 90, and 47 1/2 less 47 7/16: 1/16 is just enough to trust."""
    plan = planned(HEAD + "  - {name: top, material: birch, length: 90, width: 47 7/16}\n")
    (sheet,) = plan.sheets
    assert sheet.play is not None
    assert (sheet.play.along, sheet.play.across) == (5.5 * INCH, INCH // 16)
    assert not [text for text in plan.warnings if "to spare" in text]
    assert "5 1/2  " in waste_text(plan_job(parse_job(
        HEAD + "  - {name: top, material: birch, length: 90, width: 47 7/16}\n", "j"), Settings(seconds=2)))


def test_a_sheet_that_is_too_tight_to_trust_is_named():
    plan = planned(HEAD + "  - {name: top, material: birch, length: 95 1/2, width: 47 15/32}\n")
    (text,) = [text for text in plan.warnings if "to spare" in text]
    assert text.startswith('sheet 1 (birch 4x8) has less than 1/16" to spare in its length and width')


def test_two_rows_have_the_play_of_the_tighter_one():
    """Along: 95 1/2 less 50, 40 and a kerf; across: 47 1/2 less 30, 17 and a kerf."""
    plan = planned(HEAD + "  - {name: a, material: birch, length: 50, width: 30}\n"
                          "  - {name: b, material: birch, length: 40, width: 30}\n"
                          "  - {name: c, material: birch, length: 60, width: 17}\n")  # fmt: skip
    (sheet,) = plan.sheets
    assert sheet.play is not None
    assert (sheet.play.along, sheet.play.across) == (round(5.375 * INCH), round(0.375 * INCH))


def test_play_that_is_kept_costs_a_sheet_where_there_is_none():
    """Two of 23 11/16 and a kerf fill 47 1/2 exactly."""
    two = "  - {name: half, material: birch, length: 90, width: 23 11/16, count: 2}\n"
    assert planned(HEAD + two).totals.cost == 94
    kept = planned(HEAD.replace("trim: 1/4", "trim: 1/4\nplay: 1/16") + two)
    assert (kept.totals.cost, kept.proof.proved) == (188, True)
    assert all(sheet.play and sheet.play.across >= INCH // 16 for sheet in kept.sheets)
    assert proof_line(kept).endswith('with 1/16" of play kept on each sheet.')


def test_a_materials_own_play_goes_before_the_jobs():
    text = HEAD.replace("trim: 1/4", "trim: 1/4\nplay: 1/2").replace("{thickness: 23/32}", (
        "{thickness: 23/32, play: 0}\n  mdf: {thickness: 3/4, grain: no}")).replace("parts:", (
        "  - {name: mdf, material: mdf, length: 97, width: 49, price: 40}\nparts:"))  # fmt: skip
    job = parse_job(text + "  - {name: a, material: birch, length: 9, width: 9}\n", "j")
    assert [stock.play for stock in job.stock] == [0, INCH // 2]


def test_what_is_kept_of_a_sheet_with_play_reaches_its_trim():
    """A part of 40 by 40: beside it 95 1/2 less 40 and a kerf is kept, the play with it."""
    head = HEAD.replace("trim: 1/4", "trim: 1/4\nplay: 1")
    plan = planned(head + "  - {name: a, material: birch, length: 40, width: 40}\n")
    kept = [offcut for offcut in plan.sheets[0].offcuts if offcut.keep]
    assert max(x for offcut in kept for x, _ in offcut.corners) == round(95.75 * INCH)


BLOCKED = "count: 2, blocked: [{left: 44, right: 50, lower: 20, upper: 26}]"
ZONE = HEAD.replace("price: 94}", f"price: 94, {BLOCKED}}}")


def test_no_part_and_no_kept_offcut_lies_on_a_bad_zone():
    plan = planned(ZONE + "  - {name: side, material: birch, length: 40, width: 20, count: 5}\n")
    (sheet, *_) = plan.sheets
    ring = ((44, 20), (50, 20), (50, 26), (44, 26))
    assert sheet.blocked == (tuple((x * INCH, y * INCH) for x, y in ring),)
    assert check_plan(plan) == []
    for shape in [p.corners for p in sheet.placed] + [o.corners for o in sheet.offcuts if o.keep]:
        xs, ys = [x / INCH for x, _ in shape], [y / INCH for _, y in shape]
        assert max(xs) <= 44 or min(xs) >= 50 or max(ys) <= 20 or min(ys) >= 26


def test_a_part_that_fits_only_across_the_zone_has_no_home():
    with pytest.raises(JobError):
        planned(ZONE + "  - {name: top, material: birch, length: 80, width: 30}\n")


def test_a_plan_with_zones_and_play_reads_back():
    plan = planned(ZONE + "  - {name: side, material: birch, length: 40, width: 20}\n")
    assert plan_from_data(json.loads(plan.to_json())) == plan


ROWS = """
job: Tern boathouse
units: inch
saw: {kerf: 3/32, rails: [75, 55], join: yes}
materials: {birch: {thickness: 23/32}}
stock:
  - {name: birch 4x8, material: birch, length: 96, width: 48, price: 94}
parts:
"""
LENGTHS = (60, 35, 50, 45, 55, 40, 58, 37)  # four rows of 95 and a kerf, in no row at the same place


def test_what_a_plan_without_joined_rails_costs_stands_beside_one_that_joins_them():
    """Each row takes a rip of 95 1/2; with 7 and 3 for the leads the longer rail reaches 65."""
    rows = "".join(f"  - {{name: p{n}, material: birch, length: {n}, width: 11 3/4}}\n" for n in LENGTHS)
    plan = planned(ROWS + rows, 10)
    assert plan.totals.cost == 94
    single = plan.single_rail
    assert single is not None
    assert (single.cost, single.sheets) == (188, {"birch 4x8": 2})
    assert 94 <= single.lower_bound <= 188
    assert single_rail_line(plan)[0].startswith("Without joined rails: 188.00, 94.00 more (2 birch 4x8)")


def test_where_no_single_rail_will_do_it_says_so():
    plan = planned(ROWS + "  - {name: leg, material: birch, length: 90, width: 12}\n", 4)
    assert plan.single_rail is not None
    assert plan.single_rail.cost is None
    (said,) = single_rail_line(plan)
    assert "no plan, leg: no rail is long enough" in said
    assert said.endswith('the rails reach 65".')  # nobody is told there to allow what the plan does


@pytest.mark.parametrize("saw", ["join: yes", "join: no", "rails: [118], join: yes"])
def test_nothing_is_said_where_no_cut_is_joined(saw: str):
    text = ROWS.replace("join: yes", saw).replace("rails: [75, 55], rails", "rails")
    plan = planned(text + "  - {name: shelf, material: birch, length: 40, width: 12, count: 2}\n", 4)
    assert plan.single_rail is None
    assert not [cut for sheet in plan.sheets for cut in sheet.cuts if cut.joined]
    assert "single_rail" not in plan.to_json()
