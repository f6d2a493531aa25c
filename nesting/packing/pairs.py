"""Head-to-foot pairs: two tapered parts side by side in one rectangular blank, one slanted cut between.

A pair that is ripped and crosscut as a blank first is tapered over its own length, where both readings
are the part's own widths, and what lies beside it stays rectangular.
"""

from __future__ import annotations

from dataclasses import dataclass

from nesting.packing.fitting import PLAY, divided, fit_corner, kerf_over
from nesting.packing.instance import Instance
from nesting.packing.layout import Shape

MOST_PARTNERS = 60  # of one item
ALIKE = 0.9  # lengths may differ by a tenth: more is better cut from two blanks


@dataclass(frozen=True, slots=True)
class Pair:
    """Two items in a blank: the lower and the upper one, and how they lie."""

    items: tuple[int, int]
    blank: Shape
    lower: Shape
    upper: Shape
    waste: float


class Pairs:
    """The best partners of each tapered item, those that waste least first."""

    def __init__(self, instance: Instance, shapes: list[tuple[Shape, ...]]) -> None:
        self.instance = instance
        self.shapes = shapes
        tapered = [i for i, item in enumerate(instance.items) if not item.rectangular]
        self.ranked: dict[int, list[Pair]] = {}
        for first in tapered:
            found = [pair for second in tapered if (pair := self._pair(first, second))]
            self.ranked[first] = sorted(found, key=lambda pair: (pair.waste, pair.items))[:MOST_PARTNERS]

    def _pair(self, first: int, second: int) -> Pair | None:
        """The lowest blank for two items; None where their lengths differ too much."""
        ways = [
            pair
            for lower in self.shapes[first]
            for upper in self.shapes[second]
            if not lower.high and upper.high and lower.turned == upper.turned
            if (pair := self._stack((first, second), lower, upper))
        ]
        return min(ways, key=lambda pair: pair.waste, default=None)

    def _stack(self, items: tuple[int, int], lower: Shape, upper: Shape) -> Pair | None:
        length = max(lower.length, upper.length)
        if min(lower.length, upper.length) < ALIKE * length:
            return None
        kerf = self.instance.saw.kerf
        far = lower.left + divided((lower.right - lower.left) * length, lower.length)
        over = kerf_over(kerf, length, far - lower.left)
        roof = 2 * (max(lower.left, far) + over + max(upper.left, upper.right))
        rest = (0, length, lower.left + over, far + over, roof, roof)
        fits, _, _, top, _, _ = fit_corner(rest, upper.length, upper.left, upper.right, upper.high)
        if not fits or min(far, lower.left) <= 0:
            return None
        # where the line runs on beyond the lower part it may be moved by a unit or two
        height = top + (0 if lower.length == length else 2 * PLAY)
        blank = Shape(length, height, height, False, False, lower.turned)
        areas = sum(self.instance.items[i].twice_area for i in items) / 2
        return Pair(items, blank, lower, upper, length * height - areas)



def blank_of(shape: Shape) -> Shape:
    """The least blank for a tapered shape by itself: ripped as wide as its wider end, straight."""
    height = max(shape.left, shape.right)
    return Shape(shape.length, height, height, False, False, shape.turned)
