"""Cutting trees made by hand, in inches, and the sheet that they are cut out of."""

from __future__ import annotations

from nesting.cutting.sequence import Sequence, sequence
from nesting.lengths import INCH
from nesting.packing.instance import Instance, Item, Size
from nesting.packing.layout import Node, Shape
from nesting.stock import Saw, Trim

KERF = INCH // 8


def inch(value: float) -> int:
    return round(value * INCH)


class Tree:
    """One sheet; cuts and parts are put in one after the other."""

    def __init__(self, length: float = 96, width: float = 48, trim: float | Trim = 0.25, rails: tuple = (),
                 join: bool = False, kerf: int = KERF) -> None:  # fmt: skip
        trims = trim if isinstance(trim, Trim) else Trim(*[inch(trim)] * 4)
        self.size = Size("sheet", inch(length), inch(width), 100, None, trims)
        self.saw = Saw(kerf, tuple(map(inch, rails)), join, inch(7), inch(3))
        self.items: list[Item] = []
        x0, y0, x1, y1 = self.size.region
        self.root = Node((x0, x1, y0, y0, y1, y1, False))

    def rip(self, node: Node, at: float) -> tuple[Node, Node]:
        """Cut along the sheet, ``at`` inches above the piece's lower edge; the lower and the upper piece."""
        x0, x1, l0, _, u0, _, _ = node.piece
        y = l0 + inch(at)
        on = y + self.saw.kerf
        node.line = ((x0, y), (x1, y), True)
        return self._kids(node, (x0, x1, l0, l0, y, y), (x0, x1, on, on, u0, u0))

    def crosscut(self, node: Node, at: float) -> tuple[Node, Node]:
        """Cut across, ``at`` inches from the piece's left end; the left and the right piece."""
        x0, x1, l0, _, u0, _, _ = node.piece
        x = x0 + inch(at)
        node.line = ((x, l0), (x, u0), True)
        return self._kids(node, (x0, x, l0, l0, u0, u0), (x + self.saw.kerf, x1, l0, l0, u0, u0))

    def _kids(self, node: Node, one: tuple, other: tuple) -> tuple[Node, Node]:
        node.kids = Node((*one, False), node), Node((*other, False), node)
        return node.kids[0], node.kids[1]

    def part(self, node: Node, length: float, width: float, end: float | None = None) -> int:
        """Lay a part into the piece's lower left corner; returns its item."""
        start, end = inch(width), inch(width if end is None else end)
        self.items.append(Item(inch(length), start, end))
        node.item = len(self.items) - 1
        node.shape = Shape(inch(length), start, end, False, False, False)
        node.spot = (node.piece[0], node.piece[2])
        return node.item

    def whole(self, node: Node) -> int:
        """A part that fills the piece."""
        x0, x1, l0, _, u0, _, _ = node.piece
        return self.part(node, (x1 - x0) / INCH, (u0 - l0) / INCH)

    def cut(self, hidden: dict[int, set[str]] | None = None, keep: tuple[float, float] = (24, 6)) -> Sequence:
        instance = Instance(tuple(self.items), (self.size,), self.saw, keep=(inch(keep[0]), inch(keep[1])))
        covered = {item: frozenset(edges) for item, edges in (hidden or {}).items()}
        return sequence(instance, self.size, self.root, covered)


def told(done: Sequence) -> list[tuple]:
    """Kind, piece, and the two readings, once where they are alike."""
    found = []
    for cut in done.cuts:
        readings = dict.fromkeys(f"{mark.edge} {mark.reading / INCH:g}" for mark in cut.marks)
        found.append((cut.kind, cut.piece, *readings))
    return found
