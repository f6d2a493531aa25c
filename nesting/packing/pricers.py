"""The most that one sheet can hold of given values, from above, and sheets that hold much.

For rectangles the recursion over edge-to-edge cuttings with multipliers on how many of each part there are,
then rectangles joined (:mod:`nesting.packing.single`); where cuts may be slanted, bars (Scheithauer 1999;
Belov, Kartak, Rohling and Scheithauer 2009).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from nesting.packing.bounds import Bound
from nesting.packing.instance import Instance
from nesting.packing.recursion import Cutting, Ints, Piece, Tree, counts_of
from nesting.packing.single import Limited

MOST_POINTS = 110  # on an axis of the recursion
CELLS = 2_000  # of the width, for bars
# how hard a sheet is looked at, the next where one finds nothing: rounds of multipliers, rectangles joined
DEPTHS = ((3, 0), (20, 0), (20, 1_000), (30, 4_000), (40, 20_000))


@dataclass(frozen=True, slots=True)
class Column:
    """What one sheet of a size holds of each item, in the linear programme."""

    size: int
    holds: tuple[float, ...]
    tree: Tree | None = None


class Pricer(Protocol):
    """Bounds what one sheet of its size can hold of values."""

    def price(
        self, values: Ints, enough: int, depth: int, ended: Callable[[], bool]
    ) -> tuple[int, list[Column]]:
        """No sheet holds more than this; and sheets that hold much. Up to ``enough`` is not looked into."""


class CuttingPricer:
    """Edge-to-edge cuttings of rectangles."""

    def __init__(self, instance: Instance, takes: Sequence[Sequence[bool]], size: int) -> None:
        self.size = size
        self.takes = np.array([row[size] for row in takes])
        room = instance.sizes[size].usable
        pieces = [_piece(instance, item, bool(self.takes[item])) for item in range(len(instance.items))]
        self.cutting = Cutting(pieces, room, instance.saw.kerf, MOST_POINTS)
        self.limits = np.array([piece[3] for piece in pieces], dtype=np.int64)
        self.prices: Ints | None = None

    def price(
        self, values: Ints, enough: int, depth: int, ended: Callable[[], bool]
    ) -> tuple[int, list[Column]]:
        """Multipliers first, started from the last time's; then rectangles joined."""
        values = np.where(self.takes, values, 0)
        loose = int(values[self.cutting.loose] @ self.limits[self.cutting.loose])
        values = np.where(self.cutting.loose, 0, values)
        enough -= loose
        task = Limited(self.cutting, values, self.limits, measured=False)
        start = None if self.prices is None else np.minimum(self.prices, values)
        rounds, built = DEPTHS[depth]
        self.prices = task.relax(rounds, enough, start)
        if built and task.value <= enough:
            task.build(built, enough, ended)
        columns = []
        for tree in task.found:
            counts = counts_of(tree, len(values))
            real = self.cutting.exact or self.cutting.fits(tree)  # else it only does for prices
            columns.append(Column(self.size, tuple(map(float, counts)), tree if real else None))
        return task.bound + loose, columns

    def alike(self) -> list[Column]:
        """For each item a sheet with rows of it alone."""
        columns = []
        for item, turned, a, b in self.cutting.shapes:
            kerf, room = self.cutting.kerf, self.cutting.room
            across, up = (room[0] + kerf) // (a + kerf), (room[1] + kerf) // (b + kerf)
            many = min(int(self.limits[item]), across * up)
            rows = [_chain("beside", [(item, turned)] * min(across, many - done))
                    for done in range(0, many, across)]  # fmt: skip
            tree = _chain("above", rows)
            counts = counts_of(tree, len(self.limits))
            columns.append(Column(self.size, tuple(map(float, counts)), tree))
        return columns


def _chain(way: str, trees: list[Tree]) -> Tree:
    """Halved again and again, so that no tree is deep."""
    if len(trees) == 1:
        return trees[0]
    half = len(trees) // 2
    return way, _chain(way, trees[:half]), _chain(way, trees[half:])


def _piece(instance: Instance, index: int, taken: bool) -> Piece:
    item = instance.items[index]
    ways = item.turns()
    a, b = (item.start, item.length) if ways == (True,) else (item.length, item.start)
    return a, b, 0, item.count if taken else 0, len(ways) == 2


class BarPricer:
    """Lines across the sheet and along it, each filled as well as it can be."""

    def __init__(self, instance: Instance, bound: Bound, size: int) -> None:
        self.size, kerf = size, instance.saw.kerf
        self.takes = bound.takes[:, size]
        length, width = instance.sizes[size].usable
        self.demand = bound.demand
        # per direction: how far the line travels, its room, and each way to lie: item, chord, run
        self.directions = []
        for far, room, lies in ((length, width, False), (width, length, True)):
            ways = []
            for index, item in enumerate(instance.items):
                sure = bound.sure[index]
                for turned in item.turns():
                    chord, run = (
                        (sure.chord_width, sure.run) if turned == lies else (sure.chord_length, sure.rise)
                    )
                    ways.append((index, chord + kerf, run))
            self.directions.append((far, room + kerf, ways))

    def price(
        self, values: Ints, enough: int, depth: int, ended: Callable[[], bool]
    ) -> tuple[int, list[Column]]:
        """The smaller of the two directions."""
        found = [self._direction(values, *direction) for direction in self.directions]
        worth, holds = min(found, key=lambda pair: pair[0])
        return worth, [Column(self.size, holds)]

    def _direction(
        self, values: Ints, far: int, room: int, ways: list[tuple[int, int, int]]
    ) -> tuple[int, tuple[float, ...]]:
        """``far`` times the densest line; a density is a value over the part's run, rounded up."""
        grid = max(1, room // CELLS)
        cells = room // grid
        steps = 1 << 20
        best = np.zeros(cells + 1, dtype=np.int64)
        taken: list[tuple[int, int, int, int, NDArray[np.bool_]]] = []
        for index, chord, run in ways:
            value, size = int(values[index]), chord // grid
            if not self.takes[index] or value <= 0 or chord > room:
                continue
            if run <= 0 or size <= 0:  # nothing is sure of it: it may lie on no line at all
                return int(values @ self.demand), tuple(map(float, self.demand))
            density = -(-value * steps // run)
            left, lot = min(int(self.demand[index]), cells // size), 1
            while left > 0:
                lot = min(lot, left)
                more = best.copy()
                with_it = best[: cells + 1 - lot * size] + lot * density
                more[lot * size :] = np.maximum(best[lot * size :], with_it)
                taken.append((index, lot, lot * size, run, more > best))
                best, left, lot = more, left - lot, 2 * lot
        holds = [0.0] * len(values)
        at = cells
        for index, lot, size, run, better in reversed(taken):
            if better[at]:
                holds[index] += lot * far / run
                at -= size
        return -(-int(best[cells]) * far // steps), tuple(holds)
