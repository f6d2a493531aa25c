"""The inner length: reading, writing, rounding."""

import math
from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.lengths import (
    FOOT,
    INCH,
    MM,
    LengthError,
    Units,
    area_from_number,
    area_to_number,
    from_number,
    marked,
    nearest,
    parse_length,
    show,
    to_number,
    to_step,
    with_unit,
)

UNITS = st.sampled_from(Units)
# To 100 m, far beyond any sheet or wall.
LENGTHS = st.integers(0, 100_000 * MM)
STEPS = st.sampled_from([INCH // 2**k for k in range(7)])
VALUES = st.fractions(min_value=-(10**9), max_value=10**9, max_denominator=10**4)


def test_the_unit_holds_the_inch_and_the_millimetre_exactly():
    # The inch is 25.4 mm, exactly (international yard and pound agreement, 1959).
    assert Fraction(INCH, MM) == Fraction("25.4")
    assert (INCH % 64, MM % 10) == (0, 0)
    assert FOOT == 12 * INCH


@given(LENGTHS, UNITS)
def test_a_plan_files_number_gives_back_the_exact_length(length, units):
    for exact in (length, -length):
        assert from_number(to_number(exact, units), units) == exact


@pytest.mark.parametrize("units", Units)
def test_neighbouring_lengths_have_different_numbers_up_to_the_longest(units):
    for length in (0, 1, INCH, 12 * FOOT, 100_000 * MM, 10**12):
        numbers = [to_number(length + k, units) for k in range(3)]
        assert [from_number(number, units) for number in numbers] == [length, length + 1, length + 2]


@given(st.integers(0, 2 * (2**31)), UNITS)
def test_a_plan_files_area_gives_back_the_exact_area(twice_area, units):
    assert area_from_number(area_to_number(twice_area, units), units) == twice_area


@given(st.integers(0, 2 * (150 * INCH) ** 2), UNITS)
def test_the_area_of_any_sheet_comes_back(twice_area, units):
    assert area_from_number(area_to_number(twice_area, units), units) == twice_area


@given(st.integers(0, 100_000), st.sampled_from([1, 2, 4, 8, 16, 32, 64]))
def test_what_is_shown_in_inches_is_read_back(sixtyfourths, part):
    length = sixtyfourths * part * INCH // 64
    assert parse_length(show(length, Units.INCH), Units.INCH) == length
    assert parse_length(with_unit(length, Units.INCH), Units.MM) == length


@given(st.integers(0, 1_000_000))
def test_what_is_shown_in_millimetres_is_read_back(tenths):
    length = tenths * MM // 10
    assert parse_length(show(length, Units.MM), Units.MM) == length
    assert parse_length(with_unit(length, Units.MM), Units.INCH) == length


@given(LENGTHS, UNITS)
def test_what_is_shown_is_off_by_half_of_its_finest_step_at_most(length, units):
    finest = INCH // 64 if units is Units.INCH else MM // 10
    assert abs(parse_length(show(length, units), units) - length) <= Fraction(finest, 2)


@given(LENGTHS, UNITS, STEPS)
def test_a_minus_goes_before_what_is_shown(length, units, step):
    text = show(length, units, step)
    assert show(-length, units, step) == ("-" + text if text != "0" else text)  # nobody cuts by -0


@pytest.mark.parametrize(("inches", "text"), [
    ("98.625", "98 5/8"), ("13", "13"), ("0", "0"), ("0.625", "5/8"), ("0.015625", "1/64"),
    ("95.28125", "95 9/32"), ("12.5", "12 1/2"), ("0.984375", "63/64"), ("0.9999", "1"),
])  # fmt: skip
def test_inches_are_written_in_lowest_terms(inches, text):
    assert show(round(Fraction(inches) * INCH), Units.INCH) == text


@pytest.mark.parametrize(("mm", "text"), [
    ("346", "346"), ("346.5", "346.5"), ("2505.075", "2505.1"), ("0", "0"),
])  # fmt: skip
def test_millimetres_are_written_as_decimals(mm, text):
    assert show(round(Fraction(mm) * MM), Units.MM) == text


@pytest.mark.parametrize(("length", "units", "step", "text"), [
    (13 * INCH + INCH // 64, Units.INCH, INCH // 32, "13"),  # half a step goes down
    (13 * INCH + INCH // 64 + 1, Units.INCH, INCH // 32, "13 1/32"),
    (13 * INCH + 9 * INCH // 32, Units.INCH, INCH // 16, "13 1/4"),
    (346 * MM + MM // 4, Units.MM, MM // 2, "346"),
    (346 * MM + MM // 4 + 1, Units.MM, MM // 2, "346.5"),
    (13 * INCH + 5 * INCH // 64, Units.INCH, 32, "13 5/64"),  # a step finer than a tape has
])
def test_showing_to_a_step(length, units, step, text):
    assert show(length, units, step) == text


@pytest.mark.parametrize(("length", "units", "step", "text"), [
    (3 * INCH + 3 * INCH // 32, Units.INCH, INCH // 16, "3 3/32"),  # a part of 3 and a kerf of 3/32
    (3 * INCH + 5 * INCH // 64, Units.INCH, INCH // 32, "3 5/64"),
    (3 * INCH + 3 * INCH // 32 + 1, Units.INCH, INCH // 16, "3 1/8"),  # no mark says it
    (94 * MM + MM // 5, Units.MM, MM // 2, "94.2"),  # 92 and a kerf of 2.2
    (94 * MM + MM // 5 + 1, Units.MM, MM // 2, "94"),
    (13 * INCH + INCH // 4, Units.INCH, INCH // 16, "13 1/4"),
])  # fmt: skip
def test_what_a_finer_mark_says_exactly_is_not_rounded(length, units, step, text):
    assert marked(length, units, step) == text


def test_with_its_unit():
    assert with_unit(13 * INCH + 5 * INCH // 8, Units.INCH) == '13 5/8"'
    assert with_unit(346 * MM, Units.MM) == "346 mm"


@given(VALUES, st.integers(1, 10**5))
def test_rounding_to_a_step(value, step):
    up, down, near = (to_step(value, step, way) for way in ("up", "down", "nearest"))
    assert up % step == down % step == near % step == 0
    assert down <= value <= up
    assert up - down == (0 if value % step == 0 else step)
    assert near == (down if value - down <= up - value else up)


@given(VALUES)
def test_nearest_is_the_step_of_one(value):
    assert nearest(value) == to_step(value, 1)
    assert abs(nearest(value) - value) <= Fraction(1, 2)


@pytest.mark.parametrize(("value", "whole"), [("0.5", 0), ("1.5", 1), ("-0.5", -1), ("0.6", 1), ("2.4", 2)])
def test_a_half_goes_down(value, whole):
    assert nearest(Fraction(value)) == whole


@given(st.integers(0, 999), st.integers(0, 63))
def test_all_ways_to_write_feet_inches_and_sixtyfourths_agree(inches, part):
    exact = Fraction(inches * 64 + part, 64) * INCH
    feet, rest = divmod(inches, 12)
    tail = f" {part}/64" if part else ""
    for text in (f"{inches}{tail}", f'{inches}{tail}"', f"{inches}{tail.replace(' ', '-')} in",
                 f"{feet}' {rest}{tail}\"", f"{feet}'-{rest}{tail}\"", f"{feet} ft {rest}{tail} in",
                 str(float(exact / INCH))):
        assert parse_length(text, Units.INCH) == exact


@given(st.decimals(0, 10_000, places=4, allow_nan=False))
def test_decimals_are_read_exactly(number):
    assert parse_length(f"{number:f}", Units.INCH) == Fraction(number) * INCH
    assert parse_length(f"{number:f}", Units.MM) == Fraction(number) * MM
    assert parse_length(f"{number:f} cm", Units.INCH) == Fraction(number) * 10 * MM


@given(st.text(max_size=80), UNITS)
def test_any_text_is_a_length_or_is_refused(text, units):
    with suppress(LengthError):
        assert parse_length(text, units) >= 0


@pytest.mark.parametrize("text", ["1" * 61, "½" * 100_000, " " * 1_000_000])
def test_long_texts_are_refused_at_once(text):
    with pytest.raises(LengthError, match="too long"):
        parse_length(text, Units.INCH)


@pytest.mark.parametrize(("text", "said"), [
    ("2/6", "2' 6\""),  # a door's 2 feet 6 inches
    ("2/8", "2' 8\" or 1/4"),  # a door's 2 feet 8 inches, or a quarter
    ("4/8", "4' 8\" or 1/2"),
    ("6/8", "6' 8\" or 3/4"),
    ("3/0", "3' 0\""),
    ("8-7-8", "feet-inches-sixteenths"),
])
def test_what_can_be_two_things_is_asked_back(text, said):
    with pytest.raises(LengthError, match="write") as caught:
        parse_length(text, Units.INCH)
    assert said in str(caught.value)


@pytest.mark.parametrize(("text", "sixtyfourths"), [
    ("3/4", 48), ("5/8", 40), ("3/16", 12), ("10/16", 40), ("13 2/8", 848),
])  # fmt: skip
def test_what_can_be_one_thing_only_is_not(text, sixtyfourths):
    assert parse_length(text, Units.INCH) == Fraction(sixtyfourths, 64) * INCH


def test_a_fraction_needs_its_unit_in_a_metric_job():
    with pytest.raises(LengthError, match="ambiguous"):
        parse_length("12 1/2", Units.MM)
    assert parse_length('12 1/2"', Units.MM) == 25 * INCH // 2
    assert parse_length("1' 0 1/2", Units.MM) == 25 * INCH // 2


def test_no_reading_of_a_tape_has_a_longer_number_than_a_float_holds():
    assert math.isclose(to_number(98 * INCH + 5 * INCH // 8, Units.INCH), 98.625, rel_tol=0)
    assert to_number(98 * INCH + 5 * INCH // 8, Units.MM) == 2505.075
