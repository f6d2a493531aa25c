"""Figures that add up as printed.

A table whose cells, row sums and column sums are all rounded to a neighbouring step, so that every
printed row and column still adds up. Such a rounding always exists (controlled rounding; from
memory: Bacharach 1966, Cox 1987). One row alone is the method of the largest remainder, but for ties.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from fractions import Fraction

Cell = tuple[int, int]


def round_table(rows: Sequence[Sequence[int]], grid: int) -> list[list[int]]:
    """Round a table of whole numbers to whole grids.

    Parameters
    ----------
    rows : sequence of sequences of int
        All of one length.
    grid : int
        What one unit of the result is worth.

    Returns
    -------
    list of list of int
        Each cell, and each sum of a row, of a column and of all, is the true one in grids rounded
        up or down; what is whole stays as it is.
    """
    width = len(rows[0]) if rows else 0
    rest = _padded([[cell % grid for cell in row] for row in rows], width, grid)
    broken = _Broken(cell for cell, value in rest.items() if value % grid)
    while first := broken.first():
        cycle = _cycle(first, broken)
        _settle(rest, cycle, grid)
        broken.drop(cell for cell in cycle if rest[cell] % grid == 0)
    return [[cell // grid + rest[i, j] // grid for j, cell in enumerate(row)]
            for i, row in enumerate(rows)]  # fmt: skip


def share_out(row: Sequence[int], grid: int, total: int) -> list[int]:
    """Round one row to whole grids that make ``total``, which the true sum, rounded, must be.

    The method of the largest remainder; of equal ones the first.
    """
    whole = [cell // grid for cell in row]
    by_rest = sorted(range(len(row)), key=lambda j: -(row[j] % grid))
    for j in by_rest[: total - sum(whole)]:
        whole[j] += 1
    return whole


def _padded(rows: list[list[int]], width: int, grid: int) -> dict[Cell, int]:
    """Add a row and a column that bring every sum to whole grids."""
    full = [[*row, -sum(row) % grid] for row in rows]
    full.append([-sum(row[j] for row in full) % grid for j in range(width + 1)])
    return {(i, j): cell for i, row in enumerate(full) for j, cell in enumerate(row)}


class _Broken:
    """The cells that are not whole yet, by row (axis 0) and by column (1), each in order.

    A table may have thousands of rows, so nothing is gone through for each cycle.
    """

    def __init__(self, cells: Iterable[Cell]) -> None:
        self.lines: dict[tuple[int, int], list[Cell]] = {}
        for cell in sorted(cells):
            for axis in (0, 1):
                self.lines.setdefault((axis, cell[axis]), []).append(cell)
        self.rows = [cells for (axis, _), cells in sorted(self.lines.items(), reverse=True) if axis == 0]

    def first(self) -> Cell | None:
        """The first of all; None once all are whole."""
        while self.rows and not self.rows[-1]:
            self.rows.pop()
        return self.rows[-1][0] if self.rows else None

    def other(self, axis: int, cell: Cell) -> Cell:
        """The first in the cell's row or column that is another one."""
        first, second = self.lines[axis, cell[axis]][:2]
        return second if first == cell else first

    def drop(self, cells: Iterable[Cell]) -> None:
        """Forget cells that are whole now."""
        for cell in cells:
            for axis in (0, 1):
                line = self.lines[axis, cell[axis]]
                del line[bisect_left(line, cell)]


def _cycle(first: Cell, broken: _Broken) -> list[Cell]:
    """Walk along rows and columns in turn until a line comes up again.

    No line has a single broken cell, as its sum is whole, so the walk never ends before.
    """
    walk, left_by = [first], dict[Cell, int]()
    while True:
        axis = 1 - len(walk) % 2
        line = (axis, walk[-1][axis])
        if line in left_by:
            return walk[left_by[line] :]
        left_by[line] = len(walk)
        walk.append(broken.other(axis, walk[-1]))


def _settle(rest: dict[Cell, int], cycle: list[Cell], grid: int) -> None:
    """Shift along the cycle, up and down in turn, until a cell is whole; the shorter way."""
    up = min(rest[c] if k % 2 else grid - rest[c] for k, c in enumerate(cycle))
    down = min(grid - rest[c] if k % 2 else rest[c] for k, c in enumerate(cycle))
    shift = up if up <= down else -down
    for k, cell in enumerate(cycle):
        rest[cell] += -shift if k % 2 else shift


def decimal(whole: int, places: int) -> str:
    """Write a whole number of the last place: 1234 with two places is ``12.34``."""
    sign, digits = "-" if whole < 0 else "", f"{abs(whole):0{places + 1}d}"
    return f"{sign}{int(digits[:-places]):,}.{digits[-places:]}" if places else f"{sign}{int(digits):,}"


def rounded(value: Fraction) -> int:
    """Nearest whole number, a half up."""
    return (2 * value.numerator + value.denominator) // (2 * value.denominator)


def money(amount: float) -> str:
    """Hundredths, with a comma at the thousands; the currency is the job's own."""
    return decimal(round(amount * 100), 2)
