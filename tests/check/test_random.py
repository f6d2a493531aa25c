"""Sheets cut up at random pass; what is then changed is found, wherever Shapely says that it matters."""

from __future__ import annotations

import json
import random
from typing import Any

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from nesting.check import check_plan
from nesting.plan import Plan, plan_from_data
from tests.check import sample
from tests.check.cutup import cut_up
from tests.check.sample import Dict, twice
from tests.check.second import misfit, pieces, room, stray

SOME = settings(max_examples=60, deadline=None)
seeds = st.integers(0, 2**32)


def codes(data: Dict) -> set[str]:
    return {violation.code for violation in check_plan(Plan.model_validate(data))}


def made(seed: int, sheets: int = 1) -> Dict:
    """Make a plan out of one number: Hypothesis picks the numbers, and one that fails is a fixed case."""
    return cut_up(random.Random(seed).randint, sheets)


@SOME
@given(seeds)
def test_what_is_cut_up_edge_to_edge_passes(seed: int) -> None:
    assert check_plan(Plan.model_validate(made(seed, 2))) == []


@pytest.mark.parametrize("plan", [sample.kiln(), sample.mill()], ids=["kiln", "mill"])
def test_shapely_agrees_that_the_hand_made_plans_are_good(plan: Plan) -> None:
    assert max(misfit(sheet) for sheet in plan.sheets) <= 1
    assert room(plan) <= 1


@SOME
@given(seeds)
@example(171840)  # Shapely finds nothing in common to a part and its piece, a thousandth of a unit apart
def test_shapely_agrees_that_the_random_plans_are_good(seed: int) -> None:
    plan = Plan.model_validate(made(seed))
    assert misfit(plan.sheets[0]) <= 2
    assert stray(plan.sheets[0]) <= 2
    assert room(plan) <= 2


def vertices(data: Dict) -> list[tuple[Any, Any]]:
    """All points of the first sheet, as what holds each and its place in that."""
    sheet = data["sheets"][0]
    shapes = [(thing["corners"], i) for thing in sheet["placed"] + sheet["offcuts"]
              for i in range(len(thing["corners"]))]  # fmt: skip
    return shapes + [(cut, end) for cut in sheet["cuts"] for end in ("from", "to")]


@settings(max_examples=150, deadline=None)
@given(seeds, st.integers(0, 10**6), st.integers(-3000, 3000), st.integers(-3000, 3000))
def test_a_point_that_is_moved_is_found_where_it_matters(seed: int, which: int, dx: int, dy: int) -> None:
    data = made(seed)
    spots = vertices(data)
    holder, place = spots[which % len(spots)]
    holder[place] = (holder[place][0] + dx, holder[place][1] + dy)
    plan = Plan.model_validate(data)
    assume(misfit(plan.sheets[0]) > 20)  # ten times what a slant is granted
    assert check_plan(plan)


@SOME
@given(seeds, st.sampled_from(["rip", "crosscut"]), st.sampled_from([-1, 1]), st.integers(0, 10**6))
def test_a_straight_cut_one_unit_off_is_found(seed: int, kind: str, by: int, which: int) -> None:
    data = made(seed)
    cuts = [cut for cut in data["sheets"][0]["cuts"] if cut["kind"] == kind]
    assume(cuts)
    cut = cuts[which % len(cuts)]
    dx, dy = (by, 0) if kind == "crosscut" else (0, by)
    for end in ("from", "to"):
        cut[end] = (cut[end][0] + dx, cut[end][1] + dy)
    for mark in cut["marks"]:
        mark["reading"] += by
    assert codes(data) & {"piece-part", "piece-offcut"}


@SOME
@given(seeds, st.integers(0, 10**6))
def test_a_cut_left_out_is_found(seed: int, which: int) -> None:
    data = made(seed)
    cuts = data["sheets"][0]["cuts"]
    assume(cuts)
    del cuts[which % len(cuts)]
    assert codes(data) & {"piece-part", "piece-offcut", "cut-piece"}


@SOME
@given(seeds)
def test_the_file_gives_back_the_same_plan(seed: int) -> None:
    data = made(seed)
    for units in ("inch", "mm"):
        plan = Plan.model_validate(data | {"units": units})
        text = plan.to_json()
        again = plan_from_data(json.loads(text))
        assert again == plan
        assert again.to_json() == text


@SOME
@given(seeds)
def test_areas_add_up_and_kerf_is_what_the_cuts_took(seed: int) -> None:
    """By Shapely's pieces: off by half a unit at most along every slanted edge, rounded corners too."""
    plan = Plan.model_validate(made(seed))
    sheet = plan.sheets[0]
    area = sheet.area
    assert area.sheet == area.parts + area.kerf + area.keep + area.scrap
    left = pieces(sheet).values()
    took = sheet.length * sheet.width - sum(piece.area for piece in left)
    assert abs(took - area.kerf / 2) <= sum(piece.length for piece in left)


def test_a_part_that_leans_is_off_the_grain_by_more_than_no_lean() -> None:
    """Common sense, no source: half a degree or less passes at 1/2, and is too much at 0."""
    leaning = 0
    for seed in range(30):
        data = made(seed)
        leant = [placed for placed in data["sheets"][0]["placed"]
                 if 4 < abs(placed["corners"][0][1] - placed["corners"][1][1]) < 10_000]  # fmt: skip
        leaning += bool(leant)
        assert "grain" not in codes(data)
        assert ("grain" in codes(data | {"lean": 0.0})) == bool(leant)
    assert leaning > 5


def test_kerf_of_the_hand_made_plan_is_the_sum_of_its_strips() -> None:
    """Each cut's length across the strip times 3/32: the figure of the sample, the other way round."""
    strips = [96, 96, 26.34375, 26.34375, 83.25, 21.3125, 21.3125, 34.5, 21.0625 + 0.25, 60.90625]
    assert sample.kiln_areas()["kerf"] == sample.square_inches(sum(strips) * 3 / 32)
    assert twice([p["corners"] for p in sample.kiln_data()["sheets"][0]["placed"]]) == (
        sample.kiln_areas()["parts"])
