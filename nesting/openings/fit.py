"""From a measured opening to its three parts, and how proud they stand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from nesting.errors import JobError
from nesting.job.models import Opening
from nesting.lengths import INCH, Units, nearest
from nesting.openings import level, notes, plane, studs
from nesting.openings.cover import cover
from nesting.openings.faces import Face, faces_of
from nesting.openings.faults import frame_faults, width_faults
from nesting.openings.frame import ROLES, Edge, Frame, Role, make_frame
from nesting.openings.pieces import OTHER, make_part
from nesting.openings.records import Fit, Run, Station
from nesting.openings.remedy import with_remedy
from nesting.openings.rounding import Ends, corner, finished, round_up
from nesting.openings.studs import SIDES
from nesting.openings.window import fit_window
from nesting.parts import Part
from nesting.stock import Material

GIVEN = INCH // 64  # by so much a piece may give way for another's sake: half of what a tape is read to
Cut = list[tuple[Face, dict[Role, Ends]]]
Edges = list[tuple[Face, dict[Role, Edge]]]


def fit_opening(opening: Opening, material: Material, step: int, units: Units) -> Fit:
    """Fit two legs and a head, and a window's sill, to a measured wall.

    Parameters
    ----------
    opening : Opening
        As measured, in inner units.
    material : Material
        What the pieces are cut from; its thickness counts.
    step : int
        Lengths and widths are whole steps, in inner units.
    units : Units
        For the lengths in faults and notes.

    Raises
    ------
    JobError
        If no frame can be built in the opening; all that stands in the way is named.
    """
    if opening.kind == "window":
        found = fit_window(opening, material, step, units)
        runs = tuple(with_remedy(run, opening, units, "above the sill") for run in found.runs)
        return replace(found, runs=runs)
    if faults := frame_faults(opening, material.thickness, step, units):
        raise JobError(faults)
    frame = make_frame(opening, material.thickness, step)
    faces = faces_of(opening)
    exact = cover(frame, faces, GIVEN)
    cut = [
        (face, round_up(frame, face, edges, step)) for face, edges in zip(faces, exact, strict=True)
    ]
    if faults := width_faults(opening, [ends for _, ends in cut], units):
        raise JobError(faults)
    parts = _parts(opening, material, frame, cut)
    edges = [
        (face, {role: finished(frame.pieces[role], ends[role], face.band) for role in ROLES})
        for face, ends in cut
    ]
    runs = tuple(with_remedy(_run(role, edges), opening, units, piece=frame.pieces[role]) for role in ROLES)
    twist = plane.twists(opening, frame, edges, max(parts[-1].width_start, parts[-1].width_end))
    return Fit(
        parts=parts,
        runs=runs,
        clear_width=frame.clear_width,
        height=frame.height,
        corners=_corners(frame, edges),
        warnings=(
            *notes.warnings(opening, runs, units),
            *studs.warnings(opening, units),
            *level.warnings(opening, frame, material.thickness, units),
            *plane.warnings(twist, units),
        ),
        notes=(
            *level.notes(opening, frame, material.thickness, units),
            *studs.notes(opening, units),
            *plane.notes(twist, units),
            *notes.notes(opening, parts, units),
        ),
        gaps=studs.gaps(opening),
        twist=twist,
    )


def _parts(opening: Opening, material: Material, frame: Frame, cut: Cut) -> tuple[Part, ...]:
    by_face = {face.name: ends for face, ends in cut}
    parts = []
    for number, role in enumerate(ROLES, 1):
        if None in by_face:  # the straight edge is plumb, so the width is the far edge's offset
            straight, far = (0, 0), by_face[None][role]
        else:
            room = opening.straight
            straight, far = by_face[room][role], by_face[OTHER[room]][role]
        parts.append(make_part(number, opening, material, frame.pieces[role], straight, far))
    return tuple(parts)


def _run(role: Role, edges: Edges) -> Run:
    stations, over = [], False
    for face, pieces in edges:
        for at, wall in face.wall[role]:
            proud = pieces[role].at(at) - wall
            over = over or proud > face.most
            stations.append(Station(at, wall, wall + nearest(proud), nearest(proud), face.name))
    stations.sort(key=lambda station: station.at)
    return Run(role, tuple(stations), max(station.proud for station in stations), over)


def _corners(frame: Frame, edges: Edges) -> dict[str, dict[str, int]]:
    total = {side: {"leg": Fraction(0), "head": Fraction(0)} for side in SIDES}
    for _, pieces in edges:
        for side, (_, leg, _, head) in zip(SIDES, corner(frame, pieces), strict=True):
            total[side]["leg"] += leg
            total[side]["head"] += head
    return {side: {key: nearest(value) for key, value in both.items()} for side, both in total.items()}
