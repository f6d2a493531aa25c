"""Whether parts could lie on one sheet at all, as far as lines across it tell.

On every line across a sheet the chords of the parts that it crosses, with a kerf each, have room. Each part
lies in one piece, so it is there on all lines of its run: a schedule of tasks that share a resource (bars,
here unbroken; Belov, Kartak, Rohling and Scheithauer 2009). Schedules are enumerated from left to right, each
task begun where another ends (Baptiste, Le Pape and Nuijten 2001); before, each chord is raised by what no
sum of others can use beside it (Boschetti and Mingozzi 2003). These functions are compiled.
"""

from __future__ import annotations

from typing import NamedTuple

from nesting.packing.compiled import kernel
from nesting.packing.tables import Array

MOST_PARTS = 24  # on a sheet, that are asked about
SUMS_A_STEP = 100  # sums that take as long
MOST_SUMS = 4_096
FEW = 10  # parts
FAR_OFF = 1 << 62
A_STEP = 1.5e-7  # deterministic seconds that a step counts as
# steps left for a question and allowed for each; all taken, and when to end with enough found, or at all
QUESTION, EACH, ALL, ENOUGH, UNTIL, HALT = 0, 1, 2, 3, 4, 5
ITEM, WAYS, WAITS, END, TAKES, LEAST, RUN, AREA, LATEST = 0, 1, 2, 3, 4, 5, 6, 7, 8
RUNS, CHORDS, BEGINS, PART = 9, 11, 13, 15
AT, BEFORE, ASKED, LAID, USED, DEPTH = 0, 1, 2, 3, 4, 5


class Shapes(NamedTuple):
    """What is sure of each item on lines upright (direction 0) and level (1).

    Attributes
    ----------
    ways : [item]
        In how many ways it may lie.
    runs, chords : [direction, item, way]
        How many lines cross it, and what it takes of each, kerf included.
    room : [direction, 2]
        Of the sheet the same.
    order : [item]
        The largest first.
    """

    ways: Array
    runs: Array
    chords: Array
    room: Array
    order: Array


class Schedule(NamedTuple):
    """Parts being laid, and where the enumeration stands.

    Attributes
    ----------
    parts : [part, column]
        Which item; in how many ways it may lie; whether it is not laid yet; where it ends and what it takes,
        if it is; the least it takes, its shortest run and its least area; where it begins at the latest; its
        runs, its chords, and where it begins so at the latest, two each.
    depths : [depth, column]
        The line; what the lines just before take; which part and way is next; which part was laid; what
        the line takes.
    sums : [sum]
    """

    parts: Array
    depths: Array
    sums: Array


@kernel
def take_up(g: Shapes, parts: Array, content: Array, way: int) -> int:
    """The parts of a content, with what they take in a direction; how many."""
    order, ways, runs, chords = g.order, g.ways, g.runs, g.chords
    count = 0
    for place in range(len(order)):
        item = order[place]
        for _ in range(content[item]):
            if count == MOST_PARTS:
                return count + 1
            parts[count, ITEM], parts[count, WAYS] = item, ways[item]
            for turn in range(ways[item]):
                parts[count, RUNS + turn] = runs[way, item, turn]
                parts[count, CHORDS + turn] = chords[way, item, turn]
            count += 1
    return count


@kernel
def most_beside(parts: Array, sums: Array, count: int, part: int, room: int, steps: Array) -> int:
    """The largest sum of other parts' chords within a room; the room itself where there are too many."""
    most, size, looked = 0, 1, 0
    sums[0] = 0
    for other in range(count):
        if other != part:
            known = size
            for turn in range(parts[other, WAYS]):
                chord = parts[other, CHORDS + turn]
                looked += known
                for index in range(known):
                    total = sums[index] + chord
                    if total <= room:
                        if size == MOST_SUMS:
                            steps[ALL] += looked // SUMS_A_STEP
                            return room
                        sums[size] = total
                        size += 1
                        most = max(most, total)
    steps[ALL] += looked // SUMS_A_STEP
    return most


@kernel
def raise_all(parts: Array, sums: Array, count: int, room: int, steps: Array) -> None:
    """Raise each chord by what is wasted beside it in any case; parts alike may differ then."""
    for part in range(count):
        for turn in range(parts[part, WAYS]):
            rest = room - parts[part, CHORDS + turn]
            if rest > 0:
                parts[part, CHORDS + turn] = room - most_beside(parts, sums, count, part, rest, steps)
    for part in range(count - 1, 0, -1):
        if parts[part, ITEM] == parts[part - 1, ITEM]:
            for turn in range(parts[part, WAYS]):
                if parts[part, CHORDS + turn] != parts[part - 1, CHORDS + turn]:
                    parts[part, ITEM] = -1 - part


@kernel
def begin_schedule(parts: Array, depths: Array, count: int, far: int, room: int) -> bool:
    """Nothing is laid yet; False where a part has no room by itself.

    The largest part begins in the first half of what it may: a schedule read backwards is one, too.
    """
    for part in range(count):
        least, short, area = FAR_OFF, FAR_OFF, FAR_OFF
        for turn in range(parts[part, WAYS]):
            run, chord = parts[part, RUNS + turn], parts[part, CHORDS + turn]
            parts[part, BEGINS + turn] = (far - run) // 2 if part == 0 else far - run
            if run <= far and chord <= room:
                least, short, area = min(least, chord), min(short, run), min(area, run * chord)
        if short == FAR_OFF:
            return False
        parts[part, LEAST], parts[part, RUN], parts[part, AREA] = least, short, area
        parts[part, LATEST] = (far - short) // 2 if part == 0 else far - short
        parts[part, WAITS], parts[part, END], parts[part, TAKES] = 1, 0, 0
    depths[0, AT], depths[0, BEFORE], depths[0, ASKED], depths[0, LAID] = 0, 0, 0, -1
    return True


