"""Each stock size alone and the best mix, side by side."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace

from nesting.check import CheckedPlan
from nesting.errors import JobError, NoPlanError
from nesting.job.job import Job
from nesting.packing.instance import Settings
from nesting.report.compare import MIX, Comparison, Option
from nesting.stock import Stock
from nesting.work.planner import Planner
from nesting.work.problem import problem
from nesting.work.wanted import Wanted

MIX_SHARES = 2  # of the time, against 1 for a size alone: the mix has the most to search


def compare_job(job: Job, settings: Settings) -> Comparison:
    """Plan each material of a job out of each size alone, and out of all of them.

    The seconds are for all plans together. A size alone is a mix too, so the mix is never dearer.

    Raises
    ------
    JobError
        If an opening takes no frame, or a part is too large for every size or every rail.
    """
    return Comparison(job.name, job.units, tuple(_Comparing(job, settings).options()), job.priced_by_area)


class _Comparing:
    def __init__(self, job: Job, settings: Settings) -> None:
        self.job = job
        self.settings = settings
        self.deadline = time.monotonic() + settings.seconds
        look = replace(settings, seconds=settings.seconds / 4)
        self.want, _ = Planner(job, job.stock, look).choose()
        self.materials = list(dict.fromkeys(part.material for part in self.want.parts))
        sizes = [stock for stock in job.stock if stock.material in self.materials]
        self.shares = len(sizes) + MIX_SHARES * len(self.materials)

    def options(self) -> list[Option]:
        options = []
        for material in self.materials:
            want = self.want.only(material)
            sizes = [stock for stock in self.job.stock if stock.material == material]
            problem(self.job, material, want, sizes)  # a part without any home is a fault of the job
            alone = [self._option(stock.name, want, [stock], 1) for stock in sizes]
            name = MIX if len(self.materials) == 1 else f"{MIX}: {material}"
            found = [*alone, _best(self._option(name, want, sizes, MIX_SHARES), alone)]
            options += [replace(option, material=material) for option in found]
        return options

    def _option(self, name: str, want: Wanted, stock: Sequence[Stock], shares: int) -> Option:
        """Plan with some of the stock; what stands in the way is said, not raised."""
        seconds = max(0.0, self.deadline - time.monotonic()) * shares / max(1, self.shares)
        self.shares -= shares
        planner = Planner(self.job, stock, replace(self.settings, seconds=seconds))
        try:
            return _option_of(name, planner.plan_for(want))
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


def _option_of(name: str, checked: CheckedPlan) -> Option:
    plan = checked.plan
    weights = {stock.name: stock.weight for stock in plan.stock}
    known = [weight for sheet in plan.sheets if (weight := weights[sheet.stock]) is not None]
    return Option(
        name=name,
        feasible=True,
        sheets=plan.totals.sheets,
        cost=plan.totals.cost,
        waste_percent=round(100 - plan.totals.used_percent, 2),
        heaviest=max(known, default=None),
        joined_cuts=sum(cut.joined for sheet in plan.sheets for cut in sheet.cuts),
        proved=plan.proof.proved,
        lower_bound=plan.proof.lower_bound,
    )
