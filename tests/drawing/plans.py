"""Plans for the drawings: sheets cut up by a spec, so that every one passes the check by itself.

A spec is a part, a row of specs from left to right (parted by crosscuts), a stack of specs from below
(parted by rips), a pair of tapers head to foot, or KEEP or SCRAP for what is left.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from math import hypot
from pathlib import Path
from random import Random
from typing import Any

from nesting.check import CheckedPlan, checked
from nesting.job.reading import read_job
from nesting.packing.instance import Settings
from nesting.plan import Plan
from nesting.work.planner import plan_job
from tests.check import sample
from tests.check.cutup import cut_up
from tests.check.sample import Dict, Pt, inch, mm
from tests.check.second import name

KEEP, SCRAP = "keep", "scrap"
Box = tuple[int, int, int, int]


@dataclass(frozen=True)
class Item:
    """A part; sizes in the plan's units. ``upright`` lays its length across the sheet."""

    length: float
    width: float
    given: Dict = field(default_factory=dict)
    upright: bool = False


@dataclass(frozen=True)
class Pair:
    """Two parts of one taper, head to foot, one slanted cut between them."""

    length: float
    narrow: float
    wide: float
    given: tuple[Dict, Dict] = ({}, {})


@dataclass(frozen=True)
class Row:
    specs: tuple[Any, ...]


@dataclass(frozen=True)
class Stack:
    specs: tuple[Any, ...]


