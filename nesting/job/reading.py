"""Reading a job file: every fault is reported, with its line, in one go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import TypeVar

from nesting import stock
from nesting.errors import Fault, FileError, JobError
from nesting.job.buying import StockEntry
from nesting.job.crosscheck import check_amount, check_materials, check_names, check_trims, rows
from nesting.job.defaults import defaults
from nesting.job.faults import Faults, Model, locate, printable
from nesting.job.fields import Context
from nesting.job.improbable import warnings
from nesting.job.job import Job
from nesting.job.measured import Up
from nesting.job.models import Head, Material, Opening, PartEntry
from nesting.job.outline import Table, Text, read_outline
from nesting.job.spreadsheet import fill_in
from nesting.lengths import Units

__all__ = ["Job", "job_of", "parse_job", "read_job", "units_of"]

LARGEST_FILE = 1_000_000
LISTS = ("stock", "openings", "parts")
T = TypeVar("T")


def read_job(path: Path) -> Job:
    """Read a job file.

    Raises
    ------
    FileError
        If the file cannot be read.
    JobError
        If it is no job, or has faults: all of them.
    """
    name = printable(str(path))
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise FileError(f"{name}: cannot be read: {why}") from error
    if len(data) > LARGEST_FILE:
        raise _no_job(name, "is larger than 1 MB; no job file is")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise _no_job(name, f"is no text in UTF-8 (line {line}); save it as plain text, UTF-8") from error
    return _read(text, name, data, path.parent)


def _no_job(name: str, right: str) -> JobError:
    return JobError([Fault(name, "the file", "", right)])


def parse_job(text: str, name: str) -> Job:
    """Read the text of a job file; ``name`` stands in its faults. See :func:`read_job`."""
    data = text.encode("utf-8", "surrogatepass")
    if len(data) > LARGEST_FILE:
        raise _no_job(name, "is larger than 1 MB; no job file is")
    return _read(text.removeprefix("\ufeff"), name, data, Path(name).parent)


def _read(text: str, name: str, data: bytes, folder: Path) -> Job:
    top, found = read_outline(text, name)
    reader = _Reader(top, found, name, folder)
    return reader.job(sha256(data + reader.spreadsheets).hexdigest())


def job_of(top: Table, name: str) -> Job:
    """Read a job whose tables a program has put together; it names no spreadsheets. See :func:`read_job`."""
    return _Reader(top, [], name, Path()).job("")


def units_of(top: Table) -> Units:
    """What a bare number of the job means; inches as long as it does not say."""
    return Units.MM if str(top.get(Text("units"), "")).strip().lower() == "mm" else Units.INCH


class _Reader:
    """Validates one part of the file after the other, so that no fault hides another."""

    def __init__(self, top: Table, found: list[Fault], name: str, folder: Path) -> None:
        self.top = top
        self.name = name
        self.faults = Faults(name, top, found)
        self.units = units_of(top)
        self.spreadsheets = fill_in(self.faults, folder, self.units is Units.MM)
        self.context = Context(self.units)
        materials = self._materials()
        self.priced = any(isinstance(entry, Table) and "price" in entry for entry in rows(top, "stock"))
        self.context = Context(self.units, materials, self.priced, self._lines())

    def _materials(self) -> dict[str, stock.Material | None]:
        table, known = locate(self.top, ["materials"])
        found: dict[str, stock.Material | None] = {}
        for key in table if known and isinstance(table, Table) else ():
            entry = self.faults.read(Material, ["materials", key], self.context)
            found[key.strip()] = entry.build(key.strip()) if entry else None
        return found

    def _lines(self) -> dict[str, int | None]:
        table, known = locate(self.top, ["lines"])
        found: dict[str, int | None] = {}
        for key in table if known and isinstance(table, Table) else ():
            up = self.faults.read(Up, ["lines", key], self.context)
            found[key.strip()] = up.root if up else None
        return found

    def _entries(self, model: type[Model], key: str) -> list[Model | None]:
        count = len(rows(self.top, key))
        return [self.faults.read(model, [key, i], self.context) for i in range(count)]

    def job(self, digest: str) -> Job:
        head = self.faults.read(Head, [], self.context)
        sheets = self._entries(StockEntry, "stock")
        openings = self._entries(Opening, "openings")
        parts = self._entries(PartEntry, "parts")
        check_names(self.faults)
        check_materials(self.faults)
        check_amount(self.faults, openings, parts)
        check_trims(self.faults, sheets, head.trim.build() if head else None, self._plays(head), self.units)
        self.faults.stop()
        return self._built(digest, _sound(head), list(map(_sound, sheets)), list(map(_sound, openings)),
                           list(map(_sound, parts)))

    def _plays(self, head: Head | None) -> dict[str, int]:
        """Room to be kept on the sheets of each material."""
        usual = head.play if head else 0
        known = {name: material for name, material in self.context.materials.items() if material}
        return {name: usual if one.play is None else one.play for name, one in known.items()}

    def _built(
        self,
        digest: str,
        head: Head,
        sheets: Sequence[StockEntry],
        openings: Sequence[Opening],
        parts: Sequence[PartEntry],
    ) -> Job:
        materials = {name: _sound(material) for name, material in self.context.materials.items()}
        trim, plays = head.trim.build(), self._plays(head)
        job = Job(
            name=head.job or Path(self.name).stem,
            date=head.date or "",
            units=self.units,
            step=head.step,
            saw=head.saw.build(),
            trim=trim,
            lean=head.lean,
            keep=head.keep,
            materials=materials,
            stock=tuple(
                replace(size, play=plays[size.material])
                for sheet in sheets
                for size in sheet.build(trim, self.units)
            ),
            openings=tuple(openings),
            parts=tuple(part.build(materials[part.material].grain) for part in parts),
            warnings=(),
            priced_by_area=not self.priced,
            sha256=digest,
            lines={(key, i): entry.line for key in LISTS for i, entry in enumerate(rows(self.top, key))},
            file=self.name,
            rolls=tuple(roll.build() for roll in head.rolls),
        )
        return replace(job, warnings=warnings(job, self.top), defaults=defaults(job, self.top))


def _sound(value: T | None) -> T:
    assert value is not None, "what has a fault is never built from"
    return value
