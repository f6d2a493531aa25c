"""Spares are cut out of what is left over, and cost nothing. Arithmetic by hand, no source."""

from __future__ import annotations

import pytest

from nesting.check import check_plan
from nesting.errors import JobError
from nesting.job.reading import parse_job
from nesting.packing.instance import Settings
from nesting.plan import Plan
from nesting.report.summary import summary_text
from nesting.work.judging import against_job
from nesting.work.planner import plan_job

HEAD = """\
job: spares
units: inch
saw: {kerf: 1/8}
materials:
  ply: {thickness: 3/4}
stock:
  - {name: 4x8, material: ply, length: 96, width: 48, price: 90, trim: 0}
parts:
"""
LEG = (
    "  - {name: leg, material: ply, length: 90, width: 15, spare: 2, "
    "band: {edges: straight, thickness: 1/8}}\n"
)


def planned(parts: str, head: str = HEAD) -> Plan:
    job = parse_job(head + parts, "spares.yaml")
    checked = plan_job(job, Settings(seconds=10, effort=500))
    assert not check_plan(checked.plan)
    assert not against_job(checked.plan, job)
    assert summary_text(checked)
    return checked.plan


def names(plan: Plan) -> list[str]:
    return [part.id for part in plan.parts]


def test_as_many_as_there_is_room_for_and_no_sheet_more():
    # 3 x 15 and two kerfs are 45 1/4 of 48; a fourth would be 60 3/8
    assert names(planned(LEG)) == ["leg", "leg spare 1", "leg spare 2"]
    plan = planned(LEG.replace("spare: 2", "spare: 5"))
    assert names(plan) == ["leg", "leg spare 1", "leg spare 2"]
    assert plan.totals.cost == 90
    assert plan.totals.sheets == {"4x8": 1}


def test_sheets_are_laid_anew_where_the_plan_leaves_no_room_as_it_is():
    """Three legs and a head of 9 1/4, five stops and eight kerfs are 45 1/2 of 48; three are spares."""
    plan = planned(
        "  - {name: leg, material: ply, length: 83 1/4, width: [9, 9 1/4], count: 2, spare: 1}\n"
        "  - {name: head, material: ply, length: 31, width: 9 1/4}\n"
        "  - {name: stop, material: ply, length: 83, width: 1 1/2, count: 3, spare: 2}\n"
    )
    assert sum(part.spare for part in plan.parts) == 3
    assert plan.totals.sheets == {"4x8": 1}


def test_what_is_asked_for_goes_first_and_a_spare_is_not_banded():
    plan = planned(LEG + "  - {name: wide, material: ply, length: 90, width: 30}\n")
    assert names(plan) == ["leg", "wide"]  # 15 + 30 and a kerf leave 2 7/8
    spare = planned(LEG).parts[-1]
    assert (spare.spare, spare.band, spare.band_thickness) == (True, (), 0)


def test_no_credited_offcut_and_no_sheet_of_the_shop_is_given_for_one():
    credited = HEAD.replace("saw:", "keep: {length: 24, width: 6, credit: 0.50}\nsaw:")
    assert names(planned(LEG, credited)) == ["leg"]
    rack = "  - {name: rack, material: ply, length: 96, width: 16, in_shop: yes, count: 2}\n"
    plan = planned(LEG.replace("spare: 2", "spare: 9"), HEAD.replace("parts:", rack + "parts:"))
    assert names(plan) == ["leg"]  # one rack piece holds just it
    assert plan.totals.cost == 0


def test_a_plan_without_a_spare_is_still_of_the_job_and_one_more_part_is_not():
    job = parse_job(HEAD + LEG, "spares.yaml")
    plan = plan_job(job, Settings(seconds=10, effort=500)).plan
    fewer = parse_job(HEAD + LEG.replace(", spare: 2", ""), "spares.yaml")
    assert {violation.code for violation in against_job(plan, fewer)} == {"job-part"}
    more = parse_job(HEAD + LEG.replace("spare: 2", "spare: 3"), "spares.yaml")
    assert not against_job(plan, more)
    asked = [part.model_copy(update={"spare": False}) for part in plan.parts]
    taken = plan.model_copy(update={"parts": tuple(asked)})
    assert {violation.code for violation in against_job(taken, job)} == {"job-part"}


def test_none_may_be_written_and_fewer_not():
    assert names(planned(LEG.replace("spare: 2", "spare: 0"))) == ["leg"]
    with pytest.raises(JobError, match="spare"):
        parse_job(HEAD + LEG.replace("spare: 2", "spare: -1"), "spares.yaml")
