"""Lists of a job that stand in spreadsheets, put in their place as if the job file held them.

``stock``, ``openings`` and ``parts`` may be the name of a .csv or .xlsx file, or have one among their
entries; ``readings`` names those that hold the walls, one row for each reading. A column's heading is the
key of the job file, a key within a table behind its table's: ``height left``. Cells become the text that
would be written in the job file, so that one set of rules judges both.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeGuard, TypeVar, get_origin

from pydantic import BaseModel

from nesting.job.buying import StockEntry
from nesting.job.crosscheck import rows
from nesting.job.faults import Faults, model_in
from nesting.job.fields import near
from nesting.job.grid import LARGEST_FILE, SUFFIXES, Grid, GridError, read_grid
from nesting.job.measured import Wall
from nesting.job.models import Opening, PartEntry
from nesting.job.outline import Cell, Row, Spot, Table, Text, said

LISTS: dict[str, type[BaseModel]] = {"stock": StockEntry, "openings": Opening, "parts": PartEntry}
RUNS = dict.fromkeys(Wall.model_fields)
READING = {"opening": "opening", "run": "run", "at": "at", "thickness": "thickness", "depth": "thickness",
           "face a": "face A", "face b": "face B"}  # fmt: skip
REMARKS = ("note", "notes", "remark", "remarks")
# Keys with words of one's own, in which a comma or a date is as good as any; those that may hold several.
WORDS = ("name", "material", "opening", "run", "edges")
LIST = r"\s*[,;]\s*"
SEVERAL = {"material": LIST, "edges": r"[\s,;&+]+", "diagonals": LIST, "corners": LIST}
MOST_FILES = 50

Keys = tuple[str, ...]
Placed = TypeVar("Placed", Row, Table)


def names_file(value: Any) -> TypeGuard[Text]:
    """Tell whether a value is the name of a spreadsheet."""
    return isinstance(value, Text) and value.strip().lower().endswith(SUFFIXES)


def fill_in(faults: Faults, folder: Path, metric: bool) -> bytes:
    """Put what stands in spreadsheets into the job's table.

    Parameters
    ----------
    faults : Faults
        Those of the job file; its table is changed, and what is wrong with a spreadsheet is added.
    folder : Path
        That of the job file, from which files are named.
    metric : bool
        The job is in millimetres.

    Returns
    -------
    bytes
        The files' bytes, one after the other, in the order in which they are named.
    """
    filler = _Filler(faults, folder, metric)
    for key, model in LISTS.items():
        filler.fill_list(key, model)
    filler.fill_walls()
    return b"".join(filler.read.values())


def headings(model: type[BaseModel]) -> dict[str, Keys]:
    """The headings that a list's columns may have, as they are written, and the keys they stand for."""
    found: dict[str, Keys] = {}
    for key, info in model.model_fields.items():
        inner = model_in(info.annotation)
        if inner is Wall or (inner and get_origin(info.annotation) is tuple):
            continue  # lists of tables have no place in one cell
        found[key.replace("_", " ")] = (key,)
        for heading, keys in (headings(inner) if inner else {}).items():
            found[f"{key.replace('_', ' ')} {heading}"] = (key, *keys)
    if model is PartEntry:
        found |= {"width": ("width", "start"), "width start": ("width", "start"),
                  "width end": ("width", "end")}  # fmt: skip
    return found


@dataclass(slots=True)
class _Columns:
    """One sheet's columns: where each heading's keys stand."""

    grid: Grid
    at: dict[int, tuple[str, Keys]]

    def texts(self, metric: bool) -> Iterator[tuple[Cell, list[tuple[Keys, Text]]]]:
        """Each row below the headings: its place, and what its cells hold."""
        for row, cells in self.grid.rows[1:]:
            filled = [(keys, self._text(row, column, heading, keys, cells[column], metric))
                      for column, (heading, keys) in self.at.items()
                      if column < len(cells) and cells[column]]
            if filled:
                yield self.grid.cell(row, -1), filled

    def _text(self, row: int, column: int, heading: str, keys: Keys, cell: str, metric: bool) -> Text:
        if keys[-1] in WORDS:
            return self.grid.text(row, column, heading, cell)
        return self.grid.number(row, column, heading, cell, metric)


