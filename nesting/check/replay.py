"""Make a sheet's cuts again, one after the other, and see what each does and what is left.

Nothing is taken from the plan but the sheet's size, its kerf and the ends of the cuts. The pieces are
exact: a slanted cut's other side is found to a millionth of a unit, and whole corners are compared with
it within the slack.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import count
from string import ascii_uppercase

from nesting.check import shapes
from nesting.check.shapes import Line, Shape
from nesting.check.violation import Code, Violation, say
from nesting.lengths import Units
from nesting.plan import Cut, Mark, Sheet


@dataclass(frozen=True, slots=True)
class Item:
    """A part or an offcut as the plan lays it on the sheet.

    Attributes
    ----------
    part : int or None
        The part's number; None for an offcut.
    name : str
        ``part 3``, ``offcut 2``.
    useful : bool
        It is a part, or an offcut to keep.
    trim : bool
        The plan says that it is a strip off a factory edge.
    """

    part: int | None
    name: str
    shape: Shape
    useful: bool
    trim: bool = False


@dataclass(slots=True)
class Piece:
    """What lies on the bench under one letter; ``trim`` where a trim cut took it off."""

    shape: Shape
    items: list[Item] = field(default_factory=list)
    trim: bool = False

    @property
    def useful(self) -> bool:
        """Whether anything worth keeping is in it."""
        return any(item.useful for item in self.items)


class Bench:
    """The pieces of one sheet while it is cut.

    Parameters
    ----------
    sheet : Sheet
        Of positive size.
    items : list of Item
        All with an area.

    Attributes
    ----------
    pieces : dict
        By letter.
    lost : list of Item
        Those that lie where nothing is left.
    complete : bool
        No cut was left out because it could not be made.
    """

    def __init__(self, sheet: Sheet, items: list[Item], units: Units) -> None:
        self.sheet, self.units = sheet, units
        whole: Shape = ((0, 0), (sheet.length, 0), (sheet.length, sheet.width), (0, sheet.width))
        self.pieces = {"A": Piece(whole, list(items))}
        self.lost: list[Item] = []
        self.complete = True
        self._letters = letters()
        next(self._letters)

    def replay(self) -> Iterator[Violation]:
        """Make all cuts in their order; judge each against the piece it is made in."""
        for cut in self.sheet.cuts:
            yield from self._replay_one(cut)

    def _replay_one(self, cut: Cut) -> Iterator[Violation]:
        piece = self.pieces.get(cut.piece)
        if piece is None:
            self.complete = False
            yield self._fault("cut-piece", cut, f"there is no piece {cut.piece} on the bench")
        elif cut.start == cut.to:
            self.complete = False
            yield self._fault("cut-ends", cut, "the line has no length")
        else:
            trims = self._trims(cut, piece)
            kind = "trim" if trims else _direction(cut)
            if cut.kind != kind:
                yield self._fault("cut-kind", cut, f"called {cut.kind}, it is a {kind}")
            yield from self._ends(cut, piece)
            yield from self._marks(cut, piece)
            yield from self._part(cut, piece, trims)

    def _ends(self, cut: Cut, piece: Piece) -> Iterator[Violation]:
        for name, spot in (("from", cut.start), ("to", cut.to)):
            if not _on_edge(piece.shape, spot):
                yield self._fault("cut-ends", cut, f"its end `{name}` is not on an edge of "
                                                   f"piece {cut.piece}")

    def _trims(self, cut: Cut, piece: Piece) -> bool:
        """Whether all that comes off lies in the trim of one factory edge, that edge with it."""
        side, sheet, edge = _kept_side(cut), self.sheet, self.sheet.edge_trim
        waste = () if side.slanted else shapes.clip(piece.shape, side.flipped())
        if not waste:
            return False
        xs, ys = [x for x, _ in waste], [y for _, y in waste]
        if cut.start[0] == cut.to[0]:
            return (min(xs) == 0 and max(xs) <= edge.left) or (
                max(xs) == sheet.length and min(xs) >= sheet.length - edge.right)
        return (min(ys) == 0 and max(ys) <= edge.lower) or (
            max(ys) == sheet.width and min(ys) >= sheet.width - edge.upper)

    def _marks(self, cut: Cut, piece: Piece) -> Iterator[Violation]:
        for mark in cut.marks:
            if not _reads(mark, cut, piece.shape):
                yield self._fault("cut-marks", cut, f"{say(mark.reading, self.units)} from the "
                                  f"{mark.edge} edge of piece {cut.piece} is not where the line's "
                                  f"end `{mark.at}` is")
        beside = _edges_beside(cut)
        for end in ("from", "to"):
            if not any(mark.at == end and mark.edge in beside for mark in cut.marks):
                yield self._fault("cut-marks", cut, f"no reading from the {' or '.join(beside)} "
                                                    f"edge at `{end}`")

    def _part(self, cut: Cut, piece: Piece, trims: bool) -> Iterator[Violation]:
        """Part the piece by line and kerf; everything in it goes to one side or is hit."""
        kept_side = _kept_side(cut)
        far_side = kept_side.flipped().shifted(self.sheet.kerf)
        kept = Piece(shapes.solid(shapes.clip(piece.shape, kept_side)), trim=piece.trim)
        waste = shapes.solid(shapes.clip(piece.shape, kept_side.flipped()))
        if not kept.shape or not waste:
            self.complete = False
            yield self._fault("cut-idle", cut, f"it takes nothing off piece {cut.piece}")
            return
        other = Piece(shapes.solid(shapes.clip(piece.shape, far_side)), trim=piece.trim or trims)
        for item in piece.items:
            on_kept = sum(kept_side.over(spot) for spot in item.shape) >= 0
            (kept if on_kept else other).items.append(item)
            if any((kept_side if on_kept else far_side).misses(spot) for spot in item.shape):
                yield self._hit(cut, item)
        if other.useful and not kept.useful:
            yield self._fault("cut-waste", cut, f"`waste_side` {cut.waste_side} is where the parts "
                                                "are, and nothing useful is on the other")
        self._lay(cut.piece, kept, other, far_side)

    def _lay(self, letter: str, kept: Piece, other: Piece, far_side: Line) -> None:
        self.pieces[letter] = kept
        if other.shape and (other.items or not _all_kerf(other.shape, far_side)):
            self.pieces[next(self._letters)] = other
        else:
            self.lost += other.items

    def _hit(self, cut: Cut, item: Item) -> Violation:
        code: Code = "cut-part" if item.part is not None else "cut-offcut"
        text = f"cut {cut.number} runs through {item.name}, or its kerf eats into it"
        return Violation(code, self.sheet.number, item.part, text)

    def _fault(self, code: Code, cut: Cut, text: str) -> Violation:
        return Violation(code, self.sheet.number, None, f"cut {cut.number}: {text}")


def letters() -> Iterator[str]:
    """A to Z, AA, AB and so on."""
    for size in count(1):
        for place in range(26**size):
            yield "".join(ascii_uppercase[place // 26**i % 26] for i in reversed(range(size)))


def _kept_side(cut: Cut) -> Line:
    line = Line.through(cut.start, cut.to)
    return line if cut.waste_side == "right" else line.flipped()


def _direction(cut: Cut) -> str:
    if cut.start[1] == cut.to[1]:
        return "rip"
    return "crosscut" if cut.start[0] == cut.to[0] else "taper"


def _on_edge(shape: Shape, spot: shapes.Spot) -> bool:
    sides = shapes.edges(shape)
    inside = not any(side.misses(spot) for side in sides)
    return inside and any(side.touches(spot) for side in sides)


def _all_kerf(shape: Shape, far_side: Line) -> bool:
    """Whether nothing is left past the kerf, or where slants meet no more than the slack."""
    if not any(side.slanted for side in (far_side, *(shapes.edges(shape) if shape else ()))):
        return not shape
    slack = far_side.shifted(shapes.SLACK)
    return all(slack.over(spot) <= 0 for spot in shape)


def _edges_beside(cut: Cut) -> tuple[str, str]:
    """Edges from which a reading says where the line is: those it runs along."""
    lengthwise = abs(cut.to[0] - cut.start[0]) >= abs(cut.to[1] - cut.start[1])
    return ("lower", "upper") if lengthwise else ("left", "right")


def _reads(mark: Mark, cut: Cut, shape: Shape) -> bool:
    spot = cut.start if mark.at == "from" else cut.to
    return any(_read_from(side, mark).touches(spot)
               for side in shapes.edges(shape) if mark.edge in _names(side))  # fmt: skip


def _read_from(side: Line, mark: Mark) -> Line:
    """The line of all spots where a tape from a side reads so much, held along the sheet or across it."""
    per_unit = side.a if mark.edge in ("left", "right") else side.b
    return Line(side.a, side.b, side.c + mark.reading * shapes.size(per_unit))


def _names(side: Line) -> set[str]:
    """What an edge is called by the way it faces; both names where it faces just between."""
    names = set()
    if shapes.size(side.a) >= shapes.size(side.b):
        names.add("left" if side.a > 0 else "right")
    if shapes.size(side.b) >= shapes.size(side.a):
        names.add("lower" if side.b > 0 else "upper")
    return names
