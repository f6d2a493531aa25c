"""Dual feasible functions: no line across a sheet meets more of such weights than the sheet's own.

Fekete and Schepers 2004; Carlier, Clautiaux and Moukrim 2007.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Function = Callable[[Ints, int], tuple[Ints, int]]
MOST_OF_A_KIND = 40  # thresholds tried of each family on each axis
MOST_LINES = 8
JOINT = 3  # units: the two that a slanted joint is granted, and what rounding takes
WHOLE = 1_000_000  # what one sheet holds in every scaled function


def threshold(k: int) -> Function:
    """f0: above C - k a part takes all, below k nothing, else its size."""
    return lambda x, room: (np.where(x > room - k, room, np.where(x < k, 0, x)), room)


def steps(k: int) -> Function:
    """f2: how many k go into a part, where large parts take what they deny to the others."""

    def weigh(x: Ints, room: int) -> tuple[Ints, int]:
        large = 2 * (room // k - (room - x) // k)
        small = np.where(2 * x == room, room // k, 2 * (x // k))
        return np.where(2 * x > room, large, small), 2 * (room // k)

    return weigh


def lines(count: int) -> Function:
    """Of ``count`` lines at equal distances, how many a part must meet in its inside.

    Parts side by side meet no line twice, so the counts add up to ``count`` at most (own argument, no
    source).
    """
    return lambda x, room: (np.maximum(-(-x * (count + 1) // room) - 1, 0), count)


def zone(margin: int, count: int) -> Function:
    """The same with the lines all at least ``margin`` off both ends: long parts meet every one.

    It holds for the reason given in :func:`lines` (own argument, no source).
    """

    def weigh(x: Ints, room: int) -> tuple[Ints, int]:
        at = np.array([margin + (room - 2 * margin) * i // max(1, count - 1) for i in range(count)])
        # a part meets least where it begins or ends at a line, or lies against an end of the sheet
        begins = np.concatenate((at[None, :].repeat(len(x), axis=0), at[None, :] - x[:, None]), axis=1)
        begins = np.clip(begins, 0, np.maximum(room - x, 0)[:, None])
        after = at[None, None, :] > begins[:, :, None]
        inside = after & (at[None, None, :] < (begins + x[:, None])[:, :, None])
        return np.min(inside.sum(axis=2), axis=1), count

    return weigh


def identity(x: Ints, room: int) -> tuple[Ints, int]:
    """The size itself."""
    return x, room


SECTIONS: list[Function] = [lines(count) for count in range(1, MOST_LINES + 1)]


@dataclass(frozen=True, slots=True)
class Axis:
    """Sizes of all items along one axis of a sheet, lying straight and turned; the sheet's own."""

    straight: Ints
    turned: Ints
    room: int

    def weigh(self, functions: list[Function]) -> tuple[Ints, Ints, Ints]:
        """Weights, a row a function, of items lying straight and turned; and the rooms."""
        pairs = [(f(self.straight, self.room), f(self.turned, self.room)[0]) for f in functions]
        rooms = np.array([room for (_, room), _ in pairs], dtype=np.int64)
        return np.array([w for (w, _), _ in pairs]), np.array([w for _, w in pairs]), rooms

    def family(self, demand: Ints) -> list[Function]:
        """The identity, the best few thresholds and steps, and the sections."""
        return self.narrow(demand) + self.sections()

    def narrow(self, demand: Ints) -> list[Function]:
        """The identity, the best few thresholds and steps."""
        sizes = {int(x) for x in (*self.straight, *self.turned)}
        low = {k for x in sizes for k in (x, self.room - x) if 0 < 2 * k <= self.room}
        found: list[Function] = [identity]
        for kind in (threshold, steps):
            tried = [kind(k) for k in sorted(low)]
            found += sorted(tried, key=lambda f: -self._use(f, demand))[:MOST_OF_A_KIND]
        return found

    def sections(self) -> list[Function]:
        """Lines at equal distances, and lines that the long parts cannot miss."""
        sizes = {int(x) for x in (*self.straight, *self.turned)}
        longest = sorted((x for x in sizes if 2 * x > self.room + 2), reverse=True)
        picked = longest[:: max(1, len(longest) // 4)][:5]
        return SECTIONS + [zone(self.room - x + 1, count) for x in picked for count in (2, 3, 4, 6)]

    def _use(self, function: Function, demand: Ints) -> float:
        weights, room = function(self.straight, self.room)
        return float(weights @ demand) / room if room > 0 else 0.0