@dataclass(slots=True)
class _Filler:
    faults: Faults
    folder: Path
    metric: bool
    read: dict[Path, bytes] = field(default_factory=dict)

    def fill_list(self, key: str, model: type[BaseModel]) -> None:
        top, name = self.faults.top, Text(key)
        value: Any = top.get(name)
        entries = value if isinstance(value, Row) else [value]
        if not any(map(names_file, entries)):
            return
        filled = _at(Row(), value.line)
        for entry in entries:
            filled += self._entries(entry, key, model) if names_file(entry) else [entry]
        top[name] = filled

    def _entries(self, file: Text, key: str, model: type[BaseModel]) -> Iterator[Table]:
        required = [name for name, info in model.model_fields.items() if info.is_required()]
        required = [name for name in required if name != "wall"]
        columns = self._columns(file, key, headings(model), required)
        for place, filled in columns.texts(self.metric) if columns else ():
            table = _at(Table(), place)
            for keys, text in filled:
                _put(table, keys, text)
            width = table.get(Text("width"))
            if model is PartEntry and isinstance(width, Table):
                table[Text("width")] = _ends(width, place)
            yield table

    def _columns(
        self, file: Text, sheet: str, known: dict[str, Keys], required: list[str]
    ) -> _Columns | None:
        grid = self._grid(file, sheet)
        if grid is None:
            self.faults.unread = True
            return None
        columns = _Columns(grid, {})
        written = grid.rows[0][1]
        for column in range(max(len(cells) for _, cells in grid.rows)):
            self._heading(columns, column, written[column] if column < len(written) else "", known)
        if self._all_there(columns, known, required):
            return columns
        self.faults.unread = True
        return None

    def _heading(self, columns: _Columns, column: int, heading: str, known: dict[str, Keys]) -> None:
        plain = " ".join(re.sub(r"[_.,:]", " ", heading).casefold().split())
        place = columns.grid.cell(columns.grid.rows[0][0], column, heading)
        taken = {keys: written for written, keys in columns.at.values()}
        if plain in REMARKS:
            return
        if not plain:
            for row, cells in columns.grid.rows[1:]:
                if column < len(cells) and cells[column]:
                    self.faults.report(columns.grid.cell(row, column), f"a cell in column {column + 1}",
                                       cells[column], "stands under no heading; give the column one")
        elif plain not in known:
            self.faults.report(place, "a heading", heading, f"is none here{near(plain, known)}; a column "
                                                             "called note is left alone")
        elif known[plain] in taken:
            self.faults.report(place, "a heading", heading, "says the same as one before it")
        else:
            columns.at[column] = heading, known[plain]

    def _all_there(self, columns: _Columns, known: dict[str, Keys], required: list[str]) -> bool:
        there = {keys[0] for _, keys in columns.at.values()}
        missing = [key for key in required if key not in there]
        if missing:
            self.faults.report(columns.grid.cell(columns.grid.rows[0][0]), "the row of headings", "",
                               f"{', '.join(missing)} is missing; known are: {', '.join(known)}")
        return not missing

    def _grid(self, file: Text, sheet: str) -> Grid | None:
        path = self.folder / file.strip()
        try:
            data = self.read[path] if path in self.read else self._bytes(path)
            self.read[path] = data
            grid = read_grid(data, str(path), sheet)
            if not grid.rows:
                raise GridError("nothing is in it; a first row with headings is needed")
            return grid
        except GridError as error:
            self._say(file, str(error))
        return None

    def _bytes(self, path: Path) -> bytes:
        if len(self.read) >= MOST_FILES:
            raise GridError(f"is one of more than {MOST_FILES} files; put them together")
        try:
            if not path.is_file():
                raise GridError(f"there is no such file in {self.folder}")
            with path.open("rb") as file:
                return file.read(LARGEST_FILE + 1)
        except (OSError, ValueError) as error:
            if isinstance(error, GridError):
                raise
            raise GridError(f"cannot be read: {getattr(error, 'strerror', None) or error}") from error

    def _say(self, file: Text, right: str) -> None:
        self.faults.report(file.line, "a spreadsheet", file, right)

    def fill_walls(self) -> None:
        value = self.faults.top.get(Text("readings"))
        walls: dict[int, Table] = {}
        for file in value if isinstance(value, Row) else [value]:
            if names_file(file):
                self._readings(file, walls)
            elif value is not None:
                self.faults.report(getattr(file, "line", 1), "readings", str(file),
                                   "must be the name of a .csv or .xlsx file, or a list of such names")
        for i, wall in walls.items():
            opening = rows(self.faults.top, "openings")[i]
            for run in ("left", "right", "head"):
                if run not in wall:
                    wall[_key(run, wall.line)] = _at(Row(), wall.line)
            opening[_key("wall", wall.line)] = wall

    def _readings(self, file: Text, walls: dict[int, Table]) -> None:
        known: dict[str, Keys] = {heading: (key,) for heading, key in READING.items()}
        columns = self._columns(file, "readings", known, ["run", "at"])
        for place, filled in columns.texts(self.metric) if columns else ():
            cells = {keys[0]: text for keys, text in filled}
            spot, run = self._opening(place, cells.get("opening")), self._run(place, cells.get("run"))
            if spot is None or run is None:
                continue
            wall = walls.setdefault(spot, _at(Table(), place))
            if run not in wall:
                wall[_key(run, place)] = _at(Row(), place)
            wall[Text(run)].append(_station(cells, place))

    def _opening(self, place: Cell, name: Text | None) -> int | None:
        openings = rows(self.faults.top, "openings")
        found = {str(entry.get(Text("name"), "")).strip(): i for i, entry in enumerate(openings)
                 if isinstance(entry, Table)}
        if name is None:
            if len(found) == 1:
                return 0
            self.faults.report(place, "opening", "", "is missing: write the opening's name in every row")
            return None
        alike = [i for known, i in found.items() if known.casefold() == name.casefold()]
        spot = found.get(name, alike[0] if len(alike) == 1 else None)
        if spot is None:
            right = f"is none of the job's openings{near(name, found)}"
        elif "wall" in openings[spot]:
            right = f"has a wall on {said(openings[spot].line)} already"
        else:
            return spot
        self.faults.report(name.line, "opening", name, right)
        return None

    def _run(self, place: Cell, run: Text | None) -> str | None:
        plain = (run or "").casefold()
        if plain in RUNS:
            return plain
        right = f"must be one of these{near(plain, RUNS)}" if run else "is missing: left, right or head"
        self.faults.report(run.line if run else place, "run", run or "", right)
        return None


