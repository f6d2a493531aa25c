"""The parts list and the stations of an opening."""

from __future__ import annotations

import json
import re

import pytest

from nesting.lengths import INCH
from nesting.report.blocks import columns
from nesting.report.partslist import by_opening, openings_data, part_table, parts_data, parts_text, sheet_of
from tests.report.handmade import HOSTILE, copies, metric, plan, renamed, vouched


def rows(text: str) -> list[str]:
    return [" ".join(line.split()) for line in text.splitlines()]


def test_every_piece_is_listed_once_with_its_sizes() -> None:
    found = rows(parts_text(vouched()))
    assert "1 left leg 80 13 to 13 1/4 length TOP floor room A, band room B, band 1" in found
    assert "3 head 31 7/16 13 length right left room A, band room B, band 1" in found
    assert "4 shelf 20 11 length 1" in found


def test_openings_come_first_and_loose_parts_last() -> None:
    assert list(by_opening(plan())) == ["Kiln room", None]
    assert sum(map(len, by_opening(copies(3).plan).values())) == 12


def test_the_sheet_of_each_part_is_told() -> None:
    assert sheet_of(copies(2).plan) == {n: 1 if n <= 4 else 2 for n in range(1, 9)}


def test_the_worst_station_and_the_excess_are_told() -> None:
    # proud by 1/8 at the foot where 1/16 is allowed
    found = rows(parts_text(vouched()))
    assert 'left leg 2 13 1/8 13 1/4 1/8 worst, over by 1/16"' in found
    assert "42 13 1/8 13 1/8 0" in found
    assert "Notes: the studs' lean along the wall is not measured." in found


def test_a_single_face_is_allowed_half() -> None:
    opening = plan().openings[0]
    stations = tuple(s.model_copy(update={"face": "A"}) for s in opening.runs[0].stations)
    runs = (opening.runs[0].model_copy(update={"stations": stations}), *opening.runs[1:])
    text = parts_text(vouched(openings=(opening.model_copy(update={"runs": runs}),)))
    assert 'worst, over by 3/32"' in text  # 1/8 less half of 1/16
    assert "a single face gets half of it" in text


def test_the_table_agrees_with_what_is_said_in_words() -> None:
    # 13 1/8 and 17/64 are 13 25/64; 17/64 less 1/16 is 13/64: to a tape's 1/32 it read 1/4, over by 3/16
    opening = plan().openings[0]
    first, *others = opening.runs[0].stations
    proud = 17 * INCH // 64
    station = first.model_copy(update={"proud": proud, "piece": first.wall + proud})
    run = opening.runs[0].model_copy(update={"stations": (station, *others), "worst": proud, "over": True})
    text = parts_text(vouched(openings=(opening.model_copy(update={"runs": (run,)}),)))
    assert 'left leg 2 13 1/8 13 25/64 17/64 worst, over by 13/64"' in rows(text)


def test_skews_are_shown_where_there_are_any() -> None:
    assert "Skew" not in parts_text(vouched())
    tilted = plan().parts[3].model_copy(update={"skew_start": 508, "skew_end": -508})
    made = part_table(plan(), [tilted])
    assert dict(zip(made.head, made.rows[0], strict=True))["skew"] == "1/16 / -1/16"


def test_data_carry_what_the_plan_says() -> None:
    data = parts_data(vouched())
    assert json.loads(json.dumps(data)) == data
    assert data[0]["width_end"] == 13.25
    assert data[0]["sheet"] == 1
    assert openings_data(vouched())[0]["runs"][0]["stations"][0]["wall"] == 13.125


def test_millimetres_have_at_most_one_decimal() -> None:
    text = parts_text(metric())
    assert "2032" in text  # 80 x 25.4
    assert "330.2 to 336.5" in text  # 330.2, and 336.55, which no mark says, to half a millimetre
    assert not re.search(r"\d\.\d\d", text)


@pytest.mark.parametrize("name", HOSTILE)
def test_no_name_breaks_the_lines(name: str) -> None:
    text = parts_text(renamed(name))
    assert all(columns(line) <= 100 for line in text.splitlines())
    assert not re.search(r"[\x00-\x09\x0b-\x1f\u202a-\u202e]", text)


def test_what_is_not_cut_is_on_no_step() -> None:
    """A clear width of 31 7/64 between sheets of an odd thickness, 1/64 proud: a tape's 1/32 hides both."""
    opening = plan().openings[0]
    clear, least = 31 * INCH + 7 * INCH // 64, INCH // 64
    changes = {"clear_width": clear, "proud": {"least": least, "most": 2 * INCH // 16}}
    text = " ".join(parts_text(vouched(openings=(opening.model_copy(update=changes),))).split())
    assert 'Clear between the legs 31 7/64"' in text
    assert 'proud by 1/64" to 1/8"' in text
