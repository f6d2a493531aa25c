"""Whether contents come off a sheet (:mod:`nesting.packing.joining`), and which parts are to blame if not."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from nesting.packing.compiled import Loops
from nesting.packing.functions import JOINT, Ints
from nesting.packing.joining import JOINS, MOST_KEPT, STATES, Joins, Pieces, may_join
from nesting.packing.sections import along, beside
from nesting.packing.sure import sure_area

if TYPE_CHECKING:
    from nesting.packing.bounds import Bound

A_JOIN = 4.5e-8  # deterministic seconds
MOST_ITEMS = 16
FEWEST = 2  # parts that are asked about


def room() -> Joins:
    """Room to work in."""
    held, counts, radix, digits, part = (np.zeros(MOST_ITEMS, dtype=np.int64) for _ in range(5))
    return Joins(
        np.zeros((STATES, MOST_KEPT, 4)), np.zeros(STATES, dtype=np.int64), np.zeros(STATES),
        np.zeros(STATES), held, counts, radix, digits, part, np.zeros(4), np.zeros(3),
        np.zeros(1, dtype=np.int64),
    )  # fmt: skip


class Joints:
    """What comes off a sheet of one size.

    Parameters
    ----------
    shared : Joins
        Room to work in; one for all sizes does.
    """

    def __init__(self, bound: Bound, size: int, loops: Loops, shared: Joins) -> None:
        self.loops, self.joins = loops, shared
        self.usual = FEWEST
        self.pieces = _pieces(bound, size)

    @property
    def taken(self) -> int:
        """Joins looked at so far, of all sizes."""
        return int(self.joins.steps[0])

    def fails(self, content: Ints, *, at_a_glance: bool = False) -> Ints | None:
        """Parts of a content that do not come off the sheet, as few as are found; None if it may.

        Of the largest parts as few are asked about as fail: fewer are told sooner, and forbid more. It is
        begun with as many as failed the last time, then one less or one more each time. At a glance it is
        only asked about all of them at once.
        """
        if at_a_glance:
            return self._ask(content)
        areas = self.pieces.areas
        kinds = sorted((int(i) for i in np.flatnonzero(content)), key=lambda i: -float(areas[i]))
        parts = [item for item in kinds for _ in range(content[item])]
        if len(parts) < FEWEST:
            return None
        number = min(max(FEWEST, self.usual), len(parts))
        failing = self._ask(_counted(parts[:number], content))
        while failing is None and number < len(parts):
            number += 1
            failing = self._ask(_counted(parts[:number], content))
        if failing is None:
            return None
        while number > FEWEST and (less := self._ask(_counted(parts[: number - 1], content))) is not None:
            failing, number = less, number - 1
        self.usual = number
        largest = _counted(parts[:number], content)
        by_itself = (failing < largest).any() and self._ask(failing) is not None
        return self._thinned(failing, None) if by_itself else self._thinned(largest, parts[number - 1])

    def tells(self, content: Ints) -> bool:
        """Whether all of a content is asked about: not where there are too many sets of parts."""
        counts = [int(count) for count in content if count]
        joins = math.prod((count + 1) * (count + 2) // 2 for count in counts)
        return len(counts) <= MOST_ITEMS and joins <= JOINS and math.prod(c + 1 for c in counts) <= STATES

    def _ask(self, content: Ints) -> Ints | None:
        """A set that does not come off beside the others, if there is one, whatever else is on the sheet.

        What slants no more than the content itself may always lie beside it. Of what is steeper one after
        the other is put to the content, and the rest left out, until it fails beside the rest, too: whatever
        holds the content holds one of these together with it, or none.
        """
        slopes = self.pieces.slopes.max(axis=1)
        failing = self._ask_beside(content, float(slopes[content > 0].max(initial=0.0)))
        if failing is None:
            return None
        for item in self._steeper(content):
            if self._ask_beside(content, float(slopes[item])) is not None:
                return failing
            together = content.copy()
            together[item] += 1
            if self._ask_beside(together, float(slopes[item])) is None:
                return None
        return failing

    def _steeper(self, content: Ints) -> list[int]:
        """Items that may lie beside a content and slant more than its own, the steepest first."""
        slopes = self.pieces.slopes.max(axis=1)
        left = self.pieces.facts[0] * self.pieces.facts[1] - self.pieces.areas @ content
        steeper = (slopes > slopes[content > 0].max(initial=0.0)) & (self.pieces.areas <= left)
        return sorted((int(i) for i in np.flatnonzero(steeper)), key=lambda i: -float(slopes[i]))

    def _ask_beside(self, content: Ints, steepest: float) -> Ints | None:
        """The same where nothing that slants more than that lies on the sheet besides."""
        number = int(self.loops(may_join, self.pieces, self.joins, content, steepest))
        if number == 0:
            return None
        less = np.zeros_like(content)
        for item, count, radix in zip(self.joins.held, self.joins.counts, self.joins.radix, strict=True):
            if item < 0:
                break
            less[item] = number // radix % (count + 1)
        return less

    def _thinned(self, content: Ints, needed: int | None) -> Ints:
        """Without what is not needed, small parts first; of one item no part can be left out."""
        for item in sorted(np.flatnonzero(content), key=lambda i: self.pieces.areas[i]):
            while content[item] and item != needed:
                less = content.copy()
                less[item] -= 1
                if self._ask(less) is None:
                    break
                content = less
        return content


def _counted(parts: list[int], content: Ints) -> Ints:
    """How many there are of each item."""
    return np.bincount(parts, minlength=len(content)).astype(np.int64)


def _pieces(bound: Bound, size: int) -> Pieces:
    items, saw = bound.instance.items, bound.instance.saw
    lean = float(bound.instance.lean) if bound.slanted else 0.0
    upright, level = np.zeros((len(items), 2, 3)), np.zeros((len(items), 2, 3))
    slopes = np.zeros((len(items), 2))
    for index, item in enumerate(items):
        long, across = along(item, lean), beside(item, lean)
        for way, turned in enumerate(item.turns()):
            for rows, line in ((upright, across if turned else long), (level, long if turned else across)):
                sure = line.eased(0, JOINT * bound.slanted)
                rows[index, way] = sure.run, (sure.left + sure.right) / 2, sure.slope
            steep = (across.slope, long.slope) if turned else (long.slope, across.slope)
            if bound.takes[index, size]:
                slopes[index] = np.maximum(slopes[index], np.array(steep) + lean)
    reach = saw.reach()
    length, width = bound.instance.sizes[size].usable
    facts = np.array([length, width, saw.kerf, math.inf if reach is None else reach], dtype=np.float64)
    ways = np.array([len(item.turns()) for item in items], dtype=np.int64)
    areas = np.array([sure_area(item) for item in items])
    return Pieces(ways, upright, level, areas, slopes, facts)
