"""Whatever a plan file says, the judge answers with violations and never with an exception."""

from __future__ import annotations

import random
from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from nesting.check import CheckedPlan, Violation, check_plan, checked
from nesting.errors import CheckFailedError
from nesting.plan import Plan
from tests.check import sample
from tests.check.sample import Dict, inch
from tests.check.second import name

WILD: dict[type, list[Any]] = {  # values of the kind that was there, so that most can still be read
    int: [0, 1, -1, 2, -762, 10**5, 10**9, -(10**9), 10**12],
    float: [0.0, 0.5, -1e300, 1e308, 5e-324, -1.0],
    bool: [True, False],
    str: ["", "A", "Q", "left", "right", "lower", "upper", "from", "to", "birch 4x8", "TOP"],
    list: [[], [[0, 0]] * 4, [[5, 5], [0, 0], [9, 0], [0, 9]]],
}


def leaves(data: Any) -> list[tuple[Any, Any]]:
    """Everything in a plan's data, as what holds it and its key or place."""
    keys = list(data) if isinstance(data, dict) else list(range(len(data)))
    inner = [data[key] for key in keys if isinstance(data[key], (dict, list))]
    return [(data, key) for key in keys] + [leaf for one in inner for leaf in leaves(one)]


def plain(data: Any) -> Any:
    """Copy with lists for tuples, so that everything can be changed."""
    if isinstance(data, dict):
        return {key: plain(value) for key, value in data.items()}
    return [plain(one) for one in data] if isinstance(data, (list, tuple)) else data


def test_no_plan_that_can_be_read_makes_the_judge_stumble() -> None:
    draw, judged = random.Random(20), 0
    for base in [sample.kiln_data(), sample.mill_data()] * 150:
        data = plain(base)
        for _ in range(draw.randint(1, 4)):
            holder, key = draw.choice(leaves(data))
            holder[key] = deepcopy(draw.choice(WILD.get(type(holder[key]), [holder[key]])))
        try:
            plan = Plan.model_validate(data)
        except ValidationError:
            continue
        judged += 1
        assert all(str(violation) for violation in check_plan(plan))
    assert judged > 100


points = st.tuples(st.integers(-5, 5), st.integers(-5, 5)).map(lambda p: (p[0] * 1000, p[1] * 1000))


@settings(max_examples=200, deadline=None)
@given(st.lists(st.tuples(points, points), max_size=5), st.lists(points, min_size=4, max_size=4),
       st.lists(st.lists(points, max_size=5), max_size=3), st.integers(-1, 1))
def test_garbage_geometry_gives_violations(cuts: list[Any], placed: list[Any], offcuts: list[Any],
                                           kerf: int) -> None:  # fmt: skip
    """On a coarse grid of points: coincident points, crossed corners, cuts of no length and outside."""
    data = sample.kiln_data()
    sheet = data["sheets"][0]
    sheet |= {"length": 4000, "width": 3000, "kerf": 500 * kerf}
    sheet["placed"][0]["corners"] = placed
    sheet["cuts"] = [{"number": i + 1, **sample.cut("taper", "AB"[i % 2], *ends, "left", [])}
                     for i, ends in enumerate(cuts)]  # fmt: skip
    sheet["offcuts"] = [{"number": i + 1, **sample.offcut(corners)} for i, corners in enumerate(offcuts)]
    assert check_plan(Plan.model_validate(data))


BOARDS: Dict = sample.BIRCH | {"count": None, "trim": {}}


def boards(first: int, kerf: int) -> tuple[Dict, list[Dict], list[Dict]]:
    """Four columns of ten boards, 20 by 3 1/2, out of one sheet, and what is over."""
    length, width, far, top = inch(20), inch(3.5), inch(96), inch(48)
    placed: Dict = {}
    cuts: list[Dict] = []
    offcuts: list[Dict] = []
    sheet = "A"
    for x in range(0, 4 * (length + kerf), length + kerf):
        cuts.append(sample.cut("crosscut", sheet, (x + length, 0), (x + length, top), "right",
                               sample.both("left", length)))  # fmt: skip
        column, sheet = sheet, name(len(cuts))
        for y in range(0, 10 * (width + kerf), width + kerf):
            cuts.append(sample.cut("rip", column, (x, y + width), (x + length, y + width), "left",
                                   sample.both("lower", width)))  # fmt: skip
            column = name(len(cuts))
            placed[first + len(placed)] = corners(x, y, x + length, y + width)
        offcuts.append(sample.offcut(corners(x, 10 * (width + kerf), x + length, top)))
    return placed, cuts, [*offcuts, sample.offcut(corners(4 * (length + kerf), 0, far, top))]


def corners(x0: int, y0: int, x1: int, y1: int) -> list[tuple[int, int]]:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def test_a_large_plan_is_judged_whole() -> None:
    """100 sheets of 40 boards: 4000 parts, 4400 cuts; letters go on to AR."""
    parts, sheets = [], []
    for number in range(1, 101):
        placed, cuts, offcuts = boards(40 * number - 39, 762)
        parts += [sample.part(n, inch(20), (inch(3.5), inch(3.5))) for n in placed]
        sheets.append(sample.sheet(number, BOARDS, 762, placed, cuts, offcuts))
    data = sample.plan_data(parts, sheets, [BOARDS], sample.SAW | {"rails": []})
    assert len(data["parts"]) == 4000
    assert check_plan(Plan.model_validate(data)) == []


def test_only_what_passed_can_be_drawn() -> None:
    plan = sample.kiln()
    assert checked(plan).plan is plan
    with pytest.raises(TypeError):
        CheckedPlan(plan, object())
    with pytest.raises(TypeError):
        CheckedPlan(plan)  # type: ignore[call-arg]


def test_all_violations_are_told_each_on_a_line() -> None:
    data = sample.kiln_data()
    data["parts"][2]["grain"] = "across"
    data["sheets"][0]["cuts"][0]["kind"] = "rip"
    data["lean"] = 60
    with pytest.raises(CheckFailedError) as caught:
        checked(Plan.model_validate(data))
    lines = str(caught.value).splitlines()
    assert [line.split("]")[0] for line in lines] == [
        "plan: [record", "sheet 1, part 3: [grain", "sheet 1: [cut-kind"]  # fmt: skip
    assert caught.value.exit_code == 4


def test_a_violation_of_a_part_alone_names_the_part() -> None:
    assert str(Violation("part-missing", None, 7, "it is on no sheet")) == (
        "part 7: [part-missing] it is on no sheet")
