"""Instances that make no sense are refused, by name: not answered, nor a fault of some array."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nesting.packing.instance import Instance, Item, Settings, Size
from nesting.packing.solve import solve
from nesting.stock import Saw, Trim

ITEM, SIZE = Item(50, 10, 10), Size("s", 96, 48, 90)
SOUND = Instance((ITEM,), (SIZE,), Saw(kerf=1))


@pytest.mark.parametrize(("change", "words"), [
    ({"items": ()}, "needs items"),
    ({"sizes": ()}, "needs items and sizes"),
    ({"saw": Saw(kerf=-1)}, "kerf"),
    ({"items": (Item(50, 0, 10),)}, "item 0"),
    ({"items": (ITEM, Item(50, 10, 10, count=0))}, "item 1"),
    ({"sizes": (Size("s", 96, 48, -1),)}, "size s"),
    ({"sizes": (Size("s", 96, 48, 90, 0),)}, "size s"),
    ({"sizes": (Size("s", 96, 48, 90, trim=Trim(48, 48, 0, 0)),)}, "size s"),
    ({"spares": (1, 2)}, "spares"),
])  # fmt: skip
def test_what_makes_no_sense_is_named(change: dict[str, object], words: str) -> None:
    assert solve(SOUND, Settings(seconds=2, effort=10)).cost == 90
    with pytest.raises(ValueError, match=words):
        solve(replace(SOUND, **change), Settings(seconds=2, effort=10))  # type: ignore[arg-type]
