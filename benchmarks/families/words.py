"""Numbers of records as words in a table."""

from __future__ import annotations

import statistics
from collections.abc import Iterable, Sequence

from benchmarks.cases import ENGINE, Record, Row


def share(part: int, whole: int) -> str:
    """``37 of 40 (92 %)``; rounded down, so that 100 % is all of them."""
    return f"{part} of {whole} ({100 * part // whole} %)" if whole else "none"


def median(values: Iterable[float]) -> str:
    found = list(values)
    return f"{statistics.median(found):.1f}" if found else "–"


def money(record: Record | None) -> str:
    """A cost in hundredths as money; a star where the plan cannot be cut edge to edge."""
    return whole(record, 100)


def whole(record: Record | None, unit: int = 1) -> str:
    if not record or record.get("cost") is None:
        return "–"
    figure = f"{record['cost'] / unit:.2f}" if unit > 1 else f"{record['cost']:,}"
    return figure + "*" * (record.get("cuttable") is False)


def gap(record: Record) -> float | None:
    """How far from the bound, as a share of the cost."""
    if record.get("cost") is None:
        return None
    return (record["cost"] - record["bound"]) / record["cost"] if record["cost"] else 0.0


def percent(part: float | None) -> str:
    return "–" if part is None else f"{100 * part:.2f} %"


def engine(row: Row) -> Record:
    return row[1].get(ENGINE, {})


def solved(rows: Sequence[Row]) -> list[Row]:
    """Rows that the engine has been run on."""
    return [row for row in rows if engine(row)]
