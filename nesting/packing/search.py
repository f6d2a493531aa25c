"""Goal-driven ruin and recreate over cutting trees (Gardeyn and Wauters 2022, EJOR).

The goal is a price strictly below that of the best complete plan. Subtrees are taken out at random and
the parts put back one by one where they spoil least; states with parts missing are normal, and judged
by the area that is missing, then by how much free room lies in large pieces (late acceptance, Burke and
Bykov 2017). Every sheet of an accepted state is remembered. These functions are compiled.
"""

from __future__ import annotations

import math

from nesting.packing import tables as c
from nesting.packing.compiled import kernel
from nesting.packing.filling import RANDOM_SIZE, fill, price_of
from nesting.packing.fitting import Piece
from nesting.packing.leaning import LEVEL
from nesting.packing.tables import Array, Store, Table, Work
from nesting.packing.taking import take_out
from nesting.packing.tightness import is_tight
from nesting.packing.trees import below, draw, is_free, piece_at

BLINK = 214_748_365  # a place is overlooked with chance 0.05, of 2^32
PAIRING = 2_147_483_648  # a tapered part is put in as one of a pair with chance 0.5
BLANKING = 2_147_483_648  # or in a blank by itself, if not, with chance 0.5
LEANING = 2_147_483_648  # parts may lean in a try with chance 0.5: half the tries did better than all of them
ONE_WAY = 429_496_730  # chance 0.1, for each of two ways to go in, that it is the only one in a try
FEW = 100  # parts: up to so many less is taken out at a time, and in half of the tries near together
LOCAL = 2_147_483_648
MOVING = 858_993_459  # with several sizes what is left is moved together with chance 0.2
GUIDED = 2_147_483_648  # of few parts what lies beside waste is taken out, in half of the tries
ABOVE, MOST_ABOVE = 2_576_980_377, 5  # a cut more above it, with chance 0.6 each
HISTORY = 200
NEARLY_ON = 2  # units by which a side may be off its cell's, and is not cut for that
DONE, FOUND = 0, 1


@kernel
def copy_slot(a: Work, b: Work, s: int) -> None:
    """Copy one slot."""
    for n in range(a.head[s, c.TOP]):
        for column in range(c.COLUMNS):
            b.nodes[s, n, column] = a.nodes[s, n, column]
        b.worth[s, n] = a.worth[s, n]
    for n in range(a.head[s, c.SPARES]):
        b.spare[s, n] = a.spare[s, n]
    for n in range(a.head[s, c.ROOMS]):
        b.rooms[s, n] = a.rooms[s, n]
    for column in range(c.DIRTY):
        b.head[s, column] = a.head[s, column]
    b.head[s, c.DIRTY] = 0


@kernel
def copy_changed(a: Work, b: Work, changed: Work) -> None:
    """Make b what a is; only slots changed in one of them differ."""
    for s in range(len(a.head)):
        if changed.head[s, c.DIRTY]:
            copy_slot(a, b, s)
        changed.head[s, c.DIRTY] = 0
    for index in range(a.counts[c.SHEETS]):
        b.order[index] = a.order[index]
    for index in range(a.counts[c.IDLES]):
        b.idle[index] = a.idle[index]
    for index in range(a.counts[c.WAITING]):
        b.waiting[index] = a.waiting[index]
    for index in range(3):
        b.counts[index] = a.counts[index]


@kernel
def victim(w: Work, s: int, rng: Array) -> int:
    """A random node that holds something and may be emptied."""
    found, chosen = 0, c.NONE
    for n in range(w.head[s, c.TOP]):
        gone = w.nodes[s, n, c.ITEM] == c.GONE or w.nodes[s, n, c.FIXED] != 0
        if not gone and not is_free(w.nodes, s, n):
            found += 1
    pick = below(rng, found)
    for n in range(w.head[s, c.TOP]):
        gone = w.nodes[s, n, c.ITEM] == c.GONE or w.nodes[s, n, c.FIXED] != 0
        if not gone and not is_free(w.nodes, s, n):
            if pick == 0:
                chosen = n
                break
            pick -= 1
    return chosen


@kernel
def beside_waste(w: Work, s: int, rng: Array) -> int:
    """A node that a random free piece is part of, a cut or a few above it; -1 if there is none."""
    rooms, node = w.head[s, c.ROOMS], w.nodes
    if rooms == 0:
        return c.NONE
    n = w.rooms[s, below(rng, rooms)]
    for step in range(MOST_ABOVE):
        above = node[s, n, c.PARENT]
        if above < 0 or node[s, above, c.FIXED] != 0 or (step > 0 and draw(rng) >= ABOVE):
            break
        n = above
    return c.NONE if is_free(node, s, n) else n


