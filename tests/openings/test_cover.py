"""The covering edges: worked by hand, against HiGHS, and against every edge on a small grid."""

import itertools
import random
from fractions import Fraction

import numpy as np
import pytest
from scipy.optimize import linprog

from nesting.lengths import INCH
from nesting.openings.cover import NODES, cover, upper_hull
from nesting.openings.faces import Face, faces_of
from nesting.openings.frame import ROLES, Frame, Piece, make_frame

from .walls import HEAD, LEG, THREE_QUARTERS, flat, inch, opening, proud, run

Nodes = tuple[Fraction, ...]


def exact(wall) -> dict[str, tuple[Fraction, Fraction]]:
    """Each piece's width at its foot and under the head, or at the two inside corners."""
    frame = make_frame(wall, THREE_QUARTERS.thickness, INCH // 32)
    (edges,) = cover(frame, faces_of(wall))
    return {
        role: tuple(edges[role].at(place) / INCH for place in piece.joints)
        for role, piece in frame.pieces.items()
    }


def tape(*texts: str) -> tuple[Fraction, ...]:
    return tuple(Fraction(inch(text), INCH) for text in texts)


def test_belly() -> None:
    """measuring.md and trade.md, section 4, arithmetic there: 9, 9 1/4, 9 1/4 at 0, 40, 80.

    The ends' line is 9 1/8 in the middle, 1/8 short. Raised by that the middle touches; turned about
    the middle by 1/8 less slope nothing is won. 9 1/8 to 9 3/8 it stands proud by 1/8, 0, 1/8.
    """
    wall = opening(
        run((0, "9"), (40, "9 1/4"), (80, "9 1/4")),
        flat("9", *LEG),
        run((1, "9 3/8"), (37, "9")),
    )
    assert exact(wall)["left leg"] == tape("9 1/8", "9 3/8")


def test_hollow_is_covered_by_its_ends() -> None:
    # 9 1/4, 9, 9 1/4: the line through the ends is level and stands 1/4 proud in the middle.
    wall = opening(flat("9 1/4", 0, 80), run((0, "9 1/4"), (40, "9"), (80, "9 1/4")),
                   flat("9 1/4", *HEAD))  # fmt: skip
    assert exact(wall)["right leg"] == tape("9 1/4", "9 1/4")


def test_nothing_proud_where_three_lines_meet() -> None:
    """measuring.md: left 9, right 9 1/4, head 9 and 9 1/4 at the inside corners."""
    wall = opening(flat("9", *LEG), flat("9 1/4", *LEG), run((1, "9"), (37, "9 1/4")))
    assert exact(wall) == {
        "left leg": tape("9", "9"),
        "right leg": tape("9 1/4", "9 1/4"),
        "head": tape("9", "9 1/4"),
    }


def test_a_thick_head_widens_the_leg_at_the_corner() -> None:
    """measuring.md: with 9 1/8 on the head's left that corner is 9 1/8, the left leg 9 to 9 1/8."""
    wall = opening(flat("9", *LEG), flat("9 1/4", *LEG), run((1, "9 1/8"), (37, "9 1/4")))
    assert exact(wall) == {
        "left leg": tape("9", "9 1/8"),
        "right leg": tape("9 1/4", "9 1/4"),
        "head": tape("9 1/8", "9 1/4"),
    }


def test_least_proud_is_added_once_to_a_thickness() -> None:
    wall = opening(flat("9", *LEG), flat("9", *LEG), flat("9", *HEAD), proud=proud("1/16", "1/8"))
    assert set(itertools.chain(*exact(wall).values())) == set(tape("9 1/16"))


def test_a_reading_past_the_head_binds() -> None:
    # Head at 1: 9, and at the framing, 38: 9 3/8. Straight through both it is 9 + 36/37 x 3/8 at 37.
    wall = opening(flat("9", *LEG), flat("9", *LEG), run((1, "9"), (38, "9 3/8")))
    assert exact(wall)["head"] == (9, 9 + Fraction(36, 37) * Fraction(3, 8))


def test_the_better_leg_is_not_let_go_for_the_worse() -> None:
    """Piece by piece: the left leg's belly of 1/4 does not let the right one, with 1/8, stand off more.

    Left 9, 9 1/4, 9: level at 9 1/4, 1/4 proud at both ends. Right 9 1/4, 9 3/8, 9 1/4: 1/8 at both.
    """
    wall = opening(
        run((0, "9"), (40, "9 1/4"), (80, "9")),
        run((0, "9 1/4"), (40, "9 3/8"), (80, "9 1/4")),
        run((1, "9 1/4"), (37, "9 3/8")),
    )
    found = exact(wall)
    assert found["left leg"] == tape("9 1/4", "9 1/4")
    assert found["right leg"] == tape("9 3/8", "9 3/8")


def test_equal_edges_are_settled_evenly() -> None:
    """Face A 1/4 off its line at the left leg lets face B's belly turn; it stays even.

    Face A, left: 1, 1 1/2, 1: its best is level, 1/2 proud at the ends. Face B, left: 8, 8 1/8, 8 may
    turn about its middle without more area and without 1/2 being reached. The corner is the head's: 8 1/8.
    """
    left = run((0, "1", "8"), (40, "1 1/2", "8 1/8"), (80, "1", "8"))
    right = run((0, "1 1/2", "8 1/8"), (80, "1 1/2", "8 1/8"))
    wall = opening(left, right, run((1, "1 1/2", "8 1/8"), (37, "1 1/2", "8 1/8")))
    frame = make_frame(wall, THREE_QUARTERS.thickness, INCH // 32)
    _, face_b = cover(frame, faces_of(wall))
    assert face_b["left leg"].at(0) == face_b["left leg"].at(inch(80)) == inch("8 1/8")


def test_a_hollow_in_one_face_lifts_nothing_off_the_other() -> None:
    """Face B: left leg and head 6, the right leg bellied, 6, 6 1/4, 6; face A 3, with or without a hollow.

    Level, the right leg stands 1/4 proud at its ends, and with a level head the left leg does at its corner.
    With 1/64 to give, the head rises from 6 at 0 to 6 1/4 at 38, the right leg turns about its belly by
    1/4/38 at its corner, 37, and the left leg stands 1/4/38 proud at its own, 1: whether or not room A's
    face is hollow by 1/4 there.
    """
    edges = []
    for middle in ("3", "2 3/4"):
        left = run((0, "3", "6"), (40, middle, "6"), (80, "3", "6"))
        right = run((0, "3", "6"), (40, "3", "6 1/4"), (80, "3", "6"))
        wall = opening(left, right, run((0, "3", "6"), (38, "3", "6")))
        frame = make_frame(wall, THREE_QUARTERS.thickness, INCH // 32)
        edges.append(cover(frame, faces_of(wall), INCH // 64)[1])
        corner = frame.pieces["left leg"].joints[1]
        assert edges[-1]["left leg"].at(corner) == inch("6") + Fraction(inch("1/4"), 38)
    assert edges[0] == edges[1]


def test_hull_keeps_the_highest_of_a_place() -> None:
    assert upper_hull([(0, 1), (2, 5), (2, 9), (4, 1), (1, 2)]) == [(0, 1), (2, 9), (4, 1)]


# --- against HiGHS ---------------------------------------------------------------------------


def random_wall(rng: random.Random, faces: int):
    def stations(top: int):
        places = sorted(rng.sample(range(0, top + 1), rng.randint(2, 6)))
        offsets = [[rng.randint(0, 24) for _ in places] for _ in range(faces)]
        return run(
            *((str(at), *(f"{8 - 4 * i}.{o * 3125:06d}" for i, o in enumerate(column)))
              for at, *column in zip(places, *offsets, strict=True))
        )  # fmt: skip

    return opening(stations(81), stations(80), stations(38))


def matrices(frame: Frame, faces: tuple[Face, ...]):
    """Rows in floats, of nodes alone: what an edge is at a station, and the least there (inches)."""
    size = 4 * len(faces)
    by_role = {}
    for role, piece in frame.pieces.items():
        (i, j), (p, q) = NODES[role], piece.joints
        rows, least = [], []
        for f, face in enumerate(faces):
            for at, offset in face.wall[role]:
                row = np.zeros(size)
                row[4 * f + i], row[4 * f + j] = (q - at) / (q - p), (at - p) / (q - p)
                rows.append(row)
                least.append(float(offset + face.least) / INCH)
        by_role[role] = np.array(rows), np.array(least)
    return by_role


def highs(by_role, limits: dict[str, float], aim: str) -> float:
    """Least common worst of the pieces without a limit of their own, or of the one piece ``aim``."""
    a_ub, b_ub = [], []
    for role, (rows, least) in by_role.items():
        a_ub.append(np.hstack([-rows, np.zeros((len(rows), 1))]))
        b_ub.append(-least)
        free = role not in limits if aim == "all" else role == aim
        a_ub.append(np.hstack([rows, np.full((len(rows), 1), -1.0 if free else 0.0)]))
        b_ub.append(least + (0.0 if free else limits[role]))
    size = a_ub[0].shape[1]
    cost = np.zeros(size)
    cost[-1] = 1
    bounds = [(None, None)] * size
    found = linprog(cost, np.vstack(a_ub), np.hstack(b_ub), bounds=bounds, method="highs")
    assert found.status == 0, found.message
    return found.fun


def highs_levels(by_role) -> dict[str, float]:
    """The worst of each piece from the worst down, by trying which pieces cannot do better."""
    settled: dict[str, float] = {}
    while len(settled) < len(by_role):
        value = highs(by_role, settled, "all")
        slack = {role: settled.get(role, value) + 1e-9 for role in by_role}
        alone = {role: highs(by_role, slack, role) for role in by_role if role not in settled}
        stuck = {role for role, least in alone.items() if least > value - 1e-7}
        stuck = stuck or {max(alone, key=alone.__getitem__)}  # floats may leave none: then the nearest
        settled |= dict.fromkeys(stuck, value)
    return settled


@pytest.mark.parametrize("faces", [1, 2])
def test_worst_stations_like_highs(faces: int) -> None:
    rng = random.Random(faces)
    for _ in range(100):
        wall = random_wall(rng, faces)
        frame = make_frame(wall, THREE_QUARTERS.thickness, INCH // 32)
        sides = faces_of(wall)
        assert len(sides) == faces
        for edges, face in zip(cover(frame, sides), sides, strict=True):
            ours = worst_of((edges,), (face,))
            theirs = highs_levels(matrices(frame, [face]))
            for role in ROLES:
                assert float(ours[role]) / INCH == pytest.approx(theirs[role], abs=1e-6), (wall, role)


def worst_of(edges, faces) -> dict[str, Fraction]:
    return {
        role: max(
            edge[role].at(at) - least
            for edge, face in zip(edges, faces, strict=True)
            for at, least in face.needed(role)
        )
        for role in edges[0]
    }


def test_area_like_highs() -> None:
    """Within the worst of each piece HiGHS finds no smaller area."""
    rng = random.Random(7)
    for _ in range(60):
        wall = random_wall(rng, 1)
        frame = make_frame(wall, THREE_QUARTERS.thickness, INCH // 32)
        faces = faces_of(wall)
        edges = cover(frame, faces)
        by_role, worst = matrices(frame, faces), worst_of(edges, faces)
        cost = np.zeros(4)
        for role, piece in frame.pieces.items():
            (i, j), (p, q) = NODES[role], piece.joints
            middle = float(piece.start + piece.end) / 2
            cost[[i, j]] += piece.length / INCH * np.array([q - middle, middle - p]) / (q - p)
        a_ub = np.vstack([sign * rows for rows, _ in by_role.values() for sign in (-1, 1)])
        b_ub = np.hstack(
            [b for role, (_, least) in by_role.items()
             for b in (-least, least + float(worst[role]) / INCH + 1e-7)]
        )  # fmt: skip
        theirs = linprog(cost, a_ub, b_ub, bounds=[(None, None)] * 4, method="highs").fun
        ours = sum(
            piece.length * edges[0][role].at((piece.start + piece.end) / 2)
            for role, piece in frame.pieces.items()
        )
        # HiGHS has its rows in floats, and stations may be an inch apart
        assert float(ours) / INCH**2 == pytest.approx(theirs, rel=1e-5)


# --- against every edge on a grid ------------------------------------------------------------


def tiny(rng: random.Random, faces: int) -> tuple[Frame, tuple[Face, ...]]:
    """Runs four units long with readings of 0 to 4 at whole units."""
    pieces = {role: Piece(role, 4, Fraction(0), (0, 4)) for role in ROLES}
    frame = Frame(4, {"left": 4, "right": 4}, pieces)
    walls = [
        {role: tuple((at, rng.randint(0, 4)) for at in rng.sample(range(6), 3)) for role in ROLES}
        for _ in range(faces)
    ]
    return frame, tuple(Face(None, Fraction(0), Fraction(0), 0, 0, wall) for wall in walls)


def key(frame: Frame, faces: tuple[Face, ...], nodes: list[Nodes]) -> tuple | None:
    """Worst stations from the worst down, then area; None where a station is short."""
    worst, area = [], Fraction(0)
    for role in ROLES:
        i, j = NODES[role]
        proud = [
            line[i] + (line[j] - line[i]) * Fraction(at, 4) - wall
            for face, line in zip(faces, nodes, strict=True)
            for at, wall in face.wall[role]
        ]
        if min(proud) < 0:
            return None
        worst.append(max(proud))
        area += sum(4 * (line[i] + line[j]) / 2 for line in nodes)
    return (*sorted(worst, reverse=True), area)


def test_no_edge_on_a_grid_is_better() -> None:
    """Brute force: all lines with whole offsets at the four nodes, some hundreds an opening."""
    rng = random.Random(3)
    met = 0
    for _ in range(40):
        frame, faces = tiny(rng, 1)
        (edges,) = cover(frame, faces)
        nodes = tuple(
            edges[role].at(place) for role, place in
            [("left leg", 0), ("head", 0), ("head", 4), ("right leg", 0)]
        )  # fmt: skip
        ours = key(frame, faces, [nodes])
        assert ours is not None
        grid = (
            key(frame, faces, [tuple(map(Fraction, line))])
            for line in itertools.product(range(-1, 7), repeat=4)
        )
        best = min(found for found in grid if found)
        assert ours <= best
        met += ours == best
    assert met > 0  # else the grid would be too coarse to say anything
