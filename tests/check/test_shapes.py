"""The checker's geometry against Shapely, and what a slant is granted."""

from __future__ import annotations

from fractions import Fraction
from math import cos, hypot, inf, radians, sin
from typing import Any

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st
from scipy.optimize import linprog
from shapely.geometry import MultiPoint, Polygon

from nesting.check import check_plan, shapes
from nesting.check.replay import letters
from nesting.plan import Plan
from tests.check import sample
from tests.check.sample import inch
from tests.check.second import name

spots = st.tuples(st.integers(-400, 400), st.integers(-400, 400))
convex = st.lists(spots, min_size=3, max_size=8).map(shapes.hull).filter(bool)


@given(st.lists(spots, min_size=1, max_size=12))
@example([(0, 0), (1, 1), (2, 2)])
def test_hull_is_shapelys(corners: list[Any]) -> None:
    right = MultiPoint(corners).convex_hull
    shape = shapes.hull(corners)
    assert shapes.twice_area(shape) == round(2 * right.area)
    assert bool(shape) == (right.geom_type == "Polygon")
    assert not shape or Polygon(shape).equals(right)


@given(convex, spots, spots)
def test_what_a_line_leaves_adds_up_to_the_shape(shape: Any, start: Any, to: Any) -> None:
    assume(start != to)
    line = shapes.Line.through(start, to)
    sides = [shapes.clip(shape, side) for side in (line, line.flipped())]
    assert sum(map(shapes.twice_area, sides)) == shapes.twice_area(shape)
    assert not any(line.over(spot) < 0 for spot in sides[0])


@given(convex, convex, st.integers(0, 300))
def test_room_between_two_shapes_is_shapelys_distance(one: Any, other: Any, kerf: int) -> None:
    first, second = Polygon(one), Polygon(other)
    near, fault = first.distance(second), shapes.apart(one, other, kerf)
    assert fault == shapes.apart(other, one, kerf)
    if near >= kerf and near > 0:
        assert fault is None
    elif near < kerf - shapes.SLACK:
        assert fault is not None
    if first.buffer(-3).intersects(second.buffer(-3)):  # deeper than the slack, even at a sharp corner
        assert fault == "overlap"
    if near > 0:
        assert fault != "overlap"


@pytest.mark.parametrize(("gap", "fault"), [(762, None), (761, "gap"), (0, "gap"), (-1, "overlap")])
def test_beside_a_straight_edge_nothing_is_granted(gap: int, fault: str | None) -> None:
    left, right = ((0, 0), (1000, 0), (1000, 500), (0, 500)), 1000 + gap
    beside = ((right, 100), (right + 900, 100), (right + 900, 700), (right, 700))
    assert shapes.apart(left, beside, 762) == fault


@given(convex, st.integers(1, 500), st.integers(1, 500))
def test_a_rectangle_fits_where_a_linear_programme_finds_room(shape: Any, length: int, width: int) -> None:
    """SciPy (HiGHS): a corner spot and the depth to which all four corners lie inside slanted edges."""
    sides = shapes.edges(shape)
    size = [hypot(side.a, side.b) for side in sides]
    rows = [[-side.a / n, -side.b / n, 1.0 if side.slanted else 0.0]
            for side, n in zip(sides, size, strict=True) for _ in range(4)]  # fmt: skip
    ends = [(side.over((dx, dy)) / n) for side, n in zip(sides, size, strict=True)
            for dx, dy in ((0, 0), (length, 0), (length, width), (0, width))]  # fmt: skip
    best = linprog([0, 0, -1], A_ub=rows, b_ub=ends, bounds=[(None, None), (None, None), (None, 1000)])
    depth = -best.fun if best.status == 0 else -inf
    assume(abs(depth + shapes.SLACK) > 0.001)
    assert shapes.holds_rectangle(shape, length, width) == (depth > -shapes.SLACK)


