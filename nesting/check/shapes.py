"""The checker's own geometry: convex shapes and lines in exact rational numbers.

A line that runs along or across the sheet is exact, and so is every comparison with it. Where a slant
makes a place irrational, ``SLACK`` is granted, measured square to the line in question.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import isqrt
from typing import Literal

Number = int | Fraction
Spot = tuple[Number, Number]
Shape = tuple[Spot, ...]
"""A convex polygon, anticlockwise; empty where there is no area."""

SLACK = 2
"""Inner units (a quarter of a thousandth of an inch) that the plan format grants a slant."""

_FINE = 20  # bits beyond the whole unit in a square root: the error is far below the slack


@dataclass(frozen=True, slots=True)
class Line:
    """A line ``a x + b y = c``; ``a x + b y > c`` is its inside, on the left of its direction."""

    a: Number
    b: Number
    c: Number

    @classmethod
    def through(cls, start: Spot, end: Spot) -> Line:
        """Make the line from one spot to another; they must differ."""
        a, b = start[1] - end[1], end[0] - start[0]
        # Along or across the sheet the coefficients are 1 and 0, so that `over` is a distance.
        if a == 0:
            b = 1 if b > 0 else -1
        elif b == 0:
            a = 1 if a > 0 else -1
        return cls(a, b, a * start[0] + b * start[1])

    @property
    def slanted(self) -> bool:
        """Whether it runs neither along nor across the sheet."""
        return self.a != 0 and self.b != 0

    @property
    def slack(self) -> int:
        """Units by which a spot may be off this line."""
        return SLACK if self.slanted else 0

    @property
    def size_squared(self) -> Number:
        """Square of what :meth:`over` is too large by."""
        return self.a * self.a + self.b * self.b

    def over(self, spot: Spot) -> Number:
        """Distance of a spot from the line times the line's size; positive inside."""
        return self.a * spot[0] + self.b * spot[1] - self.c

    def beyond(self, spot: Spot, slack: int) -> bool:
        """Whether a spot lies outside by more than ``slack`` units."""
        over = self.over(spot)
        return over < 0 and (slack == 0 or over * over > slack * slack * self.size_squared)

    def misses(self, spot: Spot) -> bool:
        """Whether a spot lies outside by more than is granted."""
        return self.beyond(spot, self.slack)

    def touches(self, spot: Spot) -> bool:
        """Whether a spot lies on the line, as near as is granted."""
        return not self.misses(spot) and not self.flipped().misses(spot)

    def flipped(self) -> Line:
        """Return the same line with its other side inside."""
        return Line(-self.a, -self.b, -self.c)

    def shifted(self, by: Number) -> Line:
        """Return the line that lies ``by`` units further inside."""
        return Line(self.a, self.b, self.c + by * root(self.size_squared))


def root(square: Number) -> Number:
    """Square root to about a millionth of a unit; exact where it is whole."""
    top, bottom = square.numerator, square.denominator
    exact = isqrt(top)
    if bottom == 1 and exact * exact == top:
        return exact
    return Fraction(isqrt(top * bottom << 2 * _FINE), bottom << _FINE)


def size(number: Number) -> Number:
    """Absolute value (of the union, for which ``abs`` has no type)."""
    return number if number >= 0 else -number


def simple(number: Number) -> Number:
    """Return a whole number as an int, which is quicker to reckon with."""
    return number.numerator if number.denominator == 1 else number


def twice_area(corners: Sequence[Spot]) -> Number:
    """Twice the signed area; positive anticlockwise."""
    ring = (*corners, corners[0]) if corners else ()
    return sum(p[0] * q[1] - q[0] * p[1] for p, q in pairwise(ring))


def edges(shape: Shape) -> list[Line]:
    """Lines along the edges, the shape inside; the edge from corner i has place i."""
    return [Line.through(p, q) for p, q in pairwise((*shape, shape[0]))]


def clip(shape: Shape, line: Line) -> Shape:
    """Return what of a shape lies inside a line, its border included (perhaps without area)."""
    kept: list[Spot] = []
    over = [line.over(spot) for spot in shape]
    for i, spot in enumerate(shape):
        after = (i + 1) % len(shape)
        if over[i] >= 0:
            kept.append(spot)
        if over[i] > 0 > over[after] or over[i] < 0 < over[after]:
            kept.append(_between(spot, shape[after], Fraction(over[i]) / (over[i] - over[after])))
    return tuple(kept)


def _between(p: Spot, q: Spot, share: Fraction) -> Spot:
    return simple(p[0] + share * (q[0] - p[0])), simple(p[1] + share * (q[1] - p[1]))


def solid(shape: Shape) -> Shape:
    """Return the shape, or nothing where it has no area."""
    return shape if twice_area(shape) > 0 else ()


def hull(spots: Sequence[Spot]) -> Shape:
    """Convex hull, anticlockwise without corners in line; empty where it has no area."""
    ordered = sorted(set(spots))
    chain = _half(ordered)[:-1] + _half(ordered[::-1])[:-1]
    return tuple(chain) if len(chain) > 2 else ()


