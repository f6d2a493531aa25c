"""From a job to a checked plan."""

from __future__ import annotations

import time
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings

from nesting.check import Violation, check_plan, checked
from nesting.errors import CheckFailedError, JobError, NoPlanError
from nesting.geometry import twice_area
from nesting.job.job import Job
from nesting.job.reading import parse_job
from nesting.lengths import INCH
from nesting.packing.instance import Settings
from nesting.plan import Plan
from nesting.work import planner
from nesting.work.judging import against_job
from nesting.work.planner import Progress, plan_job
from tests.check.second import room, stray
from tests.work.jobs import job_texts

HEAD = """
job: test
units: inch
saw: {kerf: 3/32, rails: [118, 55], join: yes}
materials:
  birch: {thickness: 23/32, weight: 2.3}
  poplar: {thickness: 3/4}
"""


def job_of(text: str) -> Job:
    return parse_job(HEAD + text, "test.yaml")


def plan_of(text: str, seconds: float = 10, effort: int = 300) -> Plan:
    return plan_job(job_of(text), Settings(seconds=seconds, effort=effort)).plan


@given(job_texts())
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
def test_every_plan_passes_the_check_and_its_areas_add_up_exactly(text: str):
    job = parse_job(text, "random.yaml")
    try:
        plan = plan_job(job, Settings(seconds=5, effort=40)).plan
    except JobError:
        assume(False)  # a part too long for its sheets or rails
        return
    assert check_plan(plan) == []
    assert against_job(plan, job) == []
    for sheet in plan.sheets:
        area = sheet.area
        assert area.sheet == area.parts + area.kerf + area.keep + area.scrap == 2 * sheet.length * sheet.width
        assert area.parts == sum(abs(twice_area(placed.corners)) for placed in sheet.placed)
        assert stray(sheet) <= 2  # Shapely replays the cuts
    assert room(plan) <= 4  # two units for a slant, at either of two points


def test_a_sheet_by_hand():
    # two legs 83 1/4 x 12 3/4 to 13, head to foot: 25 3/4 and a kerf of 3/32 at either end, on 47 1/2 inside
    # the trims; the rest is 21 21/32 wide at the least, so one 4x8 at 94.00 does
    plan = plan_of("""
stock: [{name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}]
parts:
  - {name: leg, material: birch, length: 83 1/4, width: [12 3/4, 13], count: 2}
""")
    (sheet,) = plan.sheets
    assert (plan.totals.cost, plan.proof.lower_bound, plan.proof.proved) == (94.0, 94.0, True)
    assert sheet.area.parts == 2 * 2 * int(83.25 * INCH * 12.875 * INCH)
    shared = [cut for cut in sheet.cuts if cut.kind == "taper"]
    assert len(shared) == 1  # one slanted cut parts the two legs
    assert {mark.reading for mark in shared[0].marks} == {int(w * INCH) for w in (12.75, 13)}


def test_materials_are_solved_apart_and_add_up():
    plan = plan_of("""
stock:
  - {name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}
  - {name: poplar board, material: poplar, length: 96, width: 11 1/4, price: 31.50}
parts:
  - {name: shelf, material: birch, length: 34, width: 12}
  - {name: apron, material: poplar, length: 60, width: 8}
""")
    assert [sheet.material for sheet in plan.sheets] == ["birch", "poplar"]
    assert (plan.totals.cost, plan.proof.lower_bound) == (125.5, 125.5)


OPENING = """
  - name: Door
    material: [birch, poplar]
    height: {{left: 83 1/2, right: 83 1/2}}
    width: {{low: 37, middle: 37, high: 37}}
    wall:
      left:  [[2, {w}], [42, {w}], [81, {w}]]
      right: [[2, {w}], [42, {w}], [81, {w}]]
      head:  [[0, {w}], [18, {w}], [37, {w}]]
"""


