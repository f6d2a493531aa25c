"""Sheets that are cut up with nothing left over, built from the parts up.

Two blocks are joined where their sides match, a kerf between them: side by side, one after the other
along one slanted line, or head to foot along it. Sides match if they differ by no more than the kerf, for
what is thinner than the kerf is sawdust. Sides seldom match by chance, so few blocks come about,
and those that fill a whole sheet are found at once where a search that fills a sheet from a corner would
have to guess. An exact cover of the parts by such sheets is a plan without any waste.

What lies one on another is the same in whatever order and however bracketed, so a stack is only made one
block at a time, the one of the largest content last; what follows along a slanted line likewise.
"""

from __future__ import annotations

import math
from collections import defaultdict, deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from nesting.packing import tables as c
from nesting.packing.fitting import PLAY, kerf_over
from nesting.packing.rules import Rules
from nesting.packing.solver import SOLVED, cp_model, solver_for
from nesting.packing.state import State
from nesting.packing.trees import add_rooms, carve, cut_out, has_rows

LEAST_USE = 0.985  # of the sheets, kerfs counted: below, parts seldom fill sheets without waste
MOST_WASTE = 0.1  # of a sheet, on all together: many sheets are nearly full by chance
SHARES = (3, 1)  # of a kerf by which sides may differ, after exact fits
FIELD = 16  # bits for the count of one item in a block's content, the top one a guard


@dataclass(frozen=True, slots=True)
class Block:
    """A right trapezoid, straight edge below, filled with parts.

    ``turned`` says that its length lies across the sheet. ``content`` holds the count of each item in a
    field of its own. ``made`` says how two blocks are joined: ``over`` the other, ``beside`` it, or
    ``facing`` it, head to foot. ``top`` is the largest content of those that are stacked in it.
    """

    length: int
    left: int
    right: int
    turned: bool
    content: int
    top: int
    item: int | None = None
    made: str = ""
    kids: tuple[Block, ...] = ()

    @property
    def rectangular(self) -> bool:
        """The far edge is parallel to the straight one."""
        return self.left == self.right


Shelves = dict[tuple[bool, int], list[Block]]


