"""Bounds by prices: never above a plan, whole sums, exact in their arithmetic; tight here and not there."""

from __future__ import annotations

import random
from fractions import Fraction
from itertools import product

import numpy as np
import pytest

from nesting.packing.instance import Instance, Item, Settings, Size
from nesting.packing.priced import dual_bound, next_sum, priced_bound
from nesting.packing.recursion import sides
from nesting.packing.rules import Rules
from nesting.packing.single import most_value
from nesting.packing.solve import solve
from nesting.stock import Saw


def bound_of(instance: Instance, effort: int = 60):
    return priced_bound(instance, Rules(instance).takes, effort)


def random_job(seed: int, tapers: bool = False) -> Instance:
    rng = random.Random(seed)
    items = []
    for _ in range(rng.randint(2, 5)):
        length, width = rng.randint(200, 900), rng.randint(80, 400)
        end = width + rng.choice([0, 0, 3, 8]) * tapers
        grain = rng.choice(["length", "any", "across"] if width < 300 and length < 480 else ["length"])
        items.append(Item(length, width, end, grain=grain, count=rng.randint(1, 4)))
    sizes = (Size("full", 1000, 500, 100), Size("half", 500, 500, 55, rng.choice([None, 2])),
             Size("left", 900, 250, 0, 1))  # fmt: skip
    return Instance(tuple(items), sizes, Saw(rng.choice([0, 3])), Fraction(1, 100) * tapers)


@pytest.mark.parametrize("tapers", [False, True])
@pytest.mark.parametrize("seed", range(12))
def test_never_above_the_engines_plan(seed: int, tapers: bool):
    instance = random_job(seed, tapers)
    plan = solve(instance, Settings(seconds=5, effort=100))
    outcome = bound_of(instance)
    assert plan.layouts
    assert outcome.bound <= plan.cost
    assert not outcome.stopped