def test_what_stands_on_a_slanted_cut_reaches_up_to_a_level_edge_exactly():
    # 12 and 3 5/8 with a kerf are all of 15 3/4, on a cut that slants: rounding must not go over the edge
    job = parse_job("""
job: unit
units: inch
saw: {kerf: 1/8}
materials: {birch: {thickness: 3/4}}
stock:
  - {name: s, material: birch, length: 40, width: 15 3/4, price: 10, trim: 0}
parts:
  - {name: taper, material: birch, length: 11 1/2, width: [11 1/2, 12]}
  - {name: rect, material: birch, length: 10 3/4, width: 3 5/8}
""", "unit.yaml")  # fmt: skip
    assert len(plan_job(job, Settings(seconds=10, effort=300)).plan.sheets) == 1


@pytest.mark.parametrize(("wall", "material"), [("9", "poplar"), ("12 1/2", "birch")])
def test_an_opening_takes_the_cheaper_of_its_materials(wall: str, material: str):
    # PS 20: a 1x12 is 11 1/4 wide, so a wall of 12 1/2 needs the sheet; one of 9 takes three cheap boards
    plan = plan_of("""
stock:
  - {name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}
  - {name: 1x12x8, material: poplar, length: 96, width: 11 1/4, price: 25.00}
openings:""" + OPENING.format(w=wall))
    assert {part.material for part in plan.parts} == {material}
    assert plan.proof.proved


def test_what_no_sheet_or_rail_takes_is_named_with_its_line():
    text = """
stock: [{name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}]
parts:
  - {name: long, material: birch, length: 120, width: 10}
  - {name: wide, material: birch, length: 60, width: 50}
  - {name: good, material: birch, length: 60, width: 10}
"""
    with pytest.raises(JobError) as caught:
        plan_of(text)
    said = [str(fault) for fault in caught.value.faults]
    assert [line.split(":")[1] for line in said] == ["11", "12"]
    assert "120\" long" in said[0]
    assert "50\" wide" in said[1]


def test_no_rail_long_enough_is_said():
    text = HEAD.replace("[118, 55]", "[55]").replace("join: yes", "join: no") + """
stock: [{name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}]
parts: [{name: leg, material: birch, length: 83, width: 10}]
"""
    with pytest.raises(JobError, match="no rail is long enough"):
        plan_job(parse_job(text, "x"), Settings(seconds=2))


@pytest.mark.parametrize(("saw", "remedy"), [
    ("rails: [55], join: no", "; add a longer rail"),
    ("rails: [55, 42], join: no", "; add a longer rail, or allow joining"),
    ("rails: [42, 40], join: no", "; add a longer rail"),  # joined they reach no farther than 72
    ("rails: [42, 40], join: yes", "; add a rail"),  # 82 less the leads of 10
])  # fmt: skip
def test_what_is_no_help_for_short_rails_is_not_advised(saw: str, remedy: str):
    text = HEAD.replace("rails: [118, 55], join: yes", saw) + """
stock: [{name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}]
parts: [{name: leg, material: birch, length: 83, width: 10}]
"""
    with pytest.raises(JobError) as caught:
        plan_job(parse_job(text, "x"), Settings(seconds=2))
    assert str(caught.value.faults[0]).endswith(remedy)


def test_of_a_part_across_the_grain_the_sheet_s_width_is_named():
    """A sheet 121 long stands there: it is no help to a part that lies across it."""
    with pytest.raises(JobError) as caught:
        plan_of("""
stock: [{name: birch 5x10, material: birch, length: 121, width: 61, price: 165}]
parts:
  - {name: top, material: birch, length: 75 3/4, width: 20, grain: across}
  - {name: long, material: birch, length: 40, width: 130, grain: across}
""")
    top, long = map(str, caught.value.faults)
    assert 'it lies across the grain, is 75 3/4" long, and the widest stock has 60 1/2" inside' in top
    assert "add wider stock" in top
    assert 'is 130" wide, and the longest stock has 120 1/2" inside' in long


