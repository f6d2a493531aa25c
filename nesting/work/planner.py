"""From a job to its plan: the materials chosen, each solved apart, within the seconds given."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from nesting.check import CheckedPlan, Violation, check_plan, checked
from nesting.errors import JobError, NoPlanError
from nesting.job.job import Job
from nesting.packing.instance import Settings
from nesting.packing.solve import Layout, News, Result, solve
from nesting.stock import Stock
from nesting.work.choosing import Choosing, Chosen
from nesting.work.problem import Problem, problem
from nesting.work.record import Solved, plan_of
from nesting.work.single import may_join, without_joining
from nesting.work.wanted import Wanted

CUT_SHORT = {
    "time": "the time limit ended the search; another run, or another machine, may end with another plan",
    "interrupt": "the search was interrupted; this is the best plan that was found until then",
}
ASIDE = 0.05  # seconds for each part, kept back for the check and the drawings
SINGLE_SHARE = 0.2  # of the seconds, kept back to look for a plan without joined rails
SINGLE_EFFORT = 10  # times less effort for it
QUICK = 0  # tries spent on a material after an interrupt
OTHER_SEEDS = 3  # tried, a second each, if no plan has passed the check: none is known that has not


@dataclass(frozen=True, slots=True)
class Progress:
    """A checked plan, or a better bound, of one material; money in hundredths."""

    material: str
    sheets: int
    cost: int | None
    bound: int
    seconds: float


Tell = Callable[[Progress], None]


def plan_job(job: Job, settings: Settings, tell: Tell | None = None) -> CheckedPlan:
    """Plan a whole job.

    Parameters
    ----------
    settings : Settings
        The seconds are for the whole job.
    tell : callable, optional
        Called with each better plan, which has passed the check, and each better bound.

    Raises
    ------
    JobError
        If an opening takes no frame, or a part no sheet or rail.
    NoPlanError
        If there is no plan within the counts, or none was found in time.
    CheckFailedError
        If the plan breaks a rule; that is a fault of this program.
    """
    return Planner(job, job.stock, settings, tell).plan()


def kept_back(job: Job, settings: Settings) -> float:
    """Seconds for the check and the drawings, which come after the search."""
    pieces = 4 * len(job.openings) + sum(part.count for part in job.parts)
    return min(settings.seconds / 2, pieces * ASIDE)


class Planner:
    """Plans one job out of some of its stock."""

    def __init__(
        self, job: Job, stock: Sequence[Stock], settings: Settings, tell: Tell | None = None
    ) -> None:
        self.job = job
        self.stock = stock
        self.settings = settings
        self.tell = tell or (lambda _: None)
        aside = kept_back(job, settings)
        self.deadline = time.monotonic() + settings.seconds - aside
        self.stopped: set[str] = set()
        self.passed: dict[str, tuple[Layout, ...]] = {}  # of each material, the last to pass the check
        self.remarks: list[str] = []

    def plan(self) -> CheckedPlan:
        """Choose the materials, solve each, and judge the whole."""
        aside = SINGLE_SHARE * self.settings.seconds if may_join(self.job.saw, self.stock) else 0.0
        self.deadline -= aside
        chosen = self.choose()
        return self.plan_for(chosen.want, chosen, aside)

    def plan_for(self, want: Wanted, chosen: Chosen | None = None, aside: float = 0.0) -> CheckedPlan:
        """Plan the parts given; ``chosen`` says what else could have been chosen, and bounds it.

        ``aside`` are seconds kept back to look for a plan without joined rails.
        """
        problems = self._problems(want)
        solved = [
            self._solve(one, self._share(problems[index:]), want) for index, one in enumerate(problems)
        ]
        single = None
        if aside and "interrupt" not in self.stopped:
            left = min(aside, self.deadline + aside - time.monotonic())
            look = replace(self.settings, seconds=left, effort=self.settings.effort // SINGLE_EFFORT)
            solved, single = without_joining(self.job, self.stock, want, solved, look, self.stopped)
        remarks = [*self.remarks, *(text for why, text in CUT_SHORT.items() if why in self.stopped)]
        plan = plan_of(self.job, want, solved, self.settings, chosen, remarks)
        return checked(plan.model_copy(update={"single_rail": single}))

    def _problems(self, want: Wanted) -> list[Problem]:
        materials = dict.fromkeys(part.material for part in want.parts)
        problems, faults = [], []
        for material in materials:
            try:
                problems.append(problem(self.job, material, want, self.stock))
            except JobError as error:
                faults += error.faults
        if faults:
            raise JobError(faults)
        return problems

    def _share(self, problems: Sequence[Problem]) -> float:
        """Seconds for the first of the problems still to be solved, by its parts."""
        left = max(0.0, self.deadline - time.monotonic())
        return left * problems[0].instance.total / sum(p.instance.total for p in problems)

    def _solve(self, one: Problem, seconds: float, want: Wanted) -> Solved:
        """Solve one material; after an interrupt the next ones get a quick look only."""
        effort = QUICK if "interrupt" in self.stopped else self.settings.effort
        settings = replace(self.settings, seconds=seconds, effort=effort)
        result = solve(one.instance, settings, lambda news: self._pass_on(one, news, want))
        self.stopped.add(result.stopped)
        for seed in range(settings.seed + 1, settings.seed + 1 + OTHER_SEEDS):
            if not result.layouts or one.material in self.passed:
                break
            again = replace(settings, seed=seed, seconds=1.0)
            other = solve(one.instance, again, lambda news: self._pass_on(one, news, want))
            result = replace(other, bound=max(result.bound, other.bound))
        if not result.layouts:
            raise NoPlanError(_why_no_plan(one.material, result))
        if not self._violations(one, result.layouts, want) or one.material not in self.passed:
            return Solved(one, result.layouts, result.bound)  # judged once more with the whole plan
        self.remarks.append(f"{one.material}: a later plan failed its check; this is the best that passed")
        return Solved(one, self.passed[one.material], result.bound)

    def _violations(self, one: Problem, layouts: tuple[Layout, ...], want: Wanted) -> list[Violation]:
        return check_plan(plan_of(self.job, want, [Solved(one, layouts, 0)], self.settings))

    def _pass_on(self, one: Problem, news: News, want: Wanted) -> None:
        """Tell of a plan once it has passed the check."""
        if news.layouts and news.layouts != self.passed.get(one.material):
            if self._violations(one, news.layouts, want):
                return
            self.passed[one.material] = news.layouts
        self.tell(Progress(one.material, len(news.layouts), news.cost, news.bound, news.seconds))

    def choose(self) -> Chosen:
        """The cheapest choice of materials at a first look, and a bound over the choices not taken."""
        chosen = Choosing(self.job, tuple(self.stock), self.settings).choose()
        if chosen.stopped:
            self.stopped.add(chosen.stopped)
        return chosen


def _why_no_plan(material: str, result: Result) -> str:
    if result.impossible:
        return (f"{material}: there is no plan within the counts: the stock that can be had does not "
                "hold the parts; raise a count or add a size")  # fmt: skip
    limit = "in time" if result.stopped == "time" else "with this effort"
    return (f"{material}: no plan was found {limit}, and that there is none is not proved: give more "
            "--seconds, or raise a count")  # fmt: skip
