"""Strips that are cut at the same places: what is cut first, and that nothing moves or is lost by it."""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import given, settings

from nesting.cutting.common import regrouped, way_of
from nesting.cutting.facts import outline_of
from nesting.cutting.neater import Look, _Search, neatest
from nesting.cutting.room import play
from nesting.cutting.sequence import sequence_of
from nesting.geometry import bounds
from nesting.packing.instance import Instance
from nesting.packing.layout import Node, corners_of
from tests.cutting.trees import Tree, inch, told
from tests.work.jobs import first_looks, job_texts


def made_neater(tree: Tree, keep: tuple[float, float] = (96, 48)) -> Look:
    worth_keeping = inch(keep[0]), inch(keep[1])
    instance = Instance(tuple(tree.items), (tree.size,), tree.saw, keep=worth_keeping)
    unseen = frozenset(["straight", "end", "far", "start"])
    return neatest(instance, tree.size, tree.root, dict.fromkeys(range(len(tree.items)), unseen))


def cut_up(look: Look) -> list[tuple]:
    return told(sequence_of(look.facts, look.broken))


Cut = Callable[[Tree, Node, float], tuple[Node, Node]]


def strips(
    tree: Tree, *rows: tuple[float, tuple[float, ...]], first: Cut = Tree.rip, then: Cut = Tree.crosscut
) -> None:
    """Rips one above the other, each a height and the lengths crosscut out of it from the left."""
    rest = tree.root
    for height, lengths in rows:
        strip, rest = first(tree, rest, height)
        for length in lengths:
            part, strip = then(tree, strip, length)
            tree.whole(part)


def test_two_by_three_laid_as_rips_are_crosscut_through_the_block_first():
    """3 rips and twice 3 crosscuts are 9; 2 crosscuts and twice 3 rips are 8, at two settings."""
    tree = Tree(96, 48, trim=0)
    strips(tree, *[(12, (40, 40))] * 3)
    assert len(tree.cut(keep=(96, 48)).cuts) == 9
    cuts = cut_up(made_neater(tree))
    assert [cut[:1] + cut[2:] for cut in cuts] == [("crosscut", "left 40")] * 2 + [("rip", "lower 12")] * 6


def test_three_by_two_laid_as_columns_are_ripped_first_where_the_rails_reach():
    """A rip of 60 takes a rail of 70: 7 inches before it and 3 past it."""
    found = {}
    for rail in (69, 70):
        tree = Tree(60, 40, trim=0, rails=(rail,))
        strips(tree, *[(18, (12, 12))] * 3, first=Tree.crosscut, then=Tree.rip)
        found[rail] = [cut[:1] + cut[2:] for cut in cut_up(made_neater(tree))]
    # else at least not all columns: two of them side by side are 36 1/8 long, and cost 1 cut less
    assert found[70] == [("rip", "lower 12")] * 2 + [("crosscut", "left 18")] * 6
    assert len(found[69]) == 9


def test_a_crosscut_that_is_not_the_only_one_of_a_strip_is_made_through_all():
    """2 rips, a crosscut in each of two strips and 3 in the one above: 7.

    At 40 through all three: 1 crosscut, 2 rips of what is left of it, and right of it one rip and 2
    crosscuts, since the room beside the lower two is not parted: 6.
    """
    tree = Tree(96, 36.25, trim=0)
    strips(tree, (12, (40,)), (12, (40,)))
    last = tree.root.kids[1].kids[1]
    for length in (40, 25, 20):
        part, last = tree.crosscut(last, length)
        tree.whole(part)
    assert len(tree.cut(keep=(96, 48)).cuts) == 7
    assert made_neater(tree).figures.cuts == 6


def test_a_large_offcut_goes_before_a_cut():
    """Beside both strips 15 7/8 by 24 1/8 is kept whole if the block is crosscut: else two of half of it."""
    tree = Tree(96, 24.125, trim=0)
    strips(tree, (12, (80,)))
    upper = tree.root.kids[1]
    tree.whole(tree.crosscut(upper, 80)[0])
    look = made_neater(tree, keep=(15, 10))
    assert look.kept == (2 * inch(15.875) * inch(24.125),)
    assert look.figures.cuts == 2


def test_an_offcut_is_not_cut_up_to_save_a_cut():
    """Above the strips 96 by 11 5/8 is kept, and stays whole: they are crosscut below it, or one by one."""
    tree = Tree(96, 48, trim=0)
    strips(tree, *[(12, (40, 40))] * 3)
    look = made_neater(tree, keep=(60, 8))
    assert look.kept == (2 * inch(96) * inch(11.625),)


