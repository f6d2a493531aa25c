"""What each edge has to cover: the wall's thickness, or each of its two faces.

With thickness alone the piece's width is one offset over the other, plumb edge. With leans each edge
has a face of its own, and half of what the piece must, and may, stand proud.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from nesting.job.measured import Reading
from nesting.job.models import Opening
from nesting.openings.frame import Role

FaceName = Literal["A", "B"]


@dataclass(frozen=True, slots=True)
class Face:
    """One offset of the wall that an edge covers.

    Attributes
    ----------
    name : str or None
        Room A's or room B's face; None for the thickness.
    least, most : Fraction
        How far the edge must, and may, stand proud of it.
    band : int
        What banding adds to the piece here.
    deducted : int
        How much of that the sheet is cut narrower by.
    wall : dict
        The stations of each run: place and offset.
    """

    name: FaceName | None
    least: Fraction
    most: Fraction
    band: int
    deducted: int
    wall: dict[Role, tuple[tuple[int, int], ...]]

    def needed(self, role: Role) -> tuple[tuple[int, Fraction], ...]:
        """Place and least offset of the edge at each station."""
        return tuple((at, offset + self.least) for at, offset in self.wall[role])


def faces_of(opening: Opening) -> tuple[Face, ...]:
    """The thickness, or both faces where all stations have them."""
    runs: dict[Role, tuple[Reading, ...]] = {
        "left leg": opening.wall.left,
        "right leg": opening.wall.right,
        "head": opening.wall.head,
    }
    if opening.wall.sill:
        runs["sill"] = opening.wall.sill
    leans = all(reading.face_a is not None for run in runs.values() for reading in run)
    names: tuple[FaceName | None, ...] = ("A", "B") if leans else (None,)
    return tuple(_face(opening, runs, name, len(names)) for name in names)


def _face(
    opening: Opening, runs: dict[Role, tuple[Reading, ...]], name: FaceName | None, of: int
) -> Face:
    banded = opening.band.edges if opening.band else ()
    edges = len(banded) if name is None else banded.count(name)
    band = edges * opening.band.thickness if opening.band else 0
    return Face(
        name=name,
        least=Fraction(opening.proud.least, of),
        most=Fraction(opening.proud.most, of),
        band=band,
        deducted=band if deducts(opening) else 0,
        wall={role: tuple((r.at, _offset(r, name)) for r in run) for role, run in runs.items()},
    )


def _offset(reading: Reading, name: FaceName | None) -> int:
    offset = {"A": reading.face_a, "B": reading.face_b}[name] if name else reading.thickness
    if offset is None:
        raise ValueError("a station without its faces among stations with them")
    return offset


def is_lipping(opening: Opening) -> bool:
    """Whether the band is solid lipping, which is always deducted."""
    return opening.band is not None and opening.band.lipping


def deducts(opening: Opening) -> bool:
    """Whether the sheet is cut narrower by what the banding adds."""
    return opening.band is not None and opening.band.deducted > 0
