"""A part's four edges in the frame of its reading, and what is drawn there besides words."""

from __future__ import annotations

import math
from collections.abc import Sequence

from nesting.drawing.ink import CHAIN, DIMENSION, THICK, Ink, Line
from nesting.drawing.lettering import AIR, Shape
from nesting.drawing.page import Space, Spot, walls
from nesting.plan import Edge

AROUND: tuple[Edge, ...] = ("straight", "end", "far", "start")
"""The edges from the corners c0, c1, c2 and c3 of the plan's part shape."""

BAND_IN = 1.1  # of the line for banding, from its edge
ARROW = 2.0


class Outline:
    """A part on the page.

    Attributes
    ----------
    shape : Shape
        Its frame: ``u`` along the part in the direction of reading, ``v`` across.
    edges : dict
        By name, from corner to corner on the page.
    """

    def __init__(self, corners: Sequence[Spot], band: Sequence[Edge], space: Space) -> None:
        self.corners, self.band, self.space = corners, band, space
        (ax, ay), (bx, by) = corners[:2]
        air = [BAND_IN + AIR if edge in band else AIR for edge in AROUND]
        self.air = dict(zip(AROUND, air, strict=True))
        self.shape = Shape(corners, abs(by - ay) > abs(bx - ax), space, air)
        pairs = zip(corners, [*corners[1:], corners[0]], strict=True)
        self.edges: dict[Edge, Line] = dict(zip(AROUND, pairs, strict=True))
        self._lines: list[Line] = []
        self._arrows: list[tuple[Spot, Spot]] = []
        self._solids: list[tuple[Sequence[Spot], bool]] = []

    def middle(self, edge: Edge) -> Spot:
        """The middle of an edge, in the frame."""
        a, b = self.edges[edge]
        return self.shape.frame(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2))

    def inward(self, edge: Edge) -> int:
        """Which way it goes inside from an edge: 1 towards greater ``u`` or ``v``, else -1."""
        u, v = self.middle(edge)
        place, room = (v, self.shape.width) if edge in ("straight", "far") else (u, self.shape.length)
        return 1 if place < room / 2 else -1

    def across(self, edge: Edge, u: float) -> float:
        """Where a line across the part meets one of its long edges, in the frame."""
        a, b = (self.shape.frame(spot) for spot in self.edges[edge])
        share = (u - a[0]) / (b[0] - a[0]) if b[0] != a[0] else 0.0
        return a[1] + share * (b[1] - a[1])

    def walls(self, u: float) -> tuple[float, float]:
        """Where a line across the part meets both its long edges."""
        first, second = self.across("straight", u), self.across("far", u)
        return min(first, second), max(first, second)

    def ends(self, v: float) -> tuple[float, float]:
        """Where a line along the part meets its two ends."""
        places = []
        for edge in ("start", "end"):
            a, b = (self.shape.frame(spot) for spot in self.edges[edge])
            share = (v - a[1]) / (b[1] - a[1]) if b[1] != a[1] else 0.0
            places.append(a[0] + share * (b[0] - a[0]))
        return min(places), max(places)

    def dimension(self, tip: Spot, other: Spot, both: bool = False) -> None:
        """Draw a thin line with an arrowhead at its first end, or at both; places in the frame."""
        a, b = self.shape.page(*tip), self.shape.page(*other)
        self._lines.append((a, b))
        self._arrows.append((a, (a[0] - b[0], a[1] - b[1])))
        if both:
            self._arrows.append((b, (b[0] - a[0], b[1] - a[1])))

    def line(self, line: Line) -> None:
        """Draw a thin line; places on the page."""
        self._lines.append(line)

    def solid(self, places: Sequence[Spot], filled: bool = True) -> None:
        """Draw a small shape; places in the frame."""
        self._solids.append(([self.shape.page(*place) for place in places], filled))

    def draw(self, ink: Ink) -> None:
        """Put the edges, the banding and the signs on paper."""
        ink.shape(self.corners, THICK)
        for edge in self.band:
            ink.line(self._inset(edge), THICK, CHAIN)
        for line in self._lines:
            ink.line(line, DIMENSION)
        for tip, towards in self._arrows:
            ink.arrow(tip, towards, ARROW)
        for solid, filled in self._solids:
            ink.shape(solid, 0.0 if filled else DIMENSION, "black" if filled else "white")

    def _inset(self, edge: Edge) -> Line:
        """An edge moved in, and shortened, for the line that says it is banded."""
        (ax, ay), (bx, by) = self.edges[edge]
        run = math.dist((ax, ay), (bx, by)) or 1.0
        nx, ny, _ = walls(self.corners, [0.0] * len(AROUND))[AROUND.index(edge)]
        cut = min(1.4, run / 4) / run
        dx, dy, nx, ny = (bx - ax) * cut, (by - ay) * cut, nx * BAND_IN, ny * BAND_IN
        return ((ax + dx + nx, ay + dy + ny), (bx - dx + nx, by - dy + ny))
