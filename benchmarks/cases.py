"""What a benchmark is made of: cases, what a solver left of them, and families."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

from nesting.job.job import Job
from nesting.job.models import Keep
from nesting.job.reading import read_job
from nesting.lengths import Units
from nesting.packing.instance import Instance, Item, Settings, Size
from nesting.parts import Part
from nesting.stock import Material, Saw, Stock, Trim
from nesting.work.choosing import Choosing
from nesting.work.problem import Problem, problem
from nesting.work.wanted import Wanted, wanted

Record = dict[str, Any]  # cost, bound, sheets, seconds ..; JSON
Row = tuple["Case", dict[str, Record]]  # a case and what each solver left
ENGINE = "nesting"
CHOOSING = 60.0  # seconds at most for the choice of materials, before the time is taken; it comes to its end


@dataclass(frozen=True)
class Case:
    """One job to be solved: a job file, or a bare instance.

    Attributes
    ----------
    seconds : float
        Wall-clock limit, for ours and for every peer.
    known : dict
        What is known from outside the search: a bound, the number of sheets, another's result.
    values : tuple
        For the most value on one sheet: of each item its value, and how many at most (None: any number).
    """

    name: str
    seconds: float
    parts: int
    job: Path | None = None
    instance: Instance | None = None
    known: dict[str, Any] = field(default_factory=dict)
    values: tuple[tuple[int, int | None], ...] = ()

    def problems(self) -> tuple[Job, Wanted, list[Problem]]:
        """The job, its parts, and a problem for each material."""
        if self.job is None:
            assert self.instance is not None
            return _job_of(self.name, self.instance)
        job = read_job(self.job)
        want = wanted(job)
        if any(len(opening.material) > 1 for opening in job.openings):
            chosen = Choosing(job, tuple(job.stock), Settings(seconds=CHOOSING)).choose()
            assert not chosen.stopped, "a choice cut short is not the one that a carpenter gets"
            want = chosen.want
        names = dict.fromkeys(part.material for part in want.parts)
        return job, want, [problem(job, name, want, job.stock) for name in names]


@dataclass(frozen=True)
class Table:
    """Rows of text under a head."""

    head: Sequence[str]
    rows: Sequence[Sequence[str]]

    def text(self) -> str:
        lines = [self.head, ["---"] * len(self.head), *self.rows]
        return "\n".join(f"| {' | '.join(line)} |" for line in lines)


@dataclass(frozen=True)
class Figure:
    """What came of a family: a sentence against the goal, what missed it, and tables."""

    said: str
    missed: Sequence[str]
    tables: Sequence[Table]


@dataclass(frozen=True)
class Family:
    """Cases of one kind with a goal.

    Attributes
    ----------
    cases : callable
        Gets the folder of published sets, or None.
    every : int
        Each N-th case only, where all families are to be done within about an hour.
    ours_every : int, optional
        The same for our own engine, where it is done with more of them in that time.
    outlook : str
        Where it falls short of its goal: what was tried, and what would be next.
    alone : bool
        The goal is a time on two cores, so that no two cases of ours run beside each other.
    """

    name: str
    title: str
    goal: str
    cases: Callable[[Path | None], list[Case]]
    figure: Callable[[list[Row]], Figure]
    about: str = ""
    outlook: str = ""
    peers: bool = True
    every: int = 1
    ours_every: int | None = None
    alone: bool = False


def rectangles(sheets: Sequence[Sequence[Any]], parts: Sequence[Sequence[int]], *, turning: bool,
               by_area: bool = False) -> Instance:  # fmt: skip
    """An instance of a published set: no kerf; a sheet costs 1 each, or its area."""
    sizes = tuple(
        Size(f"{length} x {width}", length, width, length * width if by_area else 1, count)
        for length, width, _, count in sheets
    )
    grain = "any" if turning else "length"
    items = tuple(Item(a, b, b, grain=grain, count=count) for a, b, count, *_ in parts)
    return Instance(items, sizes, Saw(0))


def _job_of(name: str, instance: Instance) -> tuple[Job, Wanted, list[Problem]]:
    """A bare instance dressed as a job, so that the judge can look at its plan."""
    material = Material("sheet", 1)
    stock = tuple(Stock(s.name, material.name, s.length, s.width, s.price, s.count, s.trim)
                  for s in instance.sizes)  # fmt: skip
    lean = Fraction(math.degrees(math.atan(float(instance.lean)))).limit_denominator(10_000)
    keep = Keep.model_construct(length=instance.keep[0], width=instance.keep[1], credit=0)
    job = Job(name, Units.INCH, 1, instance.saw, Trim(), lean, keep, {material.name: material}, stock,
              (), (), (), False, "", {}, name)  # fmt: skip
    parts: list[Part] = []
    numbers = []
    for item in instance.items:
        numbers.append(tuple(range(len(parts) + 1, len(parts) + 1 + item.count)))
        parts += [Part(number, f"part {number}", material.name, 1, item.length, item.start, item.end,
                       item.skew_start, item.skew_end, item.grain, item.flip)
                  for number in numbers[-1]]  # fmt: skip
    want = Wanted(tuple(parts), (name,) * len(parts), ())
    return job, want, [Problem(material.name, instance, tuple(numbers), stock)]
