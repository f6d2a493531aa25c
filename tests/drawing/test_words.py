"""What the pages say: cuts, title and notes, compared with the sample that was made by hand."""

from __future__ import annotations

import hashlib

import pytest

from nesting.check import checked
from nesting.drawing.words import first_edge, kind_words, listed, notes, steps, unit_words
from nesting.lengths import INCH
from nesting.plan import Plan
from nesting.report.partslist import edge_words
from tests.check import sample
from tests.drawing import plans


def kiln(**changes):
    return checked(sample.kiln()).plan.model_copy(update=changes)


def said(plan: Plan):
    return {step.number: step for step in steps(plan, plan.sheets[0])}


def test_cuts_say_what_the_sample_was_made_by():
    """The pieces are those noted beside the cuts of the sample, by hand."""
    found = said(kiln())
    assert [found[k].gives for k in range(1, 11)] == [
        "A → A + trim",  # B
        "A → A + C: 3, keep 5",
        "A → A + trim",  # D
        "A → A + scrap",  # E
        "A → part 1 + part 2",  # F
        "C → C + trim",  # G
        "C → C + H: keep 5",
        "C → part 3 + scrap",  # I
        "H → H + trim",  # J
        "H → keep 5 + trim",  # K
    ]
    assert (found[5].kind, found[5].edge, found[5].readings) == ("taper", "lower", ("12 7/8", "13 3/8"))
    assert (found[4].kind, found[4].edge, found[4].readings) == ("crosscut", "left", ("83 1/4", "83 1/4"))
    assert (found[2].rail, found[3].rail) == ("rail 118 on kept", "rail 55 on kept")
    assert (found[2].length, found[8].length) == ("96", "34 1/2")


@pytest.mark.parametrize(("off", "kind"), [(1, "rip"), (126, "rip"), (254, "taper")])
def test_a_slant_that_no_tape_tells_is_no_taper(off: int, kind: str):
    """The legs' shared taper, 12 7/8 to 13 3/8, made nearly level; the tape is read to 1/32, 254 units."""
    plan = kiln()
    cut = next(cut for cut in plan.sheets[0].cuts if cut.number == 5)
    first, second = cut.marks
    second = second.model_copy(update={"reading": first.reading + off})
    assert kind_words(plan, cut.model_copy(update={"marks": (first, second)})) == kind
    upright = cut.model_copy(update={"marks": (first, second), "to": (cut.start[0] + 1, cut.start[1] + 9)})
    assert kind_words(plan, upright) == kind.replace("rip", "crosscut")


def test_readings_stand_by_end_whichever_way_a_cut_is_told():
    """Left or lower end first: the mill's cuts run from the right and from above."""
    plan = checked(sample.mill()).plan
    found = said(plan)
    # the leg's far edge: 326.060 - 6 at the left end of the sheet, 304.071 - 6 at 2200
    assert found[3].readings == ("320", "298")
    assert found[4].readings == ("8", "6")  # from the left edge: 8 below, 6 above
    turned = plan.sheets[0].cuts[2]
    assert turned.start[0] < turned.to[0]
    back = turned.model_copy(update={
        "start": turned.to, "to": turned.start, "waste_side": "right",
        "marks": tuple(mark.model_copy(update={"at": {"from": "to", "to": "from"}[mark.at]})
                       for mark in turned.marks),
    })  # fmt: skip
    cuts = tuple(back if cut is turned else cut for cut in plan.sheets[0].cuts)
    again = said(plan.model_copy(update={"sheets": (plan.sheets[0].model_copy(update={"cuts": cuts}),)}))
    assert again[3] == found[3]


def test_splinters_where_something_wanted_falls_off():
    splintered = {number for number, step in said(kiln()).items() if step.splinters}
    assert splintered == {2, 5, 7}  # C, part 2 and H hold parts or the offcut to keep


def test_check_sum_is_of_the_plan_file():
    plan = kiln()
    assert plan.check_sum == hashlib.sha256(plan.to_json().encode()).hexdigest()[:8]
    assert plan.check_sum != kiln(job="another").check_sum
    assert plan.check_sum != plan.model_copy(update={"job": "a copy"}).check_sum


