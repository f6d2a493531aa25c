"""Small gains at equal money, each on a tree made by hand; that nothing is lost by them, on random jobs."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from nesting.cutting.facts import Facts
from nesting.cutting.neater import Look, neatest
from nesting.cutting.order import best_breakdown
from nesting.cutting.sequence import sequence_of
from nesting.geometry import twice_area
from nesting.lengths import INCH
from nesting.packing.instance import Instance, Item
from nesting.packing.layout import Node, Shape, corners_of
from tests.cutting.trees import Tree, inch, told
from tests.work.jobs import first_looks, job_texts

NONE = Fraction(0)


def made_neater(
    tree: Tree, keep: tuple[float, float] = (96, 48), hidden: dict | None = None, credit: Fraction = NONE
) -> Look:
    worth_keeping = inch(keep[0]), inch(keep[1])
    instance = Instance(tuple(tree.items), (tree.size,), tree.saw, keep=worth_keeping, credit=credit)
    return neatest(instance, tree.size, tree.root, hidden or {})


def cut_up(look: Look) -> list[tuple]:
    return told(sequence_of(look.facts, look.broken))


def test_a_part_is_turned_round_where_its_straight_edge_then_lies_on_a_cut_that_is_made():
    """Two tapers between two rips: as it lies, the upper one's far edge and its straight edge are cut."""
    tree = Tree(96, 40, trim=0)
    strip, upper = tree.rip(tree.root, 24.25)
    tree.whole(upper)
    kerf = tree.saw.kerf
    x0, x1, l0, _, u0, _, _ = strip.piece
    low, high = l0 + inch(12), l0 + inch(12.25)
    strip.line = ((x0, low), (x1, high), True)
    strip.kids = (Node((x0, x1, l0, l0, low, high, False), strip),
                  Node((x0, x1, low + kerf, high + kerf, u0, u0, False), strip))  # fmt: skip
    tree.part(strip.kids[0], 96, 12, 12.25)
    cell, bottom = strip.kids[1], high + kerf
    tree.items.append(Item(x1 - x0, inch(11.5), inch(11.25)))
    cell.item, cell.shape, cell.spot = len(tree.items) - 1, Shape(x1 - x0, *tree.items[-1].frame[1:], False,
                                                                  False, False), (x0, bottom)  # fmt: skip
    before = tree.cut(keep=(96, 48))
    look = made_neater(tree)
    assert len(before.cuts) == 4  # the rip, the shared taper, then both long edges of the upper part
    # its straight edge lies along the rip, and only its far edge is cut: 11 1/4 and 11 1/2 from there
    assert cut_up(look)[-1] == ("taper", "C", "upper 11.25", "upper 11.5")
    assert len(cut_up(look)) == 3
    turned = next(node for node in look.facts.root.walk() if node.item == 2)
    own, other = corners_of(cell, tree.items[2]), corners_of(turned, tree.items[2])
    assert twice_area(own) == twice_area(other) > 0  # the same way round: it was not turned over
    assert own[0][0] < own[1][0]
    assert other[0][0] > other[1][0]


def test_a_loose_cut_is_drawn_up_to_its_part():
    """5/8 too wide a column: its part is crosscut a second time, unless the cut and its neighbour move."""
    tree = Tree(96, 40, trim=0)
    left, right = tree.crosscut(tree.root, 40.625)
    part, _ = tree.crosscut(left, 40)
    tree.whole(part)
    tree.part(right, 50, 40)
    look = made_neater(tree, hidden={0: frozenset(["end"])})
    # the first line is the right part's, as its piece is the wider one: 96 - 40 5/8 - 1/8 is 55 1/4
    assert sorted(cut[2] for cut in told(tree.cut(keep=(96, 48)))) == ["left 40", "left 50", "right 55.25"]
    assert sorted(cut[2] for cut in cut_up(look)) == ["left 40.125", "left 50"]
    # were that end in sight, no splinter strip would guard it where it shares a cut: that weighs more
    assert len(cut_up(made_neater(tree))) == 3


def test_what_lies_behind_free_room_stays_where_it_is():
    """A rip a hair too high; of the two parts beyond, the one at the upper edge keeps its edge there."""
    tree = Tree(96, 40, trim=0)
    low, high = tree.rip(tree.root, 12 + 5 / 8128)
    part, _ = tree.crosscut(low, 90)
    tree.part(part, 90, 12)
    near, rest = tree.rip(high, 10)
    tree.part(near, 96, 10)
    last = tree.rip(rest, 6)[1]
    tree.whole(last)
    look = made_neater(tree)
    top = next(node for node in look.facts.root.walk() if node.item == 2)
    assert max(y for _, y in corners_of(top, tree.items[2])) == 40 * INCH
    # without it: 12 and five units, 90, then 12 again, and the two rips beyond
    assert len(tree.cut(keep=(96, 48)).cuts) == len(cut_up(look)) + 1


def test_scrap_changes_its_place_where_an_edge_in_sight_is_then_guarded():
    """Beyond a narrow part, 1 inch of scrap: beside its wide neighbour, the rail guards both shared edges."""
    tree = Tree(60, 40, trim=0)
    low, high = tree.rip(tree.root, 20)
    tree.whole(low)
    tree.whole(tree.rip(high, 18.875)[0])
    before = tree.cut(keep=(96, 48)).score
    look = made_neater(tree)
    assert before.exposed == 1
    assert (look.figures.exposed, look.figures.cuts) == (0, before.cuts)


