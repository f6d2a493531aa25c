"""Each lower bound: that it holds, an instance where it is tight, and one where it is not."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.lengths import INCH
from nesting.packing import bounds
from nesting.packing.bounds import Bound, known_at_once
from nesting.packing.functions import Function, identity, lines, steps, threshold, zone
from nesting.packing.instance import Instance, Item, Settings, Size
from nesting.packing.refute import Refuter
from nesting.packing.rules import Rules
from nesting.packing.solve import solve
from nesting.packing.uncut import A_CUTTING
from nesting.stock import Saw
from tests.packing.enumerator import Part, cheapest

# f0 and f2 as named in Fekete and Schepers 2004 (Mathematical Methods of Operations Research 60:311-329) and
# Carlier, Clautiaux and Moukrim 2007 (Computers & Operations Research 34:2223-2250)
KINDS = {"f0": threshold, "f2": steps}


def bins(function: Function, room: int, sizes: list[int]) -> int:
    """What a function says how many rooms the sizes need at the least."""
    weights, whole = function(np.array(sizes), room)
    return -(-int(weights.sum()) // whole) if whole > 0 else 0


def best(kind: str, room: int, sizes: list[int]) -> int:
    return max(bins(KINDS[kind](k), room, sizes) for k in range(1, room // 2 + 1))


@st.composite
def rooms(draw: st.DrawFn) -> tuple[int, int, list[int]]:
    """A room, a parameter up to its half, and sizes that it holds side by side."""
    room = draw(st.integers(2, 60))
    cuts = sorted(draw(st.sets(st.integers(1, room - 1), max_size=8)))
    sizes = [b - a for a, b in itertools.pairwise([0, *cuts, room])]
    return room, draw(st.integers(1, room // 2)), sizes[: draw(st.integers(1, len(sizes)))]


@pytest.mark.parametrize("kind", KINDS)
@given(case=rooms())
def test_what_lies_side_by_side_never_weighs_more_than_the_room(kind: str, case: tuple[int, int, list[int]]):
    room, k, sizes = case
    weights, whole = KINDS[kind](k)(np.array(sizes), room)
    assert int(weights.sum()) <= whole


# room, sizes, rooms needed, and what f0, f2 and the plain size say. By hand: 11 in 12 leaves no place for 2
# or more, and 6 + 5 + 2 = 13; of 4, 3, 3, 3, 3 in 8 no three fit; of 6, 6, 6 in 11 no two fit
TIGHT_AND_NOT = [
    (12, [11, 6, 5, 2], 3, {"f0": 3, "f2": 2}, 2),
    (8, [4, 3, 3, 3, 3], 3, {"f0": 2, "f2": 3}, 2),
    (11, [6, 6, 6, 2], 3, {"f0": 2, "f2": 2}, 2),
    (10, [5, 5, 10], 2, {"f0": 2, "f2": 2}, 2),
]


@pytest.mark.parametrize(("room", "sizes", "needed", "said", "plain"), TIGHT_AND_NOT)
def test_where_the_functions_are_tight_and_where_not(
    room: int, sizes: list[int], needed: int, said: dict[str, int], plain: int
):
    assert cheapest([Part(size, 1, 1) for size in sizes], [(room, 1, 1)], 0) == needed
    assert {kind: best(kind, room, sizes) for kind in KINDS} == said
    assert bins(identity, room, sizes) == plain


def _met(begin: int, size: int, at: list[float]) -> int:
    return sum(begin < line < begin + size for line in at)


@given(room=st.integers(4, 50), size=st.integers(1, 50), count=st.integers(1, 8))
def test_a_part_meets_as_many_lines_at_equal_distances_as_is_said(room: int, size: int, count: int):
    """Whatever of ``count`` lines it may lie on the edges of; by trying all whole places."""
    size = min(size, room)
    weights, whole = lines(count)(np.array([size]), room)
    at = [room * i / (count + 1) for i in range(1, count + 1)]
    assert whole == count
    assert weights[0] <= min(_met(begin, size, at) for begin in range(room - size + 1))


@given(room=st.integers(8, 50), size=st.integers(1, 50), margin=st.integers(1, 20), count=st.integers(2, 6))
def test_a_part_meets_as_many_lines_of_a_zone_as_is_said(room: int, size: int, margin: int, count: int):
    size, margin = min(size, room), min(margin, (room - 1) // 2)
    weights, _ = zone(margin, count)(np.array([size]), room)
    at = [margin + (room - 2 * margin) * i // (count - 1) for i in range(count)]
    assert weights[0] == min(_met(begin, size, at) for begin in range(room - size + 1))


def test_lines_by_hand():
    # lines at 4 and 8 of 12: 5 long meets one wherever it lies, 9 meets both, 4 may lie between two
    assert list(lines(2)(np.array([4, 5, 9]), 12)[0]) == [0, 1, 2]
    # in a zone of 5 to 7, 8 long meets both wherever it lies; at equal distances only one of two
    assert list(zone(5, 2)(np.array([8]), 12)[0]) == [2]
    assert list(lines(2)(np.array([8]), 12)[0]) == [1]


def _bound(items: list[tuple[int, int, int]], side: tuple[int, int], kerf: int = 0) -> tuple[int, float]:
    """The bound in sheets, and the optimum by enumeration."""
    instance = Instance(tuple(Item(*item) for item in items), (Size("s", *side, 1),), Saw(kerf))
    bound = Bound(instance, Rules(instance).takes)
    bound.tighten(9, effort=1.0)
    return bound.value, cheapest([Part(*item) for item in items], [(*side, 1)], kerf)


def test_the_area_is_tight_on_full_sheets_and_products_where_two_do_not_lie_together():
    assert _bound([(12, 6, 6)] * 4, (12, 12)) == (2, 2)
    # 7 x 7 twice is 98 of 144, and neither beside nor above each other; f0 times f0 says 2
    assert _bound([(7, 7, 7)] * 2, (12, 12)) == (2, 2)


def test_sheets_are_ruled_out_where_no_weight_is_too_much():
    """Relaxed placing (Clautiaux, Jouglet, Carlier and Moukrim 2008): 91 of 144; no two go above each other
    (7 + 6, 7 + 9, 6 + 9), so all three beside: 7 + 4 + 2 = 13. Of cuts it knows nothing, so that the
    pinwheel is left to the most area that can be cut out of one sheet."""
    assert _bound([(7, 7, 7), (4, 6, 6), (2, 9, 9)], (12, 12)) == (2, 2)
    assert _bound([(6, 4, 4)] * 2 + [(4, 6, 6)] * 2 + [(2, 2, 2)], (10, 10)) == (2, 2)


def test_tapered_legs_are_counted_on_lines_that_cross_them_all():
    # three legs 90 long on 96 x 48: 3 x 16 1/16 is 48 3/16 at the least, on any line through all of them
    assert _bound([_leg(16 + 1 / 16, 16.5)] * 3, (96 * INCH, 48 * INCH)) == (2, 2)
    # 15 1/2 to 16 3/4: head to foot 49 at one end; 48 3/8 in the middle, whichever end is left
    assert _bound([_leg(15.5, 16.75)] * 3, (96 * INCH, 48 * INCH)) == (2, 2)
    # 15 1/2 to 16 1/2: still 48 1/2 at one end, so two sheets by enumeration, but 48 in the middle
    assert _bound([_leg(15.5, 16.5)] * 3, (96 * INCH, 48 * INCH)) == (1, 2)


def _leg(start: float, end: float) -> tuple[int, int, int]:
    return 90 * INCH, round(start * INCH), round(end * INCH)


@settings(max_examples=25, deadline=None)
@given(counts=st.lists(st.integers(1, 4), min_size=1, max_size=3), seed=st.integers(0, 10**6))
def test_the_bound_of_several_sizes_is_money_that_can_be_paid(counts: list[int], seed: int):
    """Whole numbers of sheets at 90 and 55, and never above a plan that is known."""
    rng = np.random.default_rng(seed)
    items = tuple(Item(int(a), int(b), int(b), count=n) for n, (a, b) in
                  zip(counts, rng.integers(3, 20, (len(counts), 2)), strict=True))  # fmt: skip
    instance = Instance(items, (Size("large", 40, 20, 90), Size("small", 20, 20, 55)), Saw(0))
    bound = Bound(instance, Rules(instance).takes)
    most = 55 * instance.total  # each part on a small sheet
    bound.tighten(most, effort=0.2)
    assert bound.value in {90 * a + 55 * b for a, b in itertools.product(range(20), repeat=2)}
    assert bound.value <= most


def _fewest(items: list[tuple[int, int, int]], sizes: list[tuple[int, int, int]]) -> tuple[int, int, int]:
    """The bound on the sheets, how many the cheapest plans have at the least, and their money.

    By enumeration: with prices a thousandfold and one more, the least sum tells both.
    """
    pieces = [Part(*item) for item in items]
    least = cheapest(pieces, [(a, b, 1000 * price + 1) for a, b, price in sizes], 0)
    money, sheets = divmod(round(least), 1000)
    instance = Instance(tuple(Item(*item) for item in items),
                        tuple(Size(str(n), *size) for n, size in enumerate(sizes)), Saw(0))  # fmt: skip
    bound = Bound(instance, Rules(instance).takes)
    return bound.fewest(money, len(items), effort=1.0), sheets, money


def test_how_many_sheets_are_needed_at_the_least_where_it_is_tight_and_where_it_is_not():
    # four strips of 12 x 4: on 12 x 12 at 3, or one each at 1 on 12 x 4; 4 either way, two sheets by area
    assert _fewest([(12, 4, 4)] * 4, [(12, 12, 3), (12, 4, 1)]) == (2, 2, 4)
    # three legs at 1 each on boards of 17; one sheet at 3 would do, but for 48 1/2 at one end (see above)
    sizes = [(96 * INCH, 48 * INCH, 3), (96 * INCH, 17 * INCH, 1)]
    assert _fewest([_leg(15.5, 16.5)] * 3, sizes) == (1, 3, 3)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.integers(2, 12), st.integers(2, 8)), min_size=1, max_size=4))
def test_no_plan_of_the_least_money_has_fewer_sheets_than_is_said(sides: list[tuple[int, int]]):
    bound, sheets, _ = _fewest([(a, b, b) for a, b in sides], [(12, 8, 2), (12, 16, 4), (8, 8, 1)])
    assert 1 <= bound <= sheets


# Five sheet sizes, after Pisinger and Sigurd 2005: MB_C2_11 of the published set, parts turn, price = area.
# 895 square units of parts: the next sum of prices is 900.
FIVE_SIZES = (30, 30), (25, 20), (20, 19), (27, 22), (20, 29)
HARD_TO_BOUND = (
    "2x2x3 8x6x1 2x10x1 3x1x1 4x8x1 10x3x1 9x1x2 5x1x1 3x6x1 1x1x1 2x4x1 2x9x1 5x9x3 7x4x2 4x3x1 7x9x1 1x4x2 "
    "8x9x1 3x4x1 5x6x1 4x10x1 2x1x1 1x7x2 1x3x1 3x8x1 4x4x1 2x7x1 9x6x1 8x2x1 6x10x1 9x3x1 8x3x1"
)


@pytest.mark.parametrize("relaxed", [bounds.FEW_PARTS, 0])
def test_a_programme_that_is_hard_to_bound_is_relaxed_at_once_or_once_it_is_not_bounded(
    relaxed: int, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(bounds, "FEW_PARTS", relaxed)
    parts = [tuple(map(int, word.split("x"))) for word in HARD_TO_BOUND.split()]
    items = tuple(Item(a, b, b, grain="any", count=count) for a, b, count in parts)
    sizes = tuple(Size(f"{a} x {b}", a, b, a * b) for a, b in FIVE_SIZES)
    bound = Bound(Instance(items, sizes, Saw(0)), [[True] * len(sizes)] * len(items))
    bound.tighten(1080, 0.1)
    assert 880 <= bound.value <= 900


def test_what_is_not_asked_for_want_of_time_is_asked_later():
    # turned about a middle: no cut goes from edge to edge, and by lines it all lies
    wheel = Item(60, 40, 40, count=2), Item(40, 60, 60, count=2), Item(20, 20, 20)
    bound = Bound(Instance(wheel, (Size("s", 100, 100, 1),), Saw(0)), [[True]] * 3)
    refuter = Refuter(bound, thorough=False)
    bound.until = A_CUTTING / 2
    assert not refuter._cannot_be_cut(0, bound.demand)
    bound.until = 10.0
    assert refuter._cannot_be_cut(0, bound.demand)


def test_a_model_that_had_no_time_is_asked_again():
    # three of 60 x 20 do not lie one above the other in 50
    bound = Bound(Instance((Item(60, 20, 20, count=3),), (Size("s", 100, 50, 1),), Saw(0)), [[True]])
    refuter = Refuter(bound, thorough=False)
    bound.until = 0.0
    assert not refuter._does_not_fit(0, bound.demand, bound.ask, 1.0)
    bound.until = 10.0
    assert refuter._does_not_fit(0, bound.demand, bound.ask, 1.0)


def test_what_is_known_at_once_is_the_area_at_the_cheapest_sheets():
    """By hand: 1,200 of area; one sheet of 1,000 for 40, the other 200 at 60 for 1,000: 40 + 12."""
    items = (Item(30, 20, 20, count=2),)
    sizes = Size("dear", 50, 20, 6_000), Size("cheap", 50, 20, 4_000, 1)
    assert known_at_once(Instance(items, sizes, Saw(0))) == 5_200
    # a scrap that costs nothing is used up first; what is had without end for nothing leaves nothing to pay
    scrap = (*sizes, Size("scrap", 30, 20, 0, 1))
    assert known_at_once(Instance(items, scrap, Saw(0))) == 2_400
    assert known_at_once(Instance(items, (*sizes, Size("scrap", 30, 20, 0)), Saw(0))) == 0


@pytest.mark.parametrize("seed", range(20))
def test_what_is_known_at_once_holds(seed):
    rng = random.Random(seed)
    items = tuple(Item(rng.randint(10, 60), rng.randint(5, 30), rng.randint(5, 30), count=rng.randint(1, 3))
                  for _ in range(4))  # fmt: skip
    sizes = (Size("a", 100, 50, 900), Size("b", 80, 40, 500, 2), Size("c", 70, 35, 100, 1))
    instance = Instance(items, sizes, Saw(1))
    result = solve(instance, Settings(seconds=5, effort=3_000, prove=False, seed=seed))
    assert 0 < known_at_once(instance) <= result.cost
