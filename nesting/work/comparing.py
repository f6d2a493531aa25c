"""Each stock size alone and the best mix, side by side."""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Sequence
from contextlib import ExitStack, suppress
from dataclasses import asdict, dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from nesting.check import CheckedPlan, checked
from nesting.errors import JobError, NoPlanError
from nesting.job.job import Job
from nesting.packing.compiled import Loops, load, ready
from nesting.packing.construct import first_plans
from nesting.packing.improve import Improver
from nesting.packing.instance import Settings
from nesting.packing.pool import Pool
from nesting.packing.rules import Rules
from nesting.plan import OptionRecord
from nesting.report.compare import MIX, THIS_PLAN, Comparison, Option
from nesting.stock import Stock
from nesting.work.beside import Beside, can_fork, unheard
from nesting.work.planner import CUT_SHORT, Planner, Tell, kept_back
from nesting.work.problem import problem
from nesting.work.single import Look
from nesting.work.wanted import Wanted

if TYPE_CHECKING:
    from nesting.drawing.drawings import Drawings
    from nesting.work.drawn import LaidOut

MIX_SHARES = 2  # of the time, against 1 for a size alone: the mix has the most to search
ASIDE = 0.1  # of the seconds for a plan, for a look at each size alone; kept back where it is not made beside
SHORT_LOOK = ("the limit ended the look at other ways to buy; another run may end with other figures for "
              "them, not with another plan")  # fmt: skip
BRIEFLY = 32  # a size alone, beside a plan, gets a share of so many of the tries


def compare_job(job: Job, settings: Settings) -> Comparison:
    """Plan each material of a job out of each size alone, and out of all of them.

    The seconds are for all plans together. A size alone is a mix too, so the mix is never dearer.

    Raises
    ------
    JobError
        If an opening takes no frame, or a part is too large for every size or every rail.
    """
    return Comparison(job.name, job.units, tuple(_Comparing(job, settings).options()), job.priced_by_area)


def plan_and_draw(
    job: Job, settings: Settings, tell: Tell | None = None, latest: float = math.inf
) -> tuple[CheckedPlan, Drawings | None]:
    """Plan a whole job, tell in the plan what other ways to buy and to cut come to, and draw it.

    What each size alone comes to is looked for beside the search where a material can be bought in more than
    one way; a plan without joined rails after it where some are, and the sheets are laid out meanwhile.
    An interrupt ends the search, then the looks, then the drawing; the plan stays. For the errors see
    :func:`nesting.work.planner.plan_job`.

    Parameters
    ----------
    latest : float
        On the clock of ``time.monotonic``: what cannot be drawn until then is not.

    Returns
    -------
    tuple
        The plan, and its drawings or None where an interrupt or the time has ended them.
    """
    whole = _Whole(job, settings, tell, latest)
    try:
        plan = whole.plan()
    except KeyboardInterrupt:
        if not whole.planner.solved:
            raise
        with unheard():
            plan = whole.planner.interrupted()
    from nesting.work.drawn import draw_in_time  # noqa: PLC0415 - it loads all that draws

    try:
        return plan, draw_in_time(plan, whole.laid, latest)
    except KeyboardInterrupt:
        return plan, None


