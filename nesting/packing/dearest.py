"""The contents of a sheet that are worth most, of all that lines across it do not forbid.

Branch and bound: a content takes one part more of those that still can be added. Each is held first against
what is known of lines (:mod:`nesting.packing.lying`) and of contents refuted otherwise: what is forbidden
now is forbidden in all that is larger, as candidates are struck out for a clique (Carraghan and Pardalos
1990). What the others can add is bounded by a row of weights of :mod:`nesting.packing.bounds`, the dearest
for their weight first, the last one in part (Dantzig 1957).
Whole numbers but for that part, which is rounded up and more: nothing is lost by rounding. These functions
are compiled.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from nesting.packing.compiled import kernel
from nesting.packing.lying import ALL, EACH, ENOUGH, HALT, UNTIL, Schedule, Shapes, may_lie
from nesting.packing.tables import Array

LOOK_LONGER = 50_000  # steps for a content that would be found
KEYS = ANSWER = 2  # words of a content's number; the answer is behind them
ALL_OF_THEM, FOUND, STANDS_AT, LEAST = 0, 1, 2, 3  # facts of a query
NONE_YET, REFUTED, MAY_LIE = 0, 1, 2
ANSWERS, OTHERS = 0, 1  # counts of what is known
LEFT_OFF, ALL_SEEN, DOES_NOT_LIE, DEAR_ENOUGH = 0, 1, 2, 3  # how it ended
MIXED, SPREAD = 2_147_483_629, 40_503  # primes, so that powers of two come everywhere


class Known(NamedTuple):
    """Which contents may lie, each asked once; and those that are refuted otherwise.

    Of these each is a number of clauses, all of which a content reaches that is too much.

    Attributes
    ----------
    radix : [item, word]
        A content's number, two words of it, is the sum of so much for each of its parts: different contents
        have different ones.
    answers : [place, word]
        Open addressing: the number, and ``NONE_YET``, ``REFUTED``, or ``MAY_LIE`` and how many of what is
        refuted otherwise it was held against.
    counts : [2]
        How many answers, and how many that are refuted otherwise; the arrays have room for more.
    first : [content + 1], begin : [clause + 1], items : [...], least : [clause]
        A content's clauses, a clause's items, and how many of these together reach it.
    """

    radix: Array
    answers: Array
    counts: Array
    first: Array
    begin: Array
    items: Array
    least: Array


class Query(NamedTuple):
    """What the items are worth, and how a branch is bounded.

    Attributes
    ----------
    order : [item]
        In which they are added.
    worth, most : [item]
        Of one, and how many there may be.
    weights : [row, item], rooms : [row]
        What a sheet holds of each weight.
    ranked : [line, item]
        For each of the first rows the items, the dearest for their weight first.
    facts : [4]
        Whether all contents that are dear enough are wanted, not the best of them; how many of all are found;
        at which depth to go on, -1 to begin; what all must exceed.
    """

    order: Array
    worth: Array
    most: Array
    weights: Array
    rooms: Array
    ranked: Array
    facts: Array


class Branch(NamedTuple):
    """Where the enumeration stands, at each depth; and what it found, the best first.

    Attributes
    ----------
    content : [item]
    at : [depth]
        Which place of the order is next.
    sums : [depth], used : [depth, row], key : [depth, word]
        Of the content there: its value; what it has of each weight; its number. The last is for asking.
    left : [depth, item]
        How many more of each may be added.
    within : [depth]
        Whether the content there is looked at, or is within one that was found.
    best : [place]
        Worth of the contents found; at the beginning what they must exceed.
    found : [place, item]
    """

    content: Array
    at: Array
    sums: Array
    used: Array
    key: Array
    left: Array
    within: Array
    best: Array
    found: Array


@kernel
def place_in(answers: Array, low: int, high: int) -> int:
    """Where the answer of a content stands, or would."""
    size = len(answers)
    place = (low % MIXED + high % MIXED * SPREAD) % size
    while answers[place, ANSWER] and (answers[place, 0] != low or answers[place, 1] != high):
        place = (place + 1) % size
    return place


@kernel
def forget(k: Known) -> None:
    """Begin anew, where half of the places are taken."""
    answers = k.answers
    for place in range(len(answers)):
        answers[place, ANSWER] = NONE_YET
    k.counts[ANSWERS] = 0


@kernel
def lies(g: Shapes, s: Schedule, k: Known, b: Branch, depth: int, steps: Array) -> bool:
    """Whether the content, its number at a depth, may lie, and is not refuted otherwise."""
    answers, counts, key = k.answers, k.counts, b.key
    low, high, now = key[depth, 0], key[depth, 1], counts[OTHERS]
    place = place_in(answers, low, high)
    answer = answers[place, ANSWER]
    if answer == REFUTED:
        return False
    if answer == MAY_LIE + now:
        return True
    may = answer > 0 or may_lie(g, s, b.content, steps)
    may = may and not forbidden(k, b.content, max(0, answer - MAY_LIE))
    if answer == NONE_YET:
        if 2 * counts[ANSWERS] >= len(answers):
            forget(k)
            place = place_in(answers, low, high)
        counts[ANSWERS] += 1
        answers[place, 0], answers[place, 1] = low, high
    answers[place, ANSWER] = MAY_LIE + now if may else REFUTED
    return bool(may)


@kernel
def lies_at_length(g: Shapes, s: Schedule, b: Branch, steps: Array) -> bool:
    """Whether the content may lie by a longer look, too."""
    usual = steps[EACH]
    steps[EACH] = LOOK_LONGER
    may = may_lie(g, s, b.content, steps)
    steps[EACH] = usual
    return bool(may)


@kernel
def forbidden(k: Known, content: Array, begin: int) -> bool:
    """Whether a content is, or is larger than, one refuted otherwise; of those from a place on."""
    first, clauses, items, least = k.first, k.begin, k.items, k.least
    for index in range(begin, k.counts[OTHERS]):
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
def cover(b: Branch, depth: int) -> None:
    """What the content was made from is within it."""
    within = b.within
    for before in range(depth + 1):
        within[before] = 1


@kernel
def keep(q: Query, b: Branch) -> None:
    """The content at which it ended is one of the best."""
    depth = q.facts[STANDS_AT]
    cover(b, depth)
    place, value, best, found, content = len(b.best) - 1, b.sums[depth], b.best, b.found, b.content
    while place > 0 and best[place - 1] < value:
        best[place] = best[place - 1]
        for item in range(len(content)):
            found[place, item] = found[place - 1, item]
        place -= 1
    best[place] = value
    for item in range(len(content)):
        found[place, item] = content[item]


@kernel
def take_down(q: Query, b: Branch) -> bool:
    """The content is one of all; False where there is no room for it."""
    place, found, content = q.facts[FOUND], b.found, b.content
    if place == len(found):
        return False
    for item in range(len(content)):
        found[place, item] = content[item]
    q.facts[FOUND] = place + 1
    return True


@kernel
def can_add(q: Query, b: Branch, depth: int, row: int) -> int:
    """What the items that are left can add at the most, by one row of weights."""
    ranked, worth, weights, left = q.ranked, q.worth, q.weights, b.left
    room, total = q.rooms[row] - b.used[depth, row], 0
    for place in range(len(worth)):
        item = ranked[row, place]
        if left[depth, item] > 0:
            weight = weights[row, item]
            many = left[depth, item]
            if weight * many > room:
                part = worth[item] * (room / weight)
                return int(total + math.ceil(part) + 1)
            room -= weight * many
            total += worth[item] * many
    return total


@kernel
def hopeless(q: Query, b: Branch, depth: int) -> bool:
    """Whether nothing dear enough can come of a content and what is left beside it."""
    least = b.best[len(b.best) - 1]
    for row in range(len(q.ranked)):  # noqa: SIM110 - compiled
        if b.sums[depth] + can_add(q, b, depth, row) <= least:
            return True
    return False


@kernel
def take_one(q: Query, k: Known, b: Branch, depth: int, item: int) -> None:
    """One more of an item; what has no room by the weights then is not left."""
    content, sums, used, key, left, radix = b.content, b.sums, b.used, b.key, b.left, k.radix
    weights, rooms = q.weights, q.rooms
    content[item] += 1
    sums[depth + 1] = sums[depth] + q.worth[item]
    for word in range(KEYS):
        key[depth + 1, word] = key[depth, word] + radix[item, word]
    for row in range(len(weights)):
        used[depth + 1, row] = used[depth, row] + weights[row, item]
    for other in range(len(content)):
        many = left[depth, other] - (other == item)
        for row in range(len(weights)):
            weight = weights[row, other]
            if many > 0 and weight > 0:
                many = min(many, (rooms[row] - used[depth + 1, row]) // weight)
        left[depth + 1, other] = many


@kernel
def strike_out(g: Shapes, s: Schedule, k: Known, q: Query, b: Branch, depth: int, steps: Array) -> bool:
    """Leave nothing that may not lie beside the content; False where what is left is hopeless."""
    content, key, left, radix, ranked = b.content, b.key, b.left, k.radix, q.ranked
    asked = len(key) - 1  # no content is so deep
    if hopeless(q, b, depth):
        return False
    for place in range(len(content)):
        item = ranked[0, place]
        if left[depth, item] > 0:
            steps[ALL] += 1
            content[item] += 1
            for word in range(KEYS):
                key[asked, word] = key[depth, word] + radix[item, word]
            may = lies(g, s, k, b, asked, steps)
            content[item] -= 1
            if not may:
                left[depth, item] = 0
                if hopeless(q, b, depth):
                    return False
    return True


@kernel
def close(b: Branch, depth: int) -> None:
    """Nothing more is to be looked at there."""
    left = b.left
    b.at[depth] = len(b.content)
    for item in range(len(b.content)):
        left[depth, item] = 0


@kernel
def go_on(g: Shapes, s: Schedule, k: Known, q: Query, b: Branch, steps: Array) -> int:
    """At which depth to go on now that more may be refuted: strike out along the content."""
    order, content, at, left = q.order, b.content, b.at, b.left
    last = int(q.facts[STANDS_AT])
    for item in range(len(content)):
        content[item] = 0
    for depth in range(last):
        if not strike_out(g, s, k, q, b, depth, steps):
            close(b, depth)
            return depth
        item = order[at[depth]]
        if left[depth, item] <= 0:
            return depth
        content[item] += 1
    if not strike_out(g, s, k, q, b, last, steps):
        close(b, last)
    return last


@kernel
def dearest(g: Shapes, s: Schedule, k: Known, q: Query, b: Branch, steps: Array) -> int:
    """Find the contents worth most, above what ``b.best`` says, or all of them; how it ended.

    Of the best none is looked at from which one was made that is kept. It ends where enough are found after
    some steps; and at each that is dear enough, to be asked again once it is kept, or what refutes it is
    learned.
    """
    order, content, at, left, within = q.order, b.content, b.at, b.left, b.within
    sums, best, facts = b.sums, b.best, q.facts
    items, depth = len(order), 0
    if facts[STANDS_AT] < 0:
        at[0] = within[0] = 0
        if not strike_out(g, s, k, q, b, 0, steps):
            return ALL_SEEN
    else:
        depth = go_on(g, s, k, q, b, steps)
    while depth >= 0:
        place = at[depth]
        while place < items and left[depth, order[place]] <= 0:
            place += 1
        at[depth] = place
        if place == items or hopeless(q, b, depth):
            if sums[depth] > best[len(best) - 1] and not within[depth]:
                within[depth] = 1  # it is looked at once
                if facts[ALL_OF_THEM] == 0:
                    facts[STANDS_AT] = depth
                    return DEAR_ENOUGH if lies_at_length(g, s, b, steps) else DOES_NOT_LIE
                if not take_down(q, b):
                    return LEFT_OFF
            depth -= 1
            if depth >= 0:  # from here on without it
                item = order[at[depth]]
                content[item] -= 1
                left[depth, item] = 0
            continue
        steps[ALL] += 1
        enough = steps[ALL] > steps[ENOUGH] and best[len(best) - 1] > facts[LEAST]
        if enough or steps[ALL] > steps[UNTIL] or steps[HALT]:
            return LEFT_OFF
        item = order[place]
        take_one(q, k, b, depth, item)
        depth += 1
        at[depth], within[depth] = place, 0
        if not strike_out(g, s, k, q, b, depth, steps):
            close(b, depth)
    return ALL_SEEN
