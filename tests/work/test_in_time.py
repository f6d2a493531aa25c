"""What is made of a plan in time, and what stays when time is up or somebody interrupts."""

from __future__ import annotations

import math
import time
from pathlib import Path

import pytest

from nesting.check import CheckedPlan, checked
from nesting.drawing.drawings import draw_plan
from nesting.job.job import Job
from nesting.job.reading import parse_job
from nesting.packing.instance import Settings
from nesting.plan import read_plan
from nesting.work import comparing, drawn, files
from nesting.work.comparing import plan_and_draw
from nesting.work.drawn import LaidOut, draw_in_time
from nesting.work.files import write_plan
from nesting.work.planner import Planner, plan_job

TEXT = """
job: shelves
units: inch
saw: {kerf: 1/8}
materials: {birch: {thickness: 3/4}}
stock:
  - {name: birch 4x8, material: birch, length: 96, width: 48, price: 94}
  - {name: birch 4x4, material: birch, length: 48, width: 48, price: 60}
parts:
  - {name: top, material: birch, length: 47, width: 46, count: 20}
  - {name: filler, material: birch, length: 30, width: [3, 3 3/4]}
"""
QUICK = Settings(seconds=5, effort=200)
PAST = 0.0  # on the clock of time.monotonic


@pytest.fixture(scope="module")
def job() -> Job:
    return parse_job(TEXT, "shelves.yaml")


@pytest.fixture(scope="module")
def plan(job: Job) -> CheckedPlan:
    return plan_job(job, QUICK)


def test_many_sheets_are_drawn_by_two_as_by_one(plan: CheckedPlan):
    assert len(plan.plan.sheets) > drawn.FEW
    assert draw_in_time(plan, None, math.inf) == draw_plan(plan)
    assert draw_in_time(plan, LaidOut(plan, math.inf), math.inf) == draw_plan(plan)


def test_what_was_laid_out_is_used_for_the_same_sheets_only(plan: CheckedPlan):
    laid = LaidOut(plan, math.inf)
    assert set(laid.of(plan)) == {sheet.number for sheet in plan.plan.sheets}
    other = checked(plan.plan.model_copy(update={"date": "today"}))
    assert laid.of(other) == {}


def test_nothing_is_drawn_when_time_is_up(plan: CheckedPlan):
    assert LaidOut(plan, PAST).sheets == {}
    assert draw_in_time(plan, None, PAST) is None


def test_what_could_not_be_finished_is_not_gone_on_with(plan: CheckedPlan, monkeypatch: pytest.MonkeyPatch):
    """Eleven sheets at a second each, when 8 1/2 seconds are left: after the eighth it is plain."""
    clock = [0.0]
    monkeypatch.setattr(drawn.time, "monotonic", lambda: clock[0])
    usual = drawn.LaidSheet

    def slow(*of: object) -> object:
        clock[0] += 1
        return usual(*of)  # type: ignore[arg-type]

    monkeypatch.setattr(drawn, "LaidSheet", slow)
    assert len(plan.plan.sheets) == 11
    laid = LaidOut(plan, 8.5)
    assert len(laid.sheets) == drawn.FEW
    assert laid.hopeless
    assert draw_in_time(plan, laid, 8.5) is None
    assert clock == [drawn.FEW]
    clock[0] = 0
    assert not LaidOut(plan, 12).hopeless


@pytest.mark.parametrize("drawings", [None, "made"])
def test_the_plan_is_written_without_the_drawings_there_is_no_time_for(
    plan: CheckedPlan, tmp_path: Path, drawings: str | None
):
    for old in ("packet.pdf", "report.html", "sheet-1.svg", "notes.txt"):
        (tmp_path / old).write_text("of an older plan")
    written = write_plan(plan, draw_plan(plan) if drawings else None, tmp_path, latest=time.monotonic() - 60)
    there = {path.name for path in tmp_path.iterdir()}
    assert there == {path.name for path in written.paths} | {"notes.txt"}
    assert {"plan.json", "waste.json", "waste.txt"} <= there
    assert read_plan(tmp_path / "plan.json") == plan.plan
    assert written.left_out == ("packet.pdf" if drawings else "drawings")
    assert "packet.pdf" not in there
    assert ("report.html" in there) == bool(drawings)


def test_all_is_written_where_there_is_time(plan: CheckedPlan, tmp_path: Path):
    written = write_plan(plan, draw_plan(plan), tmp_path)
    assert written.left_out == ""
    names = [path.name for path in written.paths]
    assert names[:2] == ["plan.json", "sheet-1.svg"]
    assert names[-4:] == ["packet.pdf", "report.html", "waste.json", "waste.txt"]


def interrupt(*_: object, **__: object) -> None:
    raise KeyboardInterrupt


def test_an_interrupt_while_files_are_made_leaves_the_plan(
    plan: CheckedPlan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(files, "report_page", interrupt)
    written = write_plan(plan, draw_plan(plan), tmp_path)
    assert read_plan(tmp_path / "plan.json") == plan.plan
    assert written.left_out == "packet.pdf, report.html"


@pytest.mark.parametrize(("room", "name"), [(drawn, "draw_in_time"), (drawn, "LaidOut")])
def test_an_interrupt_after_the_search_leaves_the_plan(
    job: Job, plan: CheckedPlan, monkeypatch: pytest.MonkeyPatch, room: object, name: str
):
    monkeypatch.setattr(room, name, interrupt)
    if name == "LaidOut":
        monkeypatch.setattr(drawn, "draw_in_time", lambda *_: None)
    found, drawings = plan_and_draw(job, QUICK)
    assert drawings is None
    assert found.plan.totals.sheets == plan.plan.totals.sheets


def test_an_interrupt_while_the_plan_is_judged_leaves_it(job: Job, monkeypatch: pytest.MonkeyPatch):
    usual, pressed = Planner._judged, []

    def judged(self: Planner, *of: object) -> CheckedPlan:
        if not pressed:
            pressed.append(1)
            raise KeyboardInterrupt
        return usual(self, *of)

    monkeypatch.setattr(Planner, "_judged", judged)
    found, _ = plan_and_draw(job, QUICK)
    assert comparing.CUT_SHORT["interrupt"] in found.plan.warnings


def test_an_interrupt_before_any_plan_is_one(job: Job, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(Planner, "choose", interrupt)
    with pytest.raises(KeyboardInterrupt):
        plan_and_draw(job, QUICK)


def test_looks_that_are_late_are_not_waited_for(job: Job, plan: CheckedPlan):
    """Their place in the plan stays empty, and that is said."""
    whole = comparing._Whole(job, QUICK, None, math.inf)
    found = comparing._Comparing(job, QUICK, whole.planner.choose_first())
    plain = found.compared(plan, comparing.Alone({}, True))
    assert plain.plan.comparison == ()
    assert comparing.SHORT_LOOK in plain.plan.warnings or comparing.CUT_SHORT["time"] in plain.plan.warnings


def test_a_script_may_draw_one_plan_after_another(plan: CheckedPlan, tmp_path: Path):
    """The library that sets the packet has threads, which a process split off would wait for for ever."""
    first, second = tmp_path / "first", tmp_path / "second"
    for folder in (first, second):
        folder.mkdir()
        write_plan(plan, draw_plan(plan), folder)
    assert (first / "packet.pdf").read_bytes() == (second / "packet.pdf").read_bytes()
