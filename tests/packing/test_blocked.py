"""Sheets with bad zones: how they begin, and what is proved of them. Arguments are our own, no source."""

from __future__ import annotations

import itertools
import math
import random
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.affinity import rotate, translate
from shapely.geometry import Polygon, box

from nesting.errors import JobError, NoPlanError
from nesting.job.reading import parse_job
from nesting.lengths import INCH
from nesting.packing import tables as c
from nesting.packing.blocked import roots_of
from nesting.packing.clearance import may_lie
from nesting.packing.instance import Instance, Item, Settings, Size
from nesting.packing.rows import Box, Rows, free, free_boxes, piece_of
from nesting.packing.rules import Rules
from nesting.packing.solve import Result, solve
from nesting.stock import Saw, Trim
from nesting.work.planner import plan_job

LENGTH, WIDTH = 960, 480
NEAR, HIGH = (300, 200, 310, 210), (600, 210, 610, 220)  # a part of 840 goes below both of them, or above


def solved(items: list[Item], sizes: list[Size], effort: int = 2_000) -> Result:
    return solve(Instance(tuple(items), tuple(sizes), Saw(1)), Settings(seconds=20, effort=effort))


def sheet(*zones: Box, price: int = 90, trim: int = 0) -> Size:
    return Size("s", LENGTH, WIDTH, price, 1, Trim(trim, trim, trim, trim), zones)


NEW = Size("new", LENGTH, WIDTH, 200)


@pytest.mark.parametrize("zones", [(NEAR, HIGH), (HIGH, NEAR), (NEAR, HIGH, (100, 215, 110, 225))])
def test_long_parts_go_below_and_above_several_zones(zones: tuple[Box, ...]):
    """Of the first 48 of all orders each cut the first zone on its left first, which left no long piece."""
    legs = Item(840, 130, 130, count=2)
    assert Rules(Instance((legs,), (sheet(*zones),), Saw(1))).finds == [[True]]
    result = solved([legs], [sheet(*zones), NEW])
    assert (result.cost, result.proved) == (90, True)


def test_a_taper_passes_a_zone_along_its_own_slanted_cut():
    """At 800, where the zone begins, it is 470 - 270 * 800 / 940 = 240 high, and the zone begins at 400."""
    legs = Item(940, 470, 200)
    result = solved([legs], [sheet((800, 400, 960, 480)), NEW])
    assert (result.cost, result.proved) == (90, True)


def test_across_the_sheet_it_passes_as_well():
    """Its straight edge lies along a second zone, which one square cut frees first: from 299 to 699.

    At 400 across, where the first zone begins, it begins at 699 - 400 + 300 * 400 / 470 = 554.
    """
    legs = Item(470, 400, 100, grain="across")
    result = solved([legs], [sheet((300, 400, 450, 480), (700, 0, 960, 480)), NEW])
    assert (result.cost, result.proved) == (90, True)


def test_a_strip_may_be_ripped_before_a_zone_is_cut_off():
    """Q of 940 x 170 below; above it P of 795 x 300 left of the zone, and R of 120 x 200 below it."""
    items = [Item(795, 300, 300), Item(940, 170, 170), Item(120, 200, 200)]
    result = solved(items, [sheet((800, 400, 960, 480)), NEW], effort=20_000)
    assert result.cost == 90


# No way to begin is made for it: it goes only after a rip below it and a crosscut on its right.
LOST = """\
job: lost
units: mm
saw: {kerf: 3}
materials: {ply: {thickness: 18}}
stock:
  - name: bad
    material: ply
    length: 2440
    width: 1220
    trim: 0
    price: 90
    count: 1
    blocked:
      - {left: 800, right: 1000, upper: 12}
      - {left: 2350}
      - {right: 50, lower: 800}
      - {left: 2000, lower: 1000}
NEW
parts: [{name: p, material: ply, length: 2290, width: [1170, 500]}]
"""
MORE = "  - {name: new, material: ply, length: 2440, width: 1220, trim: 0, price: 200}"


def test_where_no_cuts_are_found_that_is_said_and_nothing_proved():
    with pytest.raises(NoPlanError, match=r"p may go beside the bad zones, .* is not proved"):
        plan_job(parse_job(LOST.replace("NEW\n", ""), "x"), Settings(seconds=20, effort=300))
    proof = plan_job(parse_job(LOST.replace("NEW", MORE), "x"), Settings(seconds=20, effort=300)).plan.proof
    assert (proof.value, proof.lower_bound, proof.proved) == (200, 90, False)


