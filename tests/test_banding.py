"""Strips and rolls by hand, against trade values, and against every way there is."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.banding import ROLL_FEET, ROLLS, Sorted, band_list, room, sort_out
from nesting.lengths import FOOT, INCH, MM, Units
from nesting.plan import PlanPart
from nesting.stock import Roll


def part(number: int, length: int, band: tuple[str, ...] = ("straight", "far"), **more: object) -> PlanPart:
    made: dict[str, object] = {
        "number": number, "id": f"leg {number}", "material": "birch", "thickness": 23 * INCH // 32,
        "length": length, "width_start": 10 * INCH, "width_end": 10 * INCH, "band": band,
        "band_thickness": 6 * MM // 10, "band_kind": "iron-on",
    }  # fmt: skip
    return PlanPart.model_validate(made | more)


def feet(found: Sorted, offered: tuple[Roll, ...] = ROLLS) -> list[int]:
    return [offered[index].length // FOOT for index in found.rolls]


def test_four_strips_of_a_tall_jamb_do_not_come_out_of_a_short_roll():
    # 4 edges of 83 1/4 and an inch each: 337 in = 28.1 ft, so a 25 ft roll fails, order 50 (worked value;
    # an inch longer and rolls of 25 to 250 ft: a woodworker's magazine, an edge banding guide)
    listed = band_list([part(1, 333 * INCH // 4), part(2, 333 * INCH // 4)], Units.INCH)
    assert listed is not None
    assert [strip.length for strip in listed.strips] == [337 * INCH // 4] * 4
    assert [roll.length for roll in listed.rolls] == [50 * FOOT]
    assert (listed.over, listed.least, listed.remarks, listed.cost) == (INCH, True, (), None)


@pytest.mark.parametrize(("strips", "rolls"), [
    # a roll of 25 ft, 300 in, gives 272 in and a tenth more; 50 ft 545; 250 ft 2727
    ([84] * 3, [25]),          # 252
    ([84] * 4, [50]),          # 336
    ([84] * 6, [50]),          # 504
    ([84] * 7, [50, 25]),      # 588; 6 and 1
    ([140] * 2, [50]),         # 280 of 272; two of 25 ft are as long, and one is fewer
    ([140] * 4, [50, 25]),     # 3 x 140 = 420 of 545, and one
    ([140] * 3 + [100], [50]), # 520
    ([84] * 32, [250]),        # 2688 of 2727
])  # fmt: skip
def test_rolls_by_hand(strips: list[int], rolls: list[int]):
    found = sort_out([inches * INCH for inches in strips], ROLLS)
    assert feet(found) == rolls
    assert found.least


def test_length_alone_would_do_but_the_strips_do_not_go_into_the_rolls():
    # three of 190 are 570 of 545 + 272 = 817: but a 50 takes two (380) and the third fits a 25 (190)
    assert feet(sort_out([190 * INCH] * 3, ROLLS)) == [50, 25]
    # three of 280: 840 of 545 + 272 + 272 = 1089 in 100 ft; a 25 takes none, a 50 one, so 150 ft
    assert feet(sort_out([280 * INCH] * 3, ROLLS)) == [50, 50, 50]


def test_money_goes_before_length():
    # two 25s at 9.00 are 18.00, a 50 is 20.00; three strips of 84 in each 25
    dear = (Roll(25 * FOOT, price=900), Roll(50 * FOOT, price=2000), Roll(250 * FOOT, price=9000))
    found = sort_out([84 * INCH] * 6, dear)
    assert feet(found, dear) == [25, 25]
    cheap = (Roll(25 * FOOT, price=900), Roll(50 * FOOT, price=1700))
    assert feet(sort_out([84 * INCH] * 6, cheap), cheap) == [50]


def test_a_strip_longer_than_any_roll_is_spliced_and_said():
    # 8 ft rolls give 87 in; an edge of 100 and an inch: 87 3/11, and 13 8/11 + an inch of lap
    listed = band_list([part(1, 100 * INCH, ("far",))], Units.INCH, (Roll(8 * FOOT),))
    assert listed is not None
    (strip,) = listed.strips
    assert strip.rolls == (1, 2)
    assert sum(roll.used for roll in listed.rolls) == 102 * INCH
    assert "a splice cannot be helped" in listed.remarks[0]


def test_lipping_comes_from_no_roll():
    made = part(1, 80 * INCH, band_kind="lipping", band_thickness=INCH // 4)
    listed = band_list([made], Units.INCH)
    assert listed is not None
    assert [(strip.kind, strip.rolls) for strip in listed.strips] == [("lipping", ())] * 2
    assert listed.rolls == ()


def test_rolls_are_for_their_material_and_as_wide_as_the_edge():
    offered = (Roll(25 * FOOT, width=13 * INCH // 16, material="oak"), Roll(50 * FOOT, width=INCH // 2),
               Roll(250 * FOOT, width=7 * INCH // 8))  # fmt: skip
    listed = band_list([part(1, 80 * INCH)], Units.INCH, offered)
    assert listed is not None
    assert [roll.length for roll in listed.rolls] == [250 * FOOT]  # 23/32 edges
    none = band_list([part(1, 80 * INCH)], Units.INCH, offered[:2])
    assert none is not None
    assert (none.rolls, len(none.remarks)) == ((), 1)
    assert "as wide as its edge" in none.remarks[0]


def test_strips_of_a_job_in_millimetres_are_25_over():
    listed = band_list([part(1, 2000 * MM, ("straight",))], Units.MM)
    assert listed is not None
    assert [strip.length for strip in listed.strips] == [2025 * MM]


def test_without_banding_there_is_no_list():
    assert band_list([part(1, 80 * INCH, ())], Units.INCH) is None


OFFERED = (Roll(100, price=10), Roll(170, price=15), Roll(300, price=29))


def by_trying(strips: list[int]) -> int:
    """The least money, every set of rolls and every way to sort tried."""
    best = len(strips) * 29
    for number in range(1, len(strips) + 1):
        for rolls in itertools.combinations_with_replacement(OFFERED, number):
            cost = sum(roll.price or 0 for roll in rolls)
            if cost >= best:
                continue
            for homes in itertools.product(range(number), repeat=len(strips)):
                used = [sum(s for s, h in zip(strips, homes, strict=True) if h == k) for k in range(number)]
                if all(u <= room(roll) for u, roll in zip(used, rolls, strict=True)):
                    best = cost
                    break
    return best


@given(st.lists(st.integers(10, 150), min_size=1, max_size=5))
@settings(max_examples=60, deadline=None)
def test_no_other_rolls_cost_less(strips: list[int]):
    found = sort_out(strips, OFFERED)
    assert found.least
    assert sum(OFFERED[index].price or 0 for index in found.rolls) == by_trying(strips)
    for place, index in enumerate(found.rolls):
        used = sum(s for s, home in zip(strips, found.homes, strict=True) if home == place)
        assert used <= room(OFFERED[index])


def test_a_large_job_is_sorted_within_moments():
    strips = [(60 + 7 * n % 40) * INCH + 37 * n for n in range(150)]
    found = sort_out(strips, ROLLS)
    bought = sum(ROLLS[index].length for index in found.rolls)
    assert sum(strips) * 11 // 10 <= bought <= sum(strips) * 12 // 10 + 25 * FOOT
    beyond = sort_out([84 * INCH] * 450, ROLLS)  # too many to look for the best
    assert not beyond.least
    assert len(beyond.homes) == 450
    assert ROLL_FEET == (25, 50, 250)
