"""What parts cost at the least, as a sum over the parts: quick, and never too much.

A weight is given to each part so that what any one sheet can hold weighs no more than its price. Length and
width are shares of the sheet's, each grown by a kerf, through a dual feasible function; the product of two
is one for rectangles (Fekete and Schepers 2001). A part that is no rectangle, or may lean beside one that is
none, counts as a rectangle inside it. Weights add up over openings, so they bound all choices of materials.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

from nesting.packing.instance import Instance, Item, Size

Function = Callable[[Fraction], Fraction]
PLAY = 4  # inner units, for what a slant makes irrational


def _stepped(k: int) -> Function:
    """u of order k: x where (k + 1) x is whole, else (k + 1) x rounded down, over k."""

    def u(x: Fraction) -> Fraction:
        return x if ((k + 1) * x).denominator == 1 else Fraction((k + 1) * x // 1, k)

    return u


FUNCTIONS: tuple[Function, ...] = (lambda x: x, *map(_stepped, range(1, 5)))


@dataclass(frozen=True, slots=True)
class Weighing:
    """One way to weigh: by kind of part, in hundredths; all together, less ``saved``, are a bound."""

    weight: dict[Item, Fraction]
    saved: Fraction


def weighings(instance: Instance) -> list[Weighing]:
    """Every way to weigh the items of an instance.

    Sizes of which only some can be had may be left out of the weights: what they can save is then taken
    off as a whole. Without that a piece of the rack, which costs nothing, would make every part free.
    """
    lean = Fraction(0) if all(item.rectangular for item in instance.items) else instance.lean
    limited = [size for size in instance.sizes if size.count is not None]
    free = [size for size in instance.sizes if size.count is None]
    found = []
    for functions in product(FUNCTIONS, FUNCTIONS):
        shares = {
            (item, size): _share(instance, item, size, lean, *functions)
            for item in instance.items
            for size in instance.sizes
        }
        for sizes in [instance.sizes] + ([tuple(free)] if free and limited else []):
            made = _weighing(instance, shares, sizes)
            if made is not None:
                found.append(made)
    return found


Shares = dict[tuple[Item, Size], Fraction | None]


def _weighing(instance: Instance, shares: Shares, sizes: Sequence[Size]) -> Weighing | None:
    weight: dict[Item, Fraction] = {}
    for item in instance.items:
        known = [(size, share) for size in sizes if (share := shares[item, size]) is not None]
        if not known:
            return None
        weight[item] = min(_net(instance, size) * share for size, share in known)
    saved = Fraction(0)
    for size in instance.sizes:
        if size in sizes:
            continue
        for item in instance.items:
            if weight[item] and shares[item, size] == 0:
                return None  # any number of them may come out of it
        most = max((weight[i] / s for i in instance.items if (s := shares[i, size])), default=Fraction(0))
        saved += (size.count or 0) * max(Fraction(0), most - _net(instance, size))
    return Weighing(weight, saved)


def _net(instance: Instance, size: Size) -> Fraction:
    """A sheet's price, less the most that could be kept of it."""
    return max(Fraction(0), size.price - instance.credit * size.length * size.width)


def _share(
    instance: Instance, item: Item, size: Size, lean: Fraction, along: Function, across: Function
) -> Fraction | None:
    """What a part takes of a sheet, at the least; None where it does not fit."""
    length, width = _inside(item, lean)
    kerf, room = instance.saw.kerf, size.usable
    ways = [(width, length) if turned else (length, width) for turned in item.turns()]
    shares = [
        along(Fraction(x + kerf, room[0] + kerf)) * across(Fraction(y + kerf, room[1] + kerf))
        for x, y in ways
        if x <= room[0] and y <= room[1]
    ]
    return min(shares, default=None)


def _inside(item: Item, lean: Fraction) -> tuple[int, int]:
    """A rectangle inside the part, whatever way within the lean it lies."""
    length = item.length - abs(item.skew_start) - abs(item.skew_end)
    width, widest = min(item.start, item.end), max(item.start, item.end)
    if lean:
        length, width = length - int(widest * lean) - PLAY, width - int(item.length * lean) - PLAY
    return max(0, length), max(0, width)
