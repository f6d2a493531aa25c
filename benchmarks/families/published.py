"""Real jobs of furniture makers, assortments of sizes, and leftovers: against the area and the peers."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from benchmarks.cases import Case, Family, Figure, Row, Table, rectangles
from benchmarks.families.standard import read
from benchmarks.families.words import engine, gap, percent, share, solved, whole

SECONDS = 30.0
HEAD = ("instance", "parts", "cost (area)", "sheets", "use", "proved bound", "gap", "seconds", "rectpack",
        "plain CP-SAT", "rips by hand")  # fmt: skip


def _cases(name: str) -> Callable[[Path | None], list[Case]]:
    def cases(data: Path | None) -> list[Case]:
        return [
            Case(one["name"], SECONDS, sum(part[2] for part in one["parts"]),
                 instance=rectangles(one["sheets"], one["parts"], turning=False, by_area=True),
                 known={"area": sum(part[0] * part[1] * part[2] for part in one["parts"])})
            for one in read(data, name)
        ]  # fmt: skip

    return cases


def figure(rows: list[Row]) -> Figure:
    rows = solved(rows)
    proved = sum(bool(engine(row).get("proved")) for row in rows)
    gaps = [g for row in rows if (g := gap(engine(row))) is not None]
    said = f"proved best: {share(proved, len(rows))}"
    said += f"; mean gap {percent(sum(gaps) / len(gaps))}, largest {percent(max(gaps))}" if gaps else ""
    missed = [row[0].name for row in rows if engine(row).get("cost") is None]
    return Figure(said, missed, [Table(HEAD, [_line(row) for row in rows])])


def _line(row: Row) -> list[str]:
    case, found = row
    mine = engine(row)
    use = case.known["area"] / mine["cost"] if mine.get("cost") else None
    return [case.name, str(case.parts), whole(mine), str(mine.get("sheets", "–")), percent(use),
            f"{mine.get('bound', 0):,}", percent(gap(mine)), f"{mine.get('seconds', 0):.1f}",
            *(whole(found.get(name)) for name in HEAD[-3:])]  # fmt: skip


GOAL = "as near the bound as can be; no peer cheaper"
FAMILIES = tuple(
    Family(name.replace("_", "-"), title, GOAL, _cases(name), figure, about, outlook, every=6)
    for name, title, about, outlook in (
        ("furniture_cutting", "Furniture makers' jobs", "Macedo, Alves and Valério de Carvalho 2010; parts "
         "keep their direction, a sheet's area is its price, no kerf.", ""),
        ("assortment", "Assortments", "Beasley 1985: ten sizes, any number of each, priced by area.",
         "Tried: what single sheets can hold, in the bound: of 200 parts and ten sizes it proved nothing, "
         "and cost the search 2 to 3 % of the money."),
        ("usable_leftovers", "Leftovers",
         "Andrade, Birgin and Morabito: few sheets of several sizes to be had.", ""),
    )
)  # fmt: skip
