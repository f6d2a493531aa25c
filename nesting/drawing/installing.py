"""The pieces of an opening folded flat, as a picture: which edge faces which room, how proud where.

Seen from room A through the opening: the outer edges are room A's, nearest to you, the inner ones room
B's. A window is seen from its room: the outer edges lie along the wall (R), the inner ones on its frame (W),
and the sill is folded down below the legs. Plain SVG with attributes only, so that print and page show the
same. Millimetres on paper.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from html import escape

from nesting.drawing.fonts import FAMILY
from nesting.drawing.labels import upright
from nesting.drawing.measure import POINT, Words
from nesting.geometry import bounds
from nesting.job.measured import Stud
from nesting.lengths import nearest, show
from nesting.openings.studs import off_at
from nesting.plan import OpeningRecord, Plan, PlanPart, RunRecord, StationRecord
from nesting.report.blocks import clean

WIDTH, HEIGHT, WINDOW_HEIGHT = 190.0, 81.0, 116.0
ROLES = ("left leg", "right leg", "head")
LEVEL = ("head", "sill")
LEGEND = (
    "Outer edges face room A, inner ones room B; thick: the straight edge. "
    "At a station: its place, how proud."
)
WINDOW_LEGEND = (
    "R: edges along the wall, in the room; W, thick: the straight edges, on the window's frame. Sizes are "
    "those before bevels are cut, lengths those of the straight edges. At a station: its place, how proud."
)
HEAD_ROOM, THICK_ROOM = 70.0, 18.0  # for the head's length, and for the widest piece
LEAST_BETWEEN = 72.0  # between the legs, for the words on both sides
UNDER_SILL = 19.0  # the words of its stations, and the air above it
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
        An SVG of ``WIDTH`` by ``HEIGHT`` (a window: ``WINDOW_HEIGHT``) millimetres; empty if the opening
        has not all its pieces.
    """
    parts = {part.role: part for part in plan.parts if part.opening == opening.name}
    window = opening.kind == "window"
    if not all(role in parts for role in (*ROLES, *(LEVEL if window else ()))):
        return ""
    picture, height = _Picture(plan, opening, parts), WINDOW_HEIGHT if window else HEIGHT
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH:g}mm" height="{height:g}mm" '
        f'viewBox="0 0 {WIDTH:g} {height:g}" font-family="{FAMILY}" font-size="{TEXT}">'
        f'<rect width="{WIDTH:g}" height="{height:g}" fill="white"/>{"".join(picture.draw())}</svg>'
    )


def legend(opening: OpeningRecord) -> str:
    """Say what the picture shows."""
    return WINDOW_LEGEND if opening.kind == "window" else LEGEND


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


def _turned(part: PlanPart) -> list[tuple[int, int]]:
    """A piece's corners, upright, y down, in the order of its outline; inner units."""
    turn = _TURNS[upright(part)[0]]
    return [(round(x), round(y)) for x, y in (turn(*corner) for corner in part.outline)]


