"""Each stock size alone and the best mix, side by side."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import asdict, replace

from nesting.check import CheckedPlan, checked
from nesting.errors import JobError, NoPlanError
from nesting.job.job import Job
from nesting.packing.instance import Settings
from nesting.plan import OptionRecord
from nesting.report.compare import MIX, THIS_PLAN, Comparison, Option
from nesting.stock import Stock
from nesting.work.planner import CUT_SHORT, Planner, Tell, kept_back, plan_job
from nesting.work.problem import problem
from nesting.work.wanted import Wanted, wanted

MIX_SHARES = 2  # of the time, against 1 for a size alone: the mix has the most to search
ASIDE = 0.1  # of the seconds for a plan, kept back to compare it with each size alone
SHORT_LOOK = ("the limit ended the look at other ways to buy; another run may end with other figures for "
              "them, not with another plan")  # fmt: skip
BRIEFLY = 20  # a size alone, beside a plan, gets a share of so many of the tries


def compare_job(job: Job, settings: Settings) -> Comparison:
    """Plan each material of a job out of each size alone, and out of all of them.

    The seconds are for all plans together. A size alone is a mix too, so the mix is never dearer.

    Raises
    ------
    JobError
        If an opening takes no frame, or a part is too large for every size or every rail.
    """
    return Comparison(job.name, job.units, tuple(_Comparing(job, settings).options()), job.priced_by_area)


def plan_with_comparison(job: Job, settings: Settings, tell: Tell | None = None) -> CheckedPlan:
    """Plan a whole job, and tell in the plan what each size alone would come to.

    Where a material can be bought in more than one way, a share of the seconds is kept for that, and
    what the search leaves goes to it too. For the errors see :func:`nesting.work.planner.plan_job`.
    """
    start = time.monotonic()
    sizes = Counter(stock.material for stock in job.stock)
    if max(sizes.values(), default=0) < 2:
        return plan_job(job, settings, tell)
    plan = plan_job(job, replace(settings, seconds=settings.seconds * (1 - ASIDE)), tell)
    left = settings.seconds - (time.monotonic() - start) - kept_back(job, settings)
    left = max(left, settings.seconds * ASIDE / 2)
    if CUT_SHORT["interrupt"] in plan.plan.warnings:
        return plan
    try:
        brief = replace(settings, seconds=left, effort=settings.effort // BRIEFLY, polish=False)
        return compared(job, plan, brief)
    except KeyboardInterrupt:
        return plan


def compared(job: Job, plan: CheckedPlan, settings: Settings) -> CheckedPlan:
    """Return the plan with what each size alone would come to, within the seconds; the plan is the mix."""
    choice = {opening.name: opening.material for opening in plan.plan.openings}
    comparing = _Comparing(job, settings, wanted(job, choice))
    options = comparing.options(lambda material, _: _option_of(MIX, plan, material))
    records = tuple(OptionRecord(**asdict(option)) for option in options)
    warnings = plan.plan.warnings
    if comparing.cut_short and not set(CUT_SHORT.values()) & set(warnings):
        warnings = (*warnings, SHORT_LOOK)
    return checked(plan.plan.model_copy(update={"comparison": records, "warnings": warnings}))


MixOf = Callable[[str, Sequence[Option]], Option]


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

    def options(self, mix_of: MixOf | None = None) -> list[Option]:
        options = []
        for material in self.materials:
            want = self.want.only(material)
            sizes = [stock for stock in self.job.stock if stock.material == material]
            problem(self.job, material, want, sizes)  # a part without any home is a fault of the job
            alone = [self._option(stock.name, want, [stock], 1) for stock in sizes]
            mix = mix_of(material, alone) if mix_of else self._mix(want, sizes, alone)
            least = min((option.cost for option in alone if option.feasible), default=mix.cost)
            name = MIX if not mix.feasible or mix.cost <= least else THIS_PLAN
            if len(self.materials) > 1:
                name = f"{name}: {material}"
            options += [replace(option, material=material) for option in (*alone, replace(mix, name=name))]
        return options

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
