"""The parts list for a spreadsheet: every length twice, and nothing that a spreadsheet works out."""

from __future__ import annotations

import csv
import io
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.job.reading import parse_job
from nesting.lengths import INCH, MM, Units, nearest, parse_length
from nesting.packing.instance import Settings
from nesting.report.parts_csv import guarded, parts_csv, tape
from nesting.work.record import plan_of
from nesting.work.wanted import wanted
from tests.job.jobs import EXAMPLE, LEAST, METRIC


def table(text: str) -> tuple[str, list[dict[str, str]]]:
    job = parse_job(text, "job.yaml")
    written = parts_csv(plan_of(job, wanted(job), [], Settings()))
    return written, list(csv.DictReader(io.StringIO(written.removeprefix("\ufeff"))))


def test_every_piece_has_a_row_and_every_length_is_said_twice():
    written, rows = table(LEAST)
    assert written.startswith("\ufeffnumber,name,opening,role,material,length,length (in),width,")
    assert written.endswith("\r\n")
    assert [row["role"] for row in rows] == ["left leg", "right leg", "head", ""]
    shelf = rows[-1]
    assert (shelf["length"], shelf["length (in)"], shelf["width"], shelf["thickness"]) == (
        "34 1/2",
        "34.5",
        "11 3/4",
        "0 23/32",
    )
    for row in rows:
        for name in ("length", "width", "width end", "thickness"):
            said = nearest(parse_length(row[name], Units.INCH))
            assert said == pytest.approx(Fraction(row[f"{name} (in)"]) * INCH, abs=0.01)


def test_what_was_written_comes_in_again_as_parts():
    _, rows = table(METRIC)
    assert rows[0]["length (mm)"] == "876.3"
    _, rows = table(EXAMPLE)
    filler = next(row for row in rows if "filler" in row["name"])
    assert (filler["width"], filler["width end"]) == ("3", "3 3/4")


@pytest.mark.parametrize("name", ['=HYPERLINK("x")', "+1", "-1", "@x", "=1+1", "-", "＝1"])
def test_a_name_is_never_a_formula(name: str):
    quoted = name.replace('"', '\\"')
    _, rows = table(LEAST.replace("name: shelf", f'name: "{quoted}"'))
    assert not rows[-1]["name"].startswith(("=", "+", "-", "@", "\t", "\r"))
    assert rows[-1]["name"].lstrip("'") == name


@given(st.text(max_size=20))
def test_no_text_at_all_is_a_formula(text: str):
    assert not guarded(text).startswith(("=", "+", "-", "@", "\t", "\r", "\n"))


@pytest.mark.parametrize(
    ("length", "units", "said"),
    [
        (3 * INCH // 4, Units.INCH, "0 3/4"),
        (-INCH // 16, Units.INCH, "-0 1/16"),
        (0, Units.INCH, "0"),
        (5 * INCH, Units.INCH, "5"),
        (-27 * INCH // 2, Units.INCH, "-13 1/2"),
        (5 * MM // 2, Units.MM, "2.5"),
        (-MM, Units.MM, "-1"),
    ],
)
def test_a_length_that_no_spreadsheet_turns_into_a_date(length: int, units: Units, said: str):
    assert tape(length, units) == said
