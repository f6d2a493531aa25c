"""The cheapest plan of a few parts by all cutting trees: slow, and sharing nothing with the engine.

A part is a right trapezoid whose straight edge runs along the sheet (it does not lean); it may be turned by
180 degrees, a rectangle by a right angle too where it may. A set of parts comes off a sheet if a strip of a
kerf's width, measured square to the cut, can part it in two, and each half likewise, down to single parts.
Cuts run along the sheet, across it, or along the slanted edge of a part in the piece being cut.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property
from typing import TypeVar

from scipy.optimize import linprog

PLAY = 1.0  # units granted where a slant makes a size irrational; the plan's format grants two
XY = tuple[float, float]
T = TypeVar("T")


@dataclass(frozen=True)
class Part:
    length: int
    start: int
    end: int
    turns: bool = False  # rectangles only

    @cached_property
    def slanted(self) -> bool:
        return self.start != self.end

    @property
    def area(self) -> float:
        return self.length * (self.start + self.end) / 2

    @property
    def boxes(self) -> set[tuple[int, int]]:
        box = self.length, max(self.start, self.end)
        return {box, box[::-1]} if self.turns else {box}

    @property
    def poses(self) -> list[list[XY]]:
        """Corners in each way to lie, the box that holds them at the origin."""
        if not self.slanted:
            return [[(0, 0), (a, 0), (a, b), (0, b)] for a, b in sorted(self.boxes)]
        length, high = self.length, max(self.start, self.end)
        straight: list[XY] = [(0, 0), (length, 0), (length, self.end), (0, self.start)]
        return [straight, [(length - x, high - y) for x, y in straight]]

    @property
    def normal(self) -> XY:
        """Square to the slanted edge; a turn by 180 degrees leaves it as it is."""
        rise = self.end - self.start
        reach = math.hypot(self.length, rise)
        return -rise / reach, self.length / reach


Sheet = tuple[int, int, int]  # length, width, price


def cheapest(parts: list[Part], sheets: list[Sheet], kerf: int) -> float:
    """Least price of sheets, any number of each, that hold all parts; infinite if a part fits none."""

    @cache
    def comes_off(indices: frozenset[int], sheet: Sheet) -> bool:
        chosen = [parts[i] for i in sorted(indices)]
        if any(not comes_off(indices - {i}, sheet) for i in indices if len(indices) > 1):
            return False
        return sum(p.area for p in chosen) <= sheet[0] * sheet[1] and fits(chosen, sheet[0], sheet[1], kerf)

    @cache
    def least(left: frozenset[int]) -> float:
        if not left:
            return 0.0
        first = min(left)
        others = [
            frozenset(some) for n in range(len(left)) for some in itertools.combinations(left - {first}, n)
        ]
        return min((sheet[2] + least(left - some - {first})
                    for some in others for sheet in sheets if comes_off(some | {first}, sheet)),
                   default=math.inf)  # fmt: skip

    return least(frozenset(range(len(parts))))


def fits(parts: list[Part], length: int, width: int, kerf: int) -> bool:
    """Whether all the parts come off one sheet."""
    if any(a <= length and b <= width for a, b in _hulls(tuple(parts), kerf)):
        return True  # in boxes, by square cuts alone
    if len(parts) == 1 or not any(part.slanted for part in parts):
        return False
    return any(_Trees(parts, poses, length, width, kerf).some() for poses in _poses(parts))


@cache
def _hulls(parts: tuple[Part, ...], kerf: int) -> frozenset[tuple[int, int]]:
    """Least boxes that hold all parts, cut along and across only."""
    if len(parts) == 1:
        return frozenset(parts[0].boxes)
    found = set()
    for some, rest in _splits(parts):
        for (a, b), (c, d) in itertools.product(_hulls(some, kerf), _hulls(rest, kerf)):
            found |= {(a + kerf + c, max(b, d)), (max(a, c), b + kerf + d)}
    return frozenset(p for p in found if not any(q != p and q[0] <= p[0] and q[1] <= p[1] for q in found))


def _splits(things: tuple[T, ...]) -> Iterator[tuple[tuple[T, ...], tuple[T, ...]]]:
    for mask in range(1, 2 ** len(things) - 1):
        yield (tuple(t for i, t in enumerate(things) if mask >> i & 1),
               tuple(t for i, t in enumerate(things) if not mask >> i & 1))  # fmt: skip


def _poses(parts: list[Part]) -> Iterator[tuple[list[XY], ...]]:
    """All ways to lie; a turn of the whole sheet settles that of the first slanted part."""
    first = next(i for i, part in enumerate(parts) if part.slanted)
    yield from itertools.product(*(p.poses[:1] if i == first else p.poses for i, p in enumerate(parts)))


Ranges = tuple[tuple[float, float], ...]  # where each part's box may begin: along, across, along, across ..
# parts to be split; of three in a row the first comes off first, so that it is not split the same way again
Group = tuple[tuple[int, ...], XY | None, XY | None]
Rule = tuple[int, int, XY, float]  # part b lies at least this far beyond part a, along the normal


class _Trees:
    """Cutting trees of parts that lie in given ways, searched from the root."""

    def __init__(self, parts: list[Part], poses: tuple[list[XY], ...], *sheet_and_kerf: int) -> None:
        self.parts, self.poses = parts, poses
        self.length, self.width, self.kerf = sheet_and_kerf

    def some(self) -> bool:
        ranges: list[tuple[float, float]] = []
        for pose in self.poses:
            ranges.append((0.0, self.length - max(x for x, _ in pose)))
            ranges.append((0.0, self.width - max(y for _, y in pose)))
        return self._search([(tuple(range(len(self.parts))), None, None)], tuple(ranges), ())

    def _search(self, groups: list[Group], ranges: Ranges, rules: tuple[Rule, ...]) -> bool:
        groups = [group for group in groups if len(group[0]) > 1]
        if not groups:
            return self._placed(ranges, rules)
        (group, barred, last), *rest = groups
        slants = {self.parts[i].normal for i in group if self.parts[i].slanted} | ({last} if last else set())
        for normal in sorted({(1.0, 0.0), (0.0, 1.0), *slants} - {barred}):
            for some, others in _splits(group):
                new = tuple(self._rule(a, b, normal) for a in some for b in others)
                narrower = _narrowed(ranges, new)
                narrower = narrower and _narrowed(narrower, rules + new)
                halves: list[Group] = [(some, normal, None), (others, None, normal)]
                if narrower and self._search([*halves, *rest], narrower, rules + new):
                    return True
        return False

    def _rule(self, a: int, b: int, normal: XY) -> Rule:
        nx, ny = normal
        end = max(nx * x + ny * y for x, y in self.poses[a])
        begin = min(nx * x + ny * y for x, y in self.poses[b])
        granted = PLAY if nx and ny else 0.0
        return a, b, normal, end + self.kerf - begin - granted

    def _placed(self, ranges: Ranges, rules: tuple[Rule, ...]) -> bool:
        """Whether places exist that keep all rules, by a linear programme (HiGHS)."""
        rows = []
        for a, b, (nx, ny), _ in rules:
            row = [0.0] * len(ranges)
            row[2 * a], row[2 * a + 1], row[2 * b], row[2 * b + 1] = nx, ny, -nx, -ny
            rows.append(row)
        limits = [-least for *_, least in rules]
        found = linprog([0.0] * len(ranges), A_ub=rows, b_ub=limits, bounds=list(ranges))
        return found.status == 0


def _narrowed(ranges: Ranges, rules: tuple[Rule, ...]) -> Ranges | None:
    """Ranges without what no rule can keep; None where one is empty."""
    low, high = [r[0] for r in ranges], [r[1] for r in ranges]
    for _ in range(len(ranges)):
        before = low + high
        for a, b, (nx, ny), least in rules:
            terms = [(v, n) for v, n in ((2 * a, -nx), (2 * a + 1, -ny), (2 * b, nx), (2 * b + 1, ny)) if n]
            spare = sum(n * (high[v] if n > 0 else low[v]) for v, n in terms) - least
            if spare < -1e-6:
                return None
            for v, n in terms:
                if n > 0:
                    low[v] = max(low[v], high[v] - spare / n - 1e-9)
                else:
                    high[v] = min(high[v], low[v] - spare / n + 1e-9)
        if any(a > b + 1e-6 for a, b in zip(low, high, strict=True)):
            return None
        if low + high == before:
            break
    return tuple(zip(low, (max(a, b) for a, b in zip(low, high, strict=True)), strict=True))
