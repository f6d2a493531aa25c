"""Which opening comes out of which material: the cheapest choice, and a bound on all the others.

The materials are solved apart, so a choice costs the sum of what its materials cost. Two things bound that
from below, and are cheap: weights, which add up over the openings (:mod:`nesting.work.weights`), and what a
look at some set of openings has shown, which holds for every larger set as well, since parts more never
cost less. Choices are gone through in the order of their bounds, as in a logic-based Benders decomposition
(Hooker and Ottosson 2003): the lowest is looked at with the engine, what that shows raises the bounds of
others, and when the lowest bound is no lower than the best cost, no other choice is cheaper.
"""

from __future__ import annotations

import heapq
import math
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import count

from nesting.errors import Fault, JobError
from nesting.job.job import Job
from nesting.packing.instance import Instance, Item, Settings
from nesting.packing.solve import solve
from nesting.stock import Stock
from nesting.work.problem import problem
from nesting.work.wanted import Fits, Wanted, entry_name
from nesting.work.weights import weighings

LOOK_SHARE = 0.4  # of the seconds, for looking at choices
OTHERS_SHARE = 0.5  # of the seconds, until which what each other material would have cost is looked at
LOOK_MOST = (1 / 16, 1 / 16, 1 / 4)  # of the seconds, for one look: quick, longer, in earnest
LOOK_EFFORT = (0, 1 / 32, 1)  # of the tries
MOST_LOOKS = 300
MOST_NODES = 3_000
NEVER = 2**62
Counts = tuple[int, ...]  # how many openings of each kind
Split = tuple[Counts, ...]  # the same by material


@dataclass(frozen=True, slots=True)
class Look:
    """What the engine said of a set of openings in one material, money in hundredths."""

    cost: float
    bound: int
    level: int


@dataclass(frozen=True, slots=True)
class Other:
    """One material of an opening: what the whole job comes to if this opening alone is of it.

    ``cost`` is None where it was not looked at, or there is none, and then ``why`` says so; hundredths.
    """

    material: str
    taken: bool
    cost: int | None = None
    bound: int | None = None
    why: str = ""


@dataclass(frozen=True, slots=True)
class Chosen:
    """The parts in the materials taken.

    Attributes
    ----------
    floor : int or None
        No choice not taken costs less, in hundredths; None where there was none. As the others' figures it
        is of the materials that could be chosen alone: what comes out of the rest comes on top.
    others : dict
        By opening's name, what each of its materials would come to.
    rest : tuple of str
        Materials that no opening could choose.
    stopped : str
        ``time`` or ``interrupt`` where that ended the looking; else empty.
    """

    want: Wanted
    floor: int | None
    others: dict[str, tuple[Other, ...]]
    stopped: str = ""
    rest: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Kind:
    """Openings that come to the same parts in every material: by index, with the materials they may take."""

    openings: tuple[int, ...]
    materials: tuple[str, ...]
    items: dict[str, tuple[Item, ...]]


