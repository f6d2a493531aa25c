"""The flat parts of splayed windows put up in space, by nothing but their sizes and their splay.

Numbers are floats and the way is another than the program's: each part is folded up by rotations, set on the
window's frame at its reveal, and the edges of neighbours are measured against each other. Inches.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import pytest
from shapely.geometry import Polygon

from nesting.job.models import Opening
from nesting.lengths import INCH, Units
from nesting.openings import Fit, fit_opening
from nesting.parts import Part
from tests.openings.test_window import random_window
from tests.openings.walls import THREE_QUARTERS, flat, height, inch, part
from tests.openings.windows import ALL, all_round, even, splay, window

FINE = INCH // 254  # a tenth of a millimetre, so that rounding hides nothing of the geometry
HUNDREDTH = 0.01
T = 0.75
SIDES = {"left leg": "left", "right leg": "right", "head": "head", "sill": "sill"}
Points = np.ndarray


@dataclass(frozen=True)
class Put:
    """A part in space: show corners as cut square, the true room edge, its face's normal, its lean."""

    corners: Points  # c0 c1 on the frame, c2 c3 at the wall, of the square blank
    room: Points  # two points of the show face's edge along the wall once it is bevelled
    normal: Points  # unit, away from the opening
    lean: float


def turned(angle: float, axis: Points) -> Points:
    """Rotation about a unit axis (Rodrigues)."""
    x, y, z = axis
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.eye(3) + math.sin(angle) * cross + (1 - math.cos(angle)) * cross @ cross


def put_up(one: Part, opening: Opening, fit: Fit) -> Put:
    """Fold a part up. Unfolded it lies in the plane of the window, its straight edge on the opening's side.

    Seen from the room, show face towards us, its room edge away from the opening: turned about its straight
    edge by 90 degrees less the splay, it comes to stand out into the room.
    """
    name = SIDES[one.role or ""]
    lean = math.atan(getattr(opening.splay, name))
    wide = max(opening.width.low, opening.width.middle, opening.width.high) / INCH
    left, right = opening.height.left / INCH, opening.height.right / INCH
    r = opening.reveal / INCH
    tilt = math.atan2(right - left, wide)
    # a point of the frame's inside edge, which way the part's straight edge runs from start to end
    foot, angle = {
        "left leg": ((0.0, 0.0), math.pi / 2),  # starts at the sill, runs up
        "head": ((0.0, left), tilt),
        "right leg": ((wide, right), -math.pi / 2),  # starts at its top, runs down
        "sill": ((wide, 0.0), math.pi),  # starts at the right
    }[one.role or ""]
    along = np.array([math.cos(angle), math.sin(angle), 0.0])
    away = np.array([-math.sin(angle), math.cos(angle), 0.0])  # the room edge lies on the left of the run
    flat_corners = np.array(one.outline, dtype=float) / INCH
    origin = np.array([*foot, 0.0]) + r * away
    shift = placed_along(one, opening, flat_corners, origin, along)
    lying = np.array([origin + (x + shift) * along + y * away for x, y in flat_corners])
    # about the straight edge: away -> (cos a) away + (sin a) towards the room, a = 90 less the splay
    turn = turned(math.pi / 2 - lean, along)
    corners = np.array([origin + turn @ (p - origin) for p in lying])
    normal = turn @ np.array([0.0, 0.0, -1.0])
    inward = T * math.tan(lean)  # what the bevel along the wall takes off the show face
    room = corners[2:] - inward * (turn @ away)
    return Put(corners, room, normal, lean)


