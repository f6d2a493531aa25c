"""All drawings of a plan, made once for the files, the packet and the report page."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.check import CheckedPlan
from nesting.drawing.page import Box
from nesting.drawing.sheet import Pages
from nesting.drawing.steps import StepDrawing, draw_steps, step_pages
from nesting.plan import Sheet


@dataclass(frozen=True, slots=True)
class SheetDrawings:
    """What is drawn of one sheet; SVG.

    Attributes
    ----------
    pages : tuple of str
        The layout with its cuts; one page wherever they find room on it.
    steps : tuple of StepDrawing
        The cuts one by one.
    step_pages : tuple of str
        The same, set on pages.
    places : dict
        Where each part lies on the first page, by its number.
    """

    sheet: Sheet
    pages: tuple[str, ...]
    steps: tuple[StepDrawing, ...]
    step_pages: tuple[str, ...]
    places: dict[int, Box]

    def files(self) -> dict[str, str]:
        """Name every page as a file: ``sheet-1.svg``, ``sheet-1-2.svg``, ``sheet-1-steps.svg``."""
        stem = f"sheet-{self.sheet.number}"
        both = ((stem, self.pages), (f"{stem}-steps", self.step_pages))
        return {f"{name}-{k}.svg" if k > 1 else f"{name}.svg": page
                for name, pages in both for k, page in enumerate(pages, 1)}  # fmt: skip


Drawings = tuple[SheetDrawings, ...]


def draw_plan(checked: CheckedPlan) -> Drawings:
    """Draw every sheet of a plan; the same plan gives the same bytes."""
    return tuple(_draw(checked, sheet) for sheet in checked.plan.sheets)


def _draw(checked: CheckedPlan, sheet: Sheet) -> SheetDrawings:
    steps = tuple(draw_steps(checked, sheet))
    pages = Pages(checked.plan, sheet)
    return SheetDrawings(sheet, tuple(pages.texts()), steps, tuple(step_pages(checked, sheet, steps)),
                         pages.places)  # fmt: skip
