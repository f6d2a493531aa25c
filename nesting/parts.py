"""The parts to be cut: their shape, grain, hand and marks."""

from __future__ import annotations

from dataclasses import dataclass, field

from nesting.geometry import Polygon

GRAINS = ("length", "across", "any")


@dataclass(frozen=True, slots=True)
class Part:
    """One physical piece, in the standard form of the plan file.

    Seen on its show face with the straight edge below and its start on the left. Widths are
    measured square to the straight edge at its two ends; ``skew_start`` and ``skew_end`` say by how
    much the far edge's end point lies further along than the straight edge's. Inner units.

    Attributes
    ----------
    number : int
        Unique in the job, from 1; what is pencilled on the piece.
    id : str
        A name a person can read: ``Kiln room left leg``, ``shelf 2``.
    opening, role : str or None
        Both None for a loose part.
    grain : str
        ``length``, ``across`` or ``any``.
    band : tuple of str
        Edges to be banded, by ``straight``, ``far``, ``start``, ``end``.
    band_kind : str
        ``iron-on`` or ``lipping``.
    marks : dict
        What to pencil at each edge, by the same names: ``{"start": "TOP", "straight": "room A"}``.
    spare : bool
        Nobody asks for it: it is cut because there is room.
    bevels : dict
        Degrees off square by which the saw is tilted at an edge, where it is: above 0 where the show
        face keeps the line and the back is undercut, below 0 where the back keeps it.
    """

    number: int
    id: str
    material: str
    thickness: int
    length: int
    width_start: int
    width_end: int
    skew_start: int = 0
    skew_end: int = 0
    grain: str = "length"
    may_flip: bool = False
    opening: str | None = None
    role: str | None = None
    band: tuple[str, ...] = ()
    band_thickness: int = 0
    band_kind: str = ""
    marks: dict[str, str] = field(default_factory=dict)
    bevels: dict[str, float] = field(default_factory=dict)
    spare: bool = False

    @property
    def outline(self) -> Polygon:
        """Corners c0 c1 c2 c3: start and end of the straight edge, far edge's end and start."""
        return (
            (0, 0),
            (self.length, 0),
            (self.length + self.skew_end, self.width_end),
            (self.skew_start, self.width_start),
        )
