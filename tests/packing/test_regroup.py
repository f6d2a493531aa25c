"""A few sheets at a time exchanged for cheaper ones."""

import pytest

from nesting.packing.construct import slim
from nesting.packing.instance import Instance, Item, Size
from nesting.packing.pool import Pool
from nesting.packing.regroup import Regrouper
from nesting.packing.rules import Rules
from nesting.packing.state import State
from nesting.stock import Saw


def plan(small: Size, large: Size, filled: int) -> tuple[Rules, State]:
    """Four parts of 10 x 10, one to a sheet of the size ``filled``."""
    rules = Rules(Instance((Item(10, 10, 10, count=4),), (small, large), Saw(kerf=0)))
    state = State(rules)
    for _ in range(4):
        one = State(rules, 1)
        one.open(filled)
        one.fill([0], limit=0)
        state.adopt(one.rows_of(one.slots[0]).copy(), filled)
    state.drop_surplus()
    return rules, state


def improved(rules: Rules, state: State) -> list[int]:
    better = Regrouper(rules, Pool(rules), 1, lambda: False).improve(state, 200)
    assert not better.waiting
    assert sum(sum(better.content(slot).values()) for slot in better.slots) == 4
    return sorted(better.size_of(slot) for slot in better.slots)


def test_small_sheets_for_a_large_one_and_the_reverse():
    # worked by hand: a 20 x 20 holds all four parts, a 10 x 10 one
    assert improved(*plan(Size("small", 10, 10, 100), Size("large", 20, 20, 300), 0)) == [1]
    assert improved(*plan(Size("small", 10, 10, 100), Size("large", 20, 20, 500), 1)) == [0] * 4


def test_no_more_sheets_of_a_size_than_can_be_had():
    # two 10 x 20 would be cheaper still (300 for 350), but there is one
    rules, state = plan(Size("small", 10, 10, 100), Size("large", 10, 20, 150, count=1), 0)
    assert improved(rules, state) == [0, 0, 1]


def test_nothing_dearer_comes_of_it():
    rules, state = plan(Size("small", 10, 10, 100), Size("large", 20, 20, 500), 0)
    assert improved(rules, state) == [0] * 4


@pytest.mark.parametrize(("had", "price"), [(None, 3 * 50), (2, 2 * 50 + 94), (0, 3 * 94)])
def test_all_sheets_that_go_on_a_cheaper_size_are_moved_as_many_as_there_are(had: int | None, price: int):
    sizes = (Size("large", 96, 48, 94), Size("small", 60, 48, 50, count=had))
    rules = Rules(Instance((Item(60, 30, 30, count=3),), sizes, Saw(0)))
    state = State(rules)
    state.fill([0, 0, 0], prefer=0)
    assert state.price == 3 * 94  # neither two beside nor two above each other
    slim(state)
    assert state.price == price
    assert sum(state.content(slot)[0] for slot in state.slots) == 3
