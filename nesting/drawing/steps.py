"""The cuts of a sheet one by one, as small pictures in their order, to be read at the saw.

Cuts that follow each other and are made alike in every figure share one picture; each keeps its line.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from nesting.check import CheckedPlan
from nesting.drawing.bench import InHand, in_hand
from nesting.drawing.ink import DIMENSION, FINE, MEDIUM, THIN, Ink
from nesting.drawing.measure import Words
from nesting.drawing.page import HEIGHT, WIDTH, Box, Spot
from nesting.drawing.step_picture import HEIGHT as PICTURE
from nesting.drawing.step_picture import (
    KERF,
    RAIL,
    RAIL_GREY,
    StepPicture,
)
from nesting.drawing.step_picture import WIDTH as COLUMN
from nesting.drawing.table import Row, poured
from nesting.drawing.title import INDENT, SHORT_HEADER, draw_steps_header
from nesting.drawing.words import UNWANTED, Step, said, unit_words
from nesting.lengths import show
from nesting.plan import Plan, Sheet

RADIUS = 3.6
HEAD, LINE, FOOT = 12.8, 3.7, 2.2
TAPER = 4.6
MOST_ALIKE = 12  # cuts in one picture
LEGEND = 8.5
WEDGE = (15.0, 3.0)


@dataclass(frozen=True, slots=True)
class StepDrawing:
    """A picture with its words: ``numbers`` of the cuts it stands for."""

    numbers: tuple[int, ...]
    row: Row

    def svg(self) -> str:
        """As a file of its own."""
        ink = Ink(COLUMN + 2.0, self.row.height + 1.0)
        self.row.draw(ink, (1.0, 0.5))
        return ink.text()


def draw_steps(checked: CheckedPlan, sheet: Sheet) -> list[StepDrawing]:
    """Draw the cuts of a sheet, one picture each, in their order."""
    plan = checked.plan
    return [StepDrawing(tuple(hand.step.number for hand in group), _row(plan, group))
            for group in _groups(list(in_hand(plan, sheet)))]  # fmt: skip


def step_pages(checked: CheckedPlan, sheet: Sheet, drawn: Sequence[StepDrawing] | None = None) -> list[str]:
    """Set the cuts of a sheet on pages of the same size as the sheet's own.

    Returns
    -------
    list of str
        SVG, one text a page; empty where nothing is to be cut.
    """
    plan = checked.plan
    rest = [one.row for one in (draw_steps(checked, sheet) if drawn is None else drawn)]
    top = SHORT_HEADER + LEGEND
    columns = [Box(x, top, x + COLUMN, HEIGHT) for x in (0.0, WIDTH - COLUMN)]
    pages = []
    while rest:
        laid, left = poured(rest, columns)
        assert laid, "one step is lower than a page"
        pages.append(laid)
        rest = left
    return [_page(plan, sheet, laid, (k, len(pages))) for k, laid in enumerate(pages, 1)]


def _page(plan: Plan, sheet: Sheet, laid: Sequence[tuple[Row, Spot]], page: tuple[int, int]) -> str:
    ink = Ink(WIDTH, HEIGHT)
    draw_steps_header(ink, plan, sheet, page)
    _legend(ink, plan)
    for row, spot in laid:
        row.draw(ink, spot)
    x = WIDTH / 2
    ink.line(((x, SHORT_HEADER + LEGEND), (x, HEIGHT)), FINE)
    return ink.text()


def _groups(hands: list[InHand]) -> Iterator[list[InHand]]:
    group: list[InHand] = []
    for hand in hands:
        if group and (len(group) == MOST_ALIKE or not _alike(group[-1], hand)):
            yield group
            group = []
        group.append(hand)
    if group:
        yield group


def _alike(first: InHand, second: InHand) -> bool:
    """Whether a cut repeats the one before in all that is measured, in what it left or in a like piece."""
    a, b = first.step, second.step
    same = ((step.kind, step.edge, step.readings, step.length, step.rail, step.splinters) for step in (a, b))
    cuts = ((hand.cut.waste_side, _way(hand)) for hand in (first, second))
    fates = (tuple(_fate(side, step) for side in (step.kept, step.other)) for step in (a, b))
    like = first.size == second.size or b.piece in (a.piece, a.other_letter)
    return like and _equal(same) and _equal(cuts) and _equal(fates)


def _fate(side: str, step: Step) -> str:
    """What a side is, without its number or letter."""
    return "piece" if side in (step.piece, step.other_letter) else side.partition(" ")[0]


def _equal(pair: Iterator[object]) -> bool:
    first, second = pair
    return first == second


def _way(hand: InHand) -> tuple[bool, bool]:
    (ax, ay), (bx, by) = hand.cut.start, hand.cut.to
    return ax < bx, ay < by


def _row(plan: Plan, group: Sequence[InHand]) -> Row:
    """The head, the picture of the first, what each gives."""
    first = group[0]
    taper = _taper(plan, first)
    picture = StepPicture(plan, first, PICTURE - TAPER if taper else PICTURE)
    gives = [line for hand in group for line in _gives(hand, first, len(group) > 1)]
    gives += [line for text in picture.untold for line in Words(text, 9.0).wrap(COLUMN - INDENT)]
    height = HEAD + PICTURE + LINE * len(gives) + FOOT

    def draw(ink: Ink, spot: Spot) -> None:
        x, y = spot
        _head(ink, spot, group)
        picture.draw(ink, (x, y + HEAD))
        y += HEAD + PICTURE
        if taper:
            _draw_taper(ink, (x, y - TAPER / 2), taper, picture.along)
        for k, line in enumerate(gives):
            ink.words(line, (x + INDENT, y + LINE * (k + 0.5)), anchor="start")
        foot = y + LINE * len(gives) + FOOT / 2
        ink.line(((x, foot), (x + COLUMN, foot)), FINE)

    return Row(height, draw)


def _head(ink: Ink, spot: Spot, group: Sequence[InHand]) -> None:
    x, y = spot
    step = group[0].step
    number = Words(str(step.number), 12.0 if step.number < 100 else 10.0, bold=True)
    ink.circle((x + RADIUS + 0.3, y + 4.8), RADIUS, MEDIUM)
    ink.words(number, (x + RADIUS + 0.3, y + 4.8))
    left = x + 2 * RADIUS + 2.0
    if len(group) > 1:
        last = Words(f"to {group[-1].step.number}", 10.0, bold=True)
        ink.words(last, (left, y + 4.8), anchor="start")
        left += last.width + 2.0
    kind = Words(step.kind.upper(), 12.0, bold=True)
    ink.words(kind, (left, y + 3.6), anchor="start")
    piece = Words(_pieces(group), 12.0, bold=True)
    ink.words(piece, (x + COLUMN - 0.4, y + 3.6), anchor="end")
    length = Words(f"{step.length} long", 8.5)
    fits = length.width <= COLUMN - (left - x) - kind.width - piece.width - 5.0
    if fits:
        ink.words(length, (left + kind.width + 2.5, y + 3.8), anchor="start")
    edges = "edges" if ", " in step.edge else "edge"
    whole = x + COLUMN - left
    rail = Words(step.rail, 8.5) if step.rail.partition(" on ")[0] != "rail" else Words("no rail named", 8.5)
    room = whole - rail.width - 2.0
    full, short = (Words(f"{start}{step.edge} {edges}", 9.0, bold=True) for start in ("from the ", ""))
    read = full.within(room)
    if read.text != full.text:  # no room even in small letters
        read = short.within(room)
    ink.words(read, (left, y + 8.2), anchor="start")
    ink.words(rail, (x + COLUMN - 0.4, y + 8.2), anchor="end")
    low = ["" if fits else length.text, "score first" if step.splinters else ""]
    more = Words(", ".join(filter(None, low)))
    if more.text:
        ink.words(more, (left, y + 11.9), anchor="start")
    size = Words(f"in hand {group[0].size}", 8.0).cut(whole - more.width - 1.0)
    ink.words(size, (x + COLUMN - 0.4, y + 11.9), anchor="end")


def _pieces(group: Sequence[InHand]) -> str:
    return f"piece {group[0].step.piece}" + (" first" if len(group) > 1 else "")


def _gives(hand: InHand, first: InHand, many: bool) -> list[Words]:
    """What becomes of both sides, in words that need no other page."""
    step = hand.step
    size = "" if hand.size == first.size else f" ({hand.size})"
    number = f"cut {step.number}, {step.piece}{size}: " if many else ""
    kept = f"{step.piece} stays {step.piece}" if step.kept == step.piece else f"done {step.kept}"
    if step.kept in UNWANTED:
        kept = f"{step.piece} is {step.kept}"
    other = f"done {step.other}"
    if step.other in UNWANTED:
        other = f"off comes {step.other}"
    elif step.other == step.other_letter:
        other = f"new {step.other_letter}"
        other += f" with {step.holds}" if step.holds else ""
    return Words(f"{number}{kept}; {other}", 9.0).wrap(COLUMN - INDENT)


def _taper(plan: Plan, hand: InHand) -> tuple[str, bool] | None:
    """What the two readings differ by, in words, and whether the right or upper one is greater."""
    first, second = hand.marks
    if hand.step.readings[0] == hand.step.readings[1] or first.edge != second.edge:
        return None
    rising = second.reading > first.reading
    names = ("left", "right") if first.edge in ("lower", "upper") else ("lower", "upper")
    what = "NOT PARALLEL" if names[0] == "left" else "NOT SQUARE"
    more = said(plan, abs(second.reading - first.reading))
    return f"{what}: {more} more at the {names[rising]} end", rising


def _draw_taper(ink: Ink, spot: Spot, taper: tuple[str, bool], along: bool) -> None:
    """The same as a picture, much exaggerated: the line against the edge it is read from."""
    (x, y), (words, rising) = spot, taper
    wide, high = WEDGE
    if along:
        left, right = (0.9, high) if rising else (high, 0.9)
        base = y + high / 2
        ink.shape([(x, base), (x + wide, base), (x + wide, base - right), (x, base - left)], DIMENSION)
        ink.line(((x, base), (x + wide, base)), MEDIUM)
        x += wide + 2.0
    ink.words(Words(words, 9.0, bold=True).within(COLUMN - wide - 2.0), (x, y), anchor="start")


def _legend(ink: Ink, plan: Plan) -> None:
    """What the signs mean, once a page."""
    y = SHORT_HEADER + 1.2
    saw = plan.saw
    reach = f"at least {show(saw.lead_in, plan.units)} past the line where the saw starts, " \
            f"{show(saw.lead_out, plan.units)} where it ends"  # fmt: skip
    signs = [
        (6.0, "blade", "black"), (6.0, f"rail: {reach}" if saw.rails else "", RAIL_GREY),
    ]  # fmt: skip
    x = 0.4
    for wide, text, fill in signs:
        if not text:
            continue
        high = KERF if fill == "black" else RAIL
        weight = 0.0 if fill == "black" else FINE
        ink.shape(Box(x, y - high / 2, x + wide, y + high / 2).corners, weight, fill)
        words = Words(text)
        ink.words(words, (x + wide + 1.2, y), anchor="start")
        x += wide + words.width + 5.0
    ink.line(((x, y), (x + 6.0, y)), 1.1)
    ink.words(Words("read from here"), (x + 7.2, y), anchor="start")
    text = (f"Pieces lie as on the sheet; {unit_words(plan)}. Pencil each new letter on. Score first: both "
            "sides are wanted.")  # fmt: skip
    ink.words(Words(text), (0.4, y + 4.2), anchor="start")
    ink.line(((0.0, y + 6.8), (WIDTH, y + 6.8)), THIN)