def test_room_that_a_short_sheet_needs_is_not_lost():
    """Two parts a strip, with 2 inches of room right of the one or of the other, and 9 3/4 at the end.

    The block cut at 40 first saves a cut, but then the parts of no strip can move into their own room, since
    the strip beside it takes all there.
    """
    tree = Tree(100, 48, trim=0)
    rest = tree.root
    for parts in ((38, 50), (40, 48), (38, 50)):
        strip, rest = tree.rip(rest, 12)
        left, more = tree.crosscut(strip, 40)
        for piece, length in ((left, parts[0]), (tree.crosscut(more, 50)[0], parts[1])):
            tree.whole(piece if length in (40, 50) else tree.crosscut(piece, length)[0])
    before = play(tree.root, tree.items)
    assert before[0] == inch(100 - 88 - 0.125)
    others = [play(made, tree.items)[0] for made in regrouped(tree.root, lambda length: True)]
    assert min(others) == before[0] - inch(2)
    instance = Instance(tuple(tree.items), (tree.size,), tree.saw, keep=(inch(96), inch(48)))
    found = list(_Search(instance, tree.size, {})._regrouped(tree.root))
    assert found
    assert all(play(made, tree.items)[0] >= before[0] for made in found)


def test_a_slanted_cut_ends_the_row():
    """What lies beyond a taper is not crosscut with what lies before it; the two strips before are."""
    tree = Tree(96, 48, trim=0)
    low, rest = tree.rip(tree.root, 12)
    middle, high = tree.rip(rest, 12)
    x0, x1, l0, _, u0, _, _ = high.piece
    at, to, kerf = l0 + inch(11), l0 + inch(11.5), tree.saw.kerf
    high.line = ((x0, at), (x1, to), True)
    high.kids = (Node((x0, x1, l0, l0, at, to, False), high),
                 Node((x0, x1, at + kerf, to + kerf, u0, u0, False), high))  # fmt: skip
    for strip in (low, middle, high.kids[0]):
        strip.line = ((inch(40), strip.piece[2]), (inch(40), strip.piece[4]), True)
    assert way_of(high) is None
    for strip in (low, middle):
        tree.whole(tree.crosscut(strip, 40)[0])
    tree.part(high.kids[0], 96, 11, 11.5)
    blocks = list(regrouped(tree.root, lambda length: True))
    assert blocks
    assert {way_of(node) for block in blocks for node in block.walk() if node.kids} == {0, 1, None}
    cut = [node for block in blocks for node in block.walk() if way_of(node) == 0]
    assert all(node.piece[4] <= inch(24.125) for node in cut)


def sound(node: Node, kerf: int) -> bool:
    """Whether the pieces of a level or upright cut are what is left of theirs beside its kerf."""
    own, kids = bounds(outline_of(node.piece)), [bounds(outline_of(kid.piece)) for kid in node.kids]
    way = way_of(node)
    if way is None or not kids:
        return True
    low, high = sorted(kids)[0], sorted(kids)[-1]
    beside = all(kid[1 - way] == own[1 - way] and kid[3 - way] == own[3 - way] for kid in kids)
    if len(kids) == 1:
        return beside and (own[2 + way] - own[way]) - (low[2 + way] - low[way]) <= kerf
    return beside and (low[way], low[2 + way] + kerf, high[2 + way]) == (own[way], high[way], own[2 + way])


@settings(max_examples=60, deadline=None)
@given(job_texts())
def test_nothing_moves_on_random_sheets(text: str):
    looks = first_looks(text)
    if looks is None:
        return
    *_, one, states = looks
    items = one.instance.items

    def lying(root: Node) -> list[tuple]:
        return sorted((leaf.item, *corners_of(leaf, items[leaf.item]))
                      for leaf in root.walk() if leaf.item is not None)  # fmt: skip

    for layout in (layout for state in states for layout in state.layouts()):
        for node in layout.root.walk():
            for made in regrouped(node, lambda length: True):
                assert lying(made) == lying(node)
                assert bounds(outline_of(made.piece)) == bounds(outline_of(node.piece))
                assert all(sound(part, one.instance.saw.kerf) for part in made.walk())


def test_what_is_all_kerf_goes_with_it():
    """Two strips whose second part ends less than a kerf before the sheet does: both ends in one cut.

    Kerfs of 1/4 and 80 5/16 of sheet: parts of 40 and 40, and 1/16 beyond. 1 rip and twice 2 crosscuts are
    5; with both crosscuts through the block first it is 2 and twice 1 rip.
    """
    tree = Tree(80.3125, 24.25, trim=0, kerf=inch(0.25))
    for strip in tree.rip(tree.root, 12):
        part, rest = tree.crosscut(strip, 40)
        tree.whole(part)
        last, beyond = tree.crosscut(rest, 40)
        assert beyond.piece[0] > beyond.piece[1]
        rest.kids = (last,)
        tree.whole(last)
    assert len(tree.cut(keep=(96, 48)).cuts) == 5
    assert made_neater(tree).figures.cuts == 4
