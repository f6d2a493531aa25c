"""How good the plans are, measured: prints a table and writes RESULTS.md beside this file.

Run it with the Python that has the test extra: ``python benchmarks/run.py``. Every line is a job with
something known about it from outside the search: a bound that is proved, or a number of sheets that the
job was made from. rectpack, a general library for packing rectangles, is asked the same where it can be.
"""

from __future__ import annotations

import argparse
import math
import os
import platform
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from importlib.metadata import version
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))  # the tests' own jobs are used, from whatever folder this is run

import rectpack  # noqa: E402 - after the path

from nesting.job.reading import read_job  # noqa: E402
from nesting.packing.instance import Instance, Item, Settings, Size  # noqa: E402
from nesting.packing.solve import solve  # noqa: E402
from nesting.stock import Saw  # noqa: E402
from nesting.work.planner import plan_job  # noqa: E402
from tests.packing.cutups import cut_up  # noqa: E402
from tests.packing.test_solve import STANDARD  # noqa: E402

SAMPLES = ("weir-lane-pottery", "tern-boathouse")
# sheets, parts of each, how many seeds, whether the smallest part of all is left out
CUTUPS = ((2, 6, 40, False), (3, 8, 20, False), (4, 10, 10, False), (2, 6, 20, True), (3, 8, 10, True))
SAMPLE_HEAD = ("sample", "parts", "sheets", "cost", "proved bound", "outcome", "seconds")
CUTUP_HEAD = ("sheets × parts", "jobs", "found", "proved", "one sheet more", "median s", "worst s",
              "rectpack finds")  # fmt: skip
STANDARD_HEAD = ("instance", "parts", "sheets", "proved bound", "seconds")


@dataclass(frozen=True, slots=True)
class Table:
    """A table of the results, with what it says."""

    title: str
    head: Sequence[str]
    rows: list[Sequence[str]]
    said: str

    def text(self) -> str:
        lines = [self.head, ["---"] * len(self.head), *self.rows]
        table = "\n".join(f"| {' | '.join(line)} |" for line in lines)
        return f"## {self.title}\n\n{self.said}\n\n{table}\n"


def samples(seconds: float) -> Table:
    rows = []
    for name in SAMPLES:
        job = read_job(ROOT / "samples" / f"{name}.yaml")
        begun = time.monotonic()
        plan = plan_job(job, Settings(seconds=seconds)).plan
        took = time.monotonic() - begun
        proof = plan.proof
        outcome = "proved: none is cheaper" if proof.proved else f"at most {proof.gap:.1%} off the cheapest"
        rows.append((name, str(len(plan.parts)), str(len(plan.sheets)), f"{plan.totals.cost:.2f}",
                     f"{proof.lower_bound:.2f}", outcome, f"{took:.1f}"))  # fmt: skip
    said = "Whole jobs, planned and checked; seconds include the check of every better plan."
    return Table("The samples", SAMPLE_HEAD, rows, said)


def cutups(seconds: float) -> Table:
    rows = []
    for sheets, parts, seeds, less in CUTUPS:
        results, took, peer = [], [], 0
        for seed in range(seeds):
            instance = cut_up(seed, sheets, parts)
            instance = without_smallest(instance) if less else instance
            begun = time.monotonic()
            results.append(solve(instance, Settings(seconds=seconds)))
            took.append(time.monotonic() - begun)
            peer += packed(instance) <= sheets
        found = sum(0 < len(result.layouts) <= sheets for result in results)
        more = sum(len(result.layouts) == sheets + 1 for result in results)
        proved = sum(result.proved for result in results)
        rows.append((f"{sheets} × {parts}{' less 1' * less}", str(seeds), str(found), str(proved), str(more),
                     f"{statistics.median(took):.1f}", f"{max(took):.1f}", str(peer)))  # fmt: skip
    return Table(
        "Whole sheets cut up at random", CUTUP_HEAD, rows,
        "Full 4x8 sheets cut into parts, tapers among them, with a 3/32 kerf and nothing left over, so that "
        "the fewest sheets is known and only a plan without any waste reaches it. *Less 1*: the smallest "
        "part is left out, which takes away the exact fits and seldom a sheet. Parts keep their direction. "
        f"*rectpack finds* gives the best of the guillotine heuristics of rectpack {version('rectpack')}, "
        "the kerf added to all sides; it knows no tapers, so each lies in its rectangle.",
    )  # fmt: skip