def test_play_that_is_kept_is_named_where_it_is_what_a_part_lacks():
    """96 less two trims of 1/4 are 95 1/2, as long as the part; with 1/16 kept it is too long."""
    with pytest.raises(JobError) as caught:
        plan_of("""
play: 1/16
stock: [{name: birch 4x8, material: birch, length: 96, width: 48, price: 94}]
parts: [{name: leg, material: birch, length: 95 1/2, width: 12}]
""")
    (fault,) = map(str, caught.value.faults)
    assert '95 7/16" inside the trims and the play that is kept; add longer stock' in fault


@pytest.mark.parametrize("zone", ["", ", blocked: [{left: 20, right: 40}], count: 1"])
def test_a_part_within_reach_is_not_said_to_be_longer_than_the_rails(zone: str):
    """40 long with rails that reach 45: it takes the crosscut of a sheet 48 wide, or a rip of 96."""
    text = HEAD.replace("[118, 55]", "[55]").replace("join: yes", "join: no") + f"""
stock: [{{name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00{zone}}}]
parts: [{{name: leg, material: birch, length: 40, width: 10}}]
"""
    with pytest.raises(JobError) as caught:
        plan_job(parse_job(text, "x"), Settings(seconds=2))
    (said,) = map(str, caught.value.faults)
    assert 'it is 40" long, and the rails reach 45", but it takes longer cuts' in said
    assert ("bad zones" in said) == bool(zone)


@pytest.mark.parametrize(("sheet", "part"), [
    ((96, 48), (60, 12)),  # as long as the rails reach: a crosscut at the trim, one at 60 1/4
    ((60.25, 48), (59.75, 20)),  # both ends are trimmed first: the whole sheet would be 1/4 too long to rip
])  # fmt: skip
def test_ends_are_trimmed_first_where_rails_just_reach(sheet: tuple[float, float], part: tuple[float, float]):
    text = HEAD.replace("[118, 55], join: yes", "[70]") + f"""
trim: 1/4
stock: [{{name: s, material: birch, length: {sheet[0]}, width: {sheet[1]}, price: 60.00}}]
parts: [{{name: shelf, material: birch, length: {part[0]}, width: {part[1]}, count: 2}}]
"""
    plan = plan_job(parse_job(text, "x"), Settings(seconds=10, effort=300)).plan
    assert check_plan(plan) == []
    assert (plan.totals.cost, plan.proof.proved) == (60.0, True)


@pytest.mark.parametrize(("saw", "more", "stock", "parts"), [
    # an end that no part reaches to is not trimmed: the rip goes over it
    ("rails: [105.25], join: yes", "trim: 1/2", "length: 96, width: 48, price: 94",
     [("94.25", "8.5", 1), ("40", "14", 2)]),
    # nor is one with play, and a taper is longer than it runs
    ("rails: [58.75, 42.5], join: no", "trim: 0\nplay: 1/16", "length: 48.75, width: 48, price: 60",
     [("48.25", "8.5", 2), ("43.25", "9.25", 1), ("43.25", "[6, 6.5]", 1)]),
])  # fmt: skip
def test_no_cut_is_longer_than_was_counted_on(
    saw: str, more: str, stock: str, parts: list[tuple[str, str, int]]
):
    text = HEAD.replace("rails: [118, 55], join: yes", saw) + f"""
{more}
stock: [{{name: s, material: birch, {stock}}}]
parts:
""" + "".join(
        f"  - {{name: p{number}, material: birch, length: {length}, width: {width}, count: {count}}}\n"
        for number, (length, width, count) in enumerate(parts)
    )
    plan = plan_job(parse_job(text, "x"), Settings(seconds=10, effort=400)).plan
    assert check_plan(plan) == []


def test_each_part_is_told_the_limit_that_it_breaks_itself():
    """A panel that is wider than any sheet changes nothing of what keeps the leg from being cut."""
    text = HEAD.replace("[118, 55]", "[55]").replace("join: yes", "join: no") + """
stock: [{name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}]
parts:
  - {name: leg, material: birch, length: 83, width: 10}
  - {name: panel, material: birch, length: 60, width: 50}
"""
    with pytest.raises(JobError) as caught:
        plan_job(parse_job(text, "x"), Settings(seconds=2))
    leg, panel = map(str, caught.value.faults)
    assert "leg: no rail is long enough" in leg
    assert 'panel: it is 50" wide' in panel