def placed_along(one: Part, opening: Opening, corners: Points, origin: Points, along: Points) -> float:
    """Where it has to start for its show face to reach as far at one end as at the other.

    The frame's own inside corners, a reveal out, are where the joints are on the window's frame; what it
    has more than from joint to joint is shared by the thickness its neighbours show along it (t or the
    rabbet over the cosine of their splay).
    """
    joint = opening.joint
    off = {"head over legs": (0.0, T), "head between legs": (T, 0.0)}.get(joint, (T, opening.rabbet / INCH))
    amount = off[0] if "leg" in (one.role or "") else off[1]
    beside = {"left leg": ("sill", "head"), "right leg": ("head", "sill"),
              "head": ("left", "right"), "sill": ("right", "left")}[one.role or ""]  # fmt: skip
    # an end whose back reaches further than its show face (bevel below 0) is longer by what that is
    more = [T * max(0.0, -math.sin(math.radians(one.bevels.get(end, 0.0)))) for end in ("start", "end")]
    first, last = (
        (amount + extra) / math.cos(math.atan(getattr(opening.splay, name)))
        for name, extra in zip(beside, more, strict=True)
    )
    from_, to = joints_on_frame(one.role or "", opening)
    start = (from_ - origin) @ along - first
    end = (to - origin) @ along + last
    return float((start + end - corners[1][0]) / 2)


def joints_on_frame(role: str, opening: Opening) -> tuple[Points, Points]:
    """Corners of the show faces on the window's frame, in the order of the part's start and end."""
    wide, r = opening.width.low / INCH, opening.reveal / INCH
    left, right = opening.height.left / INCH, opening.height.right / INCH
    rise = (right - left) / wide
    long = math.hypot(1, rise)

    def top(x: float) -> float:
        return left + rise * x + r * long

    corner = {
        "lower left": (-r, -r, 0.0), "lower right": (wide + r, -r, 0.0),
        "upper left": (-r, top(-r), 0.0), "upper right": (wide + r, top(wide + r), 0.0),
    }  # fmt: skip
    first, last = {
        "left leg": ("lower left", "upper left"), "right leg": ("upper right", "lower right"),
        "head": ("upper left", "upper right"), "sill": ("lower right", "lower left"),
    }[role]  # fmt: skip
    return np.array(corner[first]), np.array(corner[last])


def off_plane(point: Points, other: Put, back: float = 0.0) -> float:
    """How far a point lies off another part's show face, or off a plane as far behind it."""
    return float((point - other.corners[0]) @ other.normal) - back


def fitted(opening: Opening) -> tuple[Fit, dict[str, Put]]:
    found = fit_opening(opening, THREE_QUARTERS, FINE, Units.INCH)
    return found, {role: put_up(part(found, role), opening, found) for role in ALL}


# Which end of which part meets which: c0-c3 is the start, c1-c2 the end.
MEET = {
    "left leg": ("sill", "head"), "right leg": ("head", "sill"),
    "head": ("left leg", "right leg"), "sill": ("right leg", "left leg"),
}  # fmt: skip


@pytest.mark.parametrize("seed", range(60))
def test_the_ends_lie_on_their_neighbours_and_the_room_edges_meet(seed: int):
    """Each end's two show corners lie on the plane that cuts them: the neighbour's show face, its outside or
    the bottom of the rabbet. And along the wall the four edges close: each corner is reached from both sides.
    """
    opening = random_window(random.Random(seed))
    _, put = fitted(opening)
    rabbet = opening.rabbet / INCH
    back = {"head over legs": (0.0, T), "head between legs": (T, 0.0)}.get(opening.joint, (T, rabbet))
    for role, beside in MEET.items():
        mine, depth = put[role], back[0] if "leg" in role else back[1]
        for (low, high), other in zip(((0, 3), (1, 2)), beside, strict=True):
            for corner in (mine.corners[low], mine.corners[high]):
                assert abs(off_plane(corner, put[other], depth)) < HUNDREDTH, (role, other)
    for role, beside in MEET.items():
        for other in beside:
            mine, theirs = reached(put[role], put[other]), reached(put[other], put[role])
            assert np.linalg.norm(mine - theirs) < HUNDREDTH, (role, other)


def reached(one: Put, other: Put) -> Points:
    """Where a part's edge along the wall pierces another's show face."""
    a, b = one.room
    da, db = off_plane(a, other), off_plane(b, other)
    return a + (b - a) * da / (da - db)


