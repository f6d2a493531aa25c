"""Sheets that can be cut, for the proof: found by a search of its own, so that the same come each time."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from nesting.packing.construct import first_plans
from nesting.packing.functions import Ints
from nesting.packing.master import WORTH_IT, Master
from nesting.packing.pool import Pool
from nesting.packing.rules import Rules

TRIES = 600  # for one sheet, in a round
A_TRY = 2e-5  # deterministic seconds


class Seeker:
    """Looks for sheets that are worth more than they should be."""

    def __init__(self, rules: Rules, stop: Callable[[], bool]) -> None:
        self.pool = Pool(rules)
        for state in first_plans(rules):
            self.pool.add(state)
        self.master = Master(rules, self.pool, 1, stop)

    def contents(self, begin: int) -> tuple[Ints, Ints]:
        """Sizes [sheet] and contents [sheet, item] of those found, from a number on."""
        sizes, contents = self.pool.contents()
        return sizes[begin:].astype(np.int64), contents[begin:].astype(np.int64)

    def look(self, values: NDArray[np.float64], fees: NDArray[np.float64], counts: Ints) -> float:
        """Look for sheets of the sizes in a set; returns deterministic seconds.

        Parameters
        ----------
        values : [item]
        fees : [size]
            What a sheet's parts must exceed.
        counts : [size]
        """
        sizes = [] if self.pool.full else [int(size) for size in np.flatnonzero(counts)]
        for size in sizes:
            self.master.look(values, size, TRIES, float(fees[size]) + WORTH_IT)
        return len(sizes) * TRIES * A_TRY
