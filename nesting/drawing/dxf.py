"""A sheet as DXF, real size, for a shop that cuts on a machine. The only module that imports ``ezdxf``."""

from __future__ import annotations

import importlib
import io
from collections.abc import Iterable, Sequence
from typing import Any

from nesting.drawing.bench import whole
from nesting.drawing.measure import Words, plain
from nesting.drawing.words import said
from nesting.errors import FileError
from nesting.lengths import Units, to_number
from nesting.plan import Plan, PlanPart, Sheet

LAYERS = {"outline": 7, "parts": 3, "offcuts": 4, "cuts": 1, "blocked": 6, "text": 2}
"""Names of the layers with their colours (numbers of the DXF reference, from memory)."""
UNITS = {Units.INCH: (1, 0), Units.MM: (4, 1)}  # $INSUNITS and $MEASUREMENT of the DXF reference
TEXT = {Units.INCH: 1.0, Units.MM: 25.0}  # height of large letters
SMALLEST = 1 / 16  # of that
ROOM = 0.8  # of a part's sides that its words take
LONGEST = 60  # signs of a name
MISSING = "DXF files need the library ezdxf, which is not installed: pip install ezdxf"


def sheet_dxf(plan: Plan, sheet: Sheet) -> str:
    """Draw a sheet in the plan's units, its lower left corner at the origin, as it lies while being cut.

    Returns
    -------
    str
        DXF of release 2010, in UTF-8; the same plan gives the same bytes.

    Raises
    ------
    FileError
        If ezdxf is not installed.
    """
    drawing = _Drawing(plan)
    drawing.ring("outline", whole(sheet))
    for zone in sheet.blocked:
        drawing.ring("blocked", zone)
    parts = {part.number: part for part in plan.parts}
    for offcut in sheet.offcuts:
        if offcut.keep:
            drawing.ring("offcuts", offcut.corners)
            drawing.words(f"keep {offcut.number}", offcut.corners)
    for placed in sheet.placed:
        drawing.ring("parts", placed.corners)
        drawing.words(_part_words(plan, parts[placed.number]), placed.corners)
    for cut in sheet.cuts:
        drawing.line(cut.start, cut.to)
        drawing.words(str(cut.number), (cut.start, cut.to))
    face = "show face up" if plan.seen_from == "show" else "BACK FACE UP, MIRRORED"
    title = f"{plan.job}, sheet {sheet.number} of {len(plan.sheets)}, {sheet.stock}, {face}"
    drawing.title(f"{title}, kerf {said(plan, sheet.kerf)}, plan {plan.check_sum}", sheet)
    return drawing.text()


def _part_words(plan: Plan, part: PlanPart) -> str:
    return f"{part.number} {part.role or part.id}"[:LONGEST]


class _Drawing:
    def __init__(self, plan: Plan) -> None:
        try:
            ezdxf: Any = importlib.import_module("ezdxf")  # an extra that only this needs
        except ImportError as error:
            raise FileError(MISSING) from error
        self.units = plan.units
        ezdxf.options.write_fixed_meta_data_for_testing = True  # no times, no random names
        self.document: Any = ezdxf.new("R2010")
        insert, metric = UNITS[plan.units]
        self.document.header["$INSUNITS"] = insert
        self.document.header["$MEASUREMENT"] = metric
        for name, colour in LAYERS.items():
            self.document.layers.add(name, color=colour)
        self.space: Any = self.document.modelspace()

    def ring(self, layer: str, corners: Iterable[tuple[Any, Any]]) -> None:
        """A closed outline."""
        self.space.add_lwpolyline(list(map(self._at, corners)), close=True, dxfattribs={"layer": layer})

    def line(self, a: tuple[int, int], b: tuple[int, int]) -> None:
        """The line of a cut."""
        self.space.add_line(self._at(a), self._at(b), dxfattribs={"layer": "cuts"})

    def words(self, text: str, corners: Sequence[tuple[int, int]]) -> None:
        """Words about the middle of a shape, within it; those of a line lie on it, small."""
        spots = list(map(self._at, corners))
        (x0, x1), (y0, y1) = ((min(values), max(values)) for values in zip(*spots, strict=True))
        wide, high = x1 - x0, y1 - y0
        upright = high > wide
        height = TEXT[self.units]
        if len(spots) > 2:
            long = Words(text, 72.0).width / 25.4  # for letters of one
            height = min(height, ROOM * min(wide, high), ROOM * max(wide, high) / max(long, 1.0))
        else:
            height *= 0.5
        self._text(text, ((x0 + x1) / 2, (y0 + y1) / 2), height, 90.0 if upright and len(spots) > 2 else 0.0)

    def title(self, text: str, sheet: Sheet) -> None:
        """A line above the sheet."""
        x, y = self._at((0, sheet.width))
        height = TEXT[self.units]
        self._text(text[: 4 * LONGEST], (x, y + 1.5 * height), height, 0.0, middle=False)

    def text(self) -> str:
        """The file."""
        stream = io.StringIO()
        self.document.write(stream)
        return stream.getvalue()

    def _text(self, text: str, spot: tuple[float, float], height: float, turn: float,
              middle: bool = True) -> None:  # fmt: skip
        height = max(height, TEXT[self.units] * SMALLEST)
        made = self.space.add_text(_literal(text), height=height, rotation=turn,
                                   dxfattribs={"layer": "text"})  # fmt: skip
        align = importlib.import_module("ezdxf.enums").TextEntityAlignment
        made.set_placement(spot, align=align.MIDDLE_CENTER if middle else align.LEFT)

    def _at(self, point: tuple[Any, Any]) -> tuple[float, float]:
        x, y = (to_number(round(value), self.units) for value in point)
        return float(x), float(y)


def _literal(text: str) -> str:
    """One line in which nothing is a code: %%, ^ and \\U+ are codes in a DXF text."""
    return plain(text).replace("%%", "% %").replace("^", "^ ").replace("\\", "/")
