"""The pieces of an opening folded flat, as a picture: which edge faces which room, how proud where.

Seen from room A through the opening: the outer edges are room A's, nearest to you, the inner ones room
B's. Plain SVG with attributes only, so that print and page show the same. Millimetres on paper.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from html import escape

from nesting.drawing.fonts import FAMILY
from nesting.drawing.labels import upright
from nesting.drawing.measure import POINT, Words
from nesting.geometry import bounds
from nesting.lengths import show
from nesting.plan import OpeningRecord, Plan, PlanPart, RunRecord, StationRecord
from nesting.report.blocks import clean

WIDTH, HEIGHT = 190.0, 81.0
ROLES = ("left leg", "right leg", "head")
LEGEND = (
    "Outer edges face room A, inner ones room B; thick: the straight edge. "
    "At a station: its place, how proud."
)
HEAD_ROOM, THICK_ROOM = 70.0, 18.0  # for the head's length, and for the widest piece
LEAST_BETWEEN = 72.0  # between the legs, for the words on both sides
TEXT, LEAST, LARGE = 3.2, 2.83, 5.6  # font sizes: 9, 8 and 16 point
LINE, CLOSE = 4.2, 3.4  # from one line of words to the next; the same where a piece is narrow
Spot = tuple[float, float]

# From a part's standard form (y up) to the picture (y down), by the edge that comes to lie left.
_TURNS: dict[str, Callable[[float, float], Spot]] = {
    "start": lambda x, y: (x, -y),
    "straight": lambda x, y: (y, x),
    "end": lambda x, y: (-x, y),
    "far": lambda x, y: (-y, -x),
}


def opening_svg(plan: Plan, opening: OpeningRecord) -> str:
    """Draw the pieces of an opening folded flat around the head.

    Returns
    -------
    str
        An SVG of ``WIDTH`` by ``HEIGHT`` millimetres; empty if the opening has not its three pieces.
    """
    parts = {part.role: part for part in plan.parts if part.opening == opening.name}
    if not all(role in parts for role in ROLES):
        return ""
    picture = _Picture(plan, opening, parts)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH:g}mm" height="{HEIGHT:g}mm" '
        f'viewBox="0 0 {WIDTH:g} {HEIGHT:g}" font-family="{FAMILY}" font-size="{TEXT}">'
        f'<rect width="{WIDTH:g}" height="{HEIGHT:g}" fill="white"/>{"".join(picture.draw())}</svg>'
    )


def _text(spot: Spot, words: str, anchor: str = "start", bold: bool = False, size: float = TEXT) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{spot[0]:.2f}" y="{spot[1]:.2f}" text-anchor="{anchor}" font-size="{size:.2f}"{weight}>'
        f"{escape(clean(words))}</text>"
    )


def _line(a: Spot, b: Spot, width: float) -> str:
    return (
        f'<line x1="{a[0]:.2f}" y1="{a[1]:.2f}" x2="{b[0]:.2f}" y2="{b[1]:.2f}" stroke="black" '
        f'stroke-width="{width}"/>'
    )


@dataclass(frozen=True, slots=True)
class _Laid:
    """A piece in its place on paper: corners in the order of the part's outline, and its box."""

    part: PlanPart
    corners: tuple[Spot, ...]
    left: float
    upper: float
    right: float
    lower: float

    @property
    def middle(self) -> Spot:
        return (self.left + self.right) / 2, (self.upper + self.lower) / 2


@dataclass(frozen=True, slots=True)
class _Words:
    """What is said at a station: where along the piece, on which side, in what words."""

    at: float
    outer: bool
    words: str
    bold: bool
    proud: int


