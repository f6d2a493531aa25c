"""Where there is still room on a page: boxes that are taken, and the first free spot for a new one.

Millimetres on paper, y downwards.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

Spot = tuple[float, float]

WIDTH, HEIGHT = 190.0, 259.0
"""Inside this a page prints at 100 % on US Letter and on A4, with the usual margins of a browser."""
CELL = 8.0


class Box(NamedTuple):
    """A rectangle along the page's edges; a tuple, since tens of thousands are made for a page."""

    x0: float
    y0: float
    x1: float
    y1: float

    @classmethod
    def around(cls, centre: Spot, width: float, height: float) -> Box:
        """Make a box of a size about its middle."""
        x, y = centre
        return cls(x - width / 2, y - height / 2, x + width / 2, y + height / 2)

    @property
    def middle(self) -> Spot:
        """The centre."""
        return ((self.x0 + self.x1) / 2, (self.y0 + self.y1) / 2)

    @property
    def corners(self) -> tuple[Spot, Spot, Spot, Spot]:
        """The four corners."""
        return ((self.x0, self.y0), (self.x1, self.y0), (self.x1, self.y1), (self.x0, self.y1))

    def meets(self, other: Box) -> bool:
        """Whether the two have an area in common."""
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1


class Space:
    """What is taken on a page, in a grid of cells so that asking is quick.

    Words and signs keep off everything; thin lines keep off words and signs but may cross each other.
    """

    def __init__(self, limits: Box) -> None:
        self.limits = limits
        self._solid: dict[tuple[int, int], list[Box]] = defaultdict(list)
        self._thin: dict[tuple[int, int], list[Box]] = defaultdict(list)

    def free(self, *boxes: Box) -> bool:
        """Whether there is room for words or a sign, and all of it within the limits."""
        return self._room(boxes, (self._solid, self._thin))

    def clear(self, *boxes: Box) -> bool:
        """Whether there is room for a thin line."""
        return self._room(boxes, (self._solid,))

    def take(self, *boxes: Box) -> None:
        """Keep everything away from here."""
        for box in boxes:
            for cell in _cells(box):
                self._solid[cell].append(box)

    def take_thin(self, *boxes: Box) -> None:
        """Keep words away from a thin line."""
        for box in boxes:
            for cell in _cells(box):
                self._thin[cell].append(box)

    def _room(self, boxes: Sequence[Box], taken: Sequence[Mapping[tuple[int, int], Sequence[Box]]]) -> bool:
        """Whether boxes lie within the limits and meet nothing; asked so often that it is one loop."""
        left, top, right, foot = self.limits
        for x0, y0, x1, y1 in boxes:
            if x0 < left or y0 < top or x1 > right or y1 > foot:
                return False
            down = range(math.floor(y0 / CELL), math.floor(y1 / CELL) + 1)
            for i in range(math.floor(x0 / CELL), math.floor(x1 / CELL) + 1):
                for j in down:
                    for cells in taken:
                        for ax, ay, bx, by in cells.get((i, j), ()):
                            if ax < x1 and x0 < bx and ay < y1 and y0 < by:
                                return False
        return True


def line_boxes(a: Spot, b: Spot, air: float) -> list[Box]:
    """Cover a line with boxes: one where it runs along the page's edges, else one a millimetre."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    level = min(abs(dx), abs(dy)) < 0.5
    count = 1 if level else max(1, math.ceil(math.hypot(dx, dy)))
    spots = [(a[0] + dx * k / count, a[1] + dy * k / count) for k in range(count + 1)]
    return [
        Box(min(p[0], q[0]) - air, min(p[1], q[1]) - air, max(p[0], q[0]) + air, max(p[1], q[1]) + air)
        for p, q in pairwise(spots)
    ]


def _cells(box: Box) -> list[tuple[int, int]]:
    across = range(math.floor(box.x0 / CELL), math.floor(box.x1 / CELL) + 1)
    down = range(math.floor(box.y0 / CELL), math.floor(box.y1 / CELL) + 1)
    return [(i, j) for i in across for j in down]


Walls = tuple[tuple[float, float, float], ...]
"""Half planes ``nx x + ny y >= c``, with a normal of length 1."""


def walls(corners: Sequence[Spot], air: Sequence[float]) -> Walls:
    """What keeps words inside a convex shape: ``air[i]`` off the edge from corner i."""
    turn = math.copysign(1.0, _twice_area(corners))
    found = []
    for i, a in enumerate(corners):
        b = corners[(i + 1) % len(corners)]
        if run := math.dist(a, b):
            nx, ny = -(b[1] - a[1]) / run * turn, (b[0] - a[0]) / run * turn
            found.append((nx, ny, nx * a[0] + ny * a[1] + air[i]))
    return tuple(found)


def inside(box: Box, limits: Walls) -> bool:
    """Whether a box lies inside all walls."""
    x0, y0, x1, y1 = box
    for nx, ny, c in limits:  # noqa: SIM110 - asked so often that it is a plain loop
        if nx * (x0 if nx > 0 else x1) + ny * (y0 if ny > 0 else y1) < c:
            return False
    return True


def _twice_area(corners: Sequence[Spot]) -> float:
    return sum(p[0] * q[1] - q[0] * p[1] for p, q in zip(corners, [*corners[1:], corners[0]], strict=True))


def spread(centre: float, low: float, high: float, step: float) -> Iterator[float]:
    """Places from ``low`` to ``high``, the nearest to ``centre`` first."""
    if low > high:
        return
    centre = min(max(centre, low), high)
    yield centre
    reach = 1
    while centre - reach * step >= low or centre + reach * step <= high:
        for place in (centre - reach * step, centre + reach * step):
            if low <= place <= high:
                yield place
        reach += 1
