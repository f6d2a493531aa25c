"""Each joint with and without horns, shimmed and pressed in; the arithmetic stands beside the number."""

from __future__ import annotations

import pytest

from nesting.job.models import Opening
from nesting.job.reading import parse_job
from tests.job.jobs import faults
from tests.openings.test_check_values import HEAD as JOB
from tests.openings.walls import (
    BIRCH,
    THREE_QUARTERS,
    fit,
    flat,
    gap,
    height,
    inch,
    lengths,
    line,
    opening,
    part,
    plain,
    run,
    width,
    widths,
)

# Birch of 23/32, an opening of 32 by 84, pressed in: W = 32 - 2 x 23/32 = 30 9/16, H = 84 - 23/32 = 83 9/32.
# With 1/4 on every side: W = 30 1/16, H = 83 1/32.
# joint, gap, rabbet, horn: leg, head
TABLE = [
    ("head over legs", "0", "0", "0", "83 9/32", "32"),  # H; W + 2t
    ("head between legs", "0", "0", "0", "84", "30 9/16"),  # H + t; W
    ("rabbet", "0", "3/8", "0", "84", "31 5/16"),  # H + t; W + 2 x 3/8
    ("head over legs", "1/4", "0", "0", "83 1/32", "31 1/2"),
    ("head between legs", "1/4", "0", "0", "83 3/4", "30 1/16"),
    ("rabbet", "1/4", "3/8", "0", "83 3/4", "30 13/16"),
    # horns of 1: they end the gap below the framing, so the leg is as long and the head 1 lower
    ("rabbet", "1/4", "3/8", "1", "83 3/4", "30 13/16"),
    ("head between legs", "0", "0", "1", "84", "30 9/16"),
]


def framed(joint: str, space: str, rabbet: str = "0", horn: str = "0") -> Opening:
    return plain(joint=joint, rabbet=inch(rabbet), horn=inch(horn), line=None, height=height("84", "84"),
                 width=width("32"), gap=gap(space, space, space))  # fmt: skip


@pytest.mark.parametrize(("joint", "space", "rabbet", "horn", "leg", "head"), TABLE)
def test_lengths_under_the_framing(joint: str, space: str, rabbet: str, horn: str, leg: str, head: str):
    found = fit(framed(joint, space, rabbet, horn), BIRCH)
    assert lengths(found) == (inch(leg), inch(leg), inch(head))
    outside = found.height["left"] + (BIRCH.thickness if joint == "head over legs" else 0)
    assert outside + (0 if joint == "head over legs" else BIRCH.thickness + inch(horn)) == (
        inch("84") - inch(space)
    )


def test_horns_lower_the_head_under_the_framing_and_not_under_a_level_line():
    # 84 - 1/4 - 1 - 23/32 = 82 1/32; from a line 40 + 40 = 80, whatever is above it
    assert fit(framed("rabbet", "1/4", "3/8", "1"), BIRCH).height["left"] == inch("82 1/32")
    found = fit(plain(joint="rabbet", rabbet=inch("3/8"), horn=inch("1 1/2")), BIRCH)
    assert found.height["left"] == inch("80")
    assert part(found, "left leg").length == inch("82 7/32")  # 80 + 23/32 + 1 1/2
    assert any('horns: they end 1 1/2" above' in note for note in found.notes)


def test_a_press_fit_is_never_longer_than_its_place():
    # 32.02 less 2 x 3/4 is 30.52, 976.64 of 1/32: down to 30 1/2
    pressed = plain(joint="head between legs", width=width("32.02"), gap=gap("0", "0", "0"),
                    line=None, height=height("84.02", "83.99"))  # fmt: skip
    # legs 84.02 (2688.64) and 83.99 (2687.68) against the framing: down to 84 and 83 31/32
    assert lengths(fit(pressed, THREE_QUARTERS)) == (inch("84"), inch("83 31/32"), inch("30 1/2"))


def test_the_taper_carries_on_past_the_joint_into_the_horns():
    """9 at the floor, 9 1/2 at 80, the head's underside: 1/160 an inch.

    The horn ends at 80 + 3/4 + 2 = 82 3/4: 9 + 82.75/160 = 9.5171875, up to 9 17/32 (9.53125).
    The leg as cut is then 9 + 80 x (17/32)/82.75 = 9.5136 at the corner, within a step of 9 1/2.
    """
    rising = run((0, "9"), (80, "9 1/2"))
    wall = opening(rising, rising, flat("9 1/2", 1, 37), joint="rabbet", rabbet=inch("3/8"), horn=inch("2"))
    found = fit(wall)
    for leg in ("left leg", "right leg"):
        assert part(found, leg).length == inch("82 3/4")
        assert widths(found, leg) == (inch("9"), inch("9 17/32"))
    assert widths(found, "head") == (inch("9 1/2"), inch("9 1/2"))
    for corner in found.corners.values():
        assert corner["head"] == inch("9 1/2")
        assert 0 <= corner["leg"] - corner["head"] <= inch("1/32")


def test_the_head_carries_its_taper_on_over_the_legs_and_into_the_rabbets():
    """Head 9 and 9 3/8 at the inside corners, 36 apart: 1/96 an inch.

    Over legs 3/4 thick it ends 3/4 past: 9 - 1/128 = 8.992, up to 9; 9 3/8 + 1/128 = 9.383, up to 9 13/32.
    In rabbets of 3/8 half of that past: 8.996, up to 9; 9.379, up to 9 13/32.
    """
    left, right = flat("9", 0, 80), flat("9 3/8", 0, 80)
    for joint in ("head over legs", "rabbet"):
        wall = opening(left, right, run((1, "9"), (37, "9 3/8")), joint=joint, rabbet=inch("3/8"))
        assert widths(fit(wall), "head") == (inch("9"), inch("9 13/32")), joint


def test_a_level_line_needs_no_gap_above():
    found = fit(plain(joint="rabbet", rabbet=inch("3/8"), line=line("40", "39 7/8", "40")))
    assert lengths(found) == (inch("80 3/4"), inch("80 5/8"), inch("36 3/4"))


def test_horns_over_legs_are_said_to_be_nothing():
    text = JOB + """    horn: 1
    line: {left: 40, right: 40, up: 40}
    width: {low: 32, middle: 32, high: 32}
    wall: {left: [[0, 9], [80, 9]], right: [[0, 9], [80, 9]], head: [[0, 9], [32, 9]]}
"""
    assert faults(text) == []
    assert any("horn" in warning and "not used" in warning for warning in parse_job(text, "x").warnings)
