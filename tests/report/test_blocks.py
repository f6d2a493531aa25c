"""Plain text: tables stand straight, long words and strange signs keep within the lines."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from nesting.report.blocks import Section, Table, as_text, clean, columns, table, words

TEXT = st.text(max_size=60)


@given(st.lists(st.tuples(TEXT, TEXT, TEXT), min_size=1, max_size=5), st.integers(40, 100))
def test_no_line_is_wider_than_asked(rows: list[tuple[str, str, str]], width: int) -> None:
    section = Section("title", (Table(("one", "two", "three"), tuple(rows), "lll"), "words " * 40))
    lines = as_text([section], width).splitlines()
    # a word breaks where it must, but an accent may stand alone on its letter
    assert all(columns(line) <= width for line in lines)


@given(st.lists(st.tuples(TEXT, TEXT), min_size=1, max_size=5))
def test_nothing_is_lost_but_spaces_and_controls(rows: list[tuple[str, str]]) -> None:
    text = as_text([Section("t", (Table(("a", "b"), tuple(rows), "ll"),))], 60)
    for row in rows:
        for cell in row:
            for word in clean(cell).split():
                assert set(word) <= set(text)


def test_a_number_is_not_parted_from_its_fraction() -> None:
    assert words("from 13 11/32 to 13 3/8 by 5/64") == ["from", "13 11/32", "to", "13 3/8", "by", "5/64"]
    text = as_text([Section("t", ("rip it at 13 3/8",))], 12)
    assert text.splitlines()[-2:] == ["rip it at", "13 3/8"]


def test_figures_stand_to_the_right() -> None:
    text = as_text([Section("t", (Table(("n", "word"), (("1", "a"), ("100", "b")), "rl"),))])
    assert "  1  a" in text
    assert "100  b" in text


def test_the_sum_stands_under_a_rule() -> None:
    text = as_text([Section("t", (Table(("n",), (("1",), ("2",), ("3",)), "r", total=True),))])
    assert text.splitlines()[-2:] == ["-", "3"]


def test_columns_that_say_nothing_are_left_out() -> None:
    made = table(("a", "b", "c"), [("1", "", "2"), ("3", "", "")], "rlr")
    assert (made.head, made.align) == (("a", "c"), "rr")


def test_columns_of_a_terminal_are_counted() -> None:
    # East Asian wide signs take two columns (Unicode Standard Annex 11), accents none
    assert columns("棚板") == 4
    assert columns("e\u0301") == 1