def test_what_surely_does_not_fit_is_still_a_fault_of_the_job():
    """Between a zone in the middle and the edges there are 600 mm, less than the narrow end."""
    text = LOST.replace("NEW\n", "").replace("2350", "1100, right: 1200, lower: 595, upper: 620")
    with pytest.raises(JobError, match="clear of its bad zones"):
        plan_job(parse_job(text.replace("[1170, 500]", "[1170, 630]"), "x"), Settings(seconds=5, effort=100))


# -- what is sure of a sheet

boxes = st.tuples(*[st.integers(0, 12)] * 2, *[st.integers(1, 6)] * 2).map(
    lambda b: (b[0], b[1], b[0] + b[2], b[1] + b[3])
)


@given(st.lists(boxes, min_size=1, max_size=5), st.integers(1, 14), st.integers(1, 10), st.integers(0, 2),
       st.sampled_from(["length", "across", "any"]))  # fmt: skip
def test_a_rectangle_is_said_to_fit_where_a_grid_has_a_place(
    zones: list[Box], length: int, width: int, trim: int, grain: str
):
    """All whole places are tried; zones are whole too, so there are no others to be had."""
    size = Size("s", 14, 10, 1, 1, Trim(trim, 0, trim, 0), tuple(zones))
    ways = {"length": [(length, width)], "across": [(width, length)]}
    places = [
        (x, y, x + a, y + b)
        for a, b in ways.get(grain, [(length, width), (width, length)])
        for x, y in itertools.product(range(trim, 14 - a + 1), range(10 - b + 1))
        if x >= size.region[0] and y >= size.region[1] and x + a <= size.region[2] and y + b <= size.region[3]
    ]
    clear = any(not any(box(*place).intersection(box(*zone)).area for zone in zones) for place in places)
    assert may_lie(Item(length, width, width, grain=grain), size, Fraction(0)) == clear


@pytest.mark.parametrize("seed", range(80))
def test_a_part_that_leans_clear_of_the_zones_is_not_excluded(seed: int):
    """Laid at random within the lean, and zones anywhere beside it: it does lie there."""
    rng = random.Random(seed)
    lean = Fraction(rng.choice((0, 17_455, 52_407)), 1_000_000)  # 1 and 3 degrees
    start, end = rng.randint(20, 200), rng.randint(20, 200)
    item = Item(rng.randint(60, 900), start, end, rng.randint(-15, 15), rng.randint(-15, 15))
    angle = rng.uniform(-1, 1) * math.atan(lean) + rng.choice((0, math.pi))
    part = rotate(Polygon(item.outline), angle, origin=(0, 0), use_radians=True)
    x0, y0, x1, y1 = part.bounds
    if x1 - x0 > LENGTH or y1 - y0 > WIDTH:
        return
    part = translate(part, rng.uniform(0, LENGTH - x1 + x0) - x0, rng.uniform(0, WIDTH - y1 + y0) - y0)
    zones = [(x, y, x + rng.randint(1, 300), y + rng.randint(1, 200))
             for x, y in ((rng.randint(0, LENGTH), rng.randint(0, WIDTH)) for _ in range(30))]  # fmt: skip
    beside = [zone for zone in zones if part.distance(box(*zone)) > 0]
    assert may_lie(item, sheet(*beside), lean)


@pytest.mark.parametrize("seed", range(20))
def test_what_the_search_can_place_is_not_excluded(seed: int):
    instance = any_instance(random.Random(seed))
    rules = Rules(instance)
    for item, finds in zip(instance.items, rules.finds, strict=True):
        for size, found in zip(instance.sizes, finds, strict=True):
            assert may_lie(item, size, instance.lean) or not found


def any_instance(rng: random.Random) -> Instance:
    zones = []
    for _ in range(rng.randint(1, 5)):
        x, y, wide, high = rng.randint(0, 900), rng.randint(0, 440), rng.randint(1, 300), rng.randint(1, 150)
        zones.append((x, y, min(LENGTH, x + wide), min(WIDTH, y + high)))
    items = []
    for _ in range(rng.randint(1, 4)):
        width = rng.randint(20, 470)
        end, grain = rng.choice((width, rng.randint(10, width))), rng.choice(("length", "across", "any"))
        items.append(Item(rng.randint(100, 950), width, end, grain=grain))
    rails = rng.choice(((), (1_000,), (500,)))
    return Instance(tuple(items), (sheet(*zones, trim=rng.choice((0, 3))),), Saw(2, rails), Fraction(1, 50))


