"""What one part of the file has to do with another. Looks at the text, so other faults hide nothing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from nesting import stock
from nesting.job.buying import StockEntry
from nesting.job.faults import Faults, locate
from nesting.job.models import Opening, PartEntry
from nesting.job.outline import Row, Spot, Table, Text, said
from nesting.lengths import Units, with_unit

MOST_PARTS = 5_000


def rows(top: Table, key: str) -> Row:
    """The list behind a key; empty where there is none."""
    value, known = locate(top, [key])
    return value if known and isinstance(value, Row) else Row()


def sizes_of(top: Table) -> list[int]:
    """Which entry of the stock each size is of: one for each of its lengths."""
    sizes: list[int] = []
    for i, entry in enumerate(rows(top, "stock")):
        lengths, _ = locate(entry, ["length"])
        sizes += [i] * (len(lengths) if isinstance(lengths, Row) else 1)
    return sizes


def check_names(faults: Faults) -> None:
    """Two of a kind must not have one name."""
    for key in ("stock", "openings"):
        seen: dict[str, Spot] = {}
        for i, entry in enumerate(rows(faults.top, key)):
            name, known = locate(entry, ["name"])
            if not known or not isinstance(name, Text) or not name.strip():
                continue
            first = seen.setdefault(name.strip(), name.line)
            if first != name.line:
                faults.add([key, i, "name"], f"stands on {said(first)} already; each needs its own name")


def check_materials(faults: Faults) -> None:
    """Every material that is asked for needs a sheet it can come from."""
    table, known = locate(faults.top, ["materials"])
    if not known or not isinstance(table, Table) or faults.unread:
        return
    if not table:
        faults.add(["materials"], "needs one material at least, like birch: {thickness: 23/32}")
    stocked = set(_named(faults.top, "stock"))
    asked = {*_named(faults.top, "openings"), *_named(faults.top, "parts")}
    for key in table:
        if key.strip() in asked and key.strip() not in stocked:
            faults.add(["materials", key], "no stock is of this material; add a sheet of it to stock", key)


def _named(top: Table, key: str) -> Iterator[str]:
    for entry in rows(top, key):
        value, known = locate(entry, ["material"])
        for name in value if isinstance(value, Row) else [value]:
            if known and isinstance(name, Text):
                yield name.strip()


def check_amount(
    faults: Faults, openings: Sequence[Opening | None], parts: Sequence[PartEntry | None]
) -> None:
    """There must be something to cut, and something to cut it from, but not without end."""
    top = faults.top
    if faults.unread:
        return
    if top.get(Text("stock")) == []:
        faults.add(["stock"], "needs one sheet at least")
    if not any(top.get(Text(key)) for key in ("openings", "parts")):
        faults.add(["openings"], "is missing, and parts too: there is nothing to cut", Text())
    frames = sum(4 if opening and opening.kind == "window" else 3 for opening in openings)
    pieces = frames + sum(part.count + part.spare for part in parts if part)
    if pieces > MOST_PARTS:
        faults.add(["parts"], f"come to {pieces} pieces with all openings, and {MOST_PARTS} is the most; "
                              "split the job", Text())  # fmt: skip


def check_trims(
    faults: Faults,
    sheets: Sequence[StockEntry | None],
    usual: stock.Trim | None,
    plays: Mapping[str, int],
    units: Units,
) -> None:
    """Something must be left of a sheet once its edges are trimmed, and no two may have one name.

    ``plays`` says for each material how much room is to be kept.
    """
    seen: set[str] = set()
    for i, entry in enumerate(sheets):
        if not entry:
            continue
        for sheet in entry.build(usual or stock.Trim(), units):
            if len(entry.length) > 1 and sheet.name in seen:
                faults.add(["stock", i, "name"], f"makes a second '{sheet.name}'; each needs its own name")
            seen.add(sheet.name)
            for key, size, lost in (
                ("length", sheet.length, sheet.trim.left + sheet.trim.right),
                ("width", sheet.width, sheet.trim.lower + sheet.trim.upper),
            ):
                play = plays.get(entry.material, 0)
                if size <= lost + play:
                    kept = f" and {with_unit(play, units)} is to be kept as play, which" if play else " and"
                    right = f"the trims take {with_unit(lost, units)}{kept} leave{'s' * bool(play)} nothing"
                    faults.add(["stock", i, key], right)
