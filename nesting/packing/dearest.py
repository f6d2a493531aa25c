"""The contents of a sheet that are worth most, of all that lines across it do not forbid.

Branch and bound over how many of each item: no sheet holds more than 1 of each weight of
:mod:`nesting.packing.bounds`, so multipliers on the weights bound what the items that are left can add
(Lagrange); a content that cannot lie (:mod:`nesting.packing.lying`) ends its branch, as no larger one can.
Whole numbers all through: nothing is lost by rounding. These functions are compiled.
"""

from __future__ import annotations

from typing import NamedTuple

from nesting.packing.compiled import kernel
from nesting.packing.lying import ALL, ENOUGH, HALT, UNTIL, Schedule, Shapes, may_lie
from nesting.packing.tables import Array

KEYS = 2  # words of a content's number
VALUE, REDUCED = 0, 1
HOLDS, MULTIPLIERS, ALL_OF_THEM, FOUND = range(4)  # facts of a query
NONE_YET, REFUTED, MAY_LIE = 0, 1, 2
MIXED, SPREAD = 2_147_483_629, 40_503  # primes, so that powers of two come everywhere


class Known(NamedTuple):
    """Which contents may lie, each asked once.

    Attributes
    ----------
    radix : [item, word]
        A content's number, two words of it, is the sum of so much for each of its parts: different contents
        have different ones.
    keys : [place, word], answers : [place]
        Open addressing; answers ``NONE_YET``, ``REFUTED``, or ``MAY_LIE`` and how many of what is refuted
        otherwise it was held against.
    count : [1]
    """

    radix: Array
    keys: Array
    answers: Array
    count: Array


class Forbidden(NamedTuple):
    """Contents refuted otherwise: each a number of clauses, all of which it reaches.

    Attributes
    ----------
    first : [content + 1], begin : [clause + 1], items : [...], least : [clause]
    """

    first: Array
    begin: Array
    items: Array
    least: Array


class Query(NamedTuple):
    """What the items are worth, and how a branch is bounded.

    Attributes
    ----------
    order : [item]
        In which they are decided.
    worth, most : [item]
        Of one, and how many there may be.
    reduced : [item], rest : [item + 1]
        Worth less the multipliers' part, and what the items from a place on can add of it at the most.
    weights : [row, item]
    facts : [4]
        What a sheet holds of each weight; the multipliers' worth; whether all contents that are dear enough
        are wanted, not the best of them; how many of all are found.
    """

    order: Array
    worth: Array
    most: Array
    reduced: Array
    rest: Array
    weights: Array
    facts: Array


class Branch(NamedTuple):
    """Where the enumeration stands, at each depth; and what it found, the best first.

    Attributes
    ----------
    content : [item]
    tried : [depth], sums : [depth, 2], used : [depth, row], key : [depth, word]
        The count tried; its value and reduced value; what it has of each weight; its number.
    best : [place]
        Worth of the contents found; at the beginning what they must exceed.
    found : [place, item]
    """

    content: Array
    tried: Array
    sums: Array
    used: Array
    key: Array
    best: Array
    found: Array


@kernel
def place_in(keys: Array, answers: Array, low: int, high: int) -> int:
    """Where the answer of a content stands, or would."""
    size = len(answers)
    place = (low % MIXED + high % MIXED * SPREAD) % size
    while answers[place] and (keys[place, 0] != low or keys[place, 1] != high):
        place = (place + 1) % size
    return place


@kernel
def lies(g: Shapes, s: Schedule, k: Known, f: Forbidden, b: Branch, depth: int, steps: Array) -> bool:
    """Whether the content so far may lie, and is not refuted otherwise."""
    keys, answers, count, key = k.keys, k.answers, k.count, b.key
    low, high, now = key[depth, 0], key[depth, 1], len(f.first) - 1
    place = place_in(keys, answers, low, high)
    answer = answers[place]
    if answer == REFUTED:
        return False
    may = answer > 0 or may_lie(g, s, b.content, steps)
    if may and answer < MAY_LIE + now:
        may = not forbidden(f, b.content, max(0, answer - MAY_LIE))
    if answer > 0 or 2 * count[0] < len(answers):
        count[0] += answer == 0
        keys[place, 0], keys[place, 1] = low, high
        answers[place] = MAY_LIE + now if may else REFUTED
    return may


