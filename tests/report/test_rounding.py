"""Figures add up as printed."""

from __future__ import annotations

import time
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.report.rounding import decimal, money, round_table, rounded, share_out

TABLES = st.integers(1, 6).flatmap(
    lambda n: st.lists(st.lists(st.integers(0, 3000), min_size=n, max_size=n), min_size=1, max_size=9)
)


def near(printed: int, true: int, grid: int) -> bool:
    """The true value rounded up or down to whole grids; itself where it is whole."""
    return true // grid <= printed <= -(-true // grid)


@given(TABLES, st.integers(1, 400))
def test_every_cell_row_column_and_total_is_rounded_to_a_neighbour(
    rows: list[list[int]], grid: int
) -> None:
    printed = round_table(rows, grid)
    for got, true in zip(printed, rows, strict=True):
        assert all(near(g, t, grid) for g, t in zip(got, true, strict=True))
        assert near(sum(got), sum(true), grid)
    for got, true in zip(zip(*printed, strict=True), zip(*rows, strict=True), strict=True):
        assert near(sum(got), sum(true), grid)
    assert near(sum(map(sum, printed)), sum(map(sum, rows)), grid)


def test_a_table_of_thousands_of_rows_takes_no_more_than_a_moment() -> None:
    """Going through all cells for each one that is settled took half a minute for these."""
    rows = [[7 * i % 100, 13 * i % 100, 31 * i % 100, 57 * i % 100] for i in range(4000)]
    begun = time.process_time()
    printed = round_table(rows, 100)
    assert time.process_time() - begun < 5
    assert all(near(sum(got), sum(true), 100) for got, true in zip(printed, rows, strict=True))


def test_plain_rounding_would_not_add_up() -> None:
    # by hand: thirds of 100 round to 33 each, which make 99
    assert sum(round_table([[100, 100, 100]], 3)[0]) == 100
    assert sum(rounded(Fraction(100, 3)) for _ in range(3)) == 99


def test_an_empty_table_stays_empty() -> None:
    assert round_table([], 10) == []


@given(st.lists(st.integers(0, 999), min_size=1, max_size=12), st.integers(1, 50))
def test_shares_make_their_total_and_no_larger_remainder_is_passed_over(row: list[int], grid: int) -> None:
    for total in {sum(row) // grid, -(-sum(row) // grid)}:
        printed = share_out(row, grid, total)
        assert sum(printed) == total
        up = [cell % grid for cell, got in zip(row, printed, strict=True) if got > cell // grid]
        down = [cell % grid for cell, got in zip(row, printed, strict=True) if got == cell // grid]
        assert not up or not down or min(up) >= max(down)


def test_largest_remainder_of_a_textbook_vote() -> None:
    # Hamilton's method, 10 seats for votes of 47, 16, 15.8, 12, 6.1, 3.1 thousand (of 100): 5 2 1 1 1 0
    # (the worked example of many texts; from memory)
    assert share_out([47000, 16000, 15800, 12000, 6100, 3100], 10000, 10) == [5, 2, 1, 1, 1, 0]


@pytest.mark.parametrize(
    ("whole", "places", "text"),
    [
        (1234, 2, "12.34"),
        (5, 2, "0.05"),
        (0, 1, "0.0"),
        (-5, 1, "-0.5"),
        (1234567, 0, "1,234,567"),
        (123456789, 2, "1,234,567.89"),
    ],
)
def test_decimals_are_written_from_whole_numbers(whole: int, places: int, text: str) -> None:
    assert decimal(whole, places) == text


def test_money_has_hundredths() -> None:
    assert money(94.0) == "94.00"
    assert money(0.1 + 0.2) == "0.30"
