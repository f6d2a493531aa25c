"""The cuts on the drawing: thin lines, their numbers in circles, a dark point on the blade's side.

The circle stands beside the sheet where the line comes out there, else on the line; where both are taken
it stands near by with a leader.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from nesting.drawing.ink import FINE, THIN, Ink
from nesting.drawing.measure import Words
from nesting.drawing.page import Box, Space, Spot, line_boxes
from nesting.drawing.view import View
from nesting.plan import Cut

RADIUS, WIDE = 2.6, 3.4  # of a circle; for numbers of three figures
POINT = 1.5  # how far the dark point stands out
BROAD, SLICES = 0.75, 3  # half the angle of its base; boxes that cover it
AIR = 0.3
SHORT = 15.0
FEET = (0.5, 0.3, 0.7, 0.15, 0.85, 0.4, 0.6, 0.05, 0.95)  # where on its line a leader may end
TURNS = 24
ALONG = 1.5  # steps in which a place on the line is looked for
FAR = (5, 7, 9, 12, 15, 19, 24, 30, 38, 47, 58, 72)  # lengths of leaders


@dataclass(frozen=True, slots=True)
class Balloon:
    """A number in its circle; ``side`` points to where the blade is, ``foot`` is a place on the line."""

    number: int
    centre: Spot
    side: Spot
    foot: Spot

    @property
    def radius(self) -> float:
        """Of the circle."""
        return RADIUS if self.number < 100 else WIDE

    @property
    def tip(self) -> Spot:
        """The end of the dark point."""
        reach = self.radius + POINT
        return (self.centre[0] + reach * self.side[0], self.centre[1] + reach * self.side[1])

    @property
    def point(self) -> tuple[Spot, Spot, Spot]:
        """The dark point: its tip, and the ends of its base on the circle."""
        (x, y), (nx, ny), r = self.centre, self.side, self.radius
        first, second = (
            (x + r * (nx * c - ny * s), y + r * (nx * s + ny * c))
            for c, s in ((math.cos(a), math.sin(a)) for a in (-BROAD, BROAD))
        )
        return self.tip, first, second

    @property
    def circle(self) -> Box:
        """What the circle covers."""
        return Box.around(self.centre, 2 * self.radius + AIR, 2 * self.radius + AIR)

    @property
    def boxes(self) -> tuple[Box, ...]:
        """What it covers: the circle, air about the tip, the dark point from its base to the tip."""
        tip, *base = self.point
        ends = [[(foot[0] + k / SLICES * (tip[0] - foot[0]), foot[1] + k / SLICES * (tip[1] - foot[1]))
                 for foot in base] for k in range(SLICES + 1)]  # fmt: skip
        return (
            self.circle,
            Box.around(tip, 1.0, 1.0),
            *(_around([*near, *far], AIR / 3) for near, far in pairwise(ends)),
        )

    def draw(self, ink: Ink) -> None:
        """Put it on paper."""
        r = self.radius
        if math.dist(self.centre, self.foot) > r:
            ink.line((self.centre, self.foot), THIN if _level(self) else FINE * 1.5)
        if not _level(self) and math.dist(self.centre, self.foot) > r:
            ink.circle(self.foot, 0.5, 0.0, "black")
        ink.shape(self.point, fill="black")
        ink.circle(self.centre, r, THIN)
        ink.words(Words(str(self.number), bold=True), self.centre)


def _around(spots: Sequence[Spot], air: float) -> Box:
    xs, ys = zip(*spots, strict=True)
    return Box(min(xs) - air, min(ys) - air, max(xs) + air, max(ys) + air)


def _level(balloon: Balloon) -> bool:
    """Whether the circle stands in the line's own direction."""
    dx, dy = balloon.centre[0] - balloon.foot[0], balloon.centre[1] - balloon.foot[1]
    return abs(dx * balloon.side[0] + dy * balloon.side[1]) < 0.1


