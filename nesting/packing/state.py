"""Sheets being filled, as Python sees them: a :class:`State` wraps the arrays of the inner loops."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from nesting.packing import tables as c
from nesting.packing.filling import CHEAPEST, fill, price_of
from nesting.packing.layout import Node
from nesting.packing.rules import Rules, clear
from nesting.packing.search import rank
from nesting.packing.tables import Array, Work
from nesting.packing.taking import take_out
from nesting.packing.trees import add_rooms, open_root

Rank = tuple[float, ...]
NO_LIMIT = 1 << 60
CERTAIN = 1 << 32  # as a chance


@dataclass(frozen=True, slots=True)
class Layout:
    """One sheet: the index of its size, and its cutting tree."""

    size: int
    root: Node


class State:
    """Sheets opened and items still to be placed; incomplete states are normal."""

    def __init__(self, rules: Rules, slots: int | None = None) -> None:
        self.rules = rules
        self.work: Work = rules.work(slots)

    @property
    def price(self) -> int:
        """Of all sheets opened."""
        return int(self.rules.loops(price_of, self.rules.table, self.work))

    @property
    def slots(self) -> list[int]:
        """The sheets' slots, in order."""
        return [int(s) for s in self.work.order[: self.work.counts[c.SHEETS]]]

    @property
    def waiting(self) -> list[int]:
        """Items still to be placed."""
        return [int(item) for item in self.work.waiting[: self.work.counts[c.WAITING]]]

    def rank(self) -> Rank:
        """Money less credit, sheets, joined cuts, tight sheets, the largest offcut, cuts; less is better."""
        found = np.zeros(c.LEVELS)
        self.rules.loops(rank, self.rules.table, self.work, found)
        return tuple(float(value) for value in found)

    def fill(
        self,
        items: Sequence[int],
        limit: int = NO_LIMIT,
        prefer: int = CHEAPEST,
        *,
        pairing: bool = False,
        blanking: bool = False,
    ) -> None:
        """Place items in this order; open a sheet where none fits and the money allows."""
        self.work.queue[: len(items)] = items
        rules = self.rules
        rules.loops(fill, rules.table, self.work, len(items), limit, prefer, rules.draws, 0,
                    CERTAIN if pairing else 0, CERTAIN if blanking else 0)  # fmt: skip

    def wait(self, items: Sequence[int]) -> None:
        """These wait from now on, and no others."""
        self.work.waiting[: len(items)] = items
        self.work.counts[c.WAITING] = len(items)

    def open(self, size: int, root: int = 0) -> int:
        """Take one more sheet of a size; returns its slot."""
        first = int(self.rules.table.first_root[size])
        return int(self.rules.loops(open_root, self.rules.table, self.work, size, first + root))

    def adopt(self, nodes: Array, size: int) -> None:
        """Take one more sheet, filled as these rows say."""
        s = self.open(size)
        rows = len(nodes)
        work = self.work
        work.nodes[s, :rows] = nodes
        node = work.nodes[s, :rows]
        spans = node[:, c.X1] - node[:, c.X0]
        heights = node[:, c.U0] - node[:, c.L0] + node[:, c.U1] - node[:, c.L1]
        work.worth[s, :rows] = (np.maximum(spans * heights, 0) / 2) ** 1.25
        gone = np.flatnonzero(node[:, c.ITEM] == c.GONE)
        work.spare[s, : len(gone)] = gone
        work.head[s] = (size, len(gone), 0, rows, (node[:, c.ITEM] >= 0).sum(), 1)
        self.rules.loops(add_rooms, work, s, 0)

    def content(self, slot: int) -> Counter[int]:
        """How many of each item lie on a sheet."""
        items = self.work.nodes[slot, : self.work.head[slot, c.TOP], c.ITEM]
        return Counter(int(item) for item in items if item >= 0)

    def size_of(self, slot: int) -> int:
        """Index of the sheet's size."""
        return int(self.work.head[slot, c.SIZE])

    def rows_of(self, slot: int) -> Array:
        """The rows of a sheet's tree."""
        return self.work.nodes[slot, : self.work.head[slot, c.TOP]]

    def copy(self) -> State:
        """A state of its own."""
        twin = State(self.rules, len(self.work.order) - 1)
        mine, other = self.work, twin.work
        for slot in self.slots:
            rows = self.work.head[slot, c.TOP]
            for name in ("nodes", "worth", "spare", "rooms"):
                getattr(other, name)[slot, :rows] = getattr(mine, name)[slot, :rows]
        for name in ("head", "order", "idle", "waiting", "counts"):
            getattr(other, name)[:] = getattr(mine, name)
        return twin

    def drop_surplus(self) -> None:
        """Take out parts that are cut more often than wanted; those not cut at all wait."""
        have = sum((self.content(slot) for slot in self.slots), Counter[int]())
        wanted = self.rules.table.wanted
        for index in reversed(range(len(self.slots))):
            slot = self.slots[index]
            for row in range(int(self.work.head[slot, c.TOP])):
                item = int(self.work.nodes[slot, row, c.ITEM])
                if item >= 0 and have[item] > wanted[item]:
                    have[item] -= 1
                    self.rules.loops(take_out, self.rules.table, self.work, index, row)
        short = Counter({item: int(count) for item, count in enumerate(wanted)}) - have
        self.wait(list(short.elements()))

    def layouts(self) -> tuple[Layout, ...]:
        """The cutting trees, fuller sheets of a size first."""
        order = sorted(self.slots, key=lambda s: (self.size_of(s), -int(self.work.head[s, c.PARTS])))
        return tuple(Layout(self.size_of(s), tree_of(self.rules, self.rows_of(s))) for s in order)

    def exchange(self, better: Mapping[int, tuple[Array, int]]) -> None:
        """Give the sheets of some slots other fillings and sizes; all slots are numbered anew."""
        contents = [better.get(s) or (self.rows_of(s).copy(), self.size_of(s)) for s in self.slots]
        clear(self.work)
        for rows, size in contents:
            self.adopt(rows, size)


def tree_of(rules: Rules, nodes: Array, row: int = 0, parent: Node | None = None) -> Node:
    """Rows of a slot as a tree of nodes."""
    n = [int(value) for value in nodes[row]]
    node = Node((n[c.X0], n[c.X1], n[c.L0], n[c.L1], n[c.U0], n[c.U1], bool(n[c.TURNED])), parent)
    if n[c.ITEM] >= 0:
        node.item, node.shape, node.spot = n[c.ITEM], rules.every[n[c.SHAPE]], (n[c.SPOT_X], n[c.SPOT_Y])
        node.lies = n[c.LIES]
    if n[c.KID] >= 0:
        node.line = ((n[c.AX], n[c.AY]), (n[c.BX], n[c.BY]), True)
        kids: Iterable[int] = (kid for kid in (n[c.KID], n[c.OTHER]) if kid >= 0)
        node.kids = tuple(tree_of(rules, nodes, kid, node) for kid in kids)
    return node
