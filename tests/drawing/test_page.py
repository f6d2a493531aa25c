"""Room on a page, hatches and the measure of words."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiPoint, Polygon
from shapely.geometry import box as shapely_box

from nesting.drawing.ink import hatch_lines
from nesting.drawing.lettering import halves
from nesting.drawing.measure import ELLIPSIS, Words, plain
from nesting.drawing.page import Box, Space, inside, line_boxes, spread, walls
from nesting.drawing.table import Row, balanced, poured

QUAD = [(0.0, 0.0), (40.0, 0.0), (41.0, 12.0), (-1.0, 10.0)]
spots = st.tuples(st.floats(-20, 60), st.floats(-20, 60))


def test_hatch_lines_lie_in_the_shape_and_cover_it():
    """Cut by Shapely: every line inside, as long as the lines of that gap over that area have to be."""
    shape = Polygon(QUAD)
    for rising in (True, False):
        lines = [LineString(line) for line in hatch_lines(QUAD, 0.5, rising)]
        assert all(shape.buffer(1e-9).covers(line) for line in lines)
        total = sum(line.length for line in lines)
        assert math.isclose(total, shape.area / 0.5, rel_tol=0.02)
        slopes = {round((b[1] - a[1]) / (b[0] - a[0]), 6) for a, b in hatch_lines(QUAD, 0.5, rising)}
        assert slopes == {-1.0 if rising else 1.0}  # y runs down


@given(st.lists(spots, min_size=3, max_size=7), spots, st.floats(0.1, 8), st.floats(0.1, 8))
def test_inside_agrees_with_shapely(corners, centre, wide, high):
    hull = MultiPoint(corners).convex_hull
    if hull.geom_type != "Polygon" or hull.area < 1:
        return
    ring = list(hull.exterior.coords)[:-1]
    box = Box.around(centre, wide, high)
    there = shapely_box(box.x0, box.y0, box.x1, box.y1)
    found = inside(box, walls(ring, [0.0] * len(ring)))
    if hull.buffer(-1e-6).covers(there):
        assert found
    elif not hull.buffer(1e-6).covers(there):
        assert not found


@given(st.lists(st.tuples(spots, st.floats(0.5, 30), st.floats(0.5, 30)), max_size=12), spots)
def test_free_agrees_with_shapely(taken, centre):
    space = Space(Box(-100, -100, 100, 100))
    boxes = [Box.around(spot, wide, high) for spot, wide, high in taken]
    space.take(*boxes)
    new = Box.around(centre, 6, 3)
    there = shapely_box(new.x0, new.y0, new.x1, new.y1)
    meets = any(there.intersection(shapely_box(b.x0, b.y0, b.x1, b.y1)).area > 0 for b in boxes)
    assert space.free(new) is not meets


def test_thin_lines_may_cross_each_other_but_no_words():
    space = Space(Box(0, 0, 50, 50))
    space.take_thin(Box(0, 9, 50, 10))
    space.take(Box(20, 20, 30, 25))
    assert space.clear(Box(10, 0, 11, 50))
    assert not space.free(Box(10, 0, 11, 50))
    assert not space.clear(Box(25, 0, 26, 50))
    assert not space.free(Box(45, 45, 51, 46))


def test_a_slanted_line_is_covered_by_its_boxes():
    a, b = (3.0, 4.0), (31.0, 17.0)
    line, boxes = LineString([a, b]), line_boxes(a, b, 0.3)
    covered = MultiPoint([line.interpolate(k / 200, normalized=True) for k in range(201)])
    union = [shapely_box(x.x0, x.y0, x.x1, x.y1) for x in boxes]
    assert all(any(part.covers(point) for part in union) for point in covered.geoms)
    assert sum(part.area for part in union) < 60  # one box about it all would take 390


def test_spread_starts_near_and_stays_within():
    assert list(spread(5, 0, 10, 3)) == [5, 2, 8]
    assert list(spread(-4, 0, 3, 2)) == [0, 2]
    assert list(spread(0, 3, 2, 1)) == []


def test_words_are_shrunk_before_they_are_cut():
    words = Words("Glaze room, the left leg of the wide opening", 11.0)
    assert words.within(words.width + 0.1) == words
    smaller = words.within(words.width * 0.8)
    assert smaller.text == words.text
    assert 8.0 <= smaller.size < 11.0
    short = words.within(20.0)
    assert short.size == 8.0
    assert short.text.endswith(ELLIPSIS)
    assert short.width <= 20.0
    assert Words("x").cut(0.1).text == ELLIPSIS


def test_lines_keep_to_their_width():
    words = Words("Joined rails, cuts 1 and 2: true them up with a known straightedge after each move", 8.0)
    lines = words.wrap(50.0, 60.0)
    assert " ".join(line.text for line in lines) == words.text
    assert lines[0].width <= 50.0
    assert all(line.width <= 60.0 for line in lines[1:])


@given(st.text(st.characters(codec=None), max_size=60))
def test_plain_text_can_stand_in_xml(text):
    """The characters that XML 1.0 allows (section 2.2), tab and line ends made spaces."""
    for sign in plain(text):
        code = ord(sign)
        assert 0x20 <= code <= 0xD7FF or 0xE000 <= code <= 0xFFFD or code >= 0x10000


def rows(*heights: float, head: bool = True) -> list[Row]:
    made = [Row(height, lambda ink, spot: None) for height in heights]
    return [Row(5.0, lambda ink, spot: None, head=True), *made] if head else made


def test_rows_go_on_in_the_next_column_under_their_head():
    columns = [Box(0, 0, 90, 26), Box(100, 0, 190, 26)]
    laid, rest = poured(rows(10, 10, 10, 10, 10), columns)
    assert [spot for _, spot in laid] == [(0, 0), (0, 5), (0, 15), (100, 0), (100, 5), (100, 15)]
    assert [row.head for row in rest] == [True, False]


def test_a_head_never_stands_alone():
    laid, rest = poured([*rows(10), *rows(10)], [Box(0, 0, 90, 28)])
    assert len(laid) == 2
    assert len(rest) == 2


def test_columns_end_at_about_one_height():
    columns = [Box(0, 0, 90, 100), Box(100, 0, 190, 100)]
    laid, rest = balanced(rows(10, 10, 10, 10), columns)
    assert not rest
    assert sum(spot[0] == 0 for _, spot in laid) == sum(spot[0] == 100 for _, spot in laid) == 3


def test_a_number_is_not_parted_from_its_fraction_where_a_line_is_broken():
    """An offcut's size in two lines; a 10 that ends one, with its 19/32 in the next, is read as 10."""
    first, second = halves(Words("26 13/32 × 10 19/32 to 10 7/16")) or ("", "")
    assert (first.text, second.text) == ("26 13/32 ×", "10 19/32 to 10 7/16")
