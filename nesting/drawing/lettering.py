"""Words inside a shape: each goes to the first free place, smaller before it is cut short.

A shape is lettered in a frame of its own, ``u`` along its length in the direction of reading and ``v``
across it, down from the reader's eye. A shape that stands up on the page is read from the right.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from nesting.drawing.ink import Ink
from nesting.drawing.measure import FIGURE, LARGE, LEAST, POINT, Words
from nesting.drawing.page import Box, Space, Spot, inside, spread, walls
from nesting.report.blocks import words as unbroken

AIR = 0.6  # between words and the edge of their shape
GAP = 1.6  # between words side by side
LEADING = 0.2  # between lines of words
APART = 0.6  # least between words of different lines side by side
STEP = 3.0  # in which places are tried
SIZES = (LARGE, 10.0, 9.0, LEAST)
WEDGE = (6.5, 2.4)  # length and height of the sign for a taper


@dataclass(frozen=True, slots=True)
class Mark:
    """Something placed about a middle: words, or a sign of some width and height (``text`` empty)."""

    words: Words
    width: float
    height: float

    @classmethod
    def of(cls, words: Words) -> Mark:
        """Words as they are."""
        return cls(words, words.width, words.height)

    @property
    def ink_height(self) -> float:
        """Height of what is black: figures alone have no tails."""
        figures = self.words.text.isdigit()
        return FIGURE * self.words.size * POINT if figures else self.height


class Laid(NamedTuple):
    """A mark in its place on the page."""

    mark: Mark
    centre: Spot
    turned: bool

    @property
    def box(self) -> Box:
        """What it takes."""
        return self._box(self.mark.height)

    @property
    def apart(self) -> Box:
        """What it takes, and what parts it from words beside it."""
        return self._box(self.mark.height, 2 * APART)

    @property
    def black(self) -> Box:
        """What of it is black."""
        return self._box(self.mark.ink_height)

    def _box(self, height: float, more: float = 0.0) -> Box:
        width = self.mark.width + more
        if self.turned:
            return Box.around(self.centre, height, width)
        return Box.around(self.centre, width, height)

    def draw(self, ink: Ink) -> None:
        """Put words on paper."""
        if self.mark.words.text:
            ink.words(self.mark.words, self.centre, self.turned)


Block = list[tuple[Mark, float, float]]
"""Marks with their middles, right and down from the middle of all of them."""

Area = tuple[float, float, float, float]
"""Part of a frame: u and v from, u and v to."""


class Shape:
    """A convex shape on the page that takes words.

    Parameters
    ----------
    corners : sequence of spots
        On the page.
    upright : bool
        Its length runs up the page.
    air : sequence of float
        How far words keep off the edge from each corner to the next.
    """

    def __init__(self, corners: Sequence[Spot], upright: bool, space: Space, air: Sequence[float]) -> None:
        self.upright, self.space, self._walls = upright, space, walls(corners, air)
        xs, ys = [x for x, _ in corners], [y for _, y in corners]
        self.bounds = Box(min(xs), min(ys), max(xs), max(ys))
        wide, high = self.bounds.x1 - self.bounds.x0, self.bounds.y1 - self.bounds.y0
        self.length, self.width = (high, wide) if upright else (wide, high)
        self.laid: list[Laid] = []

    def page(self, u: float, v: float) -> Spot:
        """From the shape's frame to the page."""
        b = self.bounds
        return (b.x0 + v, b.y1 - u) if self.upright else (b.x0 + u, b.y0 + v)

    def frame(self, spot: Spot) -> Spot:
        """From the page to the shape's frame."""
        b = self.bounds
        return (b.y1 - spot[1], spot[0] - b.x0) if self.upright else (spot[0] - b.x0, spot[1] - b.y0)

    def box(self, u0: float, v0: float, u1: float, v1: float) -> Box:
        """A box of the frame on the page."""
        (ax, ay), (bx, by) = self.page(u0, v0), self.page(u1, v1)
        return Box(min(ax, bx), min(ay, by), max(ax, bx), max(ay, by))

    def clear(self, *boxes: Box) -> bool:
        """Whether boxes are free and inside."""
        return all(inside(box, self._walls) for box in boxes) and self.space.free(*boxes)

    def block(self, block: Block, u: float, v: float, along: bool = True) -> list[Laid] | None:
        """Lay a block about a place of the frame, if it is free there."""
        turned = self.upright is along
        x, y = self.page(u, v)
        laid = []
        for mark, right, down in block:
            centre = (x + down, y - right) if turned else (x + right, y + down)
            one = Laid(mark, centre, turned)
            if not inside(one.black, self._walls):
                return None
            laid.append(one)
        return laid if self.space.free(*[one.apart for one in laid]) else None

    def take(self, laid: Iterable[Laid]) -> None:
        """Keep what has been found."""
        for one in laid:
            self.laid.append(one)
            self.space.take(one.box)

    @property
    def whole(self) -> Area:
        """All of the frame."""
        return 0.0, 0.0, self.length, self.width

    def put(self, block: Block, area: Area, along: bool) -> list[Laid] | None:
        """Lay a block in an area of the frame, as near to its middle as can be, and keep it."""
        for u, v in _within(block, along, area):
            if laid := self.block(block, u, v, along):
                self.take(laid)
                return laid
        return None

    @property
    def ways(self) -> tuple[bool, bool]:
        """Along or across: first words that lie level on the page."""
        return (not self.upright, self.upright)


