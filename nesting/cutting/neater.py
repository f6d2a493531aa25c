"""A sheet's cutting tree made neater at equal money, before its cuts are ordered.

The search counts cuts roughly, and when it ends parts may lie as chance had it. These cost nothing
and may save a cut or more: cuts that neighbouring strips have in common made first, through all of them
(:mod:`~nesting.cutting.common`); a part put anew into the piece that holds it alone, turned by 180 degrees
perhaps (its hand and its face stay), in another corner, or cut off the other way first, so that an offcut
stays whole; a level or upright cut drawn up to what lies on its one side, with what lies beyond moved
along; and parts put on the other side of the free piece beside them. Where play is kept, it may lie before
the last parts instead of beyond them. Each is kept only if the sheet is then
cut up better, by :class:`~nesting.cutting.criteria.Score`. No part leaves its sheet, and no less of it is
kept, but for what longer kerfs take where that is worth no money.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import NamedTuple

from nesting.cutting.common import regrouped, span_of, way_of
from nesting.cutting.criteria import Score, of_steps
from nesting.cutting.facts import Facts, Hidden, Splits, outline_of
from nesting.cutting.freeplay import free_play
from nesting.cutting.order import best_breakdown
from nesting.cutting.pieces import beyond
from nesting.cutting.relaying import Relaying, framed, holds_part, is_low, parts_in, replaced, sides
from nesting.cutting.room import play
from nesting.cutting.steps import Breakdown, Way, slack, walk
from nesting.errors import NestingError
from nesting.geometry import Point, bounds, twice_area
from nesting.packing.instance import Instance, Size
from nesting.packing.layout import Node, corners_of, keepable, shapes_of
from nesting.packing.rules import OFFCUT_STEP

FEW = 3  # ways to regroup a row that are looked at, the most promising first
MOST = 40  # trees looked at for one sheet
SHARED = 4_000  # so many for a sheet times the job's parts: a job of many sheets must not wait for it


class Look(NamedTuple):
    """A tree broken down, and how good that is.

    Attributes
    ----------
    settings : int
        How many its cuts have, which is as rarely as they can be set anew.
    kept : tuple of int
        Twice the areas of the offcuts to keep.
    indirect : int
        Cuts not read at a part's own size, so that what is left depends on the size of the piece in hand.
    """

    facts: Facts
    broken: Breakdown
    figures: Score
    settings: int
    kept: tuple[int, ...]
    indirect: int

    def beats(self, other: Look, step: float) -> bool:
        """Whether it is better at equal money: joined cuts, a large offcut, then all else; no more cuts.

        Offcuts that differ by less than ``step`` are equal, unless there is a credit for them.
        """
        allowed = 0 if self.facts.instance.credit else step
        if sum(self.kept) + allowed < sum(other.kept) or self.figures.cuts > other.figures.cuts:
            return False
        if self.indirect > other.indirect:
            return False
        return self._rank(step) < other._rank(step)

    def _rank(self, step: float) -> tuple[int, int, Score, int, int, Score]:
        joined, largest, _, settings = self.aims(step)
        return joined, largest, self.figures._replace(handled=0), settings, self.indirect, self.figures

    def aims(self, step: float) -> tuple[int, int, int, int]:
        """What is asked of a plan of the same money: the less the better, the weightiest first."""
        largest = -round(max(self.kept, default=0) / step)
        return self.figures.joined, largest, self.figures.cuts, self.settings


def neatest(instance: Instance, size: Size, root: Node, hidden: Hidden) -> Look:
    """The tree, or the best one found of the same parts; the given one is left as it is."""
    return _Search(instance, size, hidden).go(root)


class _Work(NamedTuple):
    """How large an offcut is kept in a subtree (less is better), and what cutting it up takes."""

    largest: int
    cuts: int
    settings: int
    indirect: int


class _Search:
    def __init__(self, instance: Instance, size: Size, hidden: Hidden) -> None:
        self.instance, self.size, self.hidden = instance, size, hidden
        self.relaying = Relaying(instance.items, instance.saw.kerf)
        self.step = max(1.0, OFFCUT_STEP * 2 * size.usable[0] * size.usable[1])
        self.splits: Splits = {}
        self.left = 0  # trees still to be looked at

    def go(self, root: Node) -> Look:
        first = self._look(root)
        best = self._settled(first)
        for pushed in self._pushed_out(root):
            try:
                look = self._look(pushed)
            except NestingError:  # a cut beyond the rails
                continue
            if look.figures.cuts < first.figures.cuts:
                look = self._settled(look)
                if look.beats(best, self.step) and self._gains(look, best):
                    best = look
        return best

    def _settled(self, best: Look) -> Look:
        """A look at the tree with the same parts that no change is found to make better."""
        self.left = min(MOST, SHARED // self.instance.total)
        last = None
        while best is not last:
            best, last = self._pass(best), best
        return best

    def _pass(self, best: Look) -> Look:
        """Every change once, the rarest first; those after a good one on the tree that it gave."""
        changes = (self._regrouped, self._tightened, self._put_anew, self._exchanged)
        for change, index in itertools.product(changes, range(len(list(best.facts.root.walk())))):
            node = next(itertools.islice(best.facts.root.walk(), index, None), None)
            strict = change == self._regrouped or (bool(self.size.blocked) and change != self._put_anew)
            for made in change(node) if node else ():
                if node is None or self.left == 0:
                    return best
                self.left -= 1
                better = self._better(best, replaced(best.facts.root, node, made), strict)
                if better is not None:
                    best = better
                    break
        return best

    def _better(self, best: Look, root: Node, strict: bool) -> Look | None:
        """A look at a tree if it is better: edges trimmed as now, then in the best way if that is better too.

        The best way may take a cut more for an edge that is guarded, which ``strict`` does not allow.
        """
        try:
            look = self._look(root, best.broken.way)
            if not look.beats(best, self.step) or (strict and not self._gains(look, best)):
                return None
            again = self._look(root)
        except NestingError:  # a cut beyond the rails
            return None
        if again.beats(best, self.step) and not (strict and not self._gains(again, best)):
            return again
        return look

    def _gains(self, look: Look, best: Look) -> bool:
        """Whether it is better in what is asked of a plan, and loses no play, nor of its largest offcut.

        Nor may a part come to a bad zone.
        """
        plays = [free_play(one.facts.root, self.instance.items, self.size) for one in (look, best)]
        kept = all(own >= other for own, other in zip(*plays, strict=True))
        kept = kept and max(look.kept, default=0) >= max(best.kept, default=0)
        return kept and look.aims(self.step) < best.aims(self.step) and _spoiled(look) <= _spoiled(best)

    def _look(self, root: Node, way: Way | None = None) -> Look:
        facts = Facts(self.instance, self.size, root, self.hidden, self.splits)
        broken = Breakdown(facts, way) if way else best_breakdown(facts)
        ends = ((piece.area, piece.node) for piece in walk(broken.root) if piece.step is None)
        kept = tuple(area for area, node in ends if node and node.item is None and facts.wanted(node))
        steps = broken.steps()
        indirect = sum(step.kind != "trim" and not step.own_size for step in steps)
        settings = len({step.setting for step in steps})
        return Look(facts, broken, of_steps(steps), settings, kept, indirect)

    def _pushed_out(self, root: Node) -> Iterator[Node]:
        """A whole sheet with the play before the last parts instead of beyond them, where there is room.

        They then end where the sheet is trimmed, and are not cut once more, by a hair.
        """
        x0, y0, x1, y1 = bounds(outline_of(root.piece))
        _, _, right, upper = self.size.region
        for end, top in dict.fromkeys(((right, upper), (right, y1), (x1, upper))):
            made: Node | None = root
            if end > x1:
                made = self.relaying.pushed(root, (x0, end, y0, y0, y1, y1, False), (end - x1, 0))
            if made and top > y1:
                made = self.relaying.pushed(made, (x0, end, y0, y0, top, top, False), (0, top - y1))
            if made and made is not root:
                yield made

    def _regrouped(self, node: Node) -> Iterator[Node]:
        """Cuts that neighbouring strips have in common made first: a larger offcut, or less work."""
        found = [(self._work(made), made) for made in regrouped(node, self._reached)]
        own, room = self._work(node), play(node, self.instance.items)
        better = [one for one in found if one[0] < own]
        for _, made in sorted(better, key=lambda one: (one[0].indirect > own.indirect, one[0]))[:FEW]:
            left = play(made, self.instance.items)
            if left[0] >= room[0] and left[1] >= room[1]:
                yield made

    def _reached(self, length: int) -> bool:
        return self.instance.saw.rails_for(length) is not None

    def _work(self, node: Node) -> _Work:
        """What it takes to cut up a subtree, about."""
        wanted, settings, cuts, indirect = set(), set(), 0, 0
        for one in reversed(list(node.walk())):
            kids = [kid for kid in one.kids if id(kid) in wanted]
            if not kids and one.item is None and not self._kept_in(one):
                continue
            wanted.add(id(one))
            cuts += bool(kids) + self._to_cut(one)
            if (way := way_of(one)) is not None:
                settings.add((way, min(high - low for low, high in (span_of(kid, way) for kid in kids))))
                indirect += not any(_finished(kid, way) for kid in kids)
        return _Work(-round(self._kept_in(node) / self.step), cuts, len(settings), indirect)

    def _put_anew(self, node: Node) -> Iterator[Node]:
        """A part alone in a piece, put into it level in another way: fewer cuts, or a larger offcut."""
        if not self._alone(node) or (node.parent and self._alone(node.parent)):
            return
        item = next(leaf.item for leaf in node.walk() if leaf.item is not None)
        cuts, kept = self._cuts_in(node), self._kept_in(node)
        for shape in shapes_of(self.instance.items[item], self.instance.mirrored):
            piece = framed(node.piece, shape.turned)
            for way in itertools.product((False, True), repeat=3) if piece else ():
                made = piece and self.relaying.inserted(piece, item, shape, *way)
                if made and (self._cuts_in(made), -self._kept_in(made)) < (cuts, -kept):
                    yield made

    def _alone(self, node: Node) -> bool:
        """Whether there is one part in a piece, and no bad zone."""
        x0, y0, x1, y1 = bounds(outline_of(node.piece))
        clear = not any(a < x1 and x0 < c and b < y1 and y0 < d for a, b, c, d in self.size.blocked)
        return clear and parts_in(node) == 1

    def _cuts_in(self, node: Node) -> int:
        """Cuts of a subtree, and sides of its parts that their cells do not have yet."""
        return sum(bool(one.kids) + self._to_cut(one) for one in node.walk())

    def _kept_in(self, node: Node) -> int:
        """Twice the area of the largest free piece of a subtree that is worth keeping."""
        keep = self.instance.keep
        pieces = (one.piece for one in node.walk() if one.free and keepable(one.piece, keep))
        return max((twice_area(outline_of(piece)) for piece in pieces), default=0)

    def _to_cut(self, cell: Node) -> int:
        if cell.item is None:
            return 0
        outline = outline_of(cell.piece)
        own = sides(corners_of(cell, self.instance.items[cell.item]))
        return sum(beyond(outline, side) > slack(side) for side in own)

    def _tightened(self, node: Node) -> Iterator[Node]:
        """The cut drawn up to the parts on its one side; what lies beyond moves along, all or the nearest."""
        if not (self._movable(node) and all(map(holds_part, node.kids))):
            return
        assert node.line is not None
        loose, (a, b, _) = self._loose(node), node.line
        if loose == 0:
            return
        by = -loose if is_low(node) else loose
        shift = (by, 0) if a[0] == b[0] else (0, by)
        line = (a[0] + shift[0], a[1] + shift[1]), (b[0] + shift[0], b[1] + shift[1])
        for whole in (True, False):
            made = self.relaying.recut(node, node.piece, line, is_low(node), ((0, 0), shift), whole)
            if made is not None:
                yield made

    def _exchanged(self, node: Node) -> Iterator[Node]:
        """Parts and the free piece beside them, each in the other's place."""
        if not self._movable(node) or all(map(holds_part, node.kids)):
            return
        assert node.line is not None
        (ax, ay), (bx, by), _ = node.line
        x0, x1, low, _, up, _, _ = node.piece
        on, (first, last) = (ax, (x0, x1)) if ax == bx else (ay, (low, up))
        beyond_kerf = on + self.instance.saw.kerf if is_low(node) else on - self.instance.saw.kerf
        near, far = (last - on, first - beyond_kerf) if is_low(node) else (first - on, last - beyond_kerf)
        at = first + last - on
        if ax == bx:
            line, shifts = ((at, ay), (at, by)), ((near, 0), (far, 0))
        else:
            line, shifts = ((ax, at), (bx, at)), ((0, near), (0, far))
        made = self.relaying.recut(node, node.piece, line, not is_low(node), shifts)
        if made is not None:
            yield made

    def _movable(self, node: Node) -> bool:
        """An upright cut, or a level one of a rectangle."""
        if len(node.kids) < 2 or node.line is None:
            return False
        (ax, ay), (bx, by), _ = node.line
        _, _, l0, l1, u0, u1, _ = node.piece
        return ax == bx or (ay == by and l0 == l1 and u0 == u1)

    def _loose(self, node: Node) -> int:
        """How far what lies on a cut's near side ends before it."""
        assert node.line is not None
        (ax, ay), (bx, _), _ = node.line
        on, axis = (ax, 0) if ax == bx else (ay, 1)
        axis ^= node.piece[6]
        leaves = (leaf for leaf in node.kids[0].walk() if leaf.item is not None)
        corners = (corners_of(leaf, self.instance.items[leaf.item or 0]) for leaf in leaves)
        return min(abs(point[axis] - on) for four in corners for point in four)


def _finished(node: Node, way: int) -> bool:
    """Whether a part takes all of a piece in one way."""
    own = span_of(node, way)
    return any(leaf.item is not None and span_of(leaf, way) == own for leaf in node.walk())


def _spoiled(look: Look) -> set[tuple[Point, ...]]:
    """Parts that may lie on a bad zone: none but tapers beside one, as the engine has laid them."""
    found = look.facts
    parts = (found.corners(leaf) for leaf in found.root.walk() if leaf.item is not None)
    return {corners for corners in parts if found.size.blocked and found.spoiled(corners)}
