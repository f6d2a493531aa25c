"""What a sheet's page says: its title, its cuts one by one, and the cautions that fit it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from nesting.check.replay import letters
from nesting.cutting.room import TIGHT
from nesting.drawing.measure import plain
from nesting.geometry import cross
from nesting.lengths import Units, marked, show, with_unit
from nesting.plan import Cut, Edge, Plan, PlanPart, Sheet, SheetEdge
from nesting.report.cautions import LIFT
from nesting.report.partslist import EDGES, edge_words
from nesting.report.play import tight_sides

MOST_LISTED = 6
UNWANTED = ("scrap", "trim", "sawdust")
FACE = {"show": "SHOW FACE UP", "back": "BACK FACE UP – MIRRORED"}
LAST = "Tool maker's instructions and local codes go first."


@dataclass(frozen=True, slots=True)
class Step:
    """One cut in words.

    Attributes
    ----------
    edge : str
        Which edge of the piece in hand the readings are from; both, if the two ends differ.
    readings : tuple of str
        At the left or lower end, and at the right or upper one.
    gives : str
        ``A → part 3 + C: 4, 5, keep 1``.
    splinters : bool
        Something wanted lies on the side that the rail's edge does not guard.
    piece, rails : str
        The letter of the piece in hand, and the rails alone.
    kept, other : str
        What the two sides of the cut are: ``A``, ``part 3``, ``keep 1``, ``scrap``, ``sawdust``.
    other_letter : str
        The letter of what comes off; none for sawdust.
    holds : str
        The parts and offcuts to keep that are still in what comes off.
    """

    number: int
    kind: str
    edge: str
    readings: tuple[str, str]
    length: str
    gives: str
    rail: str
    splinters: bool
    piece: str = ""
    rails: str = ""
    kept: str = ""
    other: str = ""
    other_letter: str = ""
    holds: str = ""


@dataclass(frozen=True, slots=True)
class _Item:
    """A part or an offcut: its name, twice its middle, and whether it is wanted."""

    name: str
    middle: tuple[int, int]
    wanted: bool

    def order(self) -> tuple[bool, int]:
        """Parts first, then offcuts, each by number."""
        kind, _, number = self.name.partition(" ")
        return kind != "part", int(number or 0)


@dataclass(frozen=True, slots=True)
class Note:
    """A note or caution: what it is about, what to do, who says so."""

    topic: str
    text: str
    source: str = ""


def said(plan: Plan, length: int) -> str:
    """Write a length in the plan's units, to the step of its tape; exactly, where a finer mark does."""
    return marked(length, plan.units, plan.step)


def unit_words(plan: Plan) -> str:
    """Say what the figures are: ``inches, tape read to 1/32``."""
    return f"{'inches' if plan.units is Units.INCH else 'mm'}, tape read to {show(plan.step, plan.units)}"


def first_edge(sheet: Sheet) -> str:
    """Say which edge is made straight first, or is taken for straight as it comes."""
    for cut in sheet.cuts:
        if cut.kind == "trim":
            return f"{_side(sheet, cut)}, cut {cut.number}"
    edges = [mark.edge for cut in sheet.cuts[:1] for mark in cut.marks]
    return f"{(*edges, 'lower')[0]}, as it comes"


def _side(sheet: Sheet, cut: Cut) -> SheetEdge:
    (x0, y0), (x1, y1) = cut.start, cut.to
    if _along(cut):
        return "lower" if y0 + y1 < sheet.width else "upper"
    return "left" if x0 + x1 < sheet.length else "right"


def steps(plan: Plan, sheet: Sheet) -> list[Step]:
    """Put every cut of a sheet into words; the plan must have passed its check."""
    names = letters()
    bench = {next(names): list(_items(sheet))}
    done = []
    for k, cut in enumerate(sheet.cuts):
        kept, other = _parted(cut, bench[cut.piece])
        bench[cut.piece] = kept
        letter = next(names) if other else ""
        if letter:
            bench[letter] = other
        later = {later.piece for later in sheet.cuts[k + 1 :]}
        first = _result(cut.piece, kept, later, short=True)
        second = _result(letter, other, later) if other else "sawdust"
        step = _step(plan, cut, f"{cut.piece} → {first} + {second}", any(item.wanted for item in other))
        brief = _result(letter, other, later, short=True) if other else second
        holds = second.partition(": ")[2]
        done.append(replace(step, kept=first, other=brief, other_letter=letter, holds=holds))
    return done


