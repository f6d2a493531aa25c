"""The title block of a sheet's page: what lies on the bench, which way up, and which edge comes first."""

from __future__ import annotations

from nesting.drawing.ink import MEDIUM, THIN, Ink
from nesting.drawing.measure import Words, plain
from nesting.drawing.page import WIDTH, Box
from nesting.drawing.words import FACE, first_edge, size_words, stuff_words, unit_words
from nesting.lengths import show
from nesting.plan import Plan, Sheet

HEADER, SHORT_HEADER = 29.5, 9.0
MOST_DATE = 16  # letters of the job's date
INDENT = 0.6  # a J stands out to the left of where it begins
TOP, CELLS = 16.5, 28.5  # of the row of cells, and its foot


def draw_header(ink: Ink, plan: Plan, sheet: Sheet, scale: int, pages: int) -> None:
    """Draw the title block of the first page."""
    which = Words(_which(plan, sheet), 20.0, bold=True)
    ink.words(which, (WIDTH, 4.2), anchor="end")
    job = Words(plain(plan.job), 17.0, bold=True).within(WIDTH - which.width - 6, 11.0)
    ink.words(job, (INDENT, 4.2), anchor="start")
    date = f"{plain(plan.date)[:MOST_DATE]}; " if plan.date else ""
    units = Words(date + unit_words(plan) + (f"; page 1 of {pages}" if pages > 1 else ""), 8.5)
    ink.words(units, (WIDTH, 12.0), anchor="end")
    size = Words(size_words(plan, sheet), 13.0, bold=True)
    stuff = Words(stuff_words(plan, sheet), 11.0).within((WIDTH - units.width - size.width) / 2, 9.0)
    rest = WIDTH - units.width - size.width - stuff.width - 14.0
    stock = Words(plain(sheet.stock), 13.0, bold=True).within(rest, 9.0)
    x = INDENT
    for words in (stock, size, stuff):
        ink.words(words, (x, 12.0), anchor="start")
        x += words.width + 4.0
    _cells(ink, plan, sheet, scale)


def _which(plan: Plan, sheet: Sheet) -> str:
    return f"SHEET {sheet.number} of {len(plan.sheets)}"


def _cells(ink: Ink, plan: Plan, sheet: Sheet, scale: int) -> None:
    face = Words(FACE[plan.seen_from], 15.0, bold=True)
    cells = [
        ("first straight edge", first_edge(sheet)),
        ("kerf", show(sheet.kerf, plan.units)),
        ("true to scale", f"1 : {scale}"),
        ("plan", plan.check_sum),
    ]
    wide = [max(Words(head).width, Words(text, 11.0, bold=True).width) + 4.0 for head, text in cells]
    left = WIDTH - sum(wide)
    face = face.within(left - 6.0, 11.0)
    ink.shape(Box(0.4, TOP + 0.4, left - 0.4, CELLS - 0.4).corners, 1.0)
    ink.words(face, (left / 2, (TOP + CELLS) / 2))
    x = left
    for (head, text), room in zip(cells, wide, strict=True):
        ink.words(Words(head), (x + 2.0, TOP + 3.0), anchor="start")
        ink.words(Words(text, 11.0, bold=True), (x + 2.0, TOP + 8.2), anchor="start")
        x += room
        if x < WIDTH - 0.1:
            ink.line(((x, TOP + 1.0), (x, CELLS - 1.0)), THIN)
    ink.line(((left, TOP + 0.2), (WIDTH, TOP + 0.2)), THIN)
    ink.line(((left, CELLS - 0.2), (WIDTH, CELLS - 0.2)), THIN)


def draw_short_header(ink: Ink, plan: Plan, sheet: Sheet, page: tuple[int, int]) -> None:
    """Draw the title of a further page."""
    _short(ink, plan, f"{_which(plan, sheet)}, page {page[0]} of {page[1]}")


def draw_steps_header(ink: Ink, plan: Plan, sheet: Sheet, page: tuple[int, int]) -> None:
    """Draw the title of a page of steps."""
    pages = f", page {page[0]} of {page[1]}" if page[1] > 1 else ""
    _short(ink, plan, f"{_which(plan, sheet)}: the cuts{pages}")


def _short(ink: Ink, plan: Plan, which: str) -> None:
    right = Words(which, 11.0, bold=True)
    plan_words = Words(f"{FACE[plan.seen_from]}, plan {plan.check_sum}", 9.0)
    ink.words(right, (WIDTH, 3.2), anchor="end")
    ink.words(plan_words, (WIDTH - right.width - 5.0, 3.2), anchor="end")
    room = WIDTH - right.width - plan_words.width - 12.0
    ink.words(Words(plain(plan.job), 11.0, bold=True).within(room), (INDENT, 3.2), anchor="start")
    ink.line(((0.0, 7.0), (WIDTH, 7.0)), MEDIUM)