class Shop:
    """Cuts sheets by their specs."""

    def __init__(self, unit: Callable[[float], int], kerf: float, back: bool = False,
                 rails: tuple[float, ...] = (), **given: Any) -> None:  # fmt: skip
        self.unit, self.kerf, self.back = unit, unit(kerf), back
        self.given, self.rails = given, [unit(rail) for rail in rails]
        self.parts: list[Dict] = []
        self.sheets: list[Dict] = []
        self.stock: dict[str, Dict] = {}

    def sheet(self, length: float, width: float, trim: float, spec: Any, **stock: Any) -> None:
        """Cut one sheet: lower and left edge are trimmed, then the spec is followed."""
        u, t = self.unit, self.unit(trim)
        size = sample.BIRCH | {
            "name": f"birch {length:g} x {width:g}", "length": u(length), "width": u(width), "count": None,
            "thickness": u(23 / 32) if u is inch else u(18),
            "trim": dict.fromkeys(("left", "right", "lower", "upper"), t),
        } | stock  # fmt: skip
        self.stock[size["name"]] = size
        self.placed: dict[int, list[Pt]] = {}
        self.cuts: list[Dict] = []
        self.offcuts: list[Dict] = []
        self.letters = 1
        self.material = {"material": size["material"], "thickness": size["thickness"]}
        self.edge = (u(length) - t, u(width) - t)
        box: Box = (0, 0, u(length), u(width))
        if t:
            _, box, _, _ = self._part(box, "A", "trim", False, t, keep_low=False, trims=True)
            _, box, _, _ = self._part(box, "A", "trim", True, t, keep_low=False, trims=True)
        self._cut(box, "A", spec)
        self.sheets.append(
            sample.sheet(len(self.sheets) + 1, size, self.kerf, self.placed, self.cuts, self.offcuts)
        )

    def plan(self) -> CheckedPlan:
        """Make the plan of all sheets; it has passed the check."""
        return checked(Plan.model_validate(self.data()))

    def data(self) -> Dict:
        metric = self.unit is mm
        saw = sample.SAW | {
            "kerf": self.kerf, "rails": self.rails, "join": True,
            "face_up": "back" if self.back else "show",
        }  # fmt: skip
        keep = {"length": self.unit(600 if metric else 24), "width": self.unit(150 if metric else 6)}
        units = {"units": "mm", "step": 160} if metric else {}
        return sample.plan_data(self.parts, self.sheets, list(self.stock.values()), saw,
                                keep=keep, **units, **self.given)  # fmt: skip

    def _letter(self) -> str:
        self.letters += 1
        return name(self.letters - 1)

    def _part(self, box: Box, piece: str, kind: str, across: bool, at: int, *, keep_low: bool = True,
              trims: bool = False) -> tuple[Box, Box, str, str]:  # fmt: skip
        """One straight cut: what lies low, what lies high, and their letters."""
        x0, y0, x1, y1 = box
        gap = self.kerf
        low_at, high_at = (at, at + gap) if keep_low else (at - gap, at)
        if across:
            low, high = (x0, y0, low_at, y1), (high_at, y0, x1, y1)
            ends, edge, waste = ((at, y0), (at, y1)), "left", "right" if keep_low else "left"
        else:
            low, high = (x0, y0, x1, low_at), (x0, high_at, x1, y1)
            ends, edge, waste = ((x0, at), (x1, at)), "lower", "left" if keep_low else "right"
        reading = at - (x0 if across else y0)
        rails = self._rails(hypot(ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]))
        self.cuts.append(sample.cut(kind, piece, *ends, waste, sample.both(edge, reading), rails)
                         | {"packer": keep_low and reading < 8 * 8128})  # fmt: skip
        other = high if keep_low else low
        there = other[2] > other[0] and other[3] > other[1]
        letter = self._letter() if there else ""
        if trims and there:
            self.offcuts.append(sample.offcut(_corners(other), trim=True))
        return low, high, piece if keep_low else letter, letter if keep_low else piece

    def _rails(self, length: float) -> list[int]:
        need = length + sample.SAW["lead_in"] + sample.SAW["lead_out"]
        single = [rail for rail in self.rails if rail >= need]
        return [min(single)] if single else list(self.rails)

    def _cut(self, box: Box, piece: str, spec: Any) -> None:
        if isinstance(spec, Row | Stack):
            self._several(box, piece, spec)
        elif isinstance(spec, Pair):
            self._pair(box, piece, spec)
        elif isinstance(spec, Item):
            self._item(box, piece, spec)
        else:
            if spec == KEEP:
                wide, high = (min(box[i + 2], self.edge[i]) - box[i] for i in (0, 1))
                box, _ = self._down_to(box, piece, wide, high)
            self.offcuts.append(sample.offcut(_corners(box), keep=spec == KEEP))

    def _size(self, spec: Any) -> tuple[int, int]:
        """Room that a spec takes along and across the sheet; 0 for whatever is left."""
        u = self.unit
        if isinstance(spec, Item):
            sides = u(spec.length), u(spec.width)
            return sides[::-1] if spec.upright else sides
        if isinstance(spec, Pair):
            return u(spec.length), u(spec.narrow) + u(spec.wide) + self.kerf
        if isinstance(spec, Row | Stack):
            along, sizes = isinstance(spec, Row), [self._size(child) for child in spec.specs]
            most = [max(size[i] for size in sizes) for i in (0, 1)]
            total = [sum(size[i] + self.kerf for size in sizes) - self.kerf for i in (0, 1)]
            return (total[0], most[1]) if along else (most[0], total[1])
        return 0, 0

    def _several(self, box: Box, piece: str, spec: Row | Stack) -> None:
        along = isinstance(spec, Row)
        for k, child in enumerate(spec.specs):
            size = self._size(child)[0 if along else 1]
            end = box[2 if along else 3]
            at = box[0 if along else 1] + size
            if not size or at >= end:
                self._cut(box, piece, child)
                assert k == len(spec.specs) - 1, "no room for the specs that follow"
                return
            low, high, first, second = self._part(box, piece, "crosscut" if along else "rip", along, at)
            self._cut(low, first, child)
            if not second:
                assert k == len(spec.specs) - 1
                return
            box, piece = high, second
        self._cut(box, piece, SCRAP)

    def _item(self, box: Box, piece: str, spec: Item) -> None:
        wide, high = self._size(spec)
        box, piece = self._down_to(box, piece, wide, high)
        c = _corners(box)
        c = [c[1], c[2], c[3], c[0]] if spec.upright else c
        grain = {"grain": "across"} if spec.upright else {}
        self._place(c, (spec.length, spec.width, spec.width), grain | spec.given)

    def _down_to(self, box: Box, piece: str, wide: int, high: int) -> tuple[Box, str]:
        """Cut a box down to a size, from its lower left corner."""
        for across, i, size, kind in ((True, 0, wide, "crosscut"), (False, 1, high, "rip")):
            at = box[i] + size
            if at < box[i + 2]:
                trim = at >= self.edge[i] and box[i + 2] > self.edge[i]
                low, other, piece, _ = self._part(box, piece, "trim" if trim else kind, across, at)
                if other[2] > other[0] and other[3] > other[1]:
                    self.offcuts.append(sample.offcut(_corners(other), trim=trim))
                box = low
        return box, piece

    def _place(self, c: list[Pt], sizes: tuple[float, float, float], given: Dict) -> None:
        length, start, end = (self.unit(size) for size in sizes)
        if self.back:
            c = [c[1], c[0], c[3], c[2]]
            start, end = end, start
        number = len(self.parts) + 1
        self.parts.append(sample.part(number, length, (start, end), **self.material | given))
        self.placed[number] = c

    def _pair(self, box: Box, piece: str, spec: Pair) -> None:
        box, piece = self._down_to(box, piece, *self._size(spec))
        x0, y0, x1, y1 = box
        left, right = y0 + self.unit(spec.narrow), y0 + self.unit(spec.wide)
        marks = sample.both("lower", left - y0, right - y0)
        rails = self._rails(hypot(x1 - x0, right - left))
        self.cuts.append(sample.cut("taper", piece, (x0, left), (x1, right), "left", marks, rails))
        self._letter()
        first, second = spec.given
        self._place([(x0, y0), (x1, y0), (x1, right), (x0, left)],
                    (spec.length, spec.narrow, spec.wide), first)  # fmt: skip
        up = self.kerf
        self._place([(x1, y1), (x0, y1), (x0, left + up), (x1, right + up)],
                    (spec.length, spec.narrow, spec.wide), second)  # fmt: skip


