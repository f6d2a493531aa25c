"""Convex pieces of a sheet in whole units, parted by a line with a kerf."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from nesting.geometry import Point, Polygon, cross

Line = tuple[Point, Point]


def distance(line: Line, point: Point) -> float:
    """How far a point lies to the left of a line (negative: to the right)."""
    a, b = line
    return cross(a, b, point) / math.hypot(b[0] - a[0], b[1] - a[1])


def beyond(polygon: Polygon, line: Line) -> float:
    """How far a polygon reaches over a line to its right."""
    return -reach(polygon, line)[0]


def reach(polygon: Sequence[Point], line: Line) -> tuple[float, float]:
    """The least and the largest distance of a polygon's corners to the left of a line."""
    (x0, y0), (x1, y1) = line
    dx, dy = x1 - x0, y1 - y0
    off = [dx * (y - y0) - dy * (x - x0) for x, y in polygon]
    run = math.hypot(dx, dy)
    return min(off) / run, max(off) / run


def left_of(polygon: Polygon, line: Line) -> Polygon:
    """What of a convex polygon lies to the left of a line; new corners go to the nearest unit."""
    a, b = line
    sides = [cross(a, b, point) for point in polygon]
    kept: list[Point] = []
    for i, point in enumerate(polygon):
        before, here = sides[i - 1], sides[i]
        if (before < 0 < here) or (here < 0 < before):
            kept.append(_between(polygon[i - 1], point, before, here))
        if here >= 0:
            kept.append(point)
    return tidy(kept)


def _between(p: Point, q: Point, side_p: int, side_q: int) -> Point:
    x, y = side_p * (q[0] - p[0]), side_p * (q[1] - p[1])
    return p[0] + _nearest(x, side_p - side_q), p[1] + _nearest(y, side_p - side_q)


def _nearest(a: int, b: int) -> int:
    """The whole number nearest to a / b, of two the even one."""
    if b < 0:
        a, b = -a, -b
    whole, rest = divmod(2 * a + b, 2 * b)
    return whole - (rest == 0 and whole % 2 == 1)


def tidy(corners: list[Point]) -> Polygon:
    """Without doubled corners, and without corners in the run of a side; empty if nothing is left."""
    points = [point for i, point in enumerate(corners) if point != corners[i - 1]]
    points = [
        point
        for i, point in enumerate(points)
        if cross(points[i - 1], point, points[(i + 1) % len(points)])
    ]
    return tuple(points) if len(points) > 2 else ()


def reverse(line: Line) -> Line:
    """The same line, looked at the other way."""
    return line[1], line[0]


def shifted(line: Line, kerf: int) -> Line:
    """The line a kerf further to the right."""
    (x0, y0), (x1, y1) = line
    run = math.hypot(x1 - x0, y1 - y0)
    dx, dy = round(kerf * (y1 - y0) / run), round(-kerf * (x1 - x0) / run)
    return (x0 + dx, y0 + dy), (x1 + dx, y1 + dy)


def ends_on(polygon: Polygon, line: Line) -> Line | None:
    """Where a line enters and leaves a convex polygon, in the direction of the line."""
    a, b = line
    sides = [cross(a, b, point) for point in polygon]
    hits = {point for point, side in zip(polygon, sides, strict=True) if side == 0}
    for i, point in enumerate(polygon):
        if sides[i - 1] * sides[i] < 0:
            hits.add(_between(polygon[i - 1], point, sides[i - 1], sides[i]))
    if len(hits) < 2:
        return None
    along = sorted(hits, key=lambda p: (p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1]))
    return along[0], along[-1]


@dataclass(frozen=True, slots=True)
class Split:
    """A piece parted along a line: what keeps to the left, and what is left beyond the kerf."""

    line: Line
    kept: Polygon
    rest: Polygon


def split(polygon: Polygon, line: Line, kerf: int) -> Split | None:
    """Part a polygon; the kerf lies to the right of the line. None where the line misses it."""
    ends = ends_on(polygon, line)
    if ends is None or ends[0] == ends[1]:
        return None
    rest = left_of(polygon, reverse(shifted(ends, kerf)))
    return Split(ends, left_of(polygon, ends), rest)
