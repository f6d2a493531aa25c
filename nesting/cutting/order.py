"""In which order the cuts of one sheet are made: heavy pieces, then equal settings, then risky parts.

After the heavy pieces a beam is searched: all orders are looked at while they are few, else the most
promising ones. A cut at the setting just used can always come next at no loss, so it is not branched over.
Where the beam was too narrow, cuts at one setting are then still apart: they are drawn together.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from nesting.cutting.criteria import HANDY, following, heavy_cuts, in_order, of_steps, score
from nesting.cutting.facts import EDGES, Facts
from nesting.cutting.steps import Breakdown, Step, When
from nesting.errors import NestingError

EFFORT = 1_500  # states kept, over all places of the order
LEAST_WIDTH, MOST_WIDTH = 4, 300
WAYS: tuple[When, ...] = ("at once", "in one piece", "in the part")


def best_breakdown(facts: Facts) -> Breakdown:
    """When to trim each edge: every edge's three ways in turn, the others as they are best so far."""
    best = Breakdown(facts)
    figures = of_steps(best.steps())
    open_edges = [edge for edge in EDGES if any(_trims(step, edge) for step in best.steps())]
    for edge in open_edges:
        for when in WAYS[1:]:
            try:
                tried = Breakdown(facts, {**best.way, edge: when}, best.known)
            except NestingError:  # a cut beyond the rails, with this trim still on
                continue
            new = of_steps(tried.steps())
            if new < figures:
                best, figures = tried, new
    return best


def _trims(step: Step, edge: str) -> bool:
    return step.kind == "trim" and step.edge == edge


@dataclass(frozen=True, slots=True)
class _State:
    """Some cuts made: how often the setting changed, and what was risked early."""

    changes: int
    early: int
    ready: tuple[int, ...]
    last: Any
    done: tuple[Any, ...] | None  # the place of a cut, and those before it

    @property
    def rank(self) -> tuple[int, int]:
        return self.changes, -self.early


def ordered(broken: Breakdown) -> list[Step]:
    """Order the cuts of a breakdown; each comes after the one that made its piece."""
    steps = broken.steps()
    if not steps:
        return []
    found = _drawn_together(_Search(steps).go())
    return min((found, steps), key=score)


def _drawn_together(order: list[Step]) -> list[Step]:
    """Move single cuts next to others of the same setting, while that makes the order better."""
    best, better = in_order(order, heavy_cuts(order)), True
    while better:
        better = False
        light = 1 + max((place for place, step in enumerate(order) if step.piece.area > HANDY), default=-1)
        for first, other in _moves(order):
            # behind the last heavy piece nothing heavy waits
            found = in_order(other, best[0] if first >= light else heavy_cuts(other))
            if found < best:
                order, best, better = other, found, True
                break
    return order


def _moves(order: list[Step]) -> Iterator[tuple[int, list[Step]]]:
    """Orders in which one cut has come before or behind another of its setting, and still can be made.

    With the first place that has another cut.
    """
    for i, step in enumerate(order):
        rest = order[:i] + order[i + 1 :]
        alike = [k for k, one in enumerate(rest) if one.setting == step.setting]
        if not alike:
            continue
        begin = next((k for k, one in enumerate(rest) if step in following(one)), -1) + 1
        end = min((k for k, one in enumerate(rest) if one in following(step)), default=len(rest))
        for place in sorted({*alike, *(k + 1 for k in alike)} - {i}):
            if begin <= place <= end:
                yield min(i, place), [*rest[:place], step, *rest[place:]]


class _Search:
    def __init__(self, steps: list[Step]) -> None:
        self.steps = steps
        at = {id(step): i for i, step in enumerate(steps)}
        self.after = [tuple(at[id(next_)] for next_ in following(step)) for step in steps]
        self.settings = [step.setting for step in steps]
        self.risks = [step.risk for step in steps]
        self.width = min(MOST_WIDTH, max(LEAST_WIDTH, EFFORT // len(steps)))

    def go(self) -> list[Step]:
        beam = [_State(0, 0, (0,), None, None)]
        for left in range(len(self.steps), 0, -1):
            best: dict[tuple[Any, Any], _State] = {}
            for state in beam:
                for i in self._next(state):
                    made = self._make(state, i, left)
                    key = made.ready, made.last
                    if key not in best or made.rank < best[key].rank:
                        best[key] = made
            beam = sorted(best.values(), key=lambda state: state.rank)[: self.width]
        found, done = [], beam[0].done
        while done is not None:
            found.append(self.steps[done[0]])
            done = done[1]
        return found[::-1]

    def _next(self, state: _State) -> list[int]:
        heavy = [i for i in state.ready if self.steps[i].piece.area > HANDY]
        if heavy:
            return [min(heavy, key=lambda i: (-self.steps[i].piece.area, self.settings[i] != state.last, i))]
        same = [i for i in state.ready if self.settings[i] == state.last]
        return [max(same, key=lambda i: (self.risks[i], -i))] if same else list(state.ready)

    def _make(self, state: _State, i: int, left: int) -> _State:
        ready = sorted((*(j for j in state.ready if j != i), *self.after[i]))
        return _State(
            state.changes + (state.last is not None and state.last != self.settings[i]),
            state.early + self.risks[i] * left,
            tuple(ready),
            self.settings[i],
            (i, state.done),
        )

