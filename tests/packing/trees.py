"""Cutting trees made by hand, cut by cut, with the engine's own functions for a single cut."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, NamedTuple

from nesting.packing import tables as c
from nesting.packing.filling import best_in
from nesting.packing.fitting import worth_of
from nesting.packing.instance import Instance, Size
from nesting.packing.layout import Node
from nesting.packing.rules import Rules
from nesting.packing.state import State, tree_of
from nesting.packing.trees import cut_out, settle


class Way(NamedTuple):
    """What a way to put an item in spoils, and how it goes, packed."""

    cost: float
    packed: int

    @property
    def across_first(self) -> bool:
        """The first cut runs across the piece."""
        return bool(self.packed & 1)


class Cutter:
    """Cuts parts out of sheets of one size; ``leaning``: they may lean as far as the instance lets them."""

    def __init__(self, instance: Instance, size: Size, leaning: bool = False) -> None:
        self.rules = Rules(replace(instance, sizes=(size,)))
        self.lean = int(self.rules.table.facts[c.LEAN]) if leaning else 0
        self.at: dict[int, tuple[State, int]] = {}

    def root(self) -> Node:
        """A whole sheet, trimmed."""
        state = State(self.rules, 1)
        state.open(0)
        return self._known(state, 0, None)

    def _known(self, state: State, row: int, parent: Node | None) -> Node:
        node = tree_of(self.rules, state.rows_of(0), row, parent)
        self._number(state, node, row)
        return node

    def _number(self, state: State, node: Node, row: int) -> None:
        self.at[id(node)] = (state, row)
        rows = [int(kid) for kid in state.work.nodes[0, row, c.KID : c.OTHER + 1] if kid >= 0]
        for kid, number in zip(node.kids, rows, strict=True):
            self._number(state, kid, number)

    def candidates(self, node: Node, item: int, _: Any = None) -> list[Way]:
        """The cheapest way to put an item into a free piece, if there is one: cost and packed way."""
        begin, end = (int(i) for i in self.rules.table.first[item : item + 2])
        piece = node.piece[:6]
        way = self.rules.loops(best_in, self.rules.table, 0, piece, int(node.piece[6]), worth_of(piece),
                               begin, end, self.lean, c.EITHER, c.EITHER)  # fmt: skip
        return [Way(*way)] if way[1] >= 0 else []

    def insert(self, node: Node, item: int, way: Way) -> Node:
        """Put an item into a free piece; returns its cell."""
        state, row = self.at[id(node)]
        packed = way.packed
        cell = self.rules.loops(cut_out, self.rules.table, state.work, 0, row, packed >> 4, packed & 8 != 0,
                                packed & 4 != 0, packed & 2 != 0, packed & 1 != 0, item)  # fmt: skip
        assert cell >= 0
        self.rules.loops(settle, state.work, 0, row)
        made = self._known(state, row, node.parent)
        node.piece, node.item, node.shape, node.spot = made.piece, made.item, made.shape, made.spot
        node.line, node.kids, node.lies = made.line, made.kids, made.lies
        for kid in node.kids:
            kid.parent = node
        self.at[id(node)] = (state, row)
        return next(n for n in node.walk() if n.item is not None and self.at[id(n)][1] == cell)
