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
from dataclasses import dataclass

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


def with_rectpack(instance: Instance, seconds: float) -> Record:
    """The cheapest of all guillotine heuristics, sort orders and orders of the sizes."""
    end = time.monotonic() + seconds
    rects, best = rects_of(instance), None
    turning = all(rect.turns for rect in rects)
    for algorithm, sort, order in itertools.product(GUILLOTINE, SORTS, list(stocks(instance))):
        found = _pack(instance, rects, order, (algorithm, sort, turning))
        if found is not None and (best is None or found < best):
            best = found
        if time.monotonic() > end:
            break
    return _cost(best)


def _pack(instance: Instance, rects: list[Rect], order: list[int],
          how: tuple[type, Callable[..., object], bool]) -> tuple[int, int] | None:  # fmt: skip
    algorithm, sort, turning = how
    packer = rectpack.newPacker(pack_algo=algorithm, sort_algo=sort, rotation=turning)
    for rect in rects:
        packer.add_rect(rect.length, rect.width)
    for s in order:
        size = instance.sizes[s]
        packer.add_bin(*room(instance, size), count=len(rects) if size.count is None else size.count, bid=s)
    packer.pack()
    if len(packer.rect_list()) < len(rects):
        return None
    return sum(instance.sizes[sheet.bid].price for sheet in packer), len(packer)


def _cost(best: tuple[int, int] | None) -> Record:
    return {"cost": None} if best is None else {"cost": best[0], "sheets": best[1]}


def by_hand(instance: Instance, seconds: float) -> Record:
    """First-fit decreasing rips: full-length strips, the widest parts first, each strip filled along."""
    del seconds  # no time at all
    plans = (_rips(instance, order) for order in stocks(instance))
    return _cost(min((plan for plan in plans if plan), default=None))


def _rips(instance: Instance, order: list[int]) -> tuple[int, int] | None:
    left = [instance.sizes[s].count for s in order]
    sheets: list[tuple[int, int]] = []  # size, width left
    strips: list[list[int]] = []  # sheet, width, length left
    for rect in sorted(rects_of(instance), key=lambda r: (-min(_sides(r)), -max(_sides(r)))):
        if not _into_strip(strips, rect) and not _new_strip(instance, sheets, strips, rect):
            for at, s in enumerate(order):
                size = instance.sizes[s]
                if left[at] != 0 and _lying(rect, *room(instance, size)):
                    left[at] = None if left[at] is None else left[at] - 1
                    sheets.append((s, room(instance, size)[1]))
                    break
            else:
                return None
            _new_strip(instance, sheets, strips, rect)
    return sum(instance.sizes[s].price for s, _ in sheets), len(sheets)


def _sides(rect: Rect) -> tuple[int, int]:
    """Length along and width across the sheet, the long side along where it may turn."""
    sides = rect.length, rect.width
    return (max(sides), min(sides)) if rect.turns else sides


def _lying(rect: Rect, length: int, width: int) -> tuple[int, int] | None:
    """The first way to lie that fits."""
    a, b = _sides(rect)
    ways = ((a, b), (b, a)) if rect.turns else ((a, b),)
    return next((way for way in ways if way[0] <= length and way[1] <= width), None)


def _into_strip(strips: list[list[int]], rect: Rect) -> bool:
    for strip in strips:
        if lying := _lying(rect, strip[2], strip[1]):
            strip[2] -= lying[0]
            return True
    return False


def _new_strip(
    instance: Instance, sheets: list[tuple[int, int]], strips: list[list[int]], rect: Rect
) -> bool:
    for index, (s, width) in enumerate(sheets):
        length = room(instance, instance.sizes[s])[0]
        if lying := _lying(rect, length, width):
            strips.append([index, lying[1], length - lying[0]])
            sheets[index] = (s, width - lying[1])
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
