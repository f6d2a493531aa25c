"""Banding from the job to the plan: kinds, deductions, loose parts, rolls; each rule by hand."""

from __future__ import annotations

import pytest

from nesting.check import check_plan
from nesting.errors import JobError
from nesting.job.reading import parse_job
from nesting.lengths import FOOT, INCH, MM
from nesting.packing.instance import Settings
from nesting.plan import Plan, PlanPart
from nesting.work.planner import plan_job
from nesting.work.record import plan_of
from nesting.work.wanted import wanted

HEAD = """
units: inch
saw: {kerf: 3/32}
materials:
  birch: {thickness: 23/32}
stock: [{name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}]
"""
OPENING = """
openings:
  - name: Door
    material: birch
    proud: {{least: 0}}
    band: {band}
    height: {{left: 83, right: 83}}
    width: {{low: 31, middle: 31, high: 31}}
    wall:
      left:  [[2, 9], [81, 9]]
      right: [[2, 9], [81, 9]]
      head:  [[0, 9], [31, 9]]
"""


def draft(text: str) -> Plan:
    job = parse_job(HEAD + text, "test.yaml")
    return plan_of(job, wanted(job), [], Settings())


def leg(band: str) -> PlanPart:
    return draft(OPENING.format(band=band)).parts[0]


