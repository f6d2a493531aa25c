"""Weights by lines: never more on a sheet than it holds, however parts lean; and the proofs made of them."""

from __future__ import annotations

import math
import random
from fractions import Fraction

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import LineString, Polygon

from nesting.lengths import INCH
from nesting.packing.bounds import Bound, known_at_once
from nesting.packing.functions import WHOLE, identity, steps, threshold
from nesting.packing.halves import within_reach
from nesting.packing.hold import HoldModel
from nesting.packing.instance import Instance, Item, Settings, Size, lean_tangent
from nesting.packing.rules import Rules
from nesting.packing.sections import Sections
from nesting.packing.solve import HomelessError, solve
from nesting.packing.solver import SOLVED, solver_for
from nesting.stock import Saw, Trim
from tests.packing.cutups import cut_up

LENGTH, WIDTH, KERF = 96.0, 48.0, 0.125
LEAN = math.tan(math.radians(1.5))


def _layer(rng: random.Random, low: LineString, up: LineString, x0: float, x1: float) -> Item | None:
    """A part that leans as the lower line does, or not at all, as large as Shapely finds room for."""
    room = Polygon([*_between(low, x0, x1), *reversed(_between(up, x0, x1))])
    (ax, ay), (bx, by) = low.coords
    angle = rng.choice([0.0, math.atan((by - ay) / (bx - ax))])
    length = (x1 - x0) * rng.uniform(0.85, 1)
    start = room.bounds[3] - room.bounds[1]
    end = start + rng.uniform(-0.01, 0.01) * length
    for _ in range(60):
        if min(start, end) < 1 or length < 4:
            return None
        part = Polygon([(0, 0), (length, 0), (length, end), (0, start)])
        if rng.random() < 0.5:
            part = affinity.rotate(part, math.pi, origin="centroid", use_radians=True)
        part = affinity.rotate(part, angle, origin="centroid", use_radians=True)
        for x, y in ((rng.uniform(0, 1), rng.uniform(0, 1)) for _ in range(8)):
            dx = room.bounds[0] + x * (room.bounds[2] - room.bounds[0]) - part.bounds[0]
            dy = room.bounds[1] + y * (room.bounds[3] - room.bounds[1]) - part.bounds[1]
            if room.covers(affinity.translate(part, dx, dy)):
                return Item(*(math.floor(size * INCH) for size in (length, start, end)))
        start, end, length = start * 0.95, end * 0.95, length * 0.995
    return None


def _between(line: LineString, x0: float, x1: float) -> list[tuple[float, float]]:
    (ax, ay), (bx, by) = line.coords
    return [(x, ay + (by - ay) * (x - ax) / (bx - ax)) for x in (x0, x1)]


def _leaning_sheet(rng: random.Random) -> list[Item]:
    """A sheet ripped along lines that lean as far as they may, each strip with one part or two in a row."""
    items: list[Item | None] = []
    heights = sorted(rng.uniform(0, WIDTH) for _ in range(rng.randint(2, 6)))
    low = LineString([(0, 0), (LENGTH, 0)])
    for height in [*heights, WIDTH]:
        rise = rng.uniform(-LEAN, LEAN) * LENGTH / 2 * (height < WIDTH)
        ends = [min(WIDTH, max(low.coords[i][1], height + side * rise)) for i, side in ((0, -1), (1, 1))]
        up = LineString([(0, ends[0]), (LENGTH, ends[1])])
        cut = rng.choice([LENGTH, LENGTH, rng.uniform(10, 86)])
        items.append(_layer(rng, low, up, 0, cut))
        if cut < LENGTH - 8:
            items.append(_layer(rng, low, up, cut + KERF, LENGTH))
        over = KERF * math.hypot(LENGTH, ends[1] - ends[0]) / LENGTH
        low = LineString([(0, min(WIDTH, ends[0] + over)), (LENGTH, min(WIDTH, ends[1] + over))])
    return [item for item in items if item is not None]


