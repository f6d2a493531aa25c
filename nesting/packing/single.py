"""The most valuable cutting of one rectangular sheet, edge to edge, in any number of stages.

Where parts are not limited in number, the recursion of Gilmore and Gomory (1966; Beasley 1985) over the
widths and lengths that parts can add up to (Herz 1972), of these only the raster points where that is
exact (Terno, Lindemann and Scheithauer 1987). Where they are limited, rectangles are joined bottom-up
(Wang 1983), the most promising first (Viswanathan and Bagchi 1993), two of the same parts compared by
their sides. What may still come to lie beside a rectangle is bounded by the recursion, with the limits in
the objective at multipliers found by subgradients (Lagrange; for this problem as in Christofides and
Hadjiconstantinou 1995). A kerf is added to all sides of parts and sheet.

>>> most_value([(30, 20, 6, 1, False), (20, 20, 5, None, False)], (70, 20), kerf=0).value
16
>>> most_value([(30, 20, 6, 1, False), (20, 20, 5, None, False)], (70, 20), kerf=1).value
11
"""

from __future__ import annotations

import heapq
import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Piece = tuple[int, int, int, int | None, bool]
"""Length, width, value, how many at the most, and whether it may be turned by a right angle."""
Tree = tuple[int, bool] | tuple[str, "Tree", "Tree"]
"""A part and whether it is turned; or two rectangles ``beside`` each other along the sheet, or ``above``."""

MOST_POINTS = 4_000  # on an axis; beyond it sizes are taken on a grid
FINE = 1 << 30  # what values are scaled to where multipliers need fractions
MOST_BUILT = 400_000  # rectangles
ROUNDS = 40  # of the multipliers
KEPT = 4  # sets of multipliers that bound each rectangle


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


def sides(tree: Tree, pieces: Sequence[Piece], kerf: int) -> tuple[int, int]:
    """Length and width of the least rectangle that the tree can be cut from."""
    if len(tree) == 2:
        length, width = pieces[tree[0]][:2]
        return (width, length) if tree[1] else (length, width)
    (a, b), (c, d) = (sides(part, pieces, kerf) for part in tree[1:])
    return (a + kerf + c, max(b, d)) if tree[0] == "beside" else (max(a, c), b + kerf + d)


def counts_of(tree: Tree | None, kinds: int) -> Ints:
    """How many of each piece a tree holds."""
    counts = np.zeros(kinds, dtype=np.int64)
    todo = [] if tree is None else [tree]
    while todo:
        node = todo.pop()
        if len(node) == 2:
            counts[node[0]] += 1
        else:
            todo += node[1:]
    return counts


