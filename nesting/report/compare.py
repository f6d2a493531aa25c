"""How the stock sizes compare: each alone, and the best mix."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from fractions import Fraction
from typing import Any

from nesting.lengths import Units
from nesting.plan import Plan
from nesting.report.blocks import Section, as_text, table
from nesting.report.rounding import decimal, money, rounded

MIX, THIS_PLAN = "best mix", "this plan"


@dataclass(frozen=True, slots=True)
class Option:
    """One way to buy: a stock alone, or the best mix.

    Attributes
    ----------
    feasible : bool
        Whether a plan was found; ``why_not`` says why none.
    sheets : dict
        How many by stock.
    cost : float
        Money before any credit, or area where no prices are given.
    waste_percent : float
        What of the area bought is not in parts.
    heaviest : float or None
        Weight of the heaviest sheet, pounds or kilograms; None where not known.
    joined_cuts : int
        Cuts that need rails joined.
    proved : bool
        No cheaper plan exists out of these sheets.
    lower_bound : float
        What is proved to be needed at least.
    material : str
        Options of one material are compared with each other.
    """

    name: str
    feasible: bool
    why_not: str = ""
    sheets: dict[str, int] = field(default_factory=dict)
    cost: float = 0.0
    waste_percent: float = 0.0
    heaviest: float | None = None
    joined_cuts: int = 0
    proved: bool = False
    lower_bound: float = 0.0
    material: str = ""


@dataclass(frozen=True, slots=True)
class Comparison:
    """The options side by side, in the order they are to be shown."""

    job: str
    units: Units
    options: tuple[Option, ...]
    priced_by_area: bool = False

    def cheapest(self, material: str | None = None) -> float | None:
        """Least cost of those that can be had, of one material or of all; None where none can."""
        costs = (o.cost for o in self.options if o.feasible and material in (None, o.material))
        return min(costs, default=None)

    def more(self, option: Option) -> float:
        """How far an option's cost is above the cheapest of its material."""
        return option.cost - (self.cheapest(option.material) or 0)


def comparison_of(plan: Plan) -> Comparison | None:
    """Read the comparison that a plan carries; None where none was worked out."""
    if not plan.comparison:
        return None
    options = tuple(Option(**record.model_dump()) for record in plan.comparison)
    return Comparison(plan.job, plan.units, options, plan.priced_by_area)


def compare_data(comparison: Comparison) -> dict[str, Any]:
    """Build the comparison as data for JSON; ``more`` is the cost above the cheapest."""
    return {
        "job": comparison.job,
        "units": str(comparison.units),
        "priced_by_area": comparison.priced_by_area,
        "options": [
            asdict(option) | {"more": round(comparison.more(option), 2) if option.feasible else None}
            for option in comparison.options
        ],
    }


def compare_section(comparison: Comparison, beside_chart: bool = False) -> Section:
    """Build the comparison for print, and say why a size cannot, unless the chart beside it does."""
    cost = "area" if comparison.priced_by_area else "cost"
    weight = "heaviest lb" if comparison.units is Units.INCH else "heaviest kg"
    head = ("stock", "sheets", cost, "more", "waste %", weight, "joined cuts", "proof")
    rows = [
        _row(option, comparison.more(option)) if option.feasible
        else (option.name, "no", *[""] * 6)
        for option in comparison.options
    ]  # fmt: skip
    reasons = [
        f"{option.name} alone: {option.why_not or 'no plan found'}"
        for option in comparison.options if not option.feasible and not beside_chart
    ]  # fmt: skip
    note = (
        "More: above the cheapest of its material. Proof: that no cheaper plan exists out of the stock "
        "named, or how far at most the cost is above what is proved to be needed."
    )
    return Section("How the stock compares", (table(head, rows, "llrrrrrl"), *reasons, note))


def compare_text(comparison: Comparison) -> str:
    """Write the comparison as an aligned plain table."""
    return as_text([compare_section(comparison)])


def _row(option: Option, more: float) -> tuple[str, ...]:
    return (
        option.name,
        " + ".join(f"{count} {name}" for name, count in option.sheets.items()),
        money(option.cost),
        f"+{money(more)}" if round(more * 100) else "least",
        decimal(rounded(Fraction(option.waste_percent) * 10), 1),
        "" if option.heaviest is None else decimal(rounded(Fraction(option.heaviest)), 0),
        str(option.joined_cuts),
        _proof(option),
    )


def _proof(option: Option) -> str:
    if option.proved:
        return "proved"
    if option.lower_bound <= 0:
        return "open"
    cost, bound = Fraction(option.cost), Fraction(option.lower_bound)
    return f"within {decimal(-((bound - cost) * 1000 // bound), 1)} %"