@pytest.mark.parametrize("seed", range(60))
def test_leaning_parts_between_slanted_cuts_never_weigh_more_than_their_sheet(seed: int):
    """The argument of the module, held against layouts that Shapely finds room for."""
    rng = random.Random(seed)
    items = _leaning_sheet(rng)
    size = Size("s", round(LENGTH * INCH), round(WIDTH * INCH), 1)
    kerf = round(KERF * INCH)
    instance = Instance(tuple(items), (size,), Saw(kerf), lean=Fraction(LEAN) + Fraction(1, 10**9))
    counts = np.ones(len(items), dtype=np.int64)
    for upright in (True, False):
        sections = Sections(instance, size, upright=upright, slanted=True)
        sides = [(item.start if upright else item.length) + kerf for item in items]
        least = [k for side in sides for k in (side, sections.room - side) if 0 < 2 * k <= sections.room]
        functions = [identity, *(kind(k) for kind in (threshold, steps) for k in least)]
        assert (sections.rows(functions) @ counts).max() <= WHOLE
        assert sections.against(counts) is None


def test_a_measure_tells_what_no_even_weights_do():
    """By hand: 108 x 47.5; shorts of 38 all meet the line 37.9 from an end or the one 38 further, and four
    rows of ten inches fit, so at most eight of them."""
    size = Size("s", 1080, 475, 1)
    instance = Instance((Item(380, 101, 101, count=9), Item(1042, 102, 102)), (size,), Saw(1))
    sections = Sections(instance, size, upright=True, slanted=False)
    assert sections.against(np.array([8, 0])) is None
    weights = sections.against(np.array([9, 0]))
    assert weights is not None
    assert weights @ [9, 0] > WHOLE >= weights @ [8, 0]


