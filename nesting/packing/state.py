"""Sheets being filled: putting parts in, taking subtrees out, and what is still to be placed."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from nesting.packing.instance import Instance
from nesting.packing.layout import Candidate, Cutter, DoesNotFitError, Key, Node, Shape, area_of, shapes_of
from nesting.packing.pairs import Pair, Pairs


class Rules:
    """What does not change during a search: the shapes of the items and the rules of each size."""

    def __init__(self, instance: Instance) -> None:
        self.instance = instance
        self.shapes = [shapes_of(item, instance.mirrored) for item in instance.items]
        self.cutters = [Cutter(instance, size) for size in instance.sizes]
        self.areas = [item.twice_area / 2 for item in instance.items]
        self.pairs = Pairs(instance)
        self.prices = [size.price for size in instance.sizes]
        roots = [cutter.root() for cutter in self.cutters]
        self.takes = [
            [bool(cutter.candidates(root, index, shapes))
             for cutter, root in zip(self.cutters, roots, strict=True)]
            for index, shapes in enumerate(self.shapes)
        ]  # fmt: skip

    def homeless(self) -> list[int]:
        """Items that no sheet can take, or that no rail can cut out."""
        return [index for index, takes in enumerate(self.takes) if not any(takes)]


class Sheet:
    """One sheet being filled: its tree, its free pieces, and the worth of these."""

    __slots__ = ("free", "root", "size", "worth")

    def __init__(self, size: int, root: Node) -> None:
        self.size = size
        self.root = root
        self.refresh()

    def refresh(self) -> None:
        """Find the free pieces anew."""
        self.free = [node for node in self.root.walk() if node.free]
        self.worth = sum(area_of(node.piece) ** Cutter.VALUE for node in self.free)

    def copy(self) -> Sheet:
        """A sheet of its own."""
        return Sheet(self.size, self.root.copy())

    def items(self) -> Counter[int]:
        """How many of each item lie on it."""
        return Counter(node.item for node in self.root.walk() if node.item is not None)


@dataclass
class State:
    """Sheets opened and items still to be placed; incomplete states are normal."""

    rules: Rules
    sheets: list[Sheet] = field(default_factory=list)
    waiting: list[int] = field(default_factory=list)

    @property
    def price(self) -> int:
        """Of all sheets opened."""
        return sum(self.rules.prices[sheet.size] for sheet in self.sheets)

    @property
    def missing(self) -> float:
        """Area of the items still to be placed."""
        return sum(self.rules.areas[item] for item in self.waiting)

    def score(self) -> tuple[float, float]:
        """Less is better: what is missing, then free room in small pieces."""
        return self.missing, -sum(sheet.worth for sheet in self.sheets)

    def copy(self) -> State:
        """A state of its own."""
        return State(self.rules, [sheet.copy() for sheet in self.sheets], list(self.waiting))

    def left_of(self, size: int) -> int | None:
        """How many more of a size can be had; None for as many as needed."""
        count = self.rules.instance.sizes[size].count
        return None if count is None else count - sum(s.size == size for s in self.sheets)

    def place(self, item: int, rng: random.Random | None, blink: float) -> bool:
        """Put an item where it spoils least; each place is overlooked with chance ``blink``."""
        found = self._best(item, self.rules.shapes[item], rng, blink)
        if found is None:
            return False
        sheet, node, way = found
        self.rules.cutters[sheet.size].insert(node, item, way)
        self._settle(sheet, node)
        return True

    def place_pair(self, pair: Pair, rng: random.Random | None, blink: float) -> bool:
        """Put two items in as one blank, where it spoils least."""
        found = self._best(pair.items, (pair.blank,), rng, blink)
        if found is None:
            return False
        sheet, node, way = found
        cutter = self.rules.cutters[sheet.size]
        try:
            pair.fill(cutter, cutter.insert(node, None, way))
        except DoesNotFitError:  # rounding, at a place where the blank just fits
            node.clear()
            return False
        self._settle(sheet, node)
        return True

    def _settle(self, sheet: Sheet, node: Node) -> None:
        """Count the free pieces that an insertion has made of one."""
        made = [kid for kid in node.walk() if kid.free]
        sheet.free.remove(node)
        sheet.free.extend(made)
        sheet.worth += sum(area_of(kid.piece) ** Cutter.VALUE for kid in made)
        sheet.worth -= area_of(node.piece) ** Cutter.VALUE

    def _best(
        self, item: Key, shapes: tuple[Shape, ...], rng: random.Random | None, blink: float
    ) -> tuple[Sheet, Node, Candidate] | None:
        best: tuple[Sheet, Node, Candidate] | None = None
        least = float("inf")
        for sheet in self.sheets:
            cutter = self.rules.cutters[sheet.size]
            for node in sheet.free:
                ways = node.cache.get(item)
                if ways is None:
                    ways = cutter.candidates(node, item, shapes)
                for way in ways:
                    if way.cost >= least:
                        break
                    if rng is None or rng.random() >= blink:
                        best, least = (sheet, node, way), way.cost
                        break
        return best

    def open(self, size: int) -> None:
        """Take one more sheet of a size."""
        self.sheets.append(Sheet(size, self.rules.cutters[size].root()))

    def fill(
        self,
        order: Sequence[int],
        limit: float,
        choose: SizeChooser,
        rng: random.Random | None = None,
        blink: float = 0.0,
        pairing: float = 0.0,
    ) -> None:
        """Place items in this order; open a sheet where none fits and the money limit allows.

        A tapered item is put in with a partner with chance ``pairing``, if a blank for two fits.
        """
        price = self.price
        self.waiting = []
        left = Counter(order)
        for item in order:
            if not left[item]:
                continue
            left[item] -= 1
            pair = self._partner(item, left, rng, pairing)
            if self._put(item, pair, left, rng, blink):
                continue
            size = choose(self, item, limit - price)
            if size is None:
                self.waiting.append(item)
                continue
            self.open(size)
            price += self.rules.prices[size]
            if not self._put(item, pair, left, None, 0.0):
                self.waiting.append(item)

    def _partner(
        self, item: int, left: Counter[int], rng: random.Random | None, chance: float
    ) -> Pair | None:
        if not chance or (rng is not None and rng.random() >= chance):
            return None
        return self.rules.pairs.best(item, +left)

    def _put(
        self, item: int, pair: Pair | None, left: Counter[int], rng: random.Random | None, blink: float
    ) -> bool:
        """Put an item in, with its partner if both fit; before a sheet is opened nothing is overlooked."""
        if pair is not None and self.place_pair(pair, rng, blink):
            left[pair.items[1]] -= 1
            return True
        return self.place(item, rng, blink) or (blink > 0 and self.place(item, None, 0.0))

    def sizes_for(self, item: int, budget: float) -> list[int]:
        """Sizes that take the item, can still be had, and cost no more than this."""
        return [
            size
            for size, takes in enumerate(self.rules.takes[item])
            if takes and self.rules.prices[size] <= budget and self.left_of(size) != 0
        ]

    def take_out(self, sheet: Sheet, node: Node) -> None:
        """Free a node; what lay in it waits; where both kids of a cut are free, the cut goes."""
        self.waiting.extend(kid.item for kid in node.walk() if kid.item is not None)
        node.clear()
        while (parent := node.parent) is not None and all(kid.free for kid in parent.kids):
            node = parent
            node.clear()
        if sheet.root.free:
            self.sheets.remove(sheet)
        else:
            sheet.refresh()


class SizeChooser:
    """Chooses the size of a new sheet: of those that take the item and can be paid, or None."""

    def __call__(self, state: State, item: int, budget: float) -> int | None:
        """Return a size's index."""
        raise NotImplementedError


class Prefer(SizeChooser):
    """A given size where it can, else the one with the least price for its area."""

    def __init__(self, size: int | None = None) -> None:
        self.size = size

    def __call__(self, state: State, item: int, budget: float) -> int | None:
        """Return the preferred size, or the cheapest by area."""
        sizes = state.sizes_for(item, budget)
        if self.size in sizes:
            return self.size
        areas = [size.length * size.width for size in state.rules.instance.sizes]
        return min(sizes, key=lambda size: (state.rules.prices[size] / areas[size], size),
                   default=None)  # fmt: skip


class Any(SizeChooser):
    """Any of them, at random."""

    def __init__(self, rng: random.Random) -> None:
        self.rng = rng

    def __call__(self, state: State, item: int, budget: float) -> int | None:
        """Return a random size."""
        sizes = state.sizes_for(item, budget)
        return self.rng.choice(sizes) if sizes else None
