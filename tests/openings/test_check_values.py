"""Openings worked by hand, from a job's text to its parts; the sources stand beside the numbers."""

from __future__ import annotations

import pytest

from nesting.job.reading import parse_job
from nesting.lengths import INCH, Units, parse_length
from nesting.parts import Part
from nesting.work.wanted import wanted

HEAD = """
job: by hand
units: inch
saw: {kerf: 3/32}
materials: {birch: {thickness: 23/32}}
stock: [{name: s, material: birch, length: 144, width: 60, price: 1}]
openings:
  - name: Door
    material: birch
"""
STRAIGHT = """
    wall:
      left:  [[0, 12], [80, 12]]
      right: [[0, 12], [80, 12]]
      head:  [[0, 12], [30, 12]]
"""


def inch(text: str) -> int:
    return int(parse_length(text, Units.INCH))


def fit(text: str, wall: str = STRAIGHT) -> tuple[Part, Part, Part]:
    left, right, head = wanted(parse_job(HEAD + text + wall, "x")).parts
    return left, right, head


LINE = """
    line: {left: 40 1/4, right: 39 7/8, up: 43}
    width: {low: 32, middle: 32, high: 32}
    proud: {least: 0, most: 1/8}
"""


@pytest.mark.parametrize(
    ("joint", "left", "right", "head"),
    [
        # trade practice with an arithmetic example: d_L 40 1/4, d_R 39 7/8, u 43, t 23/32, r 3/8. There W
        # is 30; here the opening of 32 less two gaps of 1/4 and two thicknesses leaves 30 1/16 (the same
        # source), so the heads are 1/16 longer than its 31 7/16, 30 and 30 3/4
        ("head over legs", "83 1/4", "82 7/8", "31 1/2"),
        ("head between legs", "83 31/32", "83 19/32", "30 1/16"),
        ("rabbet", "83 31/32", "83 19/32", "30 13/16"),
    ],
)
def test_lengths_by_joint(joint: str, left: str, right: str, head: str):
    rabbet = "\n    rabbet: 3/8" if joint == "rabbet" else ""
    parts = fit(f"    joint: {joint}{rabbet}{LINE}")
    assert [part.length for part in parts] == [inch(left), inch(right), inch(head)]


def test_a_framing_height_gives_gap_and_thickness_away():
    # 96 1/4 less 1/4 less 23/32 gives 95 9/32 (the measuring rules' own example)
    left, right, _ = fit("""
    height: {left: 96 1/4, right: 96}
    width: {low: 32, middle: 31 7/8, high: 32}
    proud: {least: 0, most: 1/8}
""")
    assert (left.length, right.length) == (inch("95 9/32"), inch("95 1/32"))


def test_the_clear_width_is_the_least_of_the_three():
    # 31 7/8 - 1/2 - 2 x 23/32 + 2 x 23/32 = 31 3/8 over the legs
    *_, head = fit("""
    height: {left: 84, right: 84}
    width: {low: 32, middle: 31 7/8, high: 32}
    proud: {least: 0, most: 1/8}
""")
    assert head.length == inch("31 3/8")


def test_a_belly_is_never_cut_short():
    # readings 9, 9 1/4, 9 1/4 at 0, 40, 80: the line from 9 1/8 to 9 3/8, proud 1/8, 0, 1/8 (arithmetic).
    # The head reads 9 3/8 at the corner, which is at 80, and the leg ends there (head over legs)
    text = """
    line: {left: 40, right: 40, up: 40}
    width: {low: 32, middle: 32, high: 32}
    proud: {least: 0, most: 1/8}
"""
    left, right, _ = fit(text, """
    wall:
      left:  [[0, 9], [40, 9 1/4], [80, 9 1/4]]
      right: [[0, 9 3/8], [80, 9 3/8]]
      head:  [[0, 9 3/8], [32, 9 3/8]]
""")
    assert (left.width_start, left.width_end) == (inch("9 3/8"), inch("9 1/8"))  # starts at the TOP
    assert (right.width_start, right.width_end) == (inch("9 3/8"), inch("9 3/8"))


@pytest.mark.parametrize(
    ("room", "starts"),
    [("A", ("TOP", "floor", "right")), ("B", ("floor", "TOP", "left"))],
)
def test_hands_follow_from_unfolding(room: str, starts: tuple[str, str, str]):
    # straight on room A's face: the left leg starts at the top, the right at the bottom, the head at its
    # right end; on room B's face the other way round (the measuring rules, "Hands")
    parts = fit(f"    straight: {room}{LINE}")
    assert tuple(part.marks["start"] for part in parts) == starts
    assert {part.marks["straight"] for part in parts} == {f"room {room}"}
    assert all("TOP" in part.marks.values() for part in parts[:2])


def test_a_press_fit_is_rounded_down_and_a_shimmed_one_to_the_nearest():
    text = """
    joint: head between legs
    height: {{left: 84, right: 84}}
    width: {{low: 32.02, middle: 32.02, high: 32.02}}
    gap: {gap}
    proud: {{least: 0, most: 1/8}}
"""
    # 32.02 - 2 x 23/32 = 30.5825, in 32nds 978.64: down to 978/32 = 30 9/16
    left, _, head = fit(text.format(gap="0"))
    assert (head.length, left.length) == (inch("30 9/16"), inch("84"))


def test_banding_is_deducted_only_where_it_is_said():
    text = LINE + "    band: {edges: [A, B], thickness: 1/16, deduct: no}\n"
    kept, *_ = fit(text)
    cut, *_ = fit(text.replace("deduct: no", "deduct: yes"))
    assert (kept.width_start, cut.width_start) == (inch("12"), inch("11 7/8"))
    assert set(kept.band) == {"straight", "far"}


def test_a_level_foot_is_out_of_square_to_a_straight_edge_that_leans():
    # the straight edge leans 1/2 in 80 and the leg is 10 wide: 10 x 0.5/80 = 1/16 (by arithmetic)
    left, *_ = fit(LINE.replace("40 1/4", "40").replace("39 7/8", "40").replace("43", "40"), """
    wall:
      left:  [[0, 5, 5], [80, 5 1/2, 4 1/2]]
      right: [[0, 5 1/2, 4 1/2], [80, 5 1/2, 4 1/2]]
      head:  [[0, 5 1/2, 4 1/2], [32, 5 1/2, 4 1/2]]
""")
    assert abs(abs(left.skew_start) - INCH / 16) < 8  # a slanted run of 80.0016, so a hair less
    assert left.skew_start == left.skew_end
    assert abs(left.width_start - 10 * INCH) < 4


def test_where_one_face_is_plumb_both_ways_of_measuring_give_one_piece():
    thickness, *_ = fit(LINE, """
    wall:
      left:  [[0, 12], [40, 12 1/4], [80, 12 1/8]]
      right: [[0, 12], [80, 12]]
      head:  [[0, 12 1/8], [32, 12]]
""")
    faces, *_ = fit(LINE, """
    wall:
      left:  [[0, 6, 6], [40, 6, 6 1/4], [80, 6, 6 1/8]]
      right: [[0, 6, 6], [80, 6, 6]]
      head:  [[0, 6, 6 1/8], [32, 6, 6]]
""")
    assert (thickness.width_start, thickness.width_end) == (faces.width_start, faces.width_end)
    assert (faces.skew_start, faces.skew_end) == (0, 0)
