"""Which parts come off a sheet however they are joined: nothing that can be cut is refuted."""

from __future__ import annotations

import itertools
import math
import random
from collections import Counter
from fractions import Fraction

import numpy as np
import pytest

from nesting.lengths import INCH
from nesting.packing import compiled
from nesting.packing.bounds import Bound
from nesting.packing.compiled import Loops
from nesting.packing.functions import Ints
from nesting.packing.instance import Instance, Item, Settings, Size, lean_tangent
from nesting.packing.joints import Joints, room
from nesting.packing.solve import solve
from nesting.stock import Saw
from tests.packing.cutups import cut_up
from tests.packing.enumerator import Part, fits

HALF_A_DEGREE = lean_tangent(Fraction(1, 2))


def joints(instance: Instance, loops: Loops | None = None) -> Joints:
    """Of the first size, which takes everything."""
    bound = Bound(instance, [[True] * len(instance.sizes)] * len(instance.items))
    return Joints(bound, 0, loops or Loops(), room())


def failing(instance: Instance, content: list[int] | None = None) -> list[int] | None:
    wanted = [item.count for item in instance.items] if content is None else content
    found = joints(instance).fails(np.array(wanted, dtype=np.int64))
    return None if found is None else found.tolist()


def rectangles(sides: list[tuple[int, int, int]], sheet: tuple[int, int]) -> Instance:
    items = tuple(Item(length, width, width, count=count) for length, width, count in sides)
    return Instance(items, (Size("s", *sheet, 1),), Saw(0))


def test_by_hand_where_it_is_tight():
    # a pinwheel of four 600 x 400 around a 200 x 200 covers 1000 x 1000, but no cut goes edge to edge
    wheel = [(600, 400, 2), (400, 600, 2), (200, 200, 1)]
    assert failing(rectangles(wheel, (1000, 1000))) is not None
    assert failing(rectangles(wheel[:2], (1000, 1190))) == [2, 2]
    assert failing(rectangles(wheel[:2], (1000, 1200))) is None  # two columns, the second 1200 high
    assert failing(rectangles([(60, 20, 3)], (100, 50))) == [3]
    assert failing(rectangles([(60, 20, 2), (30, 50, 1)], (100, 50))) is None
    # two legs of 12 to 13 head to foot are 25 and a kerf, whichever way they lean
    leg = Item(9000, 1200, 1300, count=2)
    for width, comes_off in ((2511, True), (2400, False)):
        pair = Instance((leg,), (Size("s", 9000, width, 1),), Saw(10), lean=HALF_A_DEGREE)
        assert (failing(pair) is None) == comes_off


@pytest.mark.parametrize("lean", [Fraction(0), HALF_A_DEGREE])
def test_a_cut_along_a_steep_taper_parts_rectangles_too(lean: Fraction):
    # a cut from 1400 up on the left to 920 on the right: under it 400 x 120, 500 x 95 and the taper, which it
    # runs along; over it 500 x 60 and 400 x 85. The rectangles alone come off by no cuts along and across
    items = tuple(Item(*sides) for sides in
                  [(4000, 1200, 1200), (5000, 950, 950), (5000, 600, 600), (4000, 850, 850), (600, 950, 920)])
    beside = Instance(items, (Size("s", 9600, 2000, 1),), Saw(0), lean=lean)
    assert failing(beside) is None
    assert failing(beside, [1, 1, 1, 1, 0]) is None
    assert failing(Instance(items[:4], beside.sizes, Saw(0), lean=lean)) is not None


def test_what_has_no_room_beside_slants_no_cut():
    # the same rectangles, which leave 3,250,000 of the sheet; tapers as steep as the one they come off beside
    items = [Item(*sides) for sides in
             [(4000, 1200, 1200), (5000, 950, 950), (5000, 600, 600), (4000, 850, 850)]]  # fmt: skip
    size = Size("s", 9600, 2000, 1)
    for taper, comes_off in [((600, 950, 920), True),
                             ((3600, 995, 815), False),  # 3,258,000
                             ((3000, 1100, 950), False)]:  # as long as no two others leave room for
        beside = Instance((*items, Item(*taper)), (size,), Saw(0), lean=Fraction(0))
        assert (failing(beside, [1, 1, 1, 1, 0]) is None) == comes_off


