"""Filling sheets: each part goes where it spoils least of the free pieces' worth.

These functions are compiled (see :mod:`nesting.packing.compiled`). ``t`` is a :class:`~.tables.Table`,
``w`` a :class:`~.tables.Work`, ``s`` a slot, ``n`` a row of it.
"""

from __future__ import annotations

import math

from nesting.packing import tables as c
from nesting.packing.compiled import kernel
from nesting.packing.fitting import Piece, fit_snapped, longest_cut, mirrored, spoiled, worth_of
from nesting.packing.leaning import MILLION, fit_leaning
from nesting.packing.tables import Array, Table, Work
from nesting.packing.trees import (
    below,
    cut_out,
    draw,
    empty,
    has_rows,
    keep_waiting,
    open_root,
    piece_at,
    put_away,
    settle,
)

Way = tuple[float, int, int, int, bool, bool, bool, bool]
# cost, slot, row, shape, leaning, mirrored twice, across first
RANDOM_SIZE, CHEAPEST = -2, -1  # what to prefer, if not a size


@kernel
def untrimmed(sizes: Array, size: int, frame: Piece, turned: int) -> tuple[int, int, int, int]:
    """What may still be on a piece of the factory edges: at its two ends, and along its two sides."""
    x0, x1, l0, l1, u0, u1 = frame
    low, up = min(l0, l1), max(u0, u1)
    at_x0, at_x1 = (low, up) if turned else (x0, x1)
    at_y0, at_y1 = (x0, x1) if turned else (low, up)
    left = sizes[size, c.TRIM_LEFT] if at_x0 == sizes[size, c.SX0] else 0
    right = sizes[size, c.TRIM_RIGHT] if at_x1 == sizes[size, c.SX1] else 0
    lower = sizes[size, c.TRIM_LOWER] if at_y0 == sizes[size, c.SY0] else 0
    upper = sizes[size, c.TRIM_UPPER] if at_y1 == sizes[size, c.SY1] else 0
    if turned:
        return lower, upper, left, right
    return left, right, lower, upper


@kernel
def left_on(
    trims: tuple[int, int, int, int], left_right: bool, level: bool, play: bool
) -> tuple[int, int, int, int, int, int]:
    """What counts of these trims for a part in a corner of a piece: see :func:`longest_cut`.

    What a part touches is trimmed for it, unless it leans, or the edge has play: the right and the upper one.
    """
    end_a, end_b, side_a, side_b = trims
    stays = end_b if play else 0
    near, far, reached = (stays, end_a, 0) if left_right else (0, end_b, stays)
    if not level:
        near = end_b if left_right else end_a
        reached = far
    sides = side_a + side_b
    return end_a + end_b, sides, near, far, reached, 0 if level and not play else sides


@kernel
def end_cut(piece: Piece, fit: tuple[bool, int, int, int, int, int], lean: int) -> float:
    """At most the length of a cut that makes an end of a leaning part, in its cell."""
    _, _, l0, l1, _, _ = piece
    _, _, _, top, _, far = fit
    off = lean / MILLION
    return (max(top - l0, far - l1) + 2) * (1 + off * off)


@kernel
def try_corner(
    piece: Piece, length: int, left: int, right: int, high: bool, worth: float, least: float,
    kerf: int, heights: Array, reach: int, edges: tuple[int, int, int, int, int, int], lean: int, first: int,
) -> tuple[float, bool]:  # fmt: skip
    """The cheaper way to cut a shape out of the corner of a piece, if it spoils less than ``least``.

    Along its lower edge where ``lean`` says how far it may lean, else level. ``first`` says which cut is to
    come first if that can be.
    """
    best, across = least, False
    if lean > 0:
        fit = fit_leaning(piece, length, left, right, high, lean)
        if fit[0] and reach >= 0 and end_cut(piece, fit, lean) + edges[1] > reach:
            return best, across
    else:
        fit = fit_snapped(piece, length, left, right, high, kerf, heights)
    if not fit[0]:
        return best, across
    for turn in range(2):
        across_first = (turn == 0) == (first != c.ALONG)
        cost = spoiled(piece, worth, fit, across_first, kerf)
        if cost < 0 or (cost >= best and first == c.EITHER):
            continue
        if reach >= 0 and longest_cut(piece, fit, across_first, edges) > reach:
            continue
        if cost < best:
            best, across = cost, across_first
        if first != c.EITHER:
            break
    return best, across


