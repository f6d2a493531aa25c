"""Sheets with bad zones: cuts saved there, and the play that is told."""

from __future__ import annotations

from dataclasses import replace

from nesting.cutting.freeplay import free_play
from nesting.cutting.neater import Look
from nesting.geometry import bounds
from nesting.packing.layout import corners_of
from tests.cutting.test_common import made_neater
from tests.cutting.trees import Tree, inch


def zoned(tree: Tree, *zones: tuple[float, float, float, float]) -> Tree:
    tree.size = replace(tree.size, blocked=tuple(tuple(map(inch, zone)) for zone in zones))
    return tree


def two_columns(zone: tuple[float, float, float, float], length: float = 96) -> Tree:
    """A column 5/8 wider than the part in it, and a part of 50 by 40 in the piece beyond."""
    tree = zoned(Tree(length, 40, trim=0), zone)
    left, right = tree.crosscut(tree.root, 40.625)
    tree.whole(tree.crosscut(left, 40)[0])
    tree.part(right, 50, 40)
    return tree


def at(look: Look, tree: Tree, item: int) -> int:
    """Where a part begins along the sheet."""
    leaf = next(node for node in look.facts.root.walk() if node.item == item)
    return bounds(corners_of(leaf, tree.items[item]))[0]


def test_a_loose_cut_is_drawn_up_on_a_sheet_with_a_bad_zone():
    """40, 50 and once more 40 or so; with the second part moved up 40 1/8 and 50, the zone is beyond it."""
    tree = two_columns((92, 10, 94, 12))
    assert len(tree.cut(keep=(96, 48)).cuts) == 3
    look = made_neater(tree)
    assert look.figures.cuts == 2
    assert at(look, tree, 1) == inch(40.125)


def test_no_part_is_moved_onto_a_bad_zone():
    """Between the parts there is a zone: the one beyond must stay behind it."""
    tree = two_columns((40.25, 10, 40.5, 12))
    look = made_neater(tree)
    assert look.figures.cuts == 3
    assert at(look, tree, 1) >= inch(40.5)


def test_play_counts_the_room_between_a_bad_zone_and_what_lies_beyond():
    """A zone to 30, a part from 42 to 62, 34 beyond it: moved up to the zone it leaves 12 more."""
    tree = zoned(Tree(96, 40, trim=0), (20, 0, 30, 5))
    _, rest = tree.crosscut(tree.root, 41.875)
    tree.part(rest, 20, 40)
    assert free_play(tree.root, tree.items, tree.size) == (inch(96 - 62 + 12), 0)


def test_a_zone_beside_a_part_does_not_hold_it_but_one_on_its_way_does():
    """Two rows of 10, a zone before the part in the lower one only, and one before both up to 3."""
    tree = zoned(Tree(96, 20.125, trim=0), (20, 0, 30, 5), (0, 0, 3, 20.125))
    for row, start in zip(tree.rip(tree.root, 10), (35, 40), strict=True):
        _, rest = tree.crosscut(row, start)
        tree.part(rest, 20, 10)
    # the lower one ends at 30 and 20, the upper at 3 and 20
    assert free_play(tree.root, tree.items, tree.size) == (inch(96 - 50), 0)


def test_a_sheet_may_be_short_in_both_ways_at_once():
    """Moved along first the part comes above a zone that it does not meet where it lies: there it stays."""
    tree = zoned(Tree(96, 40, trim=0), (10, 5, 20, 10))
    _, right = tree.crosscut(tree.root, 49.875)
    _, upper = tree.rip(right, 19.875)
    tree.part(upper, 30, 15)
    # along it may begin at 0, as the zone ends below 20; across it then ends at 10 and 15, not at 0 and 15
    assert free_play(tree.root, tree.items, tree.size) == (inch(96 - 30), inch(40 - 25))