def _corners(box: Box) -> list[Pt]:
    x0, y0, x1, y1 = box
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def leg(side: str, opening: str = "Kiln room", **given: Any) -> Dict:
    """What makes a part a leg: its straight edge faces room A."""
    top, foot = ("start", "end") if side == "left" else ("end", "start")
    marks = {top: "TOP", foot: "floor", "straight": "room A", "far": "room B"}
    return {"id": f"{opening} {side} leg", "role": f"{side} leg", "marks": marks, **given}


def head(opening: str = "Kiln room", **given: Any) -> Dict:
    marks = {"start": "right", "end": "left", "straight": "room A", "far": "room B"}
    return {"id": f"{opening} head", "role": "head", "marks": marks, **given}


def six_parts(rails: tuple[float, ...] = (118, 55), job: str = "Weir Lane pottery") -> CheckedPlan:
    """A 4 x 8: two legs, a head, three shelves, an offcut to keep."""
    shop = Shop(inch, 3 / 32, rails=rails, job=job)
    rest = Row((Item(32, 12.5, head()), Item(34.5, 11.75, {"id": "shelf"}), KEEP))
    shop.sheet(96, 48, 0.25, Stack((
        Item(83.25, 12.875, leg("left")), Item(83.25, 13, leg("right")), rest,
        Row((Item(30, 7.5, {"id": "shelf, window"}), Item(30, 7.5, {"id": "shelf, window 2"}), SCRAP)),
        )), weight=73.6)  # fmt: skip
    return shop.plan()


def tapers() -> CheckedPlan:
    """A 4 x 10 with tapered pairs."""
    shop = Shop(inch, 3 / 32, rails=(118, 55), job="Weir Lane pottery")
    shop.sheet(120, 48, 0.25, Row((
        Stack((
            Pair(83.25, 12.84375, 13.375, (leg("right"), leg("left"))),
            Pair(80.5, 9.5, 9.90625, (leg("right", "Glaze room"), leg("left", "Glaze room"))),
            SCRAP)),
        Stack((Item(31.4375, 13.25, head()), Item(33, 9.75, head("Glaze room")), KEEP)),
        )), weight=92.0, name="birch 4x10")  # fmt: skip
    return shop.plan()


