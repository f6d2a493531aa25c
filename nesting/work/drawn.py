"""The sheets of a plan drawn while there is time: by two processes where there are many."""

from __future__ import annotations

import time
from collections.abc import Sequence
from functools import partial

from nesting.check import CheckedPlan
from nesting.drawing.drawings import Drawings, LaidSheet, same_sheets
from nesting.plan import Sheet
from nesting.work.beside import PATIENCE, Beside

FEW = 8  # sheets that one process draws as soon as two


class LaidOut:
    """The sheets of a plan laid out, as many as there is time for, before the plan has told all it tells."""

    def __init__(self, checked: CheckedPlan, latest: float) -> None:
        self.checked = checked
        self.sheets: dict[int, LaidSheet] = {}
        for sheet in checked.plan.sheets:
            if time.monotonic() < latest:
                self.sheets[sheet.number] = LaidSheet(checked, sheet)

    def of(self, checked: CheckedPlan) -> dict[int, LaidSheet]:
        """What of it serves for a plan that tells more: all, if its sheets are the same."""
        return self.sheets if same_sheets(checked.plan, self.checked.plan) else {}


def draw_in_time(checked: CheckedPlan, laid: LaidOut | None, latest: float) -> Drawings | None:
    """Draw every sheet of a plan; None where that cannot be done until ``latest``, on the monotonic clock."""
    known = laid.of(checked) if laid else {}
    draw, sheets = partial(_draw, checked, known, latest), checked.plan.sheets
    if len(sheets) <= FEW:
        return draw(sheets)
    half = len(sheets) // 2
    with Beside(partial(draw, sheets[half:]), latest - PATIENCE, late=lambda: None) as others:
        here = draw(sheets[:half])
        there = others.result() if here is not None else None
    return None if here is None or there is None else here + there


def _draw(
    checked: CheckedPlan, known: dict[int, LaidSheet], latest: float, sheets: Sequence[Sheet]
) -> Drawings | None:
    drawn = []
    for sheet in sheets:
        if time.monotonic() > latest:
            return None
        drawn.append((known.get(sheet.number) or LaidSheet(checked, sheet)).drawn(checked))
    return tuple(drawn)
