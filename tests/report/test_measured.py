"""What was measured beside the wall, as it is listed, written to the plan file and read back."""

from __future__ import annotations

import json

from nesting.drawing.installing import opening_svg
from nesting.job.reading import parse_job
from nesting.lengths import INCH
from nesting.packing.instance import Settings
from nesting.plan import Plan
from nesting.report.fitting import fitting_data, fitting_text
from nesting.work.record import plan_of
from nesting.work.wanted import wanted

# 36 between the legs of 3/4, 80 under the head, the left side hollow by 1/4: 10 square inches (test_by_hand)
JOB = """
units: inch
saw: {kerf: 3/32}
lines: {hall: 40}
materials: {birch: {thickness: 3/4}}
stock: [{name: s, material: birch, length: 144, width: 60, price: 1}]
openings:
  - name: Kiln room
    material: birch
    line: {name: hall, left: 40, right: 40}
    width: {low: 38, middle: 38, high: 38}
    proud: {least: 0, most: 1/8}
    feet: {left: 1/2, right: 0}
    floor: {left: 1/8, right: -1/16}
    framing: {left: [[2, 1], [81, 1 1/4]], right: [[2, 1 1/4], [81, 1]], apart: 35 3/4}
    corners: {left: [0, 1/8], right: [0, -1/8]}
    wall:
      left: [[0, 9 1/4], [40, 9], [80, 9 1/4]]
      right: [[0, 9 1/4], [80, 9 1/4]]
      head: [[0, 9 1/4], [38, 9 1/4]]
"""


def draft() -> Plan:
    job = parse_job(JOB, "x")
    return plan_of(job, wanted(job), (), Settings())


def test_runs_say_what_a_curve_saves_and_what_to_do() -> None:
    text = " ".join(fitting_text(draft()).split())
    assert "left leg 1/4 1/4 1/8 10.0 sq in" in text  # on average 10 over 80
    assert 'Left leg: scribe it before it is hung, 1/4" off 40" above the floor, or build out' in text


def test_shim_spaces_are_listed() -> None:
    text = fitting_text(draft())
    lines = [" ".join(line.split()) for line in text.splitlines()]
    assert "left 2 1/4" in lines
    assert "81 1/2" in lines
    assert "right 2 1/2" in lines


def test_the_data_has_it_all() -> None:
    (opening,) = fitting_data(draft())["openings"]
    assert opening["head"] == "level"
    assert opening["line"] == {"name": "hall", "up": 40}
    assert opening["feet"] == {"left": 0.5, "right": 0}
    assert opening["floor"] == {"left": 0.125, "right": -0.0625}
    assert opening["gaps"]["left"] == [{"at": 2, "gap": 0.25}, {"at": 81, "gap": 0.5}]
    (twist,) = opening["twist"]
    assert (twist["by"], twist["face"], twist["off"]) == ("corners", "A", 0.25)
    leg = opening["runs"][0]
    assert (leg["worst"], leg["saves"], leg["saves_area"], leg["over"]) == (0.25, 0.25, 10, True)
    assert leg["todo"].startswith("scribe it")
    assert not opening["runs"][1]["todo"]


def test_a_plan_reads_it_back_as_it_was() -> None:
    plan = draft()
    text = json.dumps(plan.model_dump(mode="json", by_alias=True, context={"units": plan.units}))
    again = Plan.model_validate(json.loads(text), context={"units": plan.units})
    assert again.openings == plan.openings
    assert again.openings[0].runs[0].saves_area == 2 * 10 * INCH**2


def test_the_folded_picture_gives_a_leg_its_two_lengths() -> None:
    """Left 80 - 1/2 along A, 1/8 more along B; right 80 along A, 1/16 less along B."""
    plan = draft()
    svg = opening_svg(plan, plan.openings[0])
    assert "left leg, A 79 1/2, B 79 5/8" in svg
    assert "right leg, A 80, B 79 15/16" in svg
