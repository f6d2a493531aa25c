"""What single sheets can hold: never less than they do; and which sets of sheets do not do because of it."""

from __future__ import annotations

import itertools
import random
from typing import cast

import numpy as np
import pytest
from ortools.sat.python import cp_model

from nesting.packing import compiled, contents
from nesting.packing.bounds import Bound
from nesting.packing.columns import ONE, ColumnBound
from nesting.packing.compiled import Loops
from nesting.packing.contents import Pricer
from nesting.packing.dearest import OTHERS
from nesting.packing.functions import WHOLE, Ints
from nesting.packing.instance import Instance, Item, Size
from nesting.packing.joints import Joints, room
from nesting.packing.lying import ALL, CHORDS, EACH, may_lie, raise_all, take_up
from nesting.packing.seeking import Seeker
from nesting.stock import Saw
from tests.packing.cutups import cut_up
from tests.packing.enumerator import Part, cheapest, fits


def pricer(instance: Instance, loops: Loops | None = None) -> Pricer:
    """Of the first size, which takes everything."""
    bound = Bound(instance, [[True] * len(instance.sizes)] * len(instance.items))
    bound.until = 10.0
    return Pricer(bound, 0, loops or Loops(), np.zeros(6, dtype=np.int64))


def lies(one: Pricer, content: list[int]) -> bool:
    one.steps[EACH] = 1_000_000
    return bool(one.loops(may_lie, one.shapes, one.schedule, np.array(content, dtype=np.int64), one.steps))


def rectangles(sizes: list[tuple[int, int, int]], sheet: tuple[int, int], grain: str = "length") -> Instance:
    items = tuple(Item(length, width, width, count=count, grain=grain) for length, width, count in sizes)
    return Instance(items, (Size("s", *sheet, 1),), Saw(0))


def test_lines_forbid_what_is_too_much_of_them_by_hand():
    # 60 long on 100: a line in the middle crosses each; three of 20 wide do not lie in 50, two do
    three = pricer(rectangles([(60, 20, 3)], (100, 50)))
    assert not lies(three, [3])
    assert lies(three, [2])
    # 5 x 5 four times fills 10 x 10; with 2 x 2 more there is no room at all
    five = pricer(rectangles([(5, 5, 4), (2, 2, 1)], (10, 10)))
    assert lies(five, [4, 0])
    assert not lies(five, [4, 1])
    # 6 x 4 turned or not, on 10 x 9: two of them side by side turned, 8 x 6; not three, of 72 of 90
    turning = pricer(rectangles([(6, 4, 3)], (9, 9), grain="any"))
    assert lies(turning, [2])
    assert not lies(turning, [3])


@pytest.mark.parametrize("seed", range(12))
def test_a_sheet_cut_up_may_lie_with_tapers_and_a_kerf(seed: int):
    instance = cut_up(seed, sheets=1, parts=3 + seed % 6, grain="any" if seed % 3 == 0 else "length")
    assert lies(pricer(instance), [item.count for item in instance.items])


def scheduled(parts: list[list[tuple[int, int]]], far: int, room: int) -> bool:
    """Second opinion: the cumulative constraint of CP-SAT."""
    model = cp_model.CpModel()
    spans, takes = [], []
    for ways in parts:
        there = [model.new_bool_var("") for _ in ways]
        model.add_exactly_one(there)
        for (run, chord), chosen in zip(ways, there, strict=True):
            begin = model.new_int_var(0, far, "")
            span = model.new_optional_interval_var(begin, run, begin + run, chosen, "")
            model.add(begin + run <= far).only_enforce_if(chosen)
            spans.append(span)
            takes.append(chord)
    model.add_cumulative(spans, takes, room)
    return cp_model.CpSolver().solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)


def test_schedules_are_found_just_where_cp_sat_finds_them():
    rng, answers = random.Random(7), []
    for _ in range(60):
        kinds = range(rng.randint(2, 4))
        sizes = [(rng.randint(20, 70), rng.randint(8, 30), rng.randint(1, 2)) for _ in kinds]
        one = pricer(rectangles(sizes, (100, 50), grain=rng.choice(["length", "any"])))
        content = [count for *_, count in sizes]
        both = []
        for way in (0, 1):
            runs, chords = one.shapes.runs[way], one.shapes.chords[way]
            parts = [[(int(runs[i, w]), int(chords[i, w])) for w in range(one.shapes.ways[i])]
                     for i, count in enumerate(content) for _ in range(count)]  # fmt: skip
            both.append(scheduled(parts, int(one.shapes.room[way, 0]), int(one.shapes.room[way, 1])))
        assert lies(one, content) == all(both), sizes
        answers.append(all(both))
    assert 10 < sum(answers) < 50


