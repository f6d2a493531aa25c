"""The parts of a job before it is planned: sizes, how proud they stand, and what to mind."""

from __future__ import annotations

from typing import Any

from nesting.plan import OpeningRecord, Plan
from nesting.report.blocks import Section, as_text
from nesting.report.defaults import defaults_sections
from nesting.report.edging import strip_sections
from nesting.report.partslist import LOOSE, SEEN, by_opening, fit_section, part_table


def fitting_data(draft: Plan) -> dict[str, Any]:
    """Build parts, openings and warnings as data, with the keys and units of the plan file."""
    data = draft.model_dump(mode="json", by_alias=True, context={"units": draft.units})
    keys = ("job", "units", "step", "parts", "openings", "warnings", "banding", "defaults")
    return {key: data[key] for key in keys}


def fitting_text(draft: Plan) -> str:
    """Write the same for reading."""
    tables = [
        part_table(draft, parts, name or (LOOSE if draft.openings else ""))
        for name, parts in by_opening(draft).items()
    ]
    sections = [Section(f"Parts of {draft.job}", (*tables, SEEN))]
    if choices := tuple(filter(None, map(_choice, draft.openings))):
        sections.append(Section("Material", choices))
    sections += [fit_section(draft, opening) for opening in draft.openings]
    if draft.warnings:
        sections.append(Section("Warnings", draft.warnings))
    sections += [*strip_sections(draft), *defaults_sections(draft)]
    return as_text(sections)


def _choice(opening: OpeningRecord) -> str:
    """Which materials an opening may be of, and that its sizes here are for one of them."""
    if not opening.choices:
        return ""
    others = " or ".join(one.material for one in opening.choices if not one.taken)
    return (
        f"{opening.name} may be of {opening.material} or {others}. The sizes here are those in "
        f"{opening.material}; nesting plan takes what costs the least."
    )
