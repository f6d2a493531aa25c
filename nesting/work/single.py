"""The cheapest plan without joined rails, beside one that joins some."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from nesting.check import check_plan
from nesting.errors import JobError
from nesting.job.job import Job
from nesting.packing.instance import Settings
from nesting.packing.solve import solve
from nesting.plan import Plan, SingleRail
from nesting.stock import Saw, Stock
from nesting.work.problem import problem
from nesting.work.record import Solved, plan_of
from nesting.work.wanted import Wanted

NONE_IN_TIME = "none was found in the time left for it"


def may_join(saw: Saw, stock: Sequence[Stock]) -> bool:
    """Whether rails are joined for any cut that a sheet could need."""
    single = saw.reach(joined=False)
    return saw.join and single is not None and any(max(s.length, s.width) > single for s in stock)


@dataclass(frozen=True, slots=True)
class WithoutJoining:
    """What was found without joined rails.

    Attributes
    ----------
    solved : list of Solved
        As given, or without joined rails where that costs no more and takes no more sheets.
    single : SingleRail or None
        What it comes to where it costs more; None where no rail is joined then.
    stopped : set of str
        What ended each search.
    """

    solved: list[Solved]
    single: SingleRail | None
    stopped: set[str]


def without_joining(
    job: Job, stock: Sequence[Stock], want: Wanted, solved: Sequence[Solved], settings: Settings
) -> WithoutJoining:
    """Solve each material whose plan joins rails once more, with single rails only."""
    single = replace(job, saw=replace(job.saw, join=False))
    joining = [i for i, one in enumerate(solved) if _joins(plan_of(job, want, [one], settings))]
    left = sum(solved[i].problem.instance.total for i in joining)
    best, alone, stopped = list(solved), list(solved), set[str]()
    for i in joining:
        share = replace(settings, seconds=settings.seconds * solved[i].problem.instance.total / left)
        found, why = _solve(single, stock, want, solved[i], share)
        stopped.add(why)
        if isinstance(found, str):
            return WithoutJoining(best, SingleRail(why=found), stopped)
        alone[i] = found
        if _no_worse(job, single, want, found, solved[i], settings):
            best[i] = replace(found, problem=solved[i].problem, bound=solved[i].bound,
                              fewest=solved[i].fewest)  # fmt: skip
    if best == alone or not any(_joins(plan_of(job, want, [one], settings)) for one in best):
        return WithoutJoining(best, None, stopped)
    sizes = [one.problem.stock[layout.size] for one in alone for layout in one.layouts]
    return WithoutJoining(best, SingleRail(
        cost=sum(size.price for size in sizes) / 100,
        lower_bound=min(sum(one.bound for one in alone), sum(size.price for size in sizes)) / 100,
        sheets=dict(Counter(size.name for size in sizes)),
    ), stopped)  # fmt: skip


def _solve(
    job: Job, stock: Sequence[Stock], want: Wanted, one: Solved, settings: Settings
) -> tuple[Solved | str, str]:
    """One material without joined rails, or why there is no plan; and what ended the search.

    What costs more is told, not cut, so only what costs no more is polished.
    """
    try:
        other = problem(job, one.problem.material, want, stock)
    except JobError as error:
        fault = error.faults[0]
        return f"no plan, {fault.what}: {fault.right}", ""
    end = time.monotonic() + settings.seconds
    result = solve(other.instance, replace(settings, polish=False, prove=False), least=one.bound)
    if result.layouts and result.cost <= sum(one.problem.stock[layout.size].price for layout in one.layouts):
        rest = replace(settings, seconds=max(0.0, end - time.monotonic()))
        result = solve(other.instance, rest, least=result.bound)
    if not result.layouts:
        none = "no plan within the counts" if result.impossible else NONE_IN_TIME
        return none, result.stopped
    found = Solved(other, result.layouts, max(result.bound, one.bound))
    if check_plan(plan_of(job, want, [found], settings)):
        return "none was found that passed its check", result.stopped
    return found, result.stopped


def _joins(plan: Plan) -> bool:
    return any(cut.joined for sheet in plan.sheets for cut in sheet.cuts)


def _no_worse(
    job: Job, single: Job, want: Wanted, found: Solved, one: Solved, settings: Settings
) -> bool:
    """Whether it costs no more, credit taken off, and takes no more sheets."""
    new, old = plan_of(single, want, [found], settings), plan_of(job, want, [one], settings)
    return (new.proof.value, len(new.sheets)) <= (old.proof.value, len(old.sheets))
