"""Instances that make no sense are refused, by name: not answered, nor a fault of some array."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction

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
    ({"spares": (-1,)}, "below 0"),
    ({"credit": Fraction(-1)}, "below 0"),
    ({"items": (Item(50, 10, 10.5),)}, "item 0"),  # type: ignore[arg-type]
    ({"items": (Item(30, 200, 200, 40, -40),)}, "ends that cross"),
    ({"items": (Item(50, 10, 10, grain="diagonal"),)}, "grain"),
    ({"sizes": (Size("s", 96, 48, 99.5),)}, "size s"),  # type: ignore[arg-type]
    ({"sizes": (Size("s", 96, 48, 90, trim=Trim(left=-1)),)}, "trim"),
    ({"sizes": (Size("s", 96, 48, 90, blocked=((20, 10, 10, 20),)),)}, "zone"),
    ({"sizes": (Size("s", 3_900_000_000, 2_100_000_000, 90),)}, "larger units"),  # in nanometres
    ({"sizes": (Size("s", 96, 48, 1 << 60),)}, "hundredths"),
])  # fmt: skip
def test_what_makes_no_sense_is_named(change: dict[str, object], words: str) -> None:
    assert solve(SOUND, Settings(seconds=2, effort=10)).cost == 90
    with pytest.raises(ValueError, match=words):
        solve(replace(SOUND, **change), Settings(seconds=2, effort=10))  # type: ignore[arg-type]


@pytest.mark.parametrize("settings", [Settings(seconds=math.nan), Settings(effort=-5)])
def test_limits_that_make_no_sense_are_refused(settings: Settings) -> None:
    with pytest.raises(ValueError, match="seconds"):
        solve(SOUND, settings)