def _station(cells: dict[str, Text], place: Cell) -> Row:
    """One reading, as the job file has it; what is missing or too much carries its trouble with it."""
    faces = [cells[key] for key in ("face A", "face B") if key in cells]
    thickness = cells.get("thickness")
    at = cells.get("at") or _troubled(place, "no place is written in this row (at)")
    if thickness is not None and faces:
        thickness.trouble = "stands beside face A or face B; they are its sum, so write one or the other"
    if thickness is not None:
        return _at(Row([at, thickness]), place)
    if not faces:
        return _at(Row([at, _troubled(place, "no thickness is written in this row, nor two faces")]), place)
    both = [cells.get(key) or _troubled(place, f"{key} is missing in this row")
            for key in ("face A", "face B")]
    return _at(Row([at, *both]), place)


def _put(table: Table, keys: Keys, text: Text) -> None:
    """Set a value below its keys, in tables that are made on the way."""
    for k, key in enumerate(keys[:-1]):
        inner = table.setdefault(_key(key, text.line), _at(Table(), table.line))
        if not isinstance(inner, Table):
            text.trouble = f"stands beside the column {' '.join(keys[: k + 1])}; write one or the other"
            table[Text(key)] = text
            return
        table = inner
    several = [part for part in re.split(SEVERAL.get(keys[-1]) or SEVERAL.get(keys[0], r"\n"), text) if part]
    if len(several) > 1:
        table[_key(keys[-1], text.line)] = _at(Row(_at_text(part, text) for part in several), text.line)
    else:
        table[_key(keys[-1], text.line)] = text


def _ends(width: Table, place: Cell) -> Text | Row:
    start = width.get(Text("start")) or _troubled(place, "the width at the start is missing in this row")
    return _at(Row([start, width[Text("end")]]), place) if "end" in width else start


def _key(name: str, spot: Spot) -> Text:
    key = Text(name)
    key.line, key.comment, key.trouble = spot, "", ""
    return key


def _at_text(part: str, whole: Text) -> Text:
    text = _key(part, whole.line)
    text.trouble = whole.trouble
    return text


def _troubled(place: Cell, trouble: str) -> Text:
    text = _key("", place)
    text.trouble = trouble
    return text


def _at(value: Placed, spot: Spot) -> Placed:
    value.line = spot
    return value
