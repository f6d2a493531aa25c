"""A part on the drawing: its number, name, sizes, the end that goes up, the rooms its edges face.

What finds no room goes into the table beside the cuts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from nesting.drawing.ink import Ink, Line
from nesting.drawing.lettering import (
    GAP,
    SIZES,
    WEDGE,
    Area,
    Block,
    Laid,
    Mark,
    arrangements,
    row,
    stacked,
)
from nesting.drawing.measure import LARGE, LEAST, NUMBER, Words, plain
from nesting.drawing.outline import Outline
from nesting.drawing.page import Box, Space, Spot, line_boxes, spread
from nesting.drawing.sizes import put_length, put_width
from nesting.drawing.view import View
from nesting.drawing.words import said, skew_words
from nesting.plan import Edge, Placed, Plan, PlanPart
from nesting.report.partslist import edge_words

DATUM = (2.6, 2.2)  # base and height of the sign for the straight edge
LEAST_DATUM = 1.3
UP = "TOP"
LONG: tuple[Edge, ...] = ("straight", "far")
ENDS: tuple[Edge, ...] = ("start", "end")
DOT = 0.5


class Piece:
    """One part, laid out on the page.

    Attributes
    ----------
    numbered, named : bool
        Whether its number, and its whole name, found room.
    missing : bool
        Whether any of its words found none.
    """

    def __init__(self, plan: Plan, part: PlanPart, placed: Placed, view: View, space: Space) -> None:
        self.part, self.space = part, space
        self.outline = Outline(view.all(placed.corners), part.band, space)
        self.shape = self.outline.shape
        self.length = said(plan, part.length)
        self.widths = {"start": said(plan, part.width_start), "end": said(plan, part.width_end)}
        self.tapered = self.widths["start"] != self.widths["end"]
        self.skews = {end: skew_words(plan, part, end) for end in ENDS}
        self.name = plain(part.id)
        self.numbered = self.named = self.missing = False
        self._dot: Spot | None = None

    @property
    def led(self) -> bool:
        """Whether its number stands beside it, with a leader."""
        return self._dot is not None

    def place_number(self, with_name: bool) -> None:
        """Find room for the number and, where that leaves the sizes their room, the name with it."""
        self._datum()
        sizes = (20.0, NUMBER) if min(self.shape.length, self.shape.width) > 16 else (NUMBER,)
        numbers = [Mark.of(Words(str(self.part.number), size, bold=True)) for size in sizes]
        if with_name and any(self._number_and_name(number) for number in numbers):
            self.named = self.numbered = True
            return
        self.numbered = any(
            self._put(row([number]), area, along)
            for area in (self._inner(), self.shape.whole) for number in numbers for along in self.shape.ways
        )  # fmt: skip

    def place_words(self) -> None:
        """Find room for all the other words."""
        edges = {edge: self._edge_words(edge) for edge in (*LONG, *ENDS)}
        done: list[bool] = []
        if self.shape.width > 15:  # so broad that the rooms are in nobody's way
            done += [self._put_edge(edge, edges.pop(edge)) for edge in LONG]
        done += [self._top(end) for end in ENDS if self.part.marks.get(end) == UP]
        done.append(put_length(self.outline, self.length))
        done.append(self._widths())
        self.named = self.named or self._late_name()
        done += [self._put_edge(edge, text) for edge, text in edges.items()]
        self.missing = not all([self.numbered, self.named, *done])

    def _inner(self) -> Area:
        """What is left of the frame for number and name when the sizes have their room."""
        length, width = self.shape.length, self.shape.width
        ends = 9.0 if length > 60 else 8.2 if length > 30 else 5.0
        rooms = 3.4 if width > 20 else 0.0
        if width > 9:
            return ends, rooms, length - ends, width - rooms - 4.0
        return ends, 0.0, length - ends - Words(self.length).width - GAP, width

    def _number_and_name(self, number: Mark) -> bool:
        wedge = [Mark(Words(""), *WEDGE)] if self.tapered else []
        for size in SIZES:
            for along in self.shape.ways:
                head = [number, *wedge] if along else [number]
                for block in arrangements(head, Words(self.name, size)):
                    if self._put(block, self._inner(), along):
                        return True
        return False

    def _put(self, block: Block, area: Area, along: bool) -> bool:
        """Lay number and name, and draw the sign for a taper where the block leaves it room."""
        laid = self.shape.put(block, area, along)
        for one in laid or []:
            if not one.mark.words.text and one.mark.width == WEDGE[0]:
                self._wedge(one)
        return laid is not None

    def _wedge(self, laid: Laid) -> None:
        """Draw the sign for a taper: flat on the straight edge's side, high where the part is wide."""
        u, v = self.shape.frame(laid.centre)
        rising = (self.outline.middle("start")[0] < self.outline.middle("end")[0]) is (
            self.part.width_start < self.part.width_end
        )
        flat = -self.outline.inward("straight") * WEDGE[1] / 2
        half = WEDGE[0] / 2 * (1 if rising else -1)
        low = flat - math.copysign(0.7, flat)
        places = [(u - half, v + flat), (u + half, v + flat), (u + half, v - flat), (u - half, v + low)]
        self.outline.solid(places, filled=False)

    def _widths(self) -> bool:
        """Both widths of a taper at their ends; that of a rectangle at one, rather at the reader's left."""
        left_first = sorted(ENDS, key=lambda end: self.outline.middle(end)[0])
        done = (put_width(self.outline, end, self.widths[end]) for end in left_first)
        return all(list(done)) if self.tapered else any(done)

    def _top(self, end: Edge) -> bool:
        """The word TOP with an arrow to its end, near that end."""
        inward = self.outline.inward(end)
        at, middle = self.outline.middle(end)
        for size in (14.0, LARGE, 9.0, LEAST):
            word = Mark.of(Words(UP, size, bold=True))
            long, wide = 0.36 * size, 0.11 * size  # of the arrowhead
            reach = word.width + 1.0 + long
            for off in (6.0, 1.0, 9.0, 12.0, 16.0, 20.0):
                for v in spread(middle, word.height / 2, self.shape.width - word.height / 2, 1.5):
                    tip = at + inward * off
                    foot = tip + inward * long
                    arrow = self.shape.box(min(tip, foot), v - wide, max(tip, foot), v + wide)
                    laid = self.shape.block(row([word]), tip + inward * (reach - word.width / 2), v)
                    if laid and self.shape.clear(arrow):
                        self.shape.take(laid)
                        self.space.take(arrow)
                        self.outline.solid([(tip, v), (foot, v + wide), (foot, v - wide)])
                        return True
        return False

    def _late_name(self) -> bool:
        """The name after the sizes, whole if it can be; else cut short, and the table has all of it."""
        for size in SIZES[1:]:
            words = Words(self.name, size)
            for along in self.shape.ways:
                if any(self._put(block, self.shape.whole, along) for block in stacked(words)):
                    return True
        for room in (60.0, 45.0, 32.0, 24.0, 18.0):
            short = Mark.of(Words(self.name, LEAST).cut(room))
            if any(self._put(row([short]), self.shape.whole, along) for along in self.shape.ways):
                return False
        return False

    def _edge_words(self, edge: Edge) -> str:
        """What is at an edge; TOP has its own place."""
        marks = {name: text for name, text in self.part.marks.items() if text != UP}
        words = plain(edge_words(self.part.model_copy(update={"marks": marks}), edge))
        return ", ".join(filter(None, (words, self.skews.get(edge))))

    def _put_edge(self, edge: Edge, text: str) -> bool:
        """The room an edge faces, and that it is banded, close along that edge."""
        if not text:
            return True
        mark = Mark.of(Words(text).cut(50.0))
        return self._long_edge(edge, mark) if edge in LONG else self._end_edge(edge, mark)

    def _long_edge(self, edge: Edge, mark: Mark) -> bool:
        inward, half = self.outline.inward(edge), mark.width / 2
        deep = mark.height / 2 + self.outline.air[edge] + 0.1
        for u in spread(self.shape.length * 0.25, half, self.shape.length - half, 3.0):
            v = self.outline.across(edge, u)
            slope = abs(self.outline.across(edge, u + half) - v)
            if laid := self.shape.block(row([mark]), u, v + inward * (deep + slope)):
                self.shape.take(laid)
                return True
        return False

    def _end_edge(self, edge: Edge, mark: Mark) -> bool:
        inward = self.outline.inward(edge)
        at, middle = self.outline.middle(edge)
        for along, size in ((False, mark.height), (True, mark.width)):
            deep = size / 2 + self.outline.air[edge] + 0.2
            for off in (0.0, 1.0, 4.0, 6.0, 8.0, 10.0):
                for v in spread(middle, 0.0, self.shape.width, 1.5):
                    if laid := self.shape.block(row([mark]), at + inward * (deep + off), v, along):
                        self.shape.take(laid)
                        return True
        return False

    def _datum(self) -> None:
        """A filled triangle that stands on the straight edge (as ISO 5459 marks a datum, from memory)."""
        base, high = DATUM
        length, inward = self.shape.length, self.outline.inward("straight")
        high = min(high, self.shape.width / 3)
        if high < LEAST_DATUM:
            return
        for u in spread(length * 0.8, base, length - base, max(length / 8, 2.0)):
            v = self.outline.across("straight", u)
            box = self.shape.box(u - base / 2, v, u + base / 2, v + inward * high)
            if self.space.free(box):
                self.space.take(box)
                self.outline.solid([(u - base / 2, v), (u + base / 2, v), (u, v + inward * high)])
                return

    def lead(self, spots: Iterable[Spot]) -> None:
        """Put the number beside the part, at the first spot to be had, with a leader to a dot in it."""
        mark = Mark.of(Words(str(self.part.number), NUMBER, bold=True))
        length, width = self.shape.length, self.shape.width
        for spot in spots:
            box = Box.around(spot, mark.width + 1.0, mark.height)
            if not self.space.free(box):
                continue
            near = self.shape.frame(spot)[0] / length
            for share in (min(max(near, 0.05), 0.95), 0.5, 0.25, 0.75, 0.1, 0.9):
                dot = self.shape.page(share * length, width / 2)
                foot = (min(max(dot[0], box.x0), box.x1), min(max(dot[1], box.y0), box.y1))
                if self.space.clear(*line_boxes(foot, dot, 0.1)):
                    self._lead_to(Laid(mark, spot, False), (foot, dot))
                    return

    def _lead_to(self, laid: Laid, leader: Line) -> None:
        self.shape.take([laid])
        self.space.take_thin(*line_boxes(*leader, 0.2))
        self.outline.line(leader)
        self._dot = leader[1]
        self.numbered = True

    def draw(self, ink: Ink) -> None:
        """Put all but the words on paper."""
        self.outline.draw(ink)
        if self._dot:
            ink.circle(self._dot, DOT, 0.0, "black")

    def draw_words(self, ink: Ink) -> None:
        """Put the words on paper, over everything else."""
        for one in self.shape.laid:
            one.draw(ink)