def test_a_chord_is_raised_by_what_nothing_fits_beside():
    # 30 and twice 15 in 50: beside 30 one 15 has room, 5 are lost; beside 15 then the 35, or the other 15
    one = pricer(rectangles([(60, 30, 1), (60, 15, 2)], (100, 50)))
    parts = one.schedule.parts
    count = take_up(one.shapes, parts, np.array([1, 2]), 0)
    raise_all(parts, one.schedule.sums, count, 50, one.steps)
    assert [int(parts[part, CHORDS]) for part in range(count)] == [35, 15, 15]


def best_by_hand(one: Pricer, worth: Ints) -> int:
    """The dearest content that weights and lines allow, of all there are."""
    most = 0
    for content in itertools.product(*(range(int(count) + 1) for count in one.most)):
        held = np.array(content)
        light = (one.bound.pools[0][one.bound.chosen[0]] @ held <= WHOLE).all()
        if light and lies(one, list(content)):
            most = max(most, int(worth @ held))
    return most


@pytest.mark.parametrize("seed", range(8))
def test_the_dearest_content_is_found(seed: int):
    rng = random.Random(seed)
    sizes = [(rng.randint(20, 70), rng.randint(8, 40), rng.randint(1, 2)) for _ in range(5)]
    one = pricer(rectangles(sizes, (100, 50), grain=rng.choice(["length", "any"])))
    worth = np.array([rng.randint(1, 1_000) for _ in sizes])
    found = one._ask(worth, 0)
    most = best_by_hand(one, worth)
    assert found is not None
    assert max(int(worth @ content) for content in found) == most
    assert one._ask(worth, most) == []
    assert one._ask(worth, most - 1) != []


@pytest.mark.parametrize("joined", [False, True])
@pytest.mark.parametrize("seed", range(16))
def test_all_that_is_dear_enough_lies_within_what_is_found(seed: int, joined: bool):
    rng = random.Random(seed)
    sizes = [(rng.randint(20, 70), rng.randint(8, 40), rng.randint(1, 2)) for _ in range(5)]
    one = pricer(rectangles(sizes, (100, 50), grain=rng.choice(["length", "any"])))
    one.bound.joints = [Joints(one.bound, 0, one.loops, room())] if joined else []
    worth = np.array([rng.randint(1, 1_000) for _ in sizes])
    least = best_by_hand(one, worth) * 3 // 4
    found = one.all_dearer(worth, least, 500, 5.0)
    assert found is not None
    for content in itertools.product(*(range(int(count) + 1) for count in one.most)):
        held = np.array(content)
        light = (one.bound.pools[0][one.bound.chosen[0]] @ held <= WHOLE).all()
        comes_off = one.bound.failing(0, held, at_a_glance=True) is None
        if worth @ held > least and light and comes_off and lies(one, list(content)):
            assert any((larger >= held).all() for larger in found), content
    for content in found:
        assert worth @ content > least
        assert lies(one, content.tolist())


@pytest.mark.parametrize("seed", range(8))
def test_what_remains_of_a_content_that_is_refuted_is_looked_at(seed: int, monkeypatch: pytest.MonkeyPatch):
    """A short look tells nothing: each content is refuted at the end, when its parts are all there."""
    rng = random.Random(seed)
    sizes = [(rng.randint(20, 70), rng.randint(8, 40), rng.randint(1, 2)) for _ in range(5)]
    one = pricer(rectangles(sizes, (100, 50), grain=rng.choice(["length", "any"])))
    worth = np.array([rng.randint(1, 1_000) for _ in sizes])
    most = best_by_hand(one, worth)
    monkeypatch.setattr(contents, "LOOK", 0)
    found = one._ask(worth, 0)
    assert found is not None
    assert max(int(worth @ content) for content in found) == most
    assert one._ask(worth, most) == []
    assert len(one.bound.excluded[0]) == int(one.known.counts[OTHERS]) > 0


@pytest.mark.parametrize("seed", range(12))
def test_parts_that_are_worth_next_to_nothing_are_added_too(seed: int):
    """Some weights say nothing of small parts: they are still worth something."""
    rng = random.Random(seed)
    large = [(rng.randint(40, 90), rng.randint(15, 40), rng.randint(1, 2)) for _ in range(3)]
    small = [(rng.randint(5, 20), rng.randint(3, 8), rng.randint(1, 2)) for _ in range(2)]
    instance = rectangles(large + small, (100, 50))
    worth = np.array([rng.randint(1 << 33, 1 << 35) for _ in large] + [rng.randint(1, 9_999) for _ in small])
    most = best_by_hand(pricer(instance), worth)
    assert pricer(instance)._ask(worth, most - 1)
    assert pricer(instance)._ask(worth, most) == []


