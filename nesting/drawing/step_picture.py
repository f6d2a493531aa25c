"""One cut as a small picture: the piece in hand, the line, both readings, the rail, the blade's path."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import islice

from nesting.drawing.bench import InHand, Outline
from nesting.drawing.ink import DIMENSION, FINE, MEDIUM, OUTLINE, THIN, Ink, Line
from nesting.drawing.measure import LEAST, Words
from nesting.drawing.page import Box, Space, Spot, inside, line_boxes, walls
from nesting.drawing.words import UNWANTED
from nesting.lengths import MM
from nesting.plan import Plan

WIDTH, HEIGHT = 92.0, 29.0
RAIL, KERF = 2.6, 0.7  # breadths on paper, which are not to scale
RAIL_GREY = "#d4d4d4"
FIGURES = 11.0
ARROW, ROOM = 2.0, 5.2  # least of a dimension line with two arrowheads inside it
OFF = 1.2  # of a dimension from what it measures
GAP = 1.0
CAPTION = 0.8  # how far the line above reaches into the picture
SMALLEST = 6  # one millimetre on paper for so many: small pieces are drawn no larger
NAMES = (11.0, 10.0, 9.0, LEAST)
BLOCKED_GAP, WASTE_GAP = 1.2, 2.2
LONGEST, MOST_FEET = 25.0, 40  # leader, and places tried for its foot


class StepPicture:
    """The picture of one cut, ``WIDTH`` by ``height`` millimetres, the piece lying as on the sheet."""

    def __init__(self, plan: Plan, hand: InHand, height: float = HEIGHT) -> None:
        self.hand, self.cut, self.height = hand, hand.cut, height
        (ax, ay), (bx, by) = self.cut.start, self.cut.to
        self.along = abs(bx - ax) >= abs(by - ay)
        forward = ax < bx if self.along else ay < by
        ends = (self.cut.start, self.cut.to)
        self.ends = ends if forward else ends[::-1]  # left or lower end first, as the readings are
        self.left_waste = (self.cut.waste_side == "left") is forward
        self.figures = [Words(text, FIGURES, bold=True) for text in hand.step.readings]
        self.leads = (plan.saw.lead_in, plan.saw.lead_out) if self.cut.rails else (0, 0)
        self.space = Space(Box(0.0, CAPTION, WIDTH, self.height))
        self._scale()
        self._lay_out()

    # -- where things are

    def _scale(self) -> None:
        """The largest scale at which piece, rail and figures find room."""
        xs, ys = zip(*self.hand.piece, strict=True)
        x0, x1, y0, y1 = min(xs), max(xs), min(ys), max(ys)
        lead = max(self.leads)
        if self.along:
            across, margins = x1 - x0 + 2 * lead, 2 * (max(f.width for f in self.figures) + OFF + 3 * GAP)
            up, more = y1 - y0, 2 * 5.2
        else:
            across, margins = x1 - x0, 2 * (RAIL + GAP)
            up, more = y1 - y0 + 2 * lead, 2 * 2.6
        self.unit = min((WIDTH - margins) / across, (self.height - more) / up, 1 / (SMALLEST * MM))
        if not self.along:  # figures stand above and below a short piece
            self.unit = min(self.unit, (self.height - 13.0) / (y1 - y0))
        self.shift = (WIDTH / 2 - (x0 + x1) / 2 * self.unit, self.height / 2 + (y0 + y1) / 2 * self.unit)
        self.lead = lead * self.unit
        self.piece = self._all(self.hand.piece)
        (a, b) = (self._at(end) for end in self.ends)
        self.line = (a, b)

    def _at(self, point: tuple[float, float]) -> Spot:
        return (self.shift[0] + point[0] * self.unit, self.shift[1] - point[1] * self.unit)

    def _all(self, points: Outline) -> list[Spot]:
        return [self._at(point) for point in points]

    def _beside(self, line: Line, off: float) -> Line:
        """A line moved square to itself, towards the blade where ``off`` is positive."""
        (ax, ay), (bx, by) = line
        run = math.dist(*line)
        sign = off / run if self.left_waste else -off / run
        nx, ny = (by - ay) * sign, (ax - bx) * sign
        return ((ax + nx, ay + ny), (bx + nx, by + ny))

    def _band(self, line: Line, near: float, far: float) -> list[Spot]:
        first, second = self._beside(line, near), self._beside(line, far)
        return [*first, *reversed(second)]

    def _longer(self, by: float) -> Line:
        (ax, ay), (bx, by_) = self.line
        run = math.dist(*self.line)
        dx, dy = (bx - ax) / run * by, (by_ - ay) / run * by
        return ((ax - dx, ay - dy), (bx + dx, by_ + dy))

    # -- what finds room where

    def _lay_out(self) -> None:
        self.kerf = self._band(self.line, 0.0, KERF)
        self.rail: list[Spot] = []
        self.worded: list[Box] = []
        if self.cut.rails:
            near, far = (0.0, -RAIL) if self.cut.rail_on == "kept" else (KERF, KERF + RAIL)
            self.rail = self._band(self._longer(self.lead), near, far)
        for shape in (self.kerf, self.rail):
            if shape:
                self.space.take(*_boxes(shape))
        self._dimensions()
        self._take_outline()
        self.names = [*self._name(self.hand.step.kept, self.hand.kept),
                      *self._name(self.hand.step.other, self.hand.other)]  # fmt: skip

    @property
    def untold(self) -> list[str]:
        """The sides whose names found no room in the picture, in words that tell them apart."""
        ways = ("upper", "lower") if self.along else ("left", "right")
        kept = ways[self.left_waste]  # seen from the left or lower end, left is above or to the left
        other = ways[not self.left_waste]
        named = {words.text for words, *_ in self.names}
        return [f"{name} is the {way} side, too small here for its name"
                for name, outline, way in ((self.hand.step.kept, self.hand.kept, kept),
                                           (self.hand.step.other, self.hand.other, other))
                if outline and name not in UNWANTED and name not in named]  # fmt: skip

    def _take_outline(self) -> None:
        for side in zip(self.piece, [*self.piece[1:], self.piece[0]], strict=True):
            self.space.take_thin(*line_boxes(*side, 0.3))

    def _dimensions(self) -> None:
        """Both readings, each at its end of the line and from its edge."""
        self.lines: list[Line] = []
        self.arrows: list[tuple[Spot, Spot]] = []
        self.read: list[tuple[Words, Spot]] = []
        self.from_edge: list[Spot] = []
        for k, (end, words, mark) in enumerate(zip(self.ends, self.figures, self.hand.marks, strict=True)):
            towards = 1 if mark.edge in ("right", "upper") else -1
            x, y = end
            edge = (x, y + towards * mark.reading) if self.along else (x + towards * mark.reading, y)
            self.from_edge.append(self._at(edge))
            (self._upright if self.along else self._level)(k, self._at(edge), self._at(end), words)
        self.one_edge = len({mark.edge for mark in self.hand.marks}) == 1

    def _upright(self, k: int, edge: Spot, end: Spot, words: Words) -> None:
        """Beside the left or right end of the piece; the figures stand outside of it."""
        way = -1 if k == 0 else 1
        x = end[0] + way * (self.lead + OFF + GAP)
        self._dimension((x, edge[1]), (x, end[1]), ((edge, end), (way * 0.8, 0.0)))
        high = words.height / 2
        y = min(max((edge[1] + end[1]) / 2, high), self.height - high)
        spot = (x + way * (GAP + words.width / 2), y)
        self._put(words, spot)

    def _level(self, k: int, edge: Spot, end: Spot, words: Words) -> None:
        """Below the lower end or above the upper one; the figures break the line, or stand beside it."""
        way = 1 if k == 0 else -1
        y = end[1] + way * 2.8
        run = abs(end[0] - edge[0])
        ways = ((edge, end), (0.0, way * 0.8))
        if run >= words.width + 2 * (ROOM + GAP) + RAIL:
            middle = (edge[0] + end[0]) / 2
            half = math.copysign(words.width / 2 + GAP, end[0] - edge[0])
            self._dimension((edge[0], y), (middle - half, y), ways, False)
            self._dimension((end[0], y), (middle + half, y), ((), (0.0, 0.0)), False)
            self._put(words, (middle, y))
            return
        self._dimension((edge[0], y), (end[0], y), ways)
        off = words.width / 2 + GAP + RAIL + KERF + (ROOM if run < ROOM else 0.0)
        out = math.copysign(1.0, end[0] - edge[0]) if run else 1.0
        for x in (end[0] + out * off, edge[0] - out * (off - RAIL)):
            if words.width / 2 <= x <= WIDTH - words.width / 2 or x < edge[0]:
                self._put(words, (min(max(x, words.width / 2), WIDTH - words.width / 2), y))
                return

    def _put(self, words: Words, spot: Spot) -> None:
        box = Box.around(spot, words.width + GAP, words.height)
        self.read.append((words, spot))
        self.worded.append(box)
        self.space.take(box)

    def _dimension(self, tip: Spot, other: Spot, witness: tuple[Sequence[Spot], Spot],
                   both: bool = True) -> None:  # fmt: skip
        """A thin line with its arrowheads, which stand outside where it is short, and witness lines."""
        towards = (tip[0] - other[0], tip[1] - other[1])
        run = math.hypot(*towards)
        spots, (dx, dy) = witness
        for spot, foot in zip(spots, (tip, other) if both else (tip,), strict=False):
            if math.dist(spot, foot) > 0.5:
                self._thin((spot, (foot[0] + dx, foot[1] + dy)))
        if not run:
            return
        ux, uy = towards[0] / run, towards[1] / run
        if both and run < ROOM:
            self._thin(((tip[0] + ux * ROOM / 1.4, tip[1] + uy * ROOM / 1.4),
                        (other[0] - ux * ROOM / 1.4, other[1] - uy * ROOM / 1.4)))  # fmt: skip
            self.arrows += [(tip, (-ux, -uy)), (other, (ux, uy))]
            return
        self._thin((tip, other))
        self.arrows.append((tip, (ux, uy)))
        if both:
            self.arrows.append((other, (-ux, -uy)))

    def _thin(self, line: Line) -> None:
        self.lines.append(line)
        self.space.take_thin(*line_boxes(*line, 0.3))

    def _name(self, name: str, outline: Outline) -> Iterator[tuple[Words, Spot, Line | None]]:
        """What a side of the cut is called: in it, or beside it with a leader."""
        if not outline or name in UNWANTED:
            return
        corners = self._all(outline)
        limits = walls(corners, [0.4] * len(corners))
        xs, ys = zip(*corners, strict=True)
        middle = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
        spots = _around(middle, Box(min(xs), min(ys), max(xs), max(ys)))
        for size in NAMES:
            words = Words(name, size, bold=True)
            wide, high = words.width + 0.4, words.height
            for spot in spots:
                box = Box.around(spot, wide, high)
                if inside(box, limits) and self.space.free(box):
                    self.space.take(box)
                    self.worded.append(box)
                    yield words, spot, None
                    return
        yield from self._led(Words(name, LEAST, bold=True), corners, middle)

    def _led(self, words: Words, corners: Sequence[Spot],
             middle: Spot) -> Iterator[tuple[Words, Spot, Line | None]]:  # fmt: skip
        limits = walls(corners, [0.0] * len(corners))
        piece = _bounds(self.piece)
        feet = (
            spot for spot in _around(middle, _bounds(corners), 1.0)
            if inside(Box.around(spot, 0.2, 0.2), limits) and self.space.clear(Box.around(spot, 0.6, 0.2))
        )  # fmt: skip
        room = Box(2.0, 2.0, WIDTH - 2.0, self.height - 2.0)
        wide, high = words.width + 0.6, words.height
        for foot in list(islice(feet, MOST_FEET)) or [middle]:
            for spot in _around(foot, room, 1.5, LONGEST):
                box = Box.around(spot, wide, high)
                if math.dist(spot, foot) > LONGEST or box.meets(piece) or not self.space.free(box):
                    continue
                end = (min(max(foot[0], box.x0), box.x1), min(max(foot[1], box.y0), box.y1))
                leader = line_boxes(end, foot, 0.2)
                if _crosses_words(leader, self.worded):
                    continue
                self.space.take_thin(*leader)
                self.space.take(box)
                self.worded.append(box)
                yield words, spot, (end, foot)
                return

    # -- on paper

    def draw(self, ink: Ink, corner: Spot) -> None:
        """Put it on paper with its upper left corner at a spot."""
        def to(spot: Spot) -> Spot:
            return (spot[0] + corner[0], spot[1] + corner[1])

        def all_to(spots: Sequence[Spot]) -> list[Spot]:
            return [to(spot) for spot in spots]

        if self.hand.other and self.hand.step.other in UNWANTED:
            ink.hatch(all_to(self._all(self.hand.other)), WASTE_GAP, rising=False)
        for zone in self.hand.blocked:
            for rising in (True, False):
                ink.hatch(all_to(self._all(zone)), BLOCKED_GAP, rising=rising)
        if self.rail:
            ink.shape(all_to(self.rail), FINE, RAIL_GREY)
            self._joints(ink, to)
        ink.shape(all_to(self.piece), MEDIUM)
        if self.one_edge:
            first, second = all_to(self.from_edge)
            if math.dist(first, second) > 0.5:
                ink.line((first, second), OUTLINE * 1.6)
        ink.shape(all_to(self.kerf), fill="black")
        for line in self.lines:
            ink.line((to(line[0]), to(line[1])), DIMENSION)
        for tip, towards in self.arrows:
            ink.arrow(to(tip), towards, ARROW)
        for words, spot in self.read:
            ink.words(words, to(spot))
        for words, spot, leader in self.names:
            if leader:
                ink.line((to(leader[0]), to(leader[1])), FINE)
                ink.circle(to(leader[1]), 0.5, 0.0, "black")
            ink.words(words, to(spot))

    def _joints(self, ink: Ink, to: Callable[[Spot], Spot]) -> None:
        """Where the rails meet, about."""
        total, reach = sum(self.cut.rails), 0
        for rail in self.cut.rails[:-1]:
            reach += rail
            a, b, c, d = self.rail
            share = reach / total
            first = (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))
            second = (d[0] + share * (c[0] - d[0]), d[1] + share * (c[1] - d[1]))
            ink.line((to(first), to(second)), THIN)


def _crosses_words(line: Sequence[Box], worded: Sequence[Box]) -> bool:
    return any(box.meets(words) for box in line for words in worded)


def _bounds(spots: Sequence[Spot]) -> Box:
    xs, ys = zip(*spots, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


def _boxes(band: Sequence[Spot]) -> list[Box]:
    """Cover a narrow band: in one box where it runs along the page, else in short ones."""
    a, b, c, d = band
    count = max(1, math.ceil(math.dist(a, b))) if min(abs(a[0] - b[0]), abs(a[1] - b[1])) > 0.3 else 1
    boxes = []
    for k in range(count):
        spots = [(p[0] + s * (q[0] - p[0]), p[1] + s * (q[1] - p[1]))
                 for p, q in ((a, b), (d, c)) for s in (k / count, (k + 1) / count)]  # fmt: skip
        boxes.append(_bounds(spots))
    return boxes


def _around(middle: Spot, box: Box, step: float = 2.0, most: float = math.inf) -> list[Spot]:
    """Places in a box, the nearest to a middle first; all of those that are at ``most`` so far from it."""
    def places(centre: float, low: float, high: float) -> list[float]:
        before, after = (math.ceil(min(room, most) / step) for room in (centre - low, high - centre))
        return [min(max(centre + k * step, low), high) for k in range(-before, after + 1)]

    xs, ys = places(middle[0], box.x0, box.x1), places(middle[1], box.y0, box.y1)
    spots = [(x, y) for x in xs for y in ys]
    return [spot for _, spot in sorted((round(math.dist(spot, middle), 3), spot) for spot in spots)]