def _items(sheet: Sheet) -> Iterator[_Item]:
    for placed in sheet.placed:
        yield _Item(f"part {placed.number}", _middle(placed.corners), True)
    for offcut in sheet.offcuts:
        name = f"keep {offcut.number}" if offcut.keep else "trim" if offcut.trim else "scrap"
        yield _Item(name, _middle(offcut.corners), offcut.keep)


def _middle(corners: Iterable[tuple[int, int]]) -> tuple[int, int]:
    xs, ys = zip(*corners, strict=True)
    return 4 * sum(xs) // len(xs), 4 * sum(ys) // len(ys)


def _parted(cut: Cut, items: list[_Item]) -> tuple[list[_Item], list[_Item]]:
    """What lies on the kept side of a cut, and what on the other."""
    a, b = ((4 * x, 4 * y) for x, y in (cut.start, cut.to))
    left = [item for item in items if cross(a, b, item.middle) > 0]
    right = [item for item in items if item not in left]
    return (left, right) if cut.waste_side == "right" else (right, left)


def _result(letter: str, items: list[_Item], later: set[str], short: bool = False) -> str:
    """Name a piece: by its letter while it is still to be cut, else by what it is."""
    if letter not in later:
        return items[0].name if items else "scrap"
    wanted = [item.name.removeprefix("part ") for item in sorted(items, key=_Item.order) if item.wanted]
    return letter if short or not wanted else f"{letter}: {listed(wanted)}"


def listed(names: list[str]) -> str:
    """Put names in a row; of many the first few and how many more."""
    if len(names) <= MOST_LISTED + 1:
        return ", ".join(names)
    return f"{', '.join(names[:MOST_LISTED])} and {len(names) - MOST_LISTED} more"


def kind_words(plan: Plan, cut: Cut) -> str:
    """What a cut is to who makes it: a slant that no tape can tell is a rip or a crosscut."""
    if cut.kind == "taper" and len({(mark.edge, said(plan, mark.reading)) for mark in cut.marks}) == 1:
        return "rip" if _along(cut) else "crosscut"
    return cut.kind


def _along(cut: Cut) -> bool:
    (x0, y0), (x1, y1) = cut.start, cut.to
    return abs(x1 - x0) >= abs(y1 - y0)


def _step(plan: Plan, cut: Cut, gives: str, splinters: bool) -> Step:
    (x0, y0), (x1, y1) = cut.start, cut.to
    along = _along(cut)
    beside = ("lower", "upper") if along else ("left", "right")
    forward = x0 < x1 if along else y0 < y1
    marks = [next(m for m in cut.marks if m.at == end and m.edge in beside) for end in ("from", "to")]
    first, second = marks if forward else reversed(marks)
    edge = first.edge if first.edge == second.edge else f"{first.edge}, {second.edge}"
    return Step(
        cut.number, kind_words(plan, cut), edge, (said(plan, first.reading), said(plan, second.reading)),
        said(plan, cut.length), gives, _rail(plan, cut), splinters,
        cut.piece, "+".join(show(rail, plan.units) for rail in cut.rails),
    )  # fmt: skip


def _rail(plan: Plan, cut: Cut) -> str:
    rails = " + ".join(show(rail, plan.units) for rail in cut.rails)
    which = f"rails {rails} joined" if cut.joined else f"rail {rails}".rstrip()
    return f"{which} on {cut.rail_on}{', packer' if cut.packer else ''}"


def size_words(plan: Plan, sheet: Sheet) -> str:
    """Length by width of a sheet, as it is bought."""
    return f"{show(sheet.length, plan.units)} × {show(sheet.width, plan.units)}"


def stuff_words(plan: Plan, sheet: Sheet) -> str:
    """Material and thickness of a sheet."""
    return f"{plain(sheet.material)}, {with_unit(sheet.thickness, plan.units)} thick"


def edges_words(plan: Plan, part: PlanPart) -> str:
    """Say what is at the edges of a part, for its line in the table."""
    rows = [(edge, [plain(edge_words(part, edge)), skew_words(plan, part, edge)]) for edge in EDGES]
    return "; ".join(f"{edge}: {', '.join(filter(None, words))}" for edge, words in rows if any(words))