def test_two_sheets_that_do_are_not_ruled_out_by_small_parts_worth_next_to_nothing():
    # 60 x 25 two to a sheet, one above the other, and ten of 4 x 4 beside them
    asked = columns(rectangles([(60, 25, 4), (4, 4, 10)], (100, 50)))
    tiny = 7_000 / ONE
    proved, _ = asked._ask(np.array([0.25 - 2.5 * tiny, tiny]), np.array([0.5]), np.array([2]), 0.1)
    assert not proved
    assert asked.bound.cuts == []


@pytest.mark.parametrize("seed", range(4))
def test_answers_that_are_forgotten_are_asked_again(seed: int, monkeypatch: pytest.MonkeyPatch):
    rng = random.Random(seed)
    instance = rectangles([(rng.randint(20, 60), rng.randint(8, 25), 2) for _ in range(6)], (100, 50))
    worth = np.array([rng.randint(1, 1_000) for _ in instance.items])
    answers = []
    for places in (contents.PLACES, 31):
        monkeypatch.setattr(contents, "PLACES", places)
        found = pricer(instance)._ask(worth, 0)
        assert found is not None
        answers.append([content.tolist() for content in found])
    assert answers[0] == answers[1]


class NoSheets:
    """Instead of a search for sheets: the programme begins with single parts."""

    def contents(self, begin: int) -> tuple[Ints, Ints]:
        return np.zeros(0, dtype=np.int64), np.zeros((0, 0), dtype=np.int64)

    def look(self, values: object, fees: object, counts: object) -> float:
        return 0.0


def columns(instance: Instance, loops: Loops | None = None, effort: float = 5.0) -> ColumnBound:
    bound = Bound(instance, [[True] * len(instance.sizes)] * len(instance.items))
    bound.until = effort
    return ColumnBound(bound, loops or Loops(), cast(Seeker, NoSheets()))


def sheets(instance: Instance, effort: float = 5.0, loops: Loops | None = None) -> int:
    """The least number of sheets of the one size that is not ruled out by columns alone."""
    asked = columns(instance, loops, effort)
    return next(n for n in itertools.count(1) if not asked.rules_out((n,), 0.2, effort))


def test_tight_here_and_not_there():
    # no sheet holds three of these: 15 of them take 8 sheets, whatever weights say
    assert sheets(rectangles([(60, 20, 15)], (100, 50))) == 8
    # 50 x 50, two to a sheet, and 33 x 50, three to a sheet: 1 1/2 and 1
    assert sheets(rectangles([(50, 50, 3), (33, 50, 3)], (100, 50))) == 3
    # 9 parts of which each sheet holds any two: 4 1/2 sheets by the programme, so 5
    assert sheets(rectangles([(40, 40, 9)], (100, 50))) == 5
    # not tight: a pinwheel fills a 1000 x 1000, but no cut goes edge to edge (2 sheets, by enumeration: see
    # test_optimum); beside the tapered part none of its parts has room, so that all take 3. Cuts may be
    # slanted, so it is not asked what can be cut
    wheel = Item(600, 400, 400, count=2), Item(400, 600, 600, count=2), Item(200, 200, 200)
    taper = Item(1_000, 900, 990)
    assert sheets(Instance((*wheel, taper), (Size("s", 1_000, 1_000, 1),), Saw(0), lean=0)) == 2


def at_random(rng: random.Random, number: int) -> tuple[list[Part], tuple[Item, ...]]:
    """Parts for the enumerator, and the same as items; some taper, some turn."""
    parts = []
    for _ in range(number):
        length, start = rng.randint(200, 800), rng.randint(80, 280)
        end = start + rng.choice([0, 0, 20, -20])
        parts.append(Part(length, start, end, turns=start == end and rng.random() < 0.5))
    return parts, tuple(Item(p.length, p.start, p.end, grain="any" if p.turns else "length") for p in parts)


@pytest.mark.parametrize("seed", range(10))
def test_never_above_the_optimum_of_brute_force(seed: int):
    """All cutting trees of five parts, tapers among them, by the independent enumerator."""
    rng = random.Random(seed)
    parts, items = at_random(rng, 5)
    instance = Instance(items, (Size("s", 960, 480, 1),), Saw(3), lean=0)
    assert 1 <= sheets(instance) <= cheapest(parts, [(960, 480, 1)], 3)


@pytest.mark.parametrize("seed", range(6))
def test_never_above_the_known_number_of_sheets_cut_up(seed: int):
    assert sheets(cut_up(seed, sheets=2, parts=5), effort=1.0) <= 2


