"""A good plan at once: parts in falling order, each where it spoils least, for each size of sheet."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator

from nesting.packing import tables as c
from nesting.packing.filling import CHEAPEST
from nesting.packing.rules import ORDERS, Rules
from nesting.packing.state import State
from nesting.packing.tables import Array

MOST_TRIED = 50_000  # sheets with their parts, of which it is remembered on which sizes they go
WAYS = (False, False), (True, False), (False, True)  # whether tapers go in in pairs, or in blanks
MANY = 200  # parts: beyond, one order has to do for a plan at once


def first_plans(rules: Rules) -> Iterator[State]:
    """Complete states, from each order and each size preferred; each slimmed afterwards."""
    sizes = [CHEAPEST, *range(len(rules.instance.sizes))]
    ways = WAYS if len(rules.table.pairs) else WAYS[:1]
    orders = ORDERS if rules.instance.total <= MANY else ORDERS[:1]
    for order, size, (pairing, blanking) in itertools.product(orders, sizes, ways):
        items = sorted(rules.all_items(), key=lambda index: order(rules.instance.items[index]))
        state = State(rules)
        state.fill(items, prefer=size, pairing=pairing, blanking=blanking)
        if not state.waiting:
            slim(state)
            yield state


def slim(state: State) -> None:
    """Repack each sheet's parts on the cheapest sheet that takes them all."""
    rules = state.rules
    prices = rules.prices
    by_price = sorted(range(len(prices)), key=prices.__getitem__)
    sizes = {slot: state.size_of(slot) for slot in state.slots}
    used = Counter(sizes.values())
    better: dict[int, tuple[Array, int]] = {}
    for slot, now in sizes.items():
        for size in by_price:
            if prices[size] >= prices[now]:
                break
            count = rules.instance.sizes[size].count
            if count is not None and used[size] >= count:
                continue
            repacked = repack(rules, list(state.content(slot).elements()), size)
            if repacked is not None:
                better[slot] = repacked, size
                used[now], used[size] = used[now] - 1, used[size] + 1
                break
    if better:
        state.exchange(better)


def repack(rules: Rules, items: list[int], size: int) -> Array | None:
    """The parts of a sheet on one of another size, if one of the plain orders gets them all in.

    The plans of a walk have most sheets in common, so what was tried is remembered.
    """
    tried = (size, tuple(sorted(items)))
    if tried not in rules.repacked:
        if len(rules.repacked) == MOST_TRIED:
            rules.repacked.clear()
        rules.repacked[tried] = _repacked(rules, list(tried[1]), size)
    return rules.repacked[tried]


def _repacked(rules: Rules, items: list[int], size: int) -> Array | None:
    largest = rules.table.sizes[size, c.AREA]
    if sum(rules.areas[item] for item in items) > largest or not all(rules.finds[i][size] for i in items):
        return None
    for order, (pairing, blanking) in itertools.product(ORDERS, WAYS):
        state = State(rules, 1)
        state.open(size)
        items = sorted(items, key=lambda index: order(rules.instance.items[index]))
        state.fill(items, 0, pairing=pairing, blanking=blanking)
        if not state.waiting:
            return state.rows_of(state.slots[0]).copy()
    return None
