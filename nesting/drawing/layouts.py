"""The ways to put a sheet's picture, its cuts and the notes on a page, and what each is worth."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from nesting.drawing.notes import BAR_HEIGHT
from nesting.drawing.page import HEIGHT, WIDTH, Box, Spot
from nesting.drawing.table import COMPACT, NARROW, WIDE, Row, Style, balanced, poured
from nesting.drawing.title import HEADER, SHORT_HEADER
from nesting.drawing.view import View, fitting
from nesting.plan import Sheet

TOP = HEADER + 1.5
FOOT = HEIGHT - BAR_HEIGHT
GUTTER = WIDTH - 2 * NARROW.width
BETWEEN = 2.5  # between picture and rows
AIR = 1.0  # between rows and notes
# What a layout is worth: how large the picture is, times these.
LEVEL = 1.1  # a lying sheet's words lie level
LARGE_PRINT = 1.05
SMALL_PRINT = 0.85
PAGE_MORE = 0.6
ENOUGH = 12  # one millimetre for so many: larger is worth no more
TRIED = 4  # scales below the largest that are tried though the cuts alone need as many pages

Laid = list[tuple[Row, Spot]]
RowsOf = Callable[[Style], Sequence[Row]]


@dataclass(frozen=True, slots=True)
class Layout:
    """Where picture, rows and notes go on the first page; ``worth`` is what it is worth on one page."""

    view: View
    style: Style
    columns: tuple[Box, ...]
    notes: Box
    worth: float

    def pages(self, rows: Sequence[Row]) -> list[Laid]:
        """Pour rows into the columns of this page, and of as many more as it takes."""
        laid, rest = balanced(rows, self.columns)
        pages = [laid]
        while rest:
            laid, rest = balanced(rest, _whole_columns())
            pages.append(laid)
        return pages

    def worth_with(self, rows: Sequence[Row]) -> float:
        """What it is worth with these rows; wide rows do not go on to another page."""
        rest = poured(rows, self.columns)[1]
        worth = self.worth if not rest or self.style is not WIDE else 0.0
        while rest:
            rest = poured(rest, _whole_columns())[1]
            worth *= PAGE_MORE
        return worth


def layouts(
    sheet: Sheet, cuts: RowsOf, notes: Callable[[float], float], styles: Sequence[Style]
) -> Iterator[Layout]:
    """List the layouts of a sheet.

    Parameters
    ----------
    cuts : callable
        The rows of the cuts in a style.
    notes : callable
        The height of the notes in a width.
    styles : sequence of Style
        Those in which the cuts' figures find room; the narrow one is always taken.
    """
    yield from (one for one in _lying(sheet, cuts, notes(WIDTH)) if one.style in (NARROW, *styles))
    yield _standing(sheet, notes(NARROW.width))


def _lying(sheet: Sheet, cuts: RowsOf, high: float) -> Iterator[Layout]:
    """The picture across the page, at every scale from the largest that could spare a page."""
    notes = Box(0.0, FOOT - high, WIDTH, FOOT)
    largest = fitting(sheet.length, sheet.width, False, (WIDTH, notes.y0 - TOP)).scale
    best = 0.0
    for scale in range(largest, 2 * largest + 1):
        view = View(sheet.length, sheet.width, scale, False)
        top, foot = TOP + view.room[1] + BETWEEN, notes.y0 - AIR
        view = view.placed(((WIDTH - view.room[0]) / 2, TOP))
        size = LEVEL / max(scale, ENOUGH)
        halves = [Box(x, top, x + NARROW.width, foot) for x in (0.0, NARROW.width + GUTTER)]
        narrow = Layout(view, NARROW, tuple(halves), notes, size)
        wide = Layout(view, WIDE, (Box(0.0, top, WIDTH, foot),), notes, size * LARGE_PRINT)
        compact = Layout(view, COMPACT, tuple(halves), notes, size * SMALL_PRINT)
        for layout in (narrow, wide, compact):
            worth = layout.worth_with(cuts(layout.style))
            if worth > best or (worth and scale < largest + TRIED):
                yield layout
            best = max(best, worth)


def _standing(sheet: Sheet, high: float) -> Layout:
    """The picture up the page, what follows on its right."""
    left = WIDTH - NARROW.width
    notes = Box(left, FOOT - high, WIDTH, FOOT)
    room = (left - BETWEEN, FOOT - TOP)
    view = fitting(sheet.length, sheet.width, True, room)
    view = view.placed(((room[0] - view.room[0]) / 2, TOP))
    columns = (Box(left, TOP, WIDTH, notes.y0 - AIR),)
    return Layout(view, NARROW, columns, notes, 1 / max(view.scale, ENOUGH))


def _whole_columns() -> tuple[Box, Box]:
    top = SHORT_HEADER + 2.0
    return Box(0.0, top, NARROW.width, HEIGHT), Box(NARROW.width + GUTTER, top, WIDTH, HEIGHT)