def sums(parts: Sequence[tuple[tuple[int, ...], int | None]], room: int) -> list[int]:
    """All sums up to ``room`` of sizes, each of which may be taken in one of its ways up to its limit."""
    bits, mask = 1, (1 << room + 1) - 1
    for ways, limit in parts:
        fitting = [way for way in set(ways) if 0 < way <= room]
        if limit is None:
            for way in fitting:
                while way <= room:
                    bits |= bits << way & mask
                    way *= 2  # noqa: PLW2901 - 1, 2, 4 … of them
        else:
            for _ in range(min(limit, room // min(fitting)) if fitting else 0):
                once = bits
                for way in fitting:
                    once |= bits << way & mask
                bits = once
    text = bin(bits)[:1:-1]
    return [at for at, bit in enumerate(text) if bit == "1"]


def raster(points: list[int], room: int) -> list[int]:
    """Of sums closed under addition, the ones that suffice: the largest beside each (Terno et al. 1987).

    If a is none of them, then a' = <room - <room - a>> > a is. In a piece w = <room - x> beside some b:
    b + x <= <room - a> <= room - a', so a' + b <= <room - x> = w, and a' does instead of a.
    """
    at = np.array(points)
    rest = at[np.searchsorted(at, room - at, side="right") - 1]
    return sorted({int(x) for x in rest} | {0})


class Cutting:
    """One sheet and its pieces: the sides that occur, and recursions over them for any values.

    Parameters
    ----------
    pieces : sequence of Piece
        Their values are not looked at.
    most_points : int
        Beyond it sizes are divided by a grid and rounded down, the sheet's too. What fits together still
        does, since the whole parts of some numbers add up to no more than that of their sum: recursions
        then give bounds, and a tree has to be measured.

    Attributes
    ----------
    exact : bool
        No grid was needed.
    """

    def __init__(
        self, pieces: Sequence[Piece], room: tuple[int, int], kerf: int, most_points: int = MOST_POINTS
    ) -> None:
        self.pieces, self.room, self.kerf = pieces, room, kerf
        self.shapes = [
            (index, turned, *((b, a) if turned else (a, b)))
            for index, (a, b, _, limit, may) in enumerate(pieces)
            for turned in ((False, True) if may and a != b else (False,))
            if limit != 0 and ((b <= room[0] and a <= room[1]) if turned else (a <= room[0] and b <= room[1]))
        ]
        self.x_grid, self.xs = self._axis(2, room[0], most_points)
        self.y_grid, self.ys = self._axis(3, room[1], most_points)
        self.exact = self.x_grid == self.y_grid == 1
        sizes = np.array([shape[2:] for shape in self.shapes], dtype=np.int64).reshape(-1, 2) + kerf
        self.at_x = np.searchsorted(self.xs, sizes[:, 0] // self.x_grid)
        self.at_y = np.searchsorted(self.ys, sizes[:, 1] // self.y_grid)
        self.of = np.array([shape[0] for shape in self.shapes], dtype=np.int64)
        self.back_x, self.back_y = _back(self.xs), _back(self.ys)
        self.half_x, self.half_y = _halves(self.xs), _halves(self.ys)

    def _axis(self, side: int, room: int, most: int) -> tuple[int, Ints]:
        """The grid, and the sums of sizes on it; ``side`` is the place of the size in a shape."""
        kerf, grid = self.kerf, 1
        limits = [piece[3] for piece in self.pieces]
        while True:
            ways: dict[int, tuple[int, ...]] = {}
            for shape in self.shapes:
                ways[shape[0]] = (*ways.get(shape[0], ()), (shape[side] + kerf) // grid)
            whole = (room + kerf) // grid
            points = raster(sums([(way, None) for way in ways.values()], whole), whole)
            if any(limits[item] is not None for item in ways):
                limited = sums([(way, limits[item]) for item, way in ways.items()], whole)
                points = min(points, limited, key=len)
            if len(points) <= most:
                return grid, np.array(points, dtype=np.int64)
            grid = grid * 5 // 4 + 1

    def inside(self, values: Ints) -> Ints:
        """The most value of a rectangle of each two sides, any number of each piece."""
        most = np.zeros((len(self.xs), len(self.ys)), dtype=np.int64)
        np.maximum.at(most, (self.at_x, self.at_y), values[self.of])
        most = np.maximum.accumulate(np.maximum.accumulate(most, axis=0), axis=1)
        x, y = (self.back_x, self.half_x), (self.back_y, self.half_y)
        return _fill(most, *x, *y) if len(self.ys) <= len(self.xs) else _fill(most.T, *y, *x).T

    def outside(self, most: Ints) -> Ints:
        """The most value of the sheet around a rectangle of each two sides in its corner."""
        rest = np.zeros_like(most)
        last_x, last_y = len(self.xs) - 1, len(self.ys) - 1
        for x in range(last_x, -1, -1):
            if x < last_x:
                beside = most[self.back_x[x + 1 :, x]] + rest[x + 1 :]
                rest[x] = beside.max(axis=0)
            for y in range(last_y - 1, -1, -1):
                above = most[x, self.back_y[y + 1 :, y]] + rest[x, y + 1 :]
                rest[x, y] = max(int(rest[x, y]), int(above.max()))
        return rest

    def tree(self, most: Ints, values: Ints) -> Tree | None:
        """A cutting of the value that the recursion gave for the whole sheet."""
        return self._tree(most, values, len(self.xs) - 1, len(self.ys) - 1)

    def _tree(self, most: Ints, values: Ints, x: int, y: int) -> Tree | None:
        value = int(most[x, y])
        if value <= 0:
            return None
        while most[x - 1, y] == value:  # the least rectangle of this value
            x -= 1
        while most[x, y - 1] == value:
            y -= 1
        whole = (self.at_x <= x) & (self.at_y <= y) & (values[self.of] == value)
        if whole.any():
            return self.shapes[int(np.argmax(whole))][:2]
        a = np.arange(1, self.half_x[x] + 1)
        cut = most[a, y] + most[self.back_x[x, a], y] == value
        if cut.any():
            at = int(a[np.argmax(cut)])
            kids = [self._tree(most, values, i, y) for i in (at, int(self.back_x[x, at]))]
            return _joined("beside", kids)
        b = np.arange(1, self.half_y[y] + 1)
        at = int(b[np.argmax(most[x, b] + most[x, self.back_y[y, b]] == value)])
        return _joined("above", [self._tree(most, values, x, i) for i in (at, int(self.back_y[y, at]))])

    def fits(self, tree: Tree) -> bool:
        """Whether a tree can be cut from the sheet, by the true sizes."""
        length, width = sides(tree, self.pieces, self.kerf)
        return length <= self.room[0] and width <= self.room[1]


def _joined(way: str, kids: Sequence[Tree | None]) -> Tree | None:
    first, second = kids
    return second if first is None else first if second is None else (way, first, second)


def _back(points: Ints) -> Ints:
    """For each two points the index of the largest point up to their difference; 0 where it is none."""
    found = np.searchsorted(points, points[:, None] - points[None, :], side="right") - 1
    return np.maximum(found, 0)


def _halves(points: Ints) -> Ints:
    """How many points above 0 are at most half of each."""
    return np.maximum(np.searchsorted(points, points // 2, side="right") - 1, 0)


def _fill(most: Ints, back: Ints, halves: Ints, back_in: Ints, halves_in: Ints) -> Ints:
    """The recursion, row by row, each with all cuts along it at once; then the cuts within the row."""
    small = int(most.max(initial=0)) * len(back) * len(back_in) < 1 << 31
    filled: Ints = np.array(most, dtype=np.int32 if small else np.int64, order="C")
    cut = np.arange(1, int(halves_in.max(initial=0)) + 1)[None, :]
    real = cut <= halves_in[:, None]
    low = np.where(real, cut, 0)
    high = np.where(real, back_in[:, 1 : cut.size + 1], np.arange(len(back_in))[:, None])
    for at in range(1, len(back)):
        row, cuts = filled[at], halves[at]
        np.maximum(row, filled[at - 1], out=row)
        if cuts:
            parted = filled[1 : cuts + 1] + filled[back[at, 1 : cuts + 1]]
            np.maximum(row, parted.max(axis=0), out=row)
        _close(row, low, high)
    return filled.astype(np.int64)


def _close(row: Ints, low: Ints, high: Ints) -> None:
    """Raise each value of a row to the most that two smaller ones give, until none changes."""
    if not low.shape[1]:
        return
    while True:
        better = (row[low] + row[high]).max(axis=1)
        if (better <= row).all():
            return
        np.maximum(row, better, out=row)


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
        self.found: list[Tree] = []
        self.sets: list[Multipliers] = []

    def keep(self, tree: Tree | None) -> None:
        """Take a tree over, less the parts beyond the limits, if it is the best so far."""
        left = self.limits.copy()
        tree = _within(tree, left)
        if tree is None or not (self.cutting.exact or self.cutting.fits(tree)):
            return
        value = int(self.values @ (self.limits - left))
        if value > self.value:
            self.value, self.tree = value, tree
            self.found.append(tree)

    def relax(self, rounds: int = ROUNDS, enough: int = 0, start: Ints | None = None) -> Ints:
        """Lower the bound by multipliers; returns the best ones.

        Stops where the bound is at most ``enough``, or the best value.
        """
        prices = np.zeros_like(self.values) if start is None else start.copy()
        best, step, calm = prices, 1.0, 0
        for _ in range(rounds):
            worth = np.maximum(self.values - prices, 0)
            most = self.cutting.inside(worth)
            bound = int(most[-1, -1]) + int(prices @ self.limits)
            tree = self.cutting.tree(most, worth)
            self.keep(tree)
            self.sets.append(Multipliers(prices, bound, most))
            calm += 1
            if bound < self.bound:
                self.bound, best, calm = bound, prices, 0
            if self.bound <= max(self.value, enough):
                break
            if calm >= 4:
                step, calm, prices = step / 2, 0, best
            over = counts_of(tree, len(self.values)) - self.limits
            over = np.where((over < 0) & (prices == 0), 0, over).astype(float)
            length = float(over @ over)
            if length == 0:
                break
            by = step * (bound - max(self.value, enough)) / length
            prices = np.maximum(0, prices + np.rint(by * over).astype(np.int64))
        return best

    def build(self, most_built: int, enough: int, ended: Callable[[], bool]) -> None:
        """Join rectangles, the most promising first, until nothing better than the best is possible."""
        if self.bound > max(self.value, enough):
            Builder(self, most_built, enough, ended).go()


def _within(tree: Tree | None, left: Ints) -> Tree | None:
    """Take parts out of a tree of which there are no more; ``left`` counts down."""
    if tree is None:
        return None
    if len(tree) == 2:
        if left[tree[0]] == 0:
            return None
        left[tree[0]] -= 1
        return tree
    return _joined(tree[0], [_within(part, left) for part in tree[1:]])


class Builder:
    """The rectangles joined so far, and the ones that wait for it, best bound first."""

    def __init__(self, task: Limited, most: int, enough: int, ended: Callable[[], bool]) -> None:
        self.task, self.most, self.enough, self.ended = task, most, enough, ended
        cutting = task.cutting
        self.whole = ((cutting.room[0] + cutting.kerf) // cutting.x_grid,
                      (cutting.room[1] + cutting.kerf) // cutting.y_grid)  # fmt: skip
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

    @property
    def least(self) -> int:
        """A rectangle must promise more than this."""
        return max(self.task.value, self.enough)

    def go(self) -> None:
        """Join until done, out of room, or ended."""
        self._singles()
        while self.waiting and -self.waiting[0][0] > self.least:
            if self.serial > self.most or self.ended():
                self.task.bound = min(self.task.bound, -self.waiting[0][0])
                return
            _, _, size, counts, tree = heapq.heappop(self.waiting)
            if size in self.known[counts.tobytes()]:
                self._close(size, counts, tree)
                self._join(size, counts)
        self.task.bound = min(self.task.bound, self.least)

    def _singles(self) -> None:
        cutting = self.task.cutting
        unit = np.eye(len(self.task.values), dtype=np.int64)
        for item, turned, a, b in cutting.shapes:
            size = ((a + cutting.kerf) // cutting.x_grid, (b + cutting.kerf) // cutting.y_grid)
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
        if bound <= self.least:
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
            for row in np.flatnonzero(bounds > self.least):
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
        Length and width of the sheet inside its trims.
    kerf : int
        Lost between two neighbours.
    seconds : float
        Wall clock; only where limits bind it can be what ends the search.
    most_built : int
        Rectangles joined at the most where limits bind: the same for the same result.
    """
    deadline = time.monotonic() + seconds
    cutting = Cutting(pieces, room, kerf)
    values = np.array([piece[2] for piece in pieces], dtype=np.int64)
    area = (room[0] + kerf) * (room[1] + kerf)
    limits = np.array(
        [area // ((a + kerf) * (b + kerf)) if limit is None else limit for a, b, _, limit, _ in pieces]
    )
    fine = max(1, FINE // max(1, int(values @ limits)))
    task = Limited(cutting, values * fine, limits)
    task.relax()
    task.build(most_built, 0, lambda: time.monotonic() > deadline)
    counts = counts_of(task.tree, len(pieces))
    value = int(values @ counts)
    return SingleResult(value, max(value, math.floor(task.bound / fine)), tuple(map(int, counts)), task.tree)