def test_tapered_legs_count_by_their_mean_on_two_lines_of_which_a_short_part_meets_one():
    """By hand: legs of 90 x 15 to 16 3/8, mean 15 11/16, leave 15/16 less kerfs: 40 x 2 is too much.

    At the end where two of them are narrow there are 46 3/8, so that 40 x 1 does find room.
    """
    legs = Item(90 * INCH, 15 * INCH, 16 * INCH + 3 * INCH // 8, count=3)
    for width, sheets in ((2, 2), (1, 1)):
        items = (legs, Item(40 * INCH, width * INCH, width * INCH))
        instance = Instance(items, (Size("s", 96 * INCH, 48 * INCH, 1),), Saw(INCH // 8))
        bound = Bound(instance, Rules(instance).takes)
        bound.tighten(9, 1.0)
        assert bound.value == sheets


def _random_job(rng: random.Random) -> Instance:
    length, width = rng.choice([(96, 48), (120, 60), (108, 48)])

    def item() -> Item:
        share = rng.choice([(0.55, 0.95), (0.55, 0.95), (0.2, 0.5), (0.06, 0.2)])
        side, wide = rng.uniform(*share) * length, rng.uniform(4, 18)
        taper = rng.choice([0.0, rng.uniform(-1, 1) * min(1.0, side / 60)])
        grain = rng.choice(["length", "length", "across", "any"]) if side < width - 2 else "length"
        skew = rng.choice([0.0, 0.0, 0.0, rng.uniform(-0.3, 0.3)])
        sizes = (int(x * INCH) for x in (side, wide, wide + taper, 0, skew))
        return Item(*sizes, grain, rng.random() < 0.3, rng.choice([1, 1, 2, 3]))

    trim = Trim(*[rng.choice([0, 2032])] * 4)
    sizes = [Size("s", length * INCH, width * INCH, rng.randint(50, 150), trim=trim)]
    if rng.random() < 0.5:
        sizes.append(Size("t", 96 * INCH, 48 * INCH, rng.randint(50, 120), rng.choice([None, 1, 2])))
    rails = rng.choice([(), (118 * INCH,), (106 * INCH, 75 * INCH)])
    saw = Saw(INCH // 8, rails=rails, join=rng.random() < 0.3, lead_in=4 * INCH, lead_out=3 * INCH)
    lean = rng.choice([Fraction(0), lean_tangent(Fraction(1, 2)), lean_tangent(Fraction(2))])
    items = dict.fromkeys(item() for _ in range(rng.randint(1, 6)))
    return Instance(tuple(items), tuple(sizes), saw, lean)


@pytest.mark.parametrize("seed", [*range(12), 1138, 1347])
def test_the_bound_is_never_above_a_plan_with_tapers_turns_skews_and_rails(seed: int):
    instance = _random_job(random.Random(seed))
    try:
        found = solve(instance, Settings(seconds=5, effort=1_000, polish=False))
    except HomelessError:
        return
    if found.layouts:
        bound = Bound(*within_reach(instance, Rules(instance).takes))
        bound.tighten(10**9, 0.1)
        assert bound.value <= found.cost


@pytest.mark.parametrize("seed", range(4))
def test_the_bound_is_never_above_the_sheets_that_were_cut_up(seed: int):
    instance = cut_up(seed, 2, 5)
    bound = Bound(instance, Rules(instance).takes)
    bound.tighten(10**9, 0.2)
    assert bound.value <= 200


def test_what_is_longer_than_a_sheet_is_wide_does_not_count_as_long_there():
    """Found by random jobs: an item that cannot lie across the sheet at all."""
    size = Size("s", 96 * INCH, 48 * INCH, 1)
    across = Item(56 * INCH, 19 * INCH, 20 * INCH, grain="across")
    items = (across, Item(72 * INCH, 14 * INCH, 14 * INCH))
    sections = Sections(Instance(items, (size,), Saw(0)), size, upright=False, slanted=True)
    assert sections.long(9) == []


def _rails(count: int) -> Instance:
    """Sheets of 120 x 48 that rails of 118 rip no longer than 108."""
    long = Item(104 * INCH, 10 * INCH, 10 * INCH, count=3)
    items = (long, Item(52 * INCH, 10 * INCH, 10 * INCH, count=count))
    saw = Saw(INCH // 8, rails=(118 * INCH,), lead_in=7 * INCH, lead_out=3 * INCH)
    return Instance(items, (Size("s", 120 * INCH, 48 * INCH, 100),), saw, keep=(1, 1))


def test_two_parts_in_a_row_beside_longer_ones_find_a_place_within_reach():
    """52 and 52 with the kerf are longer than 104: it must not be cut across where these end."""
    found = solve(_rails(2), Settings(seconds=10, effort=2_000))
    assert (len(found.layouts), found.proved) == (1, True)


def test_what_is_learned_of_a_sheet_in_several_pieces_holds_with_more_parts_on_it():
    """Found by a job: one leg alone does not lie on both sides of a cut, but with others it may be on one."""
    leg = Item(89 * INCH, 16 * INCH + INCH // 2, 16 * INCH)
    items = (leg, Item(18 * INCH, 13 * INCH, 12 * INCH, count=5), Item(91 * INCH, 5 * INCH, 4 * INCH))
    saw = Saw(INCH // 8, rails=(106 * INCH,), lead_in=7 * INCH, lead_out=3 * INCH)
    instance = Instance(items, (Size("s", 120 * INCH, 60 * INCH, 100),), saw, lean_tangent(Fraction(1, 2)))
    bound = Bound(*within_reach(instance, Rules(instance).takes))
    assert bound.parted == [False, True]
    alone = np.array([1, 0, 0], dtype=np.int64)
    assert HoldModel(bound, 1, alone).solve(solver_for(1.0)) in SOLVED


@pytest.mark.parametrize(
    ("kerf", "side", "items"),
    [
        (320, (9000, 8875), [(9000, 4835, 4828), (4340, 3721, 3721), (4340, 3725, 3725)]),
        (704, (19505, 5977), [(19505, 2682, 2679), (9400, 2592, 2592), (9400, 2594, 2594)]),
        (704, (24384, 7714), [(24384, 4895, 4886), (11840, 2116, 2116), (11840, 2121, 2121)]),
    ],
)
def test_the_bound_grants_slanted_joints_what_the_plan_grants_them(
    kerf: int, side: tuple[int, int], items: list[tuple[int, int, int]]
):
    """Parts that fill a line across the sheet to within the two units of the format's tolerance."""
    instance = Instance(tuple(Item(*item) for item in items), (Size("s", *side, 100),), Saw(kerf))
    bound = Bound(instance, Rules(instance).takes)
    bound.tighten(10**9, 0.5)
    assert bound.value == 100 == solve(instance, Settings(seconds=5, effort=2_000, prove=False)).cost


def test_credit_is_for_the_whole_sheet_where_rails_part_it_and_may_be_more_than_the_money():
    """By hand: one sheet at 100 less 50 a million units for 840,000 left is 70 before the kerfs."""
    items, credit = (Item(1000, 400, 400),), Fraction(50, 1_000_000)
    saw = Saw(4, rails=(1500,))
    instance = Instance(items, (Size("s", 2000, 500, 100),), saw, credit=credit, keep=(100, 100))
    bound = Bound(*within_reach(instance, [[True]]))
    bound.tighten(10**9, 0.5)
    assert 68 <= bound.value <= 70
    # three free sheets of a million units each, for 50 a million: 30,000 units of parts take off 1 1/2
    free = Instance((Item(100, 100, 100, count=3),), (Size("r", 1000, 1000, 0, 3),), Saw(4), credit=credit)
    assert known_at_once(free) == -149
    assert solve(free, Settings(seconds=2, effort=200)).bound <= -48


@pytest.mark.parametrize("turn", [False, True])
def test_parts_as_wide_as_their_board_may_be_longer_than_the_rails_reach(turn: bool):
    """By hand: 100 and 15 with a kerf come out of one board of 120, which a rail of 55 only crosscuts."""
    grain = "across" if turn else "length"
    items = tuple(Item(length * INCH, 11 * INCH, 11 * INCH, grain=grain) for length in (100, 15))
    side = (11 * INCH, 120 * INCH) if turn else (120 * INCH, 11 * INCH)
    saw = Saw(INCH // 8, rails=(55 * INCH,), lead_in=7 * INCH, lead_out=3 * INCH)
    instance = Instance(items, (Size("board", *side, 100),), saw, keep=(1, 1))
    found = solve(instance, Settings(seconds=10, effort=2_000))
    assert (found.cost, found.bound) == (100, 100)
    assert within_reach(instance, Rules(instance).takes)[2] == [0]


@pytest.mark.parametrize("seed", range(10))
def test_the_bound_is_never_above_a_plan_of_boards_that_are_only_cut_across(seed: int):
    rng = random.Random(seed)
    wide = rng.choice([0, 0, INCH // 8, 3 * INCH])  # by which some parts are narrower than the board
    lengths = [rng.randint(20, 110) for _ in range(4)]
    items = tuple(Item(n * INCH, 11 * INCH, 11 * INCH, count=rng.randint(1, 2)) for n in lengths)
    short = tuple(Item(rng.randint(10, 44) * INCH, 11 * INCH - wide, 11 * INCH - wide) for _ in range(3))
    saw = Saw(INCH // 8, rails=(55 * INCH,), lead_in=7 * INCH, lead_out=3 * INCH)
    sizes = (Size("board", 120 * INCH, 11 * INCH, 100), Size("short", 72 * INCH, 11 * INCH, 70))
    instance = Instance(tuple(dict.fromkeys(items + short)), sizes, saw)
    found = solve(instance, Settings(seconds=5, effort=1_000, polish=False))
    bound = Bound(*within_reach(instance, Rules(instance).takes))
    bound.tighten(10**9, 0.1)
    assert bound.value <= found.cost


def test_a_sheet_beyond_the_rails_is_in_two_ways_to_the_bound():
    instance, takes, origins = within_reach(_rails(2), [[True], [True]])
    assert origins == [0, 0]
    assert instance.sizes[0].usable[0] < 109 * INCH
    assert takes == [[True, False], [True, True]]
    # in one piece of 108 there is no row of 52 twice and another 10 high; in two none of 104 at all
    bound = Bound(*within_reach(_rails(4), [[True], [True]]))
    bound.tighten(10**9, 1.0)
    assert bound.value == 200
