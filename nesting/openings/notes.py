"""What is to be said beside the numbers, in a carpenter's words; one short sentence each."""

from __future__ import annotations

from collections.abc import Sequence

from nesting.boards import narrowest
from nesting.job.models import Opening
from nesting.lengths import Units, with_unit
from nesting.openings.faces import deducts, is_lipping
from nesting.openings.frame import horn
from nesting.openings.records import Run
from nesting.openings.remedy import spot, up_words
from nesting.parts import Part


def warnings(opening: Opening, runs: Sequence[Run], units: Units) -> tuple[str, ...]:
    """What the user should act on before cutting."""
    over = [
        f"the {run.role} stands up to {up_words(run.worst, units)} proud, more than is allowed: {run.todo}"
        for run in runs if run.over
    ]  # fmt: skip
    return tuple(filter(None, (*over, iron_on(opening))))


def notes(opening: Opening, parts: Sequence[Part], units: Units) -> tuple[str, ...]:
    """What the user should know."""
    found = (_horns(opening, units), board(parts, units), lipping(opening))
    return tuple(filter(None, found))


def too_proud(runs: Sequence[Run], units: Units, above: str = "above the floor") -> str:
    """What to do at the worst station of all, where it is over what is allowed."""
    over = [run for run in runs if run.over]
    if not over:
        return ""
    run = max(over, key=lambda run: run.worst)
    station = max(run.stations, key=lambda station: station.proud)
    face = f" of room {station.face}'s face" if station.face else ""
    return (
        f"the {run.role} stands {up_words(station.proud, units)} proud{face} "
        f"{spot(run.role, station.at, units, above)}, more than is allowed: scribe or plane it, build out "
        "the wall, or use casing with a back band"
    )


def iron_on(opening: Opening) -> str:
    """That a thin band is planed through."""
    if not opening.band or is_lipping(opening) or not opening.proud.least:
        return ""
    return (
        "banding this thin cannot be planed flush with the wall: leave the jamb proud, band it once it "
        "is fitted, or use solid lipping"
    )


def _horns(opening: Opening, units: Units) -> str:
    if not horn(opening):
        return ""
    return f"the legs have horns: they end {with_unit(horn(opening), units)} above the head's upper face"


def board(parts: Sequence[Part], units: Units) -> str:
    """The narrowest usual board that each piece comes out of, and which pieces only a sheet gives."""
    least = {part.role: narrowest(max(part.width_start, part.width_end)) for part in parts}
    sheet = [part for part in parts if least[part.role] is None]
    boards = dict.fromkeys(name for name in least.values() if name)
    said = [f"{name} for the {' and the '.join(role for role in least if role and least[role] == name)}"
            for name in boards]  # fmt: skip
    if sheet:
        widest = with_unit(max(max(part.width_start, part.width_end) for part in sheet), units)
        said.append(f"none for the {' and the '.join(part.role or '' for part in sheet)} ({widest} at the "
                    "widest, a 1x12 has 11 1/4\"): a sheet is needed")  # fmt: skip
    return f"the narrowest board that would do: {', '.join(said)}"


def lipping(opening: Opening) -> str:
    """That a band is taken as lipping."""
    if not opening.band or opening.band.deduct or not deducts(opening):
        return ""
    return "a band this thick is solid lipping: the sheet is cut narrower by it"
