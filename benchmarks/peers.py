"""What a carpenter could use instead, on the same jobs: rectangles only, the kerf added to all sides.

A tapered part counts as the rectangle that holds it. None of the peers knows rails, so that where rails
bind a peer may come out with less than any plan that can be cut; and the plain model need not cut edge
to edge, which :func:`cuttable` finds out.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import rectpack
from ortools.sat.python import cp_model

from benchmarks.cases import Case, Record
from nesting.packing.instance import Instance, Size

MOST_PLACES = 30_000  # parts times sheets: beyond, the plain model is not even built in time
SORTS = (rectpack.SORT_AREA, rectpack.SORT_PERI, rectpack.SORT_SSIDE, rectpack.SORT_LSIDE)
GUILLOTINE = [getattr(rectpack, name) for name in sorted(dir(rectpack))
              if name.startswith("Guillotine") and len(name) > len("GuillotineXxx")]  # fmt: skip
Box = tuple[int, int, int, int]  # x0, y0, x1, y1


@dataclass(frozen=True, slots=True)
class Rect:
    """A part with its kerfs as a rectangle; ``turns`` if it may lie either way."""

    length: int
    width: int
    turns: bool


def rects_of(instance: Instance) -> list[Rect]:
    """One rectangle for each part, lying as its grain asks."""
    found = []
    for item in instance.items:
        length, *widths = item.frame
        sides = length + instance.saw.kerf, max(widths) + instance.saw.kerf
        lying = sides[::-1] if item.grain == "across" else sides
        found += [Rect(*lying, item.grain == "any")] * item.count
    return found


def room(instance: Instance, size: Size) -> tuple[int, int]:
    """A sheet inside its trims, and one kerf more each way."""
    return tuple(side + instance.saw.kerf for side in size.usable)  # type: ignore[return-value]


def stocks(instance: Instance) -> Iterator[list[int]]:
    """Orders in which to take sheets: what costs nothing, then one size, then the others by price."""
    sizes = instance.sizes
    free = [s for s, size in enumerate(sizes) if size.price == 0]
    dear = sorted(set(range(len(sizes))) - set(free),
                  key=lambda s: sizes[s].price / math.prod(sizes[s].usable))  # fmt: skip
    for first in dear or free[:1]:
        yield [*free, *dict.fromkeys([first, *dear])]


Sheets = list[tuple[int, list[Rect]]]  # of each sheet its size and what lies on it


def slim(instance: Instance, sheets: Sheets | None, alone: Callable[[int, list[Rect]], bool]) -> Record:
    """The cost, each sheet exchanged for the cheapest size that its parts go on too."""
    if sheets is None:
        return {"cost": None}
    used = [s for s, _ in sheets]
    for at, (_, rects) in enumerate(sheets):
        for s in sorted(range(len(instance.sizes)), key=lambda s: instance.sizes[s].price):
            size = instance.sizes[s]
            if size.price >= instance.sizes[used[at]].price:
                break
            if (size.count is None or used.count(s) < size.count) and alone(s, rects):
                used[at] = s
    return {"cost": sum(instance.sizes[s].price for s in used), "sheets": len(used)}


def _price(instance: Instance, sheets: Sheets) -> int:
    return sum(instance.sizes[s].price for s, _ in sheets)


def with_rectpack(instance: Instance, seconds: float) -> Record:
    """The cheapest of all guillotine heuristics, sort orders and orders of the sizes."""
    end = time.monotonic() + seconds
    rects = rects_of(instance)
    best: Sheets | None = None
    for algorithm, sort, order in itertools.product(GUILLOTINE, SORTS, list(stocks(instance))):
        found = _pack(instance, rects, order, algorithm, sort)
        if found is not None and (best is None or _price(instance, found) < _price(instance, best)):
            best = found
        if time.monotonic() > end:
            break

    def alone(s: int, some: list[Rect]) -> bool:
        one = replace(instance, sizes=(replace(instance.sizes[s], count=1),))
        return any(_pack(one, some, [0], algorithm, SORTS[0]) for algorithm in GUILLOTINE)

    return slim(instance, best, alone)


def _pack(instance: Instance, rects: list[Rect], order: list[int], algorithm: type,
          sort: Callable[..., object]) -> Sheets | None:  # fmt: skip
    turning = all(rect.turns for rect in rects)
    packer = rectpack.newPacker(pack_algo=algorithm, sort_algo=sort, rotation=turning)
    for index, rect in enumerate(rects):
        packer.add_rect(rect.length, rect.width, index)
    for s in order:
        size = instance.sizes[s]
        packer.add_bin(*room(instance, size), count=len(rects) if size.count is None else size.count, bid=s)
    packer.pack()
    placed = packer.rect_list()
    if len(placed) < len(rects):
        return None
    on: Sheets = [(sheet.bid, []) for sheet in packer]
    for at, *_, index in placed:
        on[at][1].append(rects[index])
    return on


def by_hand(instance: Instance, seconds: float) -> Record:
    """First-fit decreasing rips: full-length strips, the widest parts first, each strip filled along."""
    del seconds  # no time at all
    plans = (_rips(instance, rects_of(instance), order) for order in stocks(instance))
    best = min((plan for plan in plans if plan), key=lambda plan: _price(instance, plan), default=None)

    def alone(s: int, some: list[Rect]) -> bool:
        one = replace(instance, sizes=(replace(instance.sizes[s], count=1),))
        return _rips(one, some, [0]) is not None

    return slim(instance, best, alone)


def _rips(instance: Instance, rects: list[Rect], order: list[int]) -> Sheets | None:
    left = [instance.sizes[s].count for s in order]
    sheets: Sheets = []
    widths: list[int] = []  # left across each sheet
    strips: list[list[int]] = []  # sheet, width, length left
    for rect in sorted(rects, key=lambda r: (-min(_sides(r)), -max(_sides(r)))):
        at = _into_strip(strips, rect)
        at = _new_strip(instance, sheets, widths, strips, rect) if at is None else at
        if at is None:
            if not _new_sheet(instance, order, left, sheets, widths, rect):
                return None
            at = _new_strip(instance, sheets, widths, strips, rect)
        assert at is not None
        sheets[at][1].append(rect)
    return sheets


def _sides(rect: Rect) -> tuple[int, int]:
    """Length along and width across the sheet, the long side along where it may turn."""
    sides = rect.length, rect.width
    return (max(sides), min(sides)) if rect.turns else sides


def _lying(rect: Rect, length: int, width: int) -> tuple[int, int] | None:
    """The first way to lie that fits."""
    a, b = _sides(rect)
    ways = ((a, b), (b, a)) if rect.turns else ((a, b),)
    return next((way for way in ways if way[0] <= length and way[1] <= width), None)


def _into_strip(strips: list[list[int]], rect: Rect) -> int | None:
    """The sheet of the first strip with room for it."""
    for strip in strips:
        if lying := _lying(rect, strip[2], strip[1]):
            strip[2] -= lying[0]
            return strip[0]
    return None


def _new_strip(instance: Instance, sheets: Sheets, widths: list[int], strips: list[list[int]],
               rect: Rect) -> int | None:  # fmt: skip
    """The first sheet with room for a strip of it."""
    for at, (s, _) in enumerate(sheets):
        length = room(instance, instance.sizes[s])[0]
        if lying := _lying(rect, length, widths[at]):
            strips.append([at, lying[1], length - lying[0]])
            widths[at] -= lying[1]
            return at
    return None


def _new_sheet(instance: Instance, order: list[int], left: list[int | None], sheets: Sheets,
               widths: list[int], rect: Rect) -> bool:  # fmt: skip
    """Open the first size, of those to be had, that takes it."""
    for at, s in enumerate(order):
        length, width = room(instance, instance.sizes[s])
        count = left[at]
        if count != 0 and _lying(rect, length, width):
            left[at] = None if count is None else count - 1
            sheets.append((s, []))
            widths.append(width)
            return True
    return False


class PlainModel:
    """CP-SAT with one no-overlap constraint for each sheet, and nothing else to help it."""

    def __init__(self, instance: Instance, most: int) -> None:
        self.instance = instance
        self.rects = rects_of(instance)
        self.sheets = [s for s in range(len(instance.sizes)) for _ in range(self._limit(s, most))]
        self.model = cp_model.CpModel()
        self.too_large = len(self.rects) * len(self.sheets) > MOST_PLACES
        if self.too_large:
            return
        self.used = [self.model.new_bool_var(f"used_{at}") for at in range(len(self.sheets))]
        self.places: list[list[tuple[cp_model.IntVar, cp_model.IntVar, cp_model.IntVar, Rect]]] = []
        on: list[list[cp_model.IntVar]] = [[] for _ in self.rects]
        for at, s in enumerate(self.sheets):
            self._fill(at, *room(instance, instance.sizes[s]), on)
        for ways in on:
            self.model.add_exactly_one(ways)
        prices = [instance.sizes[s].price for s in self.sheets]
        self.model.minimize(sum(price * used for price, used in zip(prices, self.used, strict=True)))

    def _limit(self, s: int, most: int) -> int:
        size = self.instance.sizes[s]
        limit = len(self.rects) if size.price == 0 else min(len(self.rects), most // size.price)
        return limit if size.count is None else min(limit, size.count)

    def _fill(self, at: int, length: int, width: int, on: list[list[cp_model.IntVar]]) -> None:
        along, across, places = [], [], []
        for index, rect in enumerate(self.rects):
            for lying in {(rect.length, rect.width), (rect.length, rect.width)[:: -1 if rect.turns else 1]}:
                a, b = lying
                if a > length or b > width:
                    continue
                here = self.model.new_bool_var(f"part_{index}_on_{at}")
                x, y = (self.model.new_int_var(0, free, "") for free in (length - a, width - b))
                along.append(self.model.new_optional_fixed_size_interval_var(x, a, here, ""))
                across.append(self.model.new_optional_fixed_size_interval_var(y, b, here, ""))
                self.model.add_implication(here, self.used[at])
                on[index].append(here)
                places.append((here, x, y, Rect(a, b, False)))
        self.model.add_no_overlap_2d(along, across)
        self.places.append(places)

    def solve(self, seconds: float) -> Record:
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.num_workers = 2
        status = solver.solve(self.model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return {"cost": None}
        boxes = [
            [(solver.value(x), solver.value(y), solver.value(x) + r.length, solver.value(y) + r.width)
             for here, x, y, r in places if solver.value(here)]
            for places in self.places
        ]  # fmt: skip
        return {
            "cost": round(solver.objective_value),
            "sheets": sum(map(bool, boxes)),
            "proved": status == cp_model.OPTIMAL,
            "cuttable": all(map(cuttable, boxes)),
        }


def with_plain_model(instance: Instance, seconds: float) -> Record:
    """The plain model, with as many sheets as the plan made by hand pays for."""
    begun = time.monotonic()
    hand = by_hand(instance, seconds)["cost"]
    most = hand if hand is not None else sum(s.price * (s.count or instance.total) for s in instance.sizes)
    model = PlainModel(instance, most)
    if model.too_large:
        return {"cost": None, "note": "too large"}
    return model.solve(max(0.1, seconds - (time.monotonic() - begun)))


def cuttable(boxes: Sequence[Box]) -> bool:
    """Whether rectangles can be parted by cuts that go from edge to edge."""
    if len(boxes) <= 1:
        return True
    for low, high in ((0, 2), (1, 3)):
        ordered = sorted(boxes, key=lambda box: box[low])
        reach = itertools.accumulate((box[high] for box in ordered), max)
        for at, end in enumerate(itertools.islice(reach, len(ordered) - 1), 1):
            if end <= ordered[at][low]:
                return cuttable(ordered[:at]) and cuttable(ordered[at:])
    return False


PEERS: dict[str, Callable[[Instance, float], Record]] = {
    "rectpack": with_rectpack,
    "plain CP-SAT": with_plain_model,
    "rips by hand": by_hand,
}


def peer(name: str, case: Case) -> Record:
    """One peer on all materials of a case."""
    begun = time.monotonic()
    _, _, problems = case.problems()
    total = sum(one.instance.total for one in problems)
    records = [PEERS[name](one.instance, case.seconds * one.instance.total / total) for one in problems]
    costs = [record["cost"] for record in records]
    whole: Record = {
        "cost": None if None in costs else sum(costs),
        "seconds": round(time.monotonic() - begun, 2),
    }
    if None not in costs:
        whole["sheets"] = sum(record["sheets"] for record in records)
    if not all(record.get("cuttable", True) for record in records):
        whole["cuttable"] = False
    return whole | {key: record[key] for record in records for key in ("note",) if key in record}
