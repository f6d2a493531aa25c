"""The most valuable cutting of one rectangular sheet, edge to edge, in any number of stages.

Where parts are not limited in number, the recursion of :mod:`nesting.packing.recursion` (Gilmore and Gomory
1966) is exact by itself. Where they are, rectangles are joined bottom-up
(Wang 1983), the most promising first (Viswanathan and Bagchi 1993), two of the same parts compared by
their sides. What may still come to lie beside a rectangle is bounded by the recursion, with the limits in
the objective at multipliers found by subgradients (Lagrange; for this problem as in Christofides and
Hadjiconstantinou 1995). A kerf is added to all sides of parts and sheet.

>>> most_value([(30, 20, 6, 1, False), (20, 20, 5, None, False)], (70, 20), kerf=0).value
16
>>> most_value([(30, 20, 6, 1, False), (20, 20, 5, None, False)], (70, 20), kerf=1).value
15
"""

from __future__ import annotations

import heapq
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from numbers import Integral

import numpy as np

from nesting.packing.instance import LONGEST
from nesting.packing.recursion import Cutting, Ints, Leaf, Piece, Tree, counts_of, folded, joined, sides

FINE = 1 << 30  # what values are scaled to where multipliers need fractions
MOST_BUILT = 400_000  # rectangles
ROUNDS = 40  # of the multipliers
KEPT = 4  # sets of multipliers that bound each rectangle
MOST_WORTH = 1 << 61


@dataclass(frozen=True, slots=True)
class SingleResult:
    """The best cutting found.

    Attributes
    ----------
    bound : int
        No cutting has more value.
    counts : tuple of int
        How many of each piece.
    tree : Tree or None
        Which rectangles lie beside and above which; None if nothing is cut.
    """

    value: int
    bound: int
    counts: tuple[int, ...]
    tree: Tree | None

    @property
    def proved(self) -> bool:
        """No cutting has more value than this one."""
        return self.bound <= self.value


@dataclass(slots=True)
class Multipliers:
    """A price on each piece's use: a bound on what the sheet, or what is left of it, holds."""

    prices: Ints
    bound: int
    rest: Ints = field(default_factory=lambda: np.zeros((0, 0), dtype=np.int64))


class Limited:
    """The most value where pieces are limited in number.

    Parameters
    ----------
    values : Ints
        Of each piece, scaled as finely as the bound is wanted.
    limits : Ints
        How many of each there are.
    """

    def __init__(self, cutting: Cutting, values: Ints, limits: Ints) -> None:
        self.cutting = cutting
        self.values, self.limits = values, limits
        self.value = 0
        self.tree: Tree | None = None
        self.bound = int(values @ limits)
        worth = [s for s in cutting.shapes if values[s[0]] > 0]
        self.best_first = sorted(worth, key=lambda s: -int(values[s[0]]))
        self.sets: list[Multipliers] = []

    def keep(self, tree: Tree | None) -> None:
        """Take a tree over, the parts beyond the limits exchanged, if it is the best and fits."""
        left = self.limits.copy()
        tree = self._within(tree, left)
        if tree is None or not (self.cutting.exact or self.cutting.fits(tree)):
            return
        value = int(self.values @ (self.limits - left))
        if value > self.value:
            self.value, self.tree = value, tree

    def _within(self, tree: Tree | None, left: Ints) -> Tree | None:
        """A part of which there are no more gives way to the best that fits; ``left`` counts down."""

        def leaf(part: Leaf) -> Tree | None:
            if left[part[0]] == 0:
                room = sides(part, self.cutting.pieces, 0)
                kept = (s for s in self.best_first if left[s[0]] and s[2] <= room[0] and s[3] <= room[1])
                shape = next(kept, None)
                if shape is None:
                    return None
                part = shape[:2]
            left[part[0]] -= 1
            return part

        def join(way: str, one: Tree | None, other: Tree | None) -> Tree | None:
            return joined(way, (one, other))

        return None if tree is None else folded(tree, leaf, join)

    def relax(self, ended: Callable[[], bool]) -> None:
        """Lower the bound by multipliers, as far as the best value."""
        prices = np.zeros_like(self.values)
        best, step, calm = prices, 1.0, 0
        for _ in range(ROUNDS):
            worth = np.maximum(self.values - prices, 0)
            most = self.cutting.inside(worth)
            bound = int(most[-1, -1]) + int(prices @ self.limits)
            tree = self.cutting.tree(most, worth)
            self.keep(tree)
            self.sets.append(Multipliers(prices, bound, most))
            calm += 1
            if bound < self.bound:
                self.bound, best, calm = bound, prices, 0
            if self.bound <= self.value or ended():
                break
            if calm >= 4:
                step, calm, prices = step / 2, 0, best
            over = counts_of(tree, len(self.values)) - self.limits
            over = np.where((over < 0) & (prices == 0), 0, over).astype(float)
            length = float(over @ over)
            if length == 0:
                break
            by = step * (bound - self.value) / length
            prices = np.maximum(0, prices + np.rint(by * over).astype(np.int64))

    def build(self, most_built: int, ended: Callable[[], bool]) -> None:
        """Join rectangles, the most promising first, until nothing better than the best is possible."""
        if self.bound > self.value and not ended():
            Builder(self, most_built, ended).go()