@pytest.mark.parametrize("seed", range(5))
def test_never_above_the_sheets_that_the_parts_were_cut_from(seed: int):
    """Sheets cut to pieces at random, nothing left over: their number is a plan's price."""
    rng = random.Random(seed)
    pieces = []
    for _ in range(3):
        todo = [(120, 60)]
        while len(todo) < 5:
            todo.sort(key=lambda p: -p[0] * p[1])
            a, b = todo.pop(0)
            if a > b:
                at = rng.randint(a // 4, a // 2)
                todo += [(at, b), (a - at - 1, b)]
            else:
                at = rng.randint(b // 4, b // 2)
                todo += [(a, at), (a, b - at - 1)]
        pieces += todo
    instance = Instance(tuple(Item(a, b, b) for a, b in pieces), (Size("s", 120, 60, 1),), Saw(1))
    assert bound_of(instance, 12).bound <= 3


def test_it_is_tight_where_the_sheets_hold_what_the_prices_say():
    """By hand: three a sheet for 13, two for 9, so 13/3 a part at the least, 34 2/3 for eight.

    The next sum of 13 and 9 is 35 = 13 + 13 + 9, which holds 3 + 3 + 2.
    """
    sizes = (Size("long", 95, 20, 13), Size("short", 60, 20, 9))
    instance = Instance((Item(30, 20, 20, count=8),), sizes, Saw(0))
    outcome = bound_of(instance)
    assert Fraction(104, 3) - Fraction(1, 1000) < outcome.exact <= Fraction(104, 3)
    assert outcome.bound == 35 == solve(instance, Settings(seconds=5)).cost


def test_it_is_not_tight_where_only_whole_sheets_know_better():
    """Any two of three parts lie on one sheet for 30: half a sheet for each pair is 3/2 of them, so 45.

    A blank for 1 that holds nothing makes every sum of prices reachable. The plan is 30 + 20.
    """
    items = tuple(Item(length, 9, 9) for length in (5, 4, 3))
    sizes = (Size("two", 9, 9, 30), Size("one", 5, 9, 20), Size("none", 1, 1, 1))
    instance = Instance(items, sizes, Saw(0))
    outcome = bound_of(instance)
    assert outcome.closed
    assert outcome.bound == 45
    assert solve(instance, Settings(seconds=5)).cost == 50


def test_patterns_can_be_cut_and_hold_what_they_say():
    instance = random_job(3)
    kerf = instance.saw.kerf
    pieces = [
        (i.start, i.length, 0, i.count, False)
        if i.turns() == (True,)
        else (i.length, i.start, 0, i.count, True)
        for i in instance.items
    ]
    outcome = bound_of(instance)
    assert outcome.patterns
    for pattern in outcome.patterns:
        length, width = sides(pattern.tree, pieces, kerf)
        room = instance.sizes[pattern.size].usable
        assert length <= room[0]
        assert width <= room[1]
        assert all(n <= item.count for n, item in zip(pattern.counts, instance.items, strict=True))


def test_the_same_effort_has_the_same_outcome_and_an_end_is_told():
    instance = random_job(5)
    assert bound_of(instance, 7) == bound_of(instance, 7)
    ended = priced_bound(instance, Rules(instance).takes, 50, lambda: True)
    assert ended.stopped
    assert ended.bound == 0


@pytest.mark.parametrize("seed", range(30))
def test_any_prices_give_a_bound(seed: int):
    """Arbitrary prices, the true most value of each sheet: never above the cheapest set of sheets.

    The cheapest is tried out: two sizes in a row, parts as wide as the sheet.
    """
    rng = random.Random(seed)
    lengths = [rng.randint(2, 7) for _ in range(3)]
    demand = [rng.randint(1, 2) for _ in lengths]
    rooms, prices, counts = (10, 7), (rng.randint(5, 9), rng.randint(3, 6)), (None, rng.choice([None, 1]))
    values = np.array([rng.randint(0, 20) for _ in lengths])
    worth = [
        most_value([(a, 1, int(v), d, False) for a, v, d in zip(lengths, values, demand, strict=True)],
                   (room, 1), 0).bound
        for room in rooms
    ]  # fmt: skip
    found = dual_bound(values, np.array(demand), worth, [Fraction(p) for p in prices], counts)
    parts = [a for a, d in zip(lengths, demand, strict=True) for _ in range(d)]
    cheapest = min(
        n * prices[0] + m * prices[1]
        for n, m in product(range(7), range(7 if counts[1] is None else 2))
        if holds(sorted(parts, reverse=True), [rooms[0]] * n + [rooms[1]] * m)
    )
    assert found <= cheapest


def holds(parts: list[int], rooms: list[int]) -> bool:
    if not parts:
        return True
    return any(
        holds(parts[1:], sorted([*rooms[:k], rooms[k] - parts[0], *rooms[k + 1 :]]))
        for k in range(len(rooms))
        if rooms[k] >= parts[0] and rooms[k] not in rooms[:k]
    )


def test_sums_of_prices():
    assert next_sum(Fraction(71, 2), (13, 9), (None, None)) == 36
    assert next_sum(Fraction(0), (13, 9), (None, None)) == 0
    assert next_sum(Fraction(10), (13, 9), (None, None)) == 13
    assert next_sum(Fraction(19), (13, 9), (None, 1)) == 22
    assert next_sum(Fraction(23), (13, 9), (1, 1)) == 23  # more than there is: nothing to round to
    assert next_sum(Fraction(1, 3), (0, 50), (1, None)) == 50
    assert next_sum(Fraction(9401), (9400, 13100), (None, None)) == 13100


def test_what_gives_no_bound_says_zero():
    free = Instance((Item(30, 20, 20),), (Size("s", 90, 30, 0),), Saw(0))
    assert bound_of(free).bound == 0
    assert priced_bound(Instance((), (Size("s", 90, 30, 5),), Saw(0)), [], 5).bound == 0