class _Whole:
    """A job's plan with all that it tells."""

    def __init__(self, job: Job, settings: Settings, tell: Tell | None, latest: float) -> None:
        self.job, self.settings, self.latest = job, settings, latest
        self.end = time.monotonic() + settings.seconds - kept_back(job, settings)
        sizes = Counter(stock.material for stock in job.stock)
        self.several = max(sizes.values(), default=0) > 1
        self.planner = Planner(job, job.stock, settings, tell)
        if self.several and not can_fork():
            self.planner.deadline -= ASIDE * settings.seconds
        self.laid: LaidOut | None = None

    def plan(self) -> CheckedPlan:
        """Search, and look around: no look waits for another where processes can be split off."""
        with ExitStack() as stack:
            want = self.planner.choose_first(beside=can_fork())
            if (self.several or self.planner.looks) and ready():
                with suppress(JobError):  # the planner names all that have no home
                    self._load_loops(want)
            longer = self._look_for_single_rails(stack) if self.planner.looks else None
            look = self._look_at_sizes(stack, want) if self.several else None
            first = plan = self.planner.plan_for(want)
            if CUT_SHORT["interrupt"] in first.plan.warnings:
                return first
            single = None
            if longer and self.planner.joins(first):
                late = self.planner.none_looked_at
                single = stack.enter_context(Beside(self.planner.look_single, self.end, late))
            elif longer:
                longer.stop()  # it takes a core
            from nesting.work.drawn import LaidOut  # noqa: PLC0415 - it loads all that draws, meanwhile

            self.laid = LaidOut(first, self.latest)
            if time.monotonic() > self.latest:
                return first  # without what the looks have found: to judge the plan again takes time, too
            if longer and single:
                brief = single.result()
                if not brief.open:
                    longer.stop()
                plan = self.planner.finished(brief, longer.result)
            if look:
                plan = look[0].compared(plan, look[1].result())
            return plan

    def _look_for_single_rails(self, stack: ExitStack) -> Beside[dict[str, Look]]:
        """Begun with the search, before it is known whether the plan joins rails: it may take as long."""
        return stack.enter_context(Beside(self.planner.look_longer, self.end, dict))

    def _look_at_sizes(self, stack: ExitStack, want: Wanted) -> tuple[_Comparing, Beside[Alone]]:
        settings = self.settings
        brief = replace(settings, seconds=settings.seconds * ASIDE / 2, effort=settings.effort // BRIEFLY,
                        polish=False)  # fmt: skip
        comparing = _Comparing(self.job, brief, want)
        late = partial(Alone, {}, True)
        return comparing, stack.enter_context(Beside(partial(comparing.alone, self.end), self.end, late))

    def _load_loops(self, want: Wanted) -> None:
        """Load the compiled loops, with what a search calls of them, before a process is split off."""
        loops, material = Loops(), want.parts[0].material
        loops.compiled = load()
        one = problem(self.job, material, want.only(material), self.job.stock)
        rules = Rules(one.instance, loops)
        first = next(first_plans(rules), None)
        if first is not None:
            Improver(rules, first, 1, Pool(rules), first.price).by_rank().go(1, first.rank())


@dataclass(frozen=True, slots=True)
class Alone:
    """Each size alone, by material; and whether the limit ended a look."""

    options: dict[str, list[Option]]
    cut_short: bool


