"""The master problem: the values it gives, and the plans it is dived for."""

from __future__ import annotations

import random

import pytest

from nesting.lengths import INCH
from nesting.packing.construct import first_plans
from nesting.packing.instance import Instance, Item, Size
from nesting.packing.master import Master
from nesting.packing.pool import Pool
from nesting.packing.rules import Rules
from nesting.packing.state import NO_LIMIT
from nesting.stock import Saw


def master_of(instance: Instance) -> Master:
    rules = Rules(instance)
    pool = Pool(rules)
    for state in first_plans(rules):
        pool.add(state)
    return Master(rules, pool, 1, lambda: False)


def test_the_values_of_parts_pay_for_the_sheets():
    """By hand: two halves fill a sheet at 90, a third needs one more: 1 1/2 sheets if relaxed, 45 a half."""
    instance = Instance((Item(48, 48, 48, count=3),), (Size("s", 96, 48, 90),), Saw(0))
    master = master_of(instance)
    assert master.solve()
    assert master.value == pytest.approx(135)
    assert master.values[0] == pytest.approx(45)


@pytest.mark.parametrize("seed", range(3))
def test_a_dive_takes_no_more_sheets_of_a_size_than_can_be_had(seed: int):
    """Remnants that cost nothing are what a dive would take most of."""
    rng = random.Random(seed)
    items = tuple(
        Item(rng.randrange(10, 60) * INCH, rng.randrange(4, 20) * INCH, rng.randrange(4, 20) * INCH)
        for _ in range(14)
    )
    sizes = (Size("sheet", 96 * INCH, 48 * INCH, 9000), Size("rack", 61 * INCH, 22 * INCH, 0, count=1))
    rules = Rules(Instance(items, sizes, Saw(0)))
    pool = Pool(rules)
    for state in first_plans(rules):
        pool.add(state)
    master = Master(rules, pool, 1, lambda: False)
    master.improve(3, 40)
    dived = master.dive(NO_LIMIT, 10)
    assert not dived.waiting
    assert [dived.size_of(slot) for slot in dived.slots].count(1) <= 1
