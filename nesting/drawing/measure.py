"""How much room words take on paper, read from the fonts that ship with the package.

Where another font stands in (Helvetica, Arial) words come out narrower, never wider. Millimetres on
paper; sizes of letters in points.
"""

from __future__ import annotations

import struct
import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache

from nesting.drawing.fonts import FILES, FOLDER
from nesting.report.blocks import clean, words

POINT = 25.4 / 72
ASCENT, DESCENT = 0.928, 0.236  # of the letters' size, as the fonts' own head says
FIGURE = 0.76  # height of a figure, with a hair of air
UNKNOWN = 1.4  # width of a sign that the fonts have not: an emoji is 1.25 to 1.37 (measured)
SPARE = 1.02  # for pairs of letters that are set a little wider (l and f: 1.4 %)
LEAST, LARGE, NUMBER = 8.0, 11.0, 14.0  # least size of words, their usual one, least of a part's number
ELLIPSIS = "…"


@dataclass(frozen=True, slots=True)
class Words:
    """A line of words in one size."""

    text: str
    size: float = LEAST
    bold: bool = False

    @property
    def width(self) -> float:
        """Length of the line."""
        return _ems(self.text, self.bold) * self.size * POINT * SPARE

    @property
    def height(self) -> float:
        """Height of the line from the highest ascender to the lowest descender."""
        return (ASCENT + DESCENT) * self.size * POINT

    def within(self, room: float, least: float = LEAST) -> Words:
        """Return the words in the largest size that fits, down to ``least``; then cut short."""
        size = self.size
        while size > least and Words(self.text, size, self.bold).width > room:
            size = max(least, size - 0.5)
        return Words(self.text, size, self.bold).cut(room)

    def cut(self, room: float) -> Words:
        """Return the words, cut short with an ellipsis where they are wider than the room."""
        if self.width <= room:
            return self
        low, high = 0, len(self.text)
        while low < high:  # the most signs that fit with the ellipsis behind them
            middle = (low + high + 1) // 2
            fits = Words(self.text[:middle] + ELLIPSIS, self.size, self.bold).width <= room
            low, high = (middle, high) if fits else (low, middle - 1)
        return Words(self.text[:low].rstrip() + ELLIPSIS, self.size, self.bold)

    def wrap(self, room: float, rest: float | None = None) -> list[Words]:
        """Break into lines of at most ``room``, between words; the later lines of ``rest``, if given."""
        lines: list[str] = []
        line = ""
        for word in words(self.text):
            longer = f"{line} {word}".strip()
            limit = room if not lines or rest is None else rest
            if line and Words(longer, self.size, self.bold).width > limit:
                lines.append(line)
                line = word
            else:
                line = longer
        return [Words(line, self.size, self.bold) for line in [*lines, line]]


def plain(text: str) -> str:
    """One line that XML can hold: without control signs, marks of direction and non-characters."""
    return clean("".join(c if ord(c) & 0xFFFE != 0xFFFE and not 0xFDD0 <= ord(c) <= 0xFDEF else " "
                         for c in text))  # fmt: skip


@lru_cache(maxsize=4096)
def _ems(text: str, bold: bool) -> float:
    table = _advances(bold)
    return sum(0.0 if unicodedata.combining(c) else table.get(ord(c), UNKNOWN) for c in text)


@cache
def _advances(bold: bool) -> dict[int, float]:
    """Read the advance width of every sign in a font, in ems (OpenType: head, hhea, hmtx, cmap)."""
    font = (FOLDER / FILES[bold]).read_bytes()
    tables = {
        font[at : at + 4]: struct.unpack_from(">I", font, at + 8)[0]
        for at in range(12, 12 + 16 * struct.unpack_from(">H", font, 4)[0], 16)
    }
    ems = struct.unpack_from(">H", font, tables[b"head"] + 18)[0]
    last = struct.unpack_from(">H", font, tables[b"hhea"] + 34)[0] - 1
    widths: dict[int, float] = {}
    for first, end, glyph in _groups(font, tables[b"cmap"]):
        for code in range(first, end + 1):
            place = tables[b"hmtx"] + 4 * min(glyph + code - first, last)
            widths[code] = struct.unpack_from(">H", font, place)[0] / ems
    return widths


def _groups(font: bytes, cmap: int) -> list[tuple[int, int, int]]:
    """First and last code point of each run, and the glyph of the first (cmap, format 12)."""
    for k in range(struct.unpack_from(">H", font, cmap + 2)[0]):
        at = cmap + struct.unpack_from(">I", font, cmap + 8 + 8 * k)[0]
        if struct.unpack_from(">H", font, at)[0] == 12:
            count = struct.unpack_from(">I", font, at + 12)[0]
            return [struct.unpack_from(">III", font, at + 16 + 12 * i) for i in range(count)]
    return []
