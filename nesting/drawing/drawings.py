"""All drawings of a plan, made once for the files, the packet and the report page."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.check import CheckedPlan
from nesting.drawing.page import Box
from nesting.drawing.sheet import Pages
from nesting.drawing.steps import StepDrawing, draw_steps, step_pages
from nesting.plan import Plan, Sheet

DRAWN = ("units", "step", "job", "date", "seen_from", "saw", "stock", "parts", "sheets")
"""What of a plan is drawn on its sheets."""


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


class LaidOut:
    """The sheets of a plan laid out: all of their drawings but what names the plan, which is soon done."""

    def __init__(self, checked: CheckedPlan) -> None:
        self.plan = checked.plan
        self._sheets = [
            (sheet, Pages(self.plan, sheet), tuple(draw_steps(checked, sheet))) for sheet in self.plan.sheets
        ]

    def serves(self, plan: Plan) -> bool:
        """Whether a plan has these sheets, and all else that is drawn on them."""
        return all(getattr(plan, name) == getattr(self.plan, name) for name in DRAWN)

    def drawn(self, checked: CheckedPlan) -> Drawings:
        """Draw the sheets as those of a plan that they serve."""
        return tuple(
            SheetDrawings(sheet, tuple(pages.texts(checked.plan)), steps,
                          tuple(step_pages(checked, sheet, steps)), pages.places)
            for sheet, pages, steps in self._sheets
        )  # fmt: skip


def draw_plan(checked: CheckedPlan, laid: LaidOut | None = None) -> Drawings:
    """Draw every sheet of a plan; the same plan gives the same bytes.

    ``laid`` is used if it serves: the sheets as they were laid out before the plan told more about them.
    """
    return (laid if laid and laid.serves(checked.plan) else LaidOut(checked)).drawn(checked)
