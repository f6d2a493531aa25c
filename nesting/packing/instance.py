"""What the engine is asked: whole inner units, and whole hundredths of money."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from numbers import Integral

from nesting.geometry import Point
from nesting.stock import Saw, Trim

LONGEST = 1 << 24  # units of a side, so that areas and their sums stay whole numbers of 64 bits
MOST_MONEY = 1 << 53
GRAINS = "length", "across", "any"


@dataclass(frozen=True)
class Item:
    """A kind of part; parts that are alike are one item with a count.

    The outline is the standard form of the plan file: straight edge below, start on the left.

    Attributes
    ----------
    length, start, end : int
        Along its straight edge, and its widths at the two ends, in whole units of any kind, the same for
        all of an instance: no more than ``LONGEST``.
    skew_start, skew_end : int
        How far the ends' other corners lie beyond those on the straight edge, along it.
    count : int
        How many are wanted.
    grain : str
        ``length`` runs along the sheet, ``across`` at right angles to it, ``any`` either way.
    flip : bool
        May be turned over.
    group : str
        Parts of one group (an opening) are kept together where it costs nothing.
    """

    length: int
    start: int
    end: int
    skew_start: int = 0
    skew_end: int = 0
    grain: str = "length"
    flip: bool = False
    count: int = 1
    group: str = ""

    @cached_property
    def outline(self) -> tuple[Point, Point, Point, Point]:
        """Corners c0 to c3, shifted so that the least x is 0."""
        left = max(0, -self.skew_start)
        return (
            (left, 0),
            (left + self.length, 0),
            (left + self.length + self.skew_end, self.end),
            (left + self.skew_start, self.start),
        )

    @cached_property
    def frame(self) -> tuple[int, int, int]:
        """The right trapezoid that holds the part: its length and the heights at its two ends."""
        (_, _), (x1, _), (x2, y2), (x3, y3) = self.outline
        length = max(x1, x2)
        if x2 == x3 or (x3 == 0 and x2 == length):
            return length, y3, y2
        slope = Fraction(y2 - y3, x2 - x3)
        return length, math.ceil(y3 - slope * x3), math.ceil(y2 + slope * (length - x2))

    @cached_property
    def rectangular(self) -> bool:
        """Square ends and one width."""
        return self.start == self.end and not self.skew_start and not self.skew_end

    @cached_property
    def twice_area(self) -> int:
        """Twice the true area of one of them."""
        (x0, y0), (x1, y1), (x2, y2), (x3, y3) = self.outline
        return (x2 - x0) * (y3 - y1) - (x3 - x1) * (y2 - y0)

    def turns(self) -> tuple[bool, ...]:
        """Whether it may lie turned by a right angle: ``(False,)``, ``(True,)`` or both."""
        return {"length": (False,), "across": (True,)}.get(self.grain, (False, True))


@dataclass(frozen=True)
class Size:
    """A stock size: length along the grain; ``price`` in hundredths; ``count`` None: unlimited.

    ``blocked`` are zones (x0, y0, x1, y1) of the sheet, untrimmed, that no part may take. Of the right and
    upper trim so much is ``play``: a part ends there by its own size, and nothing is trimmed for it.
    """

    name: str
    length: int
    width: int
    price: int
    count: int | None = None
    trim: Trim = field(default_factory=Trim)
    blocked: tuple[tuple[int, int, int, int], ...] = ()
    play: int = 0

    @property
    def region(self) -> tuple[int, int, int, int]:
        """The trimmed sheet: x0, y0, x1, y1."""
        trim = self.trim
        return trim.left, trim.lower, self.length - trim.right, self.width - trim.upper

    @property
    def usable(self) -> tuple[int, int]:
        """Length and width inside the trims."""
        x0, y0, x1, y1 = self.region
        return x1 - x0, y1 - y0


@dataclass(frozen=True)
class Instance:
    """One material: what to cut, out of what, with which saw.

    Attributes
    ----------
    lean : Fraction
        The most by which a part may run off the grain beside a slanted neighbour, as a tangent.
    keep : tuple of int
        Least length (along the sheet) and width of an offcut worth keeping.
    credit : Fraction
        Hundredths of money for one square inner unit of a kept offcut.
    spares : tuple of int
        How many more of each item are cut if there is room for nothing; empty for none.
    tight : int
        Where a sheet leaves less than that to spare it is too tight to trust: it may be as much short itself.
    """

    items: tuple[Item, ...]
    sizes: tuple[Size, ...]
    saw: Saw
    lean: Fraction = Fraction(0)
    keep: tuple[int, int] = (0, 0)
    credit: Fraction = Fraction(0)
    spares: tuple[int, ...] = ()
    tight: int = 0

    @property
    def mirrored(self) -> bool:
        """Parts lie mirrored where the back is up."""
        return self.saw.face_up == "back"

    @property
    def total(self) -> int:
        """How many parts there are."""
        return sum(item.count for item in self.items)


def require_sound(instance: Instance, settings: Settings) -> None:
    """Refuse what no answer would make sense of; a job file never comes to it.

    Raises
    ------
    ValueError
        Naming the first that is wrong.
    """
    if math.isnan(settings.seconds) or settings.effort < 0:
        raise ValueError("the seconds are no number, or the effort is below 0")
    if not instance.items or not instance.sizes:
        raise ValueError("an instance needs items and sizes")
    if not isinstance(instance.saw.kerf, Integral) or instance.saw.kerf < 0:
        raise ValueError(f"the kerf is {instance.saw.kerf}: it is a whole number, and not less than 0")
    if instance.spares and len(instance.spares) != len(instance.items):
        raise ValueError("spares are given for each item, or for none")
    if min(instance.lean, instance.credit) < 0 or min(*instance.keep, *instance.spares, 0) < 0:
        raise ValueError("a lean, credit, offcut to keep or number of spares is below 0")
    for index, item in enumerate(instance.items):
        _require_item(f"item {index}", item)
    for size in instance.sizes:
        _require_size(f"size {size.name}", size)
    if max(size.price for size in instance.sizes) * instance.total > MOST_MONEY:
        raise ValueError(f"sheets for all parts cost more than {MOST_MONEY} hundredths")


def _require_item(name: str, item: Item) -> None:
    numbers = item.length, item.start, item.end, item.skew_start, item.skew_end, item.count
    if not all(isinstance(number, Integral) for number in numbers):
        raise ValueError(f"{name} has a number that is not whole")
    if min(item.length, item.start, item.end, item.count) <= 0:
        raise ValueError(f"{name} has a length, width or count that is not above 0")
    if max(item.length, item.start, item.end) > LONGEST:
        raise ValueError(f"{name} is more than {LONGEST} units long or wide: take larger units")
    if item.length + item.skew_end <= item.skew_start:
        raise ValueError(f"{name} has ends that cross")
    if item.grain not in GRAINS:
        raise ValueError(f"{name} has a grain that is none of {', '.join(GRAINS)}")


def _require_size(name: str, size: Size) -> None:
    trim = size.trim.left, size.trim.right, size.trim.lower, size.trim.upper
    zones = [number for zone in size.blocked for number in zone]
    numbers = size.length, size.width, size.price, *trim, *zones
    if not all(isinstance(number, Integral) for number in numbers):
        raise ValueError(f"{name} has a number that is not whole")
    if min(size.usable) <= 0 or size.price < 0 or (size.count is not None and size.count <= 0):
        raise ValueError(f"{name} has nothing inside its trims, a price below 0, or no count")
    if max(size.length, size.width) > LONGEST:
        raise ValueError(f"{name} is more than {LONGEST} units long or wide: take larger units")
    if min(trim) < 0 or any(x0 >= x1 or y0 >= y1 for x0, y0, x1, y1 in size.blocked):
        raise ValueError(f"{name} has a trim below 0, or a zone that ends before it begins")


@dataclass(frozen=True, slots=True)
class Settings:
    """How long and how hard to look; ``seconds`` and ``effort`` are not below 0.

    ``effort`` counts tries of the local search, so that the same effort gives the same plan on any
    machine; ``seconds`` is a wall-clock limit on top. Without ``polish`` only the money counts, not which of
    equally cheap plans is the better one; without ``single`` it is not asked whether one of the same money
    needs no joined rails, where the best found does; without ``prove`` no bound is looked for beyond the
    known one.
    """

    seconds: float = 20.0
    seed: int = 1
    effort: int = 160_000
    polish: bool = True
    single: bool = True
    prove: bool = True


def lean_tangent(degrees: Fraction) -> Fraction:
    """Tangent of a small angle, rounded down to a millionth."""
    return Fraction(math.floor(math.tan(math.radians(float(degrees))) * 1_000_000), 1_000_000)
