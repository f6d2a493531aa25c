"""The cheapest plan without joined rails, beside one that joins some."""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
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


def could_do_without(job: Job, stock: Sequence[Stock], want: Wanted) -> bool:
    """Whether each part that is cut out with joined rails can be had with a single one, too."""
    single = replace(job, saw=replace(job.saw, join=False))
    try:
        for material in dict.fromkeys(part.material for part in want.parts):
            problem(single, material, want, stock)
    except JobError:
        return False
    return True


@dataclass(frozen=True, slots=True)
class WithoutJoining:
    """What was found without joined rails.

    Attributes
    ----------
    solved : list of Solved
        As given, or without joined rails where that costs no more and takes no more sheets: then as a
        problem with single rails, or its cuts would be put in an order that joins them again.
    single : SingleRail or None
        What it comes to where it costs more; None where no rail is joined then.
    stopped : set of str
        What ended each search.
    """

    solved: list[Solved]
    single: SingleRail | None
    stopped: set[str]

    @property
    def open(self) -> bool:
        """Whether a longer look may still find a plan."""
        return self.single is not None and self.single.why == NONE_IN_TIME


@dataclass(frozen=True, slots=True)
class Look:
    """One material with single rails only.

    Attributes
    ----------
    found : Solved or None
        A plan that passed its check.
    why : str
        There is none.
    stopped : str
        What ended the search.
    """

    found: Solved | None
    why: str
    stopped: str


def look_early(job: Job, stock: Sequence[Stock], want: Wanted, settings: Settings) -> dict[str, Look]:
    """Look at each material whose sheets rails may be joined for, before it is known whether its plan does.

    The seconds are for each of them: they begin together with those of the search that this goes on beside.
    """
    end, looks = time.monotonic() + settings.seconds, {}
    for material in dict.fromkeys(part.material for part in want.parts):
        if may_join(job.saw, [size for size in stock if size.material == material]):
            left = replace(settings, seconds=max(0.0, end - time.monotonic()))
            looks[material] = _Looking(job, stock, want, left).look(material)
    return looks


def without_joining(
    job: Job,
    stock: Sequence[Stock],
    want: Wanted,
    solved: Sequence[Solved],
    settings: Settings,
    early: Mapping[str, Look] | None = None,
) -> WithoutJoining:
    """Ask of each material whose plan joins rails whether one with single rails costs no more.

    Parameters
    ----------
    early : mapping of str to Look, optional
        What was found of each material: that is told where it costs more.
    """
    joining = [i for i, one in enumerate(solved) if _joins(plan_of(job, want, [one], settings))]
    left = sum(solved[i].problem.instance.total for i in joining)
    best, alone, stopped = list(solved), list(solved), set[str]()
    for i in joining:
        share = replace(settings, seconds=settings.seconds * solved[i].problem.instance.total / left)
        looking = _Looking(job, stock, want, share)
        look = looking.beside(solved[i], (early or {}).get(solved[i].problem.material))
        stopped.add(look.stopped)
        if look.found is None:
            return WithoutJoining(best, SingleRail(why=look.why), stopped)
        alone[i] = look.found
        if looking.no_worse(look.found, solved[i]):
            best[i] = replace(look.found, bound=solved[i].bound, fewest=solved[i].fewest)
    if best == alone or not any(_joins(plan_of(job, want, [one], settings)) for one in best):
        return WithoutJoining(best, None, stopped)
    totals = plan_of(job, want, alone, settings).totals
    least = min(sum(one.bound for one in alone) / 100, totals.cost - totals.credit)
    single = SingleRail(cost=totals.cost, credit=totals.credit, lower_bound=least, sheets=totals.sheets)
    return WithoutJoining(best, single, stopped)


def as_cheap(
    job: Job, stock: Sequence[Stock], want: Wanted, solved: Solved, settings: Settings
) -> Solved:
    """The sheets of a material with single rails where these are found for as little money, else as given.

    For a plan that is not polished, of which it would still be told that rails have to be joined.
    """
    if not may_join(job.saw, solved.problem.stock):
        return solved
    try:
        one = problem(replace(job, saw=replace(job.saw, join=False)), solved.problem.material, want, stock)
    except JobError:
        return solved
    price = _price(solved)
    result = solve(one.instance, replace(settings, polish=False, prove=False), least=price)
    if not result.layouts or result.cost > price:
        return solved
    cheaper = result.cost < price
    return Solved(one, result.layouts, solved.bound, 0 if cheaper else solved.fewest)


class _Looking:
    """Looks for a plan of a material without joined rails."""

    def __init__(self, job: Job, stock: Sequence[Stock], want: Wanted, settings: Settings) -> None:
        self.job, self.stock, self.want, self.settings = job, stock, want, settings
        self.single = replace(job, saw=replace(job.saw, join=False))
        self.end = time.monotonic() + settings.seconds

    def look(self, material: str, joined: Solved | None = None) -> Look:
        """Solve it; beside a plan with joined rails only what costs no more counts, and is polished."""
        try:
            one = problem(self.single, material, self.want, self.stock)
        except JobError as error:
            fault = error.faults[0]
            why = fault.right.split("; add ")[0]  # what is to be done about it is to join rails, as is done
            return Look(None, f"no plan, {fault.what}: {why}", "")
        least = joined.bound if joined else None
        result = solve(one.instance, replace(self.settings, polish=False), least=least)
        if joined and result.layouts:
            if result.cost > _price(joined):
                return Look(None, NONE_IN_TIME, result.stopped)
            rest = replace(self.settings, seconds=max(0.0, self.end - time.monotonic()), prove=True)
            result = solve(one.instance, rest, least=result.bound)
        if not result.layouts:
            none = "no plan within the counts" if result.impossible else NONE_IN_TIME
            return Look(None, none, result.stopped)
        found = Solved(one, result.layouts, max(result.bound, least or 0))
        if check_plan(plan_of(self.job, self.want, [found], self.settings)):
            return Look(None, "none was found that passed its check", result.stopped)
        return Look(found, "", result.stopped)

    def beside(self, joined: Solved, early: Look | None) -> Look:
        """Beside a plan with joined rails: what is known already, unless it is to take that plan's place."""
        if early is None:
            return self.look(joined.problem.material, joined)
        if early.found is None:
            return early
        if _price(early.found) <= _price(joined):
            again = self.look(joined.problem.material, joined)
            if again.found and _price(again.found) <= _price(early.found):
                return again  # else there was no time for it
        return replace(early, found=replace(early.found, bound=max(early.found.bound, joined.bound)))

    def no_worse(self, found: Solved, joined: Solved) -> bool:
        """Whether it costs no more, credit taken off, and takes no more sheets."""
        if not self.job.keep.credit and _price(found) > _price(joined):
            return False
        new, old = (plan_of(job, self.want, [one], self.settings)
                    for job, one in ((self.single, found), (self.job, joined)))  # fmt: skip
        return (new.proof.value, len(new.sheets)) <= (old.proof.value, len(old.sheets))


def _price(one: Solved) -> int:
    """Of its sheets, in hundredths, before any credit."""
    return sum(one.problem.stock[layout.size].price for layout in one.layouts)


def _joins(plan: Plan) -> bool:
    return any(cut.joined for sheet in plan.sheets for cut in sheet.cuts)