class Builder:
    """The rectangles joined so far, and the ones that wait for it, best bound first."""

    def __init__(self, task: Limited, most: int, ended: Callable[[], bool]) -> None:
        self.task, self.most, self.ended = task, most, ended
        cutting = task.cutting
        self.whole = cutting.whole
        sets = sorted(task.sets, key=lambda s: s.bound)[:KEPT]
        sets += [s for s in task.sets[:1] if all(s is not t for t in sets)]
        for chosen in sets:
            chosen.rest = cutting.outside(chosen.rest)
        self.rests = [s.rest for s in sets]
        self.prices = np.array([s.prices for s in sets])
        self.floors = self.prices @ task.limits
        kinds = len(task.values)
        self.sides = np.zeros((64, 2), dtype=np.int64)
        self.counts = np.zeros((64, kinds), dtype=np.int64)
        self.trees: list[Tree] = []
        self.waiting: list[tuple[int, int, tuple[int, int], Ints, Tree]] = []
        self.known: dict[bytes, list[tuple[int, int]]] = {}
        self.serial = 0

    def go(self) -> None:
        """Join until done, out of room, or ended."""
        self._singles()
        while self.waiting and -self.waiting[0][0] > self.task.value:
            if self.serial > self.most or self.ended():
                self.task.bound = min(self.task.bound, -self.waiting[0][0])
                return
            _, _, size, counts, tree = heapq.heappop(self.waiting)
            if size in self.known[counts.tobytes()]:
                self._close(size, counts, tree)
                self._join(size, counts)
        self.task.bound = min(self.task.bound, self.task.value)

    def _singles(self) -> None:
        cutting = self.task.cutting
        unit = np.eye(len(self.task.values), dtype=np.int64)
        for item, turned, a, b in cutting.shapes:
            size = cutting.size(a, b)
            bound = self._bounds(np.array([size]), unit[item : item + 1])
            self._wait(int(bound[0]), size, unit[item], (item, turned))

    def _bounds(self, size: Ints, counts: Ints) -> Ints:
        """Value inside and the most that can lie around, the least over the sets of multipliers."""
        x = np.searchsorted(self.task.cutting.xs, size[:, 0], side="right") - 1
        y = np.searchsorted(self.task.cutting.ys, size[:, 1], side="right") - 1
        paid = self.floors[:, None] - self.prices @ counts.T
        around = np.array([rest[x, y] for rest in self.rests]) + paid
        bounds: Ints = counts @ self.task.values + around.min(axis=0)
        return bounds

    def _wait(self, bound: int, size: tuple[int, int], counts: Ints, tree: Tree) -> None:
        """Put a rectangle in line, unless one of the same parts is nowhere longer."""
        if bound <= self.task.value:
            return
        same = self.known.setdefault(counts.tobytes(), [])
        if any(a <= size[0] and b <= size[1] for a, b in same):
            return
        same[:] = [(a, b) for a, b in same if a < size[0] or b < size[1]] + [size]
        self.serial += 1
        heapq.heappush(self.waiting, (-bound, -self.serial, size, counts, tree))
        if int(self.task.values @ counts) > self.task.value:
            self.task.keep(tree)

    def _close(self, size: tuple[int, int], counts: Ints, tree: Tree) -> None:
        many = len(self.trees)
        if many == len(self.sides):
            self.sides = np.concatenate((self.sides, np.zeros_like(self.sides)))
            self.counts = np.concatenate((self.counts, np.zeros_like(self.counts)))
        self.sides[many], self.counts[many] = size, counts
        self.trees.append(tree)

    def _join(self, size: tuple[int, int], counts: Ints) -> None:
        """With each one joined so far, itself among them, beside and above."""
        many = len(self.trees)
        old = self.sides[:many]
        fits = (self.counts[:many] + counts <= self.task.limits).all(axis=1)
        for axis, way in enumerate(("beside", "above")):
            along, across = old[:, axis] + size[axis], np.maximum(old[:, 1 - axis], size[1 - axis])
            index = np.flatnonzero(fits & (along <= self.whole[axis]))
            if not len(index):
                continue
            both = (along[index], across[index]) if axis == 0 else (across[index], along[index])
            new, held = np.stack(both, axis=1), self.counts[index] + counts
            bounds = self._bounds(new, held)
            for row in np.flatnonzero(bounds > self.task.value):
                made = (way, self.trees[int(index[row])], self.trees[-1])
                self._wait(int(bounds[row]), (int(new[row, 0]), int(new[row, 1])), held[row], made)


