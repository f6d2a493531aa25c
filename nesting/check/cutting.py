"""Judge the cuts of a sheet: each by itself, all of them made in turn, and what is left at the end."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from nesting.check import shapes
from nesting.check.placing import in_trim, in_zone
from nesting.check.replay import Bench, Item, Piece
from nesting.check.supply import numbering
from nesting.check.violation import Code, Violation, say
from nesting.plan import Cut, Offcut, Plan, Sheet


def judge_cuts(plan: Plan, sheet: Sheet, grain: bool) -> Iterator[Violation]:
    """Judge the cuts, the pieces they leave, and the offcuts."""
    yield from numbering(sheet.number, "cuts", [cut.number for cut in sheet.cuts])
    for cut in sheet.cuts:
        for code, text in _by_itself(plan, cut):
            yield Violation(code, sheet.number, None, f"cut {cut.number}: {text}")
    yield from _judge_offcuts(plan, sheet, grain)
    if sheet.length > 0 and sheet.width > 0:
        bench = Bench(sheet, _items(sheet), plan.units)
        yield from bench.replay()
        yield from _judge_pieces(sheet, bench)
        yield from _judge_kerf(plan, sheet, bench)


def _by_itself(plan: Plan, cut: Cut) -> Iterator[tuple[Code, str]]:
    run = shapes.distance_squared(cut.start, cut.to)
    slack = shapes.SLACK if cut.start[0] != cut.to[0] and cut.start[1] != cut.to[1] else 0
    if cut.length < 0 or not shapes.nearly(cut.length**2, run, slack):
        yield "cut-length", f"{say(cut.length, plan.units)} is not the distance between its ends"
    if Counter(cut.rails) - Counter(plan.saw.rails) or bool(cut.rails) != bool(plan.saw.rails):
        yield "cut-rails", "its rails are not of those in the job, one or more of them"
    if cut.joined != (len(cut.rails) > 1) or (len(cut.rails) > 1 and not plan.saw.join):
        yield "cut-joined", "rails are joined where they may not be, or `joined` is wrong"
    reach = sum(cut.rails) - plan.saw.lead_in - plan.saw.lead_out + slack
    if cut.rails and (reach < 0 or reach**2 < run):
        yield "cut-reach", f"its rails reach {say(reach - slack, plan.units)}, too short for it"


def _items(sheet: Sheet) -> list[Item]:
    parts = [Item(placed.number, f"part {placed.number}", shapes.hull(placed.corners), useful=True)
             for placed in sheet.placed]  # fmt: skip
    offcuts = [Item(None, f"offcut {offcut.number}", shapes.hull(offcut.corners), useful=offcut.keep,
                    trim=offcut.trim)
               for offcut in sheet.offcuts if shapes.is_convex(offcut.corners)]  # fmt: skip
    return [item for item in parts + offcuts if item.shape]


def _judge_pieces(sheet: Sheet, bench: Bench) -> Iterator[Violation]:
    """Each piece that is left is one part or one offcut, cut to its own outline."""
    for item in bench.lost:
        yield _not_alone(sheet, item, "lies where nothing is left")
    for letter, piece in bench.pieces.items():
        if not piece.items:
            yield Violation("piece-unlisted", sheet.number, None,
                            f"piece {letter} is left over, and neither a part nor a listed offcut")
        elif len(piece.items) > 1:
            names = ", ".join(item.name for item in piece.items)
            for item in piece.items:
                yield _not_alone(sheet, item, f"is not parted from the rest of piece {letter}: {names}")
        else:
            yield from _judge_piece(sheet, letter, piece)


def _judge_piece(sheet: Sheet, letter: str, piece: Piece) -> Iterator[Violation]:
    item = piece.items[0]
    if not shapes.same(item.shape, piece.shape):
        yield _not_alone(sheet, item, f"is not what is left as piece {letter}, side for side")
    if item.part is None and item.trim != piece.trim:
        said, is_one = ("called" if item.trim else "not called", "one" if piece.trim else "none")
        yield Violation("offcut-trim", sheet.number, None,
                        f"{item.name} is {said} a trim strip, and it is {is_one}")


def _not_alone(sheet: Sheet, item: Item, text: str) -> Violation:
    code: Code = "piece-offcut" if item.part is None else "piece-part"
    return Violation(code, sheet.number, item.part, f"{item.name} {text}")


def _judge_offcuts(plan: Plan, sheet: Sheet, grain: bool) -> Iterator[Violation]:
    numbers = [offcut.number for offcut in sheet.offcuts]
    if len(set(numbers)) < len(numbers):
        yield Violation("numbering", sheet.number, None, "two offcuts have one number")
    for offcut in sheet.offcuts:
        if not shapes.is_convex(offcut.corners):
            yield Violation("piece-offcut", sheet.number, None,
                            f"offcut {offcut.number} is no piece: its corners make no convex outline")
        elif offcut.keep:
            for code, text in _unfit(plan, sheet, offcut, grain):
                yield Violation(code, sheet.number, None, f"offcut {offcut.number} {text}")


def _unfit(plan: Plan, sheet: Sheet, offcut: Offcut, grain: bool) -> Iterator[tuple[Code, str]]:
    shape, keep = shapes.hull(offcut.corners), plan.keep
    fits = shapes.holds_rectangle(shape, keep.length, keep.width)
    if not fits and not (not grain and shapes.holds_rectangle(shape, keep.width, keep.length)):
        yield "offcut-small", (f"is kept, and {say(keep.length, plan.units)} by "
                               f"{say(keep.width, plan.units)} does not fit in it")
    if not in_trim(sheet, offcut.corners):
        yield "offcut-outside", "is kept and reaches out of the trimmed sheet"
    if in_zone(sheet, offcut.corners):
        yield "offcut-blocked", "is kept, and a zone in it is no good"


def _judge_kerf(plan: Plan, sheet: Sheet, bench: Bench) -> Iterator[Violation]:
    """What the kerfs took in the replay is what the polygons leave for them, but for the slack."""
    left = [piece.shape for piece in bench.pieces.values()]
    took = 2 * sheet.length * sheet.width - sum(map(shapes.twice_area, left))
    slack = 2 * shapes.SLACK * sum(shapes.girth(shape, slanted_only=True) for shape in left)
    if bench.complete and shapes.size(took - sheet.area.kerf) > slack:
        square = 2 * plan.units.size**2
        yield Violation("area-kerf", sheet.number, None,
                        f"the cuts take {float(took / square):.6f} square {plan.units}, the plan "
                        f"says {sheet.area.kerf / square:.6f}")
