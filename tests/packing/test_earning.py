"""Offcuts that are credited have a say in which sheets are bought. Arithmetic by hand, no source."""

from __future__ import annotations

import random
from fractions import Fraction

from nesting.packing.earning import worth_a_look
from nesting.packing.instance import Instance, Item, Settings, Size
from nesting.packing.rules import Rules
from nesting.packing.solve import solve
from nesting.stock import Saw

PART = Item(50, 40, 40)
SMALL, BIG = Size("small", 60, 48, 6000), Size("big", 96, 48, 6500)


def test_the_larger_sheet_is_bought_for_its_offcut():
    # a hundredth of money for each square unit: 46 x 48 and 50 x 8 beside the part for 5.00 more
    job = Instance((PART,), (SMALL, BIG), Saw(kerf=0), keep=(24, 6), credit=Fraction(1))
    result = solve(job, Settings(seconds=60, effort=4_000))
    assert [job.sizes[sheet.size].name for sheet in result.layouts] == ["big"]
    assert result.cost == BIG.price
    assert result.bound <= BIG.price - 46 * 48 - 50 * 8
    without = Instance((PART,), (SMALL, BIG), Saw(kerf=0), keep=(24, 6))
    assert solve(without, Settings(seconds=60, effort=4_000)).cost == SMALL.price


def test_no_plan_of_less_value_costs_more_than_what_is_looked_at():
    chance = random.Random(7)
    for _ in range(200):
        sizes = tuple(Size("s", chance.randrange(50, 99), 48, chance.randrange(3000, 9000)) for _ in range(3))
        credit = Fraction(chance.randrange(0, 60), 100)
        rules = Rules(Instance((PART,), sizes, Saw(kerf=0), credit=credit))
        counts = [1, chance.randrange(3), chance.randrange(3)]
        cost = sum(n * size.price for n, size in zip(counts, sizes, strict=True))
        area = sum(n * size.length * size.width for n, size in zip(counts, sizes, strict=True)) - 2000
        value = float(cost - credit * area)  # all that is left is credited
        beaten = value + chance.random() * 100
        best = chance.randrange(1, 20_000)
        assert worth_a_look(rules, best, beaten) >= min(cost, best + 2 * max(s.price for s in sizes))
