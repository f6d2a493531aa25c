"""Exact points, lines and convex polygons in whole inner units."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

Point = tuple[int, int]
Polygon = tuple[Point, ...]


def cross(origin: Point, a: Point, b: Point) -> int:
    """Twice the signed area of the triangle ``origin a b``: positive where ``b`` lies left of it."""
    return (a[0] - origin[0]) * (b[1] - origin[1]) - (a[1] - origin[1]) * (b[0] - origin[0])


def twice_area(corners: Sequence[Point]) -> int:
    """Twice the signed area of a polygon: positive anticlockwise (half square units, exact)."""
    return sum(
        x0 * y1 - x1 * y0
        for (x0, y0), (x1, y1) in zip(corners, [*corners[1:], corners[0]], strict=True)
    )


def bounds(corners: Sequence[Point]) -> tuple[int, int, int, int]:
    """Least x, least y, most x, most y."""
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return min(xs), min(ys), max(xs), max(ys)


def rectangle(x0: int, y0: int, x1: int, y1: int) -> Polygon:
    """Four corners, anticlockwise from the lower left."""
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def at(x: int, a: Point, b: Point) -> Fraction:
    """Height of the line through ``a`` and ``b`` over ``x``; the line must not be upright."""
    return a[1] + Fraction((b[1] - a[1]) * (x - a[0]), b[0] - a[0])
