"""Pieces, the ways a part may lie, and what one cut leaves, by hand."""

from __future__ import annotations

import pytest

from nesting.geometry import twice_area
from nesting.packing.fitting import fit_corner, kerf_over
from nesting.packing.instance import Instance, Item, Size
from nesting.packing.layout import corners_of, shapes_of
from nesting.packing.rules import Rules
from nesting.stock import Saw, Trim
from tests.packing.trees import Cutter


def test_a_tapered_part_lies_two_ways_and_turned_over_four():
    taper = Item(80, 10, 12)
    lies = [(s.left, s.right, s.high, s.reverse) for s in shapes_of(taper, mirrored=False)]
    assert lies == [(10, 12, False, False), (12, 10, True, True)]  # as it is; turned by 180 degrees
    assert len(shapes_of(Item(80, 10, 12, flip=True), mirrored=False)) == 4


def test_seen_from_the_back_the_wide_end_is_on_the_other_side():
    (first, second) = shapes_of(Item(80, 10, 12), mirrored=True)
    assert (first.left, first.right, first.high) == (12, 10, False)
    assert (second.left, second.right, second.high) == (10, 12, True)


def test_a_rectangle_lies_one_way_for_each_direction():
    assert len(shapes_of(Item(80, 10, 10), mirrored=False)) == 1
    assert [s.turned for s in shapes_of(Item(80, 10, 10, grain="any"), mirrored=False)] == [False, True]
    assert [s.turned for s in shapes_of(Item(80, 10, 10, grain="across"), mirrored=False)] == [True]


def test_the_frame_of_a_skewed_part_holds_it():
    item = Item(80, 10, 12, skew_start=-2, skew_end=3)  # far edge from (-2, 10) to (83, 12)
    assert item.frame == (85, 10, 12)
    assert item.outline == ((2, 0), (82, 0), (85, 12), (0, 10))
    # by hand: 80 x 11 in the middle (trapezoid 82 long at half height) = (80 + 85) / 2 with heights 10, 12
    assert item.twice_area == twice_area(item.outline)


def test_head_to_foot_two_equal_tapers_fill_a_rectangle():
    # widths 10 to 12 and 12 to 10 with a kerf of 1 (the slant adds nothing at this size): 10 + 1 + 12 = 23
    instance = Instance((Item(80, 10, 12),), (Size("s", 80, 23, 1),), Saw(1))
    cutter = Cutter(instance, instance.sizes[0])
    root = cutter.root()
    cutter.insert(root, 0, cutter.candidates(root, 0)[0])
    (rest,) = [node for node in root.walk() if node.free]
    assert rest.piece[2:6] == (11, 13, 23, 23)  # lower edge from 11 to 13, upper at 23
    ways = cutter.candidates(rest, 0)
    assert ways[0].cost > 0
    cutter.insert(rest, 0, ways[0])
    assert not [node for node in root.walk() if node.free]
    cells = [node for node in root.walk() if node.item is not None]
    assert [corners_of(cell, instance.items[0]) for cell in cells] == [
        ((0, 0), (80, 0), (80, 12), (0, 10)),
        ((80, 23), (0, 23), (0, 11), (80, 13)),
    ]


def test_a_piece_too_narrow_at_one_end_does_not_take_the_part():
    assert fit_corner((0, 80, 0, 0, 12, 12), 80, 10, 12, False)[0]
    assert not fit_corner((0, 80, 0, 0, 12, 10), 80, 10, 12, False)[0]  # 10 where 12 is needed


def test_between_level_edges_a_taper_is_held_to_the_unit_and_between_slanted_ones_to_one():
    """A window's leg once stood out one unit over a level cut, and the judge refused the plan."""
    for high in (False, True):
        assert fit_corner((0, 80, 0, 0, 12, 12), 80, 10, 12, high)[0]
        assert not fit_corner((0, 80, 0, 0, 11, 11), 80, 10, 12, high)[0]
    assert fit_corner((0, 80, 0, 0, 10, 11), 80, 10, 12, False)[0]
    assert not fit_corner((0, 80, 0, 0, 10, 10), 80, 10, 12, False)[0]


def test_kerf_over_a_slant_is_measured_square_to_it():
    # a rise of 3 in 4 makes 5: the kerf's height is 5/4 of it (Euclid's 3-4-5)
    assert kerf_over(8, 4, 3) == 10
    assert kerf_over(8, 4, 0) == 8


