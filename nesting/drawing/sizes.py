"""A part's sizes where they are measured: its length along it, a width across it at its end.

Each tries a dimension line first, as drawn by hand: thin, from edge to edge, broken by its figures. Lines
may cross each other, never words.
"""

from __future__ import annotations

from collections.abc import Iterator

from nesting.drawing.lettering import AIR, Mark, row
from nesting.drawing.measure import LARGE, LEAST, Words
from nesting.drawing.outline import ARROW, Outline
from nesting.drawing.page import Box, spread
from nesting.plan import Edge

FIGURES = (LARGE, 10.0, 9.0, 8.5, LEAST)
SMALL = FIGURES[2:]
HALF = 0.5  # breadth that a dimension line is given on each side
BREAK = 0.8  # between a line and the figures that break it
STUB = ARROW + 1.6  # least of a line on each side of its figures


def put_width(part: Outline, end: Edge, text: str) -> bool:
    """Find room for the width at one end: on a line, beside a line, or by itself."""
    return (
        any(_on_line(part, end, Mark.of(Words(text, size))) for size in FIGURES)
        or _beside_line(part, end, Mark.of(Words(text, LEAST)))
        or any(_across(part, end, Mark.of(Words(text, size))) for size in SMALL)
    )


def _offsets(part: Outline, end: Edge, *offs: float) -> Iterator[float]:
    """Places off an end, not past the middle of the part."""
    at, inward = part.middle(end)[0], part.inward(end)
    yield from (at + inward * off for off in offs if off < part.shape.length / 2)


def _on_line(part: Outline, end: Edge, mark: Mark) -> bool:
    half = mark.width / 2 + BREAK
    for u in _offsets(part, end, 3.2, 4.6, 6.2, 8.2, 10.2):
        low, high = part.walls(u)
        for v in spread((low + high) / 2, low + half + STUB, high - half - STUB, 1.5):
            laid = part.shape.block(row([mark]), u, v, along=False)
            if laid is None:
                continue
            first = part.shape.box(u - HALF, low + 0.3, u + HALF, v - half)
            second = part.shape.box(u - HALF, v + half, u + HALF, high - 0.3)
            if part.space.clear(first, second):
                part.shape.take(laid)
                part.space.take_thin(first, second)
                part.dimension((u, low), (u, v - half))
                part.dimension((u, high), (u, v + half))
                return True
    return False


def _beside_line(part: Outline, end: Edge, mark: Mark) -> bool:
    """Figures along the part, close beside a line across it."""
    inward = part.inward(end)
    for u in _offsets(part, end, 1.6, 3.0, 5.0, 8.0):
        low, high = part.walls(u)
        line = part.shape.box(u - HALF, low + 0.3, u + HALF, high - 0.3)
        if high - low < 2 * ARROW + 0.2 or not part.space.clear(line):
            continue
        for v in spread((low + high) / 2, low + 1.7, high - 1.7, 1.0):
            if laid := part.shape.block(row([mark]), u + inward * (mark.width / 2 + 1.0), v):
                part.shape.take(laid)
                part.space.take_thin(line)
                part.dimension((u, low), (u, high), both=True)
                return True
    return False


def _across(part: Outline, end: Edge, mark: Mark) -> bool:
    """Figures across the part, with no line."""
    for u in _offsets(part, end, 2.4, 4.0, 6.0, 8.0):
        low, high = part.walls(u)
        for v in spread((low + high) / 2, low + mark.width / 2, high - mark.width / 2, 0.5):
            if laid := part.shape.block(row([mark]), u, v, along=False):
                part.shape.take(laid)
                return True
    return False


def put_length(part: Outline, text: str) -> bool:
    """Find room for the length: on a line from end to end, or by itself."""
    marks = [Mark.of(Words(text, size)) for size in FIGURES]
    small = marks[-len(SMALL) :]
    return (
        any(_end_to_end(part, mark) for mark in marks)
        or any(_alone(part, mark, _near_number(part, mark.height)) for mark in small)
        or any(_alone(part, mark, _tracks(part, mark.height)) for mark in small)
    )


def _near_number(part: Outline, high: float) -> Iterator[float]:
    """Heights at which the length may run: just below the number, or above it."""
    room = part.shape.width
    boxes = [_in_frame(part, one.box) for one in part.shape.laid if one.mark.words.bold]
    low, most = high / 2 + AIR, room - high / 2 - AIR
    if boxes:
        for v in (max(box.y1 for box in boxes) + high / 2 + 0.3,
                  min(box.y0 for box in boxes) - high / 2 - 0.3):  # fmt: skip
            if low <= v <= most:
                yield v


def _tracks(part: Outline, high: float) -> Iterator[float]:
    """All heights at which the length may run."""
    yield from _near_number(part, high)
    low, most = high / 2 + AIR, part.shape.width - high / 2 - AIR
    yield from spread(part.shape.width * 0.75, low, most, 1.0)


def _in_frame(part: Outline, box: Box) -> Box:
    a, b = part.shape.frame((box.x0, box.y0)), part.shape.frame((box.x1, box.y1))
    return Box(min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1]))


def _end_to_end(part: Outline, mark: Mark) -> bool:
    half, block = mark.width / 2 + BREAK, row([mark])
    for v in _tracks(part, mark.height):
        low, high = part.ends(v)
        if not part.space.clear(part.shape.box(low + 0.3, v - HALF, high - 0.3, v + HALF)):
            continue  # in the way wherever the figures break the line: they keep off it, too
        for u in spread(part.shape.length / 2, low + half + 2 * STUB, high - half - 2 * STUB, 4.0):
            if laid := part.shape.block(block, u, v):
                part.shape.take(laid)
                part.space.take_thin(part.shape.box(low + 0.3, v - HALF, u - half, v + HALF),
                                     part.shape.box(u + half, v - HALF, high - 0.3, v + HALF))  # fmt: skip
                part.dimension((low, v), (u - half, v))
                part.dimension((high, v), (u + half, v))
                return True
    return False


def _alone(part: Outline, mark: Mark, tracks: Iterator[float]) -> bool:
    levels, block = list(tracks), row([mark])
    for u in spread(part.shape.length / 2, mark.width / 2, part.shape.length - mark.width / 2, 2.0):
        for v in levels:
            if laid := part.shape.block(block, u, v):
                part.shape.take(laid)
                return True
    return False