@pytest.mark.parametrize("seed", range(40))
def test_rectangles_on_either_side_of_a_steep_cut_come_off_with_and_without_the_taper(seed: int):
    """A sheet cut from end to end on a slant; either side in columns as high as a rectangle can be there."""
    rng = random.Random(seed)
    length, width = 96 * INCH, 48 * INCH
    left, right = (rng.randrange(18 * INCH, 30 * INCH) for _ in range(2))
    items: list[Item] = []
    for upper in (False, True):
        ends = sorted(rng.sample(range(6 * INCH, 90 * INCH), rng.randint(1, 3)))
        for x0, x1 in itertools.pairwise([0, *ends, length]):
            y0, y1 = (left + Fraction((right - left) * x, length) for x in (x0, x1))
            start, end = (math.floor(width - y) if upper else math.floor(y) for y in (y0, y1))
            least = min(start, end)
            items.append(Item(x1 - x0, start, end) if not items else Item(x1 - x0, least, least))
    loops = Loops()
    loops.compiled = compiled.load() if compiled.available() else {}
    asked = joints(Instance(tuple(items), (Size("s", length, width, 1),), Saw(0), lean=Fraction(0)), loops)
    for content in itertools.product((0, 1), repeat=len(items)):
        assert asked.fails(np.array(content, dtype=np.int64)) is None


def test_by_hand_where_it_is_not_tight():
    # three legs of 12 to 13 take 37.5 and two kerfs in the middle, yet 38 at one end: no two sums are asked
    leg = Item(9000, 1200, 1300, count=3)
    three = Instance((leg,), (Size("s", 9000, 3780, 1),), Saw(10), lean=Fraction(0))
    assert failing(three) is None
    assert not fits([Part(9000, 1200, 1300)] * 3, 9000, 3780, kerf=10)


def test_short_rails_by_hand():
    # 700 beside 250 over 500 beside 450: no two columns of these have room on 1000, so a cut of 950 is needed
    rows = rectangles([(700, 140, 1), (250, 140, 1), (500, 140, 1), (450, 140, 1)], (1000, 300))
    for reach, comes_off in ((1000, True), (960, True), (900, False)):
        short = Instance(rows.items, rows.sizes, Saw(0, (reach,)))
        assert (failing(short) is None) == comes_off


@pytest.mark.parametrize("seed", range(40))
def test_rectangles_are_told_as_by_the_enumerator(seed: int):
    """All cutting trees of up to five rectangles, by the tests' own enumerator."""
    rng = random.Random(seed)
    sides = [(rng.randint(200, 700), rng.randint(100, 320)) for _ in range(rng.randint(3, 5))]
    turns = [a <= 480 and rng.random() < 0.5 for a, _ in sides]
    kerf = rng.choice((0, 7))
    grains = ["any" if turning else "length" for turning in turns]
    items = tuple(Item(a, b, b, grain=grain) for (a, b), grain in zip(sides, grains, strict=True))
    instance = Instance(items, (Size("s", 960, 480, 1),), Saw(kerf))
    parts = [Part(a, b, b, t) for (a, b), t in zip(sides, turns, strict=True)]
    found = failing(instance)
    if fits(parts, 957, 477, kerf):
        assert found is None  # and in what rounding takes either way nothing is said
    elif not fits(parts, 963, 483, kerf):
        assert found is not None
        assert not fits([part for part, held in zip(parts, found, strict=True) if held], 960, 480, kerf)


