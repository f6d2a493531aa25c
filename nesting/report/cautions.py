"""Cautions that fit the job: short, neutral, each with its source.

They are no substitute for the tool maker's instructions or for local rules.
"""

from __future__ import annotations

from dataclasses import dataclass

from nesting.check import CheckedPlan
from nesting.lengths import INCH, Units
from nesting.plan import Plan
from nesting.report.blocks import Section, as_text, table

LIFT = {Units.INCH: 51.0, Units.MM: 23.0}
"""Pounds or kilograms for an ideal lift (NIOSH Publication 94-110)."""


@dataclass(frozen=True, slots=True)
class Caution:
    """What it is about, what to do, and who says so."""

    topic: str
    text: str
    source: str


ALWAYS = (
    Caution(
        "kickback",
        "A sagging offcut pinches the blade. Support both sides of the cut over their whole length, with "
        "two bearers on each side of it or a full foam bed; do not pull back while turning.",
        "saw makers' manuals",
    ),
    Caution("saw", "Guards in place; the lower guard must snap shut.", "29 CFR 1926.304(d)"),
    Caution("eyes, hearing", "Wear eye and hearing protection.", "29 CFR 1926.102, 1926.101"),
    Caution(
        "dust",
        "Wood dust is classed as a human carcinogen. Use extraction and a respirator.",
        "IARC Monograph 62 (1995)",
    ),
    Caution("panels", "Ask for TSCA Title VI compliant panels.", "40 CFR 770"),
)
AT_OPENINGS = (
    Caution(
        "nailer",
        "Use a full sequential trigger; keep hands out of line of the nail; expect blow-out near edges.",
        "OSHA/NIOSH nail gun safety guide (2011)",
    ),
    Caution(
        "lead",
        "House before 1978: the EPA renovation rule may apply, over 6 sq ft of painted surface disturbed "
        "in a room, or any window replaced or painted part demolished.",
        "40 CFR 745.83",
    ),
    Caution(
        "asbestos",
        "Old plaster, texture and joint compound can contain asbestos. Leave it, or test before cutting.",
        "EPA advice to homeowners",
    ),
    Caution(
        "code",
        "Garage, unit-separation, stair and bedroom-egress openings: check local code before changing "
        "size or material. Rated frames may not be altered.",
        "IRC R302.5.1; local authority",
    ),
)


def cautions(checked: CheckedPlan) -> list[Caution]:
    """List the cautions that apply to this plan, the ones about its own sheets first."""
    plan = checked.plan
    own = [_lift(plan), _joined(plan), _packer(plan), _band(plan)]
    return [*filter(None, own), *ALWAYS, *(AT_OPENINGS if plan.openings else ())]


def cautions_section(checked: CheckedPlan) -> Section:
    """Build the cautions for print."""
    rows = [(c.topic, c.text, c.source) for c in cautions(checked)]
    note = "Not a substitute for the tool maker's instructions or local rules."
    return Section("Cautions", (table(("about", "caution", "source"), rows, "lll"), note))


def cautions_text(checked: CheckedPlan) -> str:
    """Write the cautions as plain text."""
    return as_text([cautions_section(checked)])


def _lift(plan: Plan) -> Caution | None:
    used = [(s.weight, s.name) for s in plan.stock if s.weight and plan.totals.sheets.get(s.name)]
    weight, name = max(used, default=(0.0, ""))
    if weight <= LIFT[plan.units]:
        return None
    unit, limit = ("lb", "51 lb") if plan.units is Units.INCH else ("kg", "23 kg")
    half = " Halved between two it is still over that." if weight / 2 > LIFT[plan.units] else ""
    return Caution(
        "lift",
        f"A sheet of {name} weighs about {weight:.0f} {unit}. The lifting equation starts from {limit} "
        f"for an ideal lift; wide sheets are not ideal. Plan two people or a cart.{half}",
        "NIOSH Pub. 94-110 (rev. 2021)",
    )


def _joined(plan: Plan) -> Caution | None:
    count = sum(cut.joined for sheet in plan.sheets for cut in sheet.cuts)
    if not count:
        return None
    which = "One cut needs" if count == 1 else f"{count} cuts need"
    return Caution(
        "joined rails",
        f"{which} rails joined end to end. Connectors have play: align with a known straightedge on "
        "the reference edge, tighten in turns, check again after moving.",
        "common practice, no source",
    )


def _packer(plan: Plan) -> Caution | None:
    count = sum(cut.packer for sheet in plan.sheets for cut in sheet.cuts)
    if not count:
        return None
    which = "one cut" if count == 1 else f"{count} cuts"
    return Caution(
        "narrow pieces",
        f"For {which} the piece is narrower than the rail: lay a piece of the same sheet beside it, or "
        "the rail tips.",
        "common practice, no source",
    )


def _band(plan: Plan) -> Caution | None:
    if not plan.totals.banding:
        return None
    proud = any(run.worst > 0 for opening in plan.openings for run in opening.runs)
    thin = any(band.thickness < INCH // 8 for band in plan.totals.banding.values())
    plane = (" Thin band does not survive planing flush: where a piece is to be planed, band it after "
             "fitting or use solid lipping.")  # fmt: skip
    return Caution(
        "banding",
        "The iron is hot; unplug it, keep it off cords." + (plane if proud and thin else ""),
        "common practice, no source",
    )
