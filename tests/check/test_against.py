"""The plan of one job held against another: parts, stock, saw, what is kept, the lean."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from nesting.check import check_against_job
from nesting.check.violation import Code
from nesting.job.models import Keep
from nesting.parts import Part
from nesting.stock import Material, Saw, Stock, Trim
from tests.check import sample
from tests.check.sample import inch

Job = dict[str, Any]
_LEG = {"opening": "Kiln room", "band": ("straight", "far")}
_WIDTHS = (inch(12.875), inch(13.375))


def job() -> Job:
    """Make the job that the hand-made plan is of, typed in once more."""
    thick, quarter = inch(23 / 32), inch(0.25)
    return {
        "parts": [
            Part(1, "part 1", "birch", thick, inch(83.25), *_WIDTHS, role="right leg",
                 marks={"end": "TOP"}, **_LEG),
            Part(2, "part 2", "birch", thick, inch(83.25), *_WIDTHS, role="left leg",
                 marks={"start": "TOP"}, **_LEG),
            Part(3, "shelf", "birch", thick, inch(34.5), inch(11.75), inch(11.75)),
        ],
        "stock": [Stock("birch 4x8", "birch", inch(96), inch(48), 9400, 2,
                        Trim(quarter, quarter, quarter, quarter))],
        "saw": Saw(762, (inch(55), inch(118)), True, inch(7), inch(3)),
        "materials": [Material("birch", thick)],
        "keep": Keep(length=inch(24), width=inch(6), credit=50),
        "lean": 0.5,
    }  # fmt: skip


def of_part(**changes: Any) -> Callable[[Job], Any]:
    return lambda job: job["parts"].append(replace(job["parts"].pop(), **changes))


def of_stock(**changes: Any) -> Callable[[Job], Any]:
    return lambda job: job["stock"].append(replace(job["stock"].pop(), **changes))


def of_saw(**changes: Any) -> Callable[[Job], Any]:
    return lambda job: job.update(saw=replace(job["saw"], **changes))


OTHER_JOBS: list[tuple[str, Code, Callable[[Job], Any]]] = [
    ("one part more", "job-part", lambda job: job["parts"].append(replace(job["parts"][2], number=4))),
    ("one part less", "job-part", lambda job: job["parts"].pop()),
    ("a part one unit longer", "job-part", of_part(length=inch(34.5) + 1)),
    ("play to be kept", "job-stock", of_stock(play=1)),
    ("a bad zone", "job-stock", of_stock(blocked=((0, 0, 1, 1),))),
    ("another grain", "job-part", of_part(grain="any")),
    ("a part that may be turned over", "job-part", of_part(may_flip=True)),
    ("another size offered", "job-stock", lambda job: job["stock"].append(
        replace(job["stock"][0], name="birch 4x10"))),
    ("a size not offered", "job-stock", lambda job: job["stock"].clear()),
    ("a cent dearer", "job-stock", of_stock(price=9401)),
    ("one only", "job-stock", of_stock(count=1)),
    ("another trim", "job-stock", of_stock(trim=Trim())),
    ("no grain", "job-stock", lambda job: job.update(materials=[Material("birch", inch(23 / 32), False)])),
    ("another thickness", "job-stock", lambda job: job.update(materials=[Material("birch", inch(0.5))])),
    ("another kerf", "job-saw", of_saw(kerf=1016)),
    ("another rail", "job-saw", of_saw(rails=(inch(118),))),
    ("rails not to be joined", "job-saw", of_saw(join=False)),
    ("another lead", "job-saw", of_saw(lead_out=0)),
    ("the back up", "job-saw", of_saw(face_up="back")),
    ("longer offcuts kept", "job-keep", lambda job: job.update(
        keep=Keep(length=inch(25), width=inch(6), credit=50))),
    ("no credit", "job-keep", lambda job: job.update(keep=Keep(length=inch(24), width=inch(6)))),
    ("no lean", "job-lean", lambda job: job.update(lean=0.0)),
]  # fmt: skip


def judge(job: Job) -> list[str]:
    given = {name: job[name] for name in ("materials", "keep", "lean")}
    found = check_against_job(sample.kiln(), job["parts"], job["stock"], job["saw"], **given)
    return [violation.code for violation in found]


def test_a_plan_is_of_its_own_job() -> None:
    assert judge(job()) == []


@pytest.mark.parametrize(("code", "change"), [pytest.param(c, d, id=n) for n, c, d in OTHER_JOBS])
def test_a_plan_of_another_job_is_found_out(code: str, change: Callable[[Job], Any]) -> None:
    other = job()
    change(other)
    assert judge(other) == [code]
