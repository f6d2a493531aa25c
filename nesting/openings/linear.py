"""Exact linear programmes with a handful of unknowns and any number of rows.

    minimise cost · x   subject to   a · x >= b   for each row (a, b),   cost >= 0,   all whole numbers

by the dual simplex method. A basis is as many tight rows as there are unknowns; column j of the
tableau says how the corner moves, and the objective grows, as basis row j is let go. The most violated
row enters; the leaving one is chosen by the lexicographic ratio test, under which no basis comes
twice whichever row enters (Dantzig, Orden and Wolfe 1955; from memory). The tableau is kept in whole
numbers over one common denominator, so each division is exact (Edmonds 1967; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from operator import mul

Row = tuple[Sequence[int], int]
Column = list[int]

# Every unknown is at least this, which gives a first basis. It lies far below any line through two
# readings: 10^11 units apart in offset (200 miles) and one unit apart in place, carried on as far.
FLOOR = -(10**24)


@dataclass(frozen=True, slots=True)
class Solution:
    """A best corner.

    Attributes
    ----------
    x : tuple of Fraction
        The unknowns.
    binding : frozenset of int
        Rows that are tight in every best solution (those with a positive multiplier).
    only : bool
        True where this is surely the only best solution.
    """

    x: tuple[Fraction, ...]
    binding: frozenset[int]
    only: bool


def minimise(cost: Sequence[int], rows: Sequence[Row]) -> Solution:
    """Solve a programme; see the module for its form.

    Raises
    ------
    ArithmeticError
        If the rows contradict each other.
    """
    tableau = _Tableau(cost)
    while (worst := tableau.most_violated(rows)) is not None:
        tableau.enter(worst, rows[worst])
    return tableau.solution()


class _Tableau:
    """Columns ``objective, x[0], x[1] ..`` over ``scale``: one a basis row, and last the corner."""

    def __init__(self, cost: Sequence[int]) -> None:
        size = len(cost)
        self.scale = 1
        self.columns: list[Column] = [
            [price, *(int(i == j) for i in range(size))] for j, price in enumerate(cost)
        ]
        self.columns.append([sum(cost) * FLOOR, *([FLOOR] * size)])
        self.basis = [-1] * size  # -1 stands for an unknown's floor

    def most_violated(self, rows: Sequence[Row]) -> int | None:
        corner, scale = self.columns[-1][1:], self.scale
        least, found = 0, None
        for i, (a, b) in enumerate(rows):
            slack = sum(map(mul, a, corner)) - b * scale
            if slack < least:
                least, found = slack, i
        return found

    def enter(self, index: int, row: Row) -> None:
        a, b = row
        gain = [sum(map(mul, a, column[1:])) for column in self.columns]
        gain[-1] -= b * self.scale
        leaving = self._leaving(gain)
        pivot = self.columns[leaving]
        for j, column in enumerate(self.columns):
            if j != leaving:
                self.columns[j] = [
                    (old * gain[leaving] - gain[j] * new) // self.scale
                    for old, new in zip(column, pivot, strict=True)
                ]
        self.scale = gain[leaving]
        self.basis[leaving] = index

    def _leaving(self, gain: list[int]) -> int:
        best: int | None = None
        for j, column in enumerate(self.columns[:-1]):
            if gain[j] <= 0:
                continue
            if best is None or [entry * gain[best] for entry in column] < [
                entry * gain[j] for entry in self.columns[best]
            ]:
                best = j
        if best is None:
            raise ArithmeticError("the rows contradict each other")
        return best

    def solution(self) -> Solution:
        free = [column[0] > 0 for column in self.columns[:-1]]
        return Solution(
            x=tuple(Fraction(entry, self.scale) for entry in self.columns[-1][1:]),
            binding=frozenset(i for i, tight in zip(self.basis, free, strict=True) if tight and i >= 0),
            only=all(free),
        )
