"""Whether rectangles come off one sheet edge to edge, in any number of stages: a last question of a sheet.

Where all parts are rectangles no cut is slanted, so that the most area that can be cut out of a sheet, with
no more of each part than is asked about, says whether all of it can be (:mod:`nesting.packing.single`, where
the papers are named).
"""

from __future__ import annotations

import math
import time

import numpy as np

from nesting.packing.functions import Ints
from nesting.packing.instance import Instance, Size
from nesting.packing.single import most_value

MOST_BUILT = 3_000  # rectangles joined: up to half a second
A_CUTTING = 0.1  # deterministic seconds that it counts as


def cannot_be_cut(instance: Instance, size: Size, content: Ints, deadline: float | None) -> bool:
    """Whether it is proved that so many of each item, all rectangles, do not come off one sheet.

    Parameters
    ----------
    deadline : float, optional
        On the clock of ``time.monotonic``; only this is not the same each time.
    """
    pieces = []
    for item in np.flatnonzero(content):
        part = instance.items[item]
        length, width = (part.start, part.length) if part.grain == "across" else (part.length, part.start)
        pieces.append((length, width, length * width, int(content[item]), part.grain == "any"))
    seconds = math.inf if deadline is None else max(0.0, deadline - time.monotonic())
    found = most_value(pieces, size.usable, instance.saw.kerf, seconds=seconds, most_built=MOST_BUILT)
    return found.bound < sum(area * count for _, _, area, count, _ in pieces)
