"""Sets of sheets that cost less than a plan, and a walk on each."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.packing import improve
from nesting.packing.aiming import MOST_SETS, TRIES, Aimer, roomy
from nesting.packing.instance import Instance, Item, Size
from nesting.packing.pool import Pool
from nesting.packing.rules import Rules
from nesting.stock import Saw


def rules_of(parts: int, *sizes: Size) -> Rules:
    """So many parts of 10 x 10."""
    return Rules(Instance((Item(10, 10, 10, count=parts),), sizes, Saw(0)))


sheets = st.tuples(st.integers(1, 4), st.integers(0, 6), st.none() | st.integers(0, 3))


@given(st.integers(1, 8), st.lists(sheets, min_size=1, max_size=3), st.integers(0, 20))
def test_the_sets_are_all_those_with_room_to_which_none_can_be_added(
    parts: int, told: list[tuple[int, int, int | None]], limit: int
):
    """Against all sets there are, one after the other; a size has room for one to four parts."""
    sizes = [Size(f"{i}", 10 * room, 10, price, count) for i, (room, price, count) in enumerate(told)]
    most = [parts if count is None else min(count, parts) for _, _, count in told]

    def fits(counts: tuple[int, ...]) -> bool:
        price = sum(n * price for n, (_, price, _) in zip(counts, told, strict=True))
        return price <= limit and all(n <= had for n, had in zip(counts, most, strict=True))

    def more(counts: tuple[int, ...]) -> list[tuple[int, ...]]:
        return [tuple(n + (i == j) for j, n in enumerate(counts)) for i in range(len(counts))]

    expected = {
        counts
        for counts in itertools.product(*(range(had + 1) for had in most))
        if fits(counts) and not any(map(fits, more(counts)))
        and sum(n * room for n, (room, _, _) in zip(counts, told, strict=True)) >= parts
    }  # fmt: skip
    found = roomy(rules_of(parts, *sizes), limit)
    assert len(found) == len(set(found))
    assert set(found) == (expected if len(expected) <= MOST_SETS else set())


def test_all_parts_get_into_a_cheaper_set():
    """Worked by hand: for less than 300 only one 20 x 20 with one 10 x 10 takes five parts of 10 x 10."""
    rules = rules_of(5, Size("small", 10, 10, 90), Size("large", 20, 20, 200))
    assert roomy(rules, 299) == [(1, 1)]
    found = Aimer(rules, Pool(rules), 1, lambda: False).improve(299, 1_000)
    assert found is not None
    assert not found.waiting
    assert found.price == 290
    assert sorted(found.size_of(slot) for slot in found.slots) == [0, 1]
    assert found.rules is rules


def tight() -> Rules:
    """Seven parts that by their area have room on any two sheets; but a sheet takes two, by hand."""
    sizes = Size("a", 20, 20, 50), Size("b", 21, 20, 52)
    return Rules(Instance((Item(11, 10, 10, count=7),), sizes, Saw(0)))


def test_no_more_tries_than_are_left():
    rules = tight()
    assert roomy(rules, 105) == [(0, 2), (1, 1), (2, 0)]
    aimer = Aimer(rules, Pool(rules), 1, lambda: False)
    assert aimer.improve(105, 57) is None
    assert aimer.tries == 57 < TRIES
    assert aimer.improve(105, 0) is None
    assert aimer.tries == 57


@pytest.mark.parametrize("burst", [1e-9, 0.1])
def test_the_clock_does_not_say_when_it_is_over(burst: float, monkeypatch: pytest.MonkeyPatch):
    """However many tries go into one burst, a walk makes all of its own before anyone is asked."""
    monkeypatch.setattr(improve, "BURST", burst)
    rules = tight()
    aimer = Aimer(rules, Pool(rules), 1, lambda: aimer.tries >= 50)
    assert aimer.improve(105, 10_000) is None
    assert aimer.tries == TRIES
