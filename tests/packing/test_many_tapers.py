"""Many tapers on one sheet: cuts that parts leave behind take rows, too, and a sheet has only so many.

With too few of them the compiled loops wrote into the next sheet, and killed the process; the plain ones
raise IndexError where that would happen.
"""

from __future__ import annotations

import pytest

from nesting.packing import tables as c
from nesting.packing.compiled import Loops
from nesting.packing.improve import Improver, all_waiting
from nesting.packing.instance import Instance, Item, Settings, Size
from nesting.packing.pool import Pool
from nesting.packing.rules import Rules
from nesting.packing.solve import solve
from nesting.stock import Saw

SIZES = (Size("a", 2440, 1220, 5000), Size("b", 3050, 1530, 8200), Size("c", 2440, 610, 2700))


def tapers(number: int) -> tuple[Item, ...]:
    return tuple(Item(200 + 37 * i, 50 + 9 * i, 50 + 9 * i + (i % 7 - 3)) for i in range(number))


@pytest.mark.parametrize("rows", [4 * 14 + 9, 30, c.MOST_NEW + 1])
def test_a_sheet_without_rows_takes_no_more_parts(rows: int):
    rules = Rules(Instance(tapers(14), SIZES, Saw(3)), Loops())  # plain loops, which look
    rules.rows = rows
    walk = Improver(rules, all_waiting(rules), 1, Pool(rules))
    walk.search(300, lambda: False)
    heads = walk.now.work.head
    assert (heads[:, c.TOP] <= rows).all()
    assert (heads[:, c.PARTS] > 0).any()
    if rows == c.MOST_NEW + 1:  # no room for a second insertion once the first has taken all
        assert heads[:, c.PARTS].max() < 14


@pytest.mark.parametrize("number", [10, 16, 22])
def test_many_tapers_on_one_sheet(number: int):
    instance = Instance(tapers(number), SIZES, Saw(3))
    result = solve(instance, Settings(effort=4_000, prove=False))
    held = [node.item for layout in result.layouts for node in layout.root.walk() if node.item is not None]
    assert sorted(held) == list(range(number))
