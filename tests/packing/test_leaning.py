"""Parts that lean along a slanted edge: by hand, and against Shapely's distances."""

from __future__ import annotations

import itertools
import math
import random
from fractions import Fraction

import pytest
from shapely.geometry import Polygon

from nesting.lengths import INCH
from nesting.packing import tables as c
from nesting.packing.filling import best_in
from nesting.packing.fitting import fit_corner, worth_of
from nesting.packing.instance import Instance, Item, Settings, Size, lean_tangent
from nesting.packing.layout import Node, corners_of
from nesting.packing.leaning import LEVEL, fit_leaning
from nesting.packing.rules import Rules
from nesting.packing.search import free_sides
from nesting.packing.solve import Result, solve
from nesting.packing.state import State, tree_of
from nesting.packing.trees import cut_out, is_free
from nesting.stock import Saw

HALF = lean_tangent(Fraction(1, 2))
RIGHT, LEFT, SHELF = (
    Item(90 * INCH, 15 * INCH, 123 * INCH // 8),
    Item(90 * INCH, 123 * INCH // 8, 15 * INCH),
    Item(80 * INCH, 16 * INCH, 16 * INCH),
)
# Of opposite hands, so head to foot they do not match: laid level the second stands on the wide end of the
# first, 15 3/8 + 15 3/8 + 16 and two kerfs of 1/8 make 47. Leaning, they take 15 + 15 3/8 + 16 1/4 = 46 5/8
# at either end; the slanted kerf and the lean of 3/8 in 90 (0.24 degrees) add less than 1/100.
LEAST_WIDTH = 46 * INCH + 5 * INCH // 8


def on_one_sheet(width: int, lean: Fraction, *, across: bool = False, back: bool = False) -> Result:
    items = tuple(Item(i.length, i.start, i.end, grain="across" if across else "length")
                  for i in (RIGHT, LEFT, SHELF))  # fmt: skip
    length, width = (width, 96 * INCH) if across else (96 * INCH, width)
    saw = Saw(INCH // 8, face_up="back" if back else "show")
    instance = Instance(items, (Size("s", length, width, 100),), saw, lean)
    return solve(instance, Settings(seconds=20, effort=1_500))


@pytest.mark.parametrize("across", [False, True])
@pytest.mark.parametrize("back", [False, True])
def test_legs_of_two_hands_fill_a_sheet_only_if_one_leans(across: bool, back: bool):
    width = LEAST_WIDTH + INCH // 64
    assert on_one_sheet(width, HALF, across=across, back=back).cost == 100
    assert on_one_sheet(width, Fraction(0), across=across, back=back).cost == 200
    assert on_one_sheet(width, lean_tangent(Fraction(1, 5)), across=across, back=back).cost == 200


def test_leaning_makes_no_room_that_is_not_there():
    # the sheet is 6 longer than the legs: shifted by so much one against the other they save 6 x 3/8 / 90
    assert on_one_sheet(LEAST_WIDTH - INCH // 32, HALF).cost == 200


def test_a_leaning_part_takes_length_for_its_width():
    # a 3-4-5 triangle: 50,000 along a slope of 3 in 4 take 40,000, and 10,000 of width lean back over 6,000
    piece = (0, 100_000, 0, 75_000, 1_000_000, 1_000_000)
    fits, _, end, top, top_end, far = fit_leaning(piece, 50_000, 10_000, 10_000, False, 750_100)
    assert fits
    assert 46_000 <= end <= 46_003
    # its upper side runs 10,000 off the line, measured square to it: 12,500 above
    assert max(abs(top - 12_500), abs(top_end - 12_500 - 34_500), abs(far - 87_500)) <= 3
    assert not fit_leaning(piece, 50_000, 10_000, 10_000, False, 749_900)[0]
    short = (0, 45_000, 0, 33_750, 1_000_000, 1_000_000)
    assert not fit_leaning(short, 50_000, 10_000, 10_000, False, 900_000)[0]


def test_a_part_lies_on_its_far_edge_and_leans_by_the_difference_of_the_slopes():
    # the edge rises by 30 in 1000; the far edge, below, by 20 of its own: the straight edge leans by about 10
    piece = (0, 1100, 0, 33, 1000, 1000)
    assert fit_leaning(piece, 1000, 120, 100, True, 10_100)[0]
    assert not fit_leaning(piece, 1000, 120, 100, True, 9_900)[0]
    # where it would be level it is no leaning part: fit_corner lays it exactly
    level = (0, 1100, 0, 22, 1000, 1000)
    assert not fit_leaning(level, 1000, 120, 100, True, 10_100)[0]
    assert fit_corner(level, 1000, 120, 100, True)[0]


def test_without_lean_or_slants_no_way_to_lean_is_looked_for():
    for lean, item in ((Fraction(0), RIGHT), (HALF, SHELF)):
        rules = Rules(Instance((item,), (Size("s", 96 * INCH, 48 * INCH, 1),), Saw(0), lean))
        assert rules.table.facts[c.LEAN] == 0
    rules = Rules(Instance((RIGHT,), (Size("s", 96 * INCH, 48 * INCH, 1),), Saw(0), HALF))
    assert rules.table.facts[c.LEAN] == 8726
    square = (0, 96 * INCH, 0, 0, 48 * INCH, 48 * INCH)
    asked = (best_in, rules.table, 0, square, 0, worth_of(square), 0, 2)
    ways = {rules.loops(*asked, lean, 0, 0) for lean in (0, 8726)}
    assert len(ways) == 1


def test_the_ends_of_a_leaning_part_count_as_cuts():
    for seed in range(20):
        state, cells = leaning_pair(random.Random(seed))[1:]
        if len(cells) == 2:
            node = state.work.nodes[0]
            leaning = state.rank()
            (row,) = (n for n in range(len(node)) if node[n, c.LIES] != LEVEL)
            node[row, c.LIES] = LEVEL
            sides = state.rules.loops(free_sides, state.rules.table, state.work.nodes, 0, row)
            level = state.rank()
            assert leaning[4] == level[4] - sides + 2
            assert leaning[:4] == level[:4]
            return
    raise AssertionError("nothing leans")


def test_a_side_that_is_not_the_cells_own_counts_as_a_cut():
    """On a leg that narrows lies a shelf, level: there is a wedge below it and none above."""
    rules = Rules(Instance((LEFT, SHELF), (Size("s", 96 * INCH, 48 * INCH, 1),), Saw(INCH // 8)))
    state = State(rules)
    state.fill([0])
    node = state.work.nodes[0]
    free = [row for row in range(state.work.head[0, c.TOP]) if is_free(state.work.nodes, 0, row)]
    (above,) = (row for row in free if node[row, c.L0] != node[row, c.L1])
    shelf = int(rules.table.first[1])
    cell = rules.loops(cut_out, rules.table, state.work, 0, above, shelf, False, False, False, True, 1)
    (leg,) = (row for row in range(state.work.head[0, c.TOP]) if node[row, c.ITEM] == 0)
    sides = [rules.loops(free_sides, rules.table, state.work.nodes, 0, row) for row in (leg, cell)]
    assert sides == [0, 1]


def random_item(rng: random.Random, along: bool) -> Item:
    length, width = rng.randrange(8 * INCH, 90 * INCH), rng.randrange(3 * INCH, 18 * INCH)
    taper = rng.randrange(-length // 60, length // 60 + 1)
    skew = rng.choice([0, rng.randrange(-INCH // 4, INCH // 4)])
    return Item(length, width, max(INCH, width + taper), skew_end=skew, flip=rng.random() < 0.5,
                grain="length" if along else "across")  # fmt: skip


def leaning_pair(rng: random.Random) -> tuple[Instance, State, list[Node]]:
    """A part, and in what it leaves another that leans, if there is a way to."""
    along = rng.random() < 0.5
    items = (random_item(rng, along), random_item(rng, along))
    sides = (120 * INCH, 48 * INCH) if along else (48 * INCH, 120 * INCH)
    saw = Saw(rng.choice([0, INCH // 8]), face_up=rng.choice(["show", "back"]))
    instance = Instance(items, (Size("s", *sides, 1),), saw, lean_tangent(Fraction(rng.randint(1, 4), 2)))
    rules = Rules(instance)
    state = State(rules, 1)
    state.open(0)
    state.fill([0])
    ways = [*itertools.product(range(*rules.table.first[1:3]), (False, True), (False, True), (False, True))]
    rooms = [row for row in range(state.work.head[0, c.TOP]) if is_free(state.work.nodes, 0, row)]
    places = [(row, way) for row in rooms for way in ways]
    for row, way in rng.sample(places, len(places)):
        node = state.work.nodes[0, row]
        level = node[c.L0] == node[c.L1] if not way[2] else node[c.U0] == node[c.U1]
        shape, *how = way
        if not level and rules.loops(cut_out, rules.table, state.work, 0, row, shape, True, *how, 1) >= 0:
            break
    root = tree_of(rules, state.rows_of(0))
    return instance, state, sorted((n for n in root.walk() if n.item is not None), key=lambda n: n.item or 0)


def test_leaning_parts_keep_their_shape_their_kerf_and_their_grain():
    """Over random tapers: to their size within two units, inside their cell, a kerf off what they lean on."""
    seen = 0
    for seed in range(400):
        instance, _, cells = leaning_pair(random.Random(seed))
        if len(cells) < 2:
            continue
        seen += 1
        first, second = (corners_of(cell, instance.items[i]) for i, cell in enumerate(cells))
        assert cells[1].lies != LEVEL
        true = instance.items[1].outline
        for i in range(4):
            for j in range(i):
                assert abs(math.dist(second[i], second[j]) - math.dist(true[i], true[j])) <= 2
        hand = Polygon(second).exterior.is_ccw
        assert instance.items[1].flip or hand != instance.mirrored
        run, rise = (second[1][k] - second[0][k] for k in ((1, 0) if cells[1].piece[6] else (0, 1)))
        assert 0 < abs(rise) <= instance.lean * abs(run) + 1
        x0, x1, l0, l1, u0, u1, turned = cells[1].piece
        cell = Polygon([(y, x) if turned else (x, y) for x, y in ((x0, l0), (x1, l1), (x1, u1), (x0, u0))])
        assert cell.buffer(1.5).covers(Polygon(second))
        low, high = min(cell.exterior.coords), max(cell.exterior.coords)
        if not turned:
            assert low[0] <= min(x for x, _ in second) <= max(x for x, _ in second) <= high[0]
        assert Polygon(first).distance(Polygon(second)) >= instance.saw.kerf - 2
        if instance.saw.kerf == 0:
            assert Polygon(first).intersection(Polygon(second)).area <= 2 * instance.items[1].length
    assert seen > 200