@kernel
def best_in(
    t: Table, size: int, straight: Piece, turned: int, worth: float, begin: int, end: int, lean: int,
    first: int, lie: int,
) -> tuple[float, int]:  # fmt: skip
    """The cheapest way to cut one of the shapes from ``begin`` to ``end`` out of a free piece, packed.

    Of those only that lie as ``lie`` says.
    """
    shapes, kerf, heights, reach = t.shapes, t.facts[c.KERF], t.heights, t.facts[c.REACH]
    x0, x1, l0, l1, u0, u1 = straight
    ends, best, way = (0, 0, 0, 0), math.inf, c.NONE
    rectangle = l0 == l1 and u0 == u1
    for shape in range(begin, end):
        frame = straight
        if shapes[shape, c.LIES_TURNED] != turned:
            if not rectangle:
                continue
            frame = (l0, u0, x0, x0, x1, x1)
        left, right = shapes[shape, c.LEFT], shapes[shape, c.RIGHT]
        tall = max(frame[4] - frame[2], frame[5] - frame[3]) + 1
        if shapes[shape, c.LENGTH] > frame[1] - frame[0] or min(left, right) > tall:
            continue
        if lie != c.EITHER:
            lies = (shapes[shape, c.LENGTH] >= max(left, right)) == (shapes[shape, c.LIES_TURNED] == 0)
            if lies != (lie == c.LYING):
                continue
        if rectangle:
            if shapes[shape, c.HIGH]:
                continue  # the others are the same turned by 180 degrees
            ways = 1 if left == right else 2  # what follows a taper differs by its end
        else:
            ways = 4
        if reach >= 0:
            ends = untrimmed(t.sizes, size, frame, shapes[shape, c.LIES_TURNED])
        for number in range(ways):
            left_right = number == 1 if rectangle else number >= 2
            up_down = (not rectangle) and number % 2 == 1
            piece = mirrored(frame, left_right, up_down)
            near, far = (right, left) if left_right else (left, right)
            high = (shapes[shape, c.HIGH] != 0) != up_down
            for leaning in range(2 if lean > 0 and piece[2] != piece[3] else 1):
                edges = left_on(ends, left_right, leaning == 0, t.sizes[size, c.PLAY] > 0)
                cost, across = try_corner(
                    piece, shapes[shape, c.LENGTH], near, far, high, worth, best, kerf, heights, reach,
                    edges, leaning * lean, first,
                )  # fmt: skip
                if cost < best:
                    best = cost
                    way = (shape * 2 + leaning) * 8
                    way += int(left_right) * 4 + int(up_down) * 2 + int(across)
    return best, way


@kernel
def best_as_wanted(
    t: Table, w: Work, size: int, piece: Piece, turned: int, begin: int, end: int, lean: int
) -> tuple[float, int]:
    """The same with the cut first, and lying, as it is to be in this try; otherwise where that cannot be."""
    worth, first, lie = worth_of(piece), w.counts[c.FIRST], w.counts[c.LIE]
    found = best_in(t, size, piece, turned, worth, begin, end, lean, first, lie)
    if found[1] < 0 and lie != c.EITHER:
        found = best_in(t, size, piece, turned, worth, begin, end, lean, first, c.EITHER)
    return found


@kernel
def place_of(
    asked: Array, reach: int, sizes: Array, size: int, piece: Piece, turned: int, begin: int, lean: int,
    wanted: int,
) -> tuple[bool, int]:  # fmt: skip
    """Whether the best way for a free piece is known, and its place among the answers.

    Where a piece lies does not matter, but which factory edges it touches does, if rails are short, and
    whether parts may lean, if it is slanted, and how parts are ``wanted`` to go in.
    """
    x0, x1, l0, l1, u0, u1 = piece
    touches = turned
    if lean > 0 and (l0 != l1 or u0 != u1):
        touches += 32
    if reach >= 0:
        end_a, end_b, side_a, side_b = untrimmed(sizes, size, piece, turned)
        touches += 2 * int(end_a > 0) + 4 * int(end_b > 0) + 8 * int(side_a > 0) + 16 * int(side_b > 0)
        touches += 64 * size
    touches = 9 * touches + wanted
    run, rise, left, right = x1 - x0, l1 - l0, u0 - l0, u1 - l1
    mixed = (run * 73_856_093) ^ (left * 19_349_663) ^ (right * 83_492_791) ^ (begin * 50_331_653)
    mixed = mixed ^ (touches * 12_582_917) ^ (rise * 25_165_843)
    at = (mixed ^ (mixed >> 17)) & (len(asked) - 1)
    if (
        asked[at, 0] == run and asked[at, 1] == left and asked[at, 2] == right and asked[at, 3] == begin
        and asked[at, 4] == touches and asked[at, 5] == rise
    ):  # fmt: skip
        return True, at
    asked[at, 0], asked[at, 1], asked[at, 2] = run, left, right
    asked[at, 3], asked[at, 4], asked[at, 5] = begin, touches, rise
    return False, at