class _Picture:
    def __init__(self, plan: Plan, opening: OpeningRecord, parts: dict[str | None, PlanPart]) -> None:
        self.plan = plan
        self.opening = opening
        self.runs: dict[str, RunRecord] = {run.role: run for run in opening.runs}
        legs, head = [parts["left leg"], parts["right leg"]], parts["head"]
        two = any(station.face for run in opening.runs for station in run.stations)
        self.above, self.between = 3 * LINE + 1, (3 * LINE if two else 0) + 9.0
        widest = max(max(part.width_start, part.width_end) for part in parts.values())
        tall = HEIGHT - self.above - self.between - 2 * LINE - 2.2
        self.scale = min(
            HEAD_ROOM / head.length,
            THICK_ROOM / widest,
            tall / (max(leg.length for leg in legs) + max(head.width_start, head.width_end)),
        )
        half = max(opening.clear_width * self.scale, LEAST_BETWEEN) / 2
        self.head = self._lay(head, WIDTH / 2, self.above, 0.5)
        top = self.head.lower + self.between
        self.legs = (
            self._lay(legs[0], WIDTH / 2 - half, top, 1.0),
            self._lay(legs[1], WIDTH / 2 + half, top, 0.0),
        )

    def _lay(self, part: PlanPart, x: float, upper: float, share: float) -> _Laid:
        """Turn a piece upright; ``x`` is where ``share`` of its width lies, from its left."""
        turned = [_TURNS[upright(part)[0]](*corner) for corner in part.outline]
        x0, y0, x1, y1 = (value * self.scale for value in bounds([(round(a), round(b)) for a, b in turned]))
        dx, dy = x - x0 - share * (x1 - x0), upper - y0
        corners = tuple((a * self.scale + dx, b * self.scale + dy) for a, b in turned)
        return _Laid(part, corners, x0 + dx, y0 + dy, x1 + dx, y1 + dy)

    def draw(self) -> list[str]:
        drawn = [_text((0, TEXT), "Seen from room A, folded flat", bold=True)]
        for laid in (*self.legs, self.head):
            drawn += self._piece(laid)
        for side, leg in zip((-1, 1), self.legs, strict=True):
            drawn += [*self._leg_words(leg, side), *self._leg_stations(leg, side)]
        return [*drawn, *self._head_words(), *self._head_stations()]

    def _piece(self, laid: _Laid) -> list[str]:
        points = " ".join(f"{x:.2f},{y:.2f}" for x, y in laid.corners)
        number = str(laid.part.number)
        across = (laid.right - laid.left) / (0.8 * len(number))  # a bold figure is 0.7 of its size
        size = max(LEAST, min(LARGE, 0.8 * (laid.lower - laid.upper), across))
        x, y = laid.middle
        return [
            f'<polygon points="{points}" fill="none" stroke="black" stroke-width="0.3"/>',
            _line(laid.corners[0], laid.corners[1], 0.9),
            _text((x, y + 0.36 * size), number, "middle", bold=True, size=size),
        ]

    def _show(self, length: int) -> str:
        return show(length, self.plan.units, self.plan.step)

    def _end_widths(self, part: PlanPart) -> tuple[str, str]:
        """Widths at the upper or left end and at the other."""
        edges = upright(part)
        starts = "start" in (edges[0] if part.role == "head" else edges[1])
        widths = (part.width_start, part.width_end) if starts else (part.width_end, part.width_start)
        return self._show(widths[0]), self._show(widths[1])

    def _leg_words(self, leg: _Laid, side: int) -> list[str]:
        top, foot = self._end_widths(leg.part)
        x, off = leg.middle[0], max((leg.right - leg.left) / 2, 9.0) + 2
        low = leg.lower + LINE + 0.8
        return [
            _text((x, leg.upper - 2.6), f"TOP, {top}", "middle"),
            _text((x, low), foot, "middle"),
            _text((x + side * off, low), "A", "middle", bold=True),
            _text((x - side * off, low), "B", "middle", bold=True),
            _text((x, low + LINE), leg.part.role or "", "middle"),
        ]

    def _head_words(self) -> list[str]:
        left, right = self._end_widths(self.head.part)
        y = self.head.middle[1]
        off = max((self.head.lower - self.head.upper) / 2 - 1, CLOSE)
        out, drawn = self._head_half() + 3, []
        for x, anchor, width in ((WIDTH / 2 - out, "end", left), (WIDTH / 2 + out, "start", right)):
            drawn += [
                _text((x, y - off + 1.2), "A", anchor, bold=True),
                _text((x, y + 1.2), width, anchor),
                _text((x, y + off + 1.2), "B", anchor, bold=True),
            ]
        return drawn

    def _head_half(self) -> float:
        """Half the length within which the words of the head's stations keep."""
        return max((self.head.right - self.head.left) / 2, 16.0)

    def _words(self, run: RunRecord, station: StationRecord) -> _Words:
        worst = run.over and station.proud == run.worst
        words = f"{self._show(station.at)}: {self._show(station.proud)}"
        return _Words(station.at * self.scale, station.face != "B", words, worst, station.proud)

    def _stations(self, role: str) -> list[_Words]:
        """The words of a run, the proudest station first, so that it has the first choice of place."""
        run = self.runs.get(role)
        found = [self._words(run, station) for station in run.stations] if run else []
        return sorted(found, key=lambda words: -words.proud)

    def _leg_stations(self, leg: _Laid, side: int) -> list[str]:
        """A tick at each height, and its words where no others stand within a line."""
        drawn: list[str] = []
        taken: list[tuple[int, float]] = []
        for words in self._stations(leg.part.role or ""):
            y = min(max(leg.lower - words.at, leg.upper), leg.lower)
            way = side if words.outer else -side
            edge = leg.right if way > 0 else leg.left
            drawn.append(_line((edge, y), (edge + 2 * way, y), 0.3))
            if all(abs(y - other) >= LINE for kept, other in taken if kept == way):
                taken.append((way, y))
                anchor = "start" if way > 0 else "end"
                drawn.append(_text((edge + 3 * way, y + 1.1), words.words, anchor, words.bold))
        return drawn

    def _head_stations(self) -> list[str]:
        """The same along the head: above it room A's, below room B's, in up to three lines."""
        head, drawn = self.head, []
        taken: list[tuple[int, int, float, float]] = []
        framing = self._framing()
        for words in self._stations("head"):
            x = min(max(framing + words.at, head.left), head.right)
            way = -1 if words.outer else 1
            edge = head.upper if words.outer else head.lower
            wide = Words(words.words, TEXT / POINT, words.bold).width / 2 + 0.5
            room = max(self._head_half() - wide, 0.0)
            at = min(max(x, WIDTH / 2 - room), WIDTH / 2 + room)
            for row in range(3):
                if all(abs(at - other) >= wide + half for w, r, other, half in taken if (w, r) == (way, row)):
                    taken.append((way, row, at, wide))
                    y = edge - 2.6 - LINE * row if words.outer else edge + 4.8 + LINE * row
                    drawn.append(_text((at, y), words.words, "middle", words.bold))
                    break
            drawn.append(_line((x, edge), (x, edge + 2 * way), 0.3))
        return drawn

    def _framing(self) -> float:
        """Where the framing on the left stands beside the head as it is laid."""
        part = self.head.part
        past = (part.length - self.opening.clear_width) // 2  # how far the head reaches over the leg
        off = self.opening.gap["left"] + part.thickness - past
        return self.head.left - off * self.scale
