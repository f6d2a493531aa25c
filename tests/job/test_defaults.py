"""What a job leaves open is listed with the value taken and its source."""

from __future__ import annotations

import pytest

from nesting.job.defaults import SOURCES
from nesting.job.reading import parse_job

BARE = """
units: {units}
saw: {{kerf: 3/32 inch, rails: [118 inch, 55 inch]}}
materials:
  birch: {{thickness: 18 mm}}
stock:
  - {{name: birch, material: birch, length: 96 inch, width: 48 inch, price: 94.00}}
  - {{name: 1x12, material: birch, board: 1x12, length: 96 inch, price: 30.00}}
openings:
  - name: Door
    material: birch
    band: {{edges: A, thickness: 0.6 mm}}
    height: {{left: 83 inch, right: 83 inch}}
    width: {{low: 31 inch, middle: 31 inch, high: 31 inch}}
    wall: &wall
      left:  [[2 inch, 9 inch], [81 inch, 9 inch]]
      right: [[2 inch, 9 inch], [81 inch, 9 inch]]
      head:  [[0, 9 inch], [31 inch, 9 inch]]
  - name: Gate
    material: birch
    gap: {{left: 0}}
    proud: {{most: 1/4 inch}}
    height: {{left: 83 inch, right: 83 inch}}
    width: {{low: 31 inch, middle: 31 inch, high: 31 inch}}
    wall: *wall
"""
FULL = """
units: inch
step: 1/16
saw: {kerf: 3/32, rails: [118, 55], join: no, lead_in: 7, lead_out: 3, face_up: show}
trim: 1/4
lean: 1/2
keep: {length: 24, width: 6}
materials:
  birch: {thickness: 23/32, grain: yes, faces: one}
stock:
  - {name: birch, material: birch, length: 96, width: 48, price: 94.00}
  - {name: 1x12, material: birch, board: 1x12, width: 11 1/4, trim: 0, length: 96, price: 30.00}
openings:
  - name: Door
    material: birch
    joint: head over legs
    straight: A
    gap: 1/4
    proud: {least: 0, most: 1/8}
    band: {edges: A, thickness: 0.6 mm, kind: iron-on, deduct: no}
    height: {left: 83, right: 83}
    width: {low: 31, middle: 31, high: 31}
    wall:
      left:  [[2, 9], [81, 9]]
      right: [[2, 9], [81, 9]]
      head:  [[0, 9], [31, 9]]
"""


def listed(units: str = "inch") -> dict[tuple[str, str], tuple[str, ...]]:
    job = parse_job(BARE.format(units=units), "test.yaml")
    return {(one.key, one.value): one.of for one in job.defaults}


def test_every_value_left_open_is_listed_with_what_it_is_for():
    # the values are those of the README's table
    assert listed() == {
        ("step", '1/32"'): (), ("saw, lead_in", '7"'): (), ("saw, lead_out", '3"'): (),
        ("saw, join", "no"): (), ("saw, face_up", "show"): (), ("trim", '1/4"'): (),
        ("lean", "0.5°"): (), ("keep", '24" × 6"'): (),
        ("trim of boards", '1/2" at each end'): ("1x12",), ("width of boards", '11 1/4"'): ("1x12",),
        ("grain", "yes"): ("birch",), ("faces", "one"): ("birch",),
        ("joint", "head over legs"): ("Door", "Gate"), ("straight", "room A"): ("Door", "Gate"),
        ("gap, left", '1/4"'): ("Door",), ("gap, right", '1/4"'): ("Door", "Gate"),
        ("gap, top", '1/4"'): ("Door", "Gate"), ("proud, least", '1/16"'): ("Door", "Gate"),
        ("proud, most", '1/8"'): ("Door",), ("band, kind", "iron-on"): ("Door",),
        ("band, deduct", "no"): ("Door",),
    }  # fmt: skip


def test_a_job_that_says_all_has_none():
    assert parse_job(FULL, "test.yaml").defaults == ()


def test_a_window_has_its_own():
    window = FULL.replace("name: Door", "name: Door\n    kind: window").replace("straight: A", "reveal: 3/16")
    window = window.replace("    gap: 1/4\n", "").replace("    proud: {least: 0, most: 1/8}\n", "")
    window = window.replace("      head:  ", "      sill:  [[0, 9], [31, 9]]\n      head:  ")
    found = parse_job(window, "test.yaml").defaults
    assert [(one.key, one.value) for one in found] == [
        ("proud, least of a window", '1/32"'), ("proud, most of a window", '1/16"')]  # fmt: skip
    assert all("half of" in one.source for one in found)


@pytest.mark.parametrize("units", ["inch", "mm"])
def test_each_names_its_source_or_says_that_it_has_none(units: str):
    for one in parse_job(BARE.format(units=units), "test.yaml").defaults:
        assert "common practice, no source" in one.source or "(" in one.source or "PS 20" in one.source
    assert all(SOURCES.values())


def test_in_millimetres_the_values_are_the_metric_ones():
    found = dict(listed("mm").keys())
    assert (found["step"], found["saw, lead_in"], found["trim"]) == ("0.5 mm", "178 mm", "6 mm")
    assert found["keep"] == "600 mm × 150 mm"


def test_boards_whose_names_begin_alike_are_told_apart():
    first = "  - {name: 1x12,"
    more = """  - {name: b 1x12, material: birch, board: 1x12, length: [96, 120], price: 4 a foot}
  - {name: b, material: birch, board: 1x8, length: 96, price: 20.00}
"""
    found = parse_job(FULL.replace(first, more + first), "test.yaml").defaults
    widths = {one.value: one.of for one in found if one.key == "width of boards"}
    assert widths == {'11 1/4"': ("b 1x12",), '7 1/4"': ("b",)}
