"""Where a sheet's parts lie, relaxed: a model that refutes contents (CP-SAT)."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from ortools.sat.python import cp_model

from nesting.packing.functions import Ints

if TYPE_CHECKING:
    from nesting.packing.bounds import Bound

GRID = 2_000  # steps across the least sheet: sizes are rounded down to it, sheets up
A_QUESTION = 0.002  # deterministic seconds that a model takes to be built and read, whatever its answer


@dataclass(frozen=True, slots=True)
class Place:
    """Where a part lies if it lies so: its rectangle; chords of lines that cross it, kerf included.

    ``part`` is the item and which one of it. Those of an item that lies in one way only are ``ordered``: of
    two the first lies left of the other, or below it.
    """

    part: tuple[int, int]
    ordered: bool
    x: cp_model.IntVar
    y: cp_model.IntVar
    run: int
    rise: int
    up: int
    along: int
    lies: cp_model.IntVar


class HoldModel:
    """Places of a sheet's parts, relaxed: every line across the sheet has room for what surely crosses it.

    Cumulative constraints in both directions, and the rectangles that are sure of the parts do not overlap
    (Clautiaux, Jouglet, Carlier and Moukrim 2008).
    """

    def __init__(self, bound: Bound, size: int, content: Ints) -> None:
        self.bound = bound
        self.instance = bound.instance
        self.size = size
        self.model = cp_model.CpModel()
        self.grid = max(1, min(self.instance.sizes[size].usable) // GRID)
        kerf, ends = self.instance.saw.kerf, 0 if bound.slanted else self.instance.saw.kerf
        self.far, self.room = ([-(-(side + more) // self.grid) for side in self.instance.sizes[size].usable]
                               for more in (ends, kerf))  # fmt: skip
        self.places: list[Place] = []
        self.there: list[tuple[int, cp_model.IntVar]] = []  # each part's item, and whether it is there at all
        for item in np.flatnonzero(content):
            self._lie_all(int(item), int(content[item]))
        self._lines_hold()
        self._one_left_or_above()
        self._one_of_mirror_images()
        if bound.parted[size]:
            self._parted()
        self.model.add_assumptions([there for _, there in self.there])

    def blamed(self, solver: cp_model.CpSolver) -> Ints:
        """Of a refuted content as much as the solver says it needed.

        A part that is not there may lie at the origin, where no constraint is broken by it.
        """
        needed = set(solver.sufficient_assumptions_for_infeasibility())
        content = np.zeros(len(self.instance.items), dtype=np.int64)
        for item, there in self.there:
            content[item] += there.index in needed
        return content

    def _lie_all(self, item: int, copies: int) -> None:
        """All parts of an item."""
        for copy in range(copies):
            ways = [self._lie(item, copy, turned) for turned in self.instance.items[item].turns()]
            found = [place for place in ways if place is not None]
            there = self.model.new_bool_var("")
            self.there.append((item, there))
            self.model.add_exactly_one([*(place.lies for place in found), ~there])
            self.places += found

    def _lie(self, item: int, copy: int, turned: bool) -> Place | None:
        sure, kerf = self.bound.sure[item], self.instance.saw.kerf
        beside = 0 if self.bound.slanted else kerf
        run, rise = (sure.rise, sure.run) if turned else (sure.run, sure.rise)
        up, along = sure.chord_width + kerf, sure.chord_length + kerf
        up, along = (along, up) if turned else (up, along)
        run, rise = (run + beside) // self.grid, (rise + beside) // self.grid
        wide, high = self.far
        if run > wide or rise > high:
            return None
        name = f"part_{item}_{copy}_{'turned' if turned else 'straight'}"
        x = self.model.new_int_var(0, wide - run, f"x_{name}")
        y = self.model.new_int_var(0, high - rise, f"y_{name}")
        lies = self.model.new_bool_var(name)
        ordered = len(self.instance.items[item].turns()) == 1
        return Place((item, copy), ordered, x, y, run, rise, up // self.grid, along // self.grid, lies)

    def _lines_hold(self) -> None:
        """On every line the parts crossed, with their kerfs, fit into the sheet and one kerf."""
        some = [place for place in self.places if place.run and place.rise]

        def spans(starts: Sequence[cp_model.IntVar], sizes: Sequence[int]) -> list[cp_model.IntervalVar]:
            return [
                self.model.new_optional_fixed_size_interval_var(start, size, place.lies, "")
                for start, size, place in zip(starts, sizes, some, strict=True)
            ]

        along = spans([place.x for place in some], [place.run for place in some])
        across = spans([place.y for place in some], [place.rise for place in some])
        self.model.add_cumulative(along, [place.up for place in some], self.room[1])
        self.model.add_cumulative(across, [place.along for place in some], self.room[0])

    def _one_left_or_above(self) -> None:
        """Of two parts one lies left of the other or above it.

        Two that no level line has room for lie above each other, two that no upright one has room for beside
        each other. As choices of their own these were found to be many times quicker than as one constraint
        on all rectangles. Parts that are alike are put in order by how many runs they lie to the right and
        how many rises up, added up: two that are parted in one way only are parted in that order.
        """
        some = [place for place in self.places if place.run and place.rise]
        for a, b in itertools.combinations(some, 2):
            if a.part == b.part:
                continue
            beside, above = a.along + b.along <= self.room[0], a.up + b.up <= self.room[1]
            ways = [(a.y + a.rise, b.y)] * above + [(a.x + a.run, b.x)] * (beside or not above)
            if not (a.ordered and a.part[0] == b.part[0]):
                ways += [(b.y + b.rise, a.y)] * above + [(b.x + b.run, a.x)] * (beside or not above)
            chosen = [self.model.new_bool_var("") for _ in ways]
            for (end, start), choice in zip(ways, chosen, strict=True):
                self.model.add(end <= start).only_enforce_if(choice)
            self.model.add_bool_or(*chosen, ~a.lies, ~b.lies)

    def _one_of_mirror_images(self) -> None:
        """Everything here holds of mirror images too: the largest part lies left, and below, of the middle.

        Of parts that are ordered it is their mean, since a mirror image has them in another order.
        """
        largest = max(self.places, key=lambda place: place.run * place.rise, default=None)
        if largest is None:
            return
        alike = [place for place in self.places if place.part[0] == largest.part[0]]
        if largest.ordered:
            self.model.add(sum(2 * place.x + place.run for place in alike) <= len(alike) * self.far[0])
            self.model.add(sum(2 * place.y + place.rise for place in alike) <= len(alike) * self.far[1])
            return
        for place in alike:
            if place.part == largest.part:
                self.model.add(2 * place.x + place.run <= self.far[0]).only_enforce_if(place.lies)
                self.model.add(2 * place.y + place.rise <= self.far[1]).only_enforce_if(place.lies)

    def _parted(self) -> None:
        """A cut from side to side, with room on both sides of it for the shortest part at least.

        What lies there need not be of this content, so that all that is too much stays so with more parts.
        """
        length, width = self.instance.sizes[self.size].usable
        upright = length > width
        sections = self.bound.sections[self.size][not upright]
        play = math.ceil(sections.margin / 2 / self.grid) + 1  # the cut may be as slanted as ends are
        taken = np.flatnonzero(self.bound.takes[:, self.size])
        shortest = min(way.run for item in taken for way in sections.ways[item]) / self.grid
        low = math.floor(shortest) - play
        high = self.far[not upright] - low  # as far off the other end, for the mirror image
        cut = self.model.new_int_var(min(low, high), max(low, high), "cut")
        for number, place in enumerate(self.places):
            start, size = (place.x, place.run) if upright else (place.y, place.rise)
            before, behind = (self.model.new_bool_var(f"{number}_{way}") for way in ("before", "behind"))
            self.model.add_exactly_one(before, behind, ~place.lies)
            self.model.add(start + size <= cut + play).only_enforce_if(before)
            self.model.add(start >= cut - play).only_enforce_if(behind)

    def solve(self, solver: cp_model.CpSolver) -> cp_model.CpSolverStatus:
        """Whether there are such places; where there are none, the sheet does not do."""
        self.bound.spend(A_QUESTION)
        solver.parameters.use_timetable_edge_finding_in_cumulative = True
        solver.parameters.cp_model_presolve = False  # it took longer than all the rest
        return solver.solve(self.model)
