"""Plans on one set of sheets at a time, by all contents that can be in one.

What single sheets hold leaves little room on a set that may just do: at the values of
:mod:`nesting.packing.columns` the parts on each sheet of a plan are worth no less than the sheet, but for
what the whole set is worth beyond all parts. The contents that are worth so much and are not refuted are
enumerated (the gap closed by enumeration, Baldacci, Christofides and Mingozzi 2008); CP-SAT says which of
them hold all parts that are worth anything, and each content of such a cover is searched for a cutting, or
cut exactly. What is worth nothing, small parts as a rule, goes where there is room.

A search over whole plans seldom comes upon these: sheets that are all nearly full, each of just these parts.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import numpy as np

from nesting.packing.aiming import Counts, roomy
from nesting.packing.bounds import A_CONTENT, Bound
from nesting.packing.columns import ONE, ColumnBound
from nesting.packing.exact import can_be_asked, cut_exactly
from nesting.packing.functions import Ints
from nesting.packing.halves import within_reach
from nesting.packing.improve import Improver, all_waiting
from nesting.packing.pool import Pool
from nesting.packing.rules import Rules
from nesting.packing.seeking import Seeker
from nesting.packing.solver import SOLVED, cp_model
from nesting.packing.state import State
from nesting.packing.uncut import A_CUTTING

MOST_GROWTH = 1.06  # by the sheets known, of a set that is looked at
MOST_CONTENTS = 5_000  # of one size
A_SET, ALL_CONTENTS = 1.0, 10.0  # deterministic seconds, to rule a set out, and to enumerate and cover
A_LIST = 2.0  # for the contents of one size, before they are looked at closely
ROOM = 0.003  # of what a set is worth: the values are not the last word on what sheets can hold
A_COVER, LONGER = 0.5, 1.0  # for one cover of few unknown contents, and for any
TOO_LARGE = 2  # sets one after the other with too many contents: then it is left off
COVERS = 60  # with other contents, where some could not be cut
CUT_TRIES, LAST_TRIES = 5_000, 10_000  # for one content, and for all parts once the contents are cut
TRIES_A_SECOND = 40_000  # of one sheet take a deterministic second


class Closer:
    """Looks for plans on sets of sheets that cost less than the best known one.

    Attributes
    ----------
    spent : float
        Deterministic seconds so far.
    """

    def __init__(
        self, rules: Rules, pool: Pool, seed: int, stop: Callable[[], bool], deadline: float | None = None
    ) -> None:
        self.rules, self.pool, self.seed, self.stop = rules, pool, seed, stop
        bound = self.bound = Bound(*within_reach(rules.instance, rules.takes))
        bound.ended, bound.deadline = stop, deadline
        bound.ask_more_of_sheets(Seeker(rules, stop), rules.loops)
        self.columns = bound.columns
        self.done: set[Counts] = set()
        self.cut: dict[tuple[int, bytes], State | None] = {}
        self.walks = self.too_large = 0

    @property
    def spent(self) -> float:
        """What it took."""
        return self.bound.spent

    def interrupt(self) -> None:
        """End what is being asked; from another thread."""
        self.bound.interrupt()

    def improve(self, limit: int, effort: float) -> State | None:
        """Look at sets that cost no more than a limit; the first complete state, if one is found.

        Parameters
        ----------
        effort : float
            In all, :attr:`spent` included; no set is begun beyond it.
        """
        while self.spent < effort and not self.stop():
            counts = None if self.too_large == TOO_LARGE else self._promising(limit)
            if counts is None:
                return None
            self.done.add(counts)
            found = self._on(counts)
            if found is not None:
                return found
        return None

    def _promising(self, limit: int) -> Counts | None:
        """The set that must grow least, by the sheets known so far; none twice."""
        if self.columns is None or self.columns.sizes != len(self.rules.prices):
            return None
        programme, cuts = self.columns.programme, self.bound.cuts
        sets = [
            counts for counts in roomy(self.rules, limit)
            if counts not in self.done and all(np.dot(worth, counts) >= total for worth, total in cuts)
        ]  # fmt: skip
        if not sets:
            return None
        for size, content in zip(*self.pool.contents(), strict=True):
            programme.add(int(size), content)
        programme.ask_for(self.bound.demand)
        growth = [self.columns.solve(np.array(counts))[0] for counts in sets]
        least = min(growth)
        return sets[growth.index(least)] if least <= MOST_GROWTH else None

    def _on(self, counts: Counts) -> State | None:
        """A plan on just these sheets, if one is found."""
        assert self.columns is not None
        bound = self.bound
        bound.until = bound.spent + A_SET
        if self.columns.rules_out(counts, A_CONTENT, A_SET):
            return None
        bound.until = bound.spent + ALL_CONTENTS
        covers = Covers(self.columns, np.array(counts), self.pool)
        self.too_large = 0 if covers.complete else self.too_large + 1
        for _ in range(COVERS):
            cover = covers.next()
            if cover is None:
                return None
            uncut = [index for index in sorted(set(cover)) if not self._cut_out(*covers.contents[index])]
            found = None if uncut else self._put_together(counts, [covers.contents[index] for index in cover])
            if found is not None:
                return found
            for refused in [[index] for index in uncut] or [cover]:
                covers.forbid(refused)
        return None

    def _cut_out(self, size: int, content: Ints) -> State | None:
        """One sheet that holds a content, if one is found."""
        key = size, content.tobytes()
        if key not in self.cut:
            one = self.rules.with_counts([int(of == size) for of in range(len(self.rules.prices))])
            items = [int(item) for item in np.flatnonzero(content) for _ in range(content[item])]
            start = all_waiting(one, 1, items)
            exact = self._exactly(one, size, content, np.zeros_like(content))
            self.cut[key] = exact or self._search(one, start, one.prices[size], CUT_TRIES)
        return self.cut[key]

    def _exactly(self, rules: Rules, size: int, content: Ints, beside: Ints) -> State | None:
        if not can_be_asked(rules, size, content, beside):
            return None
        self.bound.spend(A_CUTTING)
        return cut_exactly(rules, size, content, beside)

    def _search(self, rules: Rules, start: State, limit: int, tries: int) -> State | None:
        self.walks += 1
        improver = Improver(rules, start, self.seed * 1_000_033 + self.walks, Pool(rules), limit)
        found = improver.search(tries, self.stop)
        self.bound.spend(improver.tries / TRIES_A_SECOND)
        return found

    def _put_together(self, counts: Counts, cover: list[tuple[int, Ints]]) -> State | None:
        """All parts on these sheets; those that no content holds are put in beside."""
        rules = self.rules.with_counts(counts)
        state = State(rules, min(sum(counts), rules.slots))
        left, later = self.bound.demand.copy(), sum(content for _, content in cover)
        spare = (left > later).any()
        for size, content in cover:
            later = later - content
            must = np.clip(left - later, 0, content)  # what no sheet after it holds
            others = np.where(content + later > 0, np.minimum(left, content), left) - must
            sheet = self._exactly(rules, size, must, others) if spare else None
            if sheet is None:
                sheet = self.cut[size, content.tobytes()]
            assert sheet is not None
            (slot,) = sheet.slots
            for item, many in sheet.content(slot).items():
                left[item] = max(0, left[item] - many)
            state.adopt(sheet.rows_of(slot), size)
        state.drop_surplus()
        limit = sum(count * price for count, price in zip(counts, rules.prices, strict=True))
        found = self._search(rules, state, limit, LAST_TRIES) if state.waiting else state
        if found is not None:
            found.rules = self.rules
        return found


class Covers:
    """Contents that hold all parts worth anything, on one set of sheets: one choice after the other."""

    def __init__(self, columns: ColumnBound, counts: Ints, pool: Pool) -> None:
        self.bound, self.pool = columns.bound, pool
        self.contents: list[tuple[int, Ints]] = []
        self.model = cp_model.CpModel()
        self.times: list[cp_model.IntVar] = []
        self.complete = self._enumerate(columns, counts)

    def _enumerate(self, columns: ColumnBound, counts: Ints) -> bool:
        """Collect the contents that are worth enough, and say what a cover is; False if they are too many."""
        demand = self.bound.demand
        columns.programme.ask_for(demand)
        _, values, fees = columns.solve(counts)
        worth = np.floor(values * ONE).astype(np.int64)
        gap = max(0.0, float(fees @ counts - values @ demand)) + ROOM
        for origin, pricer in zip(self.bound.origins, columns.pricers, strict=True):
            if counts[origin]:
                least = math.floor((fees[origin] - gap) * ONE)
                found = pricer.all_dearer(worth, least, MOST_CONTENTS, A_LIST)
                if found is None:
                    return False
                self.contents += [(origin, content) for content in found]
        self._require(np.where(worth > 0, demand, 0), counts)
        return True

    def _require(self, wanted: Ints, counts: Ints) -> None:
        self.times = [self.model.new_int_var(0, int(counts[size]), "") for size, _ in self.contents]
        for item in np.flatnonzero(wanted):
            held = [(int(content[item]), times) for (_, content), times in self._all if content[item]]
            self.model.add(sum(many * times for many, times in held) >= int(wanted[item]))
        for size in np.flatnonzero(counts):
            self.model.add(sum(times for (of, _), times in self._all if of == size) <= int(counts[size]))
        sizes, contents = self.pool.contents()
        known = [contents[sizes == size] for size in range(len(counts))]
        new = [times for (size, content), times in self._all
               if not (known[size] >= content).all(axis=1).any()]  # fmt: skip
        self.model.minimize(sum(new))

    @property
    def _all(self) -> Iterator[tuple[tuple[int, Ints], cp_model.IntVar]]:
        return zip(self.contents, self.times, strict=True)

    def next(self) -> list[int] | None:
        """A cover, as the indices of its contents: of few that are not known if it is found soon."""
        if not self.complete:
            return None
        for effort in (A_COVER, LONGER):
            if self.bound.exhausted:
                return None
            solver = self.bound.ask(effort)
            solver.parameters.linearization_level = 2  # many times quicker here
            outcome = solver.solve(self.model)
            if outcome in SOLVED:
                return [i for i, times in enumerate(self.times) for _ in range(solver.value(times))]
            if outcome == cp_model.INFEASIBLE:
                return None
            self.model.clear_objective()  # type: ignore[no-untyped-call]
        return None

    def forbid(self, cover: list[int]) -> None:
        """Not these all together any more."""
        self.model.add(sum(self.times[index] for index in set(cover)) <= len(cover) - 1)
