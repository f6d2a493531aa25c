"""What was measured, kept by family as JSON, and the text put together from it."""

from __future__ import annotations

import json
import math
import os
import platform
import subprocess
from collections.abc import Sequence
from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import Any

from benchmarks.cases import ENGINE, Case, Family, Record, Row

HERE = Path(__file__).resolve().parent
SHOWN = 12  # names listed of each kind; the rest is in the family's JSON file


class Store:
    """The results of one family: for each solver a stamp, for each case what each solver left."""

    def __init__(self, family: Family, folder: Path = HERE / "results") -> None:
        self.family = family
        self.path = folder / f"{family.name}.json"
        known = json.loads(self.path.read_text(encoding="utf-8")) if self.path.exists() else {}
        self.stamps: dict[str, dict[str, Any]] = known.get("stamps", {})
        self.records: dict[str, dict[str, Record]] = known.get("records", {})
        self.said: list[str] = known.get("said", [])

    def begin(self, solver: str, how: dict[str, Any]) -> None:
        """Forget what a solver left before: figures of two runs are not mixed."""
        for found in self.records.values():
            found.pop(solver, None)
        self.stamps[solver] = stamp() | how

    def add(self, case: str, solver: str, record: Record) -> None:
        self.records.setdefault(case, {})[solver] = record

    def save(self) -> None:
        """One line for each case, so that a changed figure is a changed line."""
        lines = [f"  {json.dumps(name)}: {json.dumps(found, sort_keys=True)}"
                 for name, found in sorted(self.records.items()) if found]  # fmt: skip
        stamps = json.dumps(self.stamps, sort_keys=True)
        said = json.dumps(self.said, ensure_ascii=False, indent=1)
        text = f'{{"stamps": {stamps},\n "said": {said},\n "records": {{\n' + ",\n".join(lines) + "\n}}\n"
        self.path.parent.mkdir(exist_ok=True)
        self.path.write_text(text, encoding="utf-8")

    def rows(self, cases: Sequence[Case]) -> list[Row]:
        return [(case, self.records[case.name]) for case in cases if case.name in self.records]

    def text(self, cases: Sequence[Case]) -> str:
        """The family's section, as it was last time where the published set is not at hand."""
        if rows := self.rows(cases):
            self.said = self._section(rows, len(cases)).splitlines()
            self.save()
        if not self.said:
            return f"## {self.family.title}\n\nGoal: {self.family.goal}.\n\nNot measured.\n"
        return "\n".join(self.said) + "\n"

    def _section(self, rows: list[Row], total: int) -> str:
        """The figure against the goal, what missed it and what was tried, the peers, the tables."""
        figure = self.family.figure(rows)
        missed = f"Missed: {_some(figure.missed)}." if figure.missed else "No case missed."
        faults = [
            f"{case.name} ({found[ENGINE]['fault']})"
            for case, found in rows
            if found.get(ENGINE, {}).get("fault")
        ]
        failed = [f"Failed: {_some(faults)}."] if faults else []
        said = [self.family.about, f"Goal: {self.family.goal}.", f"**Reached: {figure.said}.**", missed,
                self.family.outlook, *failed, *self._peers(rows), self._measured(total)]  # fmt: skip
        tables = [table.text() for table in figure.tables]
        return "\n\n".join([f"## {self.family.title}", *filter(None, said), *tables])

    def _measured(self, total: int) -> str:
        said = []
        for solver, one in sorted(self.stamps.items()):
            ran = sum(solver in found for found in self.records.values())
            changed = " with changes" if one["changed"] else ""
            scale = f", limits times {one['scale']:g}" if one["scale"] != 1 else ""
            said.append(f"{solver}: {ran} of {total}, commit {one['commit']}{changed}, {one['date']}{scale}")
        return f"Measured ({'; '.join(said)})."

    def _peers(self, rows: list[Row]) -> list[str]:
        said = []
        for peer in sorted({name for _, found in rows for name in found} - {ENGINE}):
            asked = [(case.name, found) for case, found in rows if {ENGINE, peer} <= found.keys()]
            both = [(name, found) for name, found in asked if found[peer].get("cost") is not None]
            ours, theirs = ([_cost(found[solver]) for _, found in both] for solver in (ENGINE, peer))
            better = [name + " (not edge to edge)" * (found[peer].get("cuttable") is False)
                      for (name, found), a, b in zip(both, ours, theirs, strict=True) if b < a]  # fmt: skip
            dearer = sum(b > a for a, b in zip(ours, theirs, strict=True))
            equal, none = len(both) - dearer - len(better), len(asked) - len(both)
            said.append(f"- {peer}: cheaper on {_some(better) if better else 'none'}; "
                        f"as good on {equal}, dearer on {dearer}, no plan for {none}.")  # fmt: skip
        return ["\n".join(said)] if said else []


def _cost(record: Record) -> float:
    cost: float | None = record.get("cost")
    return math.inf if cost is None else cost


def _some(names: Sequence[str]) -> str:
    more = f" and {len(names) - SHOWN} more" if len(names) > SHOWN else ""
    return f"{len(names)}: {', '.join(names[:SHOWN])}{more}"


def stamp() -> dict[str, Any]:
    """Commit and date of a run."""

    def git(*words: str) -> str:
        command = ["git", "-C", str(HERE), *words]
        return subprocess.run(command, capture_output=True, text=True, check=False).stdout.strip()

    return {
        "commit": git("rev-parse", "--short", "HEAD") or "not known",
        "changed": bool(git("status", "--porcelain", "--", "../nesting/packing")),
        "date": date.today().isoformat(),
    }


def machine() -> str:
    """Processor, cores and versions."""
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        lines = []
    names = [line.partition(":")[2].strip() for line in lines if line.startswith("model name")]
    processor = names[0] if names else platform.machine()
    versions = ", ".join(f"{name} {version(name)}" for name in ("ortools", "rectpack"))
    return (f"Machine: {processor}, {os.cpu_count()} cores; {platform.system()}, "
            f"CPython {platform.python_version()}, {versions}.")  # fmt: skip
