"""The job file's text as tables, rows and words, each of which knows its line.

YAML 1.2, and of it what a job file needs: every scalar stays the text that was written, so that nothing
turns into a date, a number or nothing. The parser's events are read one by one, which keeps depth and
number within bounds before memory or time are spent on them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    CollectionEndEvent,
    CollectionStartEvent,
    DocumentStartEvent,
    Event,
    MappingStartEvent,
    NodeEvent,
    ScalarEvent,
)

from nesting.errors import Fault, JobError

# A job file nests six deep; one of a hundred openings has some ten thousand values.
DEEPEST = 12
MOST_EVENTS = 30_000
# Beyond these the parser itself takes its time.
MOST_LINES = 20_000
LONGEST_LINE = 5_000
MOST_FAULTS = 500
_UNPRINTABLE = re.compile("[^\t\n\r -~\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
NEEDED = "a job needs units, saw (with its kerf), materials, stock, and openings or parts"


@dataclass(frozen=True, slots=True, order=True)
class Cell:
    """Where a value stands that is in a spreadsheet; column -1 is the whole row."""

    file: str
    sheet: str
    row: int
    column: int = -1
    heading: str = ""

    def __str__(self) -> str:
        sheet = f", sheet {self.sheet}" if self.sheet else ""
        heading = f", column {short(self.heading)}" if self.heading else ""
        name = f" ({letters(self.column)}{self.row})" if self.sheet and self.column >= 0 else ""
        return f"{self.file}{sheet}, row {self.row}{heading}{name}"


Spot = int | Cell  # a line of the job file, or what a spreadsheet has for it


def letters(column: int) -> str:
    """Name a column as spreadsheets do, from 0: A, B, .. Z, AA."""
    return (letters(column // 26 - 1) if column > 25 else "") + chr(65 + column % 26)


def where(file: str, spot: Spot) -> str:
    """Name the place for a fault: ``job.yaml:12``."""
    return str(spot) if isinstance(spot, Cell) else f"{file}:{spot}"


def said(spot: Spot) -> str:
    """Name the place within a sentence: ``line 12``."""
    return str(spot) if isinstance(spot, Cell) else f"line {spot}"


class Text(str):
    """A scalar as written; ``comment`` is what follows a # on its line, if it touches the #.

    ``trouble`` says why a spreadsheet's cell cannot be read, whatever is wanted there.
    """

    __slots__ = ("comment", "line", "trouble")
    line: Any  # an int; a Cell, if it comes from a spreadsheet
    comment: str
    trouble: str


class Row(list[Any]):
    """A list."""

    __slots__ = ("line",)
    line: Any  # an int; a Cell, if it comes from a spreadsheet

    def __str__(self) -> str:
        return f"[{', '.join(map(str, self))}]"


class Table(dict[Text, Any]):
    """A mapping from keys to values."""

    __slots__ = ("line",)
    line: Any  # an int; a Cell, if it comes from a spreadsheet

    def __str__(self) -> str:
        return f"{{{', '.join(f'{key}: {value}' for key, value in self.items())}}}"


Value = Text | Row | Table


def read_outline(text: str, name: str) -> tuple[Table, list[Fault]]:
    """Read the text of a job file.

    Parameters
    ----------
    name : str
        The file, as faults name it.

    Returns
    -------
    tuple
        The file's table, and the faults that did not stop the reading (keys written twice, tags).

    Raises
    ------
    JobError
        If the text cannot be read to its end, or is no table.
    """
    return _Builder(text, name).build()


@dataclass(slots=True)
class _Frame:
    """A list or table that is not closed yet.

    ``key`` waits for its value, ``lines`` says where each key stands, and ``size`` counts what is held,
    aliases unfolded.
    """

    value: Row | Table
    anchor: str | None
    key: Text | None = None
    lines: dict[str, int] = field(default_factory=dict)
    size: int = 1


class _Builder:
    def __init__(self, text: str, name: str) -> None:
        self.text = text
        self.name = name
        self.lines = re.split(r"\r\n|\r|\n", text)
        self.faults: list[Fault] = []
        self.open: list[_Frame] = []
        self.anchors: dict[str, tuple[Value, int]] = {}
        self.top: Value | None = None

    def build(self) -> tuple[Table, list[Fault]]:
        self._look()
        for event in self._events():
            line = event.start_mark.line + 1
            if isinstance(event, DocumentStartEvent):
                self._begin(event, line)
            elif isinstance(event, NodeEvent):
                self._node(event, line)
            elif isinstance(event, CollectionEndEvent):
                frame = self.open.pop()
                self._put(frame.value, frame.anchor, frame.size)
        if self.top is None or self.top == "":
            raise self._stop(1, f"nothing is in it; {NEEDED}")
        if not isinstance(self.top, Table):
            raise self._stop(self.top.line, f"is no job: lines like 'units: inch' are needed; {NEEDED}")
        return self.top, self.faults

    def _events(self) -> Iterator[Event]:
        try:
            for count, event in enumerate(YAML(typ="safe", pure=True).parse(self.text)):
                if count > MOST_EVENTS:
                    line = event.start_mark.line + 1
                    raise self._stop(line, f"more than {MOST_EVENTS} values; no job is as long")
                yield event
        except YAMLError as error:
            line, right = explain(error, self.lines)
            raise self._stop(line, right) from error

    def _look(self) -> None:
        """Refuse what is no text, or no job, before it is parsed."""
        if len(self.lines) > MOST_LINES:
            raise self._stop(MOST_LINES, f"more than {MOST_LINES} lines; no job is as long")
        for line, text in enumerate(self.lines, 1):
            if len(text) > LONGEST_LINE:
                raise self._stop(line, f"longer than {LONGEST_LINE} characters; give each entry its line")
            if odd := _UNPRINTABLE.search(text):
                raise self._stop(line, f"holds a character that is no text (U+{ord(odd[0]):04X})")

    def _begin(self, event: DocumentStartEvent, line: int) -> None:
        if event.version or event.tags:
            raise self._stop(line, "a line that begins with % has no place in a job file")
        if self.top is not None:
            raise self._stop(line, "a second job begins here; a file holds one job")

    def _stop(self, line: int, right: str) -> JobError:
        written = self.lines[min(line, len(self.lines)) - 1].strip()
        return JobError([*self.faults, Fault(f"{self.name}:{line}", "the line", short(written), right)])

    def _fault(self, line: int, what: str, written: str, right: str) -> None:
        self.faults.append(Fault(f"{self.name}:{line}", what, written, right))
        if len(self.faults) == MOST_FAULTS:
            raise self._stop(line, f"{MOST_FAULTS} faults up to here; the rest is not looked at")

    def _node(self, event: NodeEvent, line: int) -> None:
        if isinstance(event, AliasEvent):
            self._put(*self._alias(event, line))
            return
        tag = getattr(event, "tag", None)
        if tag is not None:
            self._fault(line, "a word that begins with !", short(str(tag).rpartition(":")[2]),
                        "has a meaning of its own in such a file; put a text that begins with ! in quotes")
        if isinstance(event, ScalarEvent):
            self._put(self._scalar(event, line), event.anchor, 1)
        elif isinstance(event, CollectionStartEvent):
            if len(self.open) == DEEPEST:
                raise self._stop(line, "lists within lists deeper than any job needs; look at the brackets")
            value = Table() if isinstance(event, MappingStartEvent) else Row()
            key = self.open[-1].key if self.open else None
            value.line = line if key is None else key.line
            self.open.append(_Frame(value, event.anchor))

    def _alias(self, event: AliasEvent, line: int) -> tuple[Value, None, int]:
        name, said = str(event.anchor), f"*{short(str(event.anchor))} stands for"
        if any(frame.anchor == name for frame in self.open):
            raise self._stop(line, f"{said} the very list or table that it is in")
        if name not in self.anchors:
            raise self._stop(line, f"{said} nothing; put a text that begins with * in quotes")
        value, size = self.anchors[name]
        return value, None, size

    def _scalar(self, event: ScalarEvent, line: int) -> Text:
        text = Text(event.value)
        text.line, rest = line, self.lines[event.end_mark.line][event.end_mark.column :]
        if not event.value and event.style is None:
            text.line, rest = self._nothing(line)
        comment = re.match(r"[\"']?\s*[:-]?\s+(#[^\s#].*)", rest[:200])
        text.comment = comment[1].strip() if comment else ""
        return text

    def _nothing(self, line: int) -> tuple[int, str]:
        """Where an empty value stands (the parser marks it at what comes next), and what follows it."""
        frame = self.open[-1] if self.open else None
        if frame and frame.key is not None:
            text = self.lines[frame.key.line - 1]
            return frame.key.line, text[text.find(frame.key) + len(frame.key) :]
        if frame and isinstance(frame.value, Row):
            while line > 1 and not self.lines[line - 1].lstrip().startswith("-"):
                line -= 1
        return line, self.lines[line - 1].lstrip()

    def _put(self, value: Value, anchor: str | None, size: int) -> None:
        if anchor is not None:
            self.anchors[anchor] = value, size
        if not self.open:
            self.top = value
            return
        frame = self.open[-1]
        frame.size += size
        if frame.size > MOST_EVENTS:
            raise self._stop(frame.value.line, f"unfolds to more than {MOST_EVENTS} values")
        if isinstance(frame.value, Row):
            frame.value.append(value)
        elif frame.key is None:
            frame.key = self._key(value)
        else:
            self._pair(frame, frame.value, frame.key, value)
            frame.key = None

    def _key(self, value: Value) -> Text:
        if isinstance(value, Text):
            return value
        self._fault(value.line, "a key", short(str(value)),
                    "is no single word; a list in [ ] or a table in { } comes after a key and a colon")
        key = Text()
        key.line, key.comment = value.line, ""
        return key

    def _pair(self, frame: _Frame, table: Table, key: Text, value: Value) -> None:
        first = frame.lines.setdefault(key, key.line)
        if key in table:
            self._fault(key.line, f"the key {short(key)!r}", "",
                        f"is there twice; it is on line {first} already, and only one can hold")
        else:
            table[key] = value


# What the parser says, and what a carpenter should look at.
_SAYINGS = (
    (r"found character '\\t'", "a tab stands here; move the text in with spaces"),
    (r"found character '(.)' that cannot start", "put a text that begins with {0} in quotes"),
    (r"could not find expected ':'", "a key, a colon and a space are needed, like 'kerf: 3/32'"),
    (r"mapping values are not allowed", "a colon too many, or none on the line above; put a text with a "
                                        "colon in quotes, and line the keys up"),
    (r"sequence entries are not allowed", "a dash begins an entry of a list and needs a line of its own"),
    (r"expected ',' or '(.)'", "a comma, or the {0} that closes it, is missing here or above"),
    (r"unexpected end of stream", "a quote that is opened here is never closed"),
    (r"node content, but found '<stream end>'", "a bracket is opened and never closed"),
    (r"node content, but found", "a value is missing here; look at the commas, and at the end of the "
                                 "line above"),
    (r"while scanning an anchor|while scanning an alias", "put a text that begins with & or * in quotes"),
    (r"unknown escape character", "in double quotes a backslash needs a second one"),
    (r"parsing a tag|scanning a tag|tag handle", "put a text that begins with ! in quotes"),
    (r"block scalar", "put a text that begins with > or | in quotes"),
    (r"directive|version 1", "a line that begins with % has no place in a job file"),
    (r"found '<scalar>'", "something is left over here; put the whole text in quotes, or none of it"),
    (r"found '(.)'", "a {0} too many, or not in line with the lines above"),
    (r"block end|document start", "not in line with the lines above; the keys of a table begin in one "
                                   "column"),
)  # fmt: skip
_ELSE = "cannot be read here; look at the colons, commas, brackets, quotes and how far it is moved in"
_SWALLOWED = ("a comma, or", "a value is", "a bracket is")
_FROM_ITS_START = ("a key, a colon", "a quote that", "a bracket is")


def explain(error: YAMLError, lines: list[str]) -> tuple[int, str]:
    """Say in a carpenter's words on which line the parser stopped, and what to look at."""
    said = " ".join(str(getattr(error, name, None) or "") for name in ("context", "problem"))
    matches = ((re.search(saying, said), text) for saying, text in _SAYINGS)
    right = next((text.format(*match.groups()) for match, text in matches if match), _ELSE)
    mark = getattr(error, "problem_mark", None)
    begun = getattr(error, "context_mark", None) or mark
    last = min(mark.line, len(lines) - 1) if mark else 0
    first = min(begun.line, last) if begun else 0
    if right.startswith(_SWALLOWED):
        for line in range(max(0, last - 2), last + 1):
            if re.search(r"[\s,]#[^\s#]", lines[line]):
                return line + 1, "what follows a # is a comment; put a text with a # in quotes"
    if right.startswith(_FROM_ITS_START):
        return first + 1, right
    while last > first and not lines[last].strip():
        last -= 1
    return last + 1, right


def short(text: str) -> str:
    """Cut off what would fill a screen."""
    return text if len(text) <= 60 else text[:57] + "..."
