"""A good plan at once: parts in falling order, each where it spoils least, for each size of sheet."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from nesting.packing import tables as c
from nesting.packing.filling import CHEAPEST
from nesting.packing.rules import ORDERS, Rules
from nesting.packing.state import State
from nesting.packing.tables import Array

MANY = 200  # parts: beyond, one order has to do for a plan at once


def first_plans(rules: Rules) -> Iterator[State]:
    """Complete states, from each order and each size preferred; each slimmed afterwards."""
    sizes = [CHEAPEST, *range(len(rules.instance.sizes))]
    pairings = (False, True) if any(rules.pairs.ranked.values()) else (False,)
    orders = ORDERS if rules.instance.total <= MANY else ORDERS[:1]
    for order, size, pairing in itertools.product(orders, sizes, pairings):
        items = sorted(rules.all_items(), key=lambda index: order(rules.instance.items[index]))
        state = State(rules)
        state.fill(items, prefer=size, pairing=pairing)
        if not state.waiting:
            slim(state)
            yield state


def slim(state: State) -> None:
    """Repack each sheet's parts on the cheapest sheet that takes them all."""
    rules = state.rules
    prices = rules.prices
    for slot in state.slots:
        used = [state.size_of(s) for s in state.slots if s != slot]
        for size in sorted(range(len(prices)), key=prices.__getitem__):
            if prices[size] >= prices[state.size_of(slot)]:
                break
            count = rules.instance.sizes[size].count
            if count is not None and used.count(size) >= count:
                continue
            repacked = repack(rules, list(state.content(slot).elements()), size)
            if repacked is not None:
                state.replace_slot(slot, repacked, size)
                break


def repack(rules: Rules, items: list[int], size: int) -> Array | None:
    """The parts of a sheet on one of another size, if one of the plain orders gets them all in."""
    largest = rules.table.sizes[size, c.AREA]
    if sum(rules.areas[item] for item in items) > largest or not all(rules.takes[i][size] for i in items):
        return None
    for order, pairing in itertools.product(ORDERS, (False, True)):
        state = State(rules, 1)
        state.open(size)
        state.fill(sorted(items, key=lambda index: order(rules.instance.items[index])), 0, pairing=pairing)
        if not state.waiting:
            return state.rows_of(state.slots[0]).copy()
    return None