def test_a_rectangle_fits_a_box_of_its_size_and_none_smaller() -> None:
    box = ((0, 0), (900, 0), (900, 400), (0, 400))
    assert shapes.holds_rectangle(box, 900, 400)
    assert not shapes.holds_rectangle(box, 901, 400)
    assert not shapes.holds_rectangle(box, 900, 401)


@given(st.integers(0, 10**12), st.integers(1, 10**6))
def test_root_is_within_a_millionth(top: int, bottom: int) -> None:
    root = shapes.root(Fraction(top, bottom))
    assert root**2 <= Fraction(top, bottom) < (root + Fraction(1, 10**6)) ** 2


@given(st.integers(0, 10**6), st.integers(0, 10**6), st.integers(0, 5))
def test_roots_are_near_when_whole_numbers_are(one: int, other: int, slack: int) -> None:
    assert shapes.nearly(one**2, other**2, slack) == (abs(one - other) <= slack)


def test_letters_go_on_after_z() -> None:
    gone = letters()
    assert [next(gone) for _ in range(800)] == [name(place) for place in range(800)]
    assert [name(25), name(26), name(701), name(702)] == ["Z", "AA", "ZZ", "AAA"]


@given(st.floats(-0.5, 0.5), st.integers(inch(4), inch(120)), st.integers(inch(1), inch(48)),
       st.integers(-2000, 2000), st.sampled_from([0, 90, 180, 270]))
def test_corners_rounded_to_whole_units_still_make_the_part(
    lean: float, length: int, width: int, skew: int, turn: int
) -> None:
    """A part turned by any lean, each corner to the nearest unit, has its size."""
    assume(abs(lean) > 0.01)
    angle = radians(lean + turn)
    outline = [(0, 0), (length, 0), (length + skew, width + 500), (0, width)]
    corners = [(round(x * cos(angle) - y * sin(angle)), round(x * sin(angle) + y * cos(angle)))
               for x, y in outline]  # fmt: skip
    data = sample.kiln_data()
    data["parts"] = [sample.part(1, length, (width, width + 500), (0, skew))]
    data["sheets"][0]["placed"] = [{"number": 1, "corners": corners}]
    assert "part-size" not in codes(data)
    i, off = 2, (9, 0) if abs(cos(angle)) > 0.5 else (0, 9)
    corners[i] = (corners[i][0] + off[0], corners[i][1] + off[1])
    assert "part-size" in codes(data)


def codes(data: dict[str, Any]) -> set[str]:
    return {violation.code for violation in check_plan(Plan.model_validate(data))}


@pytest.mark.parametrize(("off", "found"), [(-1, set()), (1, set()), (3, {"piece-offcut"}),
                                            (-3, {"piece-offcut"})])  # fmt: skip
def test_a_corner_on_a_slant_may_be_off_by_two_units(off: int, found: set[str]) -> None:
    """Offcut 5 of the mm plan lies a kerf off the leg's slanted edge; its lower right corner is moved.

    The corner is rounded already, by half a unit at most.
    """
    data = sample.mill_data()
    x, y = data["sheets"][0]["offcuts"][4]["corners"][1]
    data["sheets"][0]["offcuts"][4]["corners"][1] = (x, y + off)
    assert codes(data) & {"piece-offcut"} == found


@pytest.mark.parametrize(("off", "found"), [(1, set()), (-1, set()), (3, {"cut-part", "piece-part"}),
                                            (-3, {"cut-part", "piece-part"})])  # fmt: skip
def test_a_slanted_cut_may_be_off_by_two_units_square_to_it(off: int, found: set[str]) -> None:
    """The kerf between the legs is 762.014 along the width, so that 2 is a hair too much already."""
    data = sample.kiln_data()
    cut = data["sheets"][0]["cuts"][4]
    for end, mark in zip(("from", "to"), cut["marks"], strict=True):
        cut[end] = (cut[end][0], cut[end][1] + off)
        mark["reading"] += off
    assert codes(data) == found


def test_slack_is_a_quarter_of_a_thousandth() -> None:
    assert 0.00024 < shapes.SLACK / inch(1) < 0.00025
    assert hypot(shapes.SLACK, 0) == 2
