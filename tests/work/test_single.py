"""What single rails come to: how hard it is looked for, when, and which of two looks counts."""

from __future__ import annotations

import math
import os
import time
from dataclasses import replace
from pathlib import Path

import pytest

from nesting.job.job import Job
from nesting.job.reading import parse_job, read_job
from nesting.packing.instance import Settings
from nesting.plan import SingleRail
from nesting.work import comparing, planner, single
from nesting.work.beside import Beside, can_fork
from nesting.work.comparing import plan_and_draw
from nesting.work.planner import POLISH_SHARE, SINGLE_SHARE, Planner, plan_job
from nesting.work.single import NONE_IN_TIME, WithoutJoining, look_early, without_joining
from tests.work.test_spare import LENGTHS, ROWS

POTTERY = Path(__file__).resolve().parents[2] / "samples" / "weir-lane-pottery.yaml"
ROWS_OF_PARTS = "".join(f"  - {{name: p{n}, material: birch, length: {n}, width: 11 3/4}}\n" for n in LENGTHS)
LEG = "  - {name: leg, material: birch, length: 90, width: 12}\n"
BLOCK = "  - {name: block, material: birch, length: 12, width: 47 1/2}\n"
SHELF = "  - {name: shelf, material: birch, length: 40, width: 12, count: 2}\n"


def rows(parts: str = ROWS_OF_PARTS) -> Job:
    return parse_job(ROWS + parts, "rows.yaml")


def test_the_pottery_without_joined_rails_comes_to_what_the_job_that_forbids_joining_does():
    """444.00 is proved for it in 4 s; a look a tenth as long stopped at 478.00."""
    found = plan_job(read_job(POTTERY), Settings(seconds=900)).plan.single_rail
    assert found is not None
    assert (found.cost, found.sheets) == (444, {"birch 4x8": 2, "birch 4x10": 2, "rack piece": 1})
    assert found.lower_bound >= 424


def test_it_is_the_same_beside_the_search_as_after_it():
    after = plan_job(rows(), Settings(seconds=20)).plan
    beside = plan_and_draw(rows(), Settings(seconds=20))[0].plan
    assert beside.single_rail == after.single_rail
    assert beside.single_rail is not None
    assert beside.sheets == after.sheets


@pytest.mark.parametrize(("parts", "beside", "share"), [
    (ROWS_OF_PARTS, False, SINGLE_SHARE),
    (ROWS_OF_PARTS, True, POLISH_SHARE),
    (ROWS_OF_PARTS + LEG, False, 0),  # the rip of the leg takes both rails: there is nothing to look for
])  # fmt: skip
def test_time_is_kept_back_where_there_is_something_to_look_for(parts: str, beside: bool, share: float):
    job = rows(parts)
    one = Planner(job, job.stock, Settings(seconds=20))
    one.choose_first(beside=beside)
    assert one.looks
    assert one.aside == 20 * share


def test_a_longer_look_is_made_only_where_the_first_leaves_it_open(monkeypatch: pytest.MonkeyPatch):
    asked = []
    usual = planner.look_early
    monkeypatch.setattr(planner, "look_early", lambda *of: asked.append(of) or usual(*of))
    assert plan_job(rows(LEG), Settings(seconds=5)).plan.single_rail is not None
    assert asked == []
    assert plan_job(rows(), Settings(seconds=20)).plan.single_rail is not None
    assert len(asked) == 1


@pytest.mark.skipif(not can_fork(), reason="no second process here")
@pytest.mark.parametrize(("parts", "stopped"), [(SHELF, True), (BLOCK, True), (ROWS_OF_PARTS, False)])
def test_a_look_beside_is_ended_as_soon_as_it_is_not_needed(
    parts: str, stopped: bool, monkeypatch: pytest.MonkeyPatch
):
    ended = []
    monkeypatch.setattr(comparing._Whole, "_look_for_single_rails", lambda whole, stack: stack.enter_context(
        Stopping(ended, whole.planner.look_longer, whole.end, dict)))  # fmt: skip
    plan = plan_and_draw(rows(parts), Settings(seconds=10, effort=2000))[0].plan
    assert (plan.single_rail is None) == stopped
    assert any(cut.joined for sheet in plan.sheets for cut in sheet.cuts) != stopped
    assert (ended == ["stop", "exit"]) == stopped


def test_a_size_alone_is_not_told_to_need_joined_rails_where_as_little_does_without():
    longer = "  - {name: birch 4x10, material: birch, length: 120, width: 48, price: 128}\n"
    text = ROWS.replace("parts:", longer + "parts:")
    plan = plan_and_draw(parse_job(text + BLOCK, "rows.yaml"), Settings(seconds=10))[0].plan
    assert [(one.name, one.cost, one.joined_cuts) for one in plan.comparison] == [
        ("birch 4x8", 94, 0), ("birch 4x10", 128, 0), ("best mix", 94, 0)]  # fmt: skip


class Stopping(Beside[object]):
    """Tells when it is stopped."""

    def __init__(self, ended: list[str], *of: object) -> None:
        super().__init__(*of)
        self.ended = ended

    def stop(self) -> None:
        self.ended.append("exit" if self.ended else "stop")
        super().stop()


@pytest.mark.skipif(not can_fork(), reason="no second process here")
def test_work_beside_can_be_stopped():
    with Beside(lambda: time.sleep(60), math.inf) as beside:
        child = beside._child
        assert child
        beside.stop()
        with pytest.raises(ProcessLookupError):
            os.kill(child, 0)


def looked(why: str = "", cost: float | None = None) -> WithoutJoining:
    return WithoutJoining([], SingleRail(cost=cost, why=why), set())


def test_what_a_longer_look_could_still_change():
    assert looked(NONE_IN_TIME).open
    assert not looked("no plan, leg: no rail is long enough").open
    assert not looked(cost=444).open
    assert not WithoutJoining([], None, set()).open


def test_a_longer_look_that_does_not_come_back_is_told_as_a_matter_of_time():
    job = rows()
    one = Planner(job, job.stock, Settings(seconds=20))
    first = one.plan_for(one.choose_first())
    plan = one.finished(one.look_single(), dict).plan
    assert planner.CUT_SHORT["time"] in plan.warnings
    assert planner.CUT_SHORT["time"] not in first.plan.warnings
    assert plan.single_rail == SingleRail(why=NONE_IN_TIME)


def test_what_was_found_early_is_not_looked_for_again(monkeypatch: pytest.MonkeyPatch):
    job, settings = rows(), Settings(seconds=20)
    one = Planner(job, job.stock, settings)
    assert one.joins(one.plan_for(one.choose_first()))
    early = look_early(job, job.stock, one.want, settings)
    assert [look.why for look in early.values()] == [""]
    monkeypatch.setattr(single, "solve", None)
    found = without_joining(job, job.stock, one.want, one.solved, settings, early)
    assert found.single is not None
    assert found.single.cost == 188


def test_a_plan_found_early_that_costs_no_more_is_polished():
    """As the plan with joined rails stand two sheets, as many as single rails need."""
    job, settings = rows(), Settings(seconds=20)
    one = Planner(job, job.stock, settings)
    one.plan_for(one.choose_first())
    early = look_early(job, job.stock, one.want, settings)
    (look,) = early.values()
    assert look.found is not None
    dear = replace(one.solved[0], layouts=2 * one.solved[0].layouts, bound=0)
    looking = single._Looking(job, job.stock, one.want, settings)
    again = looking.beside(dear, look)
    assert again.found is not None
    assert again.found is not look.found
    assert len(again.found.layouts) == 2
    assert not looking.no_worse(again.found, one.solved[0])
