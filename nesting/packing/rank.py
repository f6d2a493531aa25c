"""What a cutting tree leaves: offcuts worth keeping."""

from __future__ import annotations

from nesting.packing.layout import Piece
from nesting.packing.search import fits_in


def keepable(piece: Piece, keep: tuple[int, int]) -> bool:
    """Whether a rectangle of ``keep`` (along the sheet, across it) fits into a free piece."""
    return fits_in(piece[:6], piece[6], *keep)
