"""What the packet and the report page hold, in their order, in the neutral form of the reports."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.check import CheckedPlan
from nesting.drawing.chart import comparison_svg
from nesting.drawing.installing import legend, opening_svg
from nesting.plan import OpeningRecord
from nesting.report.blocks import Section
from nesting.report.cautions import cautions_section
from nesting.report.compare import Comparison, compare_section, comparison_of
from nesting.report.defaults import defaults_sections
from nesting.report.edging import banding_sections
from nesting.report.order import choice_sections, order_section
from nesting.report.partslist import opening_section, part_table, parts_section
from nesting.report.waste import proof_line, waste_section


@dataclass(frozen=True, slots=True)
class Leaf:
    """A section, under its picture if it has one; ``fresh`` begins a page of its own.

    ``says`` is what the picture says in words and the section does not.
    """

    section: Section
    picture: str = ""
    fresh: bool = False
    says: str = ""


def before_sheets(checked: CheckedPlan, comparison: Comparison | None = None) -> list[Leaf]:
    """Order, banding, warnings, comparison, parts: what is read before anything is cut.

    The comparison is the plan's own, where none is given.
    """
    plan = checked.plan
    order = order_section(checked)
    sections = [
        Section(order.title, (*order.blocks, proof_line(plan))),
        *choice_sections(checked),
        *banding_sections(checked),
    ]
    leaves = [Leaf(section) for section in sections]
    if plan.warnings:
        mind = tuple(text[:1].upper() + text[1:] for text in plan.warnings)
        leaves.append(Leaf(Section("Mind before cutting", mind)))
    if comparison := comparison or comparison_of(plan):
        cannot = (f"{o.name}: {o.why_not}" for o in comparison.options if not o.feasible)
        leaves.append(Leaf(compare_section(comparison, True), comparison_svg(comparison),
                           says="; ".join(cannot)))  # fmt: skip
    return [*leaves, Leaf(parts_section(checked))]


def after_sheets(checked: CheckedPlan) -> list[Leaf]:
    """The openings to install, the waste report and the cautions."""
    openings = [_opening(checked, opening) for opening in checked.plan.openings]
    return [*openings, Leaf(waste_section(checked), fresh=True), Leaf(cautions_section(checked)),
            *map(Leaf, defaults_sections(checked.plan))]


def _opening(checked: CheckedPlan, opening: OpeningRecord) -> Leaf:
    section, picture = opening_section(checked, opening), opening_svg(checked.plan, opening)
    pieces = part_table(checked.plan, [p for p in checked.plan.parts if p.opening == opening.name], "Pieces")
    words = (legend(opening),) if picture else ()
    return Leaf(Section(section.title, (*words, pieces, *section.blocks)), picture, fresh=True)