def test_rails_that_do_not_reach_leave_only_the_crosscut_first():
    # a saw with 90 of rail and no leads: the sheet of 100 cannot be ripped whole, a column of 60 can
    saw = Saw(0, rails=(90,))
    instance = Instance((Item(60, 10, 10),), (Size("s", 100, 48, 1),), saw)
    cutter = Cutter(instance, instance.sizes[0])
    ways = cutter.candidates(cutter.root(), 0)
    assert [way.across_first for way in ways] == [True]


def test_a_steep_cut_is_as_long_as_the_column_it_is_made_in():
    # 12 across and 17 up, in a column of 12: 20.8, and the crosscut 48; over all of the sheet it would be 83
    gusset, sheet = Item(12, 3, 20), Size("s", 48, 48, 1)
    for rail, homeless in ((48, []), (47, [0])):
        assert Rules(Instance((gusset,), (sheet,), Saw(0, rails=(rail,)))).homeless() == homeless


@pytest.mark.parametrize(("narrower", "trim", "homeless"), [(0, 0, []), (1, 0, [0]), (0, 1, [0])])
def test_a_part_as_wide_as_its_board_is_only_cut_across(narrower: int, trim: int, homeless: list[int]):
    """A rail of 40, and 200 of length: it is ripped where it is narrower, or an edge is trimmed."""
    width = 30 - narrower - trim
    board = Size("board", 400, 30, 1, trim=Trim(lower=trim))
    instance = Instance((Item(200, width, width),), (board,), Saw(0, rails=(40,)))
    assert Rules(instance).homeless() == homeless


@pytest.mark.parametrize(("sheet", "trim", "lies", "reach"), [
    ((48, 96), 0, (48, 96), 0),  # all of the sheet: nothing is cut
    ((48, 94), 0, (48, 94), 0),
    ((48, 96), 1, (46, 94), 94),  # its trims along, 48 long, come off first: then it is 94 across
    ((48, 96), 1, (20, 94), 94),
    ((120, 50), 1, (52, 12), 52),  # the crosscut of 50 first, and the near end: then it is 52 along
    ((61, 22), 1, (59, 20), 59),
])
def test_what_can_be_trimmed_first_is_off_where_rails_just_reach(
    sheet: tuple[int, int], trim: int, lies: tuple[int, int], reach: int
):
    """By hand: with the grain or across it, one unit of rail less does not do."""
    size = Size("s", *sheet, 1, trim=Trim(trim, trim, trim, trim))
    for part in (Item(lies[0], lies[1], lies[1]), Item(lies[1], lies[0], lies[0], grain="across")):
        for rail, homeless in ((max(1, reach), []), (reach - 1, [0])):
            if rail > 0:
                assert Rules(Instance((part,), (size,), Saw(0, rails=(rail,)))).homeless() == homeless


def test_a_bad_zone_is_cut_round_in_a_piece_within_reach():
    """A rail of 60 for a sheet of 100 x 48: the zone ends at 44, and a part of 58 goes below or above it."""
    for low, high in ((20, 24), (70, 74)):  # in the left piece, or in the right one
        size = Size("s", 100, 48, 1, 1, blocked=((low, 20, high, 23),))
        instance = Instance((Item(58, 18, 18), Item(58, 24, 24)), (size,), Saw(0, rails=(60,)))
        assert Rules(instance).homeless() == []
    in_the_way = Size("s", 60, 48, 1, 1, blocked=((20, 20, 24, 23),))
    assert Rules(Instance((Item(58, 30, 30),), (in_the_way,), Saw(0, rails=(60,)))).homeless() == [0]


def test_factory_edges_count_for_the_rails_until_they_are_off():
    # the rip of a full sheet runs over both trims: 96 + 10 of leads is 106 (trade practice, trade table: a
    # 106.3 inch rail just rips an 8-foot sheet, a 105 inch one does not); where a rail reaches across the
    # sheet its ends come off first, and 94 + 10 are enough
    def ways(rail: int, width: int) -> int:
        saw = Saw(0, rails=(rail,), lead_in=7, lead_out=3)
        size = Size("s", 96, width, 1, trim=Trim(1, 1, 1, 1))
        instance = Instance((Item(94, 10, 10),), (size,), saw)
        cutter = Cutter(instance, size)
        assert bool(Rules(instance).homeless()) == (not cutter.candidates(cutter.root(), 0))
        return len(cutter.candidates(cutter.root(), 0))

    assert ways(106, width=97) > 0
    assert ways(105, width=97) == 0
    assert ways(104, width=48) > 0
    assert ways(103, width=48) == 0