# -- ways to begin


def ways(size: Size, *items: Item, kerf: int = 1, reach: int | None = None) -> list[Rows]:
    return roots_of(size, kerf, reach, items)


@pytest.mark.parametrize("seed", range(20))
def test_pieces_lie_in_the_sheet_a_kerf_apart_and_free_ones_clear_of_zones(seed: int):
    """Shapely sees each cut's two pieces inside the one that is cut, and no zone in one that is free."""
    instance = any_instance(random.Random(seed))
    (size,) = instance.sizes
    zones = [box(*zone) for zone in size.blocked]
    for rows in ways(size, *instance.items, kerf=2, reach=instance.saw.reach()):
        for row in rows:
            here = shape(row)
            assert here.buffer(0.01).within(box(*size.region).buffer(0.02))
            kids = [shape(rows[n]) for n in (row[c.KID], row[c.OTHER]) if n >= 0]
            level = row[c.L0] == row[c.L1] and row[c.U0] == row[c.U1]
            assert all(kid.within(here.buffer(0.01 if level else 0.6)) for kid in kids)  # whole heights
            slanted = row[c.AX] != row[c.BX] and row[c.AY] != row[c.BY]
            assert len(kids) < 2 or kids[0].distance(kids[1]) > 2 - (0.5 if slanted else 0.01)
            if free(row):
                assert not any(here.intersection(zone).area for zone in zones)


def shape(row: list[int]) -> Polygon:
    x0, x1, l0, l1, u0, u1 = piece_of(row)
    corners = [(x0, l0), (x1, l1), (x1, u1), (x0, u0)]
    return Polygon([(y, x) for x, y in corners] if row[c.TURNED] else corners)


def test_zones_in_one_half_may_leave_the_other_half_whole():
    size = sheet((500, 200, 510, 210), (580, 250, 590, 260), (660, 300, 670, 310))
    found = ways(size, Item(200, 100, 100))
    assert any((0, 0, 500, WIDTH) in free_boxes(rows) for rows in found)
    assert any(len(rows) == 3 for rows in found)  # the sheet and two pieces: one cut


def test_a_zone_narrower_than_the_kerf_is_gone_with_it():
    found = ways(sheet((400, 0, 401, WIDTH)), Item(557, 470, 470), kerf=3)
    assert any((403, 0, LENGTH, WIDTH) in free_boxes(rows) for rows in found)


def test_a_sheet_that_is_all_bad_has_one_way_to_begin_and_no_room():
    (rows,) = ways(sheet((0, 0, LENGTH, WIDTH)), Item(10, 10, 10))
    assert not any(map(free, rows))


def test_each_part_that_some_way_has_room_for_has_one():
    """Each of them lies beside another zone, or on another side of one."""
    size = sheet(NEAR, HIGH)
    items = [Item(x, y, y) for x, y in ((300, 480), (349, 480), (960, 260), (960, 200), (288, 480))]
    pieces = [piece for rows in ways(size, *items) for piece in free_boxes(rows)]
    for item in items:
        assert any(item.length <= x1 - x0 and item.start <= y1 - y0 for x0, y0, x1, y1 in pieces)


def test_what_is_cut_round_a_zone_stays_within_reach_when_scrap_goes_with_it():
    """A rail that reaches 50 in: beyond a crosscut at 46 there are just 50, ripped below the zones.

    The part ends at 41 1/4; cut off there, and not at 46, it leaves a piece of 54 5/8.
    """
    text = """
job: reach
units: inch
saw: {kerf: 1/8, rails: [60]}
lean: 2
materials: {ply: {thickness: 3/4}}
stock:
  - name: bad
    material: ply
    length: 96
    width: 48
    price: 30
    count: 3
    blocked: [{left: 84, upper: 15}, {left: 77, right: 95, upper: 1}]
  - {name: big, material: ply, length: 96, width: 48, price: 100}
parts: [{name: p, material: ply, length: 41, width: [31, 14], grain: any, count: 2}]
"""
    plan = plan_job(parse_job(text, "x"), Settings(seconds=20, effort=3_000)).plan
    assert max(cut.length for found in plan.sheets for cut in found.cuts) <= 50 * INCH
