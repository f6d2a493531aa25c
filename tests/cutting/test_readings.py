"""What the tape reads, held against rays through the piece in hand (Shapely)."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from pathlib import Path

import pytest
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.polygon import orient

from nesting.cutting.facts import Facts, outline_of
from nesting.drawing.bench import in_hand
from nesting.job.reading import read_job
from nesting.lengths import INCH
from nesting.packing.instance import Instance, Item, Settings, Size
from nesting.packing.solve import solve
from nesting.stock import Saw, Trim
from nesting.work.planner import plan_job

SAMPLES = Path(__file__).parents[2] / "samples"
TOWARDS = {"left": (-1, 0), "right": (1, 0), "lower": (0, -1), "upper": (0, 1)}
FAR = 400 * INCH

def rays(name: str) -> list[tuple[float, int]]:
    """How far the edge read from is, along or across the sheet, from the ends of each line; the reading.

    Where a ray leaves the piece by that edge; of skewed pieces some leave it by another first.
    """
    plan = plan_job(read_job(SAMPLES / name), Settings(seconds=20, effort=2_000, prove=False)).plan
    found = []
    for sheet in plan.sheets:
        for hand in in_hand(plan, sheet):
            piece = Polygon(hand.piece)
            for mark in hand.cut.marks:
                x, y = hand.cut.start if mark.at == "from" else hand.cut.to
                dx, dy = TOWARDS[mark.edge]
                inside = LineString([(x, y), (x + dx * FAR, y + dy * FAR)]).intersection(piece.buffer(2))
                exit_ = Point(x + dx * inside.length, y + dy * inside.length)
                side = outward(piece, exit_)
                if inside.length > 4 and dx * side[0] + dy * side[1] > 0.71:
                    found.append((inside.length, mark.reading))
    return found


def outward(piece: Polygon, spot: Point) -> tuple[float, float]:
    """The outward normal of the side of a piece that is nearest to a spot."""
    ring = orient(piece).exterior.coords
    (ax, ay), (bx, by) = min(itertools.pairwise(ring), key=lambda side: LineString(side).distance(spot))
    length = math.hypot(bx - ax, by - ay)
    return (by - ay) / length, (ax - bx) / length


@pytest.mark.parametrize("name", ["quern-mill.yaml", "weir-lane-pottery.yaml"])
def test_a_reading_is_what_lies_between_the_edge_and_the_mark(name: str):
    """The window has ends 27 degrees off square; square to them a tape reads up to 2 inches less."""
    told = rays(name)
    assert len(told) > 30
    assert [pair for pair in told if abs(pair[0] - pair[1]) > 40] == []  # 0.005 inch


def test_what_is_kept_free_is_the_play_of_the_pieces_that_reach_there():
    """Two rips of 20 with a kerf of 1 between, in 44 less trims of 1 and 1 kept free: a sheet of 43 does.

    The upper one may be read from its lower edge alone; off the sheet's own it would come out 1 too narrow.
    """
    size = Size("s", 103, 44, 100, trim=Trim(1, 2, 1, 2), play=1)  # what is kept free is counted as trim
    instance = Instance((Item(100, 20, 20, count=2),), (size,), Saw(1))
    (layout,) = solve(instance, Settings(seconds=5, effort=200)).layouts
    facts = Facts(instance, replace(size, trim=Trim(1, 1, 1, 1)), layout.root)
    held = [node for node in layout.root.walk() if node.item is not None]
    assert {min(y for _, y in outline_of(node.piece)): facts.play(node) for node in held} == {
        1: (1, 0), 22: (1, 1)}  # fmt: skip
