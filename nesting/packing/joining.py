"""Whether parts could come off one sheet by cuts from edge to edge, over all ways to join them.

Parts are joined bottom-up, side by side or one above the other, over all sets of them: an optimal cutting
tree for each set is one of two smaller sets joined (the recursion of Gilmore and Gomory 1966, here over sets
instead of sizes). Rectangles join to rectangles. Where parts taper and may lean, what is known of a piece is
its level chord and its upright chord at its middle, and how far both may shrink off it (own argument, no
source):

Cuts run along or across the sheet, slanted no further than the parts on it slant and lean: slopes ``a`` of
level cuts and ``b`` of upright ones. A cut along some steep part parts others too, so these are the steepest
of the set asked about and of what may lie beside it: what is no steeper than a limit and has room in the area
that the set leaves. What fails so does not lie beside such parts; with one that is steeper it is asked about
again (:mod:`nesting.packing.joints`). So the upright chord of a piece changes along it by at most ``2 a`` and
the level chord by ``2 b``. A part says what the upright chord is at the least where it lies: its width there.
Off its middle by d the chord is less by its taper times d, and past its end by ``2 a``. The middle of a piece
with level extent X is off the middle of a part of run R in it by (X - R) / 2 at the most. Of pieces one above
the other the upright chords add up on every line, so they do in the middle of the piece cut in two; its level
chord is no less than that of either. Side by side it is the other way round. What is known is thus a falling
concave function of the extent, kept by its values at two extents: the least that there can be, and the
sheet's; what lies between is above the straight line. How tall a piece can be follows from its area: its
parts and all that the sheet wastes. A piece as high as the sheet, cut off by cuts across alone, has the
sheet's own width on every line.

Where rails are short, no cut is longer than the reach. Of the two pieces that a cut parts it runs along the
edge of either, and the chord of each is known in its middle.

These functions are compiled.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from nesting.packing.compiled import kernel
from nesting.packing.tables import Array

STATES, JOINS, MOST_KEPT = 4_096, 60_000, 24
ALIKE = 127.0  # units, 1/64 inch: ways to join that differ by no more are kept as one
ABOUT = 2.0  # units: what rounding may take
SAFE = 1.001  # second-order terms of small slopes
LEAST, TALLEST, FLAT, FLATTEST = 0, 1, 2, 3  # level chord at the own middle and on the sheet; upright chord
RUN, CHORD, TAPER = 0, 1, 2


class Pieces(NamedTuple):
    """What is sure of each item, for a sheet.

    Attributes
    ----------
    ways : [item]
        In how many ways it may lie.
    upright, level : [item, way, 3]
        Where upright (level) lines surely cross it: the run of these, the chord in its middle, and by how
        much that falls off the middle, per unit.
    areas : [item]
        No more than what each surely takes of a sheet.
    slopes : [item, 2]
        Of its steepest level and upright edges, lean included; 0 where the sheet does not take it.
    facts : [4]
        Length and width of the sheet, kerf, reach.
    """

    ways: Array
    upright: Array
    level: Array
    areas: Array
    slopes: Array
    facts: Array


class Joins(NamedTuple):
    """What is known of each set of parts; a set's number is the sum of its items' counts times a radix.

    Attributes
    ----------
    kept : [set, place, 4]
        Ways to join it, none better than another: its least level chord at its own extent and at the
        sheet's, and its upright chord likewise.
    many : [set]
    areas : [set]
    cost : [set]
        The least length of a piece as high as the sheet.
    held, counts, radix, digits, part : [place]
        The items of the content, and what is being looked at.
    made : [4]
    given : [3]
        The area that the sheet wastes, and the slopes of cuts along and across.
    steps : [1]
        Joins looked at so far.
    """

    kept: Array
    many: Array
    areas: Array
    cost: Array
    held: Array
    counts: Array
    radix: Array
    digits: Array
    part: Array
    made: Array
    given: Array
    steps: Array


@kernel
def between(at: float, begin: float, first: float, end: float, last: float) -> float:
    """A value on the straight line from the first to the last, which it does not leave at the ends."""
    if at <= begin or end <= begin:
        return first
    return first + (last - first) * (min(at, end) - begin) / (end - begin)


@kernel
def reach_across(area: float, chord: float, slope: float, most: float) -> float:
    """How far a piece of no more than this area reaches at the most, across a chord in its middle."""
    if chord <= 1.0:
        return most
    return min(most, SAFE * area / chord + 2.0 * slope * chord)


@kernel
def chord_off(run: float, chord: float, taper: float, extent: float, steep: float) -> float:
    """The chord in the middle of a piece of this extent with a part of such a run in it."""
    off, half = max(0.0, (extent - run) / 2.0), run / 2.0
    return chord - taper * min(off, half) - steep * max(0.0, off - half)


@kernel
def take_in(j: Joins, index: int, length: float, width: float) -> None:
    """Keep a way to join, unless another is as good; one that is nearly alike is drawn into that."""
    kept, many, made = j.kept, j.many, j.made
    if made[LEAST] > length + ABOUT or made[FLATTEST] > width + ABOUT:
        return
    count, place, near, nearest = many[index], 0, math.inf, 0
    while place < count:
        above, below = 0.0, 0.0
        for column in range(4):
            off = made[column] - kept[index, place, column]
            above, below = max(above, off), max(below, -off)
        if below <= 0.0:
            return  # the one that is kept is nowhere worse
        if above <= 0.0:
            count -= 1
            for column in range(4):
                kept[index, place, column] = kept[index, count, column]
            continue
        if above + below < near:
            near, nearest = above + below, place
        place += 1
    alike = ALIKE if j.given[1] + j.given[2] > 0 else 0.0  # rectangles are told exactly
    if near <= alike or count == MOST_KEPT:
        for column in range(4):
            kept[index, nearest, column] = min(made[column], kept[index, nearest, column])
    else:
        for column in range(4):
            kept[index, count, column] = made[column]
        count += 1
    many[index] = count


@kernel
def lay_alone(p: Pieces, j: Joins, index: int, item: int) -> None:
    """A single part, in each of its ways."""
    length, width, made, level, upright = p.facts[0], p.facts[1], j.made, p.level, p.upright
    waste, a, b = j.given[0], j.given[1], j.given[2]
    area = j.areas[index] + waste
    for way in range(p.ways[item]):
        run, chord, taper = level[item, way, RUN], level[item, way, CHORD], level[item, way, TAPER]
        made[TALLEST] = chord_off(run, chord, taper, width, 2.0 * b)
        tall = reach_across(area, made[TALLEST], a, width)
        made[LEAST] = chord_off(run, chord, taper, tall, 2.0 * b)
        run, chord, taper = upright[item, way, RUN], upright[item, way, CHORD], upright[item, way, TAPER]
        made[FLAT] = chord_off(run, chord, taper, min(length, made[LEAST] + b * tall), 2.0 * a)
        made[FLATTEST] = chord_off(run, chord, taper, length, 2.0 * a)
        take_in(j, index, length, width)


@kernel
def join(p: Pieces, j: Joins, index: int, first: int, second: int) -> None:
    """Two sets one above the other, and side by side, in all the ways kept of them."""
    kept, made, areas = j.kept, j.made, j.areas
    waste, a, b = j.given[0], j.given[1], j.given[2]
    length, width, kerf, reach = p.facts[0], p.facts[1], p.facts[2], p.facts[3]
    area = areas[index] + waste
    for here in range(j.many[first]):
        l1, t1 = kept[first, here, LEAST], kept[first, here, TALLEST]
        f1, u1 = kept[first, here, FLAT], kept[first, here, FLATTEST]
        tall1 = reach_across(areas[first] + waste, l1, a, width)
        wide1 = reach_across(areas[first] + waste, u1, b, length)
        for there in range(j.many[second]):
            l2, t2 = kept[second, there, LEAST], kept[second, there, TALLEST]
            f2, u2 = kept[second, there, FLAT], kept[second, there, FLATTEST]
            tall2 = reach_across(areas[second] + waste, l2, a, width)
            wide2 = reach_across(areas[second] + waste, u2, b, length)
            room = u1 + u2 + kerf <= width + ABOUT
            if room and max(l1 - b * tall1, l2 - b * tall2) <= reach + ABOUT:  # one above the other
                made[TALLEST] = max(t1, t2)
                tall = reach_across(area, made[TALLEST], a, width)
                if t1 >= t2:
                    made[LEAST] = between(tall, tall1, l1, width, t1)
                else:
                    made[LEAST] = between(tall, tall2, l2, width, t2)
                far = min(length, made[LEAST] + b * tall)
                made[FLAT] = between(far, l1, f1, length, u1) + between(far, l2, f2, length, u2) + kerf
                made[FLATTEST] = u1 + u2 + kerf
                take_in(j, index, length, width)
            if t1 + t2 + kerf > length + ABOUT:
                continue
            near1 = between(wide1, l1, f1, length, u1) - a * wide1
            near2 = between(wide2, l2, f2, length, u2) - a * wide2
            if max(near1, near2) <= reach + ABOUT:  # side by side
                made[TALLEST] = t1 + t2 + kerf
                tall = reach_across(area, made[TALLEST], a, width)
                made[LEAST] = between(tall, tall1, l1, width, t1) + between(tall, tall2, l2, width, t2) + kerf
                far = min(length, made[LEAST] + b * tall)
                made[FLATTEST] = max(u1, u2)
                if u1 >= u2:
                    made[FLAT] = between(far, l1, f1, length, u1)
                else:
                    made[FLAT] = between(far, l2, f2, length, u2)
                take_in(j, index, length, width)


@kernel
def as_high(p: Pieces, j: Joins, index: int, b: float) -> float:
    """The least length of a piece as high as the sheet that holds the set, cut no further across."""
    length, width, kept = p.facts[0], p.facts[1], j.kept
    shortest = math.inf
    for place in range(j.many[index]):
        least, tallest = kept[index, place, LEAST], kept[index, place, TALLEST]
        flat, flattest = kept[index, place, FLAT], kept[index, place, FLATTEST]
        far = min(length, tallest + b * width)
        if between(far, least, flat, length, flattest) > width + ABOUT:
            far = max(far, least + (flat - width - ABOUT) / (flat - flattest) * (length - least))
        shortest = min(shortest, max(tallest, far - b * width))
    return shortest


@kernel
def set_out(j: Joins, content: Array) -> int:
    """List the items of a content and number its sets; how many sets, or 0 where there are too many."""
    sets, joins, many = 1, 1, 0
    for item in range(len(content)):
        count = content[item]
        if count:
            if many == len(j.held):
                return 0
            j.held[many], j.counts[many], j.radix[many] = item, count, sets
            many += 1
            sets *= count + 1
            joins *= (count + 1) * (count + 2) // 2
            if sets > STATES or joins > JOINS:
                return 0
    if many < len(j.held):
        j.held[many] = -1
    return int(sets)


@kernel
def weigh(p: Pieces, j: Joins, content: Array, steepest: float) -> int:
    """What the sheet wastes, and how slanted cuts are where nothing steeper lies beside; how many items."""
    held, counts, many = j.held, j.counts, 0
    waste = p.facts[0] * p.facts[1]
    while many < len(held) and held[many] >= 0:
        item = held[many]
        waste -= counts[many] * p.areas[item]
        j.digits[many] = 0
        many += 1
    a, b = 0.0, 0.0
    for item in range(len(content)):
        steep = max(p.slopes[item, 0], p.slopes[item, 1])
        if content[item] or (steep <= steepest and p.areas[item] <= waste):
            a, b = max(a, p.slopes[item, 0]), max(b, p.slopes[item, 1])
    j.given[0], j.given[1], j.given[2] = waste, a, b
    return many


@kernel
def next_one(digits: Array, most: Array, many: int) -> None:
    """Count on by one, each digit up to its own limit."""
    place = 0
    while place < many and digits[place] == most[place]:
        digits[place] = 0
        place += 1
    if place < many:
        digits[place] += 1


@kernel
def join_all(p: Pieces, j: Joins, index: int, many: int) -> None:
    """A set of several parts out of each two that make it."""
    part, digits, radix, cost, kerf = j.part, j.digits, j.radix, j.cost, p.facts[2]
    for place in range(many):
        part[place] = 0
    while True:
        next_one(part, digits, many)
        first = 0
        for place in range(many):
            first += part[place] * radix[place]
        if first == index:
            return
        if 2 * first >= index:
            second = index - first
            j.steps[0] += 1 + j.many[first] * j.many[second]
            cost[index] = min(cost[index], cost[first] + cost[second] + kerf)
            join(p, j, index, first, second)


@kernel
def may_join(p: Pieces, j: Joins, content: Array, steepest: float) -> int:
    """Whether a content may come off the sheet: 0, or the number of a set in it that does not.

    Beside it nothing lies that slants by more than ``steepest``. Also 0 where there are too many sets. That
    set does not beside the others: by itself it may.
    """
    sets = set_out(j, content)
    if sets == 0:
        return 0
    many, held, digits, cost = weigh(p, j, content, steepest), j.held, j.digits, j.cost
    if j.given[0] < 0:
        return sets - 1
    for index in range(1, sets):
        next_one(digits, j.counts, many)
        total, last = 0, 0
        j.areas[index], j.many[index], cost[index] = 0.0, 0, math.inf
        for place in range(many):
            if digits[place]:
                total += digits[place]
                j.areas[index] += digits[place] * p.areas[held[place]]
                last = place
        if total == 1:
            lay_alone(p, j, index, held[last])
        else:
            join_all(p, j, index, many)
        cost[index] = min(cost[index], as_high(p, j, index, j.given[2]))
        if cost[index] > p.facts[0] + ABOUT:
            cost[index] = math.inf
            if j.many[index] == 0:
                return index
    return 0 if cost[sets - 1] < math.inf else sets - 1
