"""What is drawn on a page, as plain SVG: attributes only, so that it looks the same everywhere.

Hatches are lines cut to their shape, arrowheads are filled shapes; there is no style sheet and nothing
is defined apart. The only module that imports ``svgwrite``. Millimetres on paper, y downwards.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import svgwrite

from nesting.drawing.fonts import FAMILY
from nesting.drawing.measure import ASCENT, DESCENT, POINT, Words
from nesting.drawing.page import Spot

FAMILIES = f"{FAMILY}, Helvetica, Arial, sans-serif"
# Widths of lines: thick, thin and between (ISO 128-2 and ASME Y14.2 ask for two to one, from memory).
OUTLINE, THICK, MEDIUM, THIN, DIMENSION, FINE = 0.7, 0.5, 0.35, 0.25, 0.18, 0.13
GREY = "#777777"
CHAIN = (3.2, 0.8, 0.8, 0.8)
TURNED = -90

Line = tuple[Spot, Spot]


class Ink:
    """One page; ``checked`` has every element judged against the SVG standard, which is slower."""

    def __init__(self, width: float, height: float, checked: bool = False) -> None:
        self._svg = svgwrite.Drawing(
            size=(f"{width:g}mm", f"{height:g}mm"),
            viewBox=f"0 0 {width:g} {height:g}",
            debug=checked,
            font_family=FAMILIES,
            stroke_linecap="butt",
        )
        self._svg.elements.remove(self._svg.defs)
        self._svg.add(self._svg.rect((0, 0), (width, height), fill="white"))

    def text(self) -> str:
        """Return the page as SVG."""
        return '<?xml version="1.0" encoding="utf-8"?>\n' + str(self._svg.tostring()) + "\n"

    def line(self, line: Line, weight: float, dashes: Sequence[float] = (), colour: str = "black") -> None:
        """Draw a straight line."""
        dashed = {"stroke_dasharray": ",".join(f"{d:g}" for d in dashes)} if dashes else {}
        self._svg.add(
            self._svg.line(_short(line[0]), _short(line[1]), stroke=colour, stroke_width=weight, **dashed)
        )

    def shape(self, corners: Iterable[Spot], weight: float = 0.0, fill: str = "none") -> None:
        """Draw a closed shape, outlined where ``weight`` is given."""
        stroke = {"stroke": "black", "stroke_width": weight, "stroke_linejoin": "miter"} if weight else {}
        self._svg.add(self._svg.polygon([_short(corner) for corner in corners], fill=fill, **stroke))

    def circle(self, centre: Spot, radius: float, weight: float, fill: str = "white") -> None:
        """Draw a circle."""
        stroke = {"stroke": "black", "stroke_width": weight} if weight else {}
        self._svg.add(self._svg.circle(_short(centre), radius, fill=fill, **stroke))

    def hatch(self, corners: Sequence[Spot], gap: float, rising: bool) -> None:
        """Fill a shape with slanting lines, cut to it."""
        runs = [f"M{_pair(a)}L{_pair(b)}" for a, b in hatch_lines(corners, gap, rising)]
        if runs:
            self._svg.add(self._svg.path("".join(runs), stroke=GREY, stroke_width=FINE, fill="none"))

    def words(self, words: Words, centre: Spot, turned: bool = False, anchor: str = "middle") -> None:
        """Write words with the middle of their line at ``centre``, or from or to it by ``anchor``."""
        down = (ASCENT - DESCENT) / 2 * words.size * POINT
        x, y = centre
        spot = _short((x + down, y) if turned else (x, y + down))
        more: dict[str, object] = {"font_weight": "bold"} if words.bold else {}
        if turned:
            more["transform"] = f"rotate({TURNED} {spot[0]:g} {spot[1]:g})"
        if anchor != "start":
            more["text_anchor"] = anchor
        size = round(words.size * POINT, 4)
        self._svg.add(self._svg.text(words.text, insert=spot, font_size=size, fill="black", **more))

    def arrow(self, tip: Spot, towards: Spot, length: float = 2.0) -> None:
        """Draw an arrowhead at ``tip`` that points the way ``towards`` says (filled, three to one)."""
        run = math.hypot(*towards)
        dx, dy = towards[0] / run * length, towards[1] / run * length
        foot = (tip[0] - dx, tip[1] - dy)
        self.shape(
            [tip, (foot[0] - dy / 6, foot[1] + dx / 6), (foot[0] + dy / 6, foot[1] - dx / 6)], fill="black"
        )


def hatch_lines(corners: Sequence[Spot], gap: float, rising: bool) -> list[Line]:
    """Cut lines at 45 degrees, ``gap`` apart across them, to a shape."""
    slope = 1 if rising else -1  # on such a line y + slope * x is the same everywhere
    levels = [y + slope * x for x, y in corners]
    step = gap * math.sqrt(2)
    lines: list[Line] = []
    for k in range(math.ceil(min(levels) / step), math.floor(max(levels) / step) + 1):
        hits = sorted(_crossings(corners, levels, k * step))
        lines += zip(hits[::2], hits[1::2], strict=False)
    return lines


def _crossings(corners: Sequence[Spot], levels: Sequence[float], level: float) -> Iterable[Spot]:
    for i, (x, y) in enumerate(corners):
        before, here = levels[i - 1] - level, levels[i] - level
        if (before < 0) != (here < 0):
            share = here / (here - before)
            px, py = corners[i - 1]
            yield (x + share * (px - x), y + share * (py - y))


def _short(spot: Spot) -> Spot:
    return (round(spot[0], 2), round(spot[1], 2))


def _pair(spot: Spot) -> str:
    return f"{spot[0]:.2f} {spot[1]:.2f}"