def skew_words(plan: Plan, part: PlanPart, edge: Edge) -> str:
    """Say how an end is off square: ``far 1/32 out``, by so much the far edge's corner lies beyond."""
    if edge not in ("start", "end"):
        return ""
    skew = part.skew_end if edge == "end" else -part.skew_start
    by = said(plan, abs(skew))
    return f"far {by} {'out' if skew > 0 else 'in'}" if by != "0" else ""


def notes(plan: Plan, sheet: Sheet, done: Sequence[Step]) -> list[Note]:
    """Choose the notes and cautions that fit a sheet; those for every sheet stand first and last."""
    joined = _cuts(cut.number for cut in sheet.cuts if cut.joined)
    packer = _cuts(cut.number for cut in sheet.cuts if cut.packer)
    own = [
        Note("Tape", "from the edge named, in the piece in hand. The sheet is A; what is kept keeps its "
                "letter, what comes off takes the next."),
        _lift(plan, sheet),
        _skewed(plan, sheet),
        _bevelled(plan, sheet),
        Note("Blocked", "cross-hatched zones are no good: no part lies there.") if sheet.blocked else None,
        _tight(plan, sheet),
        Note("Joined rails", f"{joined}: true them up with a known straightedge, and again after each "
                "move.", "common practice") if joined else None,
        Note("Narrow", f"{packer}: the piece does not carry the rail; lay a packer beside it.",
                "common practice") if packer else None,
        _splinters(plan, done),
        Note("Support", "bear both sides of a cut, or it pinches the blade (saw manuals). "
                f"{LAST}"),
    ]  # fmt: skip
    return [note for note in own if note]


def _tight(plan: Plan, sheet: Sheet) -> Note | None:
    sides = tight_sides(sheet)
    return Note("Tight", f"less than {with_unit(TIGHT, plan.units)} to spare in its {' and '.join(sides)}: "
                "measure the sheet before the first cut.") if sides else None  # fmt: skip


def _skewed(plan: Plan, sheet: Sheet) -> Note | None:
    here = {placed.number for placed in sheet.placed}
    ends: tuple[Edge, ...] = ("start", "end")
    said_so = any(skew_words(plan, part, end) for part in plan.parts if part.number in here for end in ends)
    return Note("Ends off square", "far .. out: the far edge's corner lies so much beyond square to the "
                "straight edge; in: short of it.") if said_so else None  # fmt: skip


def _bevelled(plan: Plan, sheet: Sheet) -> Note | None:
    here = {placed.number for placed in sheet.placed}
    tilted = any(part.bevels for part in plan.parts if part.number in here)
    return Note("Bevels", "cut square to these sizes, then tilt the saw. Under: the back is undercut, the "
                "show face keeps the line. Over: the other way round.") if tilted else None  # fmt: skip


def _cuts(numbers: Iterable[int]) -> str:
    names = [str(number) for number in numbers]
    return f"cut{'s' * (len(names) > 1)} {listed(names)}" if names else ""


def _lift(plan: Plan, sheet: Sheet) -> Note | None:
    weight = next((stock.weight for stock in plan.stock if stock.name == sheet.stock), None)
    limit = LIFT[plan.units]
    if not weight or weight <= limit:
        return None
    unit = "lb" if plan.units is Units.INCH else "kg"
    each = f", and over {limit:g} {unit} each for two" if weight > 2 * limit else ""
    text = (f"about {weight:.0f} {unit}, over the {limit:g} {unit} of an ideal lift{each}: two people or a "
            "cart.")  # fmt: skip
    return Note("Weight", text, "NIOSH Pub. 94-110")


def _splinters(plan: Plan, done: Sequence[Step]) -> Note | None:
    if plan.seen_from == "back":
        return Note("Splinters", "the saw chips the upper face, here the back. Lay the show face on "
                       "something clean.", "trade handbooks")  # fmt: skip
    cuts = _cuts(step.number for step in done if step.splinters)
    if not cuts:
        return None
    return Note("Splinters", f"{cuts}: both sides wanted, the rail guards one; score the other first.",
                   "common practice")  # fmt: skip
