"""Rectangles all cut out of one sheet: where an independent enumerator says that they come off."""

from __future__ import annotations

import random

import numpy as np
import pytest
from shapely.geometry import Polygon

from nesting.packing import exact
from nesting.packing.exact import cut_exactly
from nesting.packing.instance import Instance, Item, Size
from nesting.packing.layout import corners_of
from nesting.packing.rules import Rules
from nesting.packing.state import State
from nesting.stock import Saw, Trim
from tests.packing.cutups import cut_up
from tests.packing.enumerator import Part, fits

SHEET = Size("s", 100, 50, 1)


def rules_of(sizes: list[tuple[int, int, int, str]], sheet: Size = SHEET, kerf: int = 0) -> Rules:
    """Length, width, how many, and the grain of each item."""
    items = tuple(Item(a, b, b, count=count, grain=grain) for a, b, count, grain in sizes)
    return Rules(Instance(items, (sheet,), Saw(kerf)))


def all_of(rules: Rules) -> np.ndarray:
    return np.array([item.count for item in rules.instance.items])


def placed(state: State) -> list[tuple[int, Polygon]]:
    """Each part's item and its outline on the sheet."""
    (layout,) = state.layouts()
    items = state.rules.instance.items
    return [(node.item, Polygon(corners_of(node, items[node.item])))
            for node in layout.root.walk() if node.item is not None]  # fmt: skip


def test_four_around_a_corner_by_hand():
    # 60 x 30 above 60 x 20, beside 40 x 50: a 100 x 50 sheet to the last corner
    rules = rules_of([(60, 30, 1, "length"), (60, 20, 1, "length"), (40, 50, 1, "length")])
    state = cut_exactly(rules, 0, all_of(rules))
    assert state is not None
    assert not state.waiting
    assert sorted(item for item, _ in placed(state)) == [0, 1, 2]


def test_a_pinwheel_cannot_be_cut_edge_to_edge():
    # four of 60 x 40 around 20 x 20 fill 100 x 100, but no cut goes through
    rules = rules_of([(60, 40, 4, "any"), (20, 20, 1, "any")], Size("s", 100, 100, 1))
    assert cut_exactly(rules, 0, all_of(rules)) is None
    assert cut_exactly(rules, 0, np.array([2, 1])) is not None


def test_as_many_others_as_go_lie_beside():
    # 60 x 50 leaves 40 x 50: three of 40 x 16, or two beside one of 40 x 18
    rules = rules_of([(60, 50, 1, "length"), (40, 16, 5, "length"), (40, 18, 1, "length")])
    state = cut_exactly(rules, 0, np.array([1, 0, 0]), np.array([0, 5, 1]))
    assert state is not None
    (slot,) = state.slots
    assert state.content(slot) == {0: 1, 1: 2, 2: 1}


def test_what_is_not_asked_of_it():
    tapered = Rules(Instance((Item(60, 20, 30),), (Size("s", 100, 50, 1),), Saw(0)))
    assert cut_exactly(tapered, 0, np.array([1])) is None
    bad = rules_of([(60, 20, 1, "length")], Size("s", 100, 50, 1, blocked=((90, 0, 100, 50),)))
    assert cut_exactly(bad, 0, np.array([1])) is None
    assert cut_exactly(rules_of([(60, 20, 1, "length")]), 0, np.array([0])) is None
    many = rules_of([(10, 10, exact.MOST_PARTS + 1, "any")], Size("s", 1_000, 50, 1))
    assert cut_exactly(many, 0, all_of(many)) is None


@pytest.mark.parametrize("grain", ["length", "across", "any"])
def test_the_grain_and_the_trims_are_kept(grain: str):
    sheet = Size("s", 104, 56, 1, trim=Trim(1, 2, 3, 4))
    rules = rules_of([(45, 20, 2, grain), (22, 9, 3, grain)], sheet, kerf=2)
    state = cut_exactly(rules, 0, all_of(rules))
    assert state is not None
    x0, y0, x1, y1 = sheet.region
    for item, outline in placed(state):
        left, low, right, up = outline.bounds
        assert x0 <= left < right <= x1
        assert y0 <= low < up <= y1
        long = rules.instance.items[item].length
        assert grain == "any" or (right - left == long if grain == "length" else up - low == long)


@pytest.mark.parametrize("seed", range(40))
def test_as_the_enumerator_says(seed: int):
    """Up to five rectangles that fill most of a sheet; Shapely finds no two of them on one spot."""
    rng = random.Random(seed)
    kerf = rng.choice([0, 3])
    sizes = [(rng.randint(20, 70), rng.randint(12, 40), 1, "any" if rng.random() < 0.5 else "length")
             for _ in range(rng.randint(3, 5))]  # fmt: skip
    rules = rules_of(sizes, Size("s", 100, 60, 1), kerf)
    parts = [Part(length, width, width, grain == "any") for length, width, _, grain in sizes]
    state = cut_exactly(rules, 0, all_of(rules))
    assert (state is not None) == fits(parts, 100, 60, kerf)
    if state is not None:
        found = [outline.buffer(kerf / 2, join_style="mitre") for _, outline in placed(state)]
        assert len(found) == len(sizes)
        assert all(a.intersection(b).area < 1e-6 for n, a in enumerate(found) for b in found[:n])


@pytest.mark.parametrize(("seed", "rectangles"), [(18, True), (29, True), (38, True), (0, False), (1, False)])
def test_a_sheet_cut_up_is_put_together_again(seed: int, rectangles: bool):
    """Ten parts, nothing left over; a job with slants is not for it."""
    instance = cut_up(seed, sheets=1, parts=10)
    rules = Rules(instance)
    state = cut_exactly(rules, 0, all_of(rules))
    assert all(item.rectangular for item in instance.items) == rectangles
    assert (state is not None) == rectangles