def standard(seconds: float) -> Table:
    rows = []
    for name, (side, bound, text) in STANDARD.items():
        sizes = [tuple(map(int, word.split("x"))) for word in text.split()]
        items = tuple(Item(a, b, b) for a, b in sizes)
        begun = time.monotonic()
        result = solve(Instance(items, (Size("s", side, side, 1),), Saw(0)), Settings(seconds=seconds))
        rows.append((name, str(len(items)), str(len(result.layouts)), str(bound),
                     f"{time.monotonic() - begun:.1f}"))  # fmt: skip
    return Table(
        "Standard instances", STANDARD_HEAD, rows,
        "Two-dimensional bin packing (Berkey and Wang 1987, Martello and Vigo 1998), the first instance of "
        "20 parts of each class; square sheets, no kerf, parts keep their direction. The bounds are those "
        "proved in the literature.",
    )  # fmt: skip


def without_smallest(instance: Instance) -> Instance:
    items = sorted(instance.items, key=lambda item: item.twice_area)
    return replace(instance, items=tuple(items[1:]))


def packed(instance: Instance) -> int:
    """The fewest sheets that any guillotine heuristic of rectpack needs."""
    kerf = instance.saw.kerf
    length, width = (side + kerf for side in instance.sizes[0].usable)
    sizes = [(item.length + kerf, math.ceil(max(item.start, item.end)) + kerf)
             for item in instance.items for _ in range(item.count)]  # fmt: skip
    return min(sum(1 for _ in bins) for bins in _packings(sizes, length, width))


def _packings(sizes: list[tuple[int, int]], length: int, width: int) -> Iterator[rectpack.packer.PackerBFF]:
    for name in dir(rectpack):
        if name.startswith("Guillotine") and len(name) > len("GuillotineXxx"):
            packer = rectpack.newPacker(pack_algo=getattr(rectpack, name), rotation=False)
            packer.add_bin(length, width, count=len(sizes))
            for size in sizes:
                packer.add_rect(*size)
            packer.pack()
            if len(packer.rect_list()) == len(sizes):
                yield packer


def made_by(seconds: float) -> str:
    def git(*words: str) -> str:
        return subprocess.run(["git", "-C", str(ROOT), *words], capture_output=True, text=True,
                              check=False).stdout.strip()  # fmt: skip

    changed = " and changes not committed" if git("status", "--porcelain", "--", "nesting", "samples") else ""
    return (
        f"Commit {git('rev-parse', '--short', 'HEAD') or 'not known'}{changed}; {date.today().isoformat()}.\n"
        f"Machine: {_processor()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start; "
        f"{platform.system()}, CPython {platform.python_version()}, ortools {version('ortools')}.\n"
        f"Limits: {seconds:g} seconds of wall clock for each job, seed {Settings().seed}, "
        f"{Settings().effort} tries; one worker for each question to the solver.\n"
    )


def _processor() -> str:
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        lines = []
    names = [line.partition(":")[2].strip() for line in lines if line.startswith("model name")]
    return names[0] if names else platform.machine()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=20.0, help="wall-clock limit for each job")
    seconds = parser.parse_args().seconds
    text = f"# Results\n\nMade by `python benchmarks/run.py`.\n\n{made_by(seconds)}"
    print(text, flush=True)
    for measure in (samples, cutups, standard):
        table = measure(seconds).text()
        print(table, flush=True)
        text += f"\n{table}"
    (ROOT / "benchmarks" / "RESULTS.md").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
