"""From a measured window to its four parts: legs, head and sill, plumb or splayed.

A window is read from the edge of its frame to the finished face of the wall. The edge on the frame is the
straight one; the other covers the wall. Along the wall the four edges are one closed line in space, bent at
the four corners, each of which lies on the line in which two show faces meet. Where the pieces lean, a
corner's place along the run so depends on its depth: the covering line is asked for with the places of the
depths found before, until they stay. (They shift by splay times taper: by a hundredth of the change of the
depth where a wall changes by 1 in 100 at 45 degrees, so two or three passes do.) Without splay the places are
the same from the start, and the pieces are those of a plain frame.

Widths are rounded up once, at the two ends. A wider end lies further along its own line, so the new edge
lies nowhere below the exact one between the ends; a station past them, and the corners, are looked at again.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from typing import Literal

from nesting.errors import Fault, JobError
from nesting.job.models import Opening
from nesting.lengths import INCH, MM, Units, nearest, to_step, with_unit
from nesting.openings import notes
from nesting.openings.cover import NODES, cover
from nesting.openings.faces import Face, faces_of
from nesting.openings.faults import below_two_places
from nesting.openings.frame import LEG, Edge, Frame, Piece, Role
from nesting.openings.pieces import runs_back
from nesting.openings.records import Fit, Run, Station
from nesting.openings.splay import LEAST_BEVEL, Leaning, NeverClosesError, lean, window_width
from nesting.openings.studs import SIDES
from nesting.parts import Part
from nesting.stock import Material

Pieces = dict[Role, Leaning]
Edges = dict[Role, Edge]
Corner = Literal["left", "right", "lower left", "lower right"]
# Each corner with its leg and the leg's end there, and the piece it meets with that one's end.
CORNERS: dict[Corner, tuple[tuple[Role, int], tuple[Role, int]]] = {
    "left": (("left leg", 1), ("head", 0)),
    "right": (("right leg", 1), ("head", 1)),
    "lower left": (("left leg", 0), ("sill", 0)),
    "lower right": (("right leg", 0), ("sill", 1)),
}
SLACK = MM // 10  # by so much more than it must a piece may stand proud, for the others' sake
FAR = 4 * INCH  # a corner without a reading so near is a guess (common practice, no source)
MOST_PASSES = 20
AT_REST = INCH // 1000
UPRIGHT = ("sill", "TOP")
LEVEL = ("left", "right")


def fit_window(opening: Opening, material: Material, step: int, units: Units) -> Fit:
    """Fit legs, head and sill to a measured window; see :func:`nesting.openings.fit_opening`."""
    thickness = material.thickness
    if faults := _faults(opening, thickness, step, units):
        raise JobError(faults)
    pieces = lean(opening, thickness, step)
    (face,) = faces_of(opening)
    try:
        widths = _round_up(pieces, face, _cover(pieces, face), step)
        edges = {role: piece.edge(widths[role], face.band) for role, piece in pieces.items()}
        corners = {name: dict(_depths(pieces, edges, name)) for name in CORNERS}
    except NeverClosesError as error:
        raise JobError([_fault(opening, "wall", None, units, str(error))]) from None
    parts = _parts(opening, material, pieces, widths)
    runs = tuple(_run(piece.role, edges[piece.role], face) for piece in pieces.values())
    return Fit(
        parts=parts,
        runs=runs,
        clear_width=nearest(_clear(pieces, "sill")),
        height={side: nearest(_clear(pieces, LEG[side])) for side in SIDES},
        corners={
            name: {key: nearest(depth) for key, depth in both.items()} for name, both in corners.items()
        },
        warnings=(
            *filter(None, (notes.too_proud(runs, units, "above the sill"), notes.iron_on(opening))),
            *_far(pieces, edges, face, units),
        ),
        notes=_notes(opening, parts, units),
    )


def _clear(pieces: Pieces, role: Role) -> Fraction:
    first, last = pieces[role].joints
    return last.base - first.base


def _cover(pieces: Pieces, face: Face) -> Edges:
    """The best covering edges, to a tenth of a millimetre: depth by place along each run.

    Where two edges are equally good (they turn about a belly) the answer can change from one pass to the
    next without end; half of the change is then taken, and what is left of it is a matter for rounding.
    """
    depths = dict.fromkeys(range(4), 0)
    for number in range(MOST_PASSES):
        frame = _frame(pieces, depths)
        (edges,) = cover(frame, [face], SLACK)
        found = {
            node: edges[role].at(place)
            for role in ("left leg", "right leg")
            for node, place in zip(NODES[role], frame.pieces[role].joints, strict=True)
        }
        if _at_rest(pieces, edges, frame, found):
            break
        share = Fraction(1, 1 if number < 6 else 2)
        depths = {node: nearest(depths[node] + share * (found[node] - depths[node])) for node in found}
    return edges


def _at_rest(pieces: Pieces, edges: Edges, frame: Frame, depths: dict[int, Fraction]) -> bool:
    """Whether no corner's place is so far off that a piece's depth there changes."""
    return all(
        abs((line.at(depths[node]) - place) * edges[role].slope) < AT_REST
        for role, piece in pieces.items()
        for node, line, place in zip(NODES[role], piece.joints, frame.pieces[role].joints, strict=True)
    )


def _frame(pieces: Pieces, depths: dict[int, int]) -> Frame:
    """The pieces as they run along the wall, their corners at these depths."""
    laid: dict[Role, Piece] = {}
    for role, piece in pieces.items():
        deep = [depths[node] for node in NODES[role]]
        low, high = (nearest(line.at(z)) for line, z in zip(piece.joints, deep, strict=True))
        start, end = (line.at(z) for line, z in zip(piece.ends, deep, strict=True))
        if low >= high or start >= end:
            raise NeverClosesError
        laid[role] = Piece(role, nearest(end - start), start, (low, high))
    return Frame(0, {}, laid)


def _round_up(pieces: Pieces, face: Face, exact: Edges, step: int) -> dict[Role, tuple[int, int]]:
    """Widths at the two ends as they are cut square, whole steps; see the module."""
    cut = {
        role: [piece.width(end.meets(exact[role], piece.lift - face.deducted), step) for end in piece.ends]
        for role, piece in pieces.items()
    }
    if gone := [role for role, ends in cut.items() if min(ends) <= 0]:
        raise NeverClosesError(f"the {gone[0]} comes to nothing at one end; check its readings, or take one "
                               "nearer that end")
    while low := set(_too_low(pieces, face, cut, step)):
        for role, end in low:
            cut[role][end] += step
    return {role: (first, last) for role, (first, last) in cut.items()}


def _too_low(
    pieces: Pieces, face: Face, cut: dict[Role, list[int]], step: int
) -> Iterator[tuple[Role, int]]:
    edges = {role: piece.edge(cut[role], face.deducted) for role, piece in pieces.items()}
    for role, edge in edges.items():
        for at, least in face.needed(role):
            if edge.at(at) < least:
                yield role, int(at > edge.start)
    for name, ends in CORNERS.items():
        (_, of_leg), (_, of_other) = _depths(pieces, edges, name)
        if abs(of_leg - of_other) > step:
            yield ends[int(of_leg > of_other)]


def _depths(pieces: Pieces, edges: Edges, name: Corner) -> Iterator[tuple[str, Fraction]]:
    """How deep the leg, and the piece it meets, reach at a corner."""
    for role, end in CORNERS[name]:
        yield role.split()[-1], pieces[role].joints[end].meets(edges[role])


def _run(role: Role, edge: Edge, face: Face) -> Run:
    stations = sorted(
        (
            Station(at, wall, wall + nearest(proud), nearest(proud))
            for at, wall in face.wall[role]
            for proud in [edge.at(at) - wall]
        ),
        key=lambda station: station.at,
    )
    over = any(edge.at(at) - wall > face.most for at, wall in face.wall[role])
    return Run(role, tuple(stations), max(station.proud for station in stations), over)


def _parts(
    opening: Opening, material: Material, pieces: Pieces, widths: dict[Role, tuple[int, int]]
) -> tuple[Part, ...]:
    return tuple(
        _part(number, opening, material, piece, widths[piece.role])
        for number, piece in enumerate(pieces.values(), 1)
    )


def _part(number: int, opening: Opening, material: Material, piece: Leaning, widths: tuple[int, int]) -> Part:
    """The part in its standard form; straight edge on the window's frame."""
    skews = [
        nearest(line.carry * width / piece.plane.secant)
        for line, width in zip(piece.ends, widths, strict=True)
    ]
    marks = UPRIGHT if piece.role not in ("head", "sill") else LEVEL
    bevels = piece.bevels
    if runs_back(piece.role, opening.straight):
        skews, widths, marks, bevels = [-skews[1], -skews[0]], widths[::-1], marks[::-1], bevels[::-1]
    banded = opening.band.edges if opening.band else ()
    tilted = {"start": bevels[0], "end": bevels[1], "straight": piece.plane.degrees,
              "far": -piece.plane.degrees}  # fmt: skip
    return Part(
        number=number,
        id=f"{opening.name} {piece.role}",
        material=material.name,
        thickness=material.thickness,
        length=piece.length,
        width_start=widths[0],
        width_end=widths[1],
        skew_start=skews[0],
        skew_end=skews[1],
        grain="length" if material.grain else "any",
        may_flip=material.both_faces,
        opening=opening.name,
        role=piece.role,
        band=tuple(edge for edge, room in (("far", "A"), ("straight", "B")) if room in banded),
        band_thickness=opening.band.thickness if opening.band else 0,
        marks={"start": marks[0], "end": marks[1], "straight": "window", "far": "room"},
        bevels={edge: round(degrees, 2) for edge, degrees in tilted.items() if abs(degrees) >= LEAST_BEVEL},
    )


