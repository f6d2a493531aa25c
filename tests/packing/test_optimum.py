"""Bound, optimum and plan on tiny jobs; the optimum from all cutting trees, by the tests' own enumerator."""

from __future__ import annotations

import math
import random
from functools import cache

import pytest

from nesting.lengths import INCH
from nesting.packing.instance import Instance, Item, Settings, Size
from nesting.packing.solve import Result, solve
from nesting.stock import Saw
from tests.packing.cutups import cut_up
from tests.packing.enumerator import Part, cheapest, fits

SEEDS = range(60)
STEP = INCH // 32
SHEETS = ((96, 48, 9400), (60, 60, 7100), (48, 48, 5000), (96, 24, 5200), (120, 48, 12800))


def tiny(seed: int) -> Instance:
    """Up to five parts, two or three of them tapered: every third job is a sheet or two cut up, on one size
    or with a smaller one beside it; the others are chosen at random, with one or two sizes."""
    rng = random.Random(seed)
    kerf = rng.choice((0, 3 * STEP, 4 * STEP))
    if seed % 3 == 0:
        sheets, parts = rng.choice(((1, 3), (1, 4), (2, 2), (2, 2)))
        cut = cut_up(seed, sheets, parts, kerf, whole_steps=rng.random() < 0.5)
        items, sizes = cut.items, list(cut.sizes)
        if rng.random() < 0.5:
            sizes.append(Size("small", 60 * INCH, 40 * INCH, rng.randrange(40, 70)))
    else:
        sizes = [Size(f"{a} x {b}", a * INCH, b * INCH, price) for a, b, price in
                 rng.sample(SHEETS, rng.choice((1, 2)))]  # fmt: skip
        tapers = rng.randrange(4) if seed % 3 == 1 else 0
        items = tuple(_item(rng, sizes[0], at < tapers) for at in range(4 if tapers > 2 else 5))
    return Instance(items, tuple(sizes), Saw(kerf))


def _item(rng: random.Random, size: Size, tapered: bool) -> Item:
    length = rng.randrange(size.length // 4, size.length * 19 // 20) // STEP * STEP
    width = rng.randrange(size.width // 6, size.width * 3 // 5) // STEP * STEP
    if tapered:
        return Item(length, width, width + rng.choice((-1, 1)) * rng.randrange(2, 40) * STEP)
    turns = max(length, width) <= size.width and rng.random() < 0.5
    return Item(length, width, width, grain="any" if turns else "length")


@cache
def both(seed: int) -> tuple[float, Result]:
    instance = tiny(seed)
    parts = [Part(item.length, item.start, item.end, item.grain == "any") for item in instance.items]
    sheets = [(size.length, size.width, size.price) for size in instance.sizes]
    return cheapest(parts, sheets, instance.saw.kerf), solve(instance, Settings(seconds=3, effort=400))


@pytest.mark.parametrize("seed", SEEDS)
def test_bound_optimum_and_plan_are_in_order(seed: int):
    optimum, result = both(seed)
    assert result.layouts
    assert result.bound <= optimum <= result.cost
    if result.proved:
        assert result.cost == optimum


def test_nearly_all_of_them_are_proved_and_some_need_slanted_cuts():
    assert sum(both(seed)[1].proved for seed in SEEDS) >= 0.9 * len(SEEDS)
    boxed = [tiny(seed) for seed in SEEDS]
    needing = [seed for seed, job in zip(SEEDS, boxed, strict=True) if both(seed)[0] < _in_boxes(job)]
    assert len(needing) >= 3


def _in_boxes(instance: Instance) -> float:
    """The optimum of the rectangles that hold the parts."""
    wide = [max(item.start, item.end) for item in instance.items]
    parts = [Part(item.length, width, width, item.grain == "any")
             for item, width in zip(instance.items, wide, strict=True)]  # fmt: skip
    return cheapest(parts, [(s.length, s.width, s.price) for s in instance.sizes], instance.saw.kerf)


def test_the_enumerator_by_hand():
    # head to foot two legs of 12 to 13 are 25 and a kerf wide, as boxes 26 and a kerf
    leg = Part(9000, 1200, 1300)
    assert fits([leg, leg], 9000, 2511, kerf=10)
    assert not fits([leg, leg], 9000, 2505, kerf=10)
    assert not fits([leg, leg, Part(9000, 10, 10)], 9000, 2511, kerf=10)
    # a pinwheel of four 6 x 4 around a 2 x 2 covers a 10 x 10, but no cut goes edge to edge
    wheel = [Part(6, 4, 4), Part(6, 4, 4), Part(4, 6, 6), Part(4, 6, 6), Part(2, 2, 2)]
    assert cheapest(wheel, [(10, 10, 1)], 0) == 2
    assert cheapest([Part(11, 1, 1)], [(10, 10, 1)], 0) == math.inf
    # lying along, a 7 x 3 needs a sheet of its own; turned, both come off one
    assert cheapest([Part(7, 3, 3), Part(3, 7, 7)], [(10, 7, 1)], 0) == 1
    assert cheapest([Part(7, 3, 3), Part(7, 7, 7)], [(10, 7, 1)], 0) == 2
    assert cheapest([Part(7, 3, 3, turns=True), Part(7, 7, 7)], [(10, 7, 1)], 0) == 1
