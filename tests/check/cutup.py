"""Sheets cut up at random, edge to edge: plans that have to pass, whatever comes out."""

from __future__ import annotations

from collections.abc import Callable
from math import cos, hypot, radians, sin

from shapely.geometry import LineString, Polygon
from shapely.geometry.polygon import orient

from tests.check import sample
from tests.check.sample import Dict, Pt, inch
from tests.check.second import name, parted

Draw = Callable[[int, int], int]
Box = tuple[int, int, int, int]
LEAST = inch(3)


class CutUp:
    """One sheet cut up; ``draw(least, most)`` gives the random whole numbers."""

    def __init__(self, draw: Draw, kerf: int, back: bool, first: int = 1) -> None:
        self.draw, self.kerf, self.back, self.next_part = draw, kerf, back, first
        self.parts: list[Dict] = []
        self.placed: dict[int, list[Pt]] = {}
        self.cuts: list[Dict] = []
        self.offcuts: list[Dict] = []
        self.letters = 1
        trims = (draw(0, inch(0.5)) for _ in range(4))
        self.stock = sample.BIRCH | {
            "length": draw(inch(30), inch(120)), "width": draw(inch(20), inch(60)), "count": None,
            "trim": dict(zip(("left", "right", "lower", "upper"), trims, strict=True)),
        }  # fmt: skip
        self._trim_all()

    def letter(self) -> str:
        self.letters += 1
        return name(self.letters - 1)

    def sheet(self, number: int) -> Dict:
        return sample.sheet(number, self.stock, self.kerf, self.placed, self.cuts, self.offcuts)

    def _trim_all(self) -> None:
        trim, box = self.stock["trim"], (0, 0, self.stock["length"], self.stock["width"])
        for edge, i in (("lower", 1), ("left", 0), ("upper", 3), ("right", 2)):
            if trim[edge]:
                at = trim[edge] if i < 2 else box[i] - trim[edge]
                box, strip, _ = self._straight("trim", box, "A", across=i % 2 == 0, at=at, low=i > 1)
                if strip:
                    self.offcuts.append(sample.offcut(_corners(strip), trim=True))
        self.region(box, "A", useful=True)

    def _straight(self, kind: str, box: Box, piece: str, *, across: bool, at: int,
                  low: bool) -> tuple[Box, Box | None, str]:  # fmt: skip
        """Cut a box along or across; ``low`` keeps what lies left or below. Kept, other, its letter."""
        x0, y0, x1, y1 = box
        off = at + self.kerf if low else at - self.kerf
        ends: tuple[Pt, Pt]
        if across:
            ends, edge, reading = ((at, y0), (at, y1)), "left", at - x0
            parts = (x0, y0, at, y1), (off, y0, x1, y1), (at, y0, x1, y1), (x0, y0, off, y1)
        else:
            ends, edge, reading = ((x0, at), (x1, at)), "lower", at - y0
            parts = (x0, y0, x1, at), (x0, off, x1, y1), (x0, at, x1, y1), (x0, y0, x1, off)
        waste = ("right" if low else "left") if across else ("left" if low else "right")
        if self.draw(0, 1):
            ends, waste = (ends[1], ends[0]), {"left": "right", "right": "left"}[waste]
        self.cuts.append(sample.cut(kind, piece, *ends, waste, sample.both(edge, reading)))
        kept, other = parts[:2] if low else parts[2:]
        there = other[2] > other[0] and other[3] > other[1]
        return kept, other if there else None, self.letter() if there else ""

    def region(self, box: Box, piece: str, *, useful: bool) -> None:
        """Cut up a box; ``useful`` demands a part in it (so that no cut keeps only scrap)."""
        x0, y0, x1, y1 = box
        wide, high = x1 - x0, y1 - y0
        choice = self.draw(0, 9)
        if not useful and (choice == 0 or min(wide, high) < LEAST):
            self.offcuts.append(sample.offcut(_corners(box), keep=self._is_kept(wide, high)))
        elif choice < 6 and max(wide, high) > 3 * LEAST:
            self._split(box, piece, across=wide > high)
        elif choice == 7 and wide > 3 * LEAST and high > 2 * LEAST:
            self._pair(box, piece)
        elif choice > 7 and wide > 3 * LEAST and high > LEAST:
            self._leaning(box, piece)
        else:
            self._rectangle(box)

    def _is_kept(self, wide: int, high: int) -> bool:
        return wide >= inch(24) and high >= inch(6) and bool(self.draw(0, 1))

    def _split(self, box: Box, piece: str, *, across: bool) -> None:
        low, high = (box[0], box[2]) if across else (box[1], box[3])
        at = self.draw(low + LEAST + self.kerf, high - LEAST - self.kerf)
        kept, other, letter = self._straight(
            "crosscut" if across else "rip", box, piece, across=across, at=at, low=bool(self.draw(0, 1)))
        self.region(kept, piece, useful=True)
        if other:
            self.region(other, letter, useful=False)

    def _part(self, corners: list[Pt], length: int, widths: tuple[int, int], grain: str) -> None:
        self.parts.append(sample.part(self.next_part, length, widths, grain=grain))
        self.placed[self.next_part] = corners
        self.next_part += 1

    def _rectangle(self, box: Box) -> None:
        """Lay a part into a box, its straight edge on any of the four sides."""
        turn = self.draw(0, 3)
        c = _corners(box)
        c = c[turn:] + c[:turn]
        if self.back:
            c = [c[1], c[0], c[3], c[2]]
        length, width = round(hypot(c[1][0] - c[0][0], c[1][1] - c[0][1])), round(
            hypot(c[2][0] - c[1][0], c[2][1] - c[1][1]))  # fmt: skip
        self._part(c, length, (width, width), "across" if turn % 2 else "length")

    def _pair(self, box: Box, piece: str) -> None:
        """Two parts of one taper, head to foot, with one slanted cut between them."""
        x0, y0, x1, y1 = box
        left = self.draw(y0 + LEAST // 2, y1 - LEAST // 2 - self.kerf)
        right = min(max(left + self.draw(-LEAST, LEAST), y0 + LEAST // 2), y1 - LEAST // 2 - self.kerf)
        kind = "rip" if left == right else "taper"
        marks = sample.both("lower", left - y0, right - y0)
        self.cuts.append(sample.cut(kind, piece, (x0, left), (x1, right), "left", marks))
        self.letter()
        up = round(self.kerf * hypot(1, (right - left) / (x1 - x0)))
        lower = [(x0, y0), (x1, y0), (x1, right), (x0, left)]
        upper = [(x1, y1), (x0, y1), (x0, left + up), (x1, right + up)]
        for c in (lower, upper):
            laid = [c[1], c[0], c[3], c[2]] if self.back else c
            start, end = abs(laid[3][1] - laid[0][1]), abs(laid[2][1] - laid[1][1])
            self._part(laid, x1 - x0, (start, end), "length")

    def _leaning(self, box: Box, piece: str) -> None:
        """Cut a rectangle that leans by up to half a degree out of a box, by four slanted cuts."""
        x0, y0, x1, y1 = box
        lean = radians(0.5) * self.draw(1, 100) / 100 * (1 if self.draw(0, 1) else -1)
        lost = (x1 - x0) * abs(sin(lean)) + 2 * self.kerf + inch(0.1)
        length, width = int((x1 - x0) - LEAST // 2 - lost), int((y1 - y0) - lost)
        if width < LEAST // 2:
            return self._rectangle(box)
        spots = [(-length / 2, -width / 2), (length / 2, -width / 2),
                 (length / 2, width / 2), (-length / 2, width / 2)]  # fmt: skip
        c = [(round((x0 + x1) / 2 + x * cos(lean) - y * sin(lean)),
              round((y0 + y1) / 2 + x * sin(lean) + y * cos(lean))) for x, y in spots]  # fmt: skip
        left = Polygon(_corners(box))
        for i, edge in ((0, "lower"), (2, "upper"), (1, "right"), (3, "left")):
            left = self._slanted(left, piece, c[i], c[(i + 1) % 4], edge, box)
        self._part([c[1], c[0], c[3], c[2]] if self.back else c, length, (width, width), "length")
        return None

    def _slanted(self, left: Polygon, piece: str, p: Pt, q: Pt, edge: str, box: Box) -> Polygon:
        """Cut along p - q, what is kept on the left; the piece that falls off is scrap."""
        far = 100
        line = LineString([(p[0] + far * (p[0] - q[0]), p[1] + far * (p[1] - q[1])),
                           (q[0] + far * (q[0] - p[0]), q[1] + far * (q[1] - p[1]))])  # fmt: skip
        a, b = ((round(x), round(y)) for x, y in line.intersection(left).coords)
        if a == b:
            raise AssertionError("the line misses the piece")
        i = {"left": 0, "lower": 1, "right": 2, "upper": 3}[edge]
        readings = [abs(end[i % 2] - box[i]) for end in (a, b)]
        kind = "rip" if a[1] == b[1] else "crosscut" if a[0] == b[0] else "taper"
        self.cuts.append(sample.cut(kind, piece, a, b, "right", sample.both(edge, *readings)))
        kept, other = parted(left, _as_cut(a, b), self.kerf)
        self.letter()
        corners = [(round(x), round(y)) for x, y in orient(other).exterior.coords[:-1]]
        self.offcuts.append(sample.offcut(corners))
        return kept


class _as_cut:  # noqa: N801 - stands in for a Cut, of which the second opinion needs three things
    waste_side = "right"

    def __init__(self, start: Pt, to: Pt) -> None:
        self.start, self.to = start, to


def _corners(box: Box) -> list[Pt]:
    x0, y0, x1, y1 = box
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def cut_up(draw: Draw, sheets: int = 1) -> Dict:
    """Make a plan of sheets cut up at random."""
    kerf, back = draw(0, 1) * draw(1, inch(1 / 8)), bool(draw(0, 1))
    saw = sample.SAW | {"kerf": kerf, "rails": [], "face_up": "back" if back else "show"}
    made: list[CutUp] = []
    for _ in range(sheets):
        made.append(CutUp(draw, kerf, back, 1 + sum(len(one.parts) for one in made)))
        made[-1].stock["name"] = f"size {len(made)}"
    return sample.plan_data([part for one in made for part in one.parts],
                            [one.sheet(i + 1) for i, one in enumerate(made)],
                            [one.stock for one in made], saw)  # fmt: skip