@pytest.mark.parametrize("seed", range(40))
def test_tapers_that_come_off_are_not_refuted(seed: int):
    """Slanted cuts and kerf, as far as the enumerator goes: parts do not lean there."""
    rng = random.Random(seed)
    parts = []
    for _ in range(rng.randint(3, 4)):
        length, start = rng.randint(300, 800), rng.randint(80, 240)
        parts.append(Part(length, start, start + rng.choice([0, 8, 20, -20, 35])))
    items = tuple(Item(p.length, p.start, p.end) for p in parts)
    kerf = rng.choice((0, 3))
    sheet = (rng.randint(800, 960), rng.randint(360, 480))
    for lean in (Fraction(0), HALF_A_DEGREE):
        found = failing(Instance(items, (Size("s", *sheet, 1),), Saw(kerf), lean=lean))
        assert found is None or not fits(parts, *sheet, kerf)


@pytest.mark.parametrize("seed", range(24))
def test_a_sheet_cut_up_comes_off(seed: int):
    instance = cut_up(seed, sheets=1, parts=3 + seed % 5, grain="any" if seed % 3 == 0 else "length")
    assert failing(instance) is None


@pytest.mark.parametrize("seed", range(12))
def test_sheets_of_plans_come_off(seed: int):
    """With parts that lean, rails that do not reach along the sheet, and grain of all kinds."""
    rng = random.Random(seed)
    rails = rng.choice(((), (75 * INCH,), (55 * INCH,)))
    items = []
    for _ in range(8):
        length, width = rng.randrange(24 * INCH, 90 * INCH), rng.randrange(5 * INCH, 15 * INCH)
        long = not rails or length <= rails[0] - 8 * INCH
        if long:
            items.append(Item(length, width, width + rng.choice((0, 0, INCH // 2, -INCH // 4))))
        else:
            items.append(Item(length // 2, width, width, grain=rng.choice(("length", "any"))))
    size = Size("s", 96 * INCH, 48 * INCH, 1)
    instance = Instance(tuple(items), (size,), Saw(762, rails), lean=HALF_A_DEGREE)
    plan = solve(instance, Settings(seconds=2, effort=300, prove=False, polish=False))
    assert plan.layouts
    for layout in plan.layouts:
        held = Counter(node.item for node in layout.root.walk() if node.item is not None)
        assert failing(instance, [held[item] for item in range(len(items))]) is None


@pytest.mark.skipif(not compiled.available(), reason="numba is not installed")
def test_compiled_and_plain_loops_say_the_same():
    loops = Loops()
    loops.compiled = compiled.load()
    said = []
    for some in (Loops(), loops):
        instance = cut_up(5, sheets=2, parts=4)
        one = joints(instance, some)
        kinds = range(len(instance.items))
        contents = itertools.chain(itertools.combinations(kinds, 3), itertools.combinations(kinds, 5))
        answers = [one.fails(_content(len(instance.items), held)) for held in contents]
        said.append((one.taken, [None if found is None else found.tolist() for found in answers]))
    assert said[0] == said[1]
    assert any(found for found in said[0][1])
    assert not all(found for found in said[0][1])


def _content(items: int, held: tuple[int, ...]) -> Ints:
    content = np.zeros(items, dtype=np.int64)
    content[list(held)] = 1
    return content


def test_what_fails_is_no_more_than_is_needed():
    # the pinwheel beside a small part that has room anyway
    instance = rectangles([(600, 400, 2), (400, 600, 2), (300, 100, 1), (10, 10, 1)], (1000, 1000))
    found = failing(instance)
    assert found is not None
    assert found[3] == 0
    for item in np.flatnonzero(found):
        less = list(found)
        less[item] -= 1
        assert failing(instance, less) is None


def test_of_too_many_different_parts_only_the_largest_are_asked_about():
    # fifteen, of which any eight are too much for a sheet 200 wide, and two have room
    instance = rectangles([(90, 24 + number, 1) for number in range(15)], (100, 200))
    asked = joints(instance)
    assert not asked.tells(np.ones(15, dtype=np.int64))
    assert asked.tells(_content(15, (0, 1, 2, 3, 4, 5, 6, 7)))
    found = failing(instance)
    assert found is not None
    assert sum((24 + number) * held for number, held in enumerate(found)) > 200
    # all of them have room where the sheet is wide enough, and nothing is said against it
    assert failing(Instance(instance.items, (Size("s", 100, 600, 1),), Saw(0))) is None
