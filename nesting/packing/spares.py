"""Spare parts, out of what a plan leaves over."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from nesting.packing.improve import Improver
from nesting.packing.instance import Settings
from nesting.packing.pool import Pool
from nesting.packing.rules import ORDERS, Rules
from nesting.packing.state import State

TRIES, IN_VAIN = 3_000, 3  # to lay sheets anew with one spare more, and how many of these may fail
POLISH = 2_000  # tries, where sheets were laid anew

Stop = Callable[[], bool]


def with_spares(rules: Rules, state: State, settings: Settings, stop: Stop) -> State:
    """A complete state with spares, the largest first: beside what lies there, or laid anew with it.

    None costs anything: no sheet more, no offcut that is credited, no cut with joined rails, no room to spare
    where there would be hardly any.
    """
    instance, wanted = rules.instance, _worth_asking(rules, state)
    items = tuple(replace(item, count=item.count + many)
                  for item, many in zip(instance.items, wanted, strict=True))  # fmt: skip
    more = Rules(replace(instance, items=items, spares=()), rules.loops)
    state = _moved(more, state)
    missing = []
    for index in sorted(range(len(items)), key=lambda index: ORDERS[0](items[index])):
        state, left = _beside(state, index, wanted[index], stop)
        missing += [index] * left
    return _anew(state, missing, settings, stop)


def _worth_asking(rules: Rules, state: State) -> list[int]:
    """How many spares of each item there are, or as many as all that is left over is large."""
    sizes, items = rules.instance.sizes, rules.instance.items
    room = 2 * sum(sizes[state.size_of(slot)].usable[0] * sizes[state.size_of(slot)].usable[1]
                   for slot in state.slots) - sum(item.twice_area * item.count for item in items)  # fmt: skip
    return [min(many, max(0, room) // item.twice_area)
            for item, many in zip(items, rules.instance.spares, strict=True)]  # fmt: skip


def _moved(rules: Rules, state: State) -> State:
    """The same sheets, where more parts have room to wait."""
    moved = State(rules, len(state.slots))
    for slot in state.slots:
        moved.adopt(state.rows_of(slot), state.size_of(slot))
    return moved


def _beside(state: State, index: int, many: int, stop: Stop) -> tuple[State, int]:
    """As many of an item as go into the free pieces, and how many do not."""
    left, at_once = many, many
    while at_once > 0 and left > 0 and not stop():
        at_once = min(at_once, left)
        trial = state.copy()
        trial.fill([index] * at_once, limit=state.price - 1)  # one below: a free sheet is one more, too
        put_in = at_once - len(trial.waiting)
        trial.wait([])
        if put_in and _costs_nothing(state, trial):
            state, left = trial, left - put_in
            at_once = 0 if put_in < at_once else at_once
        else:
            at_once = at_once // 2 if put_in else 0
    return state, left


def _anew(state: State, missing: list[int], settings: Settings, stop: Stop) -> State:
    """One spare more after the other, the parts of all sheets laid anew for it."""
    pool, before, in_vain = Pool(state.rules), state, 0
    for number, index in enumerate(missing):
        if in_vain == IN_VAIN or stop():
            break
        start = state.copy()
        start.wait([index])
        walk = Improver(state.rules, start, settings.seed + number, pool, state.price)
        found = walk.search(min(TRIES, settings.effort), stop)
        if found is not None and _costs_nothing(state, found):
            state = found
        else:
            in_vain += 1
    return state if state is before else _polished(state, settings, stop)


def _polished(state: State, settings: Settings, stop: Stop) -> State:
    """The same parts for the same money, with larger offcuts and fewer cuts."""
    tries, best = min(POLISH, settings.effort), state.rank()
    walk = Improver(state.rules, state, settings.seed, Pool(state.rules), state.price).by_rank()
    while walk.tries < tries and not stop():
        found = walk.go(tries, best)
        if found is not None and found.price == state.price and found.rank() < best:
            state, best = found, found.rank()
    return state


def _costs_nothing(state: State, other: State) -> bool:
    """Whether another state is no worse in money, sheets, joined rails and tight sheets."""
    same = other.price == state.price
    return same and all(new <= old for new, old in zip(other.rank()[:4], state.rank()[:4], strict=True))
