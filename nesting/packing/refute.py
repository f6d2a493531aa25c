"""Whether a given handful of sheets could hold all parts: if not, that is proved.

An assignment says how many of each item go on each sheet; weights of the bound hold on every sheet by
itself (CP-SAT). For what it would put on one sheet weights are then looked for that forbid it
(:mod:`nesting.packing.sections`), or it is refuted in a relaxed model of the one sheet; either is learned and
the next assignment asked (logic-based Benders decomposition, Hooker and Ottosson 2003). Where no assignment
is left, no cutting plan out of these sheets exists.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np
from ortools.sat.python import cp_model

from nesting.packing.functions import WHOLE, Ints
from nesting.packing.hold import HoldModel
from nesting.packing.larger import AtLeast
from nesting.packing.solver import SOLVED
from nesting.packing.uncut import A_CUTTING, cannot_be_cut

if TYPE_CHECKING:
    from nesting.packing.bounds import Bound

MOST_ASKED = 400  # assignments
QUICK = 0.02  # deterministic seconds within which most contents are refuted that are at all
Solver = Callable[[float], cp_model.CpSolver]


class Refuter:
    """Learns what one sheet cannot hold; what is learned is the bound's.

    Parameters
    ----------
    thorough : bool
        Whether as many parts as can be are left out of what is refuted. One assignment more takes longer
        than that; one content more does not.
    """

    def __init__(self, bound: Bound, *, thorough: bool) -> None:
        self.bound, self.thorough = bound, thorough

    def learn(self, sizes: Sequence[int], contents: list[Ints], solver: Solver, effort: float) -> bool:
        """Whether one of the contents is forbidden by something new; the cheap questions first.

        Each is asked of all sheets, since the next assignment takes longer than most of them.
        """
        questions: tuple[Callable[[int, Ints], bool], ...] = (
            self.bound.breaks,
            self._does_not_come_off,
            lambda size, content: self.bound.outweighs(size, content, at_a_glance=True),
            lambda size, content: self._does_not_fit(size, content, solver, min(QUICK, effort)),
            self._cannot_be_cut,
            self._is_too_much,
            lambda size, content: self._does_not_fit(size, content, solver, effort),
        )
        sheets = list(zip(sizes, contents, strict=True))
        for question in questions:
            forbidden = [question(size, content) for size, content in sheets]
            if any(forbidden):
                return True
        return False

    def _is_too_much(self, size: int, content: Ints) -> bool:
        """By a longer look for weights: none were found for what comes off a sheet, as far as is known."""
        joints = self.bound.joints
        comes_off = bool(joints) and joints[size].tells(content)
        return not comes_off and self.bound.outweighs(size, content)

    def _does_not_come_off(self, size: int, content: Ints) -> bool:
        """The same over all ways to join its parts."""
        failing = self.bound.failing(size, content)
        if failing is not None:
            self.bound.exclude(size, failing, joined=True)
        return failing is not None

    def _does_not_fit(self, size: int, content: Ints, solver: Solver, effort: float) -> bool:
        """Whether a sheet is refuted, and learned to be."""
        hope = (size, content.tobytes())
        if self.bound.exhausted or self.bound.hopes.get(hope, 0.0) >= effort:
            return False
        model, asked = HoldModel(self.bound, size, content), solver(effort)
        status = model.solve(asked)
        if status in SOLVED:
            self.bound.hopes[hope] = math.inf
        elif status != cp_model.INFEASIBLE and not self.bound.exhausted:  # else it had not that effort
            self.bound.hopes[hope] = effort
        if status != cp_model.INFEASIBLE:
            return False

        def blamed(less: Ints) -> Ints | None:
            if self.bound.exhausted:
                return None
            model, asked = HoldModel(self.bound, size, less), solver(effort / 4)
            return model.blamed(asked) if model.solve(asked) == cp_model.INFEASIBLE else None

        self._rule_out(size, content, model.blamed(asked), blamed)
        return True

    def _cannot_be_cut(self, size: int, content: Ints) -> bool:
        """The same for rectangles that do not come off the sheet edge to edge."""
        bound = self.bound
        if bound.slanted or bound.exhausted or content.tobytes() in bound.cut[size]:
            return False

        def blamed(less: Ints) -> Ints | None:
            bound.spend(A_CUTTING)
            forbidden = not bound.exhausted and cannot_be_cut(
                bound.instance, bound.instance.sizes[size], less, bound.deadline)  # fmt: skip
            return less if forbidden else None

        if blamed(content) is None:
            if not bound.exhausted:  # else it may not have been asked
                bound.cut[size].add(content.tobytes())
            return False
        self._rule_out(size, content, content, blamed)
        return True

    def _rule_out(
        self, size: int, content: Ints, least: Ints, blamed: Callable[[Ints], Ints | None]
    ) -> None:
        """Leave out of what a sheet cannot hold as much as can be, and learn it.

        ``blamed`` says of a content that is refuted which of its parts do for it; what is left in the end is
        refuted once more.
        """
        areas = [item.twice_area for item in self.bound.instance.items]
        for item in sorted(np.flatnonzero(least), key=lambda i: areas[i]):
            while self.thorough and least[item]:
                less = least.copy()
                less[item] -= 1
                found = blamed(less) if less.any() else None
                if found is None:
                    break
                least = found
        if least.sum() < content.sum() and blamed(least) is None:
            least = content
        self.bound.exclude(size, least)


class Assignment:
    """How many of each item go on each of a handful of sheets, ``sizes`` an index for each."""

    def __init__(self, bound: Bound, sizes: Sequence[int]) -> None:
        self.bound = bound
        self.refuter = Refuter(bound, thorough=True)
        self.sizes = sizes
        self.model = cp_model.CpModel()
        self.items = range(len(bound.demand))
        self.counts = [
            [self.model.new_int_var(0, int(bound.demand[i]) * int(bound.takes[i, size]), f"items_{i}_on_{s}")
             for i in self.items]
            for s, size in enumerate(sizes)
        ]  # fmt: skip
        for i in self.items:
            self.model.add(sum(row[i] for row in self.counts) == int(bound.demand[i]))
        self.known = [[0, 0] for _ in bound.pools]  # rows chosen and contents excluded that the model has
        self.fewer: dict[tuple[int, tuple[int, ...], int], cp_model.IntVar] = {}
        self._same_sizes_in_order()

    def _same_sizes_in_order(self) -> None:
        """Of two sheets of one size the first holds no less."""
        areas = [item.twice_area // 2_000 for item in self.bound.instance.items]
        held = [sum(a * x for a, x in zip(areas, row, strict=True)) for row in self.counts]
        for (size, one), (after, other) in itertools.pairwise(zip(self.sizes, held, strict=True)):
            if size == after:
                self.model.add(one >= other)

    def refuted(self, solver: Solver, effort: float) -> bool:
        """Whether it is proved within the effort that the sheets do not do."""
        for _ in range(MOST_ASKED):
            self._take_over()
            asked = solver(effort)
            status = asked.solve(self.model)
            if status == cp_model.INFEASIBLE:
                return True
            if status not in SOLVED or self.bound.exhausted:
                return False
            contents = [np.array([asked.value(x) for x in row], dtype=np.int64) for row in self.counts]
            if not self.refuter.learn(self.sizes, contents, solver, effort):
                return False
        return False

    def _take_over(self) -> None:
        """What the bound has learned of each size holds on each sheet of it."""
        for size in set(self.sizes):
            rows, excluded = self.bound.chosen[size], self.bound.excluded[size]
            for row, sheet in zip(self.counts, self.sizes, strict=True):
                if sheet == size:
                    for index in rows[self.known[size][0] :]:
                        weights = self.bound.pools[size][index]
                        self.model.add(sum(int(weights[i]) * row[i] for i in self.items) <= WHOLE)
            for clauses in excluded[self.known[size][1] :]:
                self._exclude(size, clauses)
            self.known[size] = [len(rows), len(excluded)]

    def _exclude(self, size: int, clauses: list[AtLeast]) -> None:
        """On no sheet of the size all of this: of some items there are fewer."""
        for sheet, of in enumerate(self.sizes):
            if of == size:
                self.model.add_bool_or(self._fewer(sheet, items, count) for items, count in clauses)

    def _fewer(self, sheet: int, items: tuple[int, ...], count: int) -> cp_model.IntVar:
        key = (sheet, items, count)
        if key not in self.fewer:
            self.fewer[key] = self.model.new_bool_var(f"fewer_than_{count}_of_{items}_on_{sheet}")
            held = sum(self.counts[sheet][item] for item in items)
            self.model.add(held < count).only_enforce_if(self.fewer[key])
        return self.fewer[key]
