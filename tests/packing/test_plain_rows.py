"""Plain rows: parts of one width side by side, one row above the other. Arithmetic by hand, no source."""

from __future__ import annotations

import pytest

from nesting.packing import tables as c
from nesting.packing.instance import Instance, Item, Settings, Size
from nesting.packing.rules import Rules
from nesting.packing.solve import solve
from nesting.packing.state import State
from nesting.stock import Saw, Trim

EIGHTHS = 8
SHEET = Size("4x8", 96 * EIGHTHS, 48 * EIGHTHS, 9000, trim=Trim(2, 2, 2, 2))  # 95 1/2 by 47 1/2
SAW = Saw(kerf=1)


def least(items: tuple[Item, ...], sizes: tuple[Size, ...] = (SHEET,), seed: int = 1) -> int:
    """Cost of the plan found by a look of a second or so."""
    return solve(Instance(items, sizes, SAW), Settings(seconds=60, seed=seed, effort=20_000)).cost


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_tapers_are_laid_in_rows_as_their_rectangles_are(seed: int):
    # 3 x 30 + 1/4 and 2 x 47 + 1/8 long; 23 1/2 + 1/8 + 23 1/2 high
    items = Item(240, 188, 186, count=3), Item(376, 186, 188, count=2)
    assert least(items, seed=seed) == SHEET.price


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_steeper_tapers_too(seed: int):
    items = Item(240, 192, 176, count=3), Item(376, 168, 184, count=2)
    assert least(items, seed=seed) == SHEET.price


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_three_rows_of_rectangles_on_one_sheet(seed: int):
    # 4 x 23 3/4 + 3/8, 3 x 31 3/4 + 1/4 and 2 x 47 1/2 + 1/8 long; 15 3/4 + 15 3/4 + 15 1/2 + 1/4 high
    items = Item(190, 126, 126, count=4), Item(254, 126, 126, count=3), Item(380, 124, 124, count=2)
    assert least(items, seed=seed) == SHEET.price


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_rows_of_parts_that_may_be_turned(seed: int):
    # 350 + 253 + 239 + 113 and 448 + 381 + 127 long, 284 + 196 = 480 high: no kerf
    sides = [(350, 283), (253, 283), (239, 282), (113, 284), (448, 196), (381, 195), (127, 195)]
    items = tuple(Item(length, width, width, grain="any") for length, width in sides)
    sheet = Size("bare", 960, 480, 9000)
    found = solve(Instance(items, (sheet,), Saw(kerf=0)), Settings(seconds=60, seed=seed, effort=20_000))
    assert found.cost == sheet.price


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_cheaper_of_three_sizes_is_not_missed(seed: int):
    sides = [(56, 22, "across"), (66, 25, "any"), (61, 35, "length"), (63, 13, "any"), (57, 43, "across")]
    items = tuple(Item(length, width, width, grain=grain) for length, width, grain in sides)
    sizes = (Size("a", 133, 73, 8000, 2), Size("b", 90, 67, 11000, 2), Size("c", 144, 76, 10300))
    assert least(items, sizes[:1], seed) == least(items, sizes, seed) == 8000


def test_a_blank_leaves_rectangles_beside_the_taper():
    taper = Item(240, 192, 176)
    pieces = {}
    for blanking in (False, True):
        state = State(Rules(Instance((taper,), (SHEET,), SAW)), 1)
        state.work.counts[c.FIRST] = c.ALONG
        state.fill([0], blanking=blanking)
        (slot,) = state.slots
        node = state.work.nodes[slot]
        rooms = [node[n] for n in state.work.rooms[slot, : state.work.head[slot, c.ROOMS]]]
        pieces[blanking] = [bool(n[c.L0] == n[c.L1] and n[c.U0] == n[c.U1]) for n in rooms]
    assert pieces[True] == [True, True]  # the wedge within the blank is waste
    assert pieces[False] == [False, False]


def test_all_stock_that_can_be_had_is_too_little():
    # 30 and 18 wide with the kerf are 48 1/8, and neither lies beside the other along 95 1/2
    items = Item(480, 240, 240, grain="any"), Item(400, 144, 144)
    for price in (6800, 0):
        shop = Size("shop", 96 * EIGHTHS, 48 * EIGHTHS, price, 1, Trim(2, 2, 2, 2))
        result = solve(Instance(items, (shop,), SAW), Settings(seconds=20, effort=2_000))
        assert result.impossible
        assert not result.layouts
