"""What an opening's measures ask for beside the sizes: a curved edge or another remedy, and where to shim."""

from __future__ import annotations

from fractions import Fraction

from nesting.lengths import show
from nesting.plan import OpeningRecord, Plan, RunRecord
from nesting.report.areas import FINE, AreaUnit
from nesting.report.blocks import Block, Table
from nesting.report.rounding import decimal, rounded

SCRIBED = "What an edge scribed to the readings would save, at most"
SHIMS = "Shim space beside the legs, where the studs were measured"


def remedies(plan: Plan, opening: OpeningRecord) -> tuple[Block, ...]:
    """By how much less a curved edge would stand proud, and what to do with each piece that is over."""
    saving = [run for run in opening.runs if run.saves]
    if not saving:
        return ()
    unit = FINE[plan.units]
    rows = tuple(
        (
            run.role,
            show(run.worst, plan.units),
            show(run.saves, plan.units),
            show(_mean(run), plan.units),
            f"{_area(run.saves_area, unit)} {unit.name}",
        )
        for run in saving
    )
    head = ("piece", "straight: proud", "curved saves", "on average", "in all")
    todo = [
        f"{run.role.capitalize()}: {way}." for run in opening.runs if run.todo for way in run.todo.split("; ")
    ]
    return (Table(head, rows, "lrrrr", SCRIBED), *todo)


def _area(twice: int, unit: AreaUnit) -> str:
    return decimal(rounded(Fraction(twice * 10**unit.places, unit.twice)), unit.places)


def _mean(run: RunRecord) -> int:
    """What a curved edge saves on average between the first and the last station; of two edges the mean."""
    places = [station.at for station in run.stations]
    faces = len({station.face for station in run.stations})
    return round(run.saves_area / 2 / faces / ((max(places) - min(places)) or 1))


def shims(plan: Plan, opening: OpeningRecord) -> tuple[Block, ...]:
    """How wide the shim space is at each height."""
    rows = tuple(
        (side if k == 0 else "", show(station.at, plan.units, plan.step), show(station.gap, plan.units))
        for side, stations in opening.gaps.items()
        for k, station in enumerate(stations)
    )
    return (Table(("side", "above the floor", "shim space"), rows, "lrr", SHIMS),) if rows else ()
