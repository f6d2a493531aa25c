"""An instance made into the tables that the inner loops work on."""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Callable, Sequence
from copy import copy
from dataclasses import replace
from fractions import Fraction
from typing import Any

import numpy as np

from nesting.packing import tables as c
from nesting.packing.blocked import roots_of
from nesting.packing.clearance import may_lie
from nesting.packing.compiled import Loops
from nesting.packing.filling import best_way
from nesting.packing.instance import Instance, Item
from nesting.packing.layout import Shape, shapes_of
from nesting.packing.leaning import MILLION
from nesting.packing.pairs import Pairs, blank_of
from nesting.packing.tables import Table, Work
from nesting.packing.trees import open_root

UNLIMITED = 1 << 30
ANSWERS = 1 << 15  # kept in mind, a power of two
ROOM = 12_000_000  # numbers in the nodes of one work: 96 MB
ORDERS: tuple[Callable[[Item], tuple[int, ...]], ...] = (
    lambda item: (-item.twice_area,),
    lambda item: (-item.length, -max(item.start, item.end)),
    lambda item: (-max(item.start, item.end), -item.length),
    lambda item: (-min(item.length, max(item.start, item.end)), -item.twice_area),
)


class Rules:
    """What does not change during a search.

    Attributes
    ----------
    table : Table
    takes : list of list of bool
        Which size takes which item, the rails considered: ``takes[item][size]``. Of a size with bad zones
        no is only said where it is sure, so proofs may believe it.
    finds : list of list of bool
        On which size the search can put which item; ``table.takes`` says the same. It says yes less often
        than ``takes`` where there are bad zones.
    loops : Loops
        Calls the inner loops, compiled or not.
    draws : [1]
        Random numbers for what is placed from Python; its own, so that no other job has a say in them.
    """

    def __init__(self, instance: Instance, loops: Loops | None = None) -> None:
        self.instance = instance
        self.loops = loops or Loops()
        self.shapes = [shapes_of(item, instance.mirrored) for item in instance.items]
        self.areas = [item.twice_area / 2 for item in instance.items]
        self.draws = np.array([1], dtype=np.int64)
        self.pairs = Pairs(instance, self.shapes)
        self.prices = [size.price for size in instance.sizes]
        self.every: list[Shape] = []  # as the table has them
        self.table = self._table()
        self.repacked: dict[tuple[int, tuple[int, ...]], Any] = {}  # what sheets were tried on what sizes
        self.rows, self.slots = self._room()
        self.finds = self._finds()
        self.table.takes[:] = self.finds
        self.takes = self._takes()

    def homeless(self) -> list[int]:
        """Items that surely no sheet can take, or no rail can cut out."""
        return [index for index, takes in enumerate(self.takes) if not any(takes)]

    def lost(self) -> list[int]:
        """Items that the search finds no place for on any sheet, though there may be one beside bad zones."""
        return [index for index, (takes, finds) in enumerate(zip(self.takes, self.finds, strict=True))
                if any(takes) and not any(finds)]  # fmt: skip

    def with_counts(self, counts: Sequence[int]) -> Rules:
        """The same, with other numbers of sheets to be had; answers are kept in common."""
        twin = copy(self)
        sizes = self.table.sizes.copy()
        sizes[:, c.COUNT] = counts
        twin.table = self.table._replace(sizes=sizes)
        return twin

    def all_items(self) -> list[int]:
        """Each item as often as it is wanted."""
        return [index for index, item in enumerate(self.instance.items) for _ in range(item.count)]

    def _table(self) -> Table:
        items, sizes, saw = self.instance.items, self.instance.sizes, self.instance.saw
        first, pairs, first_pair = self._shapes_and_pairs()
        usable = [size.usable for size in sizes]
        reach, single = (-1 if r is None else max(0, r) for r in (saw.reach(), saw.reach(joined=False)))
        step = max(1.0, OFFCUT_STEP * max(a * b for a, b in usable)) if usable else 1.0
        roots = [roots_of(size, saw.kerf, saw.reach(), items) for size in sizes]
        flat = list(itertools.chain.from_iterable(roots))
        rng = random.Random(1)
        return Table(
            facts=ints([saw.kerf, reach, single, *self.instance.keep, len(items), len(sizes), round(step),
                        self.instance.total, min(self.prices, default=0), self._lean(), self.instance.tight]),
            credit=np.array([float(self.instance.credit)]),
            shapes=ints([[*s[:3], s.high, s.turned] for s in self.every], 5),
            sides=self._sides(first),
            first=ints(first),
            areas=np.array(self.areas, dtype=np.float64),
            ranks=ints([places(items, order) for order in ORDERS[:3]]),
            sizes=ints([[*s.region, s.trim.left, s.trim.lower, s.trim.right, s.trim.upper, s.price,
                         UNLIMITED if s.count is None else s.count, s.usable[0] * s.usable[1], s.play,
                         bool(s.blocked)] for s in sizes], 13),
            takes=np.ones((len(items), len(sizes)), dtype=np.int64),
            heights=ints(sorted({h for item in items if not item.rectangular for h in item.frame[1:]})),
            pairs=pairs,
            first_pair=first_pair,
            roots=padded(flat),
            root_rows=ints([len(root) for root in flat]),
            first_root=ints([0, *itertools.accumulate(len(r) for r in roots)]),
            wanted=ints([item.count for item in items]),
            keys=ints([rng.randrange(1 << 40) * 64 for _ in items]),
            asked=np.full((ANSWERS, 7), c.NONE, dtype=np.int64),
            costs=np.zeros(ANSWERS),
        )  # fmt: skip

    def _lean(self) -> int:
        """How far a part may lean, in millionths; where no part is tapered there is nothing to lean on."""
        tapered = any(shape.left != shape.right for shapes in self.shapes for shape in shapes)
        return math.floor(self.instance.lean * MILLION) if tapered else 0

    def _sides(self, first: list[int]) -> Any:
        sides = np.zeros((len(self.every), 2), dtype=np.int64)
        for begin, end in [*itertools.pairwise(first), *((k, k + 1) for k in range(first[-1], len(sides)))]:
            both = [sorted((s.length, min(s.left, s.right))) for s in self.every[begin:end]]
            sides[begin] = [min(short for short, _ in both), min(long for _, long in both)]
        return sides

    def _shapes_and_pairs(self) -> tuple[list[int], Any, Any]:
        first = [0, *itertools.accumulate(len(shapes) for shapes in self.shapes)]
        self.every = list(itertools.chain.from_iterable(self.shapes))
        rows, begin = [], [0]
        for item in range(len(self.shapes)):
            for pair in self.pairs.ranked.get(item, ()):
                one, other = pair.items
                lower = first[one] + self.shapes[one].index(pair.lower)
                upper = first[other] + self.shapes[other].index(pair.upper)
                rows.append([other, len(self.every), lower, upper])
                self.every.append(pair.blank)
            for place, shape in enumerate(self.shapes[item]):
                if shape.left != shape.right and not shape.high:
                    rows.append([c.NONE, len(self.every), first[item] + place, c.NONE])
                    self.every.append(blank_of(shape))
            begin.append(len(rows))
        return first, ints(rows, 4), ints(begin)

    def _room(self) -> tuple[int, int]:
        """Rows for the fullest sheet, and as many slots as go into memory.

        A part takes four rows, in a blank six; what cuts are left over is seldom more.
        """
        largest = max((size.usable[0] * size.usable[1] for size in self.instance.sizes), default=0)
        more = self.instance.spares or [0] * len(self.areas)
        small = sorted(area for item, spare, area in zip(self.instance.items, more, self.areas, strict=True)
                       for _ in range(item.count + spare))  # fmt: skip
        parts = sum(total <= largest for total in itertools.accumulate(small)) + 1
        rows = 6 * parts + 8 + c.MOST_NEW + int(max(self.table.root_rows, default=1))
        slots = min(self.instance.total, max(4, ROOM // (rows * c.COLUMNS)))
        return rows, max(1, slots)

    def _takes(self) -> list[list[bool]]:
        """What the search finds, and of sizes with zones what fits without them and may lie clear of them."""
        sizes, items = self.instance.sizes, self.instance.items
        if not any(size.blocked for size in sizes):
            return self.finds
        lean = self.instance.lean if self.table.facts[c.LEAN] else Fraction(0)
        clear = Rules(replace(self.instance, sizes=tuple(replace(size, blocked=()) for size in sizes)),
                      self.loops).finds  # fmt: skip
        return [
            [finds or (clear[index][of] and may_lie(item, size, lean))
             for of, (size, finds) in enumerate(zip(sizes, self.finds[index], strict=True))]
            for index, item in enumerate(items)
        ]  # fmt: skip

    def _finds(self) -> list[list[bool]]:
        takes = [[False] * len(self.prices) for _ in self.shapes]
        work = self.work(1)
        for size in range(len(self.prices)):
            for root in range(*self.table.first_root[size : size + 2]):
                clear(work)
                self.loops(open_root, self.table, work, size, root)
                for item, (begin, end) in enumerate(itertools.pairwise(self.table.first)):
                    if begin < end <= len(self.every):
                        way = self.loops(best_way, self.table, work, begin, end, self.draws, 0)
                        takes[item][size] |= way[1] >= 0
        return takes

    def work(self, slots: int | None = None) -> Work:
        """Empty sheets."""
        slots = self.slots if slots is None else slots
        rows, total = self.rows, self.instance.total

        def whole(*shape: int) -> Any:
            return np.zeros(shape, dtype=np.int64)

        made = Work(whole(slots, rows, c.COLUMNS), np.zeros((slots, rows)), whole(slots, rows),
                    whole(slots, rows), whole(slots, 6), whole(slots + 1), whole(slots + 1), whole(total + 1),
                    whole(total + 1), whole(len(self.shapes)), whole(7), whole(2 * rows),
                    whole(2 * rows), whole(rows, 3))  # fmt: skip
        clear(made)
        return made


OFFCUT_STEP = 0.005  # of the largest sheet: offcuts that differ by less are equal


def clear(work: Work) -> None:
    """Close all sheets; nothing waits, and nothing leans."""
    slots = len(work.order) - 1
    work.head[:] = 0
    work.idle[:slots] = np.arange(slots)[::-1]
    work.counts[:] = (0, 0, slots, 0, 0, c.EITHER, c.EITHER)


def ints(values: list[Any], columns: int = 0) -> Any:
    """Whole numbers as an array, also where there are none."""
    if not values and columns:
        return np.zeros((0, columns), dtype=np.int64)
    return np.array(values, dtype=np.int64)


def padded(roots: list[list[list[int]]]) -> Any:
    """Lists of rows, made equally long."""
    most = max((len(root) for root in roots), default=1)
    made = np.zeros((len(roots), most, c.COLUMNS), dtype=np.int64)
    for index, root in enumerate(roots):
        made[index, : len(root)] = root
    return made


def places(items: tuple[Item, ...], order: Callable[[Item], tuple[int, ...]]) -> list[int]:
    """The place of each item in an order; equal ones have the same."""
    keys = sorted({order(item) for item in items})
    return [keys.index(order(item)) for item in items]
