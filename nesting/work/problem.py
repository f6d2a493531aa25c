"""One material of a job as a problem for the engine, and whether each part has a home at all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from nesting.cutting.room import TIGHT
from nesting.errors import Fault, JobError
from nesting.job.job import Job
from nesting.lengths import FOOT, MM, Units, with_unit
from nesting.packing.instance import Instance, Item, Size, lean_tangent
from nesting.packing.rules import Rules
from nesting.parts import Part
from nesting.stock import Stock
from nesting.work.wanted import Wanted

LARGER = {"longest": "longer", "widest": "wider"}


@dataclass(frozen=True, slots=True)
class Problem:
    """An instance, with the part numbers of each item and the stock entry of each size.

    ``spares`` are the numbers of parts that are alike and cut only where there is room.
    """

    material: str
    instance: Instance
    numbers: tuple[tuple[int, ...], ...]
    stock: tuple[Stock, ...]
    spares: tuple[tuple[int, ...], ...] = ()


def problem(job: Job, material: str, want: Wanted, stock: Sequence[Stock]) -> Problem:
    """Gather the parts of a material that are alike into items, and the sizes that can be had.

    Raises
    ------
    JobError
        Naming every part that no sheet or no rail can take, with the limit it breaks.
    """
    alike: dict[Item, list[int]] = {}
    for part in want.parts:
        if part.material == material:
            alike.setdefault(_item(part), []).append(part.number)
    offered = tuple(s for s in stock if s.material == material and s.count != 0)
    items = tuple(_counted(item, len(numbers)) for item, numbers in alike.items())
    more = [part for part in want.spares if part.material == material]
    spares = tuple(tuple(part.number for part in more if _item(part) == item) for item in alike)
    instance = Instance(
        items=items,
        sizes=tuple(map(_size, offered)),
        saw=job.saw,
        lean=lean_tangent(job.lean),
        keep=(job.keep.length, job.keep.width),
        credit=Fraction(job.keep.credit) / _area_unit(job.units),
        spares=tuple(map(len, spares)) if more else (),
        tight=TIGHT,
    )
    _all_have_homes(job, want, instance, list(alike.values()))
    return Problem(material, instance, tuple(map(tuple, alike.values())), offered, spares)


def _size(stock: Stock) -> Size:
    """What may be used of a sheet: the play is kept at its right and upper edges, beside the trims."""
    trim = replace(stock.trim, right=stock.trim.right + stock.play, upper=stock.trim.upper + stock.play)
    return Size(stock.name, stock.length, stock.width, stock.price, stock.count, trim, stock.blocked,
                play=stock.play)  # fmt: skip


def _item(part: Part) -> Item:
    return Item(part.length, part.width_start, part.width_end, part.skew_start, part.skew_end,
                part.grain, part.may_flip)  # fmt: skip


def _counted(item: Item, count: int) -> Item:
    return Item(item.length, item.start, item.end, item.skew_start, item.skew_end, item.grain,
                item.flip, count)  # fmt: skip


def _area_unit(units: Units) -> int:
    """Square inner units in a square foot, or in a square metre."""
    return FOOT**2 if units is Units.INCH else (1000 * MM) ** 2


def _all_have_homes(job: Job, want: Wanted, instance: Instance, numbers: list[list[int]]) -> None:
    homeless = {numbers[index][0]: index for index in Rules(instance).homeless()}
    faults = [
        Fault(where, part.id, "", _why_homeless(job, instance, homeless[part.number]))
        for part, where in zip(want.parts, want.places, strict=True)
        if part.number in homeless
    ]
    if faults:
        raise JobError(faults)


def _why_homeless(job: Job, instance: Instance, index: int) -> str:
    """The first limit that a part breaks: length, width, or the rails."""
    item = instance.items[index]

    def say(length: int) -> str:
        return with_unit(length, job.units)

    length, *widths = item.frame
    width = max(widths)
    sides = [(size.usable, size.name) for size in instance.sizes]
    if not sides:
        return "its material has no stock that can be had; add an entry to stock"
    turned = item.turns()
    along = [max((a, b)[way] for way in turned) for (a, b), _ in sides]
    across = [max((b, a)[way] for way in turned) for (a, b), _ in sides]
    inside = "inside the trims"
    if any(size.play for size in instance.sizes):
        inside += " and the play that is kept"
    lies = "lies across the grain, " if turned == (True,) else ""
    longest, widest = ("widest", "longest") if lies else ("longest", "widest")
    if length > max(along):
        return (f"it {lies}is {say(length)} long, and the {longest} stock has {say(max(along))} "
                f"{inside}; add {LARGER[longest]} stock, or make it in two pieces")  # fmt: skip
    if width > max(across):
        return (f"it {lies}is {say(width)} wide, and the {widest} stock has {say(max(across))} "
                f"{inside}; add {LARGER[widest]} stock, or make it in two pieces")  # fmt: skip
    clear = ", clear of its bad zones" if any(size.blocked for size in instance.sizes) else ""
    if instance.saw.reach() is None or index in Rules(_without_rails(instance)).homeless():
        return f"no one sheet is both long and wide enough {inside}{clear}"
    reach = max(0, instance.saw.reach() or 0)
    if length <= reach:
        return (f"no rail is long enough: it is {say(length)} long, and the rails reach {say(reach)}, but "
                f"it takes longer cuts to get it out of any stock{clear}; "
                f"{_longer_reach(job, instance, index)}")  # fmt: skip
    return (f"no rail is long enough: a cut of {say(length)} needs {say(job.saw.lead_in)} before it and "
            f"{say(job.saw.lead_out)} past it, and the rails reach {say(reach)}; "
            f"{_longer_reach(job, instance, index)}")  # fmt: skip


def _longer_reach(job: Job, instance: Instance, index: int) -> str:
    """What can be done about rails that are too short; to allow joining only where that would do."""
    if job.saw.join:
        return "add a rail"
    joined = replace(instance, saw=replace(instance.saw, join=True))
    helps = len(job.saw.rails) > 1 and index not in Rules(joined).homeless()
    return "add a longer rail, or allow joining" if helps else "add a longer rail"


def _without_rails(instance: Instance) -> Instance:
    saw = type(instance.saw)(instance.saw.kerf, face_up=instance.saw.face_up)
    return replace(instance, saw=saw)