@pytest.mark.parametrize(("band", "kind", "width"), [
    # iron-on, 0.6 mm: nothing is taken off but where it is said; two edges of 0.6 mm are 3/64, and the
    # width is rounded up: 9 - 3/64 = 8 61/64, 8 31/32
    ("{edges: [A, B], thickness: 0.6 mm}", "iron-on", 9 * INCH),
    ("{edges: [A, B], thickness: 0.6 mm, deduct: yes}", "iron-on", 287 * INCH // 32),
    # 1/4 lipping (the usual; a furniture maker's site), in full at each edge
    ("{edges: [A, B], thickness: 1/4}", "lipping", 17 * INCH // 2),
    ("{edges: A, thickness: 1/4}", "lipping", 35 * INCH // 4),
    # 3 mm and more is lipping, less is not; the key goes before the rule
    ("{edges: A, thickness: 3 mm}", "lipping", 9 * INCH - 3 * INCH // 32),
    ("{edges: A, thickness: 2.9 mm}", "iron-on", 9 * INCH),
    ("{edges: A, thickness: 2 mm, kind: lipping}", "lipping", 9 * INCH - INCH // 16),
    ("{edges: A, thickness: 3 mm, kind: iron-on}", "iron-on", 9 * INCH),
    ("{edges: A, thickness: 3 mm, kind: iron-on, deduct: yes}", "iron-on", 9 * INCH - 3 * INCH // 32),
])  # fmt: skip
def test_each_rule_of_an_openings_band(band: str, kind: str, width: int):
    part = leg(band)
    assert (part.band_kind, part.width_start) == (kind, width)


def test_iron_on_band_cannot_be_planed_flush_and_lipping_can():
    text = OPENING.replace("{{least: 0}}", "{{least: 1/16}}")
    warned = draft(text.format(band="{edges: A, thickness: 0.6 mm}")).warnings
    assert [one for one in warned if "cannot be planed flush" in one]
    warned = draft(text.format(band="{edges: A, thickness: 1/8}")).warnings
    assert not [one for one in warned if "planed flush" in one]


def loose(band: str, width: str = "11 3/4", length: str = "34 1/2") -> PlanPart:
    size = f"length: {length}, width: {width}"
    return draft(f"parts: [{{name: shelf, material: birch, {size}, band: {band}}}]").parts[0]


def test_a_loose_part_keeps_its_size_under_iron_on_band():
    part = loose("{edges: [straight, start, end], thickness: 0.6 mm}")
    assert (part.length, part.width_start) == (69 * INCH // 2, 47 * INCH // 4)
    assert (part.band, part.band_kind) == (("straight", "start", "end"), "iron-on")


def test_lipping_is_taken_off_a_loose_part():
    # 1/4 in front and at both ends: 34 1/2 - 1/2, 11 3/4 - 1/4
    part = loose("{edges: [straight, start, end], thickness: 1/4}")
    assert (part.length, part.width_start, part.width_end) == (34 * INCH, 23 * INCH // 2, 23 * INCH // 2)


def test_a_tapered_part_keeps_its_taper_under_lipping():
    # 3 to 12 over 12: the slope is 3/4, so 1/4 square to the far edge is 5/16 across (3, 4, 5); 1/4 off the
    # start is 3/16 further up: 3 + 3/16 - 5/16 = 2 7/8; the end is untouched: 12 - 5/16 = 11 11/16
    part = loose("{edges: [far, start], thickness: 1/4}", "[3, 12]", "12")
    assert (part.length, part.width_start, part.width_end) == tuple(n * INCH // 16 for n in (188, 46, 187))


def test_lipping_wider_than_the_part_is_a_fault():
    with pytest.raises(JobError, match="leaves nothing"):
        loose("{edges: [straight, far], thickness: 1/2}", "1")


def test_a_job_with_rolls_and_both_kinds_is_planned_and_checked():
    plan = plan_job(parse_job(HEAD + OPENING.format(band="{edges: [A, B], thickness: 0.6 mm}") + """
parts:
  - {name: shelf, material: birch, length: 34, width: 11, count: 2, band: {edges: straight, thickness: 1/4}}
rolls:
  - {length: 25', width: 7/8, price: 9.80}
  - {length: 50', width: 7/8, price: 16.50}
  - {length: 250', width: 1/2, price: 1.00}
""", "test.yaml"), Settings(seconds=10, effort=200)).plan
    assert check_plan(plan) == []
    assert plan.banding is not None
    # four strips of 82 1/32 and an inch and two of 31: 394 in; 25' gives 272, 50' 545; 2 x 9.80 = 19.60
    assert [(roll.length, roll.price) for roll in plan.banding.rolls] == [(50 * FOOT, 16.5)]
    assert (plan.banding.cost, plan.banding.least) == (16.5, True)
    kinds = [strip.kind for strip in plan.banding.strips]
    assert (kinds.count("iron-on"), kinds.count("lipping")) == (6, 2)
    assert plan.totals.cost == 94.0  # the rolls' money stands beside the sheets'
    assert all(strip.rolls == (() if strip.kind == "lipping" else (1,)) for strip in plan.banding.strips)


def test_bands_come_to_the_parts_in_millimetres_too():
    text = HEAD.replace("units: inch", "units: mm").replace("3/32", "2.4").replace("23/32", "18")
    text = text.replace("length: 96, width: 48", "length: 2440, width: 1220")
    job = parse_job(text + "parts: [{name: a, material: birch, length: 900, width: 300, "
                    "band: {edges: [straight, end], thickness: 6}}]", "test.yaml")  # fmt: skip
    (part,) = wanted(job).parts
    assert (part.length, part.width_start) == (894 * MM, 294 * MM)


@pytest.mark.parametrize(("text", "said"), [
    ("rolls: [25, 50']", "rolls 1 is written '25': hardly a roll's length; feet are written 25'"),
    ("parts: [{name: a, material: birch, length: 30, width: 9, "
     "band: {edges: far, thickness: 1/8, kind: iron-on}}]", "hardly any iron-on band is as thick"),
    ("parts: [{name: a, material: birch, length: 30, width: 9, "
     "band: {edges: far, thickness: 0.6 mm, kind: lipping}}]", "hardly any solid lipping is as thin"),
])  # fmt: skip
def test_what_is_hardly_meant_is_a_warning(text: str, said: str):
    more = "" if "parts" in text else "\nparts: [{name: a, material: birch, length: 30, width: 9}]"
    (warning,) = parse_job(HEAD + text + more, "test.yaml").warnings
    assert said in warning
