"""The rows beside the picture: each cut with its readings, and parts whose words found no room in it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from nesting.drawing.ink import FINE, MEDIUM, THIN, Ink
from nesting.drawing.measure import Words, plain
from nesting.drawing.page import WIDTH, Box, Spot
from nesting.drawing.words import UNWANTED, Step, edges_words
from nesting.plan import Plan, PlanPart
from nesting.report.partslist import size_words

NUMBER_ROOM = 8.0
RADIUS = 2.6
SMALL_RADIUS = 2.2
PART_FIRST = 5.0
ON_WASTE = "w: on waste"
EDGE = 0.3  # off the right edge of the page for a letter that stands out of its place, such as K
HEADS = (("cut", ""), ("from", "edge"), ("at left or", "lower end"), ("at right or", "upper end"),
         ("length", ""), ("what it gives,", "and the rail"))  # fmt: skip

ENDS = (("left or", "lower"), ("right or", "upper"))  # the same where room is short

Draw = Callable[[Ink, Spot], None]


@dataclass(frozen=True, slots=True)
class Row:
    """Something of a height, drawn below the row before it; a ``head`` stands again in a new column."""

    height: float
    draw: Draw
    head: bool = False


@dataclass(frozen=True, slots=True)
class Style:
    """How rows are set: sizes of letters in points, rooms in millimetres.

    Attributes
    ----------
    figures : float
        Where the readings and the length end; what a cut gives stands beyond, or else below.
    readings : tuple of float
        Sizes for the readings, the largest that fits is taken.
    """

    width: float
    figures: float
    kind: tuple[float, float]
    edge: tuple[float, float]
    readings: tuple[float, ...]
    length: float
    more: float
    first: float
    line: float
    gap: float
    one_line: bool = False

    @property
    def below(self) -> bool:
        """What a cut gives stands below its figures."""
        return self.figures == self.width


WIDE = Style(WIDTH, 121.0, (12.0, 26.0), (10.0, 15.0), (14.0, 13.0, 12.0), 11.0, 8.5, 7.6, 3.8, 4.0)
COMPACT = Style(92.0, 92.0, (8.0, 14.2), (8.0, 10.2), (9.0, 8.5, 8.0), 8.0, 8.0, 4.4, 3.6, 1.3, one_line=True)
NARROW = Style(92.0, 92.0, (9.5, 18.0), (8.0, 10.5), (11.5, 11.0, 10.5, 10.0, 9.5, 9.0), 9.0, 8.0, 4.8,
               3.6, 2.6)  # fmt: skip
STYLES = (NARROW, WIDE, COMPACT)


class StepTable:
    """The cuts as rows under a head; ``fits``: the readings find room beside what else stands there."""

    def __init__(self, steps: Sequence[Step], style: Style) -> None:
        self.steps, self.style = steps, style
        thirds = [self._third(step) for step in steps] + ["it gives"] * style.one_line
        length = max((Words(text, style.length).width for text in thirds), default=0.0)
        rails = [Words(_short_rails(step), style.more).width for step in steps] if style.one_line else []
        self.railed = any(rails)
        self.waste = any(" on waste" in step.rail for step in steps)
        least = Words(ON_WASTE if self.waste else "rails").width if self.railed else 0.0
        figures = style.figures - max((max(wide, least) + style.gap for wide in rails if self.railed),
                                      default=EDGE if style.one_line else 0.0)  # fmt: skip
        pieces = [Words(step.piece, style.edge[0]).width for step in steps] if style.one_line else []
        self.piece = max((wide + style.gap for wide in pieces), default=0.0)
        self.number = 2 * SMALL_RADIUS + style.gap if style.one_line else NUMBER_ROOM
        left = self.number + style.kind[1] + self.piece + style.edge[1]
        room = (figures - left - length - 2 * style.gap) / 2
        texts = [reading for step in steps for reading in step.readings]
        self.heads = (*HEADS[:2], *ENDS, ("it gives", "")) if style.one_line else HEADS
        head = max(Words(text).width for lines in self.heads[2:4] for text in lines)
        widths = [(max([head, *(Words(text, size, bold=True).width for text in texts)]), size)
                  for size in style.readings]  # fmt: skip
        self.fits = any(wide <= room for wide, _ in widths)
        wide, self.size = next((found for found in widths if found[0] <= room), widths[-1])
        second = figures - length - style.gap
        self.rights = (second - wide - style.gap, second, figures)

    def _third(self, step: Step) -> str:
        """What stands after the readings: the length, or on one line what the cut gives, in short."""
        if not self.style.one_line:
            return step.length
        wanted = [side for side in (step.kept, step.other) if side not in UNWANTED]
        return "+".join(wanted or [step.kept]).replace("part ", "")

    def rows(self) -> list[Row]:
        """Return all rows, the head first."""
        return [Row(8.4, self._draw_head, head=True), *map(self._row, self.steps)] if self.steps else []

    def _draw_head(self, ink: Ink, spot: Spot) -> None:
        x, y = spot
        style = self.style
        places = [(0.3, "start"), (self.number + style.kind[1] + self.piece, "start"),
                  *((right, "end") for right in self.rights), (style.figures + 5.0, "start")]  # fmt: skip
        heads = list(zip(self.heads, places, strict=False))[: 5 if style.below else 6]
        if style.one_line:
            heads.append((("of", ""), (self.number + style.kind[1], "start")))
        if style.one_line and self.railed:
            heads.append((("rails", ON_WASTE if self.waste else ""), (style.width, "end")))
        for lines, (at, anchor) in heads:
            for k, text in enumerate(filter(None, lines)):
                ink.words(Words(text), (x + at, y + 2.2 + 3.3 * k), anchor=anchor)
        ink.line(((x, y + 7.6), (x + style.width, y + 7.6)), MEDIUM)

    def _short_row(self, step: Step) -> Row:
        """All on one line: the piece, what is wanted of it in short, and the rails alone; no length."""
        style = self.style
        below = step.gives.partition("(")[1:]  # a remark
        height = style.first + (style.line if any(below) else 0.0)

        def draw(ink: Ink, spot: Spot) -> None:
            x, y = spot[0], spot[1] + style.first / 2
            self._figures(ink, (x, y), step)
            at = x + self.number + style.kind[1]
            ink.words(Words(step.piece, style.edge[0]), (at, y), anchor="start")
            if step.rails:
                rails = Words(_short_rails(step), style.more)
                ink.words(rails, (x + style.width, y), anchor="end")
            if any(below):
                where = (x + self.number, y + style.line)
                ink.words(Words("".join(below), style.more), where, anchor="start")
            ink.line(((x, spot[1] + height), (x + style.width, spot[1] + height)), FINE)

        return Row(height, draw)

    def _row(self, step: Step) -> Row:
        style = self.style
        if style.one_line:
            return self._short_row(step)
        left = NUMBER_ROOM if style.below else style.figures + 5.0
        room = style.width - left
        gives, rail = Words(step.gives, style.more), Words(step.rail, style.more)
        if style.below and gives.width + 3.0 + rail.width <= room:
            lines, right = [gives], rail
        else:
            lines, right = [*gives.wrap(room), *rail.wrap(room)], None
        if style.below:
            start, height = style.first, style.first + style.line * len(lines) + 0.8
        else:
            height = max(style.first, style.line * len(lines)) + 1.0
            start = (height - style.line * len(lines)) / 2 - 0.5

        def draw(ink: Ink, spot: Spot) -> None:
            x, y = spot[0], spot[1] + 0.5
            self._figures(ink, (x, y + (style.first if style.below else height - 1.0) / 2), step)
            for k, line in enumerate(lines):
                ink.words(line, (x + left, y + start + style.line * (k + 0.5)), anchor="start")
            if right:
                ink.words(right, (x + style.width, y + start + style.line / 2), anchor="end")
            ink.line(((x, y + height - 0.6), (x + style.width, y + height - 0.6)), FINE)

        return Row(height, draw)

    def _figures(self, ink: Ink, spot: Spot, step: Step) -> None:
        x, y = spot
        style = self.style
        number = Words(str(step.number), bold=True)
        radius = SMALL_RADIUS if style.one_line else max(RADIUS, number.width / 2 + 0.7)
        middle = (x + (SMALL_RADIUS if style.one_line else RADIUS + 0.3), y)
        if not style.one_line:
            ink.circle(middle, radius, THIN)
        ink.words(number, middle)
        kind = Words(step.kind, style.kind[0], bold=not style.one_line)
        ink.words(kind, (x + self.number, y), anchor="start")
        edge = Words(step.edge, style.edge[0]).cut(style.edge[1] + (0.0 if style.one_line else 3.0))
        ink.words(edge, (x + self.number + style.kind[1] + self.piece, y), anchor="start")
        for text, right in zip(step.readings, self.rights, strict=False):
            ink.words(Words(text, self.size, bold=True), (x + right, y), anchor="end")
        ink.words(Words(self._third(step), style.length), (x + self.rights[2], y), anchor="end")


def _short_rails(step: Step) -> str:
    """The rails alone, with a sign where they lie on what is not kept."""
    return f"w {step.rails}" if step.rails and " on waste" in step.rail else step.rails


def part_rows(plan: Plan, parts: Sequence[PlanPart], kept: Sequence[tuple[str, str]],
              style: Style) -> list[Row]:  # fmt: skip
    """Set parts and offcuts whose words found no room in the picture as rows, under a head."""
    if not parts and not kept:
        return []
    width = style.width

    def head(ink: Ink, spot: Spot) -> None:
        x, y = spot
        ink.words(Words("part", bold=True), (x + 0.3, y + 3.6), anchor="start")
        ink.words(Words("length × width, start to end"), (x + width, y + 3.6), anchor="end")
        how = Words("Show face up and straight edge below, its start is on the left.")
        ink.words(how, (x + 0.3, y + 7.2), anchor="start")
        ink.line(((x, y + 9.4), (x + width, y + 9.4)), MEDIUM)

    return [
        Row(10.0, head, head=True),
        *(_part_row(str(part.number), plain(part.id), size_words(plan, part), edges_words(plan, part), width)
          for part in parts),
        *(_part_row("", name, size, "", width) for name, size in kept),
    ]  # fmt: skip


def _part_row(number: str, name: str, size: str, edges: str, width: float) -> Row:
    measures = Words(size, 9.5).within(width - 24)
    called = Words(name, 9.0).within(width - NUMBER_ROOM - 3.0 - measures.width)
    room = width - NUMBER_ROOM
    more = [line.cut(room) for line in Words(edges).wrap(room)] if edges else []
    height = PART_FIRST + NARROW.line * len(more)

    def draw(ink: Ink, spot: Spot) -> None:
        x, y = spot
        ink.words(Words(number, 11.0, bold=True), (x + NUMBER_ROOM - 1.2, y + 2.6), anchor="end")
        ink.words(called, (x + NUMBER_ROOM, y + 2.6), anchor="start")
        ink.words(measures, (x + width, y + 2.6), anchor="end")
        for k, line in enumerate(more):
            at = y + PART_FIRST + NARROW.line * (k + 0.5) - 0.4
            ink.words(line, (x + NUMBER_ROOM, at), anchor="start")
        ink.line(((x, y + height - 0.1), (x + width, y + height - 0.1)), FINE)

    return Row(height, draw)


def poured(rows: Sequence[Row], columns: Sequence[Box]) -> tuple[list[tuple[Row, Spot]], list[Row]]:
    """Pour rows into columns, one after the other; returns what found a place, and the rest.

    A head stands again at the top of the next column, and never alone at the foot of one.
    """
    laid: list[tuple[Row, Spot]] = []
    waiting, head = list(rows), None
    for column in columns:
        y = column.y0
        if waiting and head is not None and not waiting[0].head:
            waiting.insert(0, head)
        while waiting:
            row = waiting[0]
            need = row.height + (waiting[1].height if row.head and len(waiting) > 1 else 0.0)
            if y + need > column.y1 + 1e-6:
                break
            laid.append((row, (column.x0, y)))
            y += row.height
            head = row if row.head else head
            waiting.pop(0)
    if waiting and head is not None and not waiting[0].head:
        waiting.insert(0, head)
    return laid, waiting


def balanced(rows: Sequence[Row], columns: Sequence[Box]) -> tuple[list[tuple[Row, Spot]], list[Row]]:
    """Pour rows; where all of them find room, let the columns end at about one height."""
    laid, rest = poured(rows, columns)
    if rest or len(columns) < 2:
        return laid, rest
    low, high = 0.0, max(column.y1 - column.y0 for column in columns)
    while high - low > 1.0:
        middle = (low + high) / 2
        short = [Box(c.x0, c.y0, c.x1, min(c.y1, c.y0 + middle)) for c in columns]
        if poured(rows, short)[1]:
            low = middle
        else:
            high = middle
    return poured(rows, [Box(c.x0, c.y0, c.x1, min(c.y1, c.y0 + high)) for c in columns])
