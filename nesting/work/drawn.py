"""The sheets of a plan drawn while there is time: by two processes where there are many."""

from __future__ import annotations

import time
from collections.abc import Sequence
from functools import partial

from nesting.check import CheckedPlan
from nesting.drawing.drawings import Drawings, LaidSheet, SheetDrawings, same_sheets
from nesting.plan import Sheet
from nesting.work.beside import PATIENCE, Beside

FEW = 8  # sheets that one process draws as soon as two
A_WHILE = 0.5  # seconds, after which it can be told how long all of it takes
TOO_LATE = 1.5  # times the time that is left


class Pace:
    """Whether so many sheets can be done by a time on the monotonic clock, from what some have taken."""

    def __init__(self, sheets: int, latest: float) -> None:
        self.sheets, self.latest = sheets, latest
        self.begun = time.monotonic()
        self.given_up = False

    def too_slow(self, done: int, processes: int = 1) -> bool:
        """Whether time is up, or would be long before the last sheet; the first few are no measure of it."""
        now = time.monotonic()
        rest = (now - self.begun) / max(1, done) * (self.sheets - done) / processes
        told = done >= FEW and now - self.begun > A_WHILE
        self.given_up = now > self.latest or (told and rest > TOO_LATE * (self.latest - now))
        return self.given_up


class LaidOut:
    """The sheets of a plan laid out, as many as there is time for, before the plan has told all it tells."""

    def __init__(self, checked: CheckedPlan, latest: float) -> None:
        self.checked = checked
        self.sheets: dict[int, LaidSheet] = {}
        self.pace = Pace(len(checked.plan.sheets), latest)
        for sheet in checked.plan.sheets:
            if self.pace.too_slow(len(self.sheets), processes=2):
                return
            self.sheets[sheet.number] = LaidSheet(checked, sheet)

    @property
    def hopeless(self) -> bool:
        """Whether it is known that not all sheets can be drawn in time: nothing more is begun then."""
        return self.pace.given_up

    def of(self, checked: CheckedPlan) -> dict[int, LaidSheet]:
        """What of it serves for a plan that tells more: all, if its sheets are the same."""
        return self.sheets if same_sheets(checked.plan, self.checked.plan) else {}


def draw_in_time(checked: CheckedPlan, laid: LaidOut | None, latest: float) -> Drawings | None:
    """Draw every sheet of a plan; None where that cannot be done until ``latest``, on the monotonic clock."""
    if laid and laid.hopeless:
        return None
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
    drawn: list[SheetDrawings] = []
    pace = Pace(len(sheets), latest)
    for sheet in sheets:
        if pace.too_slow(len(drawn)):
            return None
        drawn.append((known.get(sheet.number) or LaidSheet(checked, sheet)).drawn(checked))
    return tuple(drawn)
