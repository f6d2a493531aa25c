"""Openings worked by hand, the arithmetic beside each number.

36 between the legs, 80 under the head, a sheet 3/4 thick, head over legs, nothing proud, unless it is said:
legs of 80, a head of 36 + 2 x 3/4 = 37 1/2 from 1/4 to 37 3/4, inside corners at 1 and 37.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from nesting.job.measured import Corners, Feet, Floor, Framing, Stud
from nesting.job.models import Opening
from nesting.job.reading import parse_job
from nesting.lengths import INCH, Units
from nesting.openings import Fit, Run, fit_opening
from nesting.openings.cover import cover
from nesting.openings.faces import faces_of
from nesting.openings.frame import make_frame
from nesting.openings.studs import between, gaps, rack
from nesting.parts import Part
from tests.job.jobs import faults
from tests.openings.test_cover import worst_of
from tests.openings.walls import (
    HEAD,
    LEG,
    STEP,
    THREE_QUARTERS,
    band,
    fit,
    flat,
    height,
    inch,
    lengths,
    opening,
    part,
    plain,
    proud,
    run,
    width,
    widths,
)

BELLY = run((0, "9"), (40, "9 1/4"), (80, "9 1/4"))
HOLLOW = run((0, "9 1/4"), (40, "9"), (80, "9 1/4"))
RISING = run((0, "9"), (80, "9 1/2"))


def run_of(found: Fit, role: str) -> Run:
    return next(run for run in found.runs if run.role == role)


def prouds(found: Fit, role: str) -> list[int]:
    return [station.proud for station in run_of(found, role).stations]


def foot_at(piece: Part) -> str:
    return next(edge for edge, mark in piece.marks.items() if mark == "floor")


# --- the wall ----------------------------------------------------------------------------------


def test_straight():
    found = fit(plain())
    assert lengths(found) == (inch("80"), inch("80"), inch("37 1/2"))
    for role in ("left leg", "right leg", "head"):
        assert widths(found, role) == (inch("9"), inch("9"))
        assert prouds(found, role) == [0, 0, 0]
        of = run_of(found, role)
        assert (of.saves, of.saves_area, of.todo) == (0, 0, "")
        assert (part(found, role).skew_start, part(found, role).skew_end) == (0, 0)


def test_one_sided_taper():
    """The left side rises from 9 to 9 1/2, so the head falls from 9 1/2 to 9 over 36, 1/72 an inch.

    It ends 3/4 past the corners: 9.5 + 0.0104 = 9.5104, up to 9 17/32; 9 - 0.0104, up to 9.
    """
    found = fit(opening(RISING, flat("9", *LEG), run((1, "9 1/2"), (37, "9"))))
    assert widths(found, "left leg") == (inch("9"), inch("9 1/2"))
    assert widths(found, "right leg") == (inch("9"), inch("9"))
    assert widths(found, "head") == (inch("9 17/32"), inch("9"))


def test_two_sided_taper():
    """Face A leans from 4 to 4 1/4, face B from 5 to 5 1/4: both edges of the left leg are slanted.

    Square to the straight edge 9 and 9 1/2 are less by (1/4/80)²/2 of them: 0.00005, less than a unit.
    Its level ends are out of square by 9.5 x 0.25/80 = 0.0297 at the TOP and 9 x 0.25/80 = 0.0281 at the
    floor. It starts at the TOP; from there the straight edge falls back towards the plane, so the far
    corners lie further along.
    """
    left = run((0, "4", "5"), (80, "4 1/4", "5 1/4"))
    found = fit(opening(left, run((0, "4", "5"), (80, "4", "5")), run((1, "4 1/4", "5 1/4"), (37, "4", "5"))))
    leg = part(found, "left leg")
    assert leg.marks["start"] == "TOP"
    assert abs(leg.width_start - inch("9 1/2")) <= 1
    assert abs(leg.width_end - inch("9")) <= 1
    assert abs(leg.length - inch("80")) <= 4  # sqrt(80² + 0.25²) = 80.0004, 3 units more
    assert (leg.skew_start, leg.skew_end) == (round(0.0296875 * INCH), round(0.028125 * INCH))


def test_belly_and_what_a_curve_would_save():
    """9, 9 1/4, 9 1/4: from 9 1/8 to 9 3/8, proud 1/8, 0, 1/8. The curve saves 1/8 at the worst station.

    In all it saves two triangles, 40 x 1/8 / 2 each: 5 square inches.
    """
    found = fit(opening(BELLY, flat("9", *LEG), run((1, "9 3/8"), (37, "9"))))
    assert widths(found, "left leg") == (inch("9 1/8"), inch("9 3/8"))
    assert prouds(found, "left leg") == [inch("1/8"), 0, inch("1/8")]
    leg = run_of(found, "left leg")
    assert (leg.saves, leg.saves_area, leg.over) == (inch("1/8"), 2 * 5 * INCH**2, False)


def hollow(**changes: Any) -> Run:
    return run_of(fit(opening(flat("9 1/4", 0, 80), HOLLOW, flat("9 1/4", *HEAD), **changes)), "right leg")


def test_hollow_and_what_to_do():
    """9 1/4, 9, 9 1/4: level, 1/4 proud in the middle, 1/8 over 1/8; 40 x 1/4 = 10 square inches."""
    leg = hollow()
    assert (leg.worst, leg.over, leg.saves_area) == (inch("1/4"), True, 2 * 10 * INCH**2)
    assert leg.todo == (
        'scribe it before it is hung, 1/4" off 40" above the floor, or build out the wall there by 1/8", or '
        "use casing with a back band"
    )


def test_little_is_planed_and_much_is_built_out():
    todo = hollow(proud=proud("0", "3/16")).todo
    assert todo.startswith('plane 1/16" off 40" above the floor once it is hung')
    # 1/4 proud where nothing may be: 1/4 over, still scribed; a hollow of 5/8 is 1/2 over 1/8
    deep = run((0, "9 5/8"), (40, "9"), (80, "9 5/8"))
    found = fit(opening(flat("9 5/8", 0, 80), deep, flat("9 5/8", *HEAD)))
    todo = run_of(found, "right leg").todo
    assert todo.startswith('build out the wall by 1/2" 40" above the floor, or scribe')


def test_what_is_a_hair_over_is_not_said_to_be_what_is_allowed():
    """A band of 1 mm on 9 1/4 is 0.0394 more than 1/4 proud: 0.2894, and no 9/32 if 9/32 is the most."""
    thin = {"band": band("A", "1 mm", deduct=False), "proud": proud("0", "9/32")}
    found = fit(opening(flat("9 1/4", 0, 80), HOLLOW, flat("9 1/4", *HEAD), **thin))
    (said,) = [text for text in found.warnings if text.startswith("the right leg")]
    assert said.startswith('the right leg stands up to 19/64" proud, more than is allowed')


def test_an_iron_on_band_is_never_planed():
    todo = hollow(proud=proud("0", "3/16"), band=band("AB", "1/32", deduct=False)).todo
    assert "plane" not in todo
    assert todo.startswith("scribe it before it is banded")


def test_a_curve_saves_on_both_faces():
    """Face B's belly as above, face A flat: 1/8 at the worst station of one face, 5 square inches in all."""
    left = run((0, "4", "5"), (40, "4", "5 1/4"), (80, "4", "5 1/4"))
    found = fit(opening(left, run((0, "4", "5"), (80, "4", "5")), run((1, "4", "5 3/8"), (37, "4", "5"))))
    leg = run_of(found, "left leg")
    assert (leg.saves, leg.saves_area) == (inch("1/8"), 2 * 5 * INCH**2)
    assert leg.over  # one face may stand half of 1/8 proud
    assert leg.todo.startswith('along room B: plane 1/16" off at the floor once')


