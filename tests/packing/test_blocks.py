"""Full sheets: found again after cutting up, only looked for where there can be any, and laid out rightly."""

from __future__ import annotations

from collections import Counter

import pytest

from nesting.packing import blocks
from nesting.packing.blocks import Builder, Filler, full_sheets, plays
from nesting.packing.compiled import Loops
from nesting.packing.instance import Instance, Item, Settings, Size
from nesting.packing.rules import Rules
from nesting.packing.solve import solve
from nesting.stock import Saw
from tests.packing.cutups import cut_up


def rules_of(instance: Instance) -> Rules:
    return Rules(instance, Loops())


@pytest.mark.parametrize(("seed", "sheets", "parts", "whole_steps"), [
    (0, 4, 8, False), (1, 4, 8, False), (2, 4, 8, False), (0, 4, 8, True), (1, 5, 7, True), (2, 6, 6, True),
])  # fmt: skip
def test_sheets_that_were_cut_up_are_put_together_again(
    seed: int, sheets: int, parts: int, whole_steps: bool
):
    rules = rules_of(cut_up(seed, sheets, parts, whole_steps=whole_steps))
    state = Filler(rules).plan(0, 300_000, lambda: False)
    assert state is not None
    assert len(state.slots) == sheets
    found = sum((state.content(slot) for slot in state.slots), Counter[int]())
    assert found == Counter(range(sheets * parts))


def test_a_stack_is_made_once_not_in_every_order():
    """Seven strips that fill a sheet: each set of them is one block, 2 to the 7th less the empty one."""
    items = tuple(Item(100, height, height) for height in (3, 5, 7, 11, 13, 17, 44))
    rules = rules_of(Instance(items, (Size("s", 100, 100, 1),), Saw(0)))
    builder = Builder(rules, 0, 0)
    assert builder.build(100_000, lambda: False)
    assert len(builder.full) == 1
    assert len(builder.known) == 2**7 - 1
    assert builder.looked < 4 * 7 * 2**7  # a set and one more strip, told in two frames


def test_alike_parts_are_stacked_too():
    rules = rules_of(Instance((Item(100, 20, 20, count=10),), (Size("s", 100, 100, 1),), Saw(0)))
    state = Filler(rules).plan(0, 10_000, lambda: False)
    assert state is not None
    assert [state.content(slot) for slot in state.slots] == [Counter({0: 5})] * 2


def test_the_search_for_blocks_goes_on_where_it_was_given_up():
    rules = rules_of(cut_up(2, 4, 8))
    at_once, in_steps = Builder(rules, 0, 2), Builder(rules, 0, 2)
    at_once.build(1_000_000, lambda: False)
    for joints in range(0, 1_000_000, 500):
        in_steps.build(joints, lambda: False)
    assert in_steps.full == at_once.full
    assert not in_steps.waiting


def test_without_a_kerf_nothing_may_be_left_over():
    sheet = (Size("s", 100, 100, 1),)
    full = Instance((Item(100, 40, 40), Item(100, 60, 60)), sheet, Saw(0))
    assert plays(rules_of(full)) == [0]
    assert full_sheets(rules_of(full), 0) == 1
    less = Instance((Item(100, 40, 40), Item(100, 59, 59)), sheet, Saw(0))
    assert full_sheets(rules_of(less), 0) == 0


def test_nobody_looks_for_full_sheets_where_the_bound_forbids_them(monkeypatch: pytest.MonkeyPatch):
    asked: list[int] = []

    def plan(self: Filler, size: int, joints: int, stop: object) -> None:
        asked.append(size)

    monkeypatch.setattr(blocks.Filler, "plan", plan)
    instance = cut_up(3, sheets=2, parts=8)
    solve(instance, Settings(seconds=5, effort=200, prove=False), least=300)
    assert not asked
    solve(instance, Settings(seconds=5, effort=200, prove=False))
    assert asked