def _within(block: Block, along: bool, area: Area) -> Iterator[tuple[float, float]]:
    """Places in an area of the frame where a block does not reach out of it, the middle first."""
    right = max(abs(x) + mark.width / 2 for mark, x, _ in block)
    down = max(abs(y) + mark.ink_height / 2 for mark, _, y in block)
    half_u, half_v = (right, down) if along else (down, right)
    u0, v0, u1, v1 = area
    step = min(1.2, max(0.3, (v1 - v0 - 2 * half_v) / 4))
    for u in spread((u0 + u1) / 2, u0 + half_u, u1 - half_u, STEP):
        for v in spread((v0 + v1) / 2, v0 + half_v, v1 - half_v, step):
            yield u, v


def row(marks: Sequence[Mark], gap: float = GAP) -> Block:
    """Marks side by side."""
    total = sum(mark.width for mark in marks) + gap * (len(marks) - 1)
    block, at = [], -total / 2
    for mark in marks:
        block.append((mark, at + mark.width / 2, 0.0))
        at += mark.width + gap
    return block


def column(marks: Sequence[Mark]) -> Block:
    """Marks below each other."""
    total = sum(mark.height for mark in marks) + LEADING * (len(marks) - 1)
    block, at = [], -total / 2
    for mark in marks:
        block.append((mark, 0.0, at + mark.height / 2))
        at += mark.height + LEADING
    return block


def beside(head: Sequence[Mark], lines: Sequence[Mark]) -> Block:
    """A row of marks with lines of words to the right of it."""
    wide = max(line.width for line in lines)
    start = row([*head, Mark(Words(""), wide, 0.0)])
    body = column(lines)
    *first, (_, at, _) = start
    return [*first, *((mark, at - wide / 2 + mark.width / 2, down) for mark, _, down in body)]


def under(head: Sequence[Mark], lines: Sequence[Mark]) -> Block:
    """A row of marks with lines of words below it."""
    high = max(mark.height for mark in head)
    body = column([Mark(Words(""), 0.0, high), *lines])
    top = body[0][2]
    return [*((mark, right, top) for mark, right, _ in row(head)), *body[1:]]


def arrangements(head: Sequence[Mark], name: Words) -> Iterator[Block]:
    """The ways to set a head and a name: beside it, under it, the name in one line or two."""
    one = [Mark.of(name)]
    yield beside(head, one)
    yield under(head, one)
    if two := halves(name):
        lines = [Mark.of(line) for line in two]
        yield beside(head, lines)
        yield under(head, lines)


def stacked(name: Words) -> Iterator[Block]:
    """The ways to set a name by itself: in one line, or in two."""
    yield row([Mark.of(name)])
    if two := halves(name):
        yield column([Mark.of(line) for line in two])


def halves(words: Words) -> tuple[Words, Words] | None:
    """Break a line at the space that makes two lines as equal as can be; no number off its fraction."""
    parts = unbroken(words.text)
    if len(parts) < 2:
        return None
    pairs = [
        tuple(Words(" ".join(half), words.size, words.bold) for half in (parts[:k], parts[k:]))
        for k in range(1, len(parts))
    ]
    first, second = min(pairs, key=lambda pair: max(line.width for line in pair))
    return first, second
