"""Single sheets whose parts are worth most, by values that a master problem gives to the parts.

The same ruin and recreate as in :mod:`nesting.packing.search`, on one sheet. Exact pricing of guillotine
patterns is a hard problem of its own (Gilmore and Gomory 1965); many good sheets quickly are worth more
here than the best one late. These functions are compiled.
"""

from __future__ import annotations

from nesting.packing import tables as c
from nesting.packing.compiled import kernel
from nesting.packing.filling import RANDOM_SIZE, fill
from nesting.packing.search import BLANKING, BLINK, PAIRING, copy_changed, remember, vary, victim
from nesting.packing.tables import Array, Store, Table, Work
from nesting.packing.taking import take_out
from nesting.packing.trees import below, draw, keep_waiting, open_sheet, piece_at

NEAR_BEST = 0.5  # of what the best sheet so far would save
NOISE = 0.7  # an order by value for area is blurred by a factor from here to here and one


@kernel
def value_on(w: Work, s: int, values: Array) -> float:
    """What the parts on a sheet are worth."""
    value = 0.0
    for n in range(w.head[s, c.TOP]):
        if w.nodes[s, n, c.ITEM] >= 0:
            value += values[w.nodes[s, n, c.ITEM]]
    return value


@kernel
def may_fit(t: Table, w: Work) -> int:
    """Put what may fit into a free piece first in the queue, the rest behind it; how many may."""
    s = w.order[0]
    short, long = 0, 0
    for place in range(w.head[s, c.ROOMS]):
        x0, x1, l0, l1, u0, u1 = piece_at(w.nodes, s, w.rooms[s, place])
        span, tall = x1 - x0, max(u0 - l0, u1 - l1) + 1
        short, long = max(short, min(span, tall)), max(long, span, tall)
    count, rest = 0, w.counts[c.WAITING]
    for index in range(w.counts[c.WAITING]):
        item = w.waiting[index]
        shape = t.first[item]
        if t.sides[shape, 0] <= short and t.sides[shape, 1] <= long:
            w.queue[count] = item
            count += 1
        else:
            rest -= 1
            w.queue[rest] = item
    return count


@kernel
def refill(t: Table, w: Work, values: Array, keys: Array, size: int, rng: Array) -> None:
    """Fill up the one sheet, what is worth most for its area first, or nearly so."""
    if w.counts[c.SHEETS] == 0:
        open_sheet(t, w, size, rng)
    for item in range(t.facts[c.ITEMS]):
        keys[item] = values[item] / t.areas[item] * (NOISE + draw(rng) / 2**32)
    total, count = w.counts[c.WAITING], may_fit(t, w)
    for index in range(1, count):
        item, at = w.queue[index], index
        while at > 0 and keys[w.queue[at - 1]] < keys[item]:
            w.queue[at] = w.queue[at - 1]
            at -= 1
        w.queue[at] = item
    vary(t, w, rng)
    fill(t, w, count, 0, RANDOM_SIZE, rng, BLINK, PAIRING, BLANKING)
    for index in range(count, total):
        keep_waiting(w, w.queue[index])


@kernel
def run_single(
    t: Table, now: Work, trial: Work, store: Store, rng: Array, history: Array, values: Array, keys: Array,
    size: int, begin: int, end: int, least: float,
) -> None:  # fmt: skip
    """Look for sheets of one size whose parts are worth more than ``least``; the better ones are remembered.

    The same ruin and recreate on a single sheet, accepted late: tries number ``begin`` to ``end``. The last
    place of ``history`` holds the most found so far.
    """
    value, last = 0.0, len(history) - 1
    if now.counts[c.SHEETS] > 0:
        value = value_on(now, now.order[0], values)
    for number in range(begin, end):
        if trial.counts[c.SHEETS] > 0:
            for _ in range(1 + below(rng, 3)):
                if trial.counts[c.SHEETS] > 0 and trial.head[trial.order[0], c.PARTS] > 0:
                    take_out(t, trial, 0, victim(trial, trial.order[0], rng))
        refill(t, trial, values, keys, size, rng)
        new = value_on(trial, trial.order[0], values)
        index = number % last
        if new >= value or new >= history[index]:
            history[index] = value = new
            copy_changed(trial, now, trial)
            history[last] = max(history[last], new)
            if new > least and new - least >= NEAR_BEST * (history[last] - least):
                remember(t, now, now.order[0], store)
        else:
            copy_changed(now, trial, trial)
