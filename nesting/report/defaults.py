"""What the job left open: the value taken, what for, and who says so."""

from __future__ import annotations

from nesting.plan import Plan
from nesting.report.blocks import Section, table

NOTE = "Write a key into the job to have it otherwise; the README lists them."


def defaults_sections(plan: Plan) -> tuple[Section, ...]:
    """Build the list for print; nothing where the plan has none."""
    if not plan.defaults:
        return ()
    rows = [(one.key, ", ".join(one.of), one.value, one.source) for one in plan.defaults]
    listed = table(("key", "of", "value", "source"), rows, "llll")
    return (Section("Taken because the job does not say", (listed, NOTE)),)
