"""Judge what a plan tells of one without joined rails: its sheets, their cost, and what is proved of it."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from nesting.check.violation import Code, Violation, cents, say_cents
from nesting.plan import Plan, SingleRail

_NOISE = Fraction(1, 10**6)  # of the job's money: what a float may be off


def judge_single_rail(plan: Plan) -> Iterator[Violation]:
    """Judge it where it is told; that plan itself is not in the file."""
    if plan.single_rail is not None:
        for code, text in (*_use(plan, plan.single_rail), *_figures(plan, plan.single_rail)):
            yield Violation(code, None, None, text)


def _use(plan: Plan, single: SingleRail) -> Iterator[tuple[Code, str]]:
    if not any(cut.joined for sheet in plan.sheets for cut in sheet.cuts):
        yield "single-use", "single_rail is told, and no cut joins rails"
    if single.cost is None and not single.why:
        yield "single-use", "single_rail has no cost, and no reason why there is none"
    if single.cost is not None and single.why:
        yield "single-use", f"single_rail has a cost, and a reason why there is none: {single.why}"


def _figures(plan: Plan, single: SingleRail) -> Iterator[tuple[Code, str]]:
    if single.cost is None:
        if single.lower_bound or single.sheets:
            yield "single-bound", "single_rail has no cost, but a bound or sheets"
        return
    yield from _cost(plan, single, cents(single.cost))
    if single.credit < 0 or (single.credit and not plan.keep.credit):
        yield "single-cost", f"single_rail has a credit of {single.credit:g}, which the job does not give"
    if single.lower_bound > Fraction(single.cost) - Fraction(single.credit) + _NOISE:
        yield "single-bound", f"single_rail's bound {single.lower_bound:g} is above its cost {single.cost:g}"


def _cost(plan: Plan, single: SingleRail, cost: int) -> Iterator[tuple[Code, str]]:
    sizes = {size.name: size for size in plan.stock}
    for name, number in single.sheets.items():
        if name not in sizes:
            yield "single-cost", f"single_rail has sheets of {name}, which is not offered"
            return
        count = sizes[name].count
        if number < 1 or (count is not None and number > count):
            yield "single-cost", f"single_rail takes {number} of {name}, and {count} can be had"
    right = sum(number * cents(sizes[name].price) for name, number in single.sheets.items())
    if cost != right:
        yield "single-cost", f"single_rail: {say_cents(cost)} written, its sheets cost {say_cents(right)}"
    if Fraction(single.cost or 0) - Fraction(single.credit) < Fraction(plan.proof.lower_bound) - _NOISE:
        yield "single-cost", (f"single_rail costs {say_cents(cost)}, and even with joined rails "
                              f"{plan.proof.lower_bound:g} is proved to be needed")  # fmt: skip
