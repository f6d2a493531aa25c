"""The two fonts that ship with the package, so that print is the same on every machine."""

from __future__ import annotations

import struct
from functools import cache
from importlib import resources

FOLDER = resources.files("nesting.drawing") / "fonts"
FILES = ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")
FAMILY = "DejaVu Sans"
STAND_IN = "□"
"""Printed for a sign that the fonts have not."""


@cache
def signs() -> frozenset[int]:
    """Tell which code points both fonts can show."""
    regular, bold = (_mapped((FOLDER / name).read_bytes()) for name in FILES)
    return frozenset(regular & bold)


def _mapped(font: bytes) -> set[int]:
    """Read the code points of a font's ``cmap`` table, segmented coverage (OpenType, format 12)."""
    count = struct.unpack_from(">H", font, 4)[0]
    heads = range(12, 12 + 16 * count, 16)
    cmap = next(struct.unpack_from(">I", font, at + 8)[0] for at in heads if font[at : at + 4] == b"cmap")
    found: set[int] = set()
    for k in range(struct.unpack_from(">H", font, cmap + 2)[0]):
        at = cmap + struct.unpack_from(">I", font, cmap + 8 + 8 * k)[0]
        if struct.unpack_from(">H", font, at)[0] == 12:
            for group in range(struct.unpack_from(">I", font, at + 12)[0]):
                first, last = struct.unpack_from(">II", font, at + 16 + 12 * group)
                found.update(range(first, last + 1))
    return found


def printable(text: str) -> str:
    """Put :data:`STAND_IN` for each sign that the fonts have not; line ends stay."""
    unknown = set(map(ord, set(text) - set("\n\t\u200b"))) - signs()
    return text.translate(dict.fromkeys(unknown, STAND_IN)) if unknown else text
