"""Whole sheets cut up at random, slants among them: the fewest sheets is known."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from benchmarks.cases import Case, Family, Figure, Row, Table
from benchmarks.families.words import engine, median, share, solved
from nesting.packing.instance import Instance
from tests.packing.cutups import cut_up

FEW, MOST = 24, 80  # parts, as in the goal
SHEETS, PARTS, EACH = range(1, 11), range(6, 11), 5
HEAD = ("sheets", "parts", "jobs", "found", "proved", "median s", "rectpack", "plain CP-SAT", "rips by hand")


def cases(_: Path | None) -> list[Case]:
    return [_case(f"{sheets}x{parts}-{seed}", sheets, _instance(sheets, parts, seed))
            for sheets, parts, seed in itertools.product(SHEETS, PARTS, range(EACH))]  # fmt: skip


def loose(_: Path | None) -> list[Case]:
    """The smallest part left out: the sheets are no longer full, and no fewer of them will do."""
    found = []
    for sheets, parts, seed in itertools.product((2, 3, 4), (6, 8), range(EACH)):
        instance = _instance(sheets, parts, seed)
        items = sorted(instance.items, key=lambda item: item.twice_area)[1:]
        found.append(_case(f"{sheets}x{parts}-{seed} less 1", sheets, replace(instance, items=tuple(items))))
    return found


def _instance(sheets: int, parts: int, seed: int) -> Instance:
    """The seed is kept in the case's name; odd ones are in whole steps of the tape."""
    return cut_up(10_000 * sheets + 100 * parts + seed, sheets, parts, whole_steps=seed % 2 == 1)


def _case(name: str, sheets: int, instance: Instance) -> Case:
    return Case(name, 10.0 if instance.total <= FEW else 60.0, instance.total, instance=instance,
                known={"sheets": sheets})  # fmt: skip


def figure(rows: list[Row]) -> Figure:
    rows = solved(rows)
    groups = [([r for r in rows if low < r[0].parts <= high], name) for low, high, name in (
        (0, FEW, f"up to {FEW} parts in 10 s"), (FEW, MOST, f"of {FEW + 1} to {MOST} in 60 s"),
        (MOST, 10_000, f"beyond {MOST} in 60 s"))]  # fmt: skip
    said = "; ".join(
        f"found: {share(len(_found(group)), len(group))} {name}" for group, name in groups if group
    )
    missed = [row[0].name for row in rows if row not in _found(rows)]
    return Figure(said, missed, [Table(HEAD, list(_lines(rows)))])


def _found(rows: list[Row], solver: str = "nesting") -> list[Row]:
    return [
        row for row in rows if 0 < (row[1].get(solver, {}).get("cost") or 0) <= 100 * row[0].known["sheets"]
    ]


def _lines(rows: list[Row]) -> Iterator[list[str]]:
    for sheets, of_these in itertools.groupby(rows, key=lambda row: row[0].known["sheets"]):
        group = list(of_these)
        parts = [case.parts for case, _ in group]
        times = [engine(row).get("proved_at", engine(row)["seconds"]) for row in group]
        proved = sum(engine(row)["proved"] for row in group)
        peers = (str(len(_found(group, name))) if any(name in found for _, found in group) else "–"
                 for name in HEAD[-3:])  # fmt: skip
        yield [str(sheets), f"{min(parts)} to {max(parts)}", str(len(group)), str(len(_found(group))),
               str(proved), median(times), *peers]  # fmt: skip


ABOUT = (
    "Sheets of 96 x 48 inches cut into parts by random cuts, slanted ones among them, with a 3/32 kerf; "
    "parts keep their direction. Every second job is in whole 1/32 inches. The peers' columns say how often "
    "they find the known number."
)
GOAL = "the known number found: all up to 24 parts in 10 s, 90 % up to 80 parts in 60 s"  # fmt: skip
FAMILIES = (
    Family("cut-ups", "Sheets cut up, nothing left over",
           GOAL, cases, figure, ABOUT, every=21, ours_every=4),
    Family("cut-ups-less-1", "Sheets cut up, the smallest part left out",
           "none in the issue; the known number is to be found as where nothing is left over", loose, figure,
           "The same jobs without their smallest part. Now and then fewer sheets would do.", every=7),
)  # fmt: skip
