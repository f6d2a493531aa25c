"""A thousand random walls: the exact covering lines against SciPy's HiGHS, which knows nothing of them."""

from __future__ import annotations

import random
from fractions import Fraction

import numpy as np
import pytest
from scipy.optimize import linprog

from nesting.lengths import INCH
from nesting.openings.cover import cover
from nesting.openings.faces import Face, faces_of
from nesting.openings.frame import ROLES, make_frame
from nesting.openings.linear import minimise
from tests.openings.test_cover import matrices, random_wall, worst_of
from tests.openings.walls import THREE_QUARTERS

Station = tuple[int, int]


def exact_line(stations: list[Station]) -> Fraction:
    """The worst station of the best line over one run alone: by the project's own programme.

    Unknown are the offsets at 0 and at 96 and the worst, all in 32nds of an inch.
    """
    rows = []
    for at, wall in stations:
        rows.append(((96 - at, at, 0), 96 * wall))  # never short
        rows.append(((at - 96, -at, 96), -96 * wall))  # no more than the worst above it
    return minimise((0, 0, 1), rows).x[-1]


def highs_line(stations: list[Station]) -> float:
    """The same as intercept, slope and worst, in floats."""
    at, wall = np.array(stations, float).T
    one, zero = np.ones_like(at), np.zeros_like(at)
    short, over = np.array([-one, -at, zero]).T, np.array([one, at, -one]).T
    found = linprog([0, 0, 1], np.vstack([short, over]), np.hstack([-wall, wall]),
                    bounds=[(None, None)] * 3, method="highs")  # fmt: skip
    assert found.status == 0, found.message
    return found.fun


def hull_line(stations: list[Station]) -> Fraction:
    """By trying: the best line lies along two stations and is as far above a third as it may."""
    best = None
    for i, (p, v) in enumerate(stations):
        for q, w in stations[i + 1 :]:
            if p == q:
                continue
            slope = Fraction(w - v, q - p)
            offs = [v + slope * (at - p) - wall for at, wall in stations]
            spread = max(offs) - min(offs)
            best = spread if best is None else min(best, spread)
    assert best is not None
    return best


def test_one_run_alone_on_a_thousand_walls():
    rng = random.Random(20)
    for _ in range(1000):
        places = rng.sample(range(97), rng.randint(2, 7))
        stations = [(at, rng.randint(256, 320)) for at in places]
        ours = exact_line(stations)
        assert ours == hull_line(stations)
        assert float(ours) == pytest.approx(highs_line(stations), abs=1e-7)


def highs_frame(faces: tuple[Face, ...], by_role: dict) -> float:
    """The least worst station of a whole opening: three runs tied at two corners, on one or both faces."""
    rows = np.vstack([rows for rows, _ in by_role.values()])
    least = np.hstack([least for _, least in by_role.values()])
    column = np.ones((len(rows), 1))
    found = linprog(
        [0.0] * 4 * len(faces) + [1.0],
        np.vstack([np.hstack([-rows, 0 * column]), np.hstack([rows, -column])]),
        np.hstack([-least, least]),
        bounds=[(None, None)] * (4 * len(faces) + 1),
        method="highs",
    )
    assert found.status == 0, found.message
    return found.fun


@pytest.mark.parametrize(("faces", "seed"), [(1, 1), (1, 2), (2, 3), (2, 4)])
def test_whole_openings_on_a_thousand_walls(faces: int, seed: int):
    """Two hundred and fifty of each; the order of the pieces below the worst is held in test_cover."""
    rng = random.Random(seed)
    for _ in range(250):
        wall = random_wall(rng, faces)
        frame, sides = make_frame(wall, THREE_QUARTERS.thickness, INCH // 32), faces_of(wall)
        assert len(sides) == faces
        ours = worst_of(cover(frame, sides), sides)
        theirs = highs_frame(sides, matrices(frame, sides))
        assert float(max(ours[role] for role in ROLES)) / INCH == pytest.approx(theirs, abs=1e-6), wall