class _Comparing:
    def __init__(self, job: Job, settings: Settings, want: Wanted | None = None) -> None:
        self.job = job
        self.settings = settings
        self.cut_short = False
        self.deadline = time.monotonic() + settings.seconds
        if want is None:
            look = replace(settings, seconds=settings.seconds / 4)
            want = Planner(job, job.stock, look).choose().want
            self.mixes = MIX_SHARES
        else:
            self.mixes = 0  # the mix is at hand
        self.want = want
        self.materials = list(dict.fromkeys(part.material for part in self.want.parts))
        sizes = [stock for stock in job.stock if stock.material in self.materials]
        self.shares = len(sizes) + self.mixes * len(self.materials)

    def alone(self, end: float | None = None) -> Alone:
        """Plan each material out of each size alone, for the seconds given or till an end that is later."""
        if end is not None:
            self.deadline = max(end, time.monotonic() + self.settings.seconds)
        options = {}
        for material in self.materials:
            want = self.want.only(material)
            sizes = self._sizes(material)
            problem(self.job, material, want, sizes)  # a part without any home is a fault of the job
            options[material] = [self._option(stock.name, want, [stock], 1) for stock in sizes]
        return Alone(options, self.cut_short)

    def options(self) -> list[Option]:
        """Each size alone, and the mix."""
        alone = self.alone().options
        return self._in_order(alone, {
            material: self._mix(self.want.only(material), self._sizes(material), alone[material])
            for material in self.materials
        })  # fmt: skip

    def compared(self, plan: CheckedPlan, alone: Alone) -> CheckedPlan:
        """Return the plan with what each size alone would come to; the plan is the mix."""
        mixes = {material: _option_of(MIX, plan, material) for material in alone.options}
        records = tuple(OptionRecord(**asdict(one)) for one in self._in_order(alone.options, mixes))
        warnings = plan.plan.warnings
        if alone.cut_short and not set(CUT_SHORT.values()) & set(warnings):
            warnings = (*warnings, SHORT_LOOK)
        return checked(plan.plan.model_copy(update={"comparison": records, "warnings": warnings}))

    def _in_order(self, alone: dict[str, list[Option]], mixes: dict[str, Option]) -> list[Option]:
        """As they are shown: by material the sizes, then the mix, named by whether it is the cheapest."""
        options = []
        for material, mix in mixes.items():
            least = min((one.cost for one in alone[material] if one.feasible), default=mix.cost)
            name = MIX if not mix.feasible or mix.cost <= least else THIS_PLAN
            if len(self.materials) > 1:
                name = f"{name}: {material}"
            both = (*alone[material], replace(mix, name=name))
            options += [replace(one, material=material) for one in both]
        return options

    def _sizes(self, material: str) -> list[Stock]:
        return [stock for stock in self.job.stock if stock.material == material]

    def _mix(self, want: Wanted, sizes: Sequence[Stock], alone: Sequence[Option]) -> Option:
        return _best(self._option(MIX, want, sizes, MIX_SHARES), alone)

    def _option(self, name: str, want: Wanted, stock: Sequence[Stock], shares: int) -> Option:
        """Plan with some of the stock; what stands in the way is said, not raised."""
        seconds = max(0.0, self.deadline - time.monotonic()) * shares / max(1, self.shares)
        self.shares -= shares
        planner = Planner(self.job, stock, replace(self.settings, seconds=seconds))
        try:
            option = _option_of(name, planner.plan_for(want))
            self.cut_short = self.cut_short or bool(planner.stopped & CUT_SHORT.keys())
            return option
        except JobError as error:
            more = f" (and {len(error.faults) - 1} more)" if len(error.faults) > 1 else ""
            return Option(name, False, f"{error.faults[0].what}: {error.faults[0].right}{more}")
        except NoPlanError as error:
            return Option(name, False, str(error))


def _best(mix: Option, alone: Sequence[Option]) -> Option:
    """The mix, or a size alone that came out cheaper in the time given; with the mix's bound."""
    found = [option for option in (mix, *alone) if option.feasible]
    if not found:
        return mix
    least = min(found, key=lambda option: option.cost)
    bound = min(mix.lower_bound, least.cost) if mix.feasible else 0.0
    return replace(least, name=mix.name, lower_bound=bound, proved=bound >= least.cost)


def _option_of(name: str, good: CheckedPlan, material: str | None = None) -> Option:
    """What a plan comes to, or its sheets of one material; that is proved only if the whole is."""
    plan = good.plan
    sheets = [sheet for sheet in plan.sheets if material in (None, sheet.material)]
    whole = len(sheets) == len(plan.sheets)
    weights = {stock.name: stock.weight for stock in plan.stock}
    known = [weight for sheet in sheets if (weight := weights[sheet.stock]) is not None]
    cost = sum(round(sheet.price * 100) for sheet in sheets) / 100
    area, used = (sum(getattr(sheet.area, what) for sheet in sheets) for what in ("sheet", "parts"))
    bound = plan.proof.lower_bound if whole else cost if plan.proof.proved else 0.0
    return Option(
        name=name,
        feasible=True,
        sheets=dict(Counter(sheet.stock for sheet in sheets)),
        cost=cost,
        waste_percent=round(100 - 100 * used / area, 2) if area else 0.0,
        heaviest=max(known, default=None),
        joined_cuts=sum(cut.joined for sheet in sheets for cut in sheet.cuts),
        proved=plan.proof.proved,
        lower_bound=bound,
    )
