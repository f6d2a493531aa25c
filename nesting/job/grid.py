"""A spreadsheet's cells as text, each of which knows its place: CSV as it comes, XLSX within bounds."""

from __future__ import annotations

import csv
import datetime
import io
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import PurePath, PurePosixPath
from typing import Any
from xml.etree import ElementTree
from xml.parsers import expat

from nesting.job.outline import Cell, Text

LARGEST_FILE = 5_000_000
LARGEST_UNPACKED = 30_000_000
MOST_MEMBERS = 300
MOST_ROWS, MOST_COLUMNS = 10_000, 100
SUFFIXES = (".csv", ".xlsx")

DATE = ("a spreadsheet made a date or a time of it; format the column as text before you type, or write "
        "0 3/4 or 0.75")
ERROR = "a formula's error, or one that was never worked out; put the number there"
THOUSANDS = "can be thousands or decimals; write it without the comma, or with a point for decimals"
_MONTH = r"(?:jan|feb|m[aä]r|apr|ma[iy]|jun|jul|aug|sep|o[ck]t|nov|de[cz])[a-zé]*\.?"
_DATED = re.compile(
    rf"\d{{1,4}}[-/. ]+{_MONTH}(?:[-/. ]+\d{{2,4}})?|{_MONTH}[-/. ]+\d{{1,4}}|"
    r"\d{4}-\d{1,2}-\d{1,2}(?:[ T][\d:.]+)?|\d{1,2}([/.-])\d{1,2}\1\d{4}|\d{1,2}/\d{1,2}/\d{2}",
    re.IGNORECASE,
)
_COMMA = re.compile(r"([-−]?\s*\d*),(\d+)\s*((?:mm|cm|m|in\.?|inch|inches|\"|″)?)")


class GridError(ValueError):
    """The file cannot be read as a spreadsheet; the text says what would be right."""


@dataclass(frozen=True, slots=True)
class Grid:
    """One sheet.

    Attributes
    ----------
    rows : list
        Row number in the file, and the row's cells, for every row in which something is written.
    commas : bool
        Another sign than the comma parts the columns, so a comma may stand before decimals.
    """

    file: str
    sheet: str
    rows: list[tuple[int, list[str]]]
    commas: bool = False

    def cell(self, row: int, column: int = -1, heading: str = "") -> Cell:
        """The place of a cell; column -1 is the whole row."""
        return Cell(self.file, self.sheet, row, column, heading)

    def text(self, row: int, column: int, heading: str, written: str) -> Text:
        """A cell's value as the job file would have it, with its place and what is wrong with it."""
        text = Text(written)
        text.line, text.comment = self.cell(row, column, heading), ""
        text.trouble = getattr(written, "trouble", "")
        return text

    def number(self, row: int, column: int, heading: str, written: str, metric: bool) -> Text:
        """The same where no words are wanted: decimal commas are read, dates are told apart."""
        match = _COMMA.fullmatch(written) if self.commas else None
        text = f"{match[1]}.{match[2]} {match[3]}".rstrip() if match else written
        read = self.text(row, column, heading, text)
        read.trouble = getattr(written, "trouble", "")
        if _DATED.fullmatch(written):
            read.trouble = DATE
        elif match and metric and len(match[2]) == 3 and match[1].strip("-− 0"):
            read.trouble = THOUSANDS
        return read


class _Troubled(str):
    __slots__ = ("trouble",)
    trouble: str


def _troubled(written: object, trouble: str) -> str:
    text = _Troubled(written)
    text.trouble = trouble
    return text


def read_grid(data: bytes, file: str, sheet: str) -> Grid:
    """Read a file's sheet; of a workbook the one of that name, or its only one.

    Raises
    ------
    GridError
        If it is no spreadsheet, too large, or has no such sheet.
    """
    if len(data) > LARGEST_FILE:
        raise GridError(f"is larger than {LARGEST_FILE // 1_000_000} MB; no list of a job is")
    if PurePath(file).suffix.lower() == ".csv":
        return _csv(data, file)
    return _xlsx(data, file, sheet)


def _csv(data: bytes, file: str) -> Grid:
    text = _decoded(data)
    first, _, rest = text.partition("\n")
    if match := re.fullmatch(r"sep=(.)\r?", first):
        separator, skipped, text = match[1], 1, rest
    else:
        separator, skipped = _separator(text), 0
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    rows: list[tuple[int, list[str]]] = []
    begun = 0
    try:
        for cells in reader:
            _bounded(len(rows), len(cells))
            if any("\n" in cell for cell in cells):
                raise GridError(f"row {begun + 1 + skipped} holds a cell of several lines; is a quote opened "
                                "there and never closed?")
            if any(stripped := [cell.strip() for cell in cells]):
                rows.append((begun + 1 + skipped, stripped))
            begun = reader.line_num
    except csv.Error as error:
        raise GridError(f"cannot be read at row {begun + 1 + skipped}: {error}") from error
    return Grid(file, "", rows, commas=separator != ",")


def _decoded(data: bytes) -> str:
    try:
        if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            return data.decode("utf-16")
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data[: error.start].count(b"\n") + 1
        raise GridError(f"is no text in UTF-8 (row {row}); save it as CSV UTF-8") from error
    if "\0" in text:
        raise GridError("is no text; save it as CSV UTF-8")
    return re.sub(r"\r\n?", "\n", text)


