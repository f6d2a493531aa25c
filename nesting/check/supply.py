"""Judge what the sheets are: of the stock offered, as offered, and no more than can be had."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from nesting.check.violation import Code, Violation, cents, say, say_cents
from nesting.plan import Plan, Pt, Sheet, StockRecord, TrimRecord


def judge_records(plan: Plan) -> Iterator[Violation]:
    """Judge numbers that cannot be, the face that is up, and the sheets' numbers."""
    for text in _impossible(plan):
        yield Violation("record", None, None, text)
    if plan.seen_from != plan.saw.face_up:
        yield Violation("face", None, None, f"drawn as seen from {plan.seen_from}, while the face that "
                                            f"lies up is {plan.saw.face_up}")
    yield from numbering(None, "sheets", [sheet.number for sheet in plan.sheets])


def numbering(sheet: int | None, what: str, numbers: list[int]) -> Iterator[Violation]:
    """Judge that things are numbered from 1 in their order."""
    if numbers != list(range(1, len(numbers) + 1)):
        yield Violation("numbering", sheet, None, f"the {what} are not numbered from 1 in their order")


def _impossible(plan: Plan) -> Iterator[str]:
    saw, keep = plan.saw, plan.keep
    if min(saw.kerf, saw.lead_in, saw.lead_out, *saw.rails, 0) < 0:
        yield "a kerf, lead or rail is below 0"
    if min(keep.length, keep.width) < 0 or keep.credit < 0:
        yield "a size or credit for offcuts to keep is below 0"
    if not 0 <= plan.lean <= 45:
        yield f"a lean of {plan.lean:g} degrees; 0 to 45 are possible"
    for size in plan.stock:
        if min(size.length, size.width, size.thickness) <= 0 or size.price < 0 or (size.count or 0) < 0:
            yield f"stock {size.name}: a size of 0 or less, or a price or count below 0"
        if size.play < 0:
            yield f"stock {size.name}: a play below 0"
        if not _trim_fits(size.trim, size.length, size.width):
            yield f"stock {size.name}: a trim below 0, or trims that leave nothing"
    for sheet in plan.sheets:
        if min(sheet.length, sheet.width) <= 0 or sheet.kerf < 0:
            yield f"sheet {sheet.number}: a size of 0 or less, or a kerf below 0"


def _trim_fits(trim: TrimRecord, length: int, width: int) -> bool:
    none_negative = min(trim.left, trim.right, trim.lower, trim.upper) >= 0
    return none_negative and trim.left + trim.right < length and trim.lower + trim.upper < width


def judge_stock(plan: Plan) -> Iterator[Violation]:
    """Judge that names are unique, and that no more sheets are used than can be had."""
    for name, times in Counter(size.name for size in plan.stock).items():
        if times > 1:
            yield Violation("stock-twice", None, None, f"two sizes are offered as {name}")
    used = Counter(sheet.stock for sheet in plan.sheets)
    for size in plan.stock:
        if size.count is not None and used[size.name] > size.count:
            yield Violation("stock-count", None, None, f"{used[size.name]} of {size.name} are used, "
                                                       f"{size.count} can be had")


def judge_sheet(plan: Plan, sheet: Sheet) -> Iterator[Violation]:
    """Judge one sheet against the size it is said to be."""
    size = stock_of(plan, sheet)
    if size is None:
        yield Violation("stock-unknown", sheet.number, None, f"no size {sheet.stock} is offered")
        return
    for code, text in _differences(plan, sheet, size):
        yield Violation(code, sheet.number, None, text)


def _differences(plan: Plan, sheet: Sheet, size: StockRecord) -> Iterator[tuple[Code, str]]:
    units = plan.units
    offered = (size.material, size.length, size.width, size.thickness)
    if (sheet.material, sheet.length, sheet.width, sheet.thickness) != offered:
        yield "stock-size", (f"{size.name} is {size.material}, {say(size.length, units)} by "
                             f"{say(size.width, units)}, {say(size.thickness, units)} thick")
    if cents(sheet.price) != cents(size.price):
        yield "stock-price", (f"at {say_cents(cents(sheet.price))}, offered at "
                              f"{say_cents(cents(size.price))}")
    if sheet.edge_trim != size.trim:
        yield "stock-trim", f"its edge trim is not that of {size.name}"
    zones = sorted(sorted(zone) for zone in sheet.blocked)
    if zones != sorted(sorted(zone) for zone in size.blocked):
        yield "stock-blocked", f"its bad zones are not those of {size.name}"
    if not all(_on_sheet(sheet, zone) for zone in sheet.blocked):
        yield "stock-blocked", "a bad zone of it is no rectangle on the sheet"
    if sheet.kerf != plan.saw.kerf:
        yield "stock-kerf", (f"a kerf of {say(sheet.kerf, units)}; the saw's is "
                             f"{say(plan.saw.kerf, units)}")


def _on_sheet(sheet: Sheet, zone: Sequence[Pt]) -> bool:
    xs, ys = sorted({x for x, _ in zone}), sorted({y for _, y in zone})
    if len(xs) != 2 or len(ys) != 2 or sorted(zone) != [(x, y) for x in xs for y in ys]:
        return False
    return xs[0] >= 0 and ys[0] >= 0 and xs[1] <= sheet.length and ys[1] <= sheet.width


def stock_of(plan: Plan, sheet: Sheet) -> StockRecord | None:
    """Return the size a sheet is said to be."""
    return next((size for size in plan.stock if size.name == sheet.stock), None)
