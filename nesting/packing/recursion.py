"""The most value of every rectangle that can be cut up edge to edge, in any number of stages.

The recursion of Gilmore and Gomory (1966; Beasley 1985) over the widths and lengths that parts can add up to
(Herz 1972), of these only the raster points where that is exact (Terno, Lindemann and Scheithauer 1987).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

T = TypeVar("T")
Ints = NDArray[np.int64]
Piece = tuple[int, int, int, int | None, bool]
"""Length, width, value, how many at the most, and whether it may be turned by a right angle."""
Leaf = tuple[int, bool]
Tree = Leaf | tuple[str, "Tree", "Tree"]
"""A part and whether it is turned; or two rectangles ``beside`` each other along the sheet, or ``above``."""

MOST_POINTS = 4_000  # on an axis; beyond it sizes are taken on a grid


def folded(tree: Tree, leaf: Callable[[Leaf], T], join: Callable[[str, T, T], T]) -> T:
    """What a tree comes to, from its parts up, in their order: a row may be hundreds of joints deep."""
    waiting: list[tuple[Tree, bool]] = [(tree, False)]
    done: list[T] = []
    while waiting:
        node, seen = waiting.pop()
        if len(node) == 2:
            done.append(leaf(node))
        elif seen:
            second, first = done.pop(), done.pop()
            done.append(join(node[0], first, second))
        else:
            waiting += [(node, True), (node[2], False), (node[1], False)]
    return done[0]


def sides(tree: Tree, pieces: Sequence[Piece], kerf: int) -> tuple[int, int]:
    """Length and width of the least rectangle that the tree can be cut from."""

    def leaf(part: Leaf) -> tuple[int, int]:
        length, width = pieces[part[0]][:2]
        return (width, length) if part[1] else (length, width)

    def join(way: str, one: tuple[int, int], other: tuple[int, int]) -> tuple[int, int]:
        (a, b), (c, d) = one, other
        return (a + kerf + c, max(b, d)) if way == "beside" else (max(a, c), b + kerf + d)

    return folded(tree, leaf, join)


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


def gridded(size: int, room: int, grid: int) -> int:
    """A size on a grid, such that what fits together still does (Carlier, Clautiaux and Moukrim 2007, f2).

    A maximal dual feasible function is superadditive, f(a) + f(b) <= f(a + b), so any cut of a piece
    remains one.
    """
    if grid == 1:
        return size
    if 2 * size > room:
        return 2 * (room // grid - (room - size) // grid)
    return room // grid if 2 * size == room else 2 * (size // grid)


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
        Beyond it sizes are taken on a grid, by :func:`gridded`: recursions then give bounds, and a tree has
        to be measured.

    Attributes
    ----------
    exact : bool
        No grid was needed.
    loose : array of bool
        Pieces that are nothing on the grid: a bound has to count them in full.
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
        self.sizes = np.array([self.size(*shape[2:]) for shape in self.shapes]).reshape(-1, 2)
        self.whole = self.size(*room)
        self.loose = np.zeros(len(pieces), dtype=bool)
        for shape, size in zip(self.shapes, self.sizes, strict=True):
            self.loose[shape[0]] |= size.min() <= 0
        kept = [row for row, shape in enumerate(self.shapes) if not self.loose[shape[0]]]
        self.shapes, self.sizes = [self.shapes[row] for row in kept], self.sizes[kept]
        self.at_x = np.searchsorted(self.xs, self.sizes[:, 0])
        self.at_y = np.searchsorted(self.ys, self.sizes[:, 1])
        self.of = np.array([shape[0] for shape in self.shapes], dtype=np.int64)
        self.back_x, self.back_y = _back(self.xs), _back(self.ys)
        self.half_x, self.half_y = _halves(self.xs), _halves(self.ys)

    def size(self, length: int, width: int) -> tuple[int, int]:
        """Sides with a kerf, on the grid."""
        x, y = (side + self.kerf for side in self.room)
        return gridded(length + self.kerf, x, self.x_grid), gridded(width + self.kerf, y, self.y_grid)

    def _axis(self, side: int, room: int, most: int) -> tuple[int, Ints]:
        """The grid, and the sums of sizes on it; ``side`` is the place of the size in a shape."""
        grid = 1
        while len(points := self._points(side, room, grid)) > most:
            grid = grid * 5 // 4 + 1
        if grid > 1:  # of those about as coarse the one that makes the parts largest
            near = range(grid, grid * 4 // 3 + 1, max(1, grid // 24))
            grid = max(near, key=lambda g: self._use(side, room, g))
            points = self._points(side, room, grid)
        return grid, np.array(points, dtype=np.int64)

    def _use(self, side: int, room: int, grid: int) -> Fraction:
        whole = room + self.kerf
        used = sum(
            gridded(shape[side] + self.kerf, whole, grid) * shape[5 - side] * (self.pieces[shape[0]][3] or 1)
            for shape in self.shapes
        )
        return Fraction(used, gridded(whole, whole, grid))

    def _points(self, side: int, room: int, grid: int) -> list[int]:
        room += self.kerf
        whole = gridded(room, room, grid)
        limits = [piece[3] for piece in self.pieces]
        ways: dict[int, tuple[int, ...]] = {}
        for shape in self.shapes:
            ways[shape[0]] = (*ways.get(shape[0], ()), gridded(shape[side] + self.kerf, room, grid))
        points = raster(sums([(way, None) for way in ways.values()], whole), whole)
        if any(limits[item] is not None for item in ways):
            limited = sums([(way, limits[item]) for item, way in ways.items()], whole)
            points = min(points, limited, key=len)
        return points

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
        waiting: list[str | tuple[int, int]] = [(len(self.xs) - 1, len(self.ys) - 1)]
        done: list[Tree | None] = []
        while waiting:
            asked = waiting.pop()
            if isinstance(asked, str):
                second, first = done.pop(), done.pop()
                done.append(joined(asked, (first, second)))
                continue
            found = self._parted(most, values, *asked)
            if found is None or len(found) == 2:
                done.append(found)
            else:
                waiting += [found[0], found[2], found[1]]
        return done[0]

    def _parted(
        self, most: Ints, values: Ints, x: int, y: int
    ) -> Leaf | tuple[str, tuple[int, int], tuple[int, int]] | None:
        """A part, or a way to join and the two rectangles that it joins; None for nothing."""
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
            return "beside", (at, y), (int(self.back_x[x, at]), y)
        b = np.arange(1, self.half_y[y] + 1)
        at = int(b[np.argmax(most[x, b] + most[x, self.back_y[y, b]] == value)])
        return "above", (x, at), (x, int(self.back_y[y, at]))

    def fits(self, tree: Tree) -> bool:
        """Whether a tree can be cut from the sheet, by the true sizes."""
        length, width = sides(tree, self.pieces, self.kerf)
        return length <= self.room[0] and width <= self.room[1]


def joined(way: str, kids: Sequence[Tree | None]) -> Tree | None:
    """Two rectangles as one; one alone where the other is nothing."""
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