@kernel
def forbidden(f: Forbidden, content: Array, begin: int) -> bool:
    """Whether a content is, or is larger than, one refuted otherwise; of those from a place on."""
    first, clauses, items, least = f.first, f.begin, f.items, f.least
    for index in range(begin, len(first) - 1):
        reached = True
        for clause in range(first[index], first[index + 1]):
            held = 0
            for at in range(clauses[clause], clauses[clause + 1]):
                held += content[items[at]]
            if held < least[clause]:
                reached = False
                break
        if reached:
            return True
    return False


@kernel
def keep(b: Branch, value: int) -> None:
    """The content is one of the best."""
    place = len(b.best) - 1
    while place > 0 and b.best[place - 1] < value:
        b.best[place] = b.best[place - 1]
        for item in range(len(b.content)):
            b.found[place, item] = b.found[place - 1, item]
        place -= 1
    b.best[place] = value
    for item in range(len(b.content)):
        b.found[place, item] = b.content[item]


@kernel
def take_down(q: Query, b: Branch) -> bool:
    """The content is one of all; False where there is no room for it."""
    place = q.facts[FOUND]
    if place == len(b.found):
        return False
    for item in range(len(b.content)):
        b.found[place, item] = b.content[item]
    q.facts[FOUND] = place + 1
    return True


@kernel
def as_many(weights: Array, used: Array, depth: int, item: int, most: int, room: int) -> int:
    """How many of an item the weights have room for, ``most`` at the most."""
    for row in range(len(weights)):
        weight = weights[row, item]
        if weight > 0:
            most = min(most, (room - used[depth, row]) // weight)
    return most


@kernel
def go_deeper(q: Query, k: Known, b: Branch, depth: int, item: int, count: int) -> bool:
    """Take so many of the item at a depth; False where nothing dear enough can come of it."""
    sums, best, sure, key, radix = b.sums, b.best, q.rest, b.key, k.radix
    reduced = sums[depth, REDUCED] + count * q.reduced[item]
    if q.facts[MULTIPLIERS] + reduced + sure[depth + 1] <= best[len(best) - 1]:
        return False
    sums[depth + 1, REDUCED] = reduced
    sums[depth + 1, VALUE] = sums[depth, VALUE] + count * q.worth[item]
    for word in range(KEYS):
        key[depth + 1, word] = key[depth, word] + count * radix[item, word]
    weights, used = q.weights, b.used
    for row in range(len(weights)):
        used[depth + 1, row] = used[depth, row] + count * weights[row, item]
    return True


@kernel
def dearest(
    g: Shapes, s: Schedule, k: Known, f: Forbidden, q: Query, b: Branch, steps: Array
) -> bool:  # fmt: skip
    """Find the contents worth most, above what ``b.best`` says; False where not all were looked at.

    Ends before where enough are found, after some steps.
    """
    order, content, tried, sums, best = q.order, b.content, b.tried, b.sums, b.best
    worth, most, reduced, weights, used, facts = q.worth, q.most, q.reduced, q.weights, b.used, q.facts
    items, depth, least = len(order), 0, best[len(best) - 1]
    tried[0] = -1
    while depth >= 0:
        if depth == items:
            value = sums[depth, VALUE]
            if value > best[len(best) - 1] and not forbidden(f, content, 0):
                if facts[ALL_OF_THEM] == 0:
                    keep(b, value)
                elif not take_down(q, b):
                    return False
            depth -= 1
            continue
        item = order[depth]
        if tried[depth] < 0:
            steps[ALL] += 1
            enough = steps[ALL] > steps[ENOUGH] and best[len(best) - 1] > least
            if enough or steps[ALL] > steps[UNTIL] or steps[HALT]:
                return False
            many = most[item] if worth[item] > 0 else 0
            tried[depth] = 1 + as_many(weights, used, depth, item, many, facts[HOLDS])
        tried[depth] -= 1
        count = tried[depth]
        content[item] = max(0, count)
        if count < 0:
            depth -= 1
        elif go_deeper(q, k, b, depth, item, count):
            if count == 0 or lies(g, s, k, f, b, depth + 1, steps):
                depth += 1
                if depth < items:
                    tried[depth] = -1
        elif reduced[item] >= 0:  # fewer of it are worth less still
            content[item] = 0
            depth -= 1
    return True