def many_parts(columns: int = 5, rows: int = 8) -> CheckedPlan:
    """A 4 x 8 in rows and columns of parts."""
    shop = Shop(inch, 1 / 8, rails=(118, 55), job="Boathouse lockers")
    wide, high = (95 - columns / 8) / columns, (47 - rows / 8) / rows
    wide, high = int(wide * 32) / 32, int(high * 32) / 32
    stack = tuple(
        Row(tuple(Item(wide, high, {"id": f"locker {chr(65 + j)} side {i + 1}"}) for i in range(columns)))
        for j in range(rows)
    )
    shop.sheet(96, 48, 0.25, Stack(stack), weight=73.6)
    return shop.plan()


def strip() -> CheckedPlan:
    """A long narrow board."""
    shop = Shop(inch, 3 / 32, rails=(118, 55), job="Weir Lane pottery")
    spec = Row((Item(83.25, 7.25, leg("left")), Item(30, 7.25, head()), SCRAP))
    shop.sheet(120, 11.25, 0, spec, name="1x12x10", material="poplar")
    return shop.plan()


def metric_back() -> CheckedPlan:
    """In millimetres, back face up."""
    shop = Shop(mm, 2.2, back=True, job="Ebb Street mill", rails=(3000, 1400))
    shop.sheet(2500, 1250, 6, Stack((
        Pair(2100, 325.5, 337, (leg("right", "Sluice"), leg("left", "Sluice"))),
        Row((Item(820.5, 330, head("Sluice")), Item(500, 400, {"id": "shelf"}, upright=True), KEEP)),
        )), weight=41.0)  # fmt: skip
    return shop.plan()


def square() -> CheckedPlan:
    """A 5 x 5."""
    shop = Shop(inch, 3 / 32, rails=(118, 55), job="Boathouse lockers")
    doors = Row((Item(28, 20, {"id": "door 1"}), Item(28, 20, {"id": "door 2"})))
    shop.sheet(60, 60, 0.25, Stack((doors, Item(50, 12, {"id": "top"}), KEEP)), weight=58.0)
    return shop.plan()


def slats(count: int = 24) -> CheckedPlan:
    """Many strips too narrow for a number."""
    shop = Shop(inch, 1 / 8, rails=(118, 55), job="Boathouse lockers")
    shop.sheet(96, 48, 0.25, Stack(tuple(Item(90, 1.5, {"id": f"slat {k + 1}"}) for k in range(count))),
               weight=73.6)  # fmt: skip
    return shop.plan()


def worst() -> CheckedPlan:
    """Forty parts, names of 60 signs, thirty-seconds everywhere, tapers head to foot, rooms."""
    shop = Shop(inch, 3 / 32, rails=(118, 55), job="W" * 30 + " and the workshop behind it, upstairs")
    names = [f"part {k:02d} of the long wall's panelling, upper row, to the left" for k in range(1, 41)]
    assert {len(name) for name in names} == {60}
    given = [{**leg("right" if k % 2 else "left"), "id": name} for k, name in enumerate(names)]
    pairs = [Pair(46 + 13 / 32, 3 + (2 * k + 1) / 32, 4 + 21 / 32, (given[2 * k], given[2 * k + 1]))
             for k in range(8)]  # fmt: skip
    left = Stack((*pairs[:4], Row(tuple(Item(8 + 29 / 32, 5 + 13 / 32, given[16 + k]) for k in range(5)))))
    right = Stack((*pairs[4:], Row(tuple(Item(8 + 27 / 32, 5 + 11 / 32, given[21 + k]) for k in range(5)))))
    shop.sheet(96, 48, 0.25, Row((left, right)), weight=73.6)
    low = Row(tuple(Item(13 + 5 / 32, 9 + 31 / 32, given[26 + k]) for k in range(7)))
    high = Row(tuple(Item(13 + 7 / 32, 10 + 1 / 32, given[33 + k]) for k in range(7)))
    shop.sheet(96, 48, 0.25, Stack((low, high, KEEP)), weight=73.6)
    return shop.plan()


SAMPLES = sorted((Path(__file__).resolve().parents[2] / "samples").glob("*.yaml"))


def sample_plan(path: Path) -> CheckedPlan:
    """A sample's job as it is planned after a short look."""
    return plan_job(read_job(path), Settings(seconds=4, effort=0))


def random_plan(seed: int) -> CheckedPlan:
    """A sheet cut up at random (as the judge's own tests do)."""
    return checked(Plan.model_validate(cut_up(Random(seed).randint)))
