"""Some rectangles all cut out of one sheet, by its most value (:mod:`nesting.packing.single`)."""

from __future__ import annotations

import math

import numpy as np

from nesting.packing.blocks import Block, laid
from nesting.packing.functions import Ints
from nesting.packing.recursion import Piece, Tree, sides
from nesting.packing.rules import Rules
from nesting.packing.single import MOST_WORTH, most_value
from nesting.packing.state import State

MOST_PARTS = 16
MOST_BUILT = 20_000  # rectangles joined


def can_be_asked(rules: Rules, size: int, *contents: Ints) -> bool:
    """Whether :func:`cut_exactly` looks at such contents: few parts, all rectangles, no blocked zone."""
    items = rules.instance.items
    held = np.flatnonzero(sum(contents))
    few = len(held) > 0 and contents[0].sum() <= MOST_PARTS
    return few and not rules.instance.sizes[size].blocked and all(items[i].rectangular for i in held)


def cut_exactly(rules: Rules, size: int, content: Ints, beside: Ints | None = None) -> State | None:
    """One sheet that holds a content, if there is one and it is found.

    None too where no rail reaches, or :func:`can_be_asked` says no.

    Parameters
    ----------
    content : [item]
        How many of each.
    beside : [item], optional
        More parts, as many of which are to lie beside as go; by their area.
    """
    items, sheet = rules.instance.items, rules.instance.sizes[size]
    more = np.zeros_like(content) if beside is None else beside
    asked = [(int(item), int(counts[item]), must) for counts, must in ((content, True), (more, False))
             for item in np.flatnonzero(counts)]  # fmt: skip
    if not can_be_asked(rules, size, content, more):
        return None
    areas = [items[item].length * items[item].start for item, _, _ in asked]
    optional = sum(area * many for area, (_, many, must) in zip(areas, asked, strict=True) if not must)
    dearer = 1 + optional // min(areas)  # so that no number of others is worth one that must be there
    pieces: list[Piece] = []
    across: list[bool] = []
    for area, (item, many, must) in zip(areas, asked, strict=True):
        one, turns = items[item], items[item].turns()
        a, b = (one.start, one.length) if turns == (True,) else (one.length, one.start)
        across.append(turns == (True,))
        pieces.append((a, b, area * dearer if must else area, many, len(turns) > 1))
    kerf = rules.instance.saw.kerf
    if sum(piece[2] * many for piece, (_, many, _) in zip(pieces, asked, strict=True)) > MOST_WORTH:
        return None
    found = most_value(pieces, sheet.usable, kerf, seconds=math.inf, most_built=MOST_BUILT)
    if found.tree is None or any(
        must and held < many for held, (_, many, must) in zip(found.counts, asked, strict=True)
    ):
        return None
    held = [item for item, _, _ in asked]
    block = _Blocks(rules, held, across, pieces).of(found.tree, *sheet.usable)
    return laid(rules, size, [block], 1)


class _Blocks:
    """A tree of rectangles as blocks, each as long or as wide as what it is cut from."""

    def __init__(self, rules: Rules, items: list[int], across: list[bool], pieces: list[Piece]) -> None:
        self.rules, self.items, self.across, self.pieces = rules, items, across, pieces
        self.kerf = rules.instance.saw.kerf

    def of(self, tree: Tree, length: int, width: int) -> Block:
        """The block of a tree, in a piece so long and so wide."""
        if len(tree) == 2:
            return self._leaf(self.items[tree[0]], bool(tree[1]) != self.across[tree[0]])
        way, first, second = tree
        least = sides(first, self.pieces, self.kerf)
        if way == "beside":
            one, other = (least[0], width), (length - least[0] - self.kerf, width)
        else:
            one, other = (length, least[1]), (length, width - least[1] - self.kerf)
        kids = tuple(
            self._sized(self.of(part, *room), *room) for part, room in ((first, one), (second, other))
        )
        return Block(length, width, width, False, 0, 0, None, "beside" if way == "beside" else "over", kids)

    def _leaf(self, item: int, turned: bool) -> Block:
        shape = next(s for s in self.rules.shapes[item] if s.turned == turned and not s.high)
        return Block(shape.length, shape.left, shape.right, turned, 0, 0, item)

    def _sized(self, block: Block, length: int, width: int) -> Block:
        return Block(length, width, width, False, 0, 0, None, "same", (block,))
