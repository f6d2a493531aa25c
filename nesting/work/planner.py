"""From a job to its plan: the materials chosen, each solved apart, within the seconds given."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from nesting.check import CheckedPlan, Violation, check_plan, checked
from nesting.errors import CheckFailedError, JobError, NoPlanError
from nesting.job.job import Job
from nesting.packing.compiled import Loops, load, ready
from nesting.packing.construct import first_plans
from nesting.packing.instance import Settings
from nesting.packing.rules import Rules
from nesting.packing.solve import MANY, Layout, News, Result, solve
from nesting.plan import SingleRail
from nesting.stock import Stock
from nesting.work.choosing import Choosing, Chosen
from nesting.work.problem import Problem, problem
from nesting.work.record import Solved, plan_of
from nesting.work.single import (
    NONE_IN_TIME,
    Look,
    WithoutJoining,
    as_cheap,
    could_do_without,
    look_early,
    may_join,
    without_joining,
)
from nesting.work.wanted import Wanted

CUT_SHORT = {
    "time": "the time limit ended the search; another run, or another machine, may end with another plan",
    "interrupt": "the search was interrupted; this is the best plan that was found until then",
}
ASIDE = 0.05  # seconds for each part, for the check and the drawings; 0.02 to 0.04 were measured
LATE = 1.5  # of these seconds may come after the limit: all has to be done five seconds after it
SINGLE_SHARE = 0.2  # of the seconds, kept back to look for a plan without joined rails after the search
POLISH_SHARE = 0.05  # where that is looked for beside it: for one that costs no more, to be polished
SINGLE_EFFORT = 13  # times less effort for it than for the search: as much as ends within 3 s in all
AT_ONCE = 40  # times less, to ask first whether none costs more than the plan with joined rails
QUICK = 0  # tries spent on a material after an interrupt
FAILED = "{}: a later plan failed its check; this is the best that passed"
OTHER_SEEDS = 3  # tried, a second each, if no plan has passed the check: none is known that has not
PAUSE = 1.0  # seconds from one plan that is told of to the next


@dataclass(frozen=True, slots=True)
class Progress:
    """A checked plan, or a better bound, of one material; money in hundredths, seconds of the whole job."""

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
        Called with better plans, which have passed the check, and each better bound; of plans that follow
        each other closely not with every one.

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
    """Seconds of the limit for the check and the drawings, which come after the search."""
    pieces = 4 * len(job.openings) + sum(part.count + part.spare for part in job.parts)
    return min(settings.seconds / 2, max(0.0, pieces * ASIDE - LATE))


class Planner:
    """Plans one job out of some of its stock."""

    def __init__(
        self, job: Job, stock: Sequence[Stock], settings: Settings, tell: Tell | None = None
    ) -> None:
        self.job = job
        self.stock = stock
        self.settings = settings
        self.tell = tell
        self.begun = time.monotonic()
        self.deadline = self.begun + settings.seconds - kept_back(job, settings)
        self.aside = 0.0  # seconds kept back to look for a plan without joined rails
        self.looks = False  # whether that is done
        self.want: Wanted
        self.chosen: Chosen | None = None
        self.solved: list[Solved] = []
        self.stopped: set[str] = set()
        self.found: dict[str, list[tuple[Layout, ...]]] = {}  # of each material, each cheaper than before
        self.shown: dict[str, tuple[Layout, ...]] = {}  # of each material, the last that was told of
        self.told: Progress | None = None
        self.pause = 0.0  # until then nothing is judged only to be told of
        self.remarks: list[str] = []

    def plan(self) -> CheckedPlan:
        """Choose the materials, solve each, look at what joined rails save, and judge the whole."""
        first = self.plan_for(self.choose_first())
        return self.finished(self.look_single(), self.look_longer) if self.joins(first) else first

    def choose_first(self, *, beside: bool = False) -> Wanted:
        """Choose the materials; time is kept back for the look at single rails, less if it is made beside."""
        self.chosen = self.choose()
        self.want = self.chosen.want
        self.looks = may_join(self.job.saw, self.stock)
        if self.looks and could_do_without(self.job, self.stock, self.want):
            self.aside = (POLISH_SHARE if beside else SINGLE_SHARE) * self.settings.seconds
            self.deadline -= self.aside
        return self.want

    def plan_for(self, want: Wanted) -> CheckedPlan:
        """Plan the parts given."""
        self.want = want
        problems = self._problems(want)
        for one in problems if self.tell and len(problems) > 1 else ():
            self._show_first(one, want)
        self.solved = [
            self._solve(one, self._share(problems[index:]), want) for index, one in enumerate(problems)
        ]
        try:
            return self._judged()
        except CheckFailedError:
            self.solved = [self._mended(one, want) for one in self.solved]
            return self._judged()

    def joins(self, plan: CheckedPlan) -> bool:
        """Whether a plan joins rails, and it is to be told what one costs that does not."""
        joined = any(cut.joined for sheet in plan.plan.sheets for cut in sheet.cuts)
        return joined and self.looks and "interrupt" not in self.stopped

    def look_single(self) -> WithoutJoining:
        """Ask briefly whether a plan without joined rails costs no more than the plan."""
        brief = replace(self._for_single(), effort=self.settings.effort // AT_ONCE)
        return without_joining(self.job, self.stock, self.want, self.solved, brief)

    def look_longer(self) -> dict[str, Look]:
        """Look for what single rails come to, whatever the plan may be, in what is left of the time."""
        return look_early(self.job, self.stock, self.want, self._for_single())

    def none_looked_at(self) -> WithoutJoining:
        """What is said where no time was left for that look."""
        return WithoutJoining(self.solved, SingleRail(why=NONE_IN_TIME), {"time"})

    def finished(self, look: WithoutJoining, longer: Callable[[], dict[str, Look]]) -> CheckedPlan:
        """The plan with what was found without joined rails; longer looks are asked where it is open."""
        self.stopped |= look.stopped
        if look.open and (looks := longer()):
            look = without_joining(self.job, self.stock, self.want, self.solved, self._for_single(), looks)
        elif look.open:
            self.stopped.add("time")  # the longer look has not come back
        self.solved = look.solved
        self.stopped |= look.stopped
        return self._judged(look.single)

    def _for_single(self) -> Settings:
        """Until the end of the time; the bound is tightened only for who gives more time than usual."""
        left = max(0.0, self.deadline + self.aside - time.monotonic())
        more = self.settings.effort > Settings().effort
        effort = int(self.settings.effort / SINGLE_EFFORT)
        return replace(self.settings, seconds=left, effort=effort, prove=more)

    def interrupted(self) -> CheckedPlan:
        """The plan as it is, without a look at single rails."""
        self.stopped.add("interrupt")
        return self._judged()

    def _judged(self, single: SingleRail | None = None) -> CheckedPlan:
        remarks = [*self.remarks, *(text for why, text in CUT_SHORT.items() if why in self.stopped)]
        plan = plan_of(self.job, self.want, self.solved, self.settings, self.chosen, remarks)
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
        if lost := _lost(one, want):
            raise NoPlanError(_why_lost(one.material, lost))
        effort = QUICK if "interrupt" in self.stopped else self.settings.effort
        single = self.settings.single and not self.looks  # else that look is still to come
        settings = replace(self.settings, seconds=seconds, effort=effort, single=single)
        result = self._search(one, settings, want)
        self.stopped.add(result.stopped)
        if not result.layouts:
            raise NoPlanError(_why_no_plan(one.material, result))
        solved = Solved(one, result.layouts, result.bound, result.fewest)  # judged with the whole plan
        if settings.polish or not settings.single:
            return solved
        rest = replace(settings, seconds=max(0.0, self.deadline - time.monotonic()))
        return as_cheap(self.job, self.stock, want, solved, rest)

    def _search(self, one: Problem, settings: Settings, want: Wanted) -> Result:
        """Search, and keep every cheaper plan: a later one may yet fail the check."""
        found = self.found.setdefault(one.material, [])

        def watch(news: News) -> None:
            if news.layouts and news.layouts not in found[-1:]:
                found.append(news.layouts)
            self._pass_on(one, news, want)

        result = solve(one.instance, settings, watch)
        if result.layouts:
            news = News(result.layouts, result.cost, result.bound, 0.0)
            try:
                self._pass_on(one, news, want, at_once=True)
            except KeyboardInterrupt:
                return replace(result, stopped="interrupt")
        return result

    def _mended(self, solved: Solved, want: Wanted) -> Solved:
        """The best plan of a material to pass the check: the last, an earlier one, or of another seed."""
        one = solved.problem
        if not self._violations(one, solved.layouts, want):
            return solved
        found = self.found[one.material]
        for turn in range(1 + OTHER_SEEDS):
            if turn:
                if time.monotonic() > self.begun + self.settings.seconds:
                    break
                found.clear()
                self._search(one, replace(self.settings, seed=self.settings.seed + turn, seconds=1.0), want)
            for layouts in reversed(found):
                if not self._violations(one, layouts, want):
                    self.remarks.append(FAILED.format(one.material))
                    return replace(solved, layouts=layouts)
        return solved

    def _violations(self, one: Problem, layouts: tuple[Layout, ...], want: Wanted) -> list[Violation]:
        return check_plan(plan_of(self.job, want, [Solved(one, layouts, 0)], self.settings))

    def _pass_on(self, one: Problem, news: News, want: Wanted, *, at_once: bool = False) -> None:
        """Tell of a plan that has passed the check, if anybody listens.

        Judging takes a share of the search's time, so of plans that follow each other closely, and are not
        wanted ``at_once``, not every one is told of.
        """
        now = time.monotonic()
        if not self.tell:
            return
        if news.layouts != self.shown.get(one.material, ()):
            if (not at_once and now < self.pause) or self._violations(one, news.layouts, want):
                return
            self.shown[one.material] = news.layouts
            self.pause = now + PAUSE
        told = Progress(one.material, len(news.layouts), news.cost, news.bound, now - self.begun)
        if self.told != replace(told, seconds=0.0):
            self.told = replace(told, seconds=0.0)
            self.tell(told)

    def _show_first(self, one: Problem, want: Wanted) -> None:
        """Tell of a plan at once, before another material's search takes its share of the time."""
        loops = Loops()
        if one.instance.total > MANY and ready():
            loops.compiled = load()
        state = next(first_plans(Rules(one.instance, loops)), None)
        if state is not None:
            self._pass_on(one, News(state.layouts(), state.price, 0, 0.0), want, at_once=True)

    def choose(self) -> Chosen:
        """The cheapest choice of materials at a first look, and a bound over the choices not taken."""
        chosen = Choosing(self.job, tuple(self.stock), self.settings).choose()
        if chosen.stopped:
            self.stopped.add(chosen.stopped)
        return chosen


def _lost(one: Problem, want: Wanted) -> list[str]:
    """Parts that the search cannot place on any sheet, so that there is no need to begin."""
    if not any(size.blocked for size in one.instance.sizes):
        return []
    numbers = {one.numbers[index][0] for index in Rules(one.instance).lost()}
    return [part.id for part in want.parts if part.number in numbers]


def _why_lost(material: str, parts: list[str]) -> str:
    return (f"{material}: no plan was found: {', '.join(parts)} may go beside the bad zones, but no cuts "
            "round them were found that leave room; that there are none is not proved: add stock without "
            "bad zones, or mark the part on the sheet by hand")  # fmt: skip


def _why_no_plan(material: str, result: Result) -> str:
    if result.impossible:
        return (f"{material}: there is no plan within the counts: the stock that can be had does not "
                "hold the parts; raise a count or add a size")  # fmt: skip
    if result.stopped == "interrupt":
        return "interrupted before a plan was found"
    limit = "in time" if result.stopped == "time" else "with this effort"
    return (f"{material}: no plan was found {limit}, and that there is none is not proved: give more "
            "--seconds, or raise a count")  # fmt: skip
