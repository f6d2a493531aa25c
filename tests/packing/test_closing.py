"""Plans on one set of sheets at a time, by all contents that can be in one."""

from __future__ import annotations

import itertools
import random
from collections import Counter

import numpy as np
import pytest

from nesting.packing import closing, compiled
from nesting.packing.closing import Closer, Covers
from nesting.packing.compiled import Loops
from nesting.packing.instance import Instance, Item, Size
from nesting.packing.pool import Pool
from nesting.packing.rules import Rules
from nesting.packing.state import State
from nesting.stock import Saw
from tests.packing.enumerator import Part, cheapest, fits


@pytest.fixture(autouse=True)
def _whatever_is_known_of_sheets(monkeypatch: pytest.MonkeyPatch):
    """Here no search goes before, so that single parts are all that is known at first."""
    monkeypatch.setattr(closing, "MOST_GROWTH", 9.0)


def closer_of(instance: Instance) -> Closer:
    loops = Loops()
    if compiled.available():
        loops.compiled = compiled.load()
    rules = Rules(instance, loops)
    return Closer(rules, Pool(rules), 1, lambda: False)


def complete(state: State | None, instance: Instance) -> bool:
    """Every part once, and no size more often than there is."""
    if state is None or state.waiting:
        return False
    held = sum((state.content(slot) for slot in state.slots), Counter[int]())
    return held == {index: item.count for index, item in enumerate(instance.items)}


def test_what_is_cheaper_by_hand():
    # for less than 300 only one 20 x 20 with one 10 x 10 takes five of 10 x 10
    sizes = Size("small", 10, 10, 90), Size("large", 20, 20, 200)
    five = Instance((Item(10, 10, 10, count=5),), sizes, Saw(0))
    found = closer_of(five).improve(299, 20.0)
    assert complete(found, five)
    assert found is not None
    assert found.price == 290
    assert closer_of(five).improve(289, 20.0) is None


def test_parts_worth_nothing_go_where_there_is_room():
    # two of 60 x 50 ask for two sheets of 100 x 50; the strips lie beside them in any case
    sizes = Size("sheet", 100, 50, 10), Size("other", 90, 50, 11)
    instance = Instance((Item(60, 50, 50, count=2), Item(38, 4, 4, count=9)), sizes, Saw(0))
    found = closer_of(instance).improve(20, 20.0)
    assert complete(found, instance)


def test_parts_that_two_sheets_could_hold_make_room_for_another():
    # each sheet could take all nine strips beside its 60 x 50, but 38 x 30 needs the room of one for itself
    items = Item(60, 50, 50, count=2), Item(38, 4, 4, count=9), Item(38, 30, 30)
    instance = Instance(items, (Size("sheet", 100, 50, 10), Size("other", 90, 50, 11)), Saw(0))
    closer = closer_of(instance)
    cover = [(0, np.array([1, 9, 0]))] * 2
    assert closer._cut_out(*cover[0]) is not None
    assert complete(closer._put_together((2, 0), cover), instance)
    assert complete(closer._put_together((3, 0), [*cover, cover[0]]), instance)  # one more than are needed


def test_no_set_is_looked_at_twice_and_none_beyond_the_effort():
    sizes = Size("small", 10, 10, 90), Size("large", 20, 20, 200)
    closer = closer_of(Instance((Item(10, 10, 10, count=5),), sizes, Saw(0)))
    assert closer.improve(299, 0.0) is None
    assert not closer.done
    closer.improve(299, 20.0)
    assert closer.done == {(1, 1)}
    assert closer.improve(299, 20.0) is None


def test_it_is_left_off_where_contents_are_too_many(monkeypatch: pytest.MonkeyPatch):
    sizes = Size("small", 10, 10, 90), Size("large", 20, 20, 200)
    five = Instance((Item(10, 10, 10, count=5),), sizes, Saw(0))
    monkeypatch.setattr(closing, "MOST_CONTENTS", 0)
    closer = closer_of(five)
    assert closer.improve(600, 20.0) is None
    assert len(closer.done) == closing.TOO_LARGE
    monkeypatch.setattr(closing, "TOO_LARGE", 9)
    closer = closer_of(five)
    assert closer.improve(600, 20.0) is None
    assert len(closer.done) > 2  # (0, 3), (2, 2), (4, 1) and (6, 0) have room


@pytest.mark.parametrize("seed", range(16))
def test_the_cheapest_plan_of_rectangles_by_the_enumerator(seed: int):
    """All parts by themselves, two sizes: it is found at its price, and nothing below."""
    rng = random.Random(seed)
    kerf = rng.choice([0, 3])
    parts = [Part(length, width, width, rng.random() < 0.5) for length, width in
             ((rng.randint(20, 80), rng.randint(12, 50)) for _ in range(5))]  # fmt: skip
    sheets = [(100, 60, 10), (85, 52, 7)]
    items = tuple(Item(p.length, p.start, p.end, grain="any" if p.turns else "length") for p in parts)
    instance = Instance(items, tuple(Size(str(s), *s) for s in sheets), Saw(kerf))
    least = int(cheapest(parts, sheets, kerf))
    found = closer_of(instance).improve(least, 50.0)
    assert complete(found, instance)
    assert found is not None
    assert found.price == least
    assert closer_of(instance).improve(least - 1, 50.0) is None


@pytest.mark.parametrize("seed", range(6))
def test_the_contents_of_a_cover_hold_all_parts_and_may_be_cut(seed: int):
    """Of all contents, by the enumerator, none that holds worth enough for the room there is is left out."""
    rng = random.Random(seed)
    parts = [Part(rng.randint(20, 80), width, width) for width in (rng.randint(12, 50) for _ in range(5))]
    items = tuple(Item(p.length, p.start, p.end) for p in parts)
    closer = closer_of(Instance(items, (Size("s", 100, 60, 10), Size("t", 85, 52, 7)), Saw(3)))
    assert closer.columns is not None
    counts = np.array([2, 1])
    closer.bound.until = 20.0
    covers = Covers(closer.columns, counts, closer.pool)
    _, values, fees = closer.columns.solve(counts)
    assert covers.complete
    looked_at = 0
    kept = [[content for size, content in covers.contents if size == of] for of in (0, 1)]
    for size, (length, width) in enumerate(((100, 60), (85, 52))):
        for held in itertools.product((0, 1), repeat=len(parts)):
            content, on_it = np.array(held), [p for p, n in zip(parts, held, strict=True) if n]
            dear = values @ content >= fees[size] and not (content * (values <= 0)).any()
            if on_it and dear and fits(on_it, length, width, 3):
                looked_at += 1
                assert any((content <= other).all() for other in kept[size])
    assert looked_at > 10
    cover = covers.next()
    assert cover is not None
    assert (sum(covers.contents[index][1] for index in cover) >= (values > 0)).all()
    covers.forbid(cover)
    assert covers.next() != cover
