"""Below the cuts: what the signs mean, how to read the tape, the cautions, and the bar for the print."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from nesting.drawing.balloons import Balloon
from nesting.drawing.ink import CHAIN, DIMENSION, FINE, MEDIUM, THICK, THIN, Ink
from nesting.drawing.measure import Words
from nesting.drawing.page import HEIGHT, Box, Spot
from nesting.drawing.picture import TRIM_GAP, WASTE_GAP
from nesting.drawing.table import Row
from nesting.drawing.words import Step, notes, said
from nesting.lengths import Units
from nesting.plan import Plan, Sheet

BAR_HEIGHT = 7.0
SIGN, AFTER, APART = 9.0, 1.2, 4.0  # width of a sign, what parts it from its words, and from the next
LINE, SIGN_LINE = 3.6, 6.6
INDENT = 0.4  # a J stands out to the left of where it begins
BARS = {Units.INCH: (101.6, 4, "4 inches"), Units.MM: (100.0, 10, "100 mm")}
Sign = Callable[[Ink, Spot], None]


def note_rows(plan: Plan, sheet: Sheet, done: Sequence[Step], width: float) -> list[Row]:
    """Set signs and cautions as rows of a width."""
    lines = _note_lines(plan, sheet, done, width)
    return [*_sign_rows(plan, sheet, width), *map(_line, lines)]


def _sign_rows(plan: Plan, sheet: Sheet, width: float) -> Iterator[Row]:
    row: list[tuple[float, Words, Sign]] = []
    x = 0.0
    for words, sign in _signs(plan, sheet):
        need = SIGN + AFTER + words.width
        if row and x + need > width:
            yield _sign_row(row)
            row, x = [], 0.0
        row.append((x, words, sign))
        x += need + APART
    yield _sign_row(row)


def _sign_row(signs: Sequence[tuple[float, Words, Sign]]) -> Row:
    def draw(ink: Ink, spot: Spot) -> None:
        middle = spot[1] + SIGN_LINE / 2 - 0.8
        for x, words, sign in signs:
            sign(ink, (spot[0] + x, middle))
            ink.words(words, (spot[0] + x + SIGN + AFTER, middle), anchor="start")

    return Row(SIGN_LINE, draw)


def _signs(plan: Plan, sheet: Sheet) -> Iterator[tuple[Words, Sign]]:
    """The signs that the picture has."""
    here = {placed.number for placed in sheet.placed}
    parts = [part for part in plan.parts if part.number in here]
    tapered = any(said(plan, part.width_start) != said(plan, part.width_end) for part in parts)
    found: list[tuple[bool, str, Sign]] = [
        (bool(sheet.cuts), "cut; dark: blade side", _cut),
        (bool(parts), "straight edge", _datum),
        (any(part.band for part in parts), "band this edge", _band),
        (tapered, "taper", _taper),
        (any(offcut.trim and not offcut.keep for offcut in sheet.offcuts), "trim", _trim),
        (any(not (offcut.keep or offcut.trim) for offcut in sheet.offcuts), "waste", _waste),
    ]
    yield from ((Words(text), sign) for wanted, text, sign in found if wanted)


def _cut(ink: Ink, spot: Spot) -> None:
    x, y = spot
    ink.line(((x, y), (x + SIGN, y)), THIN)
    Balloon(1, (x + SIGN / 2, y), (0.0, 1.0), (x + SIGN / 2, y)).draw(ink)


def _datum(ink: Ink, spot: Spot) -> None:
    x, y = spot
    ink.line(((x, y + 1.2), (x + SIGN, y + 1.2)), THICK)
    ink.shape([(x + 3.2, y + 1.2), (x + 5.8, y + 1.2), (x + 4.5, y - 1.0)], fill="black")


def _band(ink: Ink, spot: Spot) -> None:
    x, y = spot
    ink.line(((x, y + 1.2), (x + SIGN, y + 1.2)), THICK)
    ink.line(((x, y + 0.1), (x + SIGN, y + 0.1)), THICK, CHAIN)


def _taper(ink: Ink, spot: Spot) -> None:
    x, y = spot
    ink.shape([(x + 1.0, y + 1.2), (x + 7.5, y + 1.2), (x + 7.5, y - 1.2), (x + 1.0, y + 0.5)], DIMENSION)


def _box(spot: Spot) -> list[Spot]:
    return list(Box(spot[0], spot[1] - 1.6, spot[0] + SIGN, spot[1] + 1.6).corners)


def _trim(ink: Ink, spot: Spot) -> None:
    ink.hatch(_box(spot), TRIM_GAP, rising=True)
    ink.shape(_box(spot), FINE)


def _waste(ink: Ink, spot: Spot) -> None:
    ink.hatch(_box(spot), WASTE_GAP, rising=False)
    ink.shape(_box(spot), FINE)


def _note_lines(plan: Plan, sheet: Sheet, done: Sequence[Step], width: float) -> Iterator[list[Words]]:
    """Lines of a bold topic and what to do, the source behind it."""
    for note in notes(plan, sheet, done):
        topic = Words(f"{note.topic}:", bold=True)
        text = f"{note.text} ({note.source})" if note.source else note.text
        lines = Words(text).wrap(width - topic.width - AFTER - INDENT, width - INDENT)
        yield [topic, lines[0]]
        yield from ([line] for line in lines[1:])


def _line(line: Sequence[Words]) -> Row:
    def draw(ink: Ink, spot: Spot) -> None:
        x = spot[0] + INDENT
        for words in line:
            ink.words(words, (x, spot[1] + LINE / 2), anchor="start")
            x += words.width + AFTER

    return Row(LINE, draw)


def draw_bar(ink: Ink, plan: Plan, scale: int) -> None:
    """Draw the bar of a known length at the foot of the page."""
    length, ticks, words = BARS[plan.units]
    y = HEIGHT - 1.5
    half = MEDIUM / 2
    ink.line(((0.0, y), (length, y)), MEDIUM)
    for k in range(ticks + 1):
        x = min(max(k * length / ticks, half), length - half)
        end = k in (0, ticks)
        ink.line(((x, y + half), (x, y - (2.6 if end else 1.6))), MEDIUM if end else THIN)
    text = f"Check the print: this bar is {words}. True to scale 1 : {scale}."
    ink.words(Words(text), (length + 3.0, y - 0.8), anchor="start")
