"""A window in the job file: its keys, their defaults, and how a splay may be written."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from nesting.job.models import Opening
from tests.job.jobs import faults, inch, job

WINDOW = """\
units: inch
saw: {kerf: 3/32}
materials:
  birch: {thickness: 23/32}
stock:
  - {name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}
openings:
  - name: Stair window
    kind: window
    material: birch
    height: {left: 46 1/4, right: 46 1/4}
    width: {low: 30, middle: 30, high: 30}
    wall:
      left: [[-1, 6 3/8], [45, 6 1/2]]
      right: [[1, 6 3/8], [45, 6 1/2]]
      head: [[1, 6 1/2], [29, 6 1/2]]
      sill: [[−2 1/2, 6 3/8], [29, 6 3/8]]
"""


def window(*changes: tuple[str, str]) -> Opening:
    return job(*changes, text=WINDOW).openings[0]


def splayed(text: str) -> Opening:
    return window(("    material: birch\n", f"    material: birch\n    splay: {text}\n"))


def test_what_is_left_out():
    one = window()
    assert one.reveal == inch(3 / 16)  # Navy Builder manual, fig. 6-26: 3/16 from the jamb's face
    assert (one.proud.least, one.proud.most) == (inch(1 / 32), inch(1 / 16))  # one face of the usual two
    assert one.straight == "B"
    assert one.joint == "head over legs"
    assert (one.gap.left, one.gap.right, one.gap.top, one.horn) == (0, 0, 0, 0)
    assert one.splay.left == one.splay.right == one.splay.head == one.splay.sill == 0


def test_half_of_proud_may_be_given():
    one = window(("    material: birch\n", "    material: birch\n    proud: {most: 1/8}\n"))
    assert (one.proud.least, one.proud.most) == (inch(1 / 32), inch(1 / 8))


def test_places_past_the_frames_inside_edge_are_below_0():
    one = window()
    assert one.wall.left[0].at == -inch(1)
    assert one.wall.sill[0].at == -inch(2.5)  # with a true minus sign too


def test_a_cased_opening_is_what_it_was():
    one = job().openings[0]
    assert (one.kind, one.straight, one.wall.sill) == ("cased", "A", ())
    assert (one.proud.least, one.proud.most) == (inch(1 / 16), inch(1 / 8))


@pytest.mark.parametrize(
    ("text", "slope"),
    [
        ("2 over 6", Fraction(1, 3)),
        ("{left: 3 over 12}", Fraction(1, 4)),
        ("{left: 50 mm over 200 mm}", Fraction(1, 4)),
        ("{left: 2 1/2 over 10}", Fraction(1, 4)),
        ("45", Fraction(1)),
        ("45°", Fraction(1)),
        ("{left: 0}", Fraction(0)),
    ],
)
def test_a_splay_is_a_run_over_a_depth_or_degrees(text: str, slope: Fraction):
    assert splayed(text).splay.left == slope


def test_degrees_become_a_tangent_of_ten_figures():
    found = splayed("{left: 7 1/2, head: 22.5 degrees}").splay
    assert float(found.left) == pytest.approx(math.tan(math.radians(7.5)), abs=1e-10)
    assert float(found.head) == pytest.approx(math.sqrt(2) - 1, abs=1e-10)  # tan 22.5 = sqrt 2 - 1
    assert found.sill == 0


@pytest.mark.parametrize("text", ["2 over", "over 6", "2 / 6 / 8", "-5", "90", "1e9 over 1", "[1, 2]", "'#'"])
def test_nonsense_is_a_fault_in_words(text: str):
    bad = faults(WINDOW.replace("    material: birch\n", f"    material: birch\n    splay: {text}\n"))
    assert bad
    assert all("splay" in fault.what for fault in bad)


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("splay: 2", "hardly a splay at all"),
        ("splay: {head: 50}", "steeper than 45"),
        ("reveal: 5/8", "wide for a reveal"),
    ],
)
def test_what_is_hardly_meant_is_a_warning(line: str, why: str):
    read = job(("    material: birch\n", f"    material: birch\n    {line}\n"), text=WINDOW)
    assert [why in warning for warning in read.warnings] == [True]