@kernel
def best_way(t: Table, w: Work, begin: int, end: int, rng: Array, blink: int) -> Way:
    """The cheapest way over all sheets that have rows for it; slot -1 where there is none.

    Each free piece is overlooked with chance ``blink`` / 2^32, unless there is no other.
    """
    least, slot, row, way = math.inf, c.NONE, c.NONE, 0
    other, other_slot, other_row, other_way = math.inf, c.NONE, c.NONE, 0
    short, long = t.sides[begin, 0], t.sides[begin, 1]
    node, head, order, rooms = w.nodes, w.head, w.order, w.rooms
    asked, costs, sizes, reach = t.asked, t.costs, t.sizes, t.facts[c.REACH]
    lean = w.counts[c.MAY_LEAN] if begin < t.first[t.facts[c.ITEMS]] else 0  # blanks do not
    wanted = 3 * w.counts[c.FIRST] + w.counts[c.LIE]
    for index in range(w.counts[c.SHEETS]):
        s = order[index]
        size = head[s, c.SIZE]
        if not has_rows(w, s):
            continue
        for place in range(head[s, c.ROOMS]):
            n = rooms[s, place]
            piece, turned = piece_at(node, s, n), node[s, n, c.TURNED]
            span, tall = piece[1] - piece[0], max(piece[4] - piece[2], piece[5] - piece[3]) + 1
            if min(span, tall) < short or max(span, tall) < long:
                continue
            known, at = place_of(asked, reach, sizes, size, piece, turned, begin, lean, wanted)
            if not known:
                costs[at], asked[at, 6] = best_as_wanted(t, w, size, piece, turned, begin, end, lean)
            if costs[at] >= least:
                continue
            if blink == 0 or draw(rng) >= blink:
                least, slot, row, way = costs[at], s, n, asked[at, 6]
            elif costs[at] < other:
                other, other_slot, other_row, other_way = costs[at], s, n, asked[at, 6]
    if slot < 0:
        least, slot, row, way = other, other_slot, other_row, other_way
    return least, slot, row, way >> 4, way & 8 != 0, way & 4 != 0, way & 2 != 0, way & 1 != 0


@kernel
def price_of(t: Table, w: Work) -> int:
    """Of all sheets opened."""
    price = 0
    for index in range(w.counts[c.SHEETS]):
        price += t.sizes[w.head[w.order[index], c.SIZE], c.PRICE]
    return price


@kernel
def affordable(t: Table, w: Work, item: int, size: int, budget: int) -> bool:
    """Whether a size takes an item, costs no more than this, and can still be had."""
    if t.takes[item, size] == 0 or t.sizes[size, c.PRICE] > budget:
        return False
    used = 0
    for index in range(w.counts[c.SHEETS]):
        if w.head[w.order[index], c.SIZE] == size:
            used += 1
    return bool(used < t.sizes[size, c.COUNT])


@kernel
def choose_size(t: Table, w: Work, item: int, budget: int, prefer: int, rng: Array) -> int:
    """The preferred size if it can be had; else the cheapest by area, or a random one; -1 for none."""
    if w.counts[c.IDLES] == 0:
        return c.NONE
    if prefer >= 0 and affordable(t, w, item, prefer, budget):
        return prefer
    best, least, found = c.NONE, math.inf, 0
    for size in range(t.facts[c.SIZES]):
        if not affordable(t, w, item, size, budget):
            continue
        found += 1
        rate = t.sizes[size, c.PRICE] / t.sizes[size, c.AREA]
        if prefer == RANDOM_SIZE:
            if below(rng, found) == 0:
                best = size
        elif rate < least:
            best, least = size, rate
    return best


@kernel
def place(t: Table, w: Work, item: int, rng: Array, blink: int) -> bool:
    """Put an item where it spoils least."""
    way = best_way(t, w, t.first[item], t.first[item + 1], rng, blink)
    if way[1] < 0:
        return False
    _, s, n, shape, leaning, left_right, up_down, across = way
    cut_out(t, w, s, n, shape, leaning, left_right, up_down, across, item)
    settle(w, s, n)
    return True


@kernel
def fill_blank(t: Table, w: Work, s: int, n: int, item: int, pair: int) -> bool:
    """Cut both parts of a pair out of a blank, or the one part."""
    lower, upper, partner = t.pairs[pair, c.LOWER], t.pairs[pair, c.UPPER], t.pairs[pair, c.PARTNER]
    whole = t.shapes[lower, c.LENGTH] == t.shapes[t.pairs[pair, c.BLANK], c.LENGTH]
    if cut_out(t, w, s, n, lower, False, False, False, whole, item) < 0:
        return False
    if partner < 0:
        return True
    # of the first cut's two pieces the other one holds the second part
    rest = w.nodes[s, n, c.OTHER]
    return rest >= 0 and cut_out(t, w, s, rest, upper, False, False, False, True, partner) >= 0


