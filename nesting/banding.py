"""Edge banding by the strip: what each banded edge takes, and out of which rolls.

A strip is cut an inch (25 mm) longer than its edge. Iron-on band comes off rolls: a strip is never pieced
where a roll is long enough, and a tenth of each roll is kept free so that the maker's splices can be dodged.
Which rolls to buy is found exactly: sets of rolls are gone through from the cheapest up (without prices from
the shortest, of these the fewest rolls), and the first into which the strips can be sorted is the answer.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from nesting.lengths import FOOT, INCH, MM, Units, with_unit
from nesting.plan import BandingRecord, BandRoll, BandStrip, DefaultRecord, Edge, PlanPart, band_name
from nesting.stock import Roll

STRIP_OVER = {Units.INCH: INCH, Units.MM: 25 * MM}
"""A strip is cut longer than its edge by this (a woodworker's magazine)."""
ROLL_FEET = (25, 50, 250)
"""Rolls in trade (a furniture maker's site and an edge banding guide: 25 to 250 ft)."""
ROLLS = tuple(Roll(feet * FOOT) for feet in ROLL_FEET)
ALLOWANCE = 10
"""One part in so many of a length is had more, to dodge splices (common practice, no source)."""
MOST_SETS = 5_000
MOST_STEPS = 200_000  # of sorting in all, and then only once through the strips of each set
MOST_A_SET = 5_000
MOST_STRIPS = 400  # of one band; beyond, no set is looked for
EDGES: tuple[Edge, ...] = ("straight", "end", "far", "start")


@dataclass(frozen=True, slots=True)
class Sorted:
    """Rolls by their place in what is offered, and for each strip the place of its roll among them."""

    rolls: tuple[int, ...]
    homes: tuple[int, ...]
    least: bool


def room(roll: Roll) -> int:
    """What a roll gives in strips: with a tenth of theirs more it is used up."""
    return roll.length * ALLOWANCE // (ALLOWANCE + 1)


def sort_out(strips: Sequence[int], offered: Sequence[Roll]) -> Sorted:
    """Choose rolls and sort strips into them, each whole out of one; every strip fits the longest roll.

    Returns
    -------
    Sorted
        ``least`` says that no cheaper set of rolls (without prices: no shorter one) holds them.
    """
    order = sorted(range(len(strips)), key=lambda index: -strips[index])
    longest_first = [strips[index] for index in order]
    least, steps = True, 0
    for chosen in _sets(offered, sum(strips)) if len(strips) <= MOST_STRIPS else ():
        most = MOST_A_SET if steps < MOST_STEPS else 0
        packing = _Packing(longest_first, [room(offered[index]) for index in chosen], len(strips) + most)
        if packing.put(0):
            back = dict(zip(order, packing.homes, strict=True))
            return Sorted(chosen, tuple(back[index] for index in range(len(strips))), least)
        steps += packing.steps
        least = least and packing.steps <= packing.most
    return _one_by_one(strips, offered)


def _sets(offered: Sequence[Roll], total: int) -> Iterator[tuple[int, ...]]:
    """Sets of rolls that hold so much in all, from the cheapest up; large rolls first within a set."""
    falling = sorted(range(len(offered)), key=lambda index: -offered[index].length)
    heap: list[tuple[int, int, int, int, tuple[int, ...]]] = [(0, 0, 0, 0, ())]
    for _ in range(MOST_SETS):
        cost, length, number, held, chosen = heapq.heappop(heap)
        if held >= total:
            yield tuple(falling[place] for place in chosen)
        for place in range(chosen[-1] if chosen else 0, len(falling)):
            roll = offered[falling[place]]
            longer = length + roll.length
            price = longer if roll.price is None else cost + roll.price
            heapq.heappush(heap, (price, longer, number + 1, held + room(roll), (*chosen, place)))


class _Packing:
    """Puts falling strips into rolls, all ways tried; steps beyond ``most`` say that it gave up."""

    def __init__(self, strips: Sequence[int], rooms: Sequence[int], most: int) -> None:
        self.strips, self.left, self.most = strips, list(rooms), most
        self.homes = [0] * len(strips)
        self.steps = 0
        self.ahead = [sum(strips[index:]) for index in range(len(strips) + 1)]

    def put(self, index: int) -> bool:
        """Put the strips from this one on; True when all have their place."""
        if index == len(self.strips):
            return True
        self.steps += 1
        need, least = self.strips[index], self.strips[-1]
        if self.steps > self.most or self.ahead[index] > sum(free for free in self.left if free >= least):
            return False
        tried = set()
        alike = index > 0 and self.strips[index - 1] == need  # so their order does not matter
        for place in range(self.homes[index - 1] if alike else 0, len(self.left)):
            free = self.left[place]
            if free < need or free in tried:
                continue
            tried.add(free)
            self.left[place], self.homes[index] = free - need, place
            if self.put(index + 1):
                return True
            self.left[place] = free
        return False


def _one_by_one(strips: Sequence[int], offered: Sequence[Roll]) -> Sorted:
    """Where there are too many sets to go through: the longest strips first, each where it still fits."""
    best = max(range(len(offered)), key=lambda index: (room(offered[index]), -index))
    left: list[int] = []
    homes = [0] * len(strips)
    for index in sorted(range(len(strips)), key=lambda index: -strips[index]):
        place = next((k for k, free in enumerate(left) if free >= strips[index]), len(left))
        if place == len(left):
            left.append(room(offered[best]))
        left[place] -= strips[index]
        homes[index] = place
    return Sorted((best,) * len(left), tuple(homes), False)


def edge_length(part: PlanPart, edge: Edge) -> int:
    """Along an edge of a part, nearest."""
    c0, c1, c2, c3 = part.outline
    a, b = {"straight": (c0, c1), "end": (c1, c2), "far": (c2, c3), "start": (c3, c0)}[edge]
    return round(math.dist(a, b))


def band_list(parts: Sequence[PlanPart], units: Units, rolls: Sequence[Roll] = ()) -> BandingRecord | None:
    """List the strips of all banded edges and the rolls to buy; None where nothing is banded."""
    made = _Listing(units, rolls or ROLLS)
    groups: dict[tuple[str, str], list[PlanPart]] = {}
    for part in parts:
        if part.band:
            groups.setdefault((band_name(part, units), part.band_kind), []).append(part)
    for (name, kind), banded in groups.items():
        made.add(name, kind, banded)
    return made.record() if groups else None


def banding_defaults(
    listed: BandingRecord | None, units: Units, rolls: Sequence[Roll]
) -> list[DefaultRecord]:
    """What was taken for the band list that the job does not say, or cannot."""
    if listed is None:
        return []
    found = [DefaultRecord(key="band, over each edge", value=with_unit(listed.over, units),
                           source="an inch longer than the edge (a woodworker's magazine)")]  # fmt: skip
    if any(strip.kind == "iron-on" for strip in listed.strips):
        found.append(DefaultRecord(key="band, kept free on a roll", value="a tenth of its strips",
                                   source="to dodge splices; common practice, no source"))  # fmt: skip
        if not rolls:
            feet = ", ".join(map(str, ROLL_FEET))
            found.append(DefaultRecord(key="rolls", value=f"{feet} ft", source=(
                "25 to 250 ft (a furniture maker's site, an edge banding guide); 50: from memory")))
    return found


@dataclass(frozen=True, slots=True)
class _Piece:
    """A strip, or one piece of a strip that no roll gives whole."""

    strip: int
    length: int


class _Listing:
    def __init__(self, units: Units, rolls: Sequence[Roll]) -> None:
        self.units, self.offered = units, rolls
        self.strips: list[BandStrip] = []
        self.rolls: list[BandRoll] = []
        self.remarks: list[str] = []
        self.least = True

    def add(self, name: str, kind: str, parts: Sequence[PlanPart]) -> None:
        over = STRIP_OVER[self.units]
        strips = [
            BandStrip(part=part.number, edge=edge, band=name, length=edge_length(part, edge) + over,
                      kind="lipping" if kind == "lipping" else "iron-on")
            for part in parts for edge in EDGES if edge in part.band
        ]  # fmt: skip
        if kind == "lipping":
            self.strips += strips
        else:
            self._from_rolls(name, parts, strips)

    def _from_rolls(self, name: str, parts: Sequence[PlanPart], strips: list[BandStrip]) -> None:
        thick = max(part.thickness for part in parts)
        fit = [roll for roll in self.offered if roll.material in ("", parts[0].material)
               and (not roll.width or roll.width >= thick)]  # fmt: skip
        if not fit:
            self.remarks.append(f"{name}: no roll is for this material and as wide as its edge, "
                                f"{with_unit(thick, self.units)}; {len(strips)} strips are without a roll")
            self.strips += strips
            return
        pieces = [piece for index, strip in enumerate(strips) for piece in self._pieces(index, strip, fit)]
        found = sort_out([piece.length for piece in pieces], fit)
        self.least = self.least and found.least
        first = len(self.rolls) + 1
        homes: dict[int, list[int]] = {}
        for piece, home in zip(pieces, found.homes, strict=True):
            homes.setdefault(piece.strip, []).append(first + home)
        self.strips += [strip.model_copy(update={"rolls": tuple(homes[index])})
                        for index, strip in enumerate(strips)]  # fmt: skip
        for place, index in enumerate(found.rolls):
            used = sum(p.length for p, home in zip(pieces, found.homes, strict=True) if home == place)
            self.rolls.append(_roll(first + place, name, fit[index], used))

    def _pieces(self, index: int, strip: BandStrip, rolls: Sequence[Roll]) -> Iterator[_Piece]:
        """The strip whole, or as few pieces as the rolls allow, lapped by as much again at each splice."""
        most, left, number = max(map(room, rolls)), strip.length, 1
        while left > most:
            yield _Piece(index, most)
            left += STRIP_OVER[self.units] - most
            number += 1
        yield _Piece(index, left)
        if number > 1:
            splices = "a splice" if number == 2 else f"{number - 1} splices"
            self.remarks.append(f"piece {strip.part}, {strip.edge} edge: its strip is longer than any roll "
                                f"gives, so {splices} cannot be helped; put it where it is seen least")

    def record(self) -> BandingRecord:
        priced = [roll.price for roll in self.rolls if roll.price is not None]
        return BandingRecord(
            over=STRIP_OVER[self.units],
            strips=tuple(self.strips),
            rolls=tuple(self.rolls),
            cost=round(sum(priced), 2) if priced else None,
            least=self.least,
            remarks=tuple(self.remarks),
        )


def _roll(number: int, name: str, roll: Roll, used: int) -> BandRoll:
    price = None if roll.price is None else roll.price / 100
    return BandRoll(number=number, band=name, length=roll.length, width=roll.width, price=price, used=used)
