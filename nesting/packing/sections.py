"""Weights by lines across a sheet, where cuts may be slanted and parts may lean.

On any line the chords of the parts that it crosses, with a kerf each, have room in the sheet and one kerf;
so have their dual feasible functions (Fekete and Schepers 2004). A measure on parallel lines then weighs each
part by the least that it can meet of them, wherever and whichever way it lies. A tapered part has another
chord on each line, so that two lines alike far from the middle meet its mean width twice, whichever end is
left.

*Long parts are drawn on.* Beside a long part, in line with it, only a part can lie that is as short as the
room left. So on a line that misses the long part no other than such a short one can take its place: it counts
there too. This is their threshold function along the sheet; but theirs is for rectangles, and neighbours that
lean are not parted by a line along the sheet. What holds for them (own argument, no source):

Let two parts be long together: their runs exceed the sheet's by more than an end can lean over the sheet's
other side. Then no line along an end parts them, so one along an upper or lower side of one of them does,
with a kerf between (two convex polygons are parted by a side of one; where their nearest points are two
corners, they overlap by less than that). Draw the sides of both on, past their ends. At a distance d beyond
its end a part comes at most as near to the other as d times the difference of the two slopes, on each side.
Taken narrower by that, it stays clear of the other, a kerf between as before, and inside the sheet. So on
every line the chords of the parts that cross it, the long ones drawn on and taken narrower, and a kerf for
each, have room in the sheet and one kerf.

*Measures* are chosen for a number of parts that are to be refuted: the best one on a few dozen lines is a
linear programme (the dual of the relaxation in which a part may lie in many places by shares). Whatever the
measure is, its weights hold for all sheets of the size.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from ortools.linear_solver import pywraplp

from nesting.packing.functions import JOINT, WHOLE, Axis, Function, Ints, identity
from nesting.packing.instance import Instance, Item, Size

LINES, PLACES, PIECES = 16, 3, 6  # intervals along the sheet, of where a long part begins, along a short one
MOST_LENGTHS = 10  # from which on a part counts as long
MIDDLE = 0.48  # of the length: lines close to the middle
MOST_LINES, MOST_FUNCTIONS, MOST_LONG, MOST_TURNS = 40, 4, 3, 40  # of a measure that is looked for
ENOUGH = 1e-6
A_LOOK = 0.003  # seconds that one takes
# rows are added, so the dual stays feasible; one of these programmes was seen to go round for ever
CAREFUL = "use_dual_simplex: true max_number_of_iterations: 2000"
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Way:
    """One way for an item to lie: the run that is sure, its two chords there, the slope between its sides."""

    run: float
    left: float
    right: float
    slope: float

    def eased(self, ends: int, joint: int) -> Way:
        """With what is sure at its ends, less what a slanted joint is granted."""
        left, right = max(0.0, self.left - joint), max(0.0, self.right - joint)
        return Way(max(0.0, self.run + ends - joint), left, right, self.slope)


def along(item: Item, lean: float) -> Way:
    """On lines across its length, whatever it leans; an end more or less for its mirror image."""
    length, left, right = item.frame
    taper = abs(left - right) / length
    inset = max(left, right) * (lean + taper) * (lean > 0 or taper > 0)
    inset += abs(item.skew_start) + abs(item.skew_end)
    shrunk = 1 - (lean + taper) * taper
    ends = [max(0.0, chord * shrunk - taper * inset) for chord in (left, right)]
    return Way(max(0.0, (length - inset) * (1 - lean * lean)), ends[0], ends[1], taper)


def beside(item: Item, lean: float) -> Way:
    """On lines along its length."""
    length, left, right = item.frame
    taper = abs(left - right) / length
    skews = abs(item.skew_start) + abs(item.skew_end)
    rise = min(item.start, item.end) * (1 - (lean + taper) * taper) - item.length * lean
    chord = max(0.0, float(item.length - skews))
    return Way(max(0.0, rise), chord, chord, skews / max(1, min(left, right)))


class Sections:
    """Weights for one size, of lines upright (across its length) or level.

    Parameters
    ----------
    slanted : bool
        Whether cuts may be slanted; else a kerf is sure at the ends of a part too, and nothing leans.
    """

    def __init__(self, instance: Instance, size: Size, *, upright: bool, slanted: bool) -> None:
        self.kerf = kerf = instance.saw.kerf
        ends = 0 if slanted else kerf
        far, room = size.usable if upright else size.usable[::-1]
        self.far, self.room = far + ends, room + kerf
        lean = float(instance.lean) if slanted else 0.0
        self.ways: list[list[Way]] = []
        for item in instance.items:
            ways = [(beside if turned == upright else along)(item, lean) for turned in item.turns()]
            self.ways.append([way.eased(ends, JOINT * slanted) for way in ways])
        tapers = [along(item, lean).slope for item in instance.items]
        skews = [beside(item, lean).slope for item in instance.items]
        steepest, most = max(tapers, default=0.0), max(skews, default=0.0)
        self.nearer = 2 * lean + steepest + most  # two sides come near each other by this and their own slope
        self.margin = (room * (lean + max(steepest, most)) + 2) * slanted
        self.known: dict[tuple[Way, float, bool], tuple[Floats, float]] = {}

    def long(self, most: int) -> list[float]:
        """Runs from which on a part may count as long."""
        half = (self.far + self.margin) / 2
        runs = sorted({way.run for each in self.ways for way in each if half < way.run <= self.far})
        return runs[:: max(1, -(-len(runs) // most))]

    def rows(self, functions: Sequence[Function]) -> Ints:
        """Weights [row, item] on even measures, of which a sheet holds ``WHOLE`` at most."""
        rows = [self._weighed(functions, self.far + 1.0, 0.0)]
        for least in self.long(MOST_LENGTHS):
            for off in (0.0, self.far - least, self.far * MIDDLE):
                rows.append(self._weighed(functions, least, off))
        return np.unique(np.concatenate(rows), axis=0)

    def _short(self, least: float) -> float:
        """What a part must exceed, not to lie in line with one that is long; no limit where none is."""
        return self.far - least + self.margin if least <= self.far else -1.0

    def _weighed(self, functions: Sequence[Function], least: float, off: float) -> Ints:
        """A row for each function, over all lines at least ``off`` from both ends.

        Parts from the run ``least`` on are drawn on; what may lie in line with them counts nothing.
        """
        short = self._short(least)
        found: list[tuple[int, Floats, float]] = []  # item, chords by place and line, share of the lines
        for item, each in enumerate(self.ways):
            if all(way.run > short for way in each):
                found += [(item, *self._chords(way, off, way.run >= least)) for way in each]
        return self._means(functions, found)

    def _chords(self, way: Way, off: float, long: bool) -> tuple[Floats, float]:
        if (way, off, long) not in self.known:
            self.known[way, off, long] = self._evenly_drawn(way, off) if long else self._crossed(way, off)
        return self.known[way, off, long]

    def _crossed(self, way: Way, off: float) -> tuple[Floats, float]:
        """Chords of a part on the lines that surely cross it, at its narrow end; which share of the lines."""
        zone = self.far - 2 * off
        run = min(way.run - off, zone)
        if run <= 0:
            return np.zeros((1, 1)), 0.0
        least, most = min(way.left, way.right), max(way.left, way.right)
        steps = np.linspace(least, least + (most - least) * run / way.run, PIECES + 1)
        return steps[None, :-1], run / zone

    def _evenly_drawn(self, way: Way, off: float) -> tuple[Floats, float]:
        """The same of a long part drawn on to both ends of the sheet, a row for each place of it."""
        at = np.linspace(off, self.far - off, LINES + 1)
        begins = np.linspace(0.0, max(0.0, self.far - way.run), PLACES + 1)
        found = []
        for chord in self._drawn(way, at, begins):
            # concave in both directions, so that its least is in a corner of each cell
            least = np.minimum(chord[:, 1:], chord[:, :-1])
            found.append(np.minimum(least[1:], least[:-1]))
        return np.concatenate(found), 1.0

    def _drawn(self, way: Way, at: Floats, begins: Floats) -> list[Floats]:
        """Chords [place, line] of a part drawn on, either end on the left."""
        at, begins = at[None, :], begins[:, None]
        outside = np.maximum(np.maximum(begins - at, at - begins - way.run), 0.0)
        return [left + (right - left) * (at - begins) / way.run - 2 * (self.nearer + way.slope) * outside
                for left, right in ((way.left, way.right), (way.right, way.left))]  # fmt: skip

    def _sizes(self, chords: Floats) -> Ints:
        """Whole units, with a kerf; nothing where there is no chord."""
        sizes: Ints = np.where(chords < 1, 0, np.floor(chords).astype(np.int64) + self.kerf)
        return sizes

    def _means(self, functions: Sequence[Function], found: list[tuple[int, Floats, float]]) -> Ints:
        """Of each function and item the least mean weight over its places and ways to lie."""
        weights = np.zeros((len(functions), len(self.ways)), dtype=np.int64)
        if not found:
            return weights
        sizes = self._sizes(np.concatenate([chords.reshape(-1) for _, chords, _ in found]))
        distinct, back = np.unique(sizes, return_inverse=True)
        weighed = [function(distinct, self.room) for function in functions]
        table = np.array([w / max(room, 1) * (room > 0) for w, room in weighed])[:, back]
        least = np.full(weights.shape, np.inf)
        begin = 0
        for item, chords, share in found:
            end = begin + chords.size
            means = table[:, begin:end].reshape(-1, *chords.shape).mean(axis=2).min(axis=1)
            least[:, item] = np.minimum(least[:, item], means * share)
            begin = end
        taken = np.isfinite(least)
        weights[taken] = _whole(least[taken])
        return weights

    def against(
        self, counts: Ints, spend: Callable[[float], None] = lambda _: None, *, at_a_glance: bool = False
    ) -> Ints | None:
        """Weights by which so many of each item are more than a sheet holds; None if none are found.

        ``spend`` is told what each look takes, as if in deterministic seconds of CP-SAT. The first look of
        all finds nearly all that is found: ``at_a_glance`` it is the only one.
        """
        held = [item for item, count in enumerate(counts) if count]
        at = self._places({way.run for item in held for way in self.ways[item]})
        for function in [identity] if at_a_glance else self._likely(held, counts):
            for least in (self.far + 1.0, *([] if at_a_glance else self.long(MOST_LONG))):
                measure = Measure(self, function, least, at)
                found = measure.best(held, counts)
                spend(A_LOOK)
                if found is not None:
                    return measure.weights(found)
        return None

    def _places(self, runs: set[float]) -> Floats:
        """Where lines tell most: just inside a part that lies against an end, or next to one that does."""
        ends = {run for run in runs if run < self.far}
        ends |= {a + b for a in runs for b in runs if a + b < self.far}
        near = {x for end in ends for x in (end - 1, self.far - end + 1)}
        near |= {self.far * k / 10 for k in range(1, 10)}
        at = sorted(x for x in near if 0 < x < self.far)
        kept = [x for x, before in zip(at, [-self.far, *at], strict=False) if x - before > self.far / 200]
        while len(kept) > MOST_LINES:
            kept = kept[::2]
        return np.array(kept)

    def _likely(self, held: list[int], counts: Ints) -> list[Function]:
        """The identity, and the functions under which these parts take most."""
        sizes = self._sizes(np.array([min(min(way.left, way.right) for way in self.ways[i]) for i in held]))
        runs = np.array([min(way.run for way in self.ways[i]) for i in held])
        axis = Axis(sizes, sizes, self.room)

        def use(function: Function) -> float:
            weights, room = function(sizes, self.room)
            return float((weights * runs) @ counts[held]) / max(room, 1)

        return [identity, *sorted(axis.narrow(counts[held])[1:], key=use, reverse=True)[:MOST_FUNCTIONS]]


class Measure:
    """The best weights of the lines at some places, for one function and one length that counts as long."""

    def __init__(self, sections: Sections, function: Function, least: float, at: Floats) -> None:
        self.sections = sections
        self.function = function
        self.least = least
        self.at = at
        self.short = sections._short(least)

    def options(self, item: int) -> Floats:
        """What each line sees of an item [option, line], in the places and ways where it can be least."""
        found = []
        for way in self.sections.ways[item]:
            if way.run >= self.least:
                found += self._ends(way)
            elif not max(self.short, 0.0) < way.run <= self.sections.far:
                return np.zeros((1, len(self.at)))
            else:
                found += self._passed(way)
        return np.concatenate(found)

    def _ends(self, way: Way) -> list[Floats]:
        """A long part at either end of its play; between them it is seen no less than at the lesser one."""
        begins = np.array([0.0, max(0.0, self.sections.far - way.run)])
        drawn = self.sections._drawn(way, self.at, begins)
        if self.function is identity:  # adds up, from below to above, even where a chord is less than none
            return [(np.floor(chords) + self.sections.kerf) / self.sections.room for chords in drawn]
        return [self._seen(np.minimum(*chords)[None, :]) for chords in drawn]

    def _passed(self, way: Way) -> list[Floats]:
        """Just before a line, or just past it, where a part crosses fewest."""
        begins = np.concatenate(([0.0, self.sections.far - way.run], self.at, self.at - way.run))
        begins = np.unique(begins[(begins >= 0) & (begins <= self.sections.far - way.run)])[:, None]
        crossed = (begins < self.at) & (self.at < begins + way.run)
        ends = [(way.left, way.right), (way.right, way.left)]
        if self.function is not identity or way.left == way.right:
            ends = [(min(way.left, way.right),) * 2]
        return [
            self._seen(left + (right - left) * (self.at[None, :] - begins) / way.run) * crossed
            for left, right in ends
        ]

    def _seen(self, chords: Floats) -> Floats:
        weighed, room = self.function(self.sections._sizes(chords), self.sections.room)
        seen: Floats = weighed / max(room, 1) * (room > 0)
        return seen

    def best(self, held: list[int], counts: Ints) -> Floats | None:
        """A measure under which so many parts are too much for a sheet; None if there is none."""
        options = [self.options(item) for item in held]
        spread = sum(counts[item] * option.mean(axis=0) for item, option in zip(held, options, strict=True))
        if np.max(spread) <= 1:  # they go on the sheet by shares, a little of each in every place
            return None
        solver = pywraplp.Solver.CreateSolver("GLOP")
        solver.SetSolverSpecificParametersAsString(CAREFUL)
        infinity = solver.infinity()
        shares = [solver.NumVar(0, 1, "") for _ in self.at]
        seen = [solver.NumVar(-infinity, float(option.max(initial=0.0)), "") for option in options]
        solver.Add(sum(shares) == 1)
        solver.Maximize(sum(float(counts[item]) * one for item, one in zip(held, seen, strict=True)))
        measure = np.full(len(self.at), 1 / max(1, len(self.at)))
        for _ in range(MOST_TURNS):
            worth = 0.0
            for option, one, item in zip(options, seen, held, strict=True):
                values = option @ measure
                least = int(values.argmin())
                worth += float(counts[item]) * float(values[least])
                row = solver.Constraint(-infinity, 0)
                row.SetCoefficient(one, 1)
                for line in np.flatnonzero(option[least]):
                    row.SetCoefficient(shares[line], -float(option[least, line]))
            if worth > 1 + ENOUGH:
                return measure
            if solver.Solve() != pywraplp.Solver.OPTIMAL or solver.Objective().Value() <= 1 + ENOUGH:
                return None
            measure = np.maximum(0.0, np.array([share.solution_value() for share in shares]))
            measure /= measure.sum()
        return None

    def weights(self, measure: Floats) -> Ints:
        """What all items weigh under a measure."""
        items = range(len(self.sections.ways))
        return _whole(np.array([(self.options(item) @ measure).min() for item in items]))


def _whole(shares: Floats) -> Ints:
    whole: Ints = np.floor(np.maximum(shares, 0.0) * WHOLE * (1 - 1e-9)).astype(np.int64)
    return whole
