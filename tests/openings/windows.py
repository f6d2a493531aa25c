"""Invented windows for the tests, in the words of a tape."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from nesting.job.models import Gap, Opening, Reading, Splay, Wall
from tests.openings.walls import flat, height, inch, proud, width

SIDES = ("left", "right", "head", "sill")
ALL = ("left leg", "right leg", "head", "sill")


def window(
    left: Iterable[Reading],
    right: Iterable[Reading],
    head: Iterable[Reading],
    sill: Iterable[Reading],
    **changes: Any,
) -> Opening:
    """36 by 48 inside the frame, reveal 1/4, nothing proud, head and sill over the legs' ends."""
    fields: dict[str, Any] = {
        "name": "Stair window",
        "kind": "window",
        "material": ("poplar",),
        "joint": "head over legs",
        "reveal": inch("1/4"),
        "straight": "B",
        "height": height("48", "48"),
        "width": width("36"),
        "gap": Gap(left=0, right=0, top=0),
        "proud": proud("0", "1/16"),
        "wall": Wall(left=tuple(left), right=tuple(right), head=tuple(head), sill=tuple(sill)),
    }
    return Opening(**(fields | changes))


def even(depth: str, **changes: Any) -> Opening:
    """A wall as deep everywhere."""
    upright, level = flat(depth, 0, 24, 48), flat(depth, 0, 18, 36)
    return window(upright, upright, level, level, **changes)


def splay(**slopes: str | int | Fraction) -> Splay:
    """Run over depth for each side named."""
    return Splay(**{side: Fraction(slope) for side, slope in slopes.items()})


def all_round(slope: str | int | Fraction) -> Splay:
    return splay(**dict.fromkeys(SIDES, slope))