def _half(ordered: Sequence[Spot]) -> list[Spot]:
    chain: list[Spot] = []
    for spot in ordered:
        while len(chain) > 1 and twice_area((*chain[-2:], spot)) <= 0:
            chain.pop()
        chain.append(spot)
    return chain


def is_convex(corners: Sequence[Spot]) -> bool:
    """Whether a polygon is its own hull, up to what rounding to whole units may do to a slant."""
    shape = hull(corners)
    if not shape:
        return False
    slanted = any(side.slanted for side in edges(shape))
    lost = twice_area(shape) - size(twice_area(corners))
    return size(lost) <= (2 * SLACK * girth(shape) if slanted else 0)


def girth(shape: Shape, slanted_only: bool = False) -> Number:
    """Length round a shape, at least: along and across added for a slanted edge."""
    ring = pairwise((*shape, shape[0]))
    runs = [(size(q[0] - p[0]), size(q[1] - p[1])) for p, q in ring]
    return sum(x + y for x, y in runs if not slanted_only or (x and y))


def same(item: Shape, piece: Shape) -> bool:
    """Whether an item fills a piece, exactly on straight edges and within the slack on slants."""
    sides, outline = edges(piece), edges(item)
    if any(side.misses(spot) for side in sides for spot in item):
        return False
    return not any(
        edge.beyond(spot, _slack_at(edge, (sides[i - 1], sides[i])))
        for edge in outline
        for i, spot in enumerate(piece)
    )


def _slack_at(edge: Line, meeting: tuple[Line, Line]) -> int:
    """Slack for a piece's corner against an item's edge: none where a straight edge meets its like."""
    alike = not edge.slanted and any((edge.a, edge.b) == (side.a, side.b) for side in meeting)
    return 0 if alike else SLACK


def holds_rectangle(shape: Shape, length: int, width: int) -> bool:
    """Whether a rectangle, ``length`` along the sheet, fits into a convex shape."""
    xs, ys = [x for x, _ in shape], [y for _, y in shape]
    left, right, low, high = min(xs) - SLACK, max(xs) + SLACK, min(ys) - SLACK, max(ys) + SLACK
    room: Shape = ((left, low), (right, low), (right, high), (left, high))
    for side in edges(shape):
        # The rectangle's lower left corner is moved about; its worst corner has to stay inside.
        reach = min(0, side.a * length) + min(0, side.b * width)
        room = clip(room, Line(side.a, side.b, side.c - reach).shifted(-side.slack))
    return bool(room)


def distance_squared(p: Spot, q: Spot) -> Number:
    """Square of the distance between two spots."""
    return (p[0] - q[0]) ** 2 + (p[1] - q[1]) ** 2


def nearly(square: Number, other: Number, slack: int = SLACK) -> bool:
    """Whether the roots of two squares differ by no more than ``slack``; exact."""
    least, most = sorted((square, other))
    # sqrt(most) <= sqrt(least) + slack, squared twice
    over = most - least - slack * slack
    return over <= 0 or over * over <= 4 * slack * slack * least


def apart(first: Shape, second: Shape, kerf: int) -> Literal["overlap", "gap"] | None:
    """Judge the room between two convex shapes: they overlap, are closer than the kerf, or neither."""
    straight = _straight_gap(first, second)
    if straight >= kerf:
        return None
    gaps = [(line, _gap(line, other)) for one, other in ((first, second), (second, first))
            for line in edges(one)]  # fmt: skip
    slanted = [(line, gap) for line, gap in gaps if line.slanted]
    if any(_reaches(gap, line, kerf - SLACK) for line, gap in slanted):
        return None
    if straight < 0 and all(gap < 0 for _, gap in slanted):
        return "overlap"
    return None if _nearest_squared(first, second) >= kerf * kerf else "gap"


def _straight_gap(first: Shape, second: Shape) -> Number:
    return max(
        max(min(q[i] for q in second) - max(p[i] for p in first),
            min(p[i] for p in first) - max(q[i] for q in second))
        for i in (0, 1)
    )  # fmt: skip


def _gap(line: Line, other: Shape) -> Number:
    return min(-line.over(spot) for spot in other)


def _reaches(gap: Number, line: Line, least: int) -> bool:
    """Whether a gap, times the line's size, is at least ``least`` units."""
    square, wanted = gap * gap, least * least * line.size_squared
    return (gap >= 0 and square >= wanted) if least >= 0 else (gap >= 0 or square <= wanted)


def _nearest_squared(first: Shape, second: Shape) -> Number:
    pairs = [(spot, *edge) for one, other in ((first, second), (second, first))
             for spot in one for edge in pairwise((*other, other[0]))]  # fmt: skip
    return min(_to_edge_squared(*pair) for pair in pairs)


def _to_edge_squared(spot: Spot, p: Spot, q: Spot) -> Number:
    along = (spot[0] - p[0]) * (q[0] - p[0]) + (spot[1] - p[1]) * (q[1] - p[1])
    if along <= 0:
        return distance_squared(spot, p)
    if along >= distance_squared(p, q):
        return distance_squared(spot, q)
    line = Line.through(p, q)
    return Fraction(line.over(spot) ** 2) / line.size_squared
