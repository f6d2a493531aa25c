"""A job as the planner takes it: all in inner units, all defaults filled in."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from nesting.job.models import Keep, LoosePart, Opening
from nesting.job.outline import Spot, where
from nesting.lengths import Units
from nesting.stock import Material, Roll, Saw, Stock, Trim


@dataclass(frozen=True, slots=True)
class Default:
    """A value that the job left open; ``of`` are the names it was taken for, none for the whole job."""

    key: str
    of: tuple[str, ...]
    value: str
    source: str


@dataclass(frozen=True, slots=True)
class Job:
    """One job file, read and found without fault.

    Attributes
    ----------
    step : int
        What the tape is read to, in inner units.
    lean : Fraction
        Degrees by which a part may run off the grain.
    priced_by_area : bool
        No stock has a price: each is its area, in hundredths of a square unit.
    sha256 : str
        Of the file's bytes, and then of the spreadsheets' that it names.
    lines : dict
        Where each entry of ``stock``, ``openings`` and ``parts`` begins: ``("parts", 3)`` to its line.
    file : str
        The file's name, as given.
    date : str
        As the job has it; empty where it has none.
    rolls : tuple of Roll
        Of band; empty for those in trade.
    defaults : tuple of Default
        What was taken where the file says nothing.
    """

    name: str
    units: Units
    step: int
    saw: Saw
    trim: Trim
    lean: Fraction
    keep: Keep
    materials: dict[str, Material]
    stock: tuple[Stock, ...]
    openings: tuple[Opening, ...]
    parts: tuple[LoosePart, ...]
    warnings: tuple[str, ...]
    priced_by_area: bool
    sha256: str
    lines: dict[tuple[str, int], Spot]
    file: str
    date: str = ""
    rolls: tuple[Roll, ...] = ()
    defaults: tuple[Default, ...] = ()

    def where(self, key: str, index: int) -> str:
        """File and line of an entry of ``stock``, ``openings`` or ``parts``, for a fault found later."""
        return where(self.file, self.lines[key, index])