@kernel
def free_on(w: Work, s: int) -> float:
    """Worth of the free pieces of a sheet."""
    value = 0.0
    for place in range(w.head[s, c.ROOMS]):
        value += w.worth[s, w.rooms[s, place]]
    return value


@kernel
def ruin_one(t: Table, w: Work, sheets: int, guided: bool, rng: Array) -> None:
    """Take out a subtree of one of the first sheets.

    If guided, of two sheets that with more free, and there what a free piece is part of.
    """
    index, n = below(rng, sheets), c.NONE
    if guided:
        other = below(rng, sheets)
        if free_on(w, w.order[other]) > free_on(w, w.order[index]):
            index = other
        n = beside_waste(w, w.order[index], rng)
    take_out(t, w, index, victim(w, w.order[index], rng) if n < 0 else n)


@kernel
def bring_forward(w: Work, few: int, rng: Array) -> int:
    """Put so many random sheets first in the order, or all there are; returns their number."""
    sheets = w.counts[c.SHEETS]
    few = min(sheets, few)
    for place in range(few):
        other = place + below(rng, sheets - place)
        slot = w.order[place]
        w.order[place] = w.order[other]
        w.order[other] = slot
    return few


@kernel
def ruin(t: Table, w: Work, rng: Array) -> None:
    """Take out a few random subtrees of random sheets; of few parts now and then of two or three sheets."""
    few = t.facts[c.TOTAL] <= FEW
    w.counts[c.MOVING] = int(t.facts[c.SIZES] == 1 or (few and draw(rng) < MOVING))
    total, sheets = w.counts[c.WAITING], w.counts[c.SHEETS]
    for index in range(sheets):
        total += w.head[w.order[index], c.PARTS]
    mean = max(2, min(3, total // 4)) if total <= FEW else 6 if total <= 300 else 4
    if total <= FEW and draw(rng) < LOCAL:
        sheets = bring_forward(w, 2 + below(rng, 2), rng)
    guided = few and draw(rng) < GUIDED
    for _ in range(1 + below(rng, 2 * mean - 1)):
        if sheets == 0:
            return
        before = w.counts[c.SHEETS]
        ruin_one(t, w, sheets, guided, rng)
        sheets -= before - w.counts[c.SHEETS]  # an empty one is closed


@kernel
def empty_sheet(t: Table, w: Work, index: int) -> None:
    """Take everything out of a sheet, which is closed by it."""
    s = w.order[index]
    while w.head[s, c.PARTS] > 0:
        for n in range(w.head[s, c.TOP]):
            if w.nodes[s, n, c.ITEM] >= 0:
                take_out(t, w, index, n)
                break


@kernel
def aim(t: Table, w: Work, limit: int, rng: Array) -> None:
    """Close random sheets until the price is no more than the limit."""
    while w.counts[c.SHEETS] > 0 and price_of(t, w) > limit:
        empty_sheet(t, w, below(rng, w.counts[c.SHEETS]))


@kernel
def one_way(rng: Array) -> int:
    """Either of two as a rule; now and then the first only, or the second."""
    chance = draw(rng)
    return 1 if chance < ONE_WAY else 2 if chance < 2 * ONE_WAY else c.EITHER


@kernel
def vary(t: Table, w: Work, rng: Array) -> None:
    """Say by chance how parts go in in this try: whether they may lean, which cut comes first, which way up.

    What leaves the larger piece is not always what plain rows, or columns, begin with. Of many parts some
    begin so anyway, and in ten sizes plans came out dearer with it.
    """
    w.counts[c.MAY_LEAN] = 0
    if t.facts[c.LEAN] > 0 and draw(rng) < LEANING:
        w.counts[c.MAY_LEAN] = t.facts[c.LEAN]
    w.counts[c.FIRST] = w.counts[c.LIE] = c.EITHER
    if t.facts[c.TOTAL] <= FEW:
        w.counts[c.FIRST], w.counts[c.LIE] = one_way(rng), one_way(rng)


@kernel
def recreate(t: Table, w: Work, limit: int, rng: Array) -> None:
    """Put what waits back: at random, or the largest, longest or widest first."""
    count = w.counts[c.WAITING]
    for place in range(count):
        other = below(rng, place + 1)
        w.queue[place] = w.queue[other]
        w.queue[other] = w.waiting[place]
    way = below(rng, 4)
    if way < 3:
        for place in range(1, count):
            item, at = w.queue[place], place
            while at > 0 and t.ranks[way, w.queue[at - 1]] > t.ranks[way, item]:
                w.queue[at] = w.queue[at - 1]
                at -= 1
            w.queue[at] = item
    vary(t, w, rng)
    fill(t, w, count, limit, RANDOM_SIZE, rng, BLINK, PAIRING, BLANKING)


@kernel
def missing(t: Table, w: Work) -> float:
    """Area of the parts that wait."""
    area = 0.0
    for index in range(w.counts[c.WAITING]):
        area += t.areas[w.waiting[index]]
    return area


@kernel
def worth(w: Work) -> float:
    """Of all free pieces."""
    value = 0.0
    for index in range(w.counts[c.SHEETS]):
        value += free_on(w, w.order[index])
    return value


@kernel
def fits_in(piece: Piece, turned: bool, length: int, width: int) -> bool:
    """Whether a rectangle of this length along the sheet and this width fits into a piece."""
    if turned:
        length, width = width, length
    x0, x1, l0, l1, u0, u1 = piece
    span = x1 - x0
    if length <= 0 or width <= 0 or span < length:
        return False
    share = length / span
    at_left = min(float(u0), u0 + (u1 - u0) * share) - max(float(l0), l0 + (l1 - l0) * share)
    at_right = min(float(u1), u1 + (u0 - u1) * share) - max(float(l1), l1 + (l0 - l1) * share)
    return bool(max(at_left, at_right) >= width)


@kernel
def free_sides(t: Table, node: Array, s: int, n: int) -> int:
    """How many long sides of a level part its cell does not have already."""
    shape, low = node[s, n, c.SHAPE], node[s, n, c.SPOT_Y]
    low_right, up, up_right = low, low + t.shapes[shape, c.LEFT], low + t.shapes[shape, c.RIGHT]
    if t.shapes[shape, c.HIGH]:
        low, low_right, up, up_right = low - (up - low), low - (up_right - low), low, low
    below = abs(low - node[s, n, c.L0]) > NEARLY_ON or abs(low_right - node[s, n, c.L1]) > NEARLY_ON
    above = abs(up - node[s, n, c.U0]) > NEARLY_ON or abs(up_right - node[s, n, c.U1]) > NEARLY_ON
    return int(below) + int(above)


@kernel
def rank(t: Table, w: Work, found: Array) -> None:
    """Money less credit, sheets, cuts with joined rails, tight sheets, the largest kept offcut, cuts.

    Less is better. Counted on the trees: the cuts that make skewed ends inside a cell are not in it; one that
    is slanted and runs on beyond its part counts twice: it is read off its own ends, on no whole step there.
    """
    node, single = w.nodes, t.facts[c.SINGLE]
    kept, largest, joined, tight, cuts = 0.0, 0.0, 0, 0, 0
    for index in range(w.counts[c.SHEETS]):
        s = w.order[index]
        tight += int(is_tight(t, w, s))
        for n in range(w.head[s, c.TOP]):
            if node[s, n, c.ITEM] == c.GONE:
                continue
            if node[s, n, c.KID] >= 0:
                cuts += 1
                run = node[s, n, c.AX] - node[s, n, c.BX]
                rise = node[s, n, c.AY] - node[s, n, c.BY]
                if run != 0 and rise != 0 and node[s, node[s, n, c.KID], c.ITEM] < 0:
                    cuts += 1
                if single >= 0 and math.sqrt(float(run) * run + float(rise) * rise) > single:
                    joined += 1
            elif node[s, n, c.LIES] != LEVEL:
                cuts += 2  # both its ends
            elif node[s, n, c.ITEM] == c.NONE:
                x0, x1, l0, l1, u0, u1 = piece = piece_at(w.nodes, s, n)
                turned, length = node[s, n, c.TURNED] != 0, t.facts[c.KEEP_LENGTH]
                if not fits_in(piece, turned, length, t.facts[c.KEEP_WIDTH]):
                    continue
                area = (x1 - x0) * (u0 - l0 + u1 - l1) / 2
                kept += area
                largest = max(largest, area)
            elif node[s, n, c.ITEM] >= 0:
                cuts += free_sides(t, node, s, n)
    found[0] = math.floor((price_of(t, w) - t.credit[0] * kept) * 1000 + 0.5) / 1000
    found[1] = w.counts[c.SHEETS]
    found[2] = joined
    found[3] = tight
    found[4] = -math.floor(largest / t.facts[c.OFFCUT] + 0.5)
    found[5] = cuts


@kernel
def value_of(t: Table, w: Work, lack: float, best: Array, found: Array) -> float:
    """What states that lack as much are told apart by: how large the free pieces are; less is better.

    Complete ones by their rank, put into ``found``, where a rank is to be beaten and not just money.
    """
    if lack > 0 or math.isinf(best[0]):
        return -worth(w)
    rank(t, w, found)
    weighed = (found[0] - best[0]) * 1e14 + found[1] * 1e11 + found[2] * 1e8 + found[3] * 1e6
    return float(weighed + found[4] * 1e3 + found[5])


@kernel
def less(a: Array, b: Array) -> bool:
    """Whether the first rank is the better one."""
    for index in range(c.LEVELS):
        if a[index] != b[index]:
            return bool(a[index] < b[index])
    return False


@kernel
def remember(t: Table, w: Work, s: int, store: Store) -> None:
    """Keep a copy of a sheet whose content is new, if there is room."""
    if store.counts[2]:
        return
    key = w.head[s, c.SIZE] + 1
    for n in range(w.head[s, c.TOP]):
        item = w.nodes[s, n, c.ITEM]
        if item >= 0:
            key += t.keys[item]
    places = len(store.slots)
    at = key % places
    while store.slots[at] >= 0:
        if store.key[store.slots[at]] == key:
            return
        at = (at + 1) % places
    sheet, row, rows = store.counts[0], store.counts[1], w.head[s, c.TOP]
    if sheet == len(store.key) or row + rows > len(store.nodes):
        store.counts[2] = 1
        return
    store.slots[at], store.key[sheet], store.begin[sheet] = sheet, key, row
    store.rows[sheet], store.size[sheet] = rows, w.head[s, c.SIZE]
    for item in range(t.facts[c.ITEMS]):
        store.content[sheet, item] = 0
    for n in range(rows):
        for column in range(c.COLUMNS):
            store.nodes[row + n, column] = w.nodes[s, n, column]
        if w.nodes[s, n, c.ITEM] >= 0:
            store.content[sheet, w.nodes[s, n, c.ITEM]] += 1
    store.counts[0] += 1
    store.counts[1] += rows


@kernel
def run(
    t: Table, now: Work, trial: Work, store: Store, rng: Array, history: Array, counters: Array,
    limit: int, tries: int, best: Array, found: Array, near: float,
) -> int:  # fmt: skip
    """Make tries until one is complete, or none are left.

    Parameters
    ----------
    now, trial : Work
        Where the search stands, and the try; alike at the beginning, and at the end unless found.
    history : [HISTORY, 2]
        What is missing, and :func:`value_of`, of former states.
    counters : [2]
        States accepted, tries made; counted on.
    limit : int
        Money that a state may cost.
    best, found : [LEVELS]
        Rank that a complete state must beat; that of the one found.
    near : float
        Area that may be missing in states whose sheets are remembered.

    Returns
    -------
    int
        ``FOUND`` if the trial is complete and better than ``best``, else ``DONE``.
    """
    lack = missing(t, now)
    value = value_of(t, now, lack, best, found)
    for _ in range(tries):
        counters[1] += 1
        ruin(t, trial, rng)
        recreate(t, trial, limit, rng)
        new_lack = missing(t, trial)
        new_value = value_of(t, trial, new_lack, best, found)
        index = counters[0] % len(history)
        old_lack, old_value = history[index, 0], history[index, 1]
        accepted = new_lack < old_lack or (new_lack == old_lack and new_value <= old_value)
        accepted = accepted or new_lack < lack or (new_lack == lack and new_value <= value)
        if accepted:
            lack, value = new_lack, new_value
            history[index, 0], history[index, 1] = lack, value
            counters[0] += 1
            for place in range(trial.counts[c.SHEETS]):
                s = trial.order[place]
                if trial.head[s, c.DIRTY] and lack <= near:
                    remember(t, trial, s, store)
            copy_changed(trial, now, trial)
        if trial.counts[c.WAITING] == 0:
            if math.isinf(best[0]):
                rank(t, trial, found)
            if less(found, best):
                return FOUND
        if not accepted:
            copy_changed(now, trial, trial)
    return DONE
