"""A good plan at once: parts in falling order, each where it spoils least, for each size of sheet."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator

from nesting.packing.instance import Item
from nesting.packing.state import Prefer, Rules, Sheet, State

ORDERS: tuple[Callable[[Item], tuple[int, ...]], ...] = (
    lambda item: (-item.twice_area,),
    lambda item: (-item.length, -max(item.start, item.end)),
    lambda item: (-max(item.start, item.end), -item.length),
    lambda item: (-min(item.length, max(item.start, item.end)), -item.twice_area),
)


def all_items(rules: Rules) -> list[int]:
    """Each item as often as it is wanted."""
    return [index for index, item in enumerate(rules.instance.items) for _ in range(item.count)]


def first_plans(rules: Rules) -> Iterator[State]:
    """Complete states, from each order and each size preferred; each slimmed afterwards."""
    sizes: list[int | None] = [None, *range(len(rules.instance.sizes))]
    pairings = (0.0, 1.0) if any(rules.pairs.ranked.values()) else (0.0,)
    for order, size, pairing in itertools.product(ORDERS, sizes, pairings):
        items = sorted(all_items(rules), key=lambda index: order(rules.instance.items[index]))
        state = State(rules)
        state.fill(items, float("inf"), Prefer(size), pairing=pairing)
        if not state.waiting:
            slim(state)
            yield state


def slim(state: State) -> None:
    """Repack each sheet's parts on the cheapest sheet that takes them all."""
    rules = state.rules
    for index, sheet in enumerate(state.sheets):
        others = State(rules, state.sheets[:index] + state.sheets[index + 1 :])
        for size in sorted(range(len(rules.prices)), key=rules.prices.__getitem__):
            if rules.prices[size] >= rules.prices[sheet.size]:
                break
            if others.left_of(size) == 0:
                continue
            repacked = repack(rules, sheet, size)
            if repacked is not None:
                state.sheets[index] = repacked
                break


def repack(rules: Rules, sheet: Sheet, size: int) -> Sheet | None:
    """The parts of a sheet on one of another size, if one of the plain orders gets them all in."""
    items = list(sheet.items().elements())
    for order, pairing in itertools.product(ORDERS, (0.0, 1.0)):
        state = State(rules)
        state.open(size)
        ordered = sorted(items, key=lambda index: order(rules.instance.items[index]))
        state.fill(ordered, 0, Prefer(), pairing=pairing)
        if not state.waiting:
            return state.sheets[0]
    return None
