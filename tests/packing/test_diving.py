"""Dives at single sets of sheets."""

import numpy as np
import pytest

from nesting.packing.construct import first_plans
from nesting.packing.diving import A_DIVE, Diver
from nesting.packing.instance import Instance, Item, Settings, Size
from nesting.packing.master import Master
from nesting.packing.pool import Pool
from nesting.packing.rules import Rules
from nesting.packing.solve import solve
from nesting.packing.state import State
from nesting.stock import Saw
from tests.packing.cutups import cut_up


def diver(rules: Rules, seed: int = 1) -> Diver:
    pool = Pool(rules)
    for state in first_plans(rules):
        pool.add(state)
    return Diver(rules, pool, seed, lambda: False)


def two_sizes(parts: int) -> Rules:
    """So many parts of 10 x 10; sheets for one of them at 90, for four at 200."""
    sizes = Size("small", 10, 10, 90), Size("large", 20, 20, 200)
    return Rules(Instance((Item(10, 10, 10, count=parts),), sizes, Saw(0)))


def held(state: State) -> list[int]:
    found = np.zeros(len(state.rules.instance.items), dtype=int)
    for slot in state.slots:
        for item, many in state.content(slot).items():
            found[item] += many
    return [int(count) for count in found]


def test_growth_is_what_the_set_lacks():
    """By hand: a sheet of 20 x 20 holds two parts of 12 x 10, one of 10 x 10 none; by area five have room."""
    sizes = Size("small", 10, 10, 90), Size("large", 20, 20, 200)
    asked = diver(Rules(Instance((Item(12, 10, 10, count=5),), sizes, Saw(0))))
    assert asked.promising(489) is None
    assert asked.growth == {(0, 2): 5 / 4, (3, 1): 5 / 2}  # more than of any set that is dived at
    assert asked.promising(600) == (0, 3)
    assert asked.growth[0, 3] == pytest.approx(5 / 6)


def test_each_dive_counts_against_a_set():
    """By hand: five parts need 1 of 5 places on one set and 4 of 8 on another; a dive more costs 0.002."""
    asked = diver(two_sizes(5))
    assert asked.promising(400) == (0, 2)
    assert asked.growth == {(0, 2): pytest.approx(5 / 8), (2, 1): pytest.approx(5 / 6)}
    asked.dives[0, 2] = int((5 / 6 - 5 / 8) / A_DIVE) + 1
    assert asked.promising(400) == (2, 1)


def test_of_one_size_there_is_nothing_to_choose():
    rules = Rules(Instance((Item(10, 10, 10, count=5),), (Size("large", 20, 20, 200),), Saw(0)))
    assert diver(rules).promising(399) is None


def test_all_parts_get_onto_the_set_and_no_other_sheets():
    asked = diver(two_sizes(5))
    found = asked.dive((1, 1))
    assert found is not None
    assert held(found) == [5]
    assert sorted(found.size_of(slot) for slot in found.slots) == [0, 1]
    assert found.rules is asked.rules


def test_nothing_is_found_on_a_set_that_is_too_small():
    asked = diver(two_sizes(6))
    before = asked.tries
    assert asked.dive((1, 1)) is None
    assert asked.tries > before
    assert asked.dives[1, 1] == 1


def test_what_is_missing_gets_onto_a_few_sheets_at_a_time():
    """By hand: three parts on the large sheet of two, two waiting: one goes beside them, one on the small."""
    asked = diver(two_sizes(5))
    state = State(asked.rules.with_counts((0, 1)), 2)
    state.fill([0] * 3)
    state.wait([0] * 2)
    found = asked._mend(state, (1, 1))
    assert found is not None
    assert held(found) == [5]
    assert sorted(found.size_of(slot) for slot in found.slots) == [0, 1]


def test_what_was_cut_out_of_sheets_goes_back_onto_them():
    """Parts cut out of three sheets, tapers too, with larger and dearer sheets beside."""
    whole = cut_up(3, sheets=3, parts=5)
    (sheet,) = whole.sizes
    large = Size("large", sheet.length + 500, sheet.width + 50, 3 * sheet.price)
    instance = Instance(whole.items, (sheet, large), whole.saw, lean=whole.lean)
    asked, found = diver(Rules(instance)), None
    while found is None and asked.tries < 60_000:
        found = asked.dive((3, 0))
    assert found is not None
    assert held(found) == [item.count for item in whole.items]


def test_places_in_the_pool_are_asked_anew_once_some_are_forgotten():
    rules = Rules(cut_up(5, sheets=3, parts=5))
    asked = diver(rules)
    master = Master(rules, asked.pool, 1, lambda: False)
    master.improve(2, 200)
    counts, left = np.array([3]), asked.demand
    asked._solve((3,), left)
    sizes, _ = asked.pool.contents()
    asked.pool.forget(np.arange(len(sizes))[::-1].astype(float))  # the first ones go
    asked._solve((3,), left)
    picked = asked._pick(counts)
    _, contents = asked.pool.contents()
    assert picked is not None
    assert len(asked.sheets) == len(contents) == len(asked.programme.times)
    key = 0, contents[picked].astype(np.int64).tobytes()
    assert key in asked.programme.columns
    assert master.solve()
    assert len(master.times) == len(contents)


def test_the_same_twice():
    items = tuple(Item(700 + 37 * i, 150 + 11 * i, 150 + 17 * i) for i in range(9))
    sizes = Size("short", 960, 480, 9_400), Size("long", 1_200, 480, 13_100), Size("wide", 1_200, 600, 15_900)
    instance = Instance(items, sizes, Saw(kerf=1), lean=0)
    settings = Settings(seconds=60, effort=20_000, prove=False)
    told = []
    for _ in range(2):
        layouts = solve(instance, settings).layouts
        told.append([[(node.piece, node.item, node.spot) for node in one.root.walk()] for one in layouts])
    assert told[0] == told[1]
