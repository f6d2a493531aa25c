"""Which opening comes out of which material: against every choice planned by itself."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.errors import JobError, NoPlanError
from nesting.job.job import Job
from nesting.job.reading import parse_job
from nesting.packing.instance import Instance, Item, Settings, Size
from nesting.packing.solve import solve
from nesting.plan import Plan
from nesting.stock import Saw
from nesting.work.choosing import Choosing
from nesting.work.planner import Planner, plan_job
from nesting.work.wanted import wanted
from nesting.work.weights import FUNCTIONS, weighings

HEAD = """
units: inch
saw: {{kerf: 3/32}}
materials:
  birch: {{thickness: 23/32}}
  poplar: {{thickness: 3/4}}
stock:
  - {{name: birch 4x8, material: birch, length: 96, width: 48, price: {sheet}}}
  - {{name: 1x12, material: poplar, board: 1x12, length: [8', 10'], price: {foot} a foot}}
openings:
"""
OPENING = """
  - name: room {n}
    material: [poplar, birch]
    proud: {{least: 0}}
    height: {{left: {high}, right: {high}}}
    width: {{low: 31, middle: 31, high: 31}}
    wall:
      left:  [[2, {wall}], [81, {wall}]]
      right: [[2, {wall}], [81, {wall}]]
      head:  [[0, {wall}], [31, {wall}]]
