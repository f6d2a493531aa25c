"""The picture of one sheet: outline, grain, trims, waste, offcuts to keep, parts and numbered cuts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property

from nesting.drawing.balloons import Balloons
from nesting.drawing.ink import FINE, MEDIUM, OUTLINE, THIN, Ink
from nesting.drawing.lettering import AIR, SIZES, Mark, Shape, arrangements, row
from nesting.drawing.measure import LARGE, Words
from nesting.drawing.page import Box, Space, Spot, line_boxes
from nesting.drawing.piece import Piece
from nesting.drawing.view import BALLOON, EDGE_NAMES, GRAIN, View
from nesting.drawing.words import said
from nesting.geometry import Point
from nesting.plan import Offcut, Plan, Sheet
from nesting.report.waste import offcut_size

TRIM_GAP, WASTE_GAP = 1.0, 2.2  # between the lines of a hatch
BLOCKED_GAP, BLOCKED = 1.4, "BLOCKED"
GRAIN_WORDS = "GRAIN"
ORDERS = ("names", "numbers", "cuts")  # what is placed first: parts with their names, or less and less
LOST = 100  # a part without its number is as bad as so many cuts without theirs
STEP = 1.5  # in which places for a number beside its part are looked for
NUMBER_SIZE = (7.0, 6.0)


class Kept:
    """An offcut to keep, with its number and size."""

    def __init__(self, plan: Plan, offcut: Offcut, view: View, space: Space) -> None:
        self.name = f"keep {offcut.number}"
        self.size = offcut_size(plan, offcut)
        self.corners = view.all(offcut.corners)
        xs, ys = [x for x, _ in self.corners], [y for _, y in self.corners]
        upright = max(ys) - min(ys) > max(xs) - min(xs)
        self.shape = Shape(self.corners, upright, space, [AIR] * len(self.corners))
        self.missing = True

    def place_words(self) -> None:
        """Find room for number and size; ``missing`` where there is none."""
        shape = self.shape
        for size in (14.0, *SIZES):
            head = [Mark.of(Words(self.name, size, bold=True))]
            for along in shape.ways:
                for block in arrangements(head, Words(self.size, min(size, LARGE))):
                    if shape.put(block, shape.whole, along):
                        self.missing = False
                        return
        name = row([Mark.of(Words(self.name, bold=True))])
        any(shape.put(name, shape.whole, along) for along in shape.ways)

    def draw(self, ink: Ink) -> None:
        """Put it on paper."""
        ink.shape(self.corners, MEDIUM)
        for one in self.shape.laid:
            one.draw(ink)


class Blocked:
    """A zone of the sheet that no part may take."""

    def __init__(self, zone: Sequence[Point], view: View, space: Space) -> None:
        self.corners = view.all(zone)
        xs, ys = zip(*self.corners, strict=True)
        upright = max(ys) - min(ys) > max(xs) - min(xs)
        self.shape = Shape(self.corners, upright, space, [AIR] * len(self.corners))

    def place_words(self) -> None:
        """Find room for the name, in the zone."""
        for size in SIZES:
            name = row([Mark.of(Words(BLOCKED, size, bold=True))])
            if any(self.shape.put(name, self.shape.whole, along) for along in self.shape.ways):
                return

    def draw(self, ink: Ink) -> None:
        """Put it on paper."""
        for rising in (True, False):
            ink.hatch(self.corners, BLOCKED_GAP, rising)
        ink.shape(self.corners, MEDIUM)
        for one in self.shape.laid:
            ink.shape(one.box.corners, fill="white")
            one.draw(ink)


class Picture:
    """One sheet, laid out; what found no room on it is told to the table."""

    def __init__(self, plan: Plan, sheet: Sheet, view: View) -> None:
        self.plan, self.sheet, self.view = plan, sheet, view
        best = -1
        for order in ORDERS:
            self._lay_out(order)
            lost = len(self.balloons.homeless) + LOST * sum(not piece.numbered for piece in self.pieces)
            if not lost:
                return
            if best < 0 or lost < best:
                best, chosen = lost, order
        self._lay_out(chosen)

    def _lay_out(self, first: str) -> None:
        """Find room for everything; where it is too tight, the cuts' numbers before other words."""
        frame, (width, height) = self.view.frame, self.view.room
        corner = (frame.x0 - BALLOON, frame.y0 - BALLOON)
        self.space = Space(Box(*corner, corner[0] + width, corner[1] + height))
        self.names = self._edge_names()
        self._set_out()
        if first == "cuts":
            self.balloons = Balloons(self.view, self.space, self.sheet.cuts)
        for piece in self.pieces:
            piece.place_number(first == "names")
        for zone in self.blocked:
            zone.place_words()
        for kept in self.kept:
            kept.place_words()
        for piece in self.pieces:
            if not piece.numbered:
                piece.lead(self._outer_spots(piece))
        if first != "cuts":
            self.balloons = Balloons(self.view, self.space, self.sheet.cuts)
        for piece in self.pieces:
            piece.place_words()

    def _set_out(self) -> None:
        parts = {part.number: part for part in self.plan.parts}
        space, view = self.space, self.view
        self.pieces = [
            Piece(self.plan, parts[placed.number], placed, view, space) for placed in self.sheet.placed
        ]
        self.blocked = [Blocked(zone, view, space) for zone in self.sheet.blocked if len(zone) > 2]
        self.kept = [Kept(self.plan, offcut, view, space) for offcut in self.sheet.offcuts if offcut.keep]

    @cached_property
    def _outer(self) -> list[Spot]:
        """Places where a number would stand off every part and offcut to keep."""
        limits = self.space.limits
        xs = [limits.x0 + STEP * k for k in range(int((limits.x1 - limits.x0) / STEP))]
        ys = [limits.y0 + STEP * k for k in range(int((limits.y1 - limits.y0) / STEP))]
        taken = Space(limits)
        shapes = [piece.shape for piece in self.pieces] + [kept.shape for kept in self.kept]
        taken.take(*(shape.bounds for shape in shapes))
        cuts = [(self.view.at(cut.start), self.view.at(cut.to)) for cut in self.sheet.cuts]
        for a, b in [*cuts, *self._frame_lines()]:
            taken.take(*line_boxes(a, b, 0.3))
        return [(x, y) for x in xs for y in ys if taken.free(Box.around((x, y), *NUMBER_SIZE))]

    def _frame_lines(self) -> list[tuple[Spot, Spot]]:
        corners = self.view.frame.corners
        return list(zip(corners, (*corners[1:], corners[0]), strict=True))

    def _outer_spots(self, piece: Piece) -> list[Spot]:
        """The same, the nearest to a part first."""
        b = piece.shape.bounds

        def off(spot: Spot) -> float:
            x, y = spot
            return math.hypot(max(b.x0 - x, x - b.x1, 0.0), max(b.y0 - y, y - b.y1, 0.0))

        return sorted(self._outer, key=off)

    def _edge_names(self) -> list[tuple[Words, Spot, bool]]:
        frame, off = self.view.frame, BALLOON / 2 + 0.6
        (x, y) = frame.middle
        spots = [(x, frame.y1 + off), (x, frame.y0 - off), (frame.x0 - off, y), (frame.x1 + off, y)]
        order = ("lower", "upper", "left", "right")
        if self.view.turned:
            order = ("left", "right", "upper", "lower")
        names = []
        for edge, spot in zip(order, spots, strict=True):
            size = self.sheet.length if edge in ("lower", "upper") else self.sheet.width
            words = Words(f"{EDGE_NAMES[edge]}, {said(self.plan, size)}")
            turned = spot[1] == y
            sides = (words.height, words.width) if turned else (words.width, words.height)
            self.space.take(Box.around(spot, sides[0] + 1.0, sides[1] + 1.0))
            names.append((words, spot, turned))
        return names

    def draw(self, ink: Ink) -> None:
        """Put it on paper: hatches first, words last."""
        for offcut in self.sheet.offcuts:
            if not offcut.keep:
                gap = TRIM_GAP if offcut.trim else WASTE_GAP
                ink.hatch(self.view.all(offcut.corners), gap, rising=offcut.trim)
        for zone in self.blocked:
            zone.draw(ink)
        for kept in self.kept:
            kept.draw(ink)
        for piece in self.pieces:
            piece.draw(ink)
        frame, half = self.view.frame, OUTLINE / 2  # around the sheet, so that thin trims stay to be seen
        if self.sheet.outline:
            ink.shape(frame.corners, FINE)
            ink.shape(self.view.all(self.sheet.outline), OUTLINE)
        else:
            around = Box(frame.x0 - half, frame.y0 - half, frame.x1 + half, frame.y1 + half)
            ink.shape(around.corners, OUTLINE)
        self.balloons.draw(ink)
        for piece in self.pieces:
            piece.draw_words(ink)
        for words, spot, turned in self.names:
            ink.words(words, spot, turned)
        self._grain(ink)

    def _grain(self, ink: Ink) -> None:
        """The direction of the grain beyond the lower edge."""
        frame, turned = self.view.frame, self.view.turned
        stock = next((s for s in self.plan.stock if s.name == self.sheet.stock), None)
        grain = stock is None or stock.grain
        words = Words(GRAIN_WORDS if grain else "NO GRAIN", bold=True)
        x, y = frame.middle
        off = BALLOON + GRAIN / 2
        spot = (frame.x1 + off, y) if turned else (x, frame.y1 + off)
        ink.words(words, spot, turned)
        if not grain:
            return
        half = words.width / 2 + 1.0
        for way in (-1, 1):
            d = (0.0, float(way)) if turned else (float(way), 0.0)
            near = (spot[0] + d[0] * half, spot[1] + d[1] * half)
            far = (spot[0] + d[0] * (half + 22.0), spot[1] + d[1] * (half + 22.0))
            ink.line((near, far), THIN)
            ink.arrow(far, d, 3.0)
