"""The stock sizes side by side."""

from __future__ import annotations

import itertools
import json

from nesting.lengths import Units
from nesting.report.compare import MIX, Comparison, Option, compare_data, compare_text

OPTIONS = (
    Option("birch 4x8", True, "", {"birch 4x8": 3}, 282.0, 21.31, 73.6, 0, True, 282.0),
    Option("birch 4x10", True, "", {"birch 4x10": 2}, 262.0, 14.3, 92.0, 3, False, 241.0),
    Option("birch 5x5", False, "left leg of Kiln room is longer than the sheet"),
    Option(MIX, True, "", {"birch 4x8": 1, "birch 4x10": 1}, 225.0, 8.06, 92.0, 3, True, 225.0),
)
COMPARISON = Comparison("Weir Lane pottery", Units.INCH, OPTIONS)


def test_the_cheapest_is_the_least_that_can_be_had() -> None:
    assert COMPARISON.cheapest() == 225.0
    assert Comparison("none", Units.INCH, OPTIONS[2:3]).cheapest() is None


def test_the_table_says_what_each_costs_more_and_what_is_proved() -> None:
    found = [" ".join(line.split()) for line in compare_text(COMPARISON).splitlines()]
    assert "birch 4x8 3 birch 4x8 282.00 +57.00 21.3 74 0 proved" in found
    # 262 over a bound of 241 is 8.714 % above it, said rounded up
    assert "birch 4x10 2 birch 4x10 262.00 +37.00 14.3 92 3 within 8.8 %" in found
    assert "birch 5x5 no" in found
    assert any(line.startswith("birch 5x5 alone: left leg of") for line in found)
    assert any("least 8.1 92 3 proved" in line for line in found)


def test_the_columns_stand_under_each_other() -> None:
    lines = compare_text(COMPARISON).splitlines()
    rule = next(line for line in lines if set(line) == {"-", " "})
    gaps = [k for k, sign in enumerate(rule) if sign == " "]
    body = list(itertools.takewhile(bool, lines[lines.index(rule) + 1 :]))
    assert len(body) >= len(OPTIONS)
    assert all(line[k : k + 1] in ("", " ") for line in body for k in gaps)


def test_it_can_be_written_as_json() -> None:
    data = compare_data(COMPARISON)
    assert json.loads(json.dumps(data)) == data
    assert [option["more"] for option in data["options"]] == [57.0, 37.0, None, 0.0]


def test_where_nothing_can_be_had_that_is_said() -> None:
    text = compare_text(Comparison("none", Units.MM, (Option("a", False),)))
    assert "a alone: no plan found" in text


def test_with_no_bound_the_proof_is_open() -> None:
    text = compare_text(Comparison("x", Units.MM, (Option("a", True, sheets={"a": 1}, cost=5.0),)))
    assert "open" in text