@kernel
def crowded(parts: Array, count: int, at: int, far: int, room: int) -> bool:
    """Whether the parts that wait have no room from a line on: by their area, or on a line they all cross."""
    need = 0
    for part in range(count):
        if parts[part, WAITS]:
            if at > parts[part, LATEST]:
                return True
            need += parts[part, AREA]
        elif parts[part, END] > at:
            need += (parts[part, END] - at) * parts[part, TAKES]
    if need > (far - at) * room:
        return True
    for part in range(count):
        line = parts[part, LATEST]
        if parts[part, WAITS] and line < at + parts[part, RUN]:
            total = 0
            for other in range(count):
                if not parts[other, WAITS]:
                    total += parts[other, TAKES] * (parts[other, END] > line)
                elif parts[other, LATEST] <= line < at + parts[other, RUN]:
                    total += parts[other, LEAST]
            if total > room:
                return True
    return False


@kernel
def lay_next(parts: Array, depths: Array, count: int, depth: int, far: int, room: int) -> bool:
    """Lay the next part that has room on the line; one that could lie further left does."""
    at, used, before = depths[depth, AT], depths[depth, USED], depths[depth, BEFORE]
    for asked in range(depths[depth, ASKED], 2 * count):
        part, turn = asked // 2, asked % 2
        if parts[part, WAITS] and turn < parts[part, WAYS]:
            twin = part > 0 and parts[part - 1, ITEM] == parts[part, ITEM] and parts[part - 1, WAITS]
            chord, end = parts[part, CHORDS + turn], at + parts[part, RUNS + turn]
            fits = used + chord <= room and at <= parts[part, BEGINS + turn]
            if not twin and fits and (at == 0 or before + chord > room):
                depths[depth, ASKED], depths[depth, LAID] = asked + 1, part
                parts[part, WAITS], parts[part, END], parts[part, TAKES] = 0, end, chord
                depths[depth + 1, AT], depths[depth + 1, BEFORE] = at, before
                depths[depth + 1, ASKED], depths[depth + 1, LAID] = 2 * (part + 1), -1
                return True
    depths[depth, ASKED] = max(depths[depth, ASKED], 2 * count)
    return False


@kernel
def move_on(parts: Array, depths: Array, count: int, depth: int) -> bool:
    """Go on to the next line where a part ends, once."""
    if depths[depth, ASKED] > 2 * count:
        return False
    depths[depth, ASKED] = 2 * count + 1
    line = FAR_OFF
    for part in range(count):
        if not parts[part, WAITS] and parts[part, END] > depths[depth, AT]:
            line = min(line, parts[part, END])
    depths[depth + 1, AT], depths[depth + 1, BEFORE] = line, depths[depth, USED]
    depths[depth + 1, ASKED], depths[depth + 1, LAID] = 0, -1
    return bool(line < FAR_OFF)


@kernel
def any_waits(parts: Array, depths: Array, count: int, depth: int) -> bool:
    """Whether parts wait yet; what the line takes is added up on the way."""
    used, waits = 0, False
    for part in range(count):
        if parts[part, WAITS]:
            waits = True
        elif parts[part, END] > depths[depth, AT]:
            used += parts[part, TAKES]
    depths[depth, USED] = used
    return waits


@kernel
def take_back(parts: Array, depths: Array, depth: int) -> None:
    """What was laid at a depth waits again."""
    if depth >= 0 and depths[depth, LAID] >= 0:
        part = depths[depth, LAID]
        parts[part, WAITS], parts[part, END], parts[part, TAKES] = 1, 0, 0
        depths[depth, LAID] = -1


@kernel
def has_schedule(parts: Array, depths: Array, count: int, far: int, room: int, steps: Array) -> bool:
    """Whether all parts have room on all lines; True also where the steps do not tell."""
    if not begin_schedule(parts, depths, count, far, room):
        return False
    depth, new = 0, True
    while depth >= 0:
        if new:
            steps[QUESTION] -= 1
            steps[ALL] += 1
            if steps[QUESTION] < 0 or not any_waits(parts, depths, count, depth):
                return True
            new = False
            if crowded(parts, count, depths[depth, AT], far, room):
                depth -= 1
                take_back(parts, depths, depth)
                continue
        if lay_next(parts, depths, count, depth, far, room) or move_on(parts, depths, count, depth):
            depth, new = depth + 1, True
        else:
            depth -= 1
            take_back(parts, depths, depth)
    return False


@kernel
def may_lie(g: Shapes, s: Schedule, content: Array, steps: Array) -> bool:
    """Whether a content has a schedule in both directions, or the steps for each did not tell."""
    parts, depths, sums, sheet = s.parts, s.depths, s.sums, g.room
    for way in range(2):
        count = take_up(g, parts, content, way)
        if count > MOST_PARTS:
            return True
        far, room = sheet[way, 0], sheet[way, 1]
        raise_all(parts, sums, count, room, steps)
        steps[ALL] += count
        steps[QUESTION] = steps[EACH] >> max(0, count - FEW)  # of many parts hardly any answer comes in time
        if not has_schedule(parts, depths, count, far, room, steps):
            return False
    return True
