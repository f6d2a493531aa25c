"""What a curved edge would save against the straight one, and what to do where it stands too proud.

A curved edge is scribed to the readings: at each station it stands the least proud, and between two it is
straight. What it saves is what the straight edge stands proud beyond that: at the worst station a length,
and in all the area between the two edges from the first station to the last.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from nesting.job.models import Opening
from nesting.lengths import INCH, MM, Units, to_step, with_unit
from nesting.openings.faces import is_lipping
from nesting.openings.frame import Piece, Role
from nesting.openings.records import Run, Station

# Up to this a plane brings it down once it is hung (common practice, no source).
PLANE = INCH // 16
# Up to this a carpenter scribes (3/8 in 5 feet 9 inches is known from a trade forum); a hollow deeper than
# this is built out (common practice, no source).
SCRIBE = 3 * INCH // 8


def with_remedy(
    run: Run, opening: Opening, units: Units, above: str = "above the floor", piece: Piece | None = None
) -> Run:
    """The run with what a curved edge saves, and what to do; at an end of the piece if read past it."""
    faces = tuple(dict.fromkeys(station.face for station in run.stations))
    by_face = [_upper(run.stations, face) for face in faces]
    least = opening.proud.least // len(by_face)
    saves = max(0, run.worst - least)
    area = sum(_twice_area(stations, least) for stations in by_face)
    if not run.over:
        return replace(run, saves=saves, saves_area=area)
    most = opening.proud.most // len(by_face)
    todo = []
    for face in faces:  # all of its readings, as the worst of the run is of all
        worst = max((s for s in run.stations if s.face == face), key=lambda station: station.proud)
        if worst.proud > most:
            place = _past(run.role, worst.at, piece) or spot(run.role, worst.at, units, above)
            todo.append(_todo(worst, opening, (least, most), place, units))
    return replace(run, saves=saves, saves_area=area, todo="; ".join(todo))


def _upper(stations: Sequence[Station], face: str | None) -> list[Station]:
    """The stations of one face; of those at one place the one that binds."""
    found: dict[int, Station] = {}
    for station in stations:
        if station.face == face and (station.at not in found or station.proud < found[station.at].proud):
            found[station.at] = station
    return [found[at] for at in sorted(found)]


def _twice_area(stations: Sequence[Station], least: int) -> int:
    return sum(
        (after.at - before.at) * (before.proud + after.proud - 2 * least)
        for before, after in pairwise(stations)
    )


def spot(role: Role, at: int, units: Units, above: str = "above the floor") -> str:
    """Where a station is: ``40" above the floor``."""
    level = role in ("head", "sill")
    place = "from the left" if level else above
    if at < 0:  # past the inside edge of a window's frame
        place = "left of the window" if level else "below the sill"
    if at == 0:
        return "at the left" if level else f"at the {above.rsplit(maxsplit=1)[-1]}"
    return f"{with_unit(abs(at), units)} {place}"


def _past(role: Role, at: int, piece: Piece | None) -> str:
    """The end of a piece past which a reading was taken: nothing of the piece is there to be worked on."""
    if piece is None or piece.start <= at <= piece.end:
        return ""
    ends = ("at its left end", "at its right end") if role == "head" else ("at its foot", "at its upper end")
    return ends[at > piece.end]


def _todo(worst: Station, opening: Opening, limits: tuple[int, int], place: str, units: Units) -> str:
    least, most = limits
    over, off = worst.proud - most, worst.proud - least
    room = f"along room {worst.face}: " if worst.face else ""
    return room + ", or ".join(_ways(opening, over, up_words(over, units), up_words(off, units), place))


def _ways(opening: Opening, over: int, by: str, off: str, place: str) -> Iterator[str]:
    """The ways to bring it within the limit, the least work first."""
    thin = opening.band is not None and not is_lipping(opening)
    through = opening.band is not None and over > opening.band.thickness // 2
    scribe = f"scribe it before it is {'banded' if thin else 'hung'}, {off} off {place}"
    build = f"build out the wall there by {by}"
    if over <= PLANE and not through:
        yield f"plane {by} off {place} once it is hung"
    elif over <= SCRIBE:
        yield scribe
    else:
        yield f"build out the wall by {by} {place}"
    yield scribe if over > SCRIBE else build
    yield "use casing with a back band"


def up_words(length: int, units: Units) -> str:
    """Write what is over, up to the next 1/64 inch or 0.1 mm."""
    return with_unit(to_step(length, INCH // 64 if units is Units.INCH else MM // 10, "up"), units)