@kernel
def place_pair(t: Table, w: Work, item: int, pair: int, rng: Array, blink: int) -> bool:
    """Put a blank in, where it spoils least, and two items into it, or one."""
    blank = t.pairs[pair, c.BLANK]
    way = best_way(t, w, blank, blank + 1, rng, blink)
    if way[1] < 0:
        return False
    _, s, n, _, _, left_right, up_down, across = way
    cell = cut_out(t, w, s, n, blank, False, left_right, up_down, across, c.NONE)
    if cell < 0 or not fill_blank(t, w, s, cell, item, pair):
        waiting = w.counts[c.WAITING]
        empty(w, s, n)  # rounding, at a place where the blank just fits
        w.counts[c.WAITING] = waiting
        w.head[s, c.DIRTY] = 1
        return False
    settle(w, s, n)
    return True


@kernel
def partner_of(t: Table, w: Work, item: int) -> int:
    """The pair that wastes least with a partner that is still in the queue; -1 for none."""
    for pair in range(t.first_pair[item], t.first_pair[item + 1]):
        if t.pairs[pair, c.PARTNER] >= 0 and w.left[t.pairs[pair, c.PARTNER]] > 0:
            return pair
    return c.NONE


@kernel
def alone(t: Table, item: int, rng: Array) -> int:
    """A blank for a tapered item by itself, one of those that there are: -1 for none."""
    begin, end = t.first_pair[item], t.first_pair[item + 1]
    first = end
    while first > begin and t.pairs[first - 1, c.PARTNER] < 0:
        first -= 1
    if first == end:
        return c.NONE
    return int(first + (below(rng, end - first) if end - first > 1 else 0))


@kernel
def blank_for(t: Table, w: Work, item: int, rng: Array, pairing: int, blanking: int) -> int:
    """Whether an item goes in with a partner, in a blank by itself, or as it is (-1): by chance."""
    pair = c.NONE
    if pairing > 0 and draw(rng) < pairing:
        pair = partner_of(t, w, item)
    tapered = t.first_pair[item] < t.first_pair[item + 1]
    if pair < 0 and tapered and blanking > 0 and draw(rng) < blanking:
        pair = alone(t, item, rng)
    return int(pair)


@kernel
def put(t: Table, w: Work, item: int, pair: int, rng: Array, blink: int) -> bool:
    """Put an item in, with its partner if both fit, or in its blank if that does."""
    if pair >= 0 and place_pair(t, w, item, pair, rng, blink):
        if t.pairs[pair, c.PARTNER] >= 0:
            w.left[t.pairs[pair, c.PARTNER]] -= 1
        return True
    return place(t, w, item, rng, blink)


@kernel
def open_with(t: Table, w: Work, size: int, item: int, pair: int, rng: Array) -> bool:
    """Take one more sheet of a size and put an item in; of the ways to begin one that takes it."""
    first, ways = t.first_root[size], t.first_root[size + 1] - t.first_root[size]
    begin = below(rng, ways) if ways > 1 else 0
    for turn in range(ways):
        open_root(t, w, size, first + (begin + turn) % ways)
        if put(t, w, item, pair, rng, 0):
            return True
        put_away(w, w.counts[c.SHEETS] - 1)
    return False


@kernel
def fill(
    t: Table, w: Work, count: int, limit: int, prefer: int, rng: Array, blink: int, pairing: int,
    blanking: int,
) -> None:  # fmt: skip
    """Place the first ``count`` items of the queue in its order.

    A sheet is opened where one finds no place and the money allows. A tapered item is put in with a
    partner with chance ``pairing`` / 2^32, else in a blank by itself with chance ``blanking`` / 2^32. What
    finds no place waits.
    """
    for item in range(t.facts[c.ITEMS]):
        w.left[item] = 0
    for place_ in range(count):
        w.left[w.queue[place_]] += 1
    w.counts[c.WAITING] = 0
    budget = limit - price_of(t, w)
    lost = c.NONE  # of alike items the next finds no place either, where the one before found none
    for place_ in range(count):
        item = w.queue[place_]
        if w.left[item] == 0:
            continue
        w.left[item] -= 1
        pair = blank_for(t, w, item, rng, pairing, blanking)
        if item == lost:
            keep_waiting(w, item)
            continue
        if put(t, w, item, pair, rng, blink):
            continue
        size = c.NONE
        if budget >= t.facts[c.CHEAPEST]:
            size = choose_size(t, w, item, budget, prefer, rng)
        if size >= 0 and open_with(t, w, size, item, pair, rng):
            budget -= t.sizes[size, c.PRICE]
            lost = c.NONE
            continue
        lost = item
        keep_waiting(w, item)
