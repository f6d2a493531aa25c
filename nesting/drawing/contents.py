"""What the packet and the report page hold, in their order, in the neutral form of the reports."""

from __future__ import annotations

from nesting.check import CheckedPlan
from nesting.report.blocks import Section
from nesting.report.cautions import cautions_section
from nesting.report.order import banding_sections, order_section
from nesting.report.partslist import opening_section, parts_section
from nesting.report.waste import proof_line, waste_section


def before_sheets(checked: CheckedPlan) -> list[Section]:
    """Order, banding, warnings and parts: what is read before anything is cut."""
    plan = checked.plan
    order = order_section(checked)
    sections = [Section(order.title, (*order.blocks, proof_line(plan))), *banding_sections(checked)]
    if plan.warnings:
        sections.append(Section("Mind before cutting", plan.warnings))
    return [*sections, parts_section(checked)]


def after_sheets(checked: CheckedPlan) -> list[Section]:
    """The openings to install, the waste report and the cautions."""
    openings = [opening_section(checked, opening) for opening in checked.plan.openings]
    return [*openings, waste_section(checked), cautions_section(checked)]
