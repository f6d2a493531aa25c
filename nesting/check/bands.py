"""Judge the band list: a strip for each banded edge, long enough, whole out of a roll that holds it."""

from __future__ import annotations

from collections.abc import Iterator

from nesting import lengths
from nesting.check.money import edge_size
from nesting.check.violation import Violation, say
from nesting.plan import Plan


def judge_bands(plan: Plan) -> Iterator[Violation]:
    """Every strip and every roll; nothing where the plan has no band list."""
    if plan.banding is None:
        return
    yield from _strips(plan)
    yield from _rolls(plan)


def _fault(part: int | None, text: str) -> Violation:
    return Violation("band-list", None, part, text)


def _strips(plan: Plan) -> Iterator[Violation]:
    assert plan.banding is not None
    parts = {part.number: part for part in plan.parts}
    wanted = {(part.number, edge) for part in plan.parts for edge in part.band}
    listed = [(strip.part, strip.edge) for strip in plan.banding.strips]
    for number, edge in sorted(wanted - set(listed)):
        yield _fault(number, f"no strip for its {edge} edge")
    for number, edge in sorted(set(listed) - wanted):
        yield _fault(number, f"a strip for its {edge} edge, which is not banded")
    if len(set(listed)) < len(listed):
        yield _fault(None, "an edge has two strips")
    least = lengths.INCH if plan.units is lengths.Units.INCH else 25 * lengths.MM
    if plan.banding.over < least:
        yield _fault(None, f"strips are cut {say(plan.banding.over, plan.units)} over, less than "
                           f"{say(least, plan.units)}")  # fmt: skip
    for strip in plan.banding.strips:
        if (strip.part, strip.edge) in wanted:
            run, slack = edge_size(parts[strip.part], strip.edge)
            short = run + plan.banding.over - strip.length
            if short > slack + 1:
                length = say(strip.length, plan.units)
                yield _fault(strip.part, f"the strip for its {strip.edge} edge is too short, {length}")


def _rolls(plan: Plan) -> Iterator[Violation]:
    assert plan.banding is not None
    known = {roll.number: roll for roll in plan.banding.rolls}
    if len(known) < len(plan.banding.rolls):
        yield _fault(None, "two rolls have one number")
    for strip in plan.banding.strips:
        if strange := [n for n in strip.rolls if n not in known or known[n].band != strip.band]:
            yield _fault(strip.part, f"roll {strange[0]}, for its {strip.edge} edge, is no roll of its band")
    for number, roll in known.items():
        whole = sum(strip.length for strip in plan.banding.strips if strip.rolls == (number,))
        if max(whole, roll.used) > roll.length:
            yield _fault(None, f"roll {number} has {say(roll.length, plan.units)}, and its strips come to "
                               f"{say(max(whole, roll.used), plan.units)}")  # fmt: skip
    prices = [roll.price for roll in plan.banding.rolls if roll.price is not None]
    if (plan.banding.cost or 0) != round(sum(prices), 2):
        yield _fault(None, f"the rolls cost {sum(prices):.2f}")
