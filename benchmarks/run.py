"""How good the plans are, measured: prints the table and writes RESULTS.md beside this file.

``python benchmarks/run.py --data FOLDER`` runs all families, which takes hours; with ``--hour`` as many
cases of each as take about an hour in all. ``--family NAME`` runs some families, ``--every N`` each N-th
case, ``--seconds-scale X`` takes other limits, ``--solver NAME`` ours or some peers only. ``--show`` runs
nothing and puts RESULTS.md together from benchmarks/results/. Each case runs in a process of its own; what
a solver left of a family before is replaced when it is run again.
"""

from __future__ import annotations

import argparse
import multiprocessing
import resource
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from multiprocessing.connection import Connection
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))  # from whatever folder this is run

from benchmarks.cases import ENGINE, Case, Family, Record  # noqa: E402 - after the path
from benchmarks.families import FAMILIES  # noqa: E402
from benchmarks.ours import ours  # noqa: E402
from benchmarks.peers import PEERS, peer  # noqa: E402
from benchmarks.store import HERE, Store, machine  # noqa: E402

GRACE = 60.0  # seconds beyond twice the limit, then the process is ended
SOLVERS = (ENGINE, *PEERS)
HEAD = "# Results\n\nMade by `python benchmarks/run.py --data FOLDER`; a family can be run by itself."


def in_child(solver: str, case: Case) -> Record:
    """One case in a process of its own, which is ended if it does not end itself."""
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe(duplex=False)
    child = context.Process(target=_solve, args=(solver, case, there), daemon=True)
    child.start()
    there.close()
    record: Record = {"cost": None, "bound": 0, "proved": False, "seconds": 0, "fault": "ended from outside"}
    try:
        if here.poll(2 * case.seconds + GRACE):
            record = here.recv()
    except EOFError:
        record["fault"] = "the process died"
    child.kill()
    child.join()
    return record


def _solve(solver: str, case: Case, out: Connection) -> None:
    record = ours(case) if solver == ENGINE else peer(solver, case)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    record["memory"] = peak // (1024 if sys.platform.startswith("linux") else 1024**2)
    out.send(record)
    out.close()


def _every(family: Family, solver: str) -> int:
    """Each so-manieth case is run where there is about an hour for all."""
    return family.ours_every or family.every if solver == ENGINE else family.every


def run(family: Family, cases: list[Case], args: argparse.Namespace) -> None:
    """Run the chosen solvers on the cases, saving after each."""
    store = Store(family)
    for solver in args.solver:
        every = _every(family, solver) if args.hour else args.every
        chosen = [replace(case, seconds=case.seconds * args.seconds_scale) for case in cases[::every]]
        if not chosen or (solver != ENGINE and not family.peers):
            continue
        jobs = 1 if family.alone and solver == ENGINE else args.jobs
        store.begin(solver, {"scale": args.seconds_scale, "every": every, "jobs": jobs})
        begun = time.monotonic()
        with ThreadPoolExecutor(jobs) as threads:
            records = threads.map(lambda case, solver=solver: in_child(solver, case), chosen)
            for at, (case, record) in enumerate(zip(chosen, records, strict=True), 1):
                store.add(case.name, solver, record)
                store.save()
                figures = ", ".join(f"{k} {v}" for k, v in record.items())
                print(f"[{family.name} {at}/{len(chosen)}] {solver}, {case.name}: {figures}", flush=True)
        print(f"[{family.name}] {solver}: {time.monotonic() - begun:.0f} s in all", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, help="folder with the published sets")
    parser.add_argument(
        "--family", nargs="+", choices=[f.name for f in FAMILIES], help="some of the families"
    )
    parser.add_argument(
        "--solver", nargs="+", choices=SOLVERS, default=list(SOLVERS), help="ours, or some peers"
    )
    parser.add_argument("--seconds-scale", type=float, default=1.0, help="all limits times this")
    parser.add_argument("--hour", action="store_true", help="some cases of each family, an hour in all")
    parser.add_argument("--every", type=int, default=1, help="each N-th case of a family only")
    parser.add_argument("--jobs", type=int, default=1, help="cases at a time")
    parser.add_argument("--show", action="store_true", help="run nothing, put RESULTS.md together")
    args = parser.parse_args()
    sections = []
    for family in FAMILIES:
        chosen = args.family is None or family.name in args.family
        cases = family.cases(args.data) if chosen else []
        if chosen and not args.show:
            run(family, cases, args)
        sections.append(Store(family).text(cases))
    text = "\n".join([f"{HEAD}\n\n{machine()}\n", *sections])
    print(text)
    (HERE / "RESULTS.md").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