def test_first_straight_edge():
    assert first_edge(kiln().sheets[0]) == "lower, cut 1"
    assert first_edge(plans.strip().plan.sheets[0]) == "left, as it comes"
    assert first_edge(kiln().sheets[0].model_copy(update={"cuts": ()})) == "lower, as it comes"


def test_units_and_step():
    assert unit_words(kiln()) == "inches, tape read to 1/32"
    assert unit_words(checked(sample.mill()).plan) == "mm, tape read to 0.5"


@pytest.mark.parametrize(
    ("weight", "words"),
    [
        (None, ""),
        (50.9, ""),
        (74.0, "about 74 lb, over the 51 lb of an ideal lift: two people or a cart."),
        # a 5x12 of hardwood plywood: 138 lb, over 51 lb each for two (trade notes, section 6)
        (138.0, "about 138 lb, over the 51 lb of an ideal lift, and over 51 lb each for two: two people or "
                "a cart."),
    ],
)  # fmt: skip
def test_weight_against_an_ideal_lift(weight, words):
    """51 lb: NIOSH Publication 94-110."""
    plan = kiln(stock=tuple(s.model_copy(update={"weight": weight}) for s in kiln().stock))
    lift = [note for note in notes(plan, plan.sheets[0], []) if note.topic == "Weight"]
    assert [note.text for note in lift] == ([words] if words else [])
    assert all("NIOSH" in note.source for note in lift)


def test_weight_in_kilograms():
    """23 kg, the same publication."""
    plan = plans.metric_back().plan
    assert any("over the 23 kg" in note.text for note in notes(plan, plan.sheets[0], []))


def test_notes_name_the_cuts_they_are_about():
    plan = plans.tapers().plan
    sheet = plan.sheets[0]
    joined = [cut.number for cut in sheet.cuts if cut.joined]
    assert joined == [1]  # 120 long, with 10 of leads: the longer rail is 118
    by_topic = {note.topic: note.text for note in notes(plan, sheet, steps(plan, sheet))}
    assert by_topic["Joined rails"].startswith("cut 1:")
    assert "Narrow" not in by_topic
    assert "go first" in by_topic["Support"]


def test_back_up_chips_the_upper_face():
    plan = plans.metric_back().plan
    topics = {note.topic: note.text for note in notes(plan, plan.sheets[0], steps(plan, plan.sheets[0]))}
    assert "here the back" in topics["Splinters"]


def test_long_lists_are_cut():
    assert listed(["1"]) == "1"
    assert listed([str(k) for k in range(7)]) == "0, 1, 2, 3, 4, 5, 6"
    assert listed([str(k) for k in range(9)]) == "0, 1, 2, 3, 4, 5 and 3 more"


def test_bevels_are_explained_where_a_part_has_them():
    plan = kiln()
    leaning = plan.parts[0].model_copy(update={"bevels": {"straight": 15.0, "far": -15.0}})
    for parts, wanted in ((plan.parts, False), ((leaning, *plan.parts[1:]), True)):
        told = notes(plan.model_copy(update={"parts": parts}), plan.sheets[0], [])
        assert any(note.topic == "Bevels" for note in told) is wanted
    assert edge_words(leaning, "straight").endswith("bevel 15° under")
    assert edge_words(leaning, "far").endswith("bevel 15° over")


def test_a_reading_that_is_no_whole_step_leaves_the_part_its_size():
    """A part of 3 on the far side of a kerf of 3/32, the tape read to 1/16: at 3 1/16 it would be 2 31/32."""
    plan = kiln(step=INCH // 16)
    sheet = plan.sheets[0]
    cuts = tuple(
        cut.model_copy(update={"marks": tuple(
            mark.model_copy(update={"reading": 3 * INCH + 3 * INCH // 32}) for mark in cut.marks)})
        for cut in sheet.cuts
    )  # fmt: skip
    found = said(plan.model_copy(update={"sheets": (sheet.model_copy(update={"cuts": cuts}),)}))
    assert {step.readings for step in found.values()} == {("3 3/32", "3 3/32")}