def _span(part: PlanPart) -> tuple[int, int]:
    """How wide and how high a piece is, upright."""
    x0, y0, x1, y1 = bounds(_turned(part))
    return x1 - x0, y1 - y0


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
        self.window = opening.kind == "window"
        self.rooms = ("R", "W") if self.window else ("A", "B")
        sill = parts["sill"] if self.window else None
        two = any(station.face for run in opening.runs for station in run.stations)
        self.above, self.between = 3 * LINE + 1, (3 * LINE if two else 0) + 9.0
        below = 2 * LINE + 2.2  # under the legs
        level = [head, *([sill] if sill else [])]
        spans = {part.role: _span(part) for part in (*legs, *level)}
        widest = max(max(part.width_start, part.width_end) for part in parts.values())
        tall = (WINDOW_HEIGHT - UNDER_SILL if sill else HEIGHT) - self.above - self.between - below
        self.scale = min(
            HEAD_ROOM / max(spans[part.role][0] for part in level),
            THICK_ROOM / widest,
            tall / (max(spans[leg.role][1] for leg in legs) + sum(spans[part.role][1] for part in level)),
        )
        half = max(opening.clear_width * self.scale, LEAST_BETWEEN) / 2
        self.head = self._lay(head, WIDTH / 2, self.above, 0.5)
        top = self.head.lower + self.between
        self.legs = (
            self._lay(legs[0], WIDTH / 2 - half, top, 1.0),
            self._lay(legs[1], WIDTH / 2 + half, top, 0.0),
        )
        foot = max(leg.lower for leg in self.legs) + below + 4.5
        self.sill = self._lay(sill, WIDTH / 2, foot, 0.5) if sill else None

    def _lay(self, part: PlanPart, x: float, upper: float, share: float) -> _Laid:
        """Turn a piece upright; ``x`` is where ``share`` of its width lies, from its left."""
        turned = _turned(part)
        x0, y0, x1, y1 = (value * self.scale for value in bounds(turned))
        dx, dy = x - x0 - share * (x1 - x0), upper - y0
        corners = tuple((a * self.scale + dx, b * self.scale + dy) for a, b in turned)
        return _Laid(part, corners, x0 + dx, y0 + dy, x1 + dx, y1 + dy)

    def draw(self) -> list[str]:
        seen = "the room" if self.window else "room A"
        drawn = [_text((0, TEXT), f"Seen from {seen}, folded flat", bold=True)]
        level = [self.head, *([self.sill] if self.sill else [])]
        for laid in (*self.legs, *level):
            drawn += self._piece(laid)
        for side, leg in zip((-1, 1), self.legs, strict=True):
            drawn += [*self._leg_words(leg, side), *self._leg_stations(leg, side)]
        for laid in level:
            drawn += [*self._level_words(laid), *self._level_stations(laid)]
        return drawn

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

    def _long(self, part: PlanPart) -> str:
        """Role and length; of a leg whose foot is cut to a falling floor the lengths along both rooms."""
        falls = self.opening.floor.get("left" if part.role == "left leg" else "right", 0)
        if part.role in LEVEL or not falls:
            return f"{part.role}, {self._show(part.length)}"
        far = part.length + part.skew_end - part.skew_start
        lengths = (part.length, far) if self.opening.straight == "A" else (far, part.length)
        return f"{part.role}, A {self._show(lengths[0])}, B {self._show(lengths[1])}"

    def _end_widths(self, part: PlanPart) -> tuple[str, str]:
        """Widths at the upper or left end and at the other."""
        edges = upright(part)
        starts = "start" in (edges[0] if part.role in LEVEL else edges[1])
        widths = (part.width_start, part.width_end) if starts else (part.width_end, part.width_start)
        return self._show(widths[0]), self._show(widths[1])

    def _leg_words(self, leg: _Laid, side: int) -> list[str]:
        top, foot = self._end_widths(leg.part)
        x, off = leg.middle[0], max((leg.right - leg.left) / 2, 9.0) + 2
        low = leg.lower + LINE + 0.8
        return [
            _text((x, leg.upper - 2.6), f"TOP, {top}", "middle"),
            _text((x, low), foot, "middle"),
            _text((x + side * off, low), self.rooms[0], "middle", bold=True),
            _text((x - side * off, low), self.rooms[1], "middle", bold=True),
            _text((x, low + LINE), self._long(leg.part), "middle"),
        ]

    def _level_words(self, laid: _Laid) -> list[str]:
        """Length, widths and rooms beside a head, and beside a sill with its room's edge below."""
        left, right = self._end_widths(laid.part)
        y = laid.middle[1]
        upper, lower = self.rooms if laid is self.head else self.rooms[::-1]
        off = max((laid.lower - laid.upper) / 2 - 1, CLOSE)
        out = self._half(laid) + 3
        beyond = -off - LINE if laid is self.head else off + LINE
        drawn = [_text((WIDTH / 2 - out, y + beyond + 1.2), self._long(laid.part), "end")]
        for x, anchor, width in ((WIDTH / 2 - out, "end", left), (WIDTH / 2 + out, "start", right)):
            drawn += [
                _text((x, y - off + 1.2), upper, anchor, bold=True),
                _text((x, y + 1.2), width, anchor),
                _text((x, y + off + 1.2), lower, anchor, bold=True),
            ]
        return drawn

    def _half(self, laid: _Laid) -> float:
        """Half the length within which the words of a level piece's stations keep."""
        return max((laid.right - laid.left) / 2, 16.0)

    def _words(self, run: RunRecord, station: StationRecord) -> _Words:
        worst = run.over and station.proud == run.worst
        words = f"{self._show(station.at)}: {show(station.proud, self.plan.units)}"
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
            y = min(max(self._foot(leg) - words.at, leg.upper), leg.lower)
            way = side if words.outer else -side
            edge = leg.right if way > 0 else leg.left
            drawn.append(_line((edge, y), (edge + 2 * way, y), 0.3))
            if all(abs(y - other) >= LINE for kept, other in taken if kept == way):
                taken.append((way, y))
                anchor = "start" if way > 0 else "end"
                drawn.append(_text((edge + 3 * way, y + 1.1), words.words, anchor, words.bold))
        return drawn

    def _foot(self, leg: _Laid) -> float:
        """Where the floor, or the inside edge of a window's frame, stands beside a leg as it is laid."""
        if not self.window:
            a, b = (0, 1) if self.opening.straight == "A" else (2, 3)  # heights are those at room A
            up = self.opening.feet.get("left" if leg is self.legs[0] else "right", 0)
            return max(leg.corners[a][1], leg.corners[b][1]) + up * self.scale
        high = self.opening.height["left" if leg is self.legs[0] else "right"]
        below = (leg.part.length - high) / 2 + self.opening.reveal
        return max(leg.corners[0][1], leg.corners[1][1]) - below * self.scale

    def _level_stations(self, laid: _Laid) -> list[str]:
        """The same along head and sill: room A's outside, room B's inside, in up to three lines."""
        drawn: list[str] = []
        taken: list[tuple[int, int, float, float]] = []
        framing, outside = self._framing(laid), -1 if laid is self.head else 1
        for words in self._stations(laid.part.role or ""):
            x = min(max(framing + words.at, laid.left), laid.right)
            way = outside if words.outer else -outside
            edge = laid.upper if way < 0 else laid.lower
            wide = Words(words.words, TEXT / POINT, words.bold).width / 2 + 0.5
            room = max(self._half(laid) - wide, 0.0)
            at = min(max(x, WIDTH / 2 - room), WIDTH / 2 + room)
            for row in range(3):
                if all(abs(at - other) >= wide + half for w, r, other, half in taken if (w, r) == (way, row)):
                    taken.append((way, row, at, wide))
                    y = edge - 2.6 - LINE * row if way < 0 else edge + 4.8 + LINE * row
                    drawn.append(_text((at, y), words.words, "middle", words.bold))
                    break
            drawn.append(_line((x, edge), (x, edge + 2 * way), 0.3))
        return drawn

    def _framing(self, laid: _Laid) -> float:
        """Where the framing on the left, or the inside edge of a window's frame, stands beside a piece."""
        part = laid.part
        past = (part.length - self.opening.clear_width) // 2  # how far the piece reaches over the leg
        if self.window:
            return min(laid.corners[0][0], laid.corners[1][0]) + (past + self.opening.reveal) * self.scale
        off = self._gap_at_head() + part.thickness - past
        return laid.left - off * self.scale

    def _gap_at_head(self) -> int:
        """The shim space on the left at the height of the head's underside, where its readings begin."""
        gaps = self.opening.gaps.get("left", ())
        if not gaps:
            return self.opening.gap["left"]
        return nearest(off_at([Stud(at=gap.at, off=gap.gap) for gap in gaps], self.opening.height["left"]))
