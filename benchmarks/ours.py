"""One case solved by this project's engine, and its plan judged."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Sequence

from benchmarks.cases import Case, Record
from benchmarks.peers import cuttable
from nesting.check import check_plan
from nesting.job.job import Job
from nesting.packing.instance import Settings
from nesting.packing.single import Piece, Tree, most_value
from nesting.packing.solve import News, Result, solve
from nesting.plan import Plan
from nesting.work.problem import Problem
from nesting.work.record import Solved, plan_of
from nesting.work.wanted import Wanted

FASTEST = 40_000  # tries a second: more than are made of published sets, which are measured by their time
MOST_JUDGED = 600  # parts; the judge is quadratic


def settings(seconds: float, bare: bool = False) -> Settings:
    """As the command line sets them: more tries for more time; a bare instance uses its time."""
    usual = Settings()
    if bare:
        return Settings(seconds=seconds, effort=round(seconds * FASTEST))
    return Settings(seconds=seconds, effort=round(usual.effort * max(1.0, seconds / usual.seconds)))


def ours(case: Case) -> Record:
    """Cost, bound and when; a plan that the judge does not pass has no cost."""
    if case.values:
        return _most_value(case)
    job, want, problems = case.problems()
    begun = time.monotonic()
    first, proved, results = 0.0, 0.0, []
    for index, one in enumerate(problems):
        clock = _Clock(begun)
        left = case.seconds - (time.monotonic() - begun)
        share = one.instance.total / sum(p.instance.total for p in problems[index:])
        result = solve(one.instance, settings(max(0.1, left * share), case.instance is not None), clock)
        results.append(result)
        first = max(first, clock.first or clock.now)
        proved = max(proved, clock.proved or clock.now)
    record = _record(results, time.monotonic() - begun)
    record["first"] = round(first, 2)
    if record["proved"]:
        record["proved_at"] = round(proved, 2)
    faults = _faults(job, want, problems, results)
    if any(result.layouts and result.bound > result.cost for result in results):
        faults = "the bound is above a plan"
    if faults:
        record |= {"fault": faults, "cost": None, "proved": False}
    return record


class _Clock:
    """Hears of plans and bounds, and notes when the first plan came and when the best was proved."""

    def __init__(self, begun: float) -> None:
        self.begun = begun
        self.first: float | None = None
        self.proved: float | None = None

    @property
    def now(self) -> float:
        return time.monotonic() - self.begun

    def __call__(self, news: News) -> None:
        if news.cost is None:
            return
        self.first = self.first or self.now
        if news.bound >= news.cost:
            self.proved = self.proved or self.now


def _record(results: list[Result], seconds: float) -> Record:
    complete = all(result.layouts for result in results)
    return {
        "cost": sum(result.cost for result in results) if complete else None,
        "bound": sum(result.bound for result in results),
        "sheets": sum(len(result.layouts) for result in results),
        "proved": all(result.proved for result in results),
        "seconds": round(seconds, 2),
        "stopped": ", ".join(sorted({result.stopped for result in results})),
    }


def _faults(job: Job, want: Wanted, problems: list[Problem], results: list[Result]) -> str:
    """What the judge finds wrong; kerf-free rectangles also by an exact look of our own."""
    if len(want.parts) > MOST_JUDGED or not all(result.layouts for result in results):
        return ""
    solved = [Solved(one, result.layouts, 0) for one, result in zip(problems, results, strict=True)]
    plan = plan_of(job, want, solved, Settings())
    if found := [f"{fault.code}: {fault.text}" for fault in check_plan(plan) if fault.code != "proof"]:
        return "; ".join(found[:3])
    bare = job.saw.kerf == 0 and all(p.width_start == p.width_end for p in want.parts)
    return _overlap(plan) if bare else ""


def _overlap(plan: Plan) -> str:
    """Where no tolerance is called for: inside the sheet, and parted by cuts from edge to edge."""
    for sheet in plan.sheets:
        boxes = [(min(xs), min(ys), max(xs), max(ys))
                 for xs, ys in (zip(*placed.corners, strict=True) for placed in sheet.placed)]  # fmt: skip
        inside = all(x0 >= 0 and y0 >= 0 and x1 <= sheet.length and y1 <= sheet.width
                     for x0, y0, x1, y1 in boxes)  # fmt: skip
        if not inside or not cuttable(boxes):
            return f"sheet {sheet.number} cannot be cut"
    return ""


def _most_value(case: Case) -> Record:
    """The most value on one sheet; a cutting that does not give it has none."""
    assert case.instance is not None
    room = case.instance.sizes[0].usable
    pieces = [(item.length, item.start, value, most, item.grain == "any")
              for item, (value, most) in zip(case.instance.items, case.values, strict=True)]  # fmt: skip
    begun = time.monotonic()
    result = most_value(pieces, room, case.instance.saw.kerf, seconds=case.seconds)
    record: Record = {"value": result.value, "bound": result.bound, "proved": result.proved}
    record["seconds"] = round(time.monotonic() - begun, 2)
    held: Counter[int] = Counter()
    sides = _sides(result.tree, pieces, held) if result.tree else (0, 0)
    within = all(most is None or held[at] <= most for at, (_, most) in enumerate(case.values))
    worth = sum(case.values[at][0] * count for at, count in held.items())
    if not (within and worth == result.value and sides[0] <= room[0] and sides[1] <= room[1]):
        record |= {"fault": "the cutting does not give the value", "proved": False}
    return record


def _sides(tree: Tree, pieces: Sequence[Piece], held: Counter[int]) -> tuple[int, int]:
    """What a tree without kerf takes, and which pieces it holds."""
    if len(tree) == 2:
        held[tree[0]] += 1
        length, width = pieces[tree[0]][:2]
        return (width, length) if tree[1] else (length, width)
    (a, b), (c, d) = (_sides(part, pieces, held) for part in tree[1:])
    return (a + c, max(b, d)) if tree[0] == "beside" else (max(a, c), b + d)
