"""What is too much for a sheet is still too much when a part is exchanged for a larger one.

Larger is what takes no less of every line in the model that refutes a sheet (own argument, no source): places
for the larger parts are places for the lesser ones too. So one refutation forbids many contents at once.
Which of two parts is larger depends on the model: lines across a sheet know a taper by its narrow end, joints
by its width in the middle and by how much it tapers.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from nesting.packing.functions import Ints
from nesting.packing.instance import Item
from nesting.packing.sections import along, beside
from nesting.packing.sure import Sure, sure_area

Larger = NDArray[np.bool_]  # [item, other]: the item can stand for the other
AtLeast = tuple[tuple[int, ...], int]  # of these items together no fewer than so many


def larger_than(items: Sequence[Item], sure: Sequence[Sure]) -> Larger:
    """Which item takes no less than which other of lines across a sheet, in each way that it may lie."""
    return _no_less(items, np.array([[s.chord_length, s.chord_width, s.run, s.rise] for s in sure]))


def larger_joined(items: Sequence[Item], lean: float) -> Larger:
    """The same by all that joints know of a part: where lines cross it, its mean chords, slopes and area.

    Where ``lean`` and all slopes are 0 it is what lines know, and the area.
    """
    ways = [(along(item, lean), beside(item, lean)) for item in items]
    known = [[x for way in both for x in (way.run, way.left + way.right, -way.slope)] for both in ways]
    areas = [[sure_area(item)] for item in items]
    return _no_less(items, np.concatenate((np.array(known), np.array(areas)), axis=1))


def _no_less(items: Sequence[Item], sizes: NDArray[np.int64] | NDArray[np.float64]) -> Larger:
    """Which item is nowhere less than which other, and no freer; ``sizes`` [item, size]."""
    ways = np.array([[way in item.turns() for way in (False, True)] for item in items])
    no_less = (sizes[:, None, :] >= sizes[None, :, :]).all(axis=2)
    no_freer = (ways[:, None, :] <= ways[None, :, :]).all(axis=2)
    return np.logical_and(no_less, no_freer)


def lifted(content: Ints, larger: Larger) -> list[AtLeast]:
    """A content as numbers of parts, all of which a sheet reaches only if it holds no less than the content.

    The content's items are put into chains, each item no larger than the one before. Of a chain's first
    items, and of what is larger than one of these, there must be as many as these are; where that is so all
    along, each part of the chain has a part that stands for it. No item is counted in two chains.
    """
    no_less, larger_ones = larger.tolist(), larger.sum(axis=0).tolist()  # lists are read sooner
    count = content.tolist()
    chains: list[list[int]] = []
    held = [int(item) for item in np.flatnonzero(content)]
    for item in sorted(held, key=lambda i: (larger_ones[i], i)):
        chain = next((chain for chain in chains if no_less[chain[-1]][item]), None)
        if chain is None:
            chains.append([item])
        else:
            chain.append(item)
    standing: list[dict[int, int]] = [{} for _ in chains]  # for each what may stand, from which place on
    where = {item: number for number, chain in enumerate(chains) for item in chain}
    for item, lesser in enumerate(no_less):
        places = [(next((at for at, other in enumerate(chain) if lesser[other]), None), number)
                  for number, chain in enumerate(chains) if where.get(item, number) == number]  # fmt: skip
        first = min(((place, number) for place, number in places if place is not None), default=None)
        if first is not None:
            standing[first[1]][item] = first[0]
    return [
        (tuple(i for i, place in stand.items() if place <= at), sum(count[i] for i in chain[: at + 1]))
        for chain, stand in zip(chains, standing, strict=True)
        for at in range(len(chain))
    ]