def test_counts_too_small_are_no_plan():
    with pytest.raises(NoPlanError, match="no plan within the counts"):
        plan_of("""
stock: [{name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00, count: 1}]
parts: [{name: leg, material: birch, length: 83, width: 14, count: 4}]
""")


def test_the_shop_is_used_before_anything_is_bought():
    plan = plan_of("""
stock:
  - {name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}
  - {name: rack, material: birch, length: 61, width: 22 1/2, count: 1, trim: 0, in_shop: yes}
parts: [{name: shelf, material: birch, length: 60, width: 22}]
""")
    assert (plan.totals.sheets, plan.totals.cost) == ({"rack": 1}, 0.0)


def test_without_prices_area_stands_for_money():
    plan = plan_of("""
stock: [{name: birch 4x8, material: birch, length: 96, width: 48}]
parts: [{name: shelf, material: birch, length: 60, width: 22}]
""")
    assert plan.priced_by_area
    assert plan.totals.cost == 96 * 48


def test_progress_tells_of_checked_plans_and_seconds_are_kept():
    told: list[Progress] = []
    text = "stock: [{name: s, material: birch, length: 96, width: 48, price: 94}]\nparts:\n" + "".join(
        f"  - {{name: p{i}, material: birch, length: {20 + 7 * i % 60}, width: {5 + 3 * i % 11}, count: 2}}\n"
        for i in range(20)
    )
    begun = time.monotonic()
    plan = plan_job(job_of(text), Settings(seconds=1.5, effort=10**9), told.append).plan
    assert time.monotonic() - begun < 1.5 + 5
    assert told
    assert told[-1].cost is not None
    assert min(news.cost for news in told if news.cost is not None) == round(plan.totals.cost * 100)


def test_the_same_job_gives_the_same_bytes():
    text = """
stock:
  - {name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}
  - {name: birch 4x10, material: birch, length: 120, width: 48, price: 131.00}
parts:
  - {name: leg, material: birch, length: 83 1/4, width: [12 3/4, 13], count: 4}
  - {name: head, material: birch, length: 37, width: 12 7/8, count: 3}
"""
    first, second = (plan_of(text, seconds=60, effort=60).to_json() for _ in range(2))
    assert first == second


TWO = """
stock:
  - {name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}
  - {name: poplar board, material: poplar, length: 96, width: 11 1/4, price: 31.50}
parts:
  - {name: shelf, material: birch, length: 34, width: 12, count: 7}
  - {name: apron, material: poplar, length: 60, width: 8}
"""


def test_each_material_is_told_of_before_one_is_searched_for_long(monkeypatch: pytest.MonkeyPatch):
    told: list[Progress] = []
    before: list[set[str]] = []
    usual = planner.solve

    def solve(*arguments: Any) -> Any:
        before.append({news.material for news in told})
        return usual(*arguments)

    monkeypatch.setattr(planner, "solve", solve)
    plan_job(job_of(TWO), Settings(seconds=5, effort=20), told.append)
    assert before[0] == {"birch", "poplar"}
    assert len(told) == len({(news.material, news.sheets, news.cost, news.bound) for news in told})


def test_nothing_is_judged_while_nobody_listens(monkeypatch: pytest.MonkeyPatch):
    judged: list[Plan] = []
    monkeypatch.setattr(planner, "check_plan", lambda plan: judged.append(plan) or check_plan(plan))
    plan_job(job_of(TWO), Settings(seconds=5, effort=20))
    assert not judged  # but by `checked`, at the end


