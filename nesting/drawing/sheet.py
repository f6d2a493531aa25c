"""The page that is taped to a sheet: title, picture, cuts, signs, cautions.

A page is 190 by 259 millimetres and prints at 100 % on US Letter and on A4. The sheet lies across the
page with the cuts below it, or stands beside them, whichever is larger; what finds no room goes on to
another page.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

from nesting.check import CheckedPlan
from nesting.drawing.ink import FINE, Ink
from nesting.drawing.layouts import Laid, Layout, layouts
from nesting.drawing.notes import draw_bar, note_rows
from nesting.drawing.page import HEIGHT, WIDTH, Box
from nesting.drawing.picture import Picture
from nesting.drawing.table import STYLES, Row, StepTable, Style, part_rows
from nesting.drawing.title import draw_header, draw_short_header
from nesting.drawing.words import steps
from nesting.plan import Plan, Sheet

ABOVE_NOTES = 0.8


def draw_sheet(checked: CheckedPlan, sheet: Sheet, validate: bool = False) -> list[str]:
    """Draw one sheet of a plan.

    Parameters
    ----------
    sheet : Sheet
        One of the plan's.
    validate : bool
        Have every element judged against the SVG standard (slower; for tests).

    Returns
    -------
    list of str
        SVG, one text a page; one page wherever the cuts find room on it. The same plan gives the same
        bytes.
    """
    return Pages(checked.plan, sheet, validate).texts()


class Pages:
    """The pages of one sheet."""

    def __init__(self, plan: Plan, sheet: Sheet, validate: bool = False) -> None:
        self.plan, self.sheet, self.validate = plan, sheet, validate
        self.steps = steps(plan, sheet)
        self._picture = cache(lambda view: Picture(plan, sheet, view))
        self._cuts = cache(lambda style: StepTable(self.steps, style).rows())
        self.layout = self._choose()

    @property
    def picture(self) -> Picture:
        """The picture on the first page."""
        found: Picture = self._picture(self.layout.view)
        return found

    @property
    def places(self) -> dict[int, Box]:
        """Where each part lies on the first page, by its number."""
        return {piece.part.number: piece.shape.bounds for piece in self.picture.pieces}

    def _choose(self) -> Layout:
        """Take the layout that is worth most with all its rows; those that cannot win are not tried."""
        best, most = None, 0.0
        styles = [style for style in STYLES if StepTable(self.steps, style).fits]
        every = [(layout.worth_with(self._cuts(layout.style)), layout)
                 for layout in layouts(self.sheet, self._cuts, self._notes_height, styles)]  # fmt: skip
        for bound, layout in sorted(every, key=lambda pair: -pair[0]):
            if bound <= most:
                break
            worth = layout.worth_with(self._rows(layout))
            if worth > most:
                best, most = layout, worth
        assert best is not None, "a layout with narrow rows always goes"
        return best

    def _rows(self, layout: Layout) -> list[Row]:
        """The cuts, and the parts whose words found no room in the picture."""
        style: Style = layout.style
        picture: Picture = self._picture(layout.view)
        missing = {piece.part.number for piece in picture.pieces if piece.missing}
        parts = sorted((p for p in self.plan.parts if p.number in missing), key=lambda p: p.number)
        kept = [(kept.name, kept.size) for kept in picture.kept if kept.missing]
        cuts = self._cut_rows(style, picture.balloons.homeless)
        return [*cuts, *part_rows(self.plan, parts, kept, style)]

    def _cut_rows(self, style: Style, homeless: Sequence[int]) -> list[Row]:
        """The cuts; those whose number found no room in the picture say so."""
        if not homeless:
            return list(self._cuts(style))
        said = dict.fromkeys(homeless, " (see the pictures of the cuts)")
        marked = [replace(step, gives=step.gives + said.get(step.number, "")) for step in self.steps]
        return StepTable(marked, style).rows()

    def _notes(self, width: float) -> list[Row]:
        return note_rows(self.plan, self.sheet, self.steps, width)

    def _notes_height(self, width: float) -> float:
        return sum(row.height for row in self._notes(width)) + ABOVE_NOTES

    def texts(self, plan: Plan | None = None) -> list[str]:
        """Draw all pages; the title names the ``plan`` given, if that tells more of the same sheets."""
        pages = self.layout.pages(self._rows(self.layout))
        return [self._page(plan or self.plan, laid, (k, len(pages))) for k, laid in enumerate(pages, 1)]

    def _page(self, plan: Plan, laid: Laid, page: tuple[int, int]) -> str:
        ink = Ink(WIDTH, HEIGHT, self.validate)
        if page[0] == 1:
            draw_header(ink, plan, self.sheet, self.layout.view.scale, page[1])
            self.picture.draw(ink)
            self._draw_notes(ink)
            draw_bar(ink, self.plan, self.layout.view.scale)
        else:
            draw_short_header(ink, plan, self.sheet, page)
        _draw(ink, laid)
        return ink.text()

    def _draw_notes(self, ink: Ink) -> None:
        box = self.layout.notes
        ink.line(((box.x0, box.y0), (box.x1, box.y0)), FINE)
        y = box.y0 + ABOVE_NOTES
        for row in self._notes(box.x1 - box.x0):
            row.draw(ink, (box.x0, y))
            y += row.height


def _draw(ink: Ink, laid: Sequence[tuple[Row, tuple[float, float]]]) -> None:
    for row, spot in laid:
        row.draw(ink, spot)
