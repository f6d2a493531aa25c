"""All drawings of a plan, made once for the files, the packet and the report page."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.check import CheckedPlan
from nesting.drawing.page import Box
from nesting.drawing.sheet import Pages
from nesting.drawing.steps import draw_steps, step_pages
from nesting.plan import Plan, Sheet

DRAWN = ("units", "step", "job", "date", "seen_from", "saw", "stock", "parts", "sheets")
"""What of a plan is drawn on its sheets."""


@dataclass(frozen=True, slots=True)
class StepSvg:
    """The picture of a cut, and of those that repeat it; ``numbers`` of the cuts it stands for."""

    numbers: tuple[int, ...]
    svg: str


@dataclass(frozen=True, slots=True)
class SheetDrawings:
    """What is drawn of one sheet; SVG.

    Attributes
    ----------
    pages : tuple of str
        The layout with its cuts; one page wherever they find room on it.
    steps : tuple of StepSvg
        The cuts one by one.
    step_pages : tuple of str
        The same, set on pages.
    places : dict
        Where each part lies on the first page, by its number.
    """

    sheet: Sheet
    pages: tuple[str, ...]
    steps: tuple[StepSvg, ...]
    step_pages: tuple[str, ...]
    places: dict[int, Box]

    def files(self) -> dict[str, str]:
        """Name every page as a file: ``sheet-1.svg``, ``sheet-1-2.svg``, ``sheet-1-steps.svg``."""
        stem = f"sheet-{self.sheet.number}"
        both = ((stem, self.pages), (f"{stem}-steps", self.step_pages))
        return {f"{name}-{k}.svg" if k > 1 else f"{name}.svg": page
                for name, pages in both for k, page in enumerate(pages, 1)}  # fmt: skip


Drawings = tuple[SheetDrawings, ...]


class LaidSheet:
    """A sheet laid out: all of its drawings but what names the plan, which is soon done."""

    def __init__(self, checked: CheckedPlan, sheet: Sheet) -> None:
        self.sheet = sheet
        self.pages = Pages(checked.plan, sheet)
        self.steps = draw_steps(checked, sheet)

    def drawn(self, checked: CheckedPlan) -> SheetDrawings:
        """Draw it as a sheet of a plan of which it is one."""
        return SheetDrawings(
            self.sheet, tuple(self.pages.texts(checked.plan)),
            tuple(StepSvg(one.numbers, one.svg()) for one in self.steps),
            tuple(step_pages(checked, self.sheet, self.steps)), self.pages.places,
        )  # fmt: skip


def same_sheets(plan: Plan, other: Plan) -> bool:
    """Whether two plans have the same sheets, and all else that is drawn on them."""
    return all(getattr(plan, name) == getattr(other, name) for name in DRAWN)


def draw_plan(checked: CheckedPlan) -> Drawings:
    """Draw every sheet of a plan; the same plan gives the same bytes."""
    return tuple(LaidSheet(checked, sheet).drawn(checked) for sheet in checked.plan.sheets)
