"""Sheets that leave hardly any room to spare, as the loops tell them."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from nesting.cutting.room import play
from nesting.packing.construct import first_plans
from nesting.packing.instance import Instance, Item, Settings, Size
from nesting.packing.rules import Rules
from nesting.packing.solve import solve
from nesting.packing.state import tree_of
from nesting.packing.tightness import is_tight
from nesting.stock import Saw, Trim
from tests.packing.cutups import cut_up


def told(instance: Instance) -> list[tuple[tuple[int, int], tuple[float, float]]]:
    """Of each sheet of a first plan: room along and across by the loops, and by its tree."""
    rules = Rules(replace(instance, tight=1))
    state = next(first_plans(rules))
    found = []
    for slot in state.slots:
        rules.loops(is_tight, rules.table, state.work, slot)
        along, across, _ = state.work.slack[0]
        found.append(((int(along), int(across)), play(tree_of(rules, state.rows_of(slot)), instance.items)))
    return found


@pytest.mark.parametrize("seed", range(30))
def test_room_beside_rectangles_is_what_the_tree_says(seed: int):
    rng = random.Random(seed)
    items = tuple(
        Item(rng.randint(20, 90), width := rng.randint(5, 40), width, grain=rng.choice(("length", "any")))
        for _ in range(rng.randint(1, 9))
    )
    instance = Instance(items, (Size("s", 100, 50, 1),), Saw(rng.choice((0, 1, 2))))
    for by_loops, by_tree in told(instance):
        assert by_loops == by_tree


@pytest.mark.parametrize("seed", range(10))
def test_beside_slanted_cuts_no_more_room_is_told_than_there_is(seed: int):
    for (along, across), (most_along, most_across) in told(cut_up(seed, sheets=2, parts=6)):
        assert along <= most_along
        assert across <= most_across


@pytest.mark.parametrize(("tight", "together"), [(0, {30, 18}), (1, {30, 17}), (2, {30, 18})])
def test_at_equal_money_no_sheet_is_tight_where_that_can_be(tight: int, together: set[int]):
    """Four strips on two sheets 48 wide: 30 and 18 take one cut less, 30 and 17 leave 1 on either sheet."""
    items = tuple(Item(90, width, width) for width in (30, 29, 18, 17))
    instance = Instance(items, (Size("s", 96, 48, 1),), Saw(0), keep=(96, 48), tight=tight)
    result = solve(instance, Settings(seconds=20, effort=2_000))
    held = [[node.item for node in layout.root.walk() if node.item is not None] for layout in result.layouts]
    assert result.cost == 2
    assert together in [{items[item].start for item in sheet} for sheet in held]


def test_room_that_is_kept_counts():
    """A part as long as what the play kept leaves: the sheet may be that much short."""
    for kept, tight in ((0, True), (1, True), (2, False), (3, False)):
        size = Size("s", 96, 48, 1, trim=Trim(right=kept, upper=kept), play=kept)
        rules = Rules(Instance((Item(96 - kept, 20, 20),), (size,), Saw(0), tight=2))
        state = next(first_plans(rules))
        assert rules.loops(is_tight, rules.table, state.work, state.slots[0]) == tight
