"""What is free where parts were taken out: by hand, and with Shapely as a second opinion."""

from __future__ import annotations

import itertools
import random
from collections import Counter

import pytest
from shapely.geometry import Polygon, box

from nesting.geometry import Point
from nesting.packing import tables as c
from nesting.packing.instance import Instance, Item, Size
from nesting.packing.layout import Node, corners_of
from nesting.packing.rules import Rules
from nesting.packing.state import State, tree_of
from nesting.packing.taking import take_out
from nesting.stock import Saw

ROW = (Item(30, 20, 20), Item(25, 20, 20), Item(20, 20, 20))


def in_a_row(rails: tuple[int, ...] = ()) -> State:
    """Parts of 30, 25 and 20 one after the other on a sheet of 100 x 20, with a kerf of 1."""
    state = State(Rules(Instance(ROW, (Size("s", 100, 20, 1),), Saw(1, rails=rails))))
    state.open(0)
    state.fill([0, 1, 2])
    assert spans(state) == {0: (0, 30), 1: (31, 56), 2: (57, 77), None: (78, 100)}
    return state


def spans(state: State) -> dict[int | None, tuple[int, int]]:
    """From where to where parts, and what is free, reach along the first sheet."""
    leaves = [node for node in tree(state).walk() if not node.kids]
    assert len({node.item for node in leaves}) == len(leaves)
    return {node.item: node.piece[:2] for node in leaves}


def tree(state: State) -> Node:
    return tree_of(state.rules, state.rows_of(state.slots[0]))


def without(state: State, item: int, index: int = 0) -> State:
    """Take the first such part out of a sheet."""
    state.work.counts[c.MOVING] = 1
    rows = state.rows_of(state.slots[index])[:, c.ITEM]
    row = next(row for row, found in enumerate(rows) if found == item)
    state.rules.loops(take_out, state.rules.table, state.work, index, row)
    return state


def test_parts_in_a_row_move_together_and_the_rest_is_one_piece():
    # 30 + 1 + 22 are free then; 25 + 1 + 20 + 1 are not
    assert spans(without(in_a_row(), 0)) == {1: (0, 25), 2: (26, 46), None: (47, 100)}
    assert spans(without(in_a_row(), 1)) == {0: (0, 30), 2: (31, 51), None: (52, 100)}
    assert spans(without(in_a_row(), 2)) == {0: (0, 30), 1: (31, 56), None: (57, 100)}
    assert spans(without(without(in_a_row(), 0), 2)) == {1: (0, 25), None: (26, 100)}


def test_a_part_of_all_that_was_free_fits_in_then():
    long = Item(53, 20, 20)
    state = State(Rules(Instance((*ROW, long), (Size("s", 100, 20, 1),), Saw(1))))
    state.fill([0, 1, 2])
    without(state, 0).fill([3])
    assert spans(state) == {1: (0, 25), 2: (26, 46), 3: (47, 100)}


def test_where_rails_are_short_nothing_comes_to_lie_at_the_sheets_own_edge():
    assert spans(without(in_a_row((60,)), 1)) == {0: (0, 30), 2: (31, 51), None: (52, 100)}
    leaves = [node for node in tree(without(in_a_row((60,)), 0)).walk() if not node.kids]
    assert [node.piece[:2] for node in leaves] == [(0, 30), (31, 56), (57, 77), (78, 100)]


@pytest.mark.parametrize("seed", range(8))
def test_random_parts_taken_out_and_put_back_lie_apart_and_in_pieces_that_can_be_cut(seed: int):
    chance = random.Random(seed)
    steepest = 300 if seed % 3 == 0 else 0
    items = []
    for _ in range(8):
        length, width = chance.randint(900, 4_000), chance.randint(400, 1_500)
        grain, count = chance.choice(["any", "length"]), chance.randint(1, 3)
        rise = chance.choice([0, 0, steepest])
        items.append(Item(length, width, width + rise, grain=grain, count=count))
    sizes = Size("s", 12_000, 6_000, 1), Size("t", 9_000, 5_000, 1)
    instance = Instance(tuple(items), sizes, Saw(200, rails=(7_000,) if seed % 4 == 1 else ()))
    state = State(Rules(instance))
    state.fill(list(state.rules.all_items()))
    moved = 0
    for _ in range(12):
        for _ in range(min(4, len(state.slots))):
            index = chance.randrange(len(state.slots))
            before = everywhere(state)
            without(state, chance.choice(list(state.content(state.slots[index]))), index)
            moved += len(everywhere(state) - before)
            assert_sound(state)
        state.fill(chance.sample(state.waiting, len(state.waiting)))
        assert_sound(state)
    assert moved > 0 or instance.saw.rails


def everywhere(state: State) -> set[tuple[Point, ...]]:
    items = state.rules.instance.items
    return {corners for sheet in state.layouts() for corners in placed(sheet.root, items)}


def placed(root: Node, items: tuple[Item, ...]) -> list[tuple[Point, ...]]:
    return [corners_of(node, items[node.item]) for node in root.walk() if node.item is not None]


def assert_sound(state: State) -> None:
    """All parts are there; each piece's two pieces lie in it a kerf apart; parts lie in their sheets, apart.

    A slant may take two units from a kerf or a size, of which a kerf has 200.
    """
    instance = state.rules.instance
    have = sum((state.content(slot) for slot in state.slots), Counter(state.waiting))
    assert have == {index: item.count for index, item in enumerate(instance.items)}
    for sheet in state.layouts():
        size = instance.sizes[sheet.size]
        parts = [Polygon(corners) for corners in placed(sheet.root, instance.items)]
        assert all(box(-2, -2, size.length + 2, size.width + 2).contains(part) for part in parts)
        assert all(a.distance(b) >= instance.saw.kerf - 2 for a, b in itertools.combinations(parts, 2))
        for node in sheet.root.walk():
            kids = [outline(kid) for kid in node.kids]
            assert all(outline(node).buffer(2).contains(kid) for kid in kids)
            assert len(kids) < 2 or kids[0].distance(kids[1]) >= instance.saw.kerf - 1
    for slot in state.slots:
        rooms = set(state.work.rooms[slot, : state.work.head[slot, c.ROOMS]].tolist())
        node = state.rows_of(slot)
        assert rooms == {
            row for row, one in enumerate(node) if one[c.ITEM] == c.NONE and one[c.KID] == c.NONE
        }


def outline(node: Node) -> Polygon:
    x0, x1, l0, l1, u0, u1, turned = node.piece
    corners = [(x0, l0), (x1, l1), (x1, u1), (x0, u0)]
    return Polygon([(y, x) for x, y in corners] if turned else corners)
