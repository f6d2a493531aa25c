"""The neutral form of a report: sections of paragraphs and tables, and how they read as text.

The print and the page set the same sections in their own ways.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

WIDTH = 96
LEAST_COLUMN = 8
GAP = "  "
_BETWEEN = re.compile(r" (?!\d+/\d)|(?<!\d) ")  # and not before the fraction of a mixed number


@dataclass(frozen=True, slots=True)
class Ref:
    """Words that lead to a sheet's drawing, by the sheet's number."""

    text: str
    sheet: int

    def __str__(self) -> str:
        return self.text


Cell = str | Ref


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under a head.

    Attributes
    ----------
    align : str
        One letter a column: ``l`` for words, ``r`` for figures.
    total : bool
        The last row is the sum of those above.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    align: str
    title: str = ""
    total: bool = False


Block = str | Table


@dataclass(frozen=True, slots=True)
class Section:
    """A titled part of a report; a ``str`` among the blocks is a paragraph."""

    title: str
    blocks: tuple[Block, ...]


def table(head: Sequence[str], rows: Sequence[Sequence[Cell]], align: str, title: str = "",
          total: bool = False) -> Table:  # fmt: skip
    """Make a table and leave out the columns in which no row says anything."""
    said = [j for j in range(len(head)) if any(str(row[j]) for row in rows)]
    return Table(tuple(head[j] for j in said), tuple(tuple(row[j] for j in said) for row in rows),
                 "".join(align[j] for j in said), title, total)  # fmt: skip


def as_text(sections: Sequence[Section], width: int = WIDTH) -> str:
    """Write sections as plain text, no line longer than ``width`` columns where words allow it."""
    return "\n".join(_section_text(section, width) for section in sections)


def _section_text(section: Section, width: int) -> str:
    title = _wrap(clean(section.title), width)
    pieces = ["\n".join([*title, "=" * max(map(columns, title))])]
    for block in section.blocks:
        if isinstance(block, Table):
            pieces.append(_table_text(block, width))
        else:
            pieces.append("\n".join(_wrap(clean(block), width)))
    return "\n\n".join(pieces) + "\n"


def words(text: str) -> list[str]:
    """Between which a line may be broken; a number and its fraction are one: a 13 by itself is read as 13."""
    return _BETWEEN.split(text)


def _wrap(text: str, width: int) -> list[str]:
    """Break between words, and in one only where it is longer than a line; counted in columns."""
    lines = [""]
    for word in words(text):
        if lines[-1] and columns(lines[-1]) + 1 + columns(word) <= width:
            lines[-1] += " " + word
            continue
        if lines[-1]:
            lines.append("")
        for sign in word:
            if columns(lines[-1] + sign) > width:
                lines.append("")
            lines[-1] += sign
    return lines


def _table_text(block: Table, width: int) -> str:
    head = [clean(cell) for cell in block.head]
    rows = [[clean(str(cell)) for cell in row] for row in block.rows]
    widths = _column_widths([head, *rows], block.align, width)
    rule = GAP.join("-" * w for w in widths)
    lines = _wrap(clean(block.title), width) if block.title else []
    lines += [*_row_lines(head, widths, block.align), rule]
    for k, row in enumerate(rows):
        if block.total and k == len(rows) - 1:
            lines.append(rule)
        lines += _row_lines(row, widths, block.align)
    return "\n".join(lines)


def _column_widths(rows: list[list[str]], align: str, width: int) -> list[int]:
    """As wide as the cells ask; where that is too much the widest columns of words give way."""
    widths = [max(columns(row[j]) for row in rows) for j in range(len(align))]
    room = width - len(GAP) * (len(widths) - 1)
    while sum(widths) > room:
        words = [j for j, letter in enumerate(align) if letter == "l" and widths[j] > LEAST_COLUMN]
        if not words:
            break
        widths[max(words, key=lambda j: widths[j])] -= 1
    return widths


def _row_lines(row: list[str], widths: list[int], align: str) -> list[str]:
    cells = [_wrap(cell, w) for cell, w in zip(row, widths, strict=True)]
    height = max(len(lines) for lines in cells)
    return [
        GAP.join(_pad(lines[k] if k < len(lines) else "", w, letter)
                 for lines, w, letter in zip(cells, widths, align, strict=True)).rstrip()
        for k in range(height)
    ]  # fmt: skip


def _pad(text: str, width: int, letter: str) -> str:
    space = " " * (width - columns(text))
    return space + text if letter == "r" else text + space


def clean(text: str) -> str:
    """One line without control characters and without marks that turn the reading direction."""
    plain = "".join(c if unicodedata.category(c) not in ("Cc", "Cf", "Cs") else " " for c in text)
    return " ".join(plain.split())


def columns(text: str) -> int:
    """Count the columns of a terminal: wide East Asian signs and emoji take two, accents none."""
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text
    )
