"""From the sheet to the paper: a scale, and whether the sheet is drawn lying or stood on its left end."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from nesting.drawing.page import Box, Spot
from nesting.geometry import Point
from nesting.lengths import MM

BALLOON = 6.4  # left free around the sheet for numbers of cuts and names of edges
GRAIN = 4.4  # left free beyond it along the lower edge for the grain's arrow
EDGE_NAMES = {"lower": "LOWER EDGE", "upper": "UPPER EDGE", "left": "LEFT END", "right": "RIGHT END"}


@dataclass(frozen=True, slots=True)
class View:
    """A sheet on paper, true to scale.

    Attributes
    ----------
    scale : int
        So many millimetres of sheet are one on paper.
    turned : bool
        The sheet stands on its left end: its length runs up the page, its lower edge is on the right.
    corner : tuple of float
        The upper left corner of the sheet on the page.
    """

    length: int
    width: int
    scale: int
    turned: bool
    corner: Spot = (0.0, 0.0)

    @property
    def size(self) -> Spot:
        """Width and height of the sheet on paper."""
        across, up = self.paper(self.length), self.paper(self.width)
        return (up, across) if self.turned else (across, up)

    @property
    def room(self) -> Spot:
        """Width and height with all that stands around the sheet."""
        width, height = self.size
        more = (GRAIN, 0.0) if self.turned else (0.0, GRAIN)
        return (width + 2 * BALLOON + more[0], height + 2 * BALLOON + more[1])

    @property
    def frame(self) -> Box:
        """The sheet's outline on the page."""
        (x, y), (width, height) = self.corner, self.size
        return Box(x, y, x + width, y + height)

    def paper(self, length: float) -> float:
        """Millimetres on paper for a length in inner units."""
        return length / MM / self.scale

    def at(self, point: tuple[float, float]) -> Spot:
        """Where a point of the sheet is on the page."""
        (left, top), (x, y) = self.corner, point
        if self.turned:
            return (left + self.paper(self.width - y), top + self.paper(self.length - x))
        return (left + self.paper(x), top + self.paper(self.width - y))

    def all(self, points: Iterable[Point]) -> list[Spot]:
        """Where points of the sheet are on the page."""
        return [self.at(point) for point in points]

    def placed(self, corner: Spot) -> View:
        """Return the same view elsewhere: ``corner`` is that of its whole room."""
        x = corner[0] + BALLOON
        return View(self.length, self.width, self.scale, self.turned, (x, corner[1] + BALLOON))


def fitting(length: int, width: int, turned: bool, room: Spot) -> View:
    """Make the largest view that fits into a room, at a whole scale."""
    wide, high = (width, length) if turned else (length, width)
    more = (GRAIN, 0.0) if turned else (0.0, GRAIN)
    across, down = room[0] - 2 * BALLOON - more[0], room[1] - 2 * BALLOON - more[1]
    scale = max(wide / MM / max(across, 1.0), high / MM / max(down, 1.0))
    return View(length, width, max(1, math.ceil(scale)), turned)
