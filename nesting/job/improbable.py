"""What can be, but hardly is meant: a slip of the pen, or inches in a metric job. Never a fault."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from nesting.boards import USUAL, read_board
from nesting.job.crosscheck import sizes_of
from nesting.job.edging import LIPPING, Banding
from nesting.job.faults import Path, locate, printable, words
from nesting.job.job import Job
from nesting.job.models import Opening
from nesting.job.outline import Row, Table, Text, said
from nesting.job.unlikely import MOST_APART, Found, measures, repeated, shared_lines
from nesting.lengths import FOOT, INCH, Units, with_unit
from nesting.stock import Stock

# Limits of the likely; common practice, no source.
THICKEST, THINNEST = 2 * INCH, INCH // 16
WIDEST_KERF = INCH // 4
COARSEST_STEP, FINEST_STEP = INCH // 4, INCH // 64
SHORTEST_ROLL = 6 * FOOT
LONGEST_SHEET, SHORTEST_SHEET = 16 * FOOT, 1 * FOOT
WIDEST_OPENING = 12 * FOOT
STEEPEST_LEAN = 2
# A window: 1/8 to 1/2 is the range of reveals seen (old-house doors 5/16: Carpenter's Guide, "Inside
# Finish"); a splay below 3 degrees is hardly seen, and one above 45 hardly built.
WIDEST_REVEAL = INCH // 2
LEAST_SPLAY, MOST_SPLAY = Fraction(52, 1000), Fraction(1)


def warnings(job: Job, top: Table) -> tuple[str, ...]:
    """Name each improbable value with its line."""
    found = [*_saw(job), *_sheets(job, top)]
    for i, opening in enumerate(job.openings):
        found += _opening(opening, ["openings", i], job.units)
    found += [*_bands(job), *shared_lines(job, top), *_comments(top)]
    return tuple(_said(top, path, why) for path, why in found)


def _said(top: Table, path: Path, why: str) -> str:
    value, known = locate(top, path)
    written = f" is written '{printable(value)}'" if known == len(path) and isinstance(value, Text) else ""
    return f"{said(value.line)}: {words(top, path)}{written}: {why}"


def _saw(job: Job) -> Iterator[Found]:
    if job.saw.kerf > WIDEST_KERF:
        yield ["saw", "kerf"], "wider than any blade in use; measure a slot that it cut"
    if job.saw.kerf == 0:
        yield ["saw", "kerf"], "every blade takes something; measure a slot that it cut"
    if job.step > COARSEST_STEP:
        yield ["step"], "coarser than any tape; widths are rounded up by as much"
    elif job.units is Units.INCH and not _on_a_tape(job.step):
        yield ["step"], "no fraction that a tape has, like 1/16 or 1/32"
    if job.lean > STEEPEST_LEAN:
        yield ["lean"], "so much off the grain can be seen; 1/2 degree is usual"


def _on_a_tape(step: int) -> bool:
    share = Fraction(step, FINEST_STEP)
    return share.denominator == 1 and share.numerator.bit_count() == 1


def _board(job: Job, size: Stock, path: Path) -> Iterator[Found]:
    board, thickness = read_board(size.board), job.materials[size.material].thickness
    if abs(thickness - board.thickness) >= INCH // 32:
        dressed, stated = with_unit(board.thickness, job.units), with_unit(thickness, job.units)
        yield [*path, "board"], f"is {dressed} thick, dressed, and the material {size.material} says {stated}"
    if abs(size.width - board.width) > 3 * INCH // 8:
        yield [*path, "width"], f"is far from {with_unit(board.width, job.units)}, to which it is dressed"
    if board.wide not in USUAL:
        yield [*path, "board"], "is in the table, and hardly in any yard's stock"


def _sheets(job: Job, top: Table) -> Iterator[Found]:
    other = "millimetres" if job.units is Units.INCH else "inches"
    for name, material in job.materials.items():
        if not THINNEST <= material.thickness <= THICKEST:
            yield ["materials", name, "thickness"], f"hardly a sheet's thickness; is it in {other}?"
    if job.priced_by_area:
        yield ["stock"], "no entry has a price, so its area stands for money"
    for i, sheet in zip(sizes_of(top), job.stock, strict=True):
        if sheet.board:
            yield from _board(job, sheet, ["stock", i])
        if sheet.length > LONGEST_SHEET or (sheet.length < SHORTEST_SHEET and not sheet.in_shop):
            yield ["stock", i, "length"], f"hardly a sheet's length; is it in {other}?"
        elif sheet.width > sheet.length and job.materials[sheet.material].grain and not sheet.in_shop:
            yield ["stock", i, "width"], "more than the length, which runs along the grain; are they swapped?"
        if not sheet.price and not sheet.in_shop:
            yield ["stock", i, "price"], "costs nothing, though it is not in the shop"


def _bands(job: Job) -> Iterator[Found]:
    banded: dict[tuple[str, int], Banding | None] = {}
    banded |= {("openings", i): opening.band for i, opening in enumerate(job.openings)}
    banded |= {("parts", i): part.band for i, part in enumerate(job.parts)}
    for path, band in banded.items():
        if band and band.kind == "iron-on" and band.thickness >= LIPPING:
            yield [*path, "band", "kind"], "hardly any iron-on band is as thick; is it lipping?"
        if band and band.kind == "lipping" and band.thickness < THINNEST:
            yield [*path, "band", "kind"], "hardly any solid lipping is as thin; is it iron-on?"
    for i, roll in enumerate(job.rolls):
        if roll.length < SHORTEST_ROLL:
            yield ["rolls", i], "hardly a roll's length; feet are written 25'"


def _opening(opening: Opening, path: Path, units: Units) -> Iterator[Found]:
    width, height = opening.width, opening.height
    if opening.rabbet and opening.joint != "rabbet":
        yield [*path, "rabbet"], f"not used: the joint is {opening.joint}"
    if opening.horn and opening.joint == "head over legs":
        yield [*path, "horn"], "not used: the head lies over the legs, so they have no horns"
    yield from _window(opening, path, units)
    widths = (width.low, width.middle, width.high)
    if max(widths) > WIDEST_OPENING:
        yield [*path, "width"], f"{with_unit(max(widths), units)} is wide for a cased opening"
    if max(widths) - min(widths) > MOST_APART:
        yield [*path, "width"], "the three widths are far apart; measure again"
    if height and abs(height.left - height.right) > MOST_APART:
        yield [*path, "height"], "left and right are far apart; measure again"
    for run, readings in (("left", opening.wall.left), ("right", opening.wall.right),
                          ("head", opening.wall.head), ("sill", opening.wall.sill)):
        yield from repeated(readings, [*path, "wall", run], units)
    if opening.kind == "cased":
        yield from measures(opening, path, units)


def _window(opening: Opening, path: Path, units: Units) -> Iterator[Found]:
    if opening.kind == "window" and opening.reveal > WIDEST_REVEAL:
        wide = with_unit(opening.reveal, units)
        yield [*path, "reveal"], f"{wide} is wide for a reveal; 1/8 to 5/16 inch is usual"
    slopes = {side: getattr(opening.splay, side) for side in ("left", "right", "head", "sill")}
    odd = [side for side, slope in slopes.items() if slope and not LEAST_SPLAY <= slope <= MOST_SPLAY]
    if odd:
        flat = slopes[odd[0]] < LEAST_SPLAY
        yield [*path, "splay"], (
            f"{odd[0]}: hardly a splay at all; a bare number is degrees, a run is written 2 over 6"
            if flat else f"{odd[0]}: steeper than 45 degrees; is it measured from the window's frame?"
        )  # fmt: skip


def _comments(top: Table) -> Iterator[Found]:
    """A name that loses what follows a #: ``shelf #3`` is read as shelf."""
    names = [["job"]] + [[key, i, "name"] for key in ("stock", "openings", "parts")
                         for i in range(len(top.get(Text(key), Row())))]
    for path in names:
        name, known = locate(top, path)
        if known == len(path) and isinstance(name, Text) and name.comment:
            comment = printable(name.comment)
            yield path, f"{comment} after it is read as a comment; put both in quotes if it is not"