def test_a_reading_that_disagrees_with_another_has_its_remedy():
    """9 and 9 1/4 at 80: a third is asked for; till then the leg stands 1/4 above the lower, 1/8 too much."""
    twice = run((0, "9 1/4"), (80, "9"), (80, "9 1/4"))
    leg = run_of(fit(opening(twice, flat("9 1/4", *LEG), flat("9 1/4", *HEAD))), "left leg")
    assert (leg.over, leg.worst) == (True, inch("1/4"))
    assert leg.todo.startswith('scribe it before it is hung, 1/4" off 80" above the floor')


def test_a_remedy_points_at_the_piece_and_not_past_its_end():
    """The leg ends 80 above the floor. Read at 86, 9 and 9 1/4: no piece is there to be scribed.

    That end goes up a step, so that the reading past it is not short: 9 9/32 by the time it gets there.
    """
    past = run((0, "9"), (86, "9"), (86, "9 1/4"))
    leg = run_of(fit(opening(past, flat("9", *LEG), flat("9", *HEAD))), "left leg")
    assert max(leg.stations, key=lambda station: station.proud).at == inch("86")
    assert leg.todo.startswith('scribe it before it is hung, 9/32" off at its upper end, or')


def test_a_leg_is_not_lifted_for_a_hair_of_the_head():
    """Left 9 1/4, head and right 9, the head read at the framing, 1 before the corner.

    Falling from 9 1/4 at 1 to 9 at 38 the head stands 1/4 + 1/4/37 = 0.2568 proud at 0, and the right leg
    1/4/37 at its corner. Level it stands 1/4 proud, but then the right leg does too.
    """
    wall = opening(flat("9 1/4", *LEG), flat("9", *LEG), flat("9", 0, 38))
    frame = make_frame(wall, THREE_QUARTERS.thickness, STEP)
    faces = faces_of(wall)
    strict, given = worst_of(cover(frame, faces), faces), worst_of(cover(frame, faces, INCH // 64), faces)
    assert (strict["head"], strict["right leg"]) == (inch("1/4"), inch("1/4"))
    assert given["head"] == inch("1/4") + Fraction(inch("1/4"), 37)
    assert given["right leg"] == Fraction(inch("1/4"), 37)
    assert run_of(fit(wall), "right leg").worst <= inch("1/32")


# --- out of one plane --------------------------------------------------------------------------


def test_twist_by_corners_and_by_strings():
    """Left leans 1/8 towards room A, right 1/8 away: one corner 1/4 off. A head 9 wide winds 9/80 of it."""
    wind = round(9 * 0.25 / 80 * INCH)  # 0.028
    (twist,) = fit(plain(corners=Corners(left=(0, inch("1/8")), right=(0, inch("-1/8"))))).twist
    assert (twist.by, twist.off, twist.head) == ("corners", inch("1/4"), wind)
    (twist,) = fit(plain(strings=inch("1/8"))).twist  # half of it where they cross
    assert (twist.by, twist.off, twist.head) == ("strings", inch("1/4"), wind)


def test_a_head_that_winds_is_a_warning():
    """18 wide and 1/4 off: 18 x 0.25/80 = 0.056, more than 1/32."""
    thick = opening(flat("18", *LEG), flat("18", *LEG), flat("18", *HEAD), strings=inch("1/8"))
    (warning,) = fit(thick).warnings
    assert 'one corner is 1/4" off the other three' in warning
    assert 'the head winds by 1/16" over its width' in warning


def test_two_faces_say_their_twist_and_the_head_does_not_wind():
    """Face A plumb on the left, leaning 3/8 towards room A on the right: 3/8 off. Face B is flat."""
    left, right = run((0, "4", "5"), (80, "4", "5")), run((0, "4", "5"), (80, "4 3/8", "5"))
    found = fit(opening(left, right, run((1, "4", "5"), (37, "4 3/8", "5"))))
    assert [(t.by, t.face, t.off, t.head) for t in found.twist] == [
        ("faces", "A", -inch("3/8"), 0), ("faces", "B", 0, 0)]  # fmt: skip
    assert any("room A's face does not lie in one plane" in text for text in found.warnings)
    assert any("room B's face lies in one plane" in text for text in found.notes)


# --- heights, floor, feet ----------------------------------------------------------------------


def test_a_foot_is_cut_to_a_floor_that_falls_through_the_wall():
    """1/8 from room A to room B on the left, 1/16 from B to A on the right; heights are those at room A.

    A straight: the left leg starts at its TOP, is 80 along A, and at the floor B's edge runs on 1/8. The
    right one starts at the floor, where B's edge begins 1/16 later.
    """
    falls = Floor(left=inch("1/8"), right=inch("-1/16"))
    found = fit(plain(floor=falls))
    left, right = part(found, "left leg"), part(found, "right leg")
    assert (left.length, left.skew_start, left.skew_end) == (inch("80"), 0, inch("1/8"))
    assert foot_at(left) == "end"
    assert (right.length, right.skew_start, right.skew_end) == (inch("80"), inch("1/16"), 0)
    assert foot_at(right) == "start"
    assert part(found, "head").skew_start == part(found, "head").skew_end == 0
    text = "; ".join(found.notes)
    assert "its edge towards room B is longer" in text
    assert "its edge towards room A is longer" in text


def test_and_with_room_b_straight_the_other_hand():
    """The straight edge is now B's: 80 1/8 on the left, starting at the floor, where A's begins 1/8 later."""
    falls = Floor(left=inch("1/8"), right=inch("-1/16"))
    found = fit(plain(floor=falls, straight="B"))
    left, right = part(found, "left leg"), part(found, "right leg")
    assert (left.length, left.skew_start, left.skew_end) == (inch("80 1/8"), inch("1/8"), 0)
    assert (right.length, right.skew_start, right.skew_end) == (inch("79 15/16"), 0, inch("1/16"))


def test_a_foot_cut_to_the_floor_goes_on_along_the_taper():
    """9 at 0 and 9 1/2 at 80: at 1/8 below 0 the far edge is 9 - 1/8 x 1/160 = 8.99922 off."""
    found = fit(opening(RISING, flat("9", *LEG), run((1, "9 1/2"), (37, "9")), floor=Floor(left=inch("1/8"))))
    leg = part(found, "left leg")
    assert leg.width_end == round(8.99921875 * INCH)
    assert leg.width_start == inch("9 1/2")


def test_the_foot_with_both_faces_is_where_the_edges_meet_the_floor():
    """Exact corners: A from (0, -4) to (80, -4 1/4), B from (-1/8, 5 - 1/8 x 1/4/80) to (80, 5 1/4)."""
    left = run((0, "4", "5"), (80, "4 1/4", "5 1/4"))
    wall = opening(left, run((0, "4", "5"), (80, "4", "5")), run((1, "4 1/4", "5 1/4"), (37, "4", "5")),
                   floor=Floor(left=inch("1/8")))  # fmt: skip
    leg = part(fit(wall), "left leg")
    long = (80**2 + 0.25**2) ** 0.5
    dx, dy = 80 / long, 0.25 / long  # from the TOP down: x grows, the straight edge comes nearer
    x, y = 80.125, 5 - 0.125 * 0.25 / 80
    end = (x - 80, y + 4)
    assert abs(leg.skew_end - (end[0] * dx + end[1] * dy) * INCH) <= 1
    assert abs(leg.width_end - (end[1] * dx - end[0] * dy) * INCH) <= 1


def test_feet_are_held_up():
    """3/4 off: legs of 79 1/4. At 3/4 the wall is 9 + 3/4 x 1/160 = 9.0047, up to 9 1/32."""
    up = Feet(left=inch("3/4"), right=inch("1/2"))
    found = fit(opening(RISING, flat("9", *LEG), run((1, "9 1/2"), (37, "9")), feet=up))
    assert lengths(found) == (inch("79 1/4"), inch("79 1/2"), inch("37 1/2"))
    assert widths(found, "left leg") == (inch("9 1/32"), inch("9 1/2"))
    assert found.height == {"left": inch("80"), "right": inch("80")}
    assert any('79 1/4" left and 79 1/2" right' in text for text in found.notes)


def test_feet_held_up_under_the_framing():
    # 84 - 1/4 - 3/4 = 83, less 5/8 for the tiles to come
    found = fit(plain(line=None, height=height("84", "84"), feet=Feet(left=inch("5/8"), right=inch("5/8"))))
    assert lengths(found)[:2] == (inch("82 3/8"),) * 2


# right height, fall along the floor, left leg, right leg, room above the head left and right
LEVEL = [
    # 83 3/4 - 1/4 - 3/4 = 82 3/4 on both; left there is 84 - 82 3/4 - 3/4 = 1/2
    ("83 3/4", None, "82 3/4", "82 3/4", "1/2", "1/4"),
    # the right foot 3/8 lower: the framing there is 83 3/8 above the left foot; 82 3/8, and 3/8 more
    ("83 3/4", "3/8", "82 3/8", "82 3/4", "7/8", "1/4"),
    # 3/8 higher: 84 1/8 above it, so the left binds: 83, and 3/8 less; 83 3/4 - 82 5/8 - 3/4 = 3/8
    ("83 3/4", "-3/8", "83", "82 5/8", "1/4", "3/8"),
]


@pytest.mark.parametrize(("right", "along", "left_leg", "right_leg", "over_left", "over_right"), LEVEL)
def test_a_level_head_goes_by_the_lower_framing(
    right: str, along: str | None, left_leg: str, right_leg: str, over_left: str, over_right: str
):
    floor = Floor(along=None if along is None else inch(along))
    wall = plain(line=None, height=height("84", right), floor=floor)
    found = fit(wall.model_copy(update={"head": "level"}))
    assert lengths(found)[:2] == (inch(left_leg), inch(right_leg))
    assert any(f'shim space is {over_left}" left, {over_right}" right' in text for text in found.notes)


def test_a_head_that_follows_the_framing_is_the_usual_one():
    found = fit(plain(line=None, height=height("84", "83 3/4")))
    assert lengths(found)[:2] == (inch("83"), inch("82 3/4"))
    assert any("follows the framing, 1/4\" nearer the floor on the right" in text for text in found.notes)
    # the right foot 1/4 higher: both pieces of framing are as high
    flat_head = fit(plain(line=None, height=height("84", "83 3/4"), floor=Floor(along=-inch("1/4"))))
    assert any("follows the framing, which is level" in text for text in flat_head.notes)


def test_a_head_far_out_of_level_is_measured_along_its_slope():
    """2 in 36: 37 1/2 x sqrt(1 + (2/36)²) = 37 1/2 x 1.001542 = 37.5578, to the nearest 37 9/16."""
    sloping = plain(line=None, height=height("84", "82"))
    assert lengths(fit(sloping)) == (inch("83"), inch("81"), inch("37 9/16"))
    # the floor rises by as much: the head is level
    level = plain(line=None, height=height("84", "82"), floor=Floor(along=-inch("2")))
    assert lengths(fit(level))[2] == inch("37 1/2")


@pytest.mark.parametrize(
    ("joint", "words"),
    [("head over legs", "bevel their tops"), ("head between legs", "bevel both its ends"),
     ("rabbet", "bevel both its ends")],
)  # fmt: skip
def test_a_head_out_of_level_is_bevelled_where_it_meets_plumb_legs(joint: str, words: str):
    """2 in 36: the arc tangent is 3.18 degrees. An eighth in 36 makes 0.2: nobody sets a saw to that."""
    rabbet = inch("3/8") if joint == "rabbet" else 0
    sloping = plain(line=None, height=height("84", "82"), joint=joint, rabbet=rabbet)
    assert [text for text in fit(sloping).notes if "3.2° off" in text and words in text]
    slight = plain(line=None, height=height("84", "83 7/8"), joint=joint, rabbet=rabbet)
    assert not [text for text in fit(slight).notes if "bevel" in text]


JOB = """
units: inch
saw: {kerf: 3/32}
lines: {hall: 43, loft: 12}
materials: {birch: {thickness: 3/4}}
stock: [{name: s, material: birch, length: 144, width: 60, price: 1}]
openings:
"""
DOOR = """
  - name: {name}
    material: birch
    line: {{name: hall, left: {left}, right: {right}{more}}}
    width: {{low: 38, middle: 38, high: 38}}
    wall: {{left: [[0, 9], [80, 9]], right: [[0, 9], [80, 9]], head: [[0, 9], [38, 9]]}}
"""


def doors(*more: str) -> str:
    measured = [("40 1/4", "39 7/8"), ("40", "40 1/8")]
    return JOB + "".join(
        DOOR.format(name=f"Door {i}", left=left, right=right, more=text)
        for i, ((left, right), text) in enumerate(zip(measured, more, strict=True), 1)
    )


def test_two_openings_on_one_level_line():
    """40 1/4 + 43 and 39 7/8 + 43; 40 + 43 and 40 1/8 + 43: all undersides are 43 above the line."""
    job = parse_job(doors("", ""), "x")
    fits = [fit_opening(each, THREE_QUARTERS, STEP, Units.INCH) for each in job.openings]
    assert [lengths(found)[:2] for found in fits] == [
        (inch("83 1/4"), inch("82 7/8")), (inch("83"), inch("83 1/8"))]  # fmt: skip
    assert [text for text in job.warnings if "loft" in text] == [
        "line 4: lines, loft is written '12': no opening is measured from it"]  # fmt: skip
    assert not any("line hall" in text for text in job.warnings)
    assert any('43" above the level line hall' in text for text in fits[0].notes)


def test_heads_that_do_not_line_up_are_named():
    warnings = parse_job(doors("", ", up: 42 3/4"), "x").warnings
    assert any('this head comes 1/4" below the others on the line hall' in text for text in warnings)


def test_a_head_off_a_line_must_go_under_the_framing():
    """44 1/4 to the framing: 43 + 3/4 leaves 1/2. 43 7/8 leaves 1/8, less than 1/4. 43 1/2 leaves nothing."""
    def at(framing: str) -> Opening:
        return parse_job(doors(f", framing: {framing}", ""), "x").openings[0]

    roomy = fit(at("44 1/4"))
    assert any('above the head the shim space is 1/2"' in text for text in roomy.notes)
    (warning,) = fit(at("43 7/8")).warnings
    assert 'there is 1/8" under the framing, less than the gap of 1/4"' in warning
    with pytest.raises(Exception, match='takes 1": at most 42 1/2"'):
        fit(at("43 1/2"))


# --- studs -------------------------------------------------------------------------------------


def stud(at: str, off: str) -> Stud:
    return Stud(at=inch(at), off=inch(off))


LEANING = Framing(
    left=(stud("2", "1"), stud("42", "1 1/8"), stud("81", "1 1/4")),
    right=(stud("2", "1 1/4"), stud("81", "1")),
    apart=inch("35 3/4"),
)


def test_equal_widths_hide_studs_that_lean_the_same_way():
    """35 3/4 between the lines: 38 wide low (+ 1 + 1 1/4) and high (+ 1 1/4 + 1); plumb 35 3/4 + 1 + 1.

    So 37 3/4 - 1/2 - 1 1/2 = 35 3/4 between the legs and a head of 37 1/4. At the readings the shim space
    is 1/4 + d - 1 on each side.
    """
    found = fit(plain(framing=LEANING))
    assert found.clear_width == inch("35 3/4")
    assert lengths(found)[2] == inch("37 1/4")
    assert found.gaps == {
        "left": ((inch("2"), inch("1/4")), (inch("42"), inch("3/8")), (inch("81"), inch("1/2"))),
        "right": ((inch("2"), inch("1/2")), (inch("81"), inch("1/4"))),
    }
    (warning,) = found.warnings
    assert '1/4" less than the least of the three widths' in warning
    assert 'pinched on the left 2" above the floor and on the right 81" above the floor' in warning
    assert not any("is not measured" in text for text in found.notes)


def test_the_heads_places_begin_at_the_framing_at_its_height():
    """At 80 the left stud is 1 1/8 + 1/8 x 38/39 = 1.24679 off its line, 0.24679 further out than low down.

    The left leg's inner face is so 1/4 + 3/4 + 0.24679 from it.
    """
    frame = make_frame(plain(framing=LEANING), THREE_QUARTERS.thickness, STEP)
    first, last = frame.pieces["head"].joints
    assert first == inch("1") + round(0.2467949 * INCH)
    assert last - first == inch("35 3/4")


def test_without_the_distance_the_widths_say_how_far_the_lines_are_apart():
    # low 38 - 1 - 1 1/4, high 38 - 1 1/4 - 1: both 35 3/4; the middle 35.7516 is not less
    space = between(plain(framing=LEANING.model_copy(update={"apart": None})))
    assert (space.apart, space.width) == (inch("35 3/4"), inch("37 3/4"))


def test_widths_that_do_not_go_with_the_studs_are_named():
    warnings = fit(plain(framing=LEANING, width=width("38", "38", "38 1/2"))).warnings
    assert any("the widths do not go with the readings of the framing" in text for text in warnings)


def test_a_width_that_is_less_still_binds():
    found = fit(plain(framing=LEANING, width=width("38", "37 5/8", "38")))
    assert found.clear_width == inch("35 5/8")
    # what is spare then lies on the right: the frame stands at the left gap
    assert found.gaps["right"] == ((inch("2"), inch("5/8")), (inch("81"), inch("3/8")))


def test_unmeasured_studs_are_said_to_be():
    found = fit(plain())
    assert found.gaps == gaps(plain()) == {}
    assert any("how the studs lean along the wall is not measured" in text for text in found.notes)


def test_diagonals_show_studs_that_lean_the_same_way():
    """38 x 84, racked 1/4 to the right: sqrt(38.25² + 84²) = 92.29877, sqrt(37.75² + 84²) = 92.09272."""
    racked = plain(line=None, height=height("84", "84"), diagonals=(inch("92.29877"), inch("92.09272")))
    found = rack(racked)
    assert found
    left, right, over = found
    assert abs(left - inch("1/4")) <= 1
    assert abs(right - inch("1/4")) <= 1
    assert abs(over) <= 1
    (warning,) = fit(racked).warnings
    assert 'the left side leans 1/4" to the right at its top' in warning
    assert "if the floor is level: hang a plumb line" in warning


def test_diagonals_on_a_floor_that_falls_along_the_wall():
    """A plumb opening 38 wide, its right foot 1/2 lower, both tops at 84 over the left foot.

    Rising to the right top sqrt(38² + 84²) = 92.19544, falling from it sqrt(38² + 84.5²) = 92.65123.
    """
    wall = plain(line=None, height=height("84", "84 1/2"), diagonals=(inch("92.19544"), inch("92.65123")),
                 floor=Floor(along=inch("1/2")))  # fmt: skip
    found = rack(wall)
    assert found
    assert all(abs(value) <= 1 for value in found)
    assert any("the diagonals show no lean" in text for text in fit(wall).notes)


def test_diagonals_that_cannot_be_are_named():
    wall = plain(line=None, height=height("84", "84"), diagonals=(inch("94"), inch("94")))
    # sqrt(38² + 84²) = 92.195, 1.805 less
    assert any('are 1 13/16" longer than the widths and heights' in text for text in fit(wall).warnings)


# --- readings taken twice ----------------------------------------------------------------------


def test_readings_at_one_place_that_differ_ask_for_a_third_by_face():
    wall = """
  - name: D
    material: birch
    line: {left: 40, right: 40, up: 40}
    width: {low: 38, middle: 38, high: 38}
    wall:
      left: [[0, 4, 5], [40, 4, 5], [40, 4 1/8, 5], [80, 4, 5]]
      right: [[0, 4, 5], [40, 4, 5 1/8], [40, 4 1/8, 5], [80, 4, 5], [40, 4 1/8, 5]]
      head: [[0, 4, 5], [38, 4, 5]]
"""
    said = [text for text in parse_job(JOB + wall, "x").warnings if "wall" in text]
    third, odd_a, odd_b = (text.partition("(D), wall, ")[2] for text in said)
    assert third == (
        "left 3: the readings of room A's face at 40\", 4\" and 4 1/8\", differ by 1/8\": take a third"
    )
    assert odd_a.startswith("right 5: of the readings of room A's face at 40\", 4\" and 4 1/8\" and")
    assert odd_a.endswith("4\" stands alone: strike it out, as the widest binds")
    assert odd_b.endswith("5 1/8\" stands alone: strike it out, as the widest binds")


METRIC = """
units: mm
saw: {kerf: 2.2}
materials: {birch: {thickness: 18}}
stock: [{name: s, material: birch, length: 3000, width: 1500, price: 1}]
openings:
  - name: D
    material: birch
    line: {left: 1000, right: 1000, up: 1000}
    width: {low: 960, middle: 960, high: 960}
    wall:
      left: [[50, 230], [1000, 230], [1000, 232], [1950, 230]]
      right: [[50, 230], [1000, 230], [1000, 231.5], [1950, 230]]
      head: [[0, 230], [960, 230]]
"""


def test_the_same_in_millimetres():
    """2 mm is more than 1/16 inch (1.5875 mm), 1.5 mm is not."""
    assert faults(METRIC) == []
    (warning,) = parse_job(METRIC, "x").warnings
    assert warning.endswith("the readings at 1000 mm, 230 mm and 232 mm, differ by 2 mm: take a third")
