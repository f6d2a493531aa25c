"""Head-to-foot pairs: two tapered parts side by side in one rectangular blank, one slanted cut between.

A pair that is ripped and crosscut as a blank first is tapered over its own length, where both readings
are the part's own widths, and what lies beside it stays rectangular.
"""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass

from nesting.packing.instance import Instance
from nesting.packing.layout import PLAY, Candidate, Cutter, Node, Shape, fit_corner, kerf_over, shapes_of

ALIKE = 0.9  # lengths may differ by a tenth: more is better cut from two blanks


@dataclass(frozen=True, slots=True)
class Pair:
    """Two items in a blank: the lower and the upper one, and how they lie."""

    items: tuple[int, int]
    blank: Shape
    lower: Shape
    upper: Shape
    waste: float

    def fill(self, cutter: Cutter, cell: Node) -> None:
        """Cut both parts out of a blank."""
        lower, upper = self.items
        whole = self.lower.length == self.blank.length
        cutter.insert(cell, lower, Candidate(0.0, self.lower, False, False, whole))
        rest = cell.kids[1]
        cutter.insert(rest, upper, Candidate(0.0, self.upper, False, False, True))


class Pairs:
    """The best partner of each tapered item, among those still to be placed."""

    def __init__(self, instance: Instance) -> None:
        self.instance = instance
        tapered = [i for i, item in enumerate(instance.items) if not item.rectangular]
        self.ranked: dict[int, list[Pair]] = {}
        for first in tapered:
            found = [pair for second in tapered if (pair := self._pair(first, second))]
            self.ranked[first] = sorted(found, key=lambda pair: (pair.waste, pair.items))

    def best(self, item: int, waiting: Container[int]) -> Pair | None:
        """The pair that wastes least with a partner that waits."""
        return next((pair for pair in self.ranked.get(item, ()) if pair.items[1] in waiting), None)

    def _pair(self, first: int, second: int) -> Pair | None:
        """The lowest blank for two items; None where their lengths differ too much."""
        shapes = [shapes_of(self.instance.items[i], self.instance.mirrored) for i in (first, second)]
        ways = [
            pair
            for lower in shapes[0]
            for upper in shapes[1]
            if not lower.high and upper.high and lower.turned == upper.turned
            if (pair := self._stack((first, second), lower, upper))
        ]
        return min(ways, key=lambda pair: pair.waste, default=None)

    def _stack(self, items: tuple[int, int], lower: Shape, upper: Shape) -> Pair | None:
        length = max(lower.length, upper.length)
        if min(lower.length, upper.length) < ALIKE * length:
            return None
        kerf = self.instance.saw.kerf
        far = lower.left + round((lower.right - lower.left) * length / lower.length)
        over = kerf_over(kerf, length, far - lower.left)
        roof = 2 * (max(lower.left, far) + over + max(upper.left, upper.right))
        rest = (0, length, lower.left + over, far + over, roof, roof, lower.turned)
        fit = fit_corner(rest, upper)
        if fit is None or min(far, lower.left) <= 0:
            return None
        # where the line runs on beyond the lower part it may be moved by a unit or two
        height = fit.top + (0 if lower.length == length else 2 * PLAY)
        blank = Shape(length, height, height, False, False, lower.turned)
        areas = sum(self.instance.items[i].twice_area for i in items) / 2
        return Pair(items, blank, lower, upper, length * height - areas)

