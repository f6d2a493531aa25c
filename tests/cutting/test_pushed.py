"""Where play is kept on a sheet: beyond the last parts, or before them: these then end at a trimmed edge."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import example, given, settings

from nesting.cutting.facts import outline_of
from nesting.cutting.freeplay import free_play
from nesting.cutting.relaying import Relaying
from nesting.geometry import bounds
from nesting.packing.layout import Node, corners_of
from tests.cutting.test_common import cut_up, made_neater, sound
from tests.cutting.trees import Tree, inch
from tests.work.jobs import first_looks, job_texts

SIXTEENTH = inch(Fraction(1, 16))


def kept_free(tree: Tree) -> Tree:
    """The same, with a sixteenth that is to stay free at the right and at the upper edge."""
    x0, x1, l0, l1, u0, u1, _ = tree.root.piece
    tree.root.piece = (x0, x1 - SIXTEENTH, l0, l1, u0 - SIXTEENTH, u1 - SIXTEENTH, False)
    return tree


def two_rows() -> Tree:
    """Below one part above the other, with 1 inch of scrap between; above two columns of two parts each."""
    tree = kept_free(Tree(60, 60, trim=0.5))
    low, high = tree.rip(tree.root, 51.3125)
    column, _ = tree.crosscut(low, 12)
    part, rest = tree.rip(column, 30)
    tree.whole(part)
    tree.whole(tree.rip(rest, 1)[1])
    left, rest = tree.crosscut(high, 28)
    for piece in (left, tree.crosscut(rest, 29)[0]):
        for part in tree.rip(piece, 3.75):
            tree.whole(part)
    return tree


def test_parts_end_at_the_trimmed_edge_where_there_is_room_before_them():
    """2 trims, a rip under the upper row; 3 cuts for the parts below; 2 crosscuts and twice 2 rips: 12.

    With the sixteenth in the inch of scrap, the upper edge is trimmed once, and the second rip of each column
    is saved: 11.
    """
    tree = two_rows()
    before = tree.cut(keep=(60, 60))
    look = made_neater(tree, keep=(60, 60))
    assert len(before.cuts) == 12
    assert look.figures.cuts == 11
    assert ("trim", "A", "lower 59.5") not in cut_up(look)
    upper = max(y for leaf in look.facts.root.walk() if leaf.item is not None
                for _, y in corners_of(leaf, tree.items[leaf.item]))  # fmt: skip
    assert upper == tree.size.region[3]
    # what is free stays so, and is told once: 58 15/16 across less 50 1/8 and 8 3/8 of parts and kerfs
    plays = [free_play(root, tree.items, tree.size) for root in (tree.root, look.facts.root)]
    assert plays[0] == plays[1]
    assert plays[0][1] == inch(1) + tree.saw.kerf + SIXTEENTH


def test_without_room_before_a_part_the_play_stays_beyond_it():
    """Two parts that fill a strip but for the sixteenth: none is moved, and each is cut to its size."""
    tree = kept_free(Tree(60, 60, trim=0.5))
    for part in tree.crosscut(tree.root, 30):
        tree.whole(part)
    x0, x1, l0, l1, u0, u1, turned = tree.root.piece
    longer = x0, x1 + SIXTEENTH, l0, l1, u0, u1, turned
    made = Relaying(tree.items, tree.saw.kerf).pushed(tree.root, longer, (SIXTEENTH, 0))
    assert made is not None
    assert [corners_of(leaf, tree.items[leaf.item]) for leaf in made.walk() if leaf.item is not None] == [
        corners_of(leaf, tree.items[leaf.item]) for leaf in tree.root.walk() if leaf.item is not None
    ]


def test_a_part_with_less_than_a_kerf_before_it_stays_where_it_is():
    """Cut off on its left, where a sixteenth is all kerf: no piece lies before it that could be longer."""
    tree = kept_free(Tree(60, 60, trim=0.5))
    _, part = tree.crosscut(tree.root, 0)
    x0, x1, l0, l1, u0, u1, turned = tree.root.piece
    on = x0 + SIXTEENTH
    part.piece = (on, x1, l0, l1, u0, u1, turned)
    tree.root.line, tree.root.kids = ((on, l0), (on, u0), True), (part,)
    tree.whole(part)
    longer = x0, x1 + SIXTEENTH, l0, l1, u0, u1, turned
    made = Relaying(tree.items, tree.saw.kerf).pushed(tree.root, longer, (SIXTEENTH, 0))
    assert made is not None
    (kept,) = (leaf for leaf in made.walk() if leaf.item is not None)
    assert corners_of(kept, tree.items[0]) == corners_of(part, tree.items[0])


BEYOND_A_KERF = """
job: by hand
units: inch
saw: {kerf: 1/8, rails: [118, 55], join: yes}
trim: 1/4
materials: {birch: {thickness: 23/32, grain: no}}
stock: [{name: s60x60, material: birch, length: 60, width: 60, price: 70}]
parts:
  - {name: p0, material: birch, length: 5, width: 2, count: 2}
  - {name: p1, material: birch, length: 52 1/8, width: 5 1/8}
"""


@settings(max_examples=60, deadline=None)
@given(job_texts())
@example(BEYOND_A_KERF)  # a cut that leaves nothing beyond it leaves a sixteenth then
def test_pushed_trees_are_sound_and_keep_their_play(text: str):
    looks = first_looks(text)
    if looks is None:
        return
    *_, one, states = looks
    items, kerf = one.instance.items, one.instance.saw.kerf
    relaying = Relaying(items, kerf)
    for layout in (layout for state in states for layout in state.layouts()):
        x0, y0, x1, y1 = bounds(outline_of(layout.root.piece))
        end = x1 + SIXTEENTH
        made = relaying.pushed(layout.root, (x0, end, y0, y0, y1, y1, False), (SIXTEENTH, 0))
        if made is None:
            continue
        assert all(sound(part, kerf) for part in made.walk())
        assert number_of_parts(made) == number_of_parts(layout.root)
        for leaf in made.walk():
            if leaf.item is not None:
                a, b, c, d = bounds(corners_of(leaf, items[leaf.item]))
                low_x, low_y, high_x, high_y = bounds(outline_of(leaf.piece))
                assert low_x - 1 <= a
                assert low_y - 1 <= b
                assert c <= high_x + 1
                assert d <= high_y + 1


def number_of_parts(root: Node) -> int:
    return sum(leaf.item is not None for leaf in root.walk())
