"""Refuted contents made to hold for larger parts: never for what a sheet can take."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from ortools.sat.python import cp_model

from nesting.packing.bounds import Bound
from nesting.packing.compiled import Loops
from nesting.packing.hold import HoldModel
from nesting.packing.instance import Instance, Item, Size
from nesting.packing.joints import Joints, room
from nesting.packing.larger import AtLeast, Larger, larger_than, lifted
from nesting.packing.solver import SOLVED, solver_for
from nesting.packing.uncut import cannot_be_cut
from nesting.stock import Saw
from tests.packing.enumerator import Part, cheapest


def _reached(counts: tuple[int, ...], forbidden: list[AtLeast]) -> bool:
    return all(sum(counts[item] for item in items) >= least for items, least in forbidden)


def _stood_for(content: list[int], counts: tuple[int, ...], larger: Larger) -> bool:
    """Whether each part of the content has one of its own that is no less, by trying all ways."""
    wanted = [item for item, count in enumerate(content) for _ in range(count)]
    there = [item for item, count in enumerate(counts) for _ in range(count)]
    return any(
        all(larger[one, item] for one, item in zip(some, wanted, strict=True))
        for some in itertools.permutations(there, len(wanted))
    )


@pytest.mark.parametrize("seed", range(30))
def test_what_is_forbidden_holds_parts_no_less_than_the_content(seed: int):
    rng = np.random.default_rng(seed)
    sides = [sorted((int(a), int(b)), reverse=True) for a, b in rng.integers(1, 6, (4, 2))]
    items = tuple(Item(a, b, b, grain=str(rng.choice(["any", "length"]))) for a, b in sides)
    bound = Bound(Instance(items, (Size("s", 9, 9, 1),), Saw(0)), [[True]] * 4)
    larger = larger_than(items, bound.sure)
    content = rng.integers(0, 2, 4) + rng.integers(0, 2, 4)
    if not content.any():
        return
    forbidden = lifted(content, larger)
    assert _reached(tuple(int(n) for n in content), forbidden)
    for counts in itertools.product(range(3), repeat=4):
        if sum(counts) <= 6 and _reached(counts, forbidden):
            assert _stood_for(list(content), counts, larger)


def test_lifted_by_hand():
    # 8 x 4 stands for 7 x 4 and for 6 x 3, 7 x 4 for 6 x 3; 2 x 6 for none of these
    items = tuple(Item(a, b, b) for a, b in ((6, 3), (7, 4), (8, 4), (2, 6)))
    bound = Bound(Instance(items, (Size("s", 9, 9, 1),), Saw(0)), [[True]] * 4)
    larger = larger_than(items, bound.sure)
    assert lifted(np.array([2, 0, 0, 0]), larger) == [((0, 1, 2), 2)]
    assert sorted(lifted(np.array([1, 1, 0, 1]), larger)) == [((0, 1, 2), 2), ((1, 2), 1), ((3,), 1)]
    # what may be turned does not stand for what may not: it finds places that the other does not
    turning = (Item(6, 3, 3), Item(7, 4, 4, grain="any"))
    bound = Bound(Instance(turning, (Size("s", 9, 9, 1),), Saw(0)), [[True]] * 2)
    assert lifted(np.array([1, 0]), larger_than(turning, bound.sure)) == [((0,), 1)]


@pytest.mark.parametrize("seed", range(40))
def test_a_sheet_that_holds_parts_is_never_refuted_nor_are_more_parts_held_if_they_are_larger(seed: int):
    """Against all cutting trees, alike parts among them."""
    rng = np.random.default_rng(seed)
    items = []
    for count, (a, b) in zip((1, 3, 1), rng.integers(2, 9, (3, 2)), strict=True):
        items.append(Item(int(a), int(b), int(b), grain=str(rng.choice(["any", "length"])), count=count))
    size = Size("s", int(rng.integers(9, 13)), int(rng.integers(9, 13)), 1)
    status = _status(items, size)
    parts = [Part(i.length, i.start, i.end, i.grain == "any") for i in items for _ in range(i.count)]
    if cheapest(parts, [(size.length, size.width, 1)], 1) == 1:
        assert status in SOLVED
    lesser = [replace(item, length=max(1, item.length - 1)) for item in items]
    if _status(lesser, size) == cp_model.INFEASIBLE:
        assert status == cp_model.INFEASIBLE


def _status(items: list[Item], size: Size) -> cp_model.CpSolverStatus:
    instance = Instance(tuple(items), (size,), Saw(1))
    bound = Bound(instance, [[True]] * len(items))
    return HoldModel(bound, 0, bound.demand).solve(solver_for(2.0))


def test_alike_parts_may_fill_a_sheet_from_end_to_end():
    """Of these the mean lies in the middle, so that the whole is its own mirror image."""
    for side in ((9, 3), (3, 9)):
        instance = Instance((Item(3, 3, 3, count=3),), (Size("s", *side, 1),), Saw(0))
        assert HoldModel(Bound(instance, [[True]]), 0, np.array([3])).solve(solver_for(1.0)) in SOLVED
        assert HoldModel(Bound(instance, [[True]]), 0, np.array([4])).solve(solver_for(1.0)) not in SOLVED


def test_parts_that_share_no_line_may_lie_corner_to_corner():
    """There is no room for their chords side by side or above each other, but for what is sure of each."""
    leg = Item(1200, 600, 600, count=2)
    tapered = Item(100, 20, 30)
    size = Size("s", 2390, 1170, 1)
    instance = Instance((leg, tapered), (size,), Saw(0), lean=Fraction(1, 20))
    bound = Bound(instance, [[True], [True]])
    sure = bound.sure[0]
    assert 2 * sure.chord_length > 2390
    assert 2 * sure.chord_width > 1170
    assert 2 * sure.run <= 2390
    assert 2 * sure.rise <= 1170
    assert HoldModel(bound, 0, np.array([2, 0])).solve(solver_for(1.0)) in SOLVED


def test_a_pinwheel_is_refuted_by_cuts_and_a_row_is_not():
    """Four 6 x 4 around a 2 x 2 cover a 10 x 10 without an edge-to-edge cut: two sheets, by enumeration."""
    wheel = (Item(6, 4, 4, count=2), Item(4, 6, 6, count=2), Item(2, 2, 2))
    size = Size("s", 10, 10, 1)
    instance = Instance(wheel, (size,), Saw(0))
    content = np.array([2, 2, 1])
    assert HoldModel(Bound(instance, [[True]] * 3), 0, content).solve(solver_for(1.0)) in SOLVED
    assert cannot_be_cut(instance, size, content, None)
    assert not cannot_be_cut(instance, size, np.array([2, 1, 1]), None)
    bound = Bound(instance, [[True]] * 3)
    bound.tighten(9, 1.0)
    assert bound.value == 2


@pytest.mark.parametrize("seed", range(40))
def test_what_all_cutting_trees_bring_off_a_sheet_can_be_cut_and_nothing_else(seed: int):
    rng = np.random.default_rng(seed)
    items = [Item(int(a), int(b), int(b), grain=str(rng.choice(["any", "length", "across"])), count=int(n))
             for n, (a, b) in zip((1, 2, 2), rng.integers(2, 9, (3, 2)), strict=True)]  # fmt: skip
    size = Size("s", int(rng.integers(9, 14)), int(rng.integers(9, 14)), 1)
    sides = [(i.start, i.length) if i.grain == "across" else (i.length, i.start) for i in items]
    parts = [Part(a, b, b, item.grain == "any")
             for (a, b), item in zip(sides, items, strict=True) for _ in range(item.count)]  # fmt: skip
    instance = Instance(tuple(items), (size,), Saw(1))
    fits = cheapest(parts, [(size.length, size.width, 1)], 1) == 1
    assert cannot_be_cut(instance, size, np.array([item.count for item in items]), None) != fits


def _rows(rng: np.random.Generator) -> list[Item]:
    """Rectangles that come off a sheet of 96 x 48 inches in rows, in hundredths, kerf 1/8."""
    items = []
    for run in [9_600] if rng.random() < 0.5 else [4_000, 5_587]:
        many = int(rng.integers(2, 5))
        each, off = (4_800 - 13 * (many - 1)) // many, rng.integers(-300, 300, many)
        for height in each + off - math.ceil(off.mean()):
            items.append(Item(run - int(rng.integers(0, 12)), int(height), int(height)))
    return items


@pytest.mark.parametrize("seed", range(25))
def test_what_joints_refute_forbids_no_rows_that_come_off_a_sheet(seed: int):
    """Tapers whose narrow end is less than a row, but whose middle is more, are not larger nor smaller."""
    rng = np.random.default_rng(seed)
    rows = _rows(rng)
    tapers = [
        Item(row.length - int(rng.integers(12, 200)), low, low + int(rng.integers(50, 500)), count=2)
        for row in rows[:3]
        if (low := row.start - int(rng.integers(25, 100))) > 0
    ]
    instance = Instance((*rows, *tapers), (Size("s", 9_600, 4_800, 1),), Saw(13), lean=Fraction(9, 1000))
    bound = Bound(instance, [[True]] * len(instance.items))
    joints = Joints(bound, 0, Loops(), room())
    planted = np.array([1] * len(rows) + [0] * len(tapers))
    assert joints.fails(planted) is None
    for _ in range(8):
        most = np.array([1] * len(rows) + [2] * len(tapers))
        content = rng.integers(0, most + 1)
        failing = joints.fails(content) if content.sum() > 1 else None
        if failing is not None:
            bound.exclude(0, failing, joined=True)
    assert not any(_reached(tuple(planted), clauses) for clauses in bound.excluded[0])
