"""Cuts that strips lying side by side have in common, made through all of them at once.

Strips cut at the same places the other way can be parted the other way first: one cut through the block
instead of one in each strip, and the cuts between the strips once more in each piece of the block. Which of
the two is less work depends on where scrap lies, since it is not parted any further. Nothing moves: the same
lines are cut in another order, so all stays exact. That holds of level and upright cuts of rectangles; a
slanted cut stays whole in its strip, and between strips it ends the row.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from nesting.cutting.relaying import holds_part, is_low, replaced
from nesting.packing.layout import Node, Piece

Span = tuple[int, int]
LATER = 1_000  # ranks for what lay in a strip, behind those of the cuts between strips


class Place(NamedTuple):
    """One cut of a row: its kerf from ``low`` to ``high``, its line on the low side if ``near``.

    ``rank`` says which of a row's cuts come first.
    """

    low: int
    high: int
    near: bool
    rank: int


class Row(NamedTuple):
    """Cells that lie one after the other and the cuts between; None where a kerf takes all to the end."""

    cells: tuple[Node | None, ...]
    cuts: tuple[Place, ...] = ()

    def part(self, begin: int, end: int) -> Row:
        """The cells from ``begin`` to before ``end``, and the cuts between them."""
        return Row(self.cells[begin:end], self.cuts[begin : end - 1])


def regrouped(node: Node, reached: Callable[[int], bool]) -> Iterator[Node]:
    """A row of strips, some neighbours of which are cut through first where they all are cut.

    Parameters
    ----------
    reached : callable
        Whether a cut of a length is to be made at all.
    """
    way = way_of(node)
    if way is None or (node.parent is not None and way_of(node.parent) == way):
        return
    row = _row(node, way)
    strips = [_row(cell, 1 - way) if cell and holds_part(cell) else None for cell in row.cells]
    ends = [span_of(cell, way) if cell else (0, 0) for cell in row.cells]
    for begin, end, places in _runs(row, strips):
        if not reached(ends[end - 1][1] - ends[begin][0]):
            continue
        for some in [places, *([place] for place in places if len(places) > 1)]:
            block = _exchanged(row.part(begin, end), strips[begin:end], some, way)
            cells = (*row.cells[:begin], block, *row.cells[end:])
            cuts = (*row.cuts[:begin], *row.cuts[end - 1 :])
            yield _built(Row(cells, cuts), way, node.piece) or block


def way_of(node: Node) -> int | None:
    """0 where an upright cut parts a rectangle, so that its kids lie along the sheet, 1 where a level one."""
    _, _, l0, l1, u0, u1, turned = node.piece
    if node.line is None or l0 != l1 or u0 != u1:
        return None
    (ax, ay), (bx, by), _ = node.line
    return None if ax != bx and ay != by else int((ax != bx) != turned)


def _runs(row: Row, strips: list[Row | None]) -> Iterator[tuple[int, int, list[Place]]]:
    """Neighbours with cuts in common, as many as have the same ones; scrap is cut wherever they are."""
    for begin, cell in enumerate(row.cells):
        common: list[Place] | None = None
        for end in range(begin, len(strips)):
            found = _also(common, strips[end])
            if row.cells[end] is None or found == []:
                break
            common = found
            last = end + 1 == len(strips) or row.cells[end + 1] is None
            ends = last or strips[end + 1] is None or _also(common, strips[end + 1]) != common
            if cell and common and ends and sum(strip is not None for strip in strips[begin : end + 1]) > 1:
                yield begin, end + 1, common


def _also(common: list[Place] | None, strip: Row | None) -> list[Place] | None:
    """Those of some places at which a strip is cut, too; None for all there may be."""
    if strip is None:
        return common
    if common is None:
        return list(strip.cuts)
    kerfs = {place[:2] for place in strip.cuts}
    return [place for place in common if place[:2] in kerfs]


def _exchanged(run: Row, strips: list[Row | None], places: list[Place], way: int) -> Node:
    """The block of a run, cut at these places first, and each piece between the strips then."""
    first, last, other = run.cells[0], run.cells[-1], 1 - way
    assert first is not None
    assert last is not None
    along, across = span_of(first, other), (span_of(first, way)[0], span_of(last, way)[1])
    bounds = [along[0], *(end for place in places for end in place[:2]), along[1]]
    pieces = []
    for number in range(len(places) + 1):
        span = bounds[2 * number], bounds[2 * number + 1]
        cells: list[Node | None] = []
        cuts: list[Place] = []
        for index, (cell, strip) in enumerate(zip(run.cells, strips, strict=True)):
            assert cell is not None
            cuts += run.cuts[index - 1 : index] if index else ()
            room = _piece(span, span_of(cell, way), other)
            inner = Node(room) if strip is None else _built(_between(strip, span), other, room)
            rows = _row(inner, way, LATER) if inner and span[0] < span[1] else Row((None,))
            cells += rows.cells
            cuts += rows.cuts
        pieces.append(_built(Row(tuple(cells), tuple(cuts)), way, _piece(span, across, other)))
    made = _built(Row(tuple(pieces), tuple(places)), other, _piece(along, across, other))
    assert made is not None
    return made


def _between(strip: Row, span: Span) -> Row:
    """What of a row lies in a span that its cuts bound."""
    begin = sum(place.high <= span[0] for place in strip.cuts)
    end = len(strip.cuts) - sum(place.low >= span[1] for place in strip.cuts)
    return strip.part(begin, end + 1)


def _row(node: Node, way: int, rank: int = 0) -> Row:
    """What cuts in one way make of a piece."""
    if way_of(node) != way:
        return Row((node,))
    start, end = span_of(node, way)
    near = is_low(node)
    kids: list[Node | None] = [*node.kids, None][:2]
    first, last = kids if near else kids[::-1]
    kerf = span_of(first, way)[1] if first else start, span_of(last, way)[0] if last else end
    place = Place(*kerf, near, rank)
    rows = [_row(kid, way, rank + 1) if kid else Row((None,)) for kid in (first, last)]
    return Row((*rows[0].cells, *rows[1].cells), (*rows[0].cuts, place, *rows[1].cuts))


def _built(row: Row, way: int, piece: Piece) -> Node | None:
    """A piece cut into a row, scrap that lies side by side in one; its cells are copied."""
    start, end = span_of(Node(piece), way)
    cells, cuts = [row.cells[0]], []
    for cell, place in zip(row.cells[1:], row.cuts, strict=True):
        before = cells[-1]
        if not (cell and holds_part(cell)) and not (before and holds_part(before)):
            cells[-1] = None
            continue
        cells.append(cell)
        cuts.append(place)
    return _joined(Row(tuple(cells), tuple(cuts)), way, (start, end), span_of(Node(piece), 1 - way))


def _joined(row: Row, way: int, span: Span, across: Span) -> Node | None:
    """Cells put together again by the cuts between them, those of low rank first."""
    made = Node(_piece(span, across, way))
    if not row.cuts:
        cell = row.cells[0]
        if cell and holds_part(cell):
            return replaced(cell, made, made)  # a copy
        return made if span[0] < span[1] else None
    at = min(range(len(row.cuts)), key=lambda i: row.cuts[i].rank)
    place = row.cuts[at]
    on = place.low if place.near else place.high
    ends = ((on, across[0]), (on, across[1])), ((across[0], on), (across[1], on))
    made.line = (*ends[way], True)
    kids = [
        _joined(row.part(0, at + 1), way, (span[0], place.low), across),
        _joined(row.part(at + 1, len(row.cells)), way, (place.high, span[1]), across),
    ]
    made.kids = tuple(kid for kid in (kids if place.near else kids[::-1]) if kid)
    for kid in made.kids:
        kid.parent = made
    return made


def span_of(node: Node, way: int) -> Span:
    """Where a piece begins and ends, along the sheet or across it."""
    x0, x1, l0, l1, u0, u1, turned = node.piece
    return (x0, x1) if (way == 0) != turned else (min(l0, l1), max(u0, u1))


def _piece(span: Span, across: Span, way: int) -> Piece:
    """A rectangle by its extents in one way and in the other."""
    (x0, x1), (y0, y1) = (span, across) if way == 0 else (across, span)
    return x0, x1, y0, y0, y1, y1, False
