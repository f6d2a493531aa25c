"""From exact edges to whole steps: rounded up once, at the two ends of each piece, never chained."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from nesting.lengths import to_step
from nesting.openings.faces import Face
from nesting.openings.frame import LEG, ROLES, Edge, Frame, Piece, Role
from nesting.openings.studs import SIDES

Ends = tuple[int, int]
# An end of a piece: 0 for its lower or left one, 1 for its upper or right one.
End = tuple[Role, int]
TOP = 1


def round_up(frame: Frame, face: Face, exact: dict[Role, Edge], step: int) -> dict[Role, Ends]:
    """Offsets at the two ends of each piece as they are cut, whole steps, before banding.

    Both ends stand at or above the exact edge, so no station between them is short. One past an end can
    be, as a line that is carried on leaves what it was rounded up by: that end goes up a step more.
    Where a corner then differs by more than a step, so does the lower piece's end there. The
    higher the ends stand, the more of both is forgiven, so this comes to rest.
    """
    cut = {
        role: [
            to_step(exact[role].at(end) - face.deducted, step, "up") for end in (piece.start, piece.end)
        ]
        for role, piece in frame.pieces.items()
    }
    while low := set(_too_low(frame, face, cut, step)):
        for role, end in low:
            cut[role][end] += step
    return {role: (first, last) for role, (first, last) in cut.items()}


def finished(piece: Piece, ends: Ends | list[int], band: int) -> Edge:
    """The edge of a piece as cut, moved out by a band."""
    first, last = (Fraction(end + band) for end in ends)
    return Edge.through(piece.start, first, piece.end, last)


def corner(frame: Frame, edges: dict[Role, Edge]) -> Iterator[tuple[Role, Fraction, int, Fraction]]:
    """At the left and the right corner: the leg, its offset there, the head's end, its offset there."""
    for end, side in enumerate(SIDES):
        leg = LEG[side]
        yield (
            leg,
            edges[leg].at(frame.pieces[leg].joints[TOP]),
            end,
            edges["head"].at(frame.pieces["head"].joints[end]),
        )


def _too_low(frame: Frame, face: Face, cut: dict[Role, list[int]], step: int) -> Iterator[End]:
    edges = {role: finished(frame.pieces[role], ends, face.deducted) for role, ends in cut.items()}
    for role in ROLES:
        for at, least in face.needed(role):
            if edges[role].at(at) < least:
                yield role, int(at > frame.pieces[role].end)
    for leg, of_leg, end, of_head in corner(frame, edges):
        if of_leg < of_head - step:
            yield leg, TOP
        if of_head < of_leg - step:
            yield "head", end