def _faults(opening: Opening, thickness: int, step: int, units: Units) -> list[Fault]:
    found = list(below_two_places(opening.wall))
    if opening.height is None or opening.line is not None:
        found.append(("height", None, "is needed, from sill to head inside the window's frame"))
    elif min(opening.height.left, opening.height.right, window_width(opening)) < step:
        found.append(("height and width", None, "inside the window's frame must be more than a step"))
    if opening.joint == "rabbet" and not 0 < opening.rabbet < thickness:
        right = f"must be more than 0 and less than the sheet's thickness, {with_unit(thickness, units)}"
        found.append(("rabbet", opening.rabbet, right))
    readings = [getattr(opening.wall, run) for run in ("left", "right", "head", "sill")]
    if any(reading.face_a is not None for run in readings for reading in run):
        found.append(("wall", None, "of a window is read [where, depth]"))
    return [_fault(opening, what, value, units, right) for what, value, right in found]


def _fault(opening: Opening, what: str, value: int | None, units: Units, right: str) -> Fault:
    return Fault(f"opening {opening.name}", what, "" if value is None else with_unit(value, units), right)


def _far(pieces: Pieces, edges: Edges, face: Face, units: Units) -> Iterator[str]:
    """Ends along the wall that no reading is near; where pieces lean they are not where the frame ends."""
    for role, piece in pieces.items():
        ends = ("left", "right") if role in ("head", "sill") else ("lower", "upper")
        for end, joint in zip(ends, piece.joints, strict=True):
            corner = nearest(joint.at(joint.meets(edges[role])))
            if min(abs(at - corner) for at, _ in face.wall[role]) > FAR:
                place = with_unit(to_step(corner, INCH // 8), units)
                yield (f"the {role} has no reading within {with_unit(FAR, units)} of its {end} corner on the "
                       f"wall, which comes at about {place}: take one there")  # fmt: skip


def _notes(opening: Opening, parts: tuple[Part, ...], units: Units) -> tuple[str, ...]:
    found = (_reveal(opening, units), _level(opening, units), _bevels(parts), _wide_band(parts, units),
             notes.board(parts, units), notes.lipping(opening))  # fmt: skip
    return tuple(filter(None, found))


def _reveal(opening: Opening, units: Units) -> str:
    width = opening.width
    apart = window_width(opening) - min(width.low, width.middle, width.high)
    if not apart:
        return ""
    return (
        f"the window's frame is {with_unit(apart, units)} wider in one place than in another: each reveal at "
        f"the sides is {with_unit(opening.reveal, units)} there, and both together are as much more elsewhere"
    )


def _level(opening: Opening, units: Units) -> str:
    if not opening.height or opening.height.left == opening.height.right:
        return ""
    out = with_unit(abs(opening.height.left - opening.height.right), units)
    lower = "left" if opening.height.left < opening.height.right else "right"
    return f"the head follows the window's frame, {out} nearer the sill on the {lower}"


def _wide_band(parts: tuple[Part, ...], units: Units) -> str:
    """A bevelled edge is wider than the sheet is thick: by 1 / cos of the bevel."""
    wide = max(
        (part.thickness / math.cos(math.radians(part.bevels[edge]))
         for part in parts for edge in part.band if edge in part.bevels), default=0.0,
    )  # fmt: skip
    if not wide:
        return ""
    grid = INCH // 32 if units is Units.INCH else MM // 2
    least = with_unit(to_step(Fraction(wide), grid, "up"), units)
    return f"a bevelled edge is wider than the sheet is thick: its band has to cover {least}"


def _bevels(parts: tuple[Part, ...]) -> str:
    if not any(part.bevels for part in parts):
        return ""
    words = (
        "the sizes hold the bevels: cut each piece square to its line first, then tilt the saw. Bevel under: "
        "the show face keeps the line, the back is undercut. Bevel over: the back keeps the line, the show "
        "face is cut back"
    )
    if any("far" in part.bevels for part in parts):
        words += (
            ". Along the window's frame under, along the wall over, so that both edges lie flat with their "
            "whole thickness"
        )
    return words
