"""The parts of a job, before they are planned."""

from __future__ import annotations

import pytest

from nesting.errors import JobError
from nesting.job.reading import parse_job
from nesting.work.wanted import wanted

NARROW = """units: inch
saw: {kerf: 3/32}
materials: {birch: {thickness: 3/4}}
stock: [{name: birch 4x8, material: birch, length: 96, width: 48, price: 94}]
openings:
  - name: Hall
    material: birch
    height: {left: 83, right: 83}
    width: {low: 36, middle: 36, high: 36}
    wall: {left: [[2, 12], [81, 12]], right: [[2, 12], [81, 12]], head: [[0, 12], [36, 12]]}
"""


def test_what_comes_of_sums_is_not_said_to_be_written_and_names_its_opening() -> None:
    # 1 1/2 less two gaps of 1/4 and two legs of 3/4 is -1/2; nobody wrote that
    with pytest.raises(JobError) as caught:
        wanted(parse_job(NARROW.replace("low: 36", "low: 1 1/2"), "job.yaml"))
    assert str(caught.value) == (
        'job.yaml:6: opening 1 (Hall), clear width between the legs: comes to -1/2": the least width must be '
        "more than both side gaps and twice the sheet's thickness, 3/4\""
    )


def test_what_is_written_is_still_said_to_be() -> None:
    with pytest.raises(JobError) as caught:
        wanted(parse_job(NARROW + "    feet: {left: 90}\n", "j.yaml"))
    told = str(caught.value)
    assert told.startswith("j.yaml:6: opening 1 (Hall), feet, left is written '90\"': must be less than")