"""


def job_of(walls: list[float], sheet: float = 94, foot: float = 2.5, high: float = 83) -> Job:
    rooms = (OPENING.format(n=n, wall=wall, high=high) for n, wall in enumerate(walls))
    return parse_job(HEAD.format(sheet=sheet, foot=foot) + "".join(rooms), "test.yaml")


def every_choice(job: Job, effort: int = 300) -> dict[tuple[str, ...], Plan]:
    """Each choice planned by itself; those that cannot be are left out."""
    found = {}
    for materials in itertools.product(*(opening.material for opening in job.openings)):
        choice = {opening.name: m for opening, m in zip(job.openings, materials, strict=True)}
        planner = Planner(job, job.stock, Settings(seconds=5, effort=effort))
        try:
            found[materials] = planner.plan_for(wanted(job, choice)).plan
        except (JobError, NoPlanError):  # no board is wide enough
            continue
    return found


@pytest.mark.parametrize(("walls", "foot"), [([7, 9, 11], 1.2), ([7, 9, 12], 2.5), ([11, 11, 11], 2.0)])
def test_the_choice_is_the_cheapest_of_all(walls: list[float], foot: float):
    job = job_of(walls, foot=foot)
    plans = every_choice(job)
    plan = plan_job(job, Settings(seconds=20, effort=300)).plan
    least = min(one.totals.cost for one in plans.values())
    assert plan.totals.cost == least
    assert plan.proof.lower_bound <= least
    taken = tuple(opening.material for opening in plan.openings)
    for n, opening in enumerate(plan.openings):  # what the other would have cost is a plan that exists
        for other in opening.choices:
            changed = (*taken[:n], other.material, *taken[n + 1 :])
            if other.taken:
                assert changed == taken
            elif other.cost is None:
                assert changed not in plans
                assert "11 1/4" in other.why
            else:
                assert other.lower_bound <= plans[changed].totals.cost <= other.cost


def test_narrow_walls_from_boards_and_thick_ones_from_sheets_by_hand():
    # legs 82, heads 30 1/2; a narrow opening takes an 8' board and a 10' one (82 + 3/32 + 30 1/2 of 119):
    # 18 ft at 1.50 are 27.00, two are 54.00. The thick one, 12 wide, takes a sheet at 94.00 (36 and two
    # kerfs of 47 1/2): in all 148.00. All in birch: 24 + 36 wide and more are two sheets, 188.00
    plan = plan_job(job_of([7, 7.25, 12], foot=1.5), Settings(seconds=20, effort=300)).plan
    assert [opening.material for opening in plan.openings] == ["poplar", "poplar", "birch"]
    assert (plan.totals.cost, plan.proof.proved) == (148.0, True)


def test_far_more_than_64_choices_are_proved_where_the_bounds_allow():
    # 2^8 choices; a pair of boards at 1.00 a foot costs 18.00 (8' and 10'), less than the share of a sheet
    # that any opening takes
    walls = [10 + n / 8 for n in range(8)]
    plan = plan_job(job_of(walls, sheet=120, foot=1), Settings(seconds=20, effort=300)).plan
    assert {opening.material for opening in plan.openings} == {"poplar"}
    assert (plan.totals.cost, plan.proof.proved) == (8 * 18.0, True)


def test_every_opening_that_comes_out_of_no_material_is_named():
    with pytest.raises(JobError) as caught:
        plan_job(job_of([50, 9, 60], high=130), Settings(seconds=5))
    told = [fault.what for fault in caught.value.faults]
    assert {one.partition(" l")[0] for one in told if "left leg" in one} == {"room 0", "room 1", "room 2"}
    assert len(set(caught.value.faults)) == len(told)


def test_openings_that_are_alike_are_one_kind():
    choosing = Choosing(job_of([9] * 12), job_of([9] * 12).stock, Settings(seconds=5))
    assert [len(kind.openings) for kind in choosing.kinds] == [12]
    assert sum(1 for _, split in choosing._leaves() if split) == 13  # so many in poplar, the rest in birch


def test_the_bound_is_below_every_choice_and_the_order_is_right():
    job = job_of([7, 9, 11], foot=1.6)
    choosing = Choosing(job, job.stock, Settings(seconds=10, effort=100))
    choosing.choose()
    plans = {m: plan.totals.cost for m, plan in every_choice(job).items()}
    leaves = list(choosing._leaves())
    assert [bound for bound, _ in leaves] == sorted(bound for bound, _ in leaves)
    assert len(leaves) == 8
    for bound, split in leaves:
        named = choosing._names(split)
        assert bound <= 100 * plans[tuple(named[opening.name] for opening in job.openings)]


SIZES = (Size("a", 96, 48, 94), Size("b", 120, 48, 131), Size("c", 96, 12, 20))


PARTS = st.lists(st.tuples(st.integers(5, 90), st.integers(1, 40), st.integers(1, 3)), min_size=1, max_size=5)
OFFERED = st.lists(st.sampled_from(SIZES), min_size=1, max_size=3, unique=True)


@given(PARTS, OFFERED, st.booleans(), st.booleans())
@settings(max_examples=40, deadline=None)
def test_weights_never_come_to_more_than_a_plan_costs(
    parts: list[tuple[int, int, int]], sizes: list[Size], rack: bool, tapered: bool
):
    made = {
        Item(length, max(1, width - 1) if tapered and n == 0 else width, width, count=count)
        for n, (length, width, count) in enumerate(parts)
    }
    offered = (*sizes, *([Size("rack", 60, 30, 0, 1)] if rack else []), Size("big", 200, 60, 400))
    instance = Instance(tuple(made), offered, Saw(kerf=1))
    result = solve(instance, Settings(seconds=2, effort=0))
    for way in weighings(replace(instance, items=tuple(replace(item, count=1) for item in made))):
        total = sum(way.weight[replace(item, count=1)] * item.count for item in made)
        assert total - way.saved <= result.cost


@given(st.lists(st.fractions(0, 1), max_size=6).filter(lambda xs: sum(xs) <= 1))
def test_functions_are_dual_feasible(shares):
    for function in FUNCTIONS:
        assert sum(map(function, shares)) <= 1


def test_what_comes_out_of_other_materials_is_in_every_figure():
    # a shelf of a third material, 40.00 for its only sheet, on top of the choice of one opening by itself
    extra = "parts: [{name: shelf, material: mdf, length: 40, width: 12}]\n"
    text = HEAD.format(sheet=94, foot=1.5) + OPENING.format(n=0, wall=9, high=83)
    alone = plan_job(parse_job(text, "test.yaml"), Settings(seconds=10, effort=300)).plan
    sheet = "  - {name: mdf, material: mdf, length: 97, width: 49, price: 40}\nopenings:"
    text = text.replace("  poplar:", "  mdf: {thickness: 3/4, grain: no}\n  poplar:", 1)
    text = text.replace("openings:", sheet)
    more = plan_job(parse_job(text + extra, "test.yaml"), Settings(seconds=10, effort=300)).plan
    assert (alone.totals.cost, more.totals.cost) == (27.0, 67.0)  # by hand: 18 ft of board
    assert alone.proof.proved
    assert more.proof.proved
    costs = [[one.cost for one in plan.openings[0].choices if not one.taken] for plan in (alone, more)]
    assert costs == [[94.0], [134.0]]