def test_an_offcut_is_kept_whole_where_a_part_is_cut_off_the_other_way_first():
    """96 x 40 and a part of 60 x 15: crosscut first keeps 60 x 24 7/8, ripped first 96 x 24 7/8."""
    tree = Tree(96, 40, trim=0)
    left, _ = tree.crosscut(tree.root, 60)
    tree.whole(tree.rip(left, 15)[0])
    look = made_neater(tree, keep=(24, 6))
    # beside the part 35 7/8 x 15 is kept; the longer rip takes an eighth more over 36 inches
    assert sorted(look.kept) == [2 * inch(35.875) * inch(15), 2 * inch(96) * inch(24.875)]
    assert look.figures.cuts == len(tree.cut(keep=(24, 6)).cuts) == 2
    # not where every square inch of them is worth money
    assert max(made_neater(tree, keep=(24, 6), credit=Fraction(1)).kept) == 2 * inch(60) * inch(24.875)


def test_no_parts_width_is_left_to_that_of_the_sheet_for_an_edge_that_is_guarded():
    """Beside the upper edge the second part would be what the first rip leaves, the trim taken off."""
    tree = Tree(96, 48)
    low, high = tree.rip(tree.root, 24)
    tree.whole(low)
    tree.whole(tree.rip(high, 12)[0])
    before, look = tree.cut(keep=(24, 6)), made_neater(tree, keep=(24, 6))
    assert before.score.exposed == look.figures.exposed == 1
    rips = [[cut for cut in cuts if cut[0] == "rip"] for cuts in (told(before), cut_up(look))]
    assert rips[0] == rips[1]
    assert look.indirect == 0


def test_no_less_is_kept_for_a_cut_less():
    tree = Tree(96, 40, trim=0)
    left, right = tree.crosscut(tree.root, 40.625)
    part, _ = tree.crosscut(left, 40)
    tree.whole(part)
    tree.whole(tree.rip(right, 20)[0])
    look = made_neater(tree, keep=(24, 6), hidden={0: frozenset(["end"])})
    # what is above the right part is kept, 55 1/4 by 19 7/8; with the column tight it is 5/8 longer
    assert look.kept == (2 * inch(55.875) * inch(19.875),)


ONE_MORE_CUT = """\
job: where the best way to trim takes a cut more than the way it was
units: inch
saw: {kerf: 0, rails: [118, 55], join: yes, face_up: show}
trim: 1/4
keep: {length: 24, width: 6, credit: 0}
materials: {birch: {thickness: 23/32, grain: yes, faces: one}}
stock:
  - {name: s120x48, material: birch, length: 120, width: 48, price: 131}
parts:
  - {name: p0, material: birch, length: 56.28125, width: 9.125, count: 2, grain: length}
  - {name: p1, material: birch, length: 63.5625, width: 7.3125, count: 3, grain: length}
  - {name: p2, material: birch, length: 42.875, width: 10.84375, count: 3, grain: length}
  - {name: p3, material: birch, length: 5.0, width: 2.0, count: 1, grain: length}
  - {name: p4, material: birch, length: 47.0, width: [3.9375, 4.0625], count: 3, grain: length}
"""


@settings(max_examples=40, deadline=None)
@given(job_texts(), st.booleans())
@example(ONE_MORE_CUT, False)
def test_random_sheets_keep_their_parts_and_their_money_and_become_no_worse(text: str, seen_from_back: bool):
    if seen_from_back:
        text = text.replace("face_up: show", "face_up: back")
    looks = first_looks(text)
    if looks is None:
        return
    *_, one, states = looks
    for state in states:
        for layout in state.layouts():
            size = one.instance.sizes[layout.size]
            look = neatest(one.instance, size, layout.root, {})
            assert lying(one.instance, layout.root) == lying(one.instance, look.facts.root)
            old = best_breakdown(Facts(one.instance, size, layout.root))
            assert look.figures.joined <= sum(len(step.rails) > 1 for step in old.steps())
            assert look.figures.cuts <= len(old.steps())
            indirect = [step for step in old.steps() if step.kind != "trim" and not step.own_size]
            assert look.indirect <= len(indirect)


def lying(instance: Instance, root: Node) -> Counter[tuple[int, bool, bool]]:
    """What lies on a sheet, each part with which way round it is and whether it runs across."""
    found: Counter[tuple[int, bool, bool]] = Counter()
    for node in root.walk():
        if node.item is not None and node.shape is not None:
            item = instance.items[node.item]
            over = twice_area(corners_of(node, item)) < 0 and not item.flip
            across = node.shape.turned and item.grain != "any"
            found[node.item, over, across] += 1
    return found


@pytest.mark.parametrize("end", ["start", "end"])
def test_an_end_off_square_takes_the_place_of_its_cells_crosscut(end: str):
    """A far edge's corner 1/4 out or in, scrap beyond: one cut for it, not one to the corner and one more."""
    tree = Tree(96, 20, trim=0)
    skew = {"end": {"skew_end": inch(0.25)}, "start": {"skew_start": inch(-0.25)}}[end]
    item = Item(inch(50), inch(20), inch(20), **skew)
    cell, _ = tree.crosscut(tree.root, item.frame[0] / INCH)
    tree.items.append(item)
    cell.item, cell.shape = 0, Shape(*item.frame, end == "start", end == "start", False)
    cell.spot = (0, inch(20)) if end == "start" else (0, 0)
    cuts = tree.cut(keep=(96, 48)).cuts
    assert [(cut.kind, sorted(mark.reading / INCH for mark in cut.marks)) for cut in cuts] == [
        ("taper", [50, 50.25])
    ]
