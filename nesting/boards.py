"""Dressed sizes of boards by their nominal names, and the narrowest board that a piece comes out of.

Softwood: least sizes, dry, of the PS 20 table. A nominal inch dresses to 3/4, 5/4 to 1; a nominal width of
2 to 7 loses 1/2, one of 8 and more 3/4. Hardwood dressed on four sides follows no standard: by the lists of
lumber yards it is the same but for 1x8, which one yard gives 7 1/2 and another 7 1/4.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from nesting.lengths import INCH

NOMINAL = range(2, 17)
LISTED = (*range(2, 13), 14, 16)  # nominal widths in the PS 20 table
USUAL = (2, 3, 4, 6, 8, 10, 12)  # those that yards stock (a web page on softwood sizes)
THICK = {"1": Fraction(3, 4), "5/4": Fraction(1)}
UNSURE = (8,)  # nominal widths of hardwood that are dressed to two widths
SOURCE = "PS 20 least dressed sizes, dry"
_NAME = re.compile(r"(5/4|1)\s*[x×]\s*([0-9]{1,2})(?:\s+(hardwood|softwood))?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Board:
    """A board by its nominal size.

    Attributes
    ----------
    thick : str
        ``1`` or ``5/4``.
    wide : int
        Nominal width in inches.
    """

    thick: str
    wide: int
    hardwood: bool = False

    @property
    def name(self) -> str:
        """As a yard says it: ``1x12``, ``5/4x6 hardwood``."""
        return f"{self.thick}x{self.wide}{' hardwood' if self.hardwood else ''}"

    @property
    def width(self) -> int:
        """Dressed, in inner units; of hardwood the narrower of the two where yards differ."""
        return int((self.wide - (Fraction(1, 2) if self.wide < 8 else Fraction(3, 4))) * INCH)

    @property
    def thickness(self) -> int:
        """Dressed, in inner units."""
        return int(THICK[self.thick] * INCH)

    @property
    def unsure(self) -> bool:
        """Whether yards dress it to different widths."""
        return self.hardwood and self.wide in UNSURE

    def board_feet(self, length: int) -> Fraction:
        """Nominal thickness and width in inches, times the length in inches, over 144."""
        return Fraction(self.thick) * self.wide * Fraction(length, INCH) / 144


def read_board(text: str) -> Board:
    """Read a nominal size: ``1x12``, ``5/4 x 6``, ``1x8 hardwood``.

    Raises
    ------
    ValueError
        If it is none of the table's.
    """
    found = _NAME.fullmatch(text.strip())
    if not found or int(found[2]) not in LISTED:
        raise ValueError("must be a board's nominal size: 1x2 to 1x12, 1x14, 1x16, or 5/4x2 and so on; with "
                         "hardwood behind it for hardwood")  # fmt: skip
    return Board(found[1], int(found[2]), (found[3] or "").casefold() == "hardwood")


def narrowest(width: int) -> str | None:
    """The narrowest one-inch board in usual stock that is as wide; None: only a sheet is.

    ``width`` is in inner units.
    """
    boards = (Board("1", wide) for wide in USUAL)
    return next((board.name for board in boards if board.width >= width), None)