@pytest.mark.parametrize("seed", range(30))
def test_no_station_is_short_in_space(seed: int):
    """At each reading, a depth square to the window's frame, the edge stands at least as far out."""
    opening = random_window(random.Random(100 + seed))
    _, put = fitted(opening)
    for role, name in SIDES.items():
        a, b = put[role].room
        for reading in getattr(opening.wall, name):
            run = 0 if role in ("head", "sill") else 1
            start = np.array([a, b])[:, run]
            if role == "head":  # the place is that along the frame's head, a hair longer than level
                tilt = math.atan2(opening.height.right - opening.height.left, opening.width.low)
                unit = np.array([math.cos(tilt), math.sin(tilt)])
                origin = np.array([0.0, opening.height.left / INCH])
                start = (np.array([a, b])[:, :2] - origin) @ unit
            share = (reading.at / INCH - start[0]) / (start[1] - start[0])
            depth = a[2] + (b[2] - a[2]) * share
            assert depth > reading.thickness / INCH - 1e-4, (role, reading)


@pytest.mark.parametrize("seed", range(20))
def test_the_bevels_are_the_angles_between_the_faces(seed: int):
    opening = random_window(random.Random(200 + seed))
    found, put = fitted(opening)
    for role, beside in MEET.items():
        bevels = part(found, role).bevels
        for end, other in zip(("start", "end"), beside, strict=True):
            square = math.degrees(math.asin(np.clip(put[role].normal @ put[other].normal, -1, 1)))
            assert bevels.get(end, 0.0) == pytest.approx(square, abs=0.26 if end not in bevels else 0.01)
        lean = math.degrees(put[role].lean)
        assert bevels.get("straight", 0.0) == pytest.approx(lean, abs=0.01)
        assert bevels.get("far", 0.0) == pytest.approx(-lean, abs=0.01)


@pytest.mark.parametrize("degrees", [0, 7.5, 15, 30, 45, 60])
def test_the_blank_holds_the_bevelled_piece(degrees: float):
    """A slice across a leg: between the frame's plane and the wall's, the leaning board is a parallelogram.

    Its outline in the board's own directions (u up the show face, v into the thickness) must lie in the
    square blank, and lies there without more to spare than the step.
    """
    slope = Fraction(math.tan(math.radians(degrees))).limit_denominator(10**9)
    found = fit_opening(even("6", splay=all_round(slope)), THREE_QUARTERS, FINE, Units.INCH)
    width = part(found, "left leg").width_start / INCH
    sine, cosine = math.sin(math.atan(slope)), math.cos(math.atan(slope))
    # depth z = u cos - v sin; the board is 0 <= v <= T, the opening 0 <= z <= 6
    corners = [((z + v * sine) / cosine, v) for z, v in ((0, 0), (6, 0), (6, T), (0, T))]
    board = Polygon(corners)
    blank = Polygon([(0, 0), (width, 0), (width, T), (0, T)])
    assert board.difference(blank.buffer(1e-9)).area < 1e-9
    assert board.bounds[2] <= width < board.bounds[2] + FINE / INCH + 1e-9


def test_a_hand_worked_corner_in_space():
    """45 degrees, 6 deep, reveal 1/4: the wall's corner lies 1/4 + 6 out of the frame's, upper left.

    (-6 1/4, 48 + 6 1/4, 6), and what the widths are rounded up by, 1/254 at most.
    """
    _, put = fitted(even("6", splay=all_round(1)))
    corner = reached(put["left leg"], put["head"])
    assert corner == pytest.approx([-6.25, 54.25, 6.0], abs=0.004)
    assert corner[2] >= 6.0


def test_one_side_alone_may_lean():
    level, upright = flat("6", 0, 36), flat("6", 0, 48)
    opening = window(upright, upright, level, level, splay=splay(sill=Fraction(1, 2)), reveal=inch("1/8"),
                     height=height("48", "48"))  # fmt: skip
    found, put = fitted(opening)
    assert part(found, "left leg").bevels == {}
    # the legs' feet follow the sill, 1 in 2 of 6: 3 further down at the wall
    assert part(found, "left leg").skew_start / INCH == pytest.approx(-3.0, abs=0.001)
    assert put["left leg"].corners[3][1] == pytest.approx(-3.125, abs=0.01)
