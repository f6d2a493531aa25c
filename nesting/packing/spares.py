"""Spare parts, out of what a plan leaves over."""

from __future__ import annotations

from nesting.packing.rules import ORDERS, Rules
from nesting.packing.state import State


def with_spares(rules: Rules, state: State) -> State:
    """A complete state with as many spares as go in, the largest first, each where it spoils least.

    None costs anything: no sheet more, no offcut that is credited, and no cut with joined rails.
    """
    state = state.copy()
    items = rules.instance.items
    for index in sorted(range(len(items)), key=lambda index: ORDERS[0](items[index])):
        for _ in range(rules.instance.spares[index]):
            more = state.copy()
            more.fill([index], limit=state.price - 1)  # one below: a sheet that costs nothing is one more
            value, _, joined, *_ = state.rank()
            with_it = more.rank()
            if more.waiting or with_it[0] > value or with_it[2] > joined:
                break
            state = more
    return state
