"""Whether a given handful of sheets could hold all parts, asked of a relaxed model (CP-SAT).

Each part gets a sheet, a way to lie and a place, from which every line across the sheet, in both
directions, must have room for the parts it surely crosses (cumulative constraints; Clautiaux, Jouglet,
Carlier and Moukrim 2008 use them for packing); without tapers the parts also must not overlap. Where not
even that has a solution, no cutting plan out of these sheets exists.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

if TYPE_CHECKING:
    from nesting.packing.bounds import Bound

GRID = 2_000  # steps across the least sheet: sizes are rounded down to it, sheets up


class HoldModel:
    """Places of all parts on the sheets of ``sizes`` (an index for each sheet)."""

    def __init__(self, bound: Bound, sizes: Sequence[int]) -> None:
        self.bound = bound
        self.instance = bound.instance
        self.sizes = sizes
        self.model = cp_model.CpModel()
        least = min(min(size.usable) for size in self.instance.sizes)
        self.grid = max(1, least // GRID)
        self.along: list[list[tuple[cp_model.IntervalVar, int]]] = [[] for _ in sizes]
        self.across: list[list[tuple[cp_model.IntervalVar, int]]] = [[] for _ in sizes]
        self.lies: list[list[tuple[int, cp_model.IntVar]]] = [[] for _ in sizes]
        self.on: dict[int, list[cp_model.LinearExpr]] = {}
        self._place_all()
        for sheet, size in enumerate(sizes):
            self._lines_hold(sheet, size)
            self._weights_hold(sheet, size)
        self._same_sizes_in_order()

    def _place_all(self) -> None:
        for item, kind in enumerate(self.instance.items):
            copies = [self._place(item, copy) for copy in range(kind.count)]
            for before, after in itertools.pairwise(copies):
                self.model.add(before <= after)  # parts that are alike lie on sheets in their order

    def _place(self, item: int, copy: int) -> cp_model.LinearExpr:
        """Exactly one sheet and one way to lie; returns the sheet's index."""
        ways = []
        for sheet, size in enumerate(self.sizes):
            if self.bound.takes[item, size]:
                for turned in self.instance.items[item].turns():
                    lies = self._lie(item, copy, sheet, turned)
                    ways += [(sheet, lies)] if lies is not None else []
        self.model.add_exactly_one(lies for _, lies in ways)
        return sum(sheet * lies for sheet, lies in ways)  # type: ignore[return-value]

    def _lie(self, item: int, copy: int, sheet: int, turned: bool) -> cp_model.IntVar | None:
        sure, kerf = self.bound.sure[item], self.instance.saw.kerf
        beside = 0 if self.bound.slanted else kerf
        length, width = self.instance.sizes[self.sizes[sheet]].usable
        run, rise = (sure.rise, sure.run) if turned else (sure.run, sure.rise)
        up, along = sure.chord_width + kerf, sure.chord_length + kerf
        up, along = (along, up) if turned else (up, along)
        spans = ((run + beside, length + beside), (rise + beside, width + beside))
        (run, wide), (rise, high) = ((a // self.grid, -(-b // self.grid)) for a, b in spans)
        if run > wide or rise > high:
            return None
        name = f"part_{item}_{copy}_on_{sheet}_{'turned' if turned else 'straight'}"
        lies = self.model.new_bool_var(name)
        x = self.model.new_int_var(0, wide - run, f"x_{name}")
        y = self.model.new_int_var(0, high - rise, f"y_{name}")
        at_x = self.model.new_optional_fixed_size_interval_var(x, run, lies, f"along_{name}")
        at_y = self.model.new_optional_fixed_size_interval_var(y, rise, lies, f"across_{name}")
        self.along[sheet].append((at_x, up // self.grid))
        self.across[sheet].append((at_y, along // self.grid))
        self.lies[sheet].append((item, lies))
        return lies

    def _lines_hold(self, sheet: int, size: int) -> None:
        """On every line the parts crossed, with their kerfs, fit into the sheet and one kerf."""
        length, width = self.instance.sizes[size].usable
        kerf = self.instance.saw.kerf
        for places, room in ((self.along[sheet], width), (self.across[sheet], length)):
            intervals, demands = [i for i, _ in places], [d for _, d in places]
            self.model.add_cumulative(intervals, demands, -(-(room + kerf) // self.grid))
        if not self.bound.slanted:
            self.model.add_no_overlap_2d(
                [i for i, _ in self.along[sheet]], [i for i, _ in self.across[sheet]]
            )

    def _weights_hold(self, sheet: int, size: int) -> None:
        """The functions of the bound hold on each sheet by itself."""
        for weights, whole in self.bound.functions(size):
            used = sum(int(weights[item]) * lies for item, lies in self.lies[sheet])
            self.model.add(used <= whole)

    def _same_sizes_in_order(self) -> None:
        """Of two sheets of one size the first has no fewer parts."""
        for sheet, (size, after) in enumerate(itertools.pairwise(self.sizes)):
            if size == after:
                first, second = self.lies[sheet], self.lies[sheet + 1]
                self.model.add(sum(lies for _, lies in first) >= sum(lies for _, lies in second))

    def refuted(self, solver: cp_model.CpSolver) -> bool:
        """Whether it is proved within the solver's limits that the sheets do not do."""
        solver.parameters.use_timetable_edge_finding_in_cumulative = True
        solver.parameters.use_energetic_reasoning_in_no_overlap_2d = True
        return solver.solve(self.model) == cp_model.INFEASIBLE