class Builder:
    """All blocks of an instance, up to a limit, on sheets of one size.

    Sides match if they differ by no more than ``play``.
    """

    def __init__(self, rules: Rules, size: int, play: int) -> None:
        self.play = play
        self.rules = rules
        self.size = size
        self.kerf = rules.instance.saw.kerf
        self.room = rules.instance.sizes[size].usable
        guards = [1 << (FIELD * i + FIELD - 1) for i in range(len(rules.instance.items))]
        self.guard = sum(guards)
        self.counts = sum(item.count << FIELD * i for i, item in enumerate(rules.instance.items))
        self.known: set[tuple[int, int, int, bool, int]] = set()
        self.plain: Shelves = defaultdict(list)  # what is no stack, by length
        self.stacks: Shelves = defaultdict(list)  # by length too
        self.near = 2 * play + 4 * PLAY
        self.begins: Shelves = defaultdict(list)  # the slanted ones by their first height
        self.ends: Shelves = defaultdict(list)  # and by their last
        self.flat: Shelves = defaultdict(list)
        self.full: list[Block] = []
        self.looked = 0
        self.waiting = deque(filter(self._new, self._single()))

    def build(self, joints: int, stop: Callable[[], bool]) -> bool:
        """Join blocks until no more come about, or so many were looked at; whether a sheet was filled."""
        before = len(self.full)
        while self.waiting and self.looked < joints and not stop():
            for view in self._views(self.waiting.popleft()):
                self._file(view)
                self.waiting += filter(self._new, self._joined(view))
        return len(self.full) > before

    def _single(self) -> Iterator[Block]:
        for item, shapes in enumerate(self.rules.shapes):
            for shape in shapes:
                if not shape.high:
                    content = 1 << FIELD * item
                    yield Block(shape.length, shape.left, shape.right, shape.turned, content, content, item)

    def _views(self, block: Block) -> list[Block]:
        """A rectangle lies along the sheet as well as across it."""
        return [block, _quarter(block)] if block.rectangular else [block]

    def _new(self, block: Block) -> bool:
        """Whether a block is new, may be, and can still be part of a sheet; a full sheet is set aside."""
        along, across = block.length, max(block.left, block.right)
        x, y = (across, along) if block.turned else (along, across)
        over = min(self.play, PLAY)
        if x > self.room[0] + over or y > self.room[1] + over:
            return False
        if (self.counts + self.guard - block.content) & self.guard != self.guard:
            return False
        key = (x, y, block.right - block.left, block.turned and not block.rectangular, block.content)
        if key in self.known:
            return False
        self.known.add(key)
        if block.rectangular and x >= self.room[0] - self.kerf and y >= self.room[1] - self.kerf:
            self.full.append(block)
            return False
        return True

    def _file(self, block: Block) -> None:
        stack = block.made == "over"
        if block.rectangular or not stack:
            shelves = self.stacks if stack else self.plain
            shelves[block.turned, block.length // self.near].append(block)
        if block.rectangular:
            self.flat[block.turned, block.left // self.near].append(block)
            return
        self.ends[block.turned, block.right // self.near].append(block)
        if block.made != "beside":
            self.begins[block.turned, block.left // self.near].append(block)

    def _joined(self, block: Block) -> Iterator[Block]:
        """Joints of a block with all that are filed already, itself among them."""
        room = self.counts + self.guard - block.content
        for shelves in self._stackable(block):
            for other in self._near(shelves, block.turned, block.length // self.near, room):
                if abs(block.length - other.length) <= self.play:
                    yield from self._stacked(block, other)
        over = (block.right - block.left) * self.kerf // block.length
        for shelves in self._in_line_with(block, self.begins):
            for other in self._near(shelves, block.turned, (block.right + over) // self.near, room):
                yield from self._in_line(block, other)
        for shelves in self._in_line_with(block, self.ends) if block.made != "beside" else ():
            for other in self._near(shelves, block.turned, (block.left - over) // self.near, room):
                yield from self._in_line(other, block)

    def _in_line_with(self, block: Block, slanted: Shelves) -> tuple[Shelves, ...]:
        """Where to look for what may lie under one slanted line with a block, before or after it."""
        if self.play <= 2 * PLAY:
            return () if block.rectangular else (slanted,)
        return (slanted,) if block.rectangular else (slanted, self.flat)  # a short one may look rectangular

    def _stackable(self, block: Block) -> tuple[Shelves, ...]:
        """Where to look for what may lie over or under a block: a stack grows by one block at a time."""
        if block.made != "over":
            return self.plain, self.stacks
        return (self.plain,) if block.rectangular else ()

    def _near(self, shelves: Shelves, turned: bool, shelf: int, room: int) -> Iterator[Block]:
        """Blocks on a shelf and the two beside it that hold no more of any item than there is left."""
        for near in (shelf - 1, shelf, shelf + 1):
            found = shelves.get((turned, near), ())
            self.looked += len(found)
            for other in found:
                if (room - other.content) & self.guard == self.guard:
                    yield other

    def _stacked(self, one: Block, other: Block) -> Iterator[Block]:
        if one.rectangular or other.rectangular:
            low, high = sorted((one, other), key=_lower_first)
            if high.rectangular and (high.made == "over" or high.content < low.top):
                return
            # a slant runs on over what is longer than its block
            up, length = low.left + self.kerf, max(one.length, other.length)
            rise = round((high.right - high.left) * length / high.length)
            yield self._join("over", (low, high), length, high.left + up, high.left + up + rise)
            return
        over = kerf_over(self.kerf, one.length, one.right - one.left)
        left, right = one.left + over + other.right, one.right + over + other.left
        if abs(left - right) <= self.play:
            height = max(left, right)
            yield self._join("facing", (one, other), max(one.length, other.length), height, height)

    def _in_line(self, one: Block, other: Block) -> Iterator[Block]:
        """One after the other under one line: from end to end, raised until it is above all of them."""
        kids = (*(one.kids if one.made == "beside" else (one,)), other)
        length = one.length + self.kerf + other.length
        slope, at, over = (other.right - kids[0].left) / length, 0, []
        for kid in kids:
            for x, height in ((at, kid.left), (at + kid.length, kid.right)):
                over.append(kids[0].left + slope * x - height)
            at += kid.length + self.kerf
        up = math.ceil(-min(over)) if min(over) < -PLAY else 0
        if slope and max(over) + up <= self.play:
            yield self._join("beside", kids, length, kids[0].left + up, other.right + up)

    def _join(self, made: str, kids: tuple[Block, ...], length: int, left: int, right: int) -> Block:
        content = sum(kid.content for kid in kids)
        top = kids[-1].content if made == "over" and left == right else content
        return Block(length, left, right, kids[0].turned, content, top, None, made, kids)


def _lower_first(block: Block) -> tuple[bool, int, bool]:
    return not block.rectangular, block.top, block.made != "over"


def _quarter(block: Block) -> Block:
    """The same rectangle, told in the other frame: what lies over another then lies beside it."""
    return Block(block.left, block.length, block.length, not block.turned, block.content, block.content,
                 None, "same", (block,))  # fmt: skip


class DoesNotFitError(ValueError):
    """Small differences add up, so that a block does not fit."""


def lay(state: State, slot: int, node: int, block: Block, rotated: bool = False) -> None:
    """Cut a block out of a free piece of its size."""
    rules, work = state.rules, state.work
    if not rules.loops(has_rows, work, slot):
        raise DoesNotFitError
    if block.made == "same":
        lay(state, slot, node, block.kids[0], rotated)
        return
    if block.item is not None:
        first, shapes = int(rules.table.first[block.item]), rules.shapes[block.item]
        lie = [first + k for k, s in enumerate(shapes) if s.turned == block.turned]
        shape = next((k for k in lie if rules.every[k].high == rotated), lie[0])
        if rules.loops(cut_out, rules.table, work, slot, node, shape, False, rotated, rotated, True,
                       block.item) < 0:  # fmt: skip
            raise DoesNotFitError
        return
    for one in block.kids[:-1]:
        left, right = (one.right, one.left) if rotated else (one.left, one.right)
        cell, _, _ = rules.loops(
            carve, rules.table, work, slot, node, one.length, left, right, rotated, int(one.turned), False,
            rotated, rotated, block.made == "beside",
        )  # fmt: skip
        if cell < 0:
            raise DoesNotFitError
        node = _rest(state, slot, node, cell)
        lay(state, slot, cell, one, rotated)
    lay(state, slot, node, block.kids[-1], rotated ^ (block.made == "facing"))


def _rest(state: State, slot: int, node: int, cell: int) -> int:
    """The free piece that a cell leaves of a node."""
    waiting = [node]
    while waiting:
        row = waiting.pop()
        _, kid, other = (int(n) for n in state.work.nodes[slot, row, c.PARENT : c.OTHER + 1])
        if kid < 0 and row != cell:
            return row
        waiting += [n for n in (kid, other) if n >= 0]
    raise DoesNotFitError


def full_sheets(rules: Rules, size: int) -> int:
    """How many sheets of a size the parts fill, every part with its kerf; 0 if they would leave much.

    More than what is sawed off or ground off at the parts' sides cannot be left.
    """
    kerf, items = rules.instance.saw.kerf, rules.instance.items
    length, width = rules.instance.sizes[size].usable
    sheet = (length + kerf) * (width + kerf)
    sides = sum(item.count * (item.length + min(item.start, item.end)) for item in items)
    parts = sum(item.count * (item.twice_area / 2 + kerf * kerf) for item in items) + kerf * sides
    sheets = math.ceil(parts / sheet)
    most = min(MOST_WASTE * sheet, (1 - LEAST_USE) * sheets * sheet, max(plays(rules)) * sides)
    return sheets if sheets * sheet - parts <= most else 0


def plays(rules: Rules) -> list[int]:
    """By how much sides may differ: exact fits first, as they come about least by chance."""
    level = all(item.start == item.end for item in rules.instance.items)
    least, kerf = 0 if level else 2 * PLAY, rules.instance.saw.kerf
    return sorted({least, *(max(least, kerf // share) for share in SHARES)})


class Filler:
    """Looks for plans of full sheets of one size; it goes on where it was given up before."""

    def __init__(self, rules: Rules) -> None:
        self.rules = rules
        self.builders: dict[tuple[int, int], Builder] = {}

    def plan(self, size: int, joints: int, stop: Callable[[], bool]) -> State | None:
        """A plan of full sheets of a size, if the parts fill them without waste.

        Parameters
        ----------
        joints : int
            How many to look at, in all, before the search for blocks is given up.
        stop : callable
            Asked now and then whether it is time to come to an end.
        """
        for play in plays(self.rules):
            if (size, play) not in self.builders:
                self.builders[size, play] = Builder(self.rules, size, play)
            builder = self.builders[size, play]
            chosen = ExactCover(builder).solve() if builder.build(joints, stop) else None
            state = laid(self.rules, size, chosen) if chosen else None
            if state is not None:
                return state
        return None


def laid(rules: Rules, size: int, blocks: list[Block], slots: int | None = None) -> State | None:
    """Cut each block out of a sheet; None where small differences add up so that one does not fit.

    Parameters
    ----------
    slots : int, optional
        Sheets that the state has room for.
    """
    state = State(rules, slots)
    for block in blocks:
        slot = state.open(size)
        try:
            lay(state, slot, 0, block)
        except DoesNotFitError:
            return None
        state.work.head[slot, c.ROOMS] = 0
        rules.loops(add_rooms, state.work, slot, 0)
    return state


class ExactCover:
    """How often each full sheet is cut, so that every part is cut exactly as often as it is wanted."""

    def __init__(self, builder: Builder) -> None:
        self.full = builder.full
        self.model = cp_model.CpModel()
        items = builder.rules.instance.items
        self.times = [
            self.model.new_int_var(0, builder.rules.instance.total, f"times_{index}")
            for index in range(len(self.full))
        ]
        for index, item in enumerate(items):
            counts = (block.content >> FIELD * index & (1 << FIELD) - 1 for block in self.full)
            cut = sum(count * times for count, times in zip(counts, self.times, strict=True) if count)
            self.model.add(cut == item.count)

    def solve(self, effort: float = 2.0) -> list[Block] | None:
        """The full sheets of a plan, within the effort (deterministic seconds)."""
        solver = solver_for(effort)
        if solver.solve(self.model) not in SOLVED:
            return None
        return [
            block for block, times in zip(self.full, self.times, strict=True)
            for _ in range(solver.value(times))
        ]  # fmt: skip
