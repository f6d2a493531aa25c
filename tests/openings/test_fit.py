"""What must hold of every fitted opening, on random walls."""

from __future__ import annotations

import random

import pytest

from nesting.job.models import Opening
from nesting.lengths import INCH, Units
from nesting.openings import Fit, fit_opening
from tests.openings.test_cover import random_wall
from tests.openings.walls import BIRCH, STEP

WALLS = [(faces, seed) for faces in (1, 2) for seed in range(40)]


def fit(opening: Opening, step: int = STEP) -> Fit:
    return fit_opening(opening, BIRCH, step, Units.INCH)


@pytest.mark.parametrize(("faces", "seed"), WALLS)
def test_no_station_is_short_and_the_corners_agree(faces: int, seed: int):
    opening = random_wall(random.Random(seed), faces)
    found = fit(opening)
    for run in found.runs:
        assert run.stations
        for station in run.stations:
            assert station.proud >= opening.proud.least / faces
            assert station.piece - station.wall == station.proud
        assert run.worst == max(station.proud for station in run.stations)
    for corner in found.corners.values():
        assert abs(corner["leg"] - corner["head"]) <= 2 * faces * STEP  # a step up, and one past the end


@pytest.mark.parametrize("seed", range(40))
def test_the_order_of_the_stations_does_not_matter(seed: int):
    rng = random.Random(seed)
    opening = random_wall(rng, 1 + seed % 2)
    shuffled = {side: tuple(rng.sample(run, len(run))) for side, run in (
        ("left", opening.wall.left), ("right", opening.wall.right), ("head", opening.wall.head))}  # fmt: skip
    other = opening.model_copy(update={"wall": opening.wall.model_copy(update=shuffled)})
    assert fit(opening).parts == fit(other).parts


@pytest.mark.parametrize("seed", range(20))
def test_a_finer_step_is_never_wider_by_more_than_a_step(seed: int):
    opening = random_wall(random.Random(seed), 1)
    coarse, fine = fit(opening), fit(opening, INCH // 64)
    for wide, narrow in zip(coarse.parts, fine.parts, strict=True):
        assert narrow.width_start <= wide.width_start + INCH // 64
        assert narrow.width_end <= wide.width_end + INCH // 64
