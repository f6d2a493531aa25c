"""The most value on one sheet, with and without limits on the counts."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from benchmarks.cases import Case, Family, Figure, Row, Table, rectangles
from benchmarks.families.standard import read
from benchmarks.families.words import engine, share, solved

SECONDS = 60.0
# Christofides and Whitlock 1977, optima with the demands as limits, edge to edge, no turning
# (cgcut1 as in that paper; the other two from memory, as quoted throughout the literature)
LIMITED = {"cgcut1": 244, "cgcut2": 2892, "cgcut3": 1860}
HEAD = ("instance", "kinds", "limits", "value", "known optimum", "bound", "proved", "seconds")


def cases(data: Path | None) -> list[Case]:
    limited = [
        _case(one, LIMITED[one["name"]], True) for one in read(data, "cgcut") if one["name"] in LIMITED
    ]
    free = [_case(one, one["optimal_unconstrained_area"], False) for one in read(data, "gcut")]
    return limited + free


def _case(one: dict[str, Any], optimum: int, limited: bool) -> Case:
    values = tuple((part[3] if len(part) > 3 else part[0] * part[1], part[2] if limited else None)
                   for part in one["parts"])  # fmt: skip
    return Case(one["name"], SECONDS, len(one["parts"]), values=values, known={"optimum": optimum},
                instance=rectangles(one["sheets"], one["parts"], turning=False))  # fmt: skip


def figure(rows: list[Row]) -> Figure:
    rows = solved(rows)
    good = [
        row for row in rows if engine(row).get("proved") and engine(row)["value"] == row[0].known["optimum"]
    ]
    missed = [row[0].name for row in rows if row not in good]
    return Figure(f"the known optimum, proved: {share(len(good), len(rows))}", missed,
                  [Table(HEAD, [_line(row) for row in rows])])  # fmt: skip


def _line(row: Row) -> list[str]:
    case, mine = row[0], engine(row)
    limited = any(most is not None for _, most in case.values)
    return [case.name, str(case.parts), "yes" if limited else "no", str(mine.get("value", "–")),
            str(case.known["optimum"]), str(mine.get("bound", "–")), "yes" if mine.get("proved") else "no",
            f"{mine.get('seconds', 0):.1f}"]  # fmt: skip


FAMILIES = (
    Family("one-sheet", "The most value on one sheet", "the known optimum, proved, of each", cases, figure,
           "cgcut: Christofides and Whitlock 1977. gcut: Beasley 1985, counts not limited, value = area.",
           peers=False),
)  # fmt: skip