@pytest.mark.parametrize("failing", [1, 2, 99])
def test_a_plan_that_fails_the_check_gives_way_to_one_that_passes(
    failing: int, monkeypatch: pytest.MonkeyPatch
):
    """The engine's last plans are called bad here: an earlier one, or one of another seed, is taken."""
    bad: list[str] = []

    def judge(plan: Plan) -> list[Violation]:
        key = str(plan.sheets)
        if key not in bad and len(bad) < failing:
            bad.append(key)
        return [Violation("gap", 1, None, "made up")] if key in bad else check_plan(plan)

    def seal(plan: Plan) -> Any:
        if judge(plan):
            raise CheckFailedError("made up")
        return checked(plan)

    monkeypatch.setattr(planner, "check_plan", judge)
    monkeypatch.setattr(planner, "checked", seal)
    text = TWO.split("parts:", maxsplit=1)[0] + "parts:\n" + "".join(
        f"  - {{name: p{i}, material: birch, length: {20 + 7 * i % 60}, width: {5 + 3 * i % 11}, count: 2}}\n"
        for i in range(9)
    )
    if failing == 99:
        with pytest.raises(CheckFailedError):
            plan_of(text, effort=3000)
        return
    plan = plan_of(text, effort=3000)
    assert check_plan(plan) == []
    assert any("a later plan failed its check" in warning for warning in plan.warnings)


def test_a_leg_of_the_other_hand_leans_and_its_ends_are_cuts_of_their_own():
    # 15 and 15 3/8 at either end, 16 and two kerfs of 3/32: 46 9/16 of 46 5/8; level it would take 46 15/16
    plan = plan_of("""
lean: 1/2
trim: 0
stock: [{name: birch, material: birch, length: 96, width: 46 5/8, price: 94.00}]
parts:
  - {name: right leg, material: birch, length: 90, width: [15, 15 3/8]}
  - {name: left leg, material: birch, length: 90, width: [15 3/8, 15]}
  - {name: shelf, material: birch, length: 80, width: 16}
""", effort=2_000)
    (sheet,) = plan.sheets
    assert stray(sheet) <= 2
    assert room(plan) <= 4
    (leaning,) = [p for p in sheet.placed if p.corners[0][1] != p.corners[1][1]]
    run, rise = (abs(a - b) for a, b in zip(*leaning.corners[:2], strict=True))
    assert abs(rise / run - 0.375 / 90) < 1e-5  # it leans by the other one's taper
    upright = [cut for cut in sheet.cuts if abs(cut.start[0] - cut.to[0]) < abs(cut.start[1] - cut.to[1])]
    ends = [cut for cut in upright if cut.kind == "taper"]
    # 15 times 3/8 in 90 is 1/16: so far each end is out of square
    assert all(abs(abs(cut.start[0] - cut.to[0]) - INCH / 16) < INCH / 256 for cut in ends)
    assert len(ends) == 2
    assert len(upright) == 4  # one end for each of the others, and no crosscut beside the leaning ends


def test_what_a_sheet_is_short_of_is_missing_in_the_waste():
    """Two legs and a panel leave 1 3/4: the last edge was read 2 1/16 off the waste beyond.

    On a sheet 1/16 short that leg was 1/16 short of the wall. Its own width is read now, off its taper.
    """
    plan = plan_of("""
stock: [{name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}]
parts:
  - {name: leg, material: birch, length: 84, width: [12, 12 1/2], count: 2}
  - {name: panel, material: birch, length: 84, width: 21}
""")
    (sheet,) = plan.sheets
    lengthwise = [cut for cut in sheet.cuts if cut.kind in ("rip", "taper")]
    read = [(cut.marks[0].edge, [round(mark.reading / INCH, 2) for mark in cut.marks]) for cut in lengthwise]
    assert {edge for edge, _ in read} == {"lower"}
    # each its own width, or first both legs head to foot: 12 1/2, a kerf of 3/32, 12
    assert sorted(max(pair) for _, pair in read) in ([12.5, 12.5, 21.0], [12.5, 21.0, 24.59])


def test_the_kerf_of_a_slanted_cut_beside_waste_is_play_too():
    """A panel of 23 1/2, a kerf and a leg of 23 13/16 leave 3/32 of 47 1/2: what its own cut takes."""
    plan = plan_of("""
stock: [{name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}]
parts:
  - {name: panel, material: birch, length: 84, width: 23 1/2}
  - {name: leg, material: birch, length: 84, width: [23 13/16, 23 9/16]}
""")
    assert plan.sheets[0].play.across == 3 * INCH // 32
