"""What of a part is sure however it leans."""

from __future__ import annotations

import math
from dataclasses import dataclass

from nesting.packing.functions import JOINT
from nesting.packing.instance import Instance, Item


@dataclass(frozen=True, slots=True)
class Sure:
    """Chords along and across, and on how many lines they are full."""

    chord_length: int
    chord_width: int
    run: int
    rise: int


def what_is_sure(instance: Instance, *, slanted: bool) -> list[Sure]:
    """For each item; ``slanted`` says whether parts may lean, and cuts be slanted, at all."""
    if not slanted:
        return [Sure(item.length, item.start, item.length, item.start) for item in instance.items]
    lean = float(instance.lean)
    taper = max(abs(i.frame[1] - i.frame[2]) / i.frame[0] for i in instance.items)
    found = []
    for item in instance.items:
        width = min(item.start, item.end) * (1 - (lean + taper) * taper)
        length = item.length - abs(item.skew_start) - abs(item.skew_end)
        run = length * (1 - lean * lean) - max(item.start, item.end) * lean
        sizes = length, width, run, width - item.length * lean
        found.append(Sure(*(max(0, math.floor(x) - JOINT) for x in sizes)))
    return found


def sure_area(item: Item) -> float:
    """Of a sheet; of a slanted part all but what a joint is granted."""
    granted = 0 if item.rectangular else JOINT * (item.length + item.start + item.end)
    return max(0.0, item.twice_area / 2 - granted)
