"""Measuring forms to print and fill in with a pencil: their boxes bear the job file's keys."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from nesting.drawing.packet import LINE, PAPERS, pdf
from nesting.job.job import Job
from nesting.job.models import Opening
from nesting.lengths import Units
from nesting.report.blocks import clean

FOOT = "Box for box as in the job file: typing it in is copying. nesting start asks in the same order."
CAUTIONS = {
    "cased": "One tape for everything. Left and right are yours, standing in room A. Old paint and plaster "
    "can hold lead or asbestos. An opening in a rated or bearing wall is not changed on the word of a form.",
    "window": "One tape for everything. Left and right are yours, standing in the room. Leave room for the "
    "sash to open; a bedroom's may be a way of escape. Old paint and plaster can hold lead or asbestos.",
    "parts": "Seen on the show face, the straight edge below: width is that at the start, on the left, and "
    "width end that at the end. Loose parts are cut to the sizes given here; nothing is added.",
    "stock": "Calliper the sheets that you will cut, and measure a slot for the kerf: a label is no measure. "
    "A standard may let a sheet be 1/16 inch short (PS 1). Heavy sheets want two.",
}
THIRD = "Two readings at one station that differ by more than 1/16 inch ask for a third."
THICKNESS = (
    "Wall: finished face to finished face, up each side from the floor, the head from left to right. Two "
    "stations on each run at least, three are usual, more where a straightedge rocks; one near each end.",
    THIRD,
)
FACES = (
    "Set one plumb plane through the opening, the same for both sides and the head. Read at each station "
    "how far either face stands off it, positive towards its own room; a face past the plane is negative.",
    THIRD,
)
DEPTH = (
    "Depth: from the edge of the window's frame to the finished face of the wall. Stations count from the "
    "frame's inside edge: up from the sill, and from the left; below 0 past it. Two on each run at least.",
    "Width and height are those inside the frame.",
)
PART_CELLS = {"name": 4.0, "material": 2.6, "length": 2.4, "width": 2.0, "width end": 2.0, "count": 1.2,
              "grain": 1.8}  # fmt: skip

Part = dict[str, Any]


def forms(paper: str, job: Job | None = None) -> bytes:
    """Set the measuring forms as a PDF; the same job gives the same bytes.

    Parameters
    ----------
    paper : str
        ``letter`` or ``a4``.
    job : Job, optional
        Its openings, parts and stock are named on the forms; left out, they are blank.
    """
    title = job.name if job else ""
    pages = [*_openings(job), _parts(job), _stock(job)]
    units = "units:  ☐ inch   ☐ mm" if job is None else f"units: {job.units}"
    for page in pages:
        page["note"] = f"{_short(title, 40)}     {units}     date ____________     by ____________".strip()
    return pdf("forms.typ", {"paper": PAPERS[paper], "foot": FOOT, "pages": pages})


def _short(text: str, most: int = LINE) -> str:
    words = clean(text)
    return words if len(words) <= most else words[: most - 1].rstrip() + "…"


def _openings(job: Job | None) -> list[Part]:
    if job is None or not job.openings:
        return [_cased(None, False), _cased(None, True), _window(None)]
    return [_window(opening) if opening.kind == "window" else
            _cased(opening, opening.wall.left[0].face_a is not None) for opening in job.openings]


def _cased(opening: Opening | None, both: bool) -> Part:
    cells = ("at", "face A", "face B") if both else ("at", "thickness")
    straight = [] if both else [_group("straight", "room whose edge is", "straight:  A   B")]
    return {
        "title": f"Cased opening, {'both faces' if both else 'thickness'}",
        "sketch": "faces" if both else "cased",
        "how": FACES if both else THICKNESS,
        "caution": CAUTIONS["cased"],
        "parts": [
            _named(opening),
            _group("width", "between the framing", "low", "middle", "high"),
            _joined(_group("height", "floor to framing", "left", "right"),
                    _group("or line", "level line: down, up", "left", "right", "up")),
            _runs(cells, 5, left=("L", "up from the floor"), head=("H", "from the framing on the left"),
                  right=("R", "up from the floor")),
            _joint(opening, *straight),
            _joined(_group("gap", "shim space", "left", "right", "top"),
                    _group("proud", "", "least", "most")),
            _joined(_group("band", "", "edges: A  B", "thickness", "deduct"),
                    _group("diagonals", "of the framing", "one", "other")),
            _framing(),
        ],
    }  # fmt: skip


def _framing() -> Part:
    low_high = [f"{side}: [at, off], {where}" for side in ("left", "right") for where in ("low", "high")]
    part = _group("framing", "plumb line to stud", *low_high, "apart")
    part["boxes"][-1]["share"] = 0.8
    return part


def _window(opening: Opening | None) -> Part:
    return {
        "title": "Window extension",
        "sketch": "window",
        "how": DEPTH,
        "caution": CAUTIONS["window"],
        "parts": [
            _named(opening),
            _joined(_group("width", "inside the frame", "low", "middle", "high"),
                    _group("height", "inside the frame", "left", "right")),
            _runs(("at", "depth"), 6, left=("L", "up from the sill"), head=("H", "from the left"),
                  right=("R", "up from the sill"), sill=("S", "from the left")),
            _joint(opening, horn=False),
            _joined(_group("reveal", "on the frame", "reveal"),
                    _group("splay", "degrees, or 2 over 6", "left", "right", "head", "sill")),
            _joined(_group("proud", "beyond the wall", "least", "most"),
                    _group("band", "", "edges: A  B", "thickness", "deduct")),
        ],
    }  # fmt: skip


def _named(opening: Opening | None) -> Part:
    part = _group("name", "and material", "name", "material (or several)")
    if opening:
        part["boxes"][0]["value"] = _short(opening.name, 34)
        part["boxes"][1]["value"] = _short(", ".join(opening.material), 34)
    return part


def _joint(opening: Opening | None, *more: Part, horn: bool = True) -> Part:
    boxes = ["head over legs · head between legs · rabbet", "rabbet (depth)", *(["horn"] if horn else [])]
    part = _group("joint", "", *boxes)
    part["boxes"][0]["share"] = 2.6
    if opening:
        part["boxes"][0]["value"] = opening.joint
    for other in more:
        part["boxes"] += other["boxes"]
    return part


def _group(key: str, hint: str, *boxes: str) -> Part:
    empty = [{"key": box, "value": "", "share": 1.0} for box in boxes]
    return {"is": "group", "key": key, "hint": hint, "boxes": empty}


def _joined(*groups: Part) -> Part:
    return {"is": "row", "groups": list(groups)}


def _runs(cells: Sequence[str], count: int, **runs: tuple[str, str]) -> Part:
    return {"is": "runs", "runs": [
        {"key": key, "letter": letter, "hint": hint, "cells": list(cells), "count": count, "height": 9}
        for key, (letter, hint) in runs.items()
    ]}  # fmt: skip


def _list(key: str, hint: str, cells: dict[str, float], rows: Sequence[Sequence[str]], count: int) -> Part:
    filled = [[_short(value, 40) for value in row] + [""] * (len(cells) - len(row)) for row in rows]
    filled += [[""] * len(cells)] * (count - len(filled))
    return {"is": "list", "key": key, "hint": hint, "height": 9, "rows": filled[: max(count, len(filled))],
            "cells": [{"key": cell, "share": share} for cell, share in cells.items()]}  # fmt: skip


def _parts(job: Job | None) -> Part:
    rows = [[part.name, part.material] for part in job.parts] if job else []
    hint = "width end: of a taper only · grain: length, across or any"
    return {"title": "Loose parts", "sketch": "", "how": [], "caution": CAUTIONS["parts"],
            "parts": [_list("parts", hint, PART_CELLS, rows, 23)]}  # fmt: skip


def _stock(job: Job | None) -> Part:
    sheets = [[sheet.name, sheet.material] for sheet in job.stock] if job else []
    kinds = [[name] for name in job.materials] if job else []
    weights = {Units.INCH: "pounds a square foot", Units.MM: "kg a square metre"}
    weight = weights[job.units] if job else ", or ".join(weights.values())
    return {
        "title": "Stock and saw", "sketch": "", "how": [], "caution": CAUTIONS["stock"],
        "parts": [
            _group("saw", "", "kerf", "rails: those in the van", "join: yes  no", "face_up: show  back"),
            _joined(_group("trim", "lost at each edge", "trim"), _group("step", "the tape's", "step"),
                    _group("saw", "rail past a cut", "lead_in", "lead_out")),
            _list("materials", f"thickness by calliper · grain yes, no · faces one, both · weight: {weight}",
                  {"name": 4.0, "thickness": 2.4, "grain": 1.6, "faces": 1.6, "weight": 2.0}, kinds, 5),
            _list("stock", "length runs along the grain · count: left out, as many as needed",
                  {"name": 4.0, "material": 2.6, "length": 2.2, "width": 2.2, "price": 1.8, "count": 1.3,
                   "in_shop": 1.5}, sheets, 11),
        ],
    }  # fmt: skip
