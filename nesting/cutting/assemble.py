"""One cut sheet as the plan records it: parts, cuts, offcuts and areas."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import astuple, dataclass, field, replace
from functools import lru_cache

from nesting.cutting.facts import Hidden
from nesting.cutting.freeplay import free_play
from nesting.cutting.neater import neatest
from nesting.cutting.pieces import beyond
from nesting.cutting.sequence import Final, Sequence, sequence, sequence_of
from nesting.errors import NestingError
from nesting.geometry import Polygon, rectangle, twice_area
from nesting.packing.instance import Instance, Size
from nesting.packing.layout import Node
from nesting.packing.solve import Layout
from nesting.plan import AreaRecord, Offcut, Placed, PlayRecord, Sheet, TrimRecord
from nesting.stock import Material, Stock

Numbers = Mapping[int, list[int]]


@dataclass(frozen=True, slots=True)
class Cutting:
    """What all sheets of a material have in common.

    Attributes
    ----------
    hidden : mapping
        For an item, the edges of its parts that casing, a joint or band will hide.
    neat : bool
        Whether cuts are looked for that are neater than the first that do: it takes most of the time, and is
        for nothing where nobody will cut the sheet.
    """

    instance: Instance
    material: Material
    hidden: Hidden = field(default_factory=dict)
    neat: bool = True


def cut_sheet(cutting: Cutting, number: int, layout: Layout, numbers: Numbers, stock: Stock) -> Sheet:
    """Sequence the cuts of one sheet and record it.

    Parameters
    ----------
    numbers : mapping of item to list of int
        Part numbers still free for each item; those used are taken off the front.

    Returns
    -------
    Sheet
        Offcuts list every final piece that is no part, the kept ones first.
    """
    instance = cutting.instance
    size = Size(stock.name, stock.length, stock.width, stock.price, stock.count, stock.trim, stock.blocked)
    covered = tuple(sorted(cutting.hidden.items()))
    done = _cut_up(_Tree(instance, size, _cuts_and_parts(layout.root), covered, cutting.neat, layout.root))
    finals = [final for final in done.finals if final.polygon]
    parts = [final for final in finals if final.item is not None]
    offcuts = _offcuts(finals, done)
    along, across = map(math.floor, free_play(done.facts.root, instance.items, size))
    return Sheet(
        number=number,
        stock=stock.name,
        material=stock.material,
        length=stock.length,
        width=stock.width,
        thickness=cutting.material.thickness,
        price=stock.price / 100,
        kerf=instance.saw.kerf,
        edge_trim=trim_record(stock),
        placed=tuple(_placed(final, numbers) for final in parts),
        cuts=done.cuts,
        offcuts=offcuts,
        blocked=tuple(rectangle(*zone) for zone in stock.blocked),
        play=PlayRecord(along=along, across=across),
        area=_areas(2 * stock.length * stock.width, parts, offcuts),
    )


@dataclass(frozen=True)
class _Tree:
    """A sheet to be cut up, known again by what its tree is made of."""

    instance: Instance
    size: Size
    made_of: tuple[object, ...]
    hidden: tuple[tuple[int, frozenset[str]], ...]
    neat: bool
    root: Node = field(compare=False)


def _cuts_and_parts(root: Node) -> tuple[object, ...]:
    return tuple(
        (node.piece, node.item, node.spot, node.lies, node.shape, node.line, len(node.kids))
        for node in root.walk()
    )


@lru_cache(maxsize=256)  # from one better plan to the next most sheets stay as they are
def _cut_up(tree: _Tree) -> Sequence:
    """As neat as it can be made; with single rails only, where that can be and as much is kept."""
    instance, size, hidden = tree.instance, tree.size, dict(tree.hidden)
    if not tree.neat:
        with suppress(NestingError):  # what does not come off as it lies may yet if its cuts are drawn anew
            return sequence(instance, size, tree.root, hidden)
    look = neatest(instance, size, tree.root, hidden)
    done = sequence_of(look.facts, look.broken)
    if not done.score.joined:
        return done
    single = replace(instance, saw=replace(instance.saw, join=False))
    try:
        other = sequence(single, size, look.facts.root, hidden)
    except NestingError:  # a cut of the tree itself needs them joined
        return done
    return other if _kept_area(other) >= _kept_area(done) else done


def _kept_area(done: Sequence) -> int:
    return sum(twice_area(f.polygon) for f in done.finals if f.keep and _fit_to_keep(f.polygon, done))


def trim_record(stock: Stock) -> TrimRecord:
    """The trims of a stock size."""
    left, right, lower, upper = astuple(stock.trim)
    return TrimRecord(left=left, right=right, lower=lower, upper=upper)


def _placed(final: Final, numbers: Numbers) -> Placed:
    assert final.item is not None
    c0, c1, c2, c3 = final.corners
    return Placed(number=numbers[final.item].pop(0), corners=(c0, c1, c2, c3))


def _offcuts(finals: Iterable[Final], done: Sequence) -> tuple[Offcut, ...]:
    rest = [final for final in finals if final.item is None]
    kept = [final for final in rest if final.keep and _fit_to_keep(final.polygon, done)]
    order = sorted(kept, key=lambda final: -twice_area(final.polygon))
    order += [final for final in rest if final not in kept]
    return tuple(
        Offcut(number=number, corners=final.polygon, keep=number <= len(kept), trim=final.trim)
        for number, final in enumerate(order, 1)
    )


def _fit_to_keep(polygon: Polygon, done: Sequence) -> bool:
    """Inside the trims, and without a bad zone in it."""
    inside = all(beyond(polygon, edge) <= 0 for edge in done.facts.inside.values())
    return inside and not done.facts.spoiled(polygon)


def _areas(sheet: int, parts: Iterable[Final], offcuts: Iterable[Offcut]) -> AreaRecord:
    in_parts = sum(abs(twice_area(final.corners)) for final in parts)
    keep = sum(twice_area(offcut.corners) for offcut in offcuts if offcut.keep)
    scrap = sum(twice_area(offcut.corners) for offcut in offcuts if not offcut.keep)
    return AreaRecord(
        sheet=sheet,
        parts=in_parts,
        kerf=sheet - in_parts - keep - scrap,
        keep=keep,
        scrap=scrap,
        trim=sum(twice_area(offcut.corners) for offcut in offcuts if offcut.trim),
    )
