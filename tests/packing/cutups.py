"""Jobs made by cutting whole sheets up at random, slants among them: the fewest sheets is known."""

from __future__ import annotations

import math
import random

from nesting.lengths import INCH
from nesting.packing.instance import Instance, Item, Size
from nesting.stock import Saw

Trapezoid = tuple[int, int, int]  # length, width at the start, width at the end
STEP = INCH // 32
LEAST = 3 * INCH


def cut_up(
    seed: int,
    sheets: int,
    parts: int,
    kerf: int = 3 * STEP,
    grain: str = "length",
    whole_steps: bool = False,
) -> Instance:
    """``sheets`` full sheets of 96 x 48 inches, each cut into ``parts``, nothing left over.

    With ``whole_steps`` the parts' sizes are rounded down to what a tape reads, 1/32 inch.
    """
    rng = random.Random(seed)
    size = Size("sheet", 96 * INCH, 48 * INCH, 100)
    found: list[Trapezoid] = []
    for _ in range(sheets):
        pieces: list[Trapezoid] = [(size.length, size.width, size.width)]
        while len(pieces) < parts:
            pieces.sort(key=lambda piece: -piece[0] * (piece[1] + piece[2]))
            pieces += _cut(rng, pieces.pop(rng.randrange(min(3, len(pieces)))), kerf)
        found += pieces
    unit = STEP if whole_steps else 1
    items = tuple(Item(*(size // unit * unit for size in piece), grain=grain) for piece in found)
    return Instance(items, (size,), Saw(kerf))


def _cut(rng: random.Random, piece: Trapezoid, kerf: int) -> list[Trapezoid]:
    length, start, end = piece
    ways = [_crosscut] * (length > 2 * LEAST + kerf)
    ways += [_rip] * (min(start, end) > 2 * LEAST + kerf)
    ways += [_taper] * (start == end > 3 * LEAST + kerf and length > 20 * INCH)
    return rng.choice(ways)(rng, piece, kerf) if ways else [piece]


def _crosscut(rng: random.Random, piece: Trapezoid, kerf: int) -> list[Trapezoid]:
    length, start, end = piece
    at = rng.randrange(LEAST, length - LEAST - kerf) // STEP * STEP
    before, after = (math.floor(start + (end - start) * x / length) for x in (at, at + kerf))
    return [(at, start, before), (length - at - kerf, after, end)]


def _rip(rng: random.Random, piece: Trapezoid, kerf: int) -> list[Trapezoid]:
    length, start, end = piece
    at = rng.randrange(LEAST, min(start, end) - LEAST - kerf) // STEP * STEP
    return [(length, at, at), (length, start - at - kerf, end - at - kerf)]


def _taper(rng: random.Random, piece: Trapezoid, kerf: int) -> list[Trapezoid]:
    length, width, _ = piece
    rise = rng.randrange(1, 17) * STEP * rng.choice([1, -1])
    low = LEAST + abs(rise)
    at = rng.randrange(low, width - low - kerf) // STEP * STEP
    over = round(kerf * math.hypot(length, rise) / length)
    # the upper one is turned by 180 degrees: its straight edge is the piece's upper one
    return [(length, at, at + rise), (length, width - at - rise - over, width - at - over)]