@pytest.mark.skipif(not compiled.available(), reason="numba is not installed")
def test_compiled_and_plain_loops_take_the_same_steps():
    loops = Loops()
    loops.compiled = compiled.load()
    instance = cut_up(3, sheets=2, parts=5, grain="any")
    steps = []
    for some in (Loops(), loops):
        one = pricer(instance, some)
        worth = np.array([item.twice_area // 1_000 for item in instance.items])
        found = one._ask(worth, int(worth.sum()) // 3)
        assert found
        steps.append((int(one.steps[ALL]), [content.tolist() for content in found]))
    assert steps[0] == steps[1]


def test_more_is_not_claimed_of_a_sheet_that_holds_it_all():
    """Values of any kind prove nothing where all parts lie on one sheet, nor more than they do of two."""
    asked = columns(rectangles([(50, 25, 4)], (100, 50)))
    one, two = np.array([1]), np.array([2])
    assert asked._ask(np.array([1.0]), np.array([1.0]), one, 0.1)[0] is False
    assert asked._ask(np.array([0.25]), np.array([1.0]), two, 0.1)[0] is False
    assert asked.bound.cuts == []


def test_what_rules_out_one_set_rules_out_others():
    # 100 x 50 holds two of 60 x 20, 100 x 30 holds one
    sizes = Size("large", 100, 50, 3), Size("small", 100, 30, 2)
    four = Instance((Item(60, 20, 20, count=4),), sizes, Saw(0))
    asked = columns(four)
    assert not asked.rules_out((2, 0), 0.2, 5.0)
    assert not asked.rules_out((1, 2), 0.2, 5.0)
    assert asked.rules_out((1, 1), 0.2, 5.0)
    ((worth, total),) = asked.bound.cuts
    for large, small in itertools.product(range(4), range(6)):
        assert (large * worth[0] + small * worth[1] < total) == (2 * large + small < 4)


def do(parts: list[Part], sheets: list[tuple[int, int]], kerf: int) -> bool:
    """Second opinion: whether these sheets do, by all ways to share out the parts."""
    if not parts or not sheets:
        return not parts
    indices = range(len(parts))
    for number in range(len(parts), -1, -1):
        for held in itertools.combinations(indices, number):
            rest = [parts[i] for i in indices if i not in held]
            on_it = [parts[i] for i in held]
            if (not on_it or fits(on_it, *sheets[0], kerf)) and do(rest, sheets[1:], kerf):
                return True
    return False


@pytest.mark.parametrize("at_the_end", [False, True])
@pytest.mark.parametrize("seed", range(12))
def test_no_set_that_does_is_ruled_out(seed: int, at_the_end: bool, monkeypatch: pytest.MonkeyPatch):
    """Two sizes and all sets of up to four sheets, by the independent enumerator.

    Lines are asked about early, or else only when a content is dear enough, and joints then.
    """
    rng = random.Random(seed)
    parts, items = at_random(rng, 4)
    sides = [(960, 480), (820, 280)]
    sizes = tuple(Size(str(side), *side, 1) for side in sides)
    bound = Bound(Instance(items, sizes, Saw(3), lean=0), [[True, p.length <= 820] for p in parts])
    asked = ColumnBound(bound, Loops(), cast(Seeker, NoSheets()))
    if at_the_end:
        monkeypatch.setattr(contents, "LOOK", 0)
        bound.joints = [Joints(bound, size, asked.pricers[size].loops, room()) for size in range(len(sizes))]
    ruled_out = 0
    for counts in itertools.product(range(3), range(3)):
        if not any(counts):
            continue
        bound.until = bound.spent + 2.0
        enough = do(parts, [side for side, count in zip(sides, counts, strict=True) for _ in range(count)], 3)
        out = asked.rules_out(counts, 0.2, 2.0)
        assert not (out and enough), counts
        ruled_out += out
        for worth, total in bound.cuts:
            assert not enough or np.dot(worth, counts) >= total
    assert ruled_out


def test_sheets_that_a_part_does_not_fit_are_ruled_out_and_those_it_fits_are_not():
    sizes = Size("large", 100, 50, 3), Size("small", 30, 30, 2)
    bound = Bound(Instance((Item(60, 20, 20),), sizes, Saw(0)), [[True, False]])
    bound.until = 1.0
    asked = ColumnBound(bound, Loops(), cast(Seeker, NoSheets()))
    assert asked.rules_out((0, 1), 0.2, 1.0)
    assert not asked.rules_out((1, 0), 0.2, 1.0)
    ((worth, total),) = bound.cuts
    assert worth[1] < total <= worth[0]
    # values that leave a sheet worth nothing tell nothing
    assert asked._ask(np.array([1.0]), np.array([0.0, 0.0]), np.array([1, 0]), 0.1) == (None, False)


def test_too_many_different_parts_are_left_alone():
    many = rectangles([(50, 20 + number, 1) for number in range(130)], (100, 500))
    assert not columns(many).usable
    assert columns(rectangles([(50, 20, 9)], (100, 50))).usable