def _separator(text: str) -> str:
    """Tell which sign parts the columns by the first line with something in it, quotes left out."""
    first = next((line for line in text.split("\n") if line.strip(" ,;\t")), "")
    plain = re.sub(r'"[^"]*"', "", first)
    return max(",;\t", key=plain.count)


def _bounded(row: int, columns: int) -> None:
    if row > MOST_ROWS or columns > MOST_COLUMNS:
        raise GridError(f"more than {MOST_ROWS} rows or {MOST_COLUMNS} columns; no list of a job is as large")


def _xlsx(data: bytes, file: str, sheet: str) -> Grid:
    """Read a workbook's sheet.

    The library that reads it trusts what a file says of its own size, so it is given nothing that has not
    been unpacked and looked at before.
    """
    from python_calamine import CalamineError, CalamineWorkbook  # noqa: PLC0415 - no other job needs it

    try:
        members = _members(data)
        broken = _looked_at(members)
        book = CalamineWorkbook.from_filelike(io.BytesIO(_packed(members)))
        name = _sheet_name(book.sheet_names, sheet)
        values = book.get_sheet_by_name(name)
        cells = values.to_python(skip_empty_area=False)
    except GridError:
        raise
    except (zipfile.BadZipFile, zlib.error, struct.error, expat.ExpatError, ElementTree.ParseError,
            CalamineError, EOFError, KeyError, OSError, RuntimeError, ValueError) as error:
        raise GridError("is no spreadsheet that can be read; save it as .xlsx without a password, "
                        "or as CSV UTF-8") from error
    rows: list[tuple[int, list[str]]] = []
    for k, row in enumerate(cells):
        texts = [_troubled("#", ERROR) if (k + 1, c + 1) in broken.get(name, ()) else _written(value)
                 for c, value in enumerate(row)]
        if any(texts):
            rows.append((k + 1, texts))
    return Grid(file, name, rows)


def _members(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        infos = packed.infolist()
        if len(infos) > MOST_MEMBERS or sum(info.file_size for info in infos) > LARGEST_UNPACKED:
            raise GridError("unpacks to more than any list of a job")
        return {info.filename: packed.read(info) for info in infos if not info.is_dir()}


def _packed(members: dict[str, bytes]) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as packed:
        for name, content in members.items():
            packed.writestr(name, content)
    return file.getvalue()


def _sheet_name(names: list[str], wanted: str) -> str:
    found = [name for name in names if name.strip().casefold() == wanted] or names
    if len(found) != 1:
        raise GridError(f"has no sheet called {wanted}; it has {', '.join(map(repr, names[:20]))}")
    return found[0]


def _looked_at(members: dict[str, bytes]) -> dict[str, set[tuple[int, int]]]:
    """Find in each member the cells (row, column) of which no value can be read; drop what is no XML."""
    found: dict[str, set[tuple[int, int]]] = {}
    for path, content in list(members.items()):
        try:
            found[path] = _Scan(content).broken
        except expat.ExpatError:
            del members[path]
    return {name: found.get(path, set()) for name, path in _sheets(members)}


def _sheets(members: dict[str, bytes]) -> Iterator[tuple[str, str]]:
    relations = {
        element.get("Id"): element.get("Target", "")
        for element in ElementTree.fromstring(members["xl/_rels/workbook.xml.rels"])
    }
    for element in ElementTree.fromstring(members["xl/workbook.xml"]).iter():
        if element.tag.rpartition("}")[2] == "sheet":
            keys = {key.rpartition("}")[2]: value for key, value in element.attrib.items()}
            target = relations.get(keys.get("id"), "").removeprefix("/xl/")
            yield keys.get("name", ""), str(PurePosixPath("xl") / target)


class _Scan:
    """Walks through a sheet: bounds its size, finds errors and formulas without a value."""

    def __init__(self, content: bytes) -> None:
        self.broken: set[tuple[int, int]] = set()
        self.row = self.column = 0
        self.formula = self.error = self.inside = False
        self.value = ""
        parser = expat.ParserCreate()
        parser.StartElementHandler, parser.EndElementHandler = self._start, self._end
        parser.CharacterDataHandler = self._words
        parser.Parse(content, True)

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        plain = tag.rpartition(":")[2]
        if plain == "row":
            self.row, self.column = int(attributes.get("r", self.row + 1)), 0
        elif plain == "c":
            self.row, self.column = self._place(attributes.get("r"))
            self.error = self.formula = attributes.get("t") == "e"
            self.value = ""
        _bounded(self.row, self.column)
        self.formula |= plain == "f"
        self.inside = plain == "v"

    def _place(self, name: str | None) -> tuple[int, int]:
        """Row and column from 1; a cell without a name stands behind the one before it."""
        if name is None:
            return self.row, self.column + 1
        match = re.fullmatch(r"([A-Z]{1,3})([0-9]{1,7})", name)
        if not match:
            raise ValueError(name)
        column = 0
        for letter in match[1]:
            column = 26 * column + ord(letter) - 64
        return int(match[2]), column

    def _end(self, tag: str) -> None:
        self.inside = False
        if tag.rpartition(":")[2] == "c" and self.formula and (self.error or not self.value):
            self.broken.add((self.row, self.column))

    def _words(self, text: str) -> None:
        if self.inside:
            self.value += text


def _written(value: Any) -> str:
    """A cell's value as one would write it; a number with the twelve figures that a sheet shows."""
    if isinstance(value, (datetime.date, datetime.time, datetime.timedelta)):
        return _troubled(value, DATE)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return f"{Decimal(f'{value:.12g}'):f}"
    return str(value).strip()