class Balloons:
    """Finds places for the numbers of all cuts of a sheet; ``homeless`` are those that found none."""

    def __init__(self, view: View, space: Space, cuts: Sequence[Cut]) -> None:
        self.view, self.space = view, space
        self.lines = {cut.number: (view.at(cut.start), view.at(cut.to)) for cut in cuts}
        self.balloons: list[Balloon] = []
        self.homeless: list[int] = []
        self._place(cuts)

    def draw(self, ink: Ink) -> None:
        """Draw the lines of the cuts, then their numbers over them."""
        for line in self.lines.values():
            ink.line(line, THIN)
        for balloon in self.balloons:
            balloon.draw(ink)

    def _place(self, cuts: Iterable[Cut]) -> None:
        # First all that can stand outside, for they are in nobody's way; then the shortest lines.
        waiting = self._try(self._outside, cuts)
        waiting.sort(key=lambda cut: (math.dist(*self.lines[cut.number]), cut.number))
        waiting = self._try(self._led, self._try(self._on_line, waiting))
        self.homeless = sorted(cut.number for cut in waiting)
        self.balloons.sort(key=lambda balloon: balloon.number)

    def _try(self, way: Callable[[Cut], Iterator[Balloon]], cuts: Iterable[Cut]) -> list[Cut]:
        """Place what can be placed in one way; returns the rest."""
        rest = []
        for cut in cuts:
            if found := next(way(cut), None):
                self._take(found)
            else:
                rest.append(cut)
        return rest

    def _take(self, balloon: Balloon) -> None:
        self.balloons.append(balloon)
        self.space.take(*balloon.boxes)
        if math.dist(balloon.centre, balloon.foot) > balloon.radius + AIR:
            self.space.take_thin(*line_boxes(balloon.centre, balloon.foot, 0.2))

    def _goes(self, balloon: Balloon) -> bool:
        """Whether there is room for it; the point is worked out only where the circle goes."""
        return self.space.free(balloon.circle) and self.space.free(*balloon.boxes[1:])

    def _side(self, cut: Cut) -> Spot:
        """Towards the blade, on the page: a view turns but never mirrors, so left stays left."""
        (ax, ay), (bx, by) = self.lines[cut.number]
        run = math.dist((ax, ay), (bx, by)) or 1.0
        dx, dy = (bx - ax) / run, (by - ay) / run
        return (dy, -dx) if cut.waste_side == "left" else (-dy, dx)

    def _outside(self, cut: Cut) -> Iterator[Balloon]:
        """Beside the sheet, in the run of the line."""
        a, b = self.lines[cut.number]
        frame, side = self.view.frame, self._side(cut)
        radius = RADIUS if cut.number < 100 else WIDE
        for end, other in ((a, b), (b, a)):
            run = math.dist(a, b) or 1.0
            dx, dy = (end[0] - other[0]) / run, (end[1] - other[1]) / run
            edge = _to_edge(end, (dx, dy), frame)
            if edge < 1.5:
                reach = edge + radius + 0.6
                balloon = Balloon(cut.number, (end[0] + reach * dx, end[1] + reach * dy), side, end)
                if self._goes(balloon):
                    yield balloon

    def _on_line(self, cut: Cut) -> Iterator[Balloon]:
        """On the line: off its ends, where no other line is covered, near a quarter of the way."""
        a, b = self._in_reading(cut)
        run, side = math.dist(a, b), self._side(cut)
        places = [k * ALONG for k in range(1, int(run / ALONG))]
        places.sort(key=lambda place: abs(place - min(run / 4, 20.0)))
        others = [line for n, line in self.lines.items() if n != cut.number and not _beside(line, (a, b))]
        for least in (math.inf, SHORT):  # of a line to be covered, where it cannot be helped
            for place in places:
                spot = (a[0] + place / run * (b[0] - a[0]), a[1] + place / run * (b[1] - a[1]))
                balloon = Balloon(cut.number, spot, side, spot)
                if self._goes(balloon) and all(_off(spot, line, least) for line in others):
                    yield balloon

    def _in_reading(self, cut: Cut) -> tuple[Spot, Spot]:
        """A cut's ends in the order of reading: from the left, or from above, of who reads the picture."""
        a, b = self.lines[cut.number]
        down = -1 if self.view.turned else 1
        upright = abs(b[1] - a[1]) > abs(b[0] - a[0])
        return (b, a) if (down * (b[1] - a[1]) < 0 if upright else b[0] < a[0]) else (a, b)

    def _led(self, cut: Cut) -> Iterator[Balloon]:
        """Near the line with a leader to its middle that crosses no words."""
        a, b = self.lines[cut.number]
        side = self._side(cut)
        feet = [(a[0] + f * (b[0] - a[0]), a[1] + f * (b[1] - a[1])) for f in FEET]
        feet = [foot for foot in feet if self.space.clear(Box.around(foot, 0.2, 0.2))]
        for reach in FAR:
            for turn in range(TURNS):
                angle = 2 * math.pi * turn / TURNS
                for foot in feet:
                    spot = (foot[0] + reach * math.cos(angle), foot[1] + reach * math.sin(angle))
                    balloon = Balloon(cut.number, spot, side, foot)
                    if self._goes(balloon) and self.space.clear(*line_boxes(spot, foot, 0.1)):
                        yield balloon


def _off(spot: Spot, line: tuple[Spot, Spot], least: float) -> bool:
    """Whether a circle covers no part of a line, or little of a line of at least a length."""
    return _distance(spot, line) > (0.0 if math.dist(*line) >= least else RADIUS + 0.2)


def _to_edge(end: Spot, towards: Spot, frame: Box) -> float:
    """How far it is from a place in the sheet to the sheet's edge, one way (negative: beyond it)."""
    if abs(towards[0]) > abs(towards[1]):
        return frame.x1 - end[0] if towards[0] > 0 else end[0] - frame.x0
    return frame.y1 - end[1] if towards[1] > 0 else end[1] - frame.y0


def _distance(spot: Spot, line: tuple[Spot, Spot]) -> float:
    a, b = line
    run = math.dist(a, b)
    if run == 0:
        return math.dist(spot, a)
    share = ((spot[0] - a[0]) * (b[0] - a[0]) + (spot[1] - a[1]) * (b[1] - a[1])) / run**2
    share = min(max(share, 0.0), 1.0)
    return math.dist(spot, (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])))


def _beside(line: tuple[Spot, Spot], own: tuple[Spot, Spot]) -> bool:
    """Whether another line runs so close along this one that no circle could keep off it."""
    return all(_distance(end, own) < 1.0 for end in line) or all(_distance(end, line) < 1.0 for end in own)
