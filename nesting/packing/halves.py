"""Sheets that no rail can rip from end to end, for the bound: one long piece, or several shorter ones.

Such a sheet is first cut across into pieces within reach. Either all parts lie in one of them, no longer
than the reach; or others hold parts too, and then no part is longer than what the shortest one leaves. Each
of the two is a size by itself to the bound, with a count in common. The same with length and width exchanged.

A rectangle as wide as a sheet without trims along it is had by cuts across alone, and may be longer than the
reach: a sheet that takes such a part is one size to the bound, as if rails reached everywhere.

Cuts count as running along or across the sheet, slanted as far as the parts' own slants and the lean go: a
cut from corner to corner is none that a rail would be laid to here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from nesting.packing.instance import Instance, Size
from nesting.packing.sections import Sections


def within_reach(
    instance: Instance, takes: Sequence[Sequence[bool]]
) -> tuple[Instance, list[list[bool]], list[int]]:
    """The instance with such sizes in two, which takes what, and the size that each one was.

    Of such a size the one of a single piece comes first.
    """
    sizes: list[Size] = []
    columns: list[list[bool]] = []
    origins = []
    for index, size in enumerate(instance.sizes):
        for one, column in _ways(instance, size, [row[index] for row in takes]):
            sizes.append(one)
            columns.append(column)
            origins.append(index)
    rows = [list(row) for row in zip(*columns, strict=True)]
    return replace(instance, sizes=tuple(sizes)), rows, origins


def _ways(instance: Instance, size: Size, taken: list[bool]) -> list[tuple[Size, list[bool]]]:
    reach = instance.saw.reach()
    length, width = size.usable
    if reach is None or not any(taken) or (length <= reach) == (width <= reach):
        return [(size, taken)]
    if any(takes and max(item.frame) > reach for item, takes in zip(instance.items, taken, strict=True)):
        return [(size, taken)]
    upright = length > reach
    side = max(length, width)
    sections = Sections(instance, size, upright=upright, slanted=True)
    runs = [min(way.run for way in ways) for ways in sections.ways]
    shortest = min(run for run, takes in zip(runs, taken, strict=True) if takes)
    over = math.floor(side - reach - sections.margin)
    if over <= 0:
        return [(size, taken)]
    one = replace(size, length=size.length - over * upright, width=size.width - over * (not upright))
    rest = side - instance.saw.kerf - shortest + sections.margin
    short = [takes and run <= rest for run, takes in zip(runs, taken, strict=True)]
    return [(one, taken), (size, short)] if any(short) else [(one, taken)]
