"""Exact geometry against Shapely and by hand."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LinearRing, MultiPoint, Polygon

from nesting import geometry

# up to a 12-foot sheet, where Shapely's floating point is still exact
points = st.tuples(st.integers(0, 1_170_432), st.integers(0, 1_170_432))


@given(st.lists(points, min_size=3, max_size=6, unique=True))
def test_twice_area_is_shapelys(corners: list[Any]) -> None:
    twice = geometry.twice_area(corners)
    assert abs(twice) == round(2 * Polygon(corners).area)
    if twice and Polygon(corners).is_valid:
        assert (twice > 0) == LinearRing(corners).is_ccw


def test_twice_area_of_a_tapered_leg() -> None:
    """84 long, 9 and 9 1/2 wide, in eighths: 672 * (72 + 76) / 2 = 49728, so twice is 99456."""
    assert geometry.twice_area([(0, 0), (672, 0), (672, 76), (0, 72)]) == 99456
    assert geometry.twice_area([(0, 72), (672, 76), (672, 0), (0, 0)]) == -99456


@given(points, points, points)
def test_cross_is_twice_the_triangle_and_positive_on_the_left(origin: Any, a: Any, b: Any) -> None:
    assert geometry.cross(origin, a, b) == geometry.twice_area([origin, a, b])
    assert geometry.cross(origin, a, b) == -geometry.cross(origin, b, a)
    assert geometry.cross((0, 0), (1, 0), (0, 1)) == 1


@given(st.lists(points, min_size=1, max_size=6))
def test_bounds_are_shapelys(corners: list[Any]) -> None:
    assert geometry.bounds(corners) == tuple(map(int, MultiPoint(corners).bounds))


def test_a_rectangle_runs_anticlockwise_from_the_lower_left() -> None:
    assert geometry.rectangle(1, 2, 5, 9) == ((1, 2), (5, 2), (5, 9), (1, 9))
    assert geometry.twice_area(geometry.rectangle(1, 2, 5, 9)) == 2 * 4 * 7


def test_height_of_a_line_is_exact() -> None:
    """Readings 9 1/8 at 0 and 9 3/8 at 80: a third of the way up it is 9 1/8 + 1/12."""
    assert geometry.at(80, (0, 219), (240, 225)) == 221
    assert geometry.at(1, (0, 0), (3, 1)) == Fraction(1, 3)
    assert geometry.at(-3, (0, 0), (3, 1)) == -1