def most_value(
    pieces: Sequence[Piece],
    room: tuple[int, int],
    kerf: int,
    *,
    seconds: float = 10.0,
    most_built: int = MOST_BUILT,
) -> SingleResult:
    """The most valuable cutting of one sheet.

    Parameters
    ----------
    pieces : sequence of Piece
        Length, width, value (whole, not negative), limit or None, whether it may be turned.
    room : tuple of int
        Length and width of the sheet inside its trims, in the same whole units as those of the pieces.
    kerf : int
        Lost between two neighbours, in these units.
    seconds : float
        Wall clock. What comes first, all sides that can occur and one bound, is not cut short: 0.2 s for a
        dozen parts in units of 1/8128 inch.
    most_built : int
        Rectangles joined at the most where limits bind: the same for the same result.

    Returns
    -------
    SingleResult
        Proved unless the time, or ``most_built``, ended it. Its tree says which parts lie ``beside`` each
        other along the sheet, and which ``above``; a leaf is a piece's index, and whether it is turned.

    Raises
    ------
    ValueError
        If a number is not whole, or makes no sense: a side of 0, a limit below 0, values too large to add.
    """
    _require_sound(pieces, room, kerf)
    deadline = time.monotonic() + seconds

    def ended() -> bool:
        return time.monotonic() > deadline

    cutting = Cutting(pieces, room, kerf)
    values = np.array([piece[2] for piece in pieces], dtype=np.int64)
    limits = np.array(_limits(pieces, room, kerf), dtype=np.int64)
    fine = max(1, FINE // max(1, int(values @ limits)))
    loose = int(values[cutting.loose] @ limits[cutting.loose])
    task = Limited(cutting, np.where(cutting.loose, 0, values * fine), limits)
    task.relax(ended)
    task.build(most_built, ended)
    counts = counts_of(task.tree, len(pieces))
    value = int(values @ counts)
    bound = max(value, task.bound // fine + loose)
    return SingleResult(value, bound, tuple(map(int, counts)), task.tree)


def _limits(pieces: Sequence[Piece], room: tuple[int, int], kerf: int) -> list[int]:
    """How many of each there are, or no more than its area goes into the sheet's."""
    area = (room[0] + kerf) * (room[1] + kerf)
    most = [area // ((piece[0] + kerf) * (piece[1] + kerf)) for piece in pieces]
    return [many if limit is None else min(many, limit)
            for many, (_, _, _, limit, _) in zip(most, pieces, strict=True)]  # fmt: skip


def _require_sound(pieces: Sequence[Piece], room: tuple[int, int], kerf: int) -> None:
    for index, (a, b, value, limit, _) in enumerate(pieces):
        if not all(isinstance(n, Integral) for n in (a, b, value, 0 if limit is None else limit)):
            raise ValueError(f"piece {index} has a number that is not whole")
        if min(a, b) <= 0 or value < 0 or (limit is not None and limit < 0):
            raise ValueError(f"piece {index} has a side of 0, or a value or limit below 0")
    if not all(isinstance(n, Integral) for n in (*room, kerf)) or min(room) <= 0 or kerf < 0:
        raise ValueError(f"a sheet of {room[0]} x {room[1]} with a kerf of {kerf} makes no sense")
    if max(room) + kerf > LONGEST:
        raise ValueError(f"a side of more than {LONGEST} units: take larger ones")
    limits = _limits(pieces, room, kerf)
    worth = sum(int(piece[2]) * many for piece, many in zip(pieces, limits, strict=True))
    if worth > MOST_WORTH:
        raise ValueError("the values are too large to be added up: scale them down")
