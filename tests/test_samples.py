"""The samples as a carpenter plans them: planned, judged, replayed by Shapely, and worth their names."""

from __future__ import annotations

from pathlib import Path

import pytest

from nesting.check import check_plan
from nesting.job.job import Job
from nesting.job.reading import read_job
from nesting.lengths import INCH, Units
from nesting.packing.instance import Settings
from nesting.work.comparing import compare_job
from nesting.work.judging import against_job
from nesting.work.planner import plan_job
from tests.check.second import room, stray

SAMPLES = sorted((Path(__file__).resolve().parent.parent / "samples").glob("*.yaml"))


def test_there_are_two_samples_of_different_kind():
    assert len(SAMPLES) >= 2
    assert {read_job(path).units for path in SAMPLES} == {Units.INCH, Units.MM}


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_sample_is_planned_and_proved(path: Path):
    job = read_job(path)
    assert job.warnings == ()
    plan = plan_job(job, Settings(seconds=60, effort=3000)).plan
    assert check_plan(plan) == []
    assert against_job(plan, job) == []
    assert plan.proof.proved
    assert max(map(stray, plan.sheets)) <= 2  # Shapely replays the cuts
    assert room(plan) <= 4
    area = plan.totals.area
    assert area.sheet == area.parts + area.kerf + area.keep + area.scrap


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_no_leg_or_head_is_short_of_its_wall(path: Path):
    job = read_job(path)
    plan = plan_job(job, Settings(seconds=10, effort=0)).plan
    for opening in plan.openings:
        for run in opening.runs:
            for station in run.stations:
                least = opening.proud["least"] / (2 if station.face else 1)
                assert station.proud >= least
                assert station.piece == station.wall + station.proud


def pottery() -> Job:
    return read_job(next(path for path in SAMPLES if path.stem == "weir-lane-pottery"))


def test_the_pottery_needs_sheets_and_its_mix_beats_each_size_alone():
    job = pottery()
    # PS 20: the widest dressed one-by, a 1x12, is 11 1/4 wide; every wall is thicker
    thinnest = min(r.thickness for o in job.openings for run in (o.wall.left, o.wall.right, o.wall.head)
                   for r in run)  # fmt: skip
    assert thinnest > 11.25 * INCH
    *alone, mix = compare_job(job, Settings(seconds=60, effort=3000)).options
    assert mix.feasible
    assert mix.proved
    assert all(option.cost > mix.cost for option in alone if option.feasible)
    assert [option.name for option in alone if not option.feasible] == ["birch 4x8", "rack piece"]