class Choosing:
    """Looks for the cheapest choice of materials within the seconds."""

    def __init__(self, job: Job, stock: tuple[Stock, ...], settings: Settings) -> None:
        self.job, self.stock, self.settings = job, stock, settings
        self.begun = time.monotonic()
        self.fits = Fits(job)
        self.why: dict[tuple[int, str], str] = {}
        self.stopped = ""
        self.looks: dict[tuple[str, Counts], Look] = {}
        self.looked = 0
        self.kinds = self._kinds()
        self.materials = tuple(dict.fromkeys(m for kind in self.kinds for m in kind.materials))
        self.rest = tuple(m for m in job.materials if m not in self.materials)
        self.lines = {material: self._lines(material) for material in self.materials}

    def choose(self) -> Chosen:
        """Look, take the cheapest, and say what the others would have cost.

        Raises
        ------
        JobError
            If an opening comes out of none of its materials.
        """
        if not self.kinds:
            return Chosen(self.fits.wanted(), None, {})
        best, cost = self._search()
        best, cost, others = self._others(best, cost)
        want = self.fits.wanted(self._names(best))
        return Chosen(want, self._floor(best), others, self.stopped, self.rest)

    # -- the openings, and which of them are alike

    def _kinds(self) -> list[Kind]:
        alike: dict[tuple[tuple[str, tuple[Item, ...]], ...], list[int]] = {}
        faults: list[Fault] = []
        for index, opening in enumerate(self.job.openings):
            if len(opening.material) > 1:
                made = [(m, items) for m in opening.material if (items := self._items(index, m)) is not None]
                if not made:
                    faults += self._no_material(index)
                alike.setdefault(tuple(made), []).append(index)
        if faults:
            raise JobError(list(dict.fromkeys(faults)))
        return [Kind(tuple(of), tuple(m for m, _ in made), dict(made)) for made, of in alike.items()]

    def _items(self, index: int, material: str) -> tuple[Item, ...] | None:
        """The pieces of an opening, one by one; None where they cannot be made of this material."""
        try:
            alone = self._alone(index, material)
        except JobError as error:
            what = error.faults[0].what.removeprefix(entry_name(self.job, index))
            self.why[index, material] = f"{what}: {error.faults[0].right}"
            return None
        return tuple(replace(item, count=1) for item in alone.items for _ in range(item.count))

    def _alone(self, index: int, material: str) -> Instance:
        fit = self.fits.fit(index, material)
        where = (self.job.where("openings", index),) * len(fit.parts)
        want = Wanted(fit.parts, where, ((self.job.openings[index], material, fit),))
        return problem(self.job, material, want, self.stock).instance

    def _no_material(self, index: int) -> list[Fault]:
        faults: list[Fault] = []
        for material in self.job.openings[index].material:
            try:
                self._alone(index, material)
            except JobError as error:
                faults += error.faults
        return faults

    # -- bounds

    def _lines(self, material: str) -> list[tuple[int, tuple[int, ...]]]:
        """Every way to weigh: what is there anyhow, and what each kind adds; rounded down, in thousandths
        of a hundredth."""
        always = self._want(material, (0,) * len(self.kinds))
        base = problem(self.job, material, always, self.stock).instance if always.parts else None
        added = [kind.items.get(material, ()) for kind in self.kinds]
        items = tuple(dict.fromkeys(replace(item, count=1) for item in (
            *(base.items if base else ()), *(item for one in added for item in one))))  # fmt: skip
        index = next(k.openings[0] for k in self.kinds if material in k.materials)
        lines = set()
        for way in weighings(replace(self._alone(index, material), items=items)):
            first = sum(way.weight[replace(i, count=1)] * i.count for i in base.items) if base else 0
            each = (int(1000 * sum(way.weight[item] for item in one)) for one in added)
            lines.add((math.floor(1000 * (first - way.saved)), tuple(each)))
        full = tuple(len(kind.openings) for kind in self.kinds)
        return sorted(lines, key=lambda line: -self._line(line, full))

    @staticmethod
    def _line(line: tuple[int, tuple[int, ...]], counts: Counts) -> int:
        return line[0] + sum(c * w for c, w in zip(counts, line[1], strict=True))

    def _bound(self, material: str, counts: Counts) -> int:
        """No plan for so many openings in this material costs less."""
        bound = max((self._line(line, counts) for line in self.lines[material]), default=0) // 1000
        for (of, fewer), look in self.looks.items():
            if of == material and all(a <= b for a, b in zip(fewer, counts, strict=True)):
                bound = max(bound, look.bound)
        return max(0, bound)

    def _leaves(self) -> Iterator[tuple[int, Split | None]]:
        """All choices from the lowest bound up; at the end None with a bound on all that were left out."""
        order = [k for k, kind in enumerate(self.kinds) for _ in kind.openings]
        none = 0, (0,) * len(self.kinds)
        first = tuple(self.lines[m][0] if self.lines[m] else none for m in self.materials)
        least = [min(max(0, first[self.materials.index(m)][1][k]) for m in kind.materials)
                 for k, kind in enumerate(self.kinds)]  # fmt: skip
        ahead = [sum(least[k] for k in order[at:]) for at in range(len(order) + 1)]
        ticket = count()
        nothing: Split = ((0,) * len(self.kinds),) * len(self.materials)
        heap: list[tuple[int, int, int, int, Split]] = [(0, 0, next(ticket), 0, nothing)]
        for _ in range(MOST_NODES):
            if not heap:
                return
            bound, depth, _, last, split = heapq.heappop(heap)
            if -depth == len(order):
                yield bound, split
                continue
            at = -depth
            k = order[at]
            from_one = last if at and order[at - 1] == k else 0  # alike, so their order does not matter
            for j in range(from_one, len(self.materials)):
                if self.materials[j] not in self.kinds[k].materials:
                    continue
                more = _with(split, j, k)
                known = sum(self._bound(m, c) for m, c in zip(self.materials, more, strict=True))
                straight = sum(map(self._line, first, more)) + ahead[at + 1]
                heapq.heappush(heap, (max(known, straight // 1000, bound), depth - 1, next(ticket), j, more))
        if heap:
            yield heap[0][0], None

    def _floor(self, taken: Split) -> int | None:
        """The lowest bound of a choice that was not taken."""
        return next((bound for bound, split in self._leaves() if split != taken), None)

    # -- looks

    def _want(self, material: str, counts: Counts) -> Wanted:
        return self.fits.wanted(self._given(material, counts), only=material)

    def _given(self, material: str, counts: Counts) -> dict[str, str]:
        """The first so many openings of each kind in the material, all others that may choose in none."""
        choice = {}
        for kind, number in zip(self.kinds, counts, strict=True):
            for place, index in enumerate(kind.openings):
                choice[self.job.openings[index].name] = material if place < number else ""
        return choice

    def _left(self, share: float) -> float:
        return self.settings.seconds * share - (time.monotonic() - self.begun)

    def _look(self, material: str, counts: Counts, level: int, share: float = LOOK_SHARE) -> Look | None:
        """Ask the engine, once for each level; None where there is no time."""
        known = self.looks.get((material, counts))
        if known and known.level >= level:
            return known
        want = self._want(material, counts)
        if not want.parts:
            found = Look(0, 0, NEVER)
        elif self.stopped == "interrupt" or self.looked >= MOST_LOOKS:
            return None
        elif (left := self._left(share)) <= 0:
            self.stopped = self.stopped or "time"
            return None
        else:
            found = self._ask(material, want, level, left)
        if known:
            found = Look(min(found.cost, known.cost), max(found.bound, known.bound), level)
        self.looks[material, counts] = found
        return found

    def _ask(self, material: str, want: Wanted, level: int, left: float) -> Look:
        self.looked += 1
        try:
            asked = problem(self.job, material, want, self.stock).instance
        except JobError:
            return Look(math.inf, NEVER, NEVER)
        effort = int(self.settings.effort * LOOK_EFFORT[level])
        seconds = min(left, self.settings.seconds * LOOK_MOST[level])
        result = solve(asked, Settings(seconds, self.settings.seed, effort, polish=False))
        if result.stopped == "interrupt":
            self.stopped = "interrupt"
        if result.impossible:
            return Look(math.inf, NEVER, NEVER)
        cost = result.cost if result.layouts else math.inf
        return Look(cost, result.bound, NEVER if result.proved else level)

    def _cost(self, split: Split, level: int, share: float = LOOK_SHARE) -> float | None:
        """What a choice costs at a look; None where there is no time for it."""
        total = 0.0
        for material, counts in zip(self.materials, split, strict=True):
            look = self._look(material, counts, level, share)
            if look is None:
                return None
            total += look.cost
        return total

    def _level(self, split: Split) -> int:
        known = [self.looks.get((m, c)) for m, c in zip(self.materials, split, strict=True)]
        return min(look.level if look else -1 for look in known)

    # -- the search

    def _search(self) -> tuple[Split, float]:
        """The cheapest choice found; the first that is looked at is the one with the lowest bound."""
        best: Split | None = None
        cost = math.inf
        while True:
            open_ones = self._open(cost)
            if not open_ones:
                break
            level, split = open_ones
            best = best or split
            found = self._cost(split, level + 1)
            if found is None:
                break
            if found < cost:
                best, cost = split, found
        return best or next(split for _, split in self._leaves() if split), cost

    def _open(self, cost: float) -> tuple[int, Split] | None:
        """A choice that may still be cheaper, the one least looked at; of these the lowest bound."""
        found: tuple[int, Split] | None = None
        for bound, split in self._leaves():
            if split is None or bound >= cost:
                break
            level = self._level(split)
            if level < 0:
                return level, split
            if level + 1 < len(LOOK_MOST) and (found is None or level < found[0]):
                found = level, split
        return found

    def _others(self, best: Split, cost: float) -> tuple[Split, float, dict[str, tuple[Other, ...]]]:
        """What each opening would cost in its other materials; whatever is cheaper is taken instead."""
        for _ in range(len(self.kinds) * len(self.materials)):
            found = {}
            cheaper: tuple[float, Split] | None = None
            for split in self._neighbours(best):
                value = self._cost(split, 0, OTHERS_SHARE)
                found[split] = value
                if value is not None and value < (cheaper[0] if cheaper else cost):
                    cheaper = value, split
            if cheaper is None:
                break
            cost, best = cheaper
        return best, cost, self._said(best, found)

    def _neighbours(self, split: Split) -> Iterator[Split]:
        for k, kind in enumerate(self.kinds):
            for j, one in enumerate(self.materials):
                for i, other in enumerate(self.materials):
                    if i != j and split[j][k] and one in kind.materials and other in kind.materials:
                        yield _with(_with(split, j, k, -1), i, k)

    def _said(self, best: Split, found: dict[Split, float | None]) -> dict[str, tuple[Other, ...]]:
        taken, said = self._names(best), {}
        for k, kind in enumerate(self.kinds):
            for index in kind.openings:
                name = self.job.openings[index].name
                said[name] = tuple(
                    self._other(k, index, material, best, taken[name], found)
                    for material in self.job.openings[index].material
                )
        return said

    def _other(
        self, k: int, index: int, material: str, best: Split, taken: str, found: dict[Split, float | None]
    ) -> Other:
        if material == taken:
            return Other(material, True)
        if why := self.why.get((index, material)):
            return Other(material, False, why=why)
        split = _with(_with(best, self.materials.index(taken), k, -1), self.materials.index(material), k)
        cost = found.get(split)
        bound = sum(self._bound(m, c) for m, c in zip(self.materials, split, strict=True))
        if bound >= NEVER or cost == math.inf:
            return Other(material, False, why="the stock that can be had does not hold it")
        if cost is None:
            return Other(material, False, None, bound, "not looked at within the time")
        return Other(material, False, int(cost), bound)

    def _names(self, split: Split) -> dict[str, str]:
        """Material by opening's name; of those that are alike the first take the material named first."""
        names = {}
        for k, kind in enumerate(self.kinds):
            given = iter([m for m in kind.materials for _ in range(split[self.materials.index(m)][k])])
            for index in kind.openings:
                names[self.job.openings[index].name] = next(given)
        return names


def _with(split: Split, material: int, kind: int, more: int = 1) -> Split:
    """The same with one opening more of a kind in a material."""
    return tuple(
        tuple(n + more if (j, k) == (material, kind) else n for k, n in enumerate(counts))
        for j, counts in enumerate(split)
    )
