"""What a job left open and what was taken for it, each value with its source.

Sources are named as far as they are known; what has none says so. Values of trade stand in the README too.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from nesting.boards import SOURCE as DRESSED
from nesting.job.crosscheck import rows, sizes_of
from nesting.job.job import Default, Job
from nesting.job.models import Opening
from nesting.job.outline import Row, Table, Text
from nesting.lengths import Units, with_unit

COMMON = "common practice, no source"
SOURCES = {
    "step": "a tape is true to 1/32 up to 6 ft (NIST Handbook 44, 5.52)",
    "saw, lead_in": "6 to 7 inches to plunge clear (a saw maker's manual)",
    "saw, lead_out": "at least 3 inches past the cut (a saw maker's manual)",
    "saw, join": "not without being told; " + COMMON,
    "saw, face_up": "on a rail with a splinter strip the show face lies up; " + COMMON,
    "trim": "cut 1/4 over all round (a woodworking tips page); at each edge: " + COMMON,
    "trim of boards": "ends are out of square and checked, edges are dressed; " + COMMON,
    "width of boards": DRESSED,
    "lean": COMMON,
    "keep": COMMON,
    "grain": COMMON,
    "faces": "most hardwood plywood has one show face (grades A-1 to A-4, trade press)",
    "joint": COMMON,
    "straight": COMMON,
    "gap": "1/4 each side (a door maker's instructions)",
    "proud, least": "a jamb of 4 9/16 for a wall of 4 1/2 (a jamb maker's instructions)",
    "proud, most": "beyond about 1/8 scribe or build out; " + COMMON,
    "reveal": "US Navy Builder training manual, fig. 6-26",
    "band, kind": "no iron-on band is 3 mm thick; " + COMMON,
    "band, deduct": COMMON,
}
METRIC = {"step": COMMON, "trim": "as 1/4 inch; " + COMMON}
Found = tuple[str, str, str]  # key, what it is of, value


def defaults(job: Job, top: Table) -> tuple[Default, ...]:
    """List what the job does not say; openings for which the same was taken stand together."""
    together: dict[tuple[str, str], list[str]] = {}
    for key, of, value in (*_head(job, top), *_stock(job, top), *_materials(job, top), *_openings(job, top),
                           *_parts(job, top)):  # fmt: skip
        together.setdefault((key, value), []).append(of)
    return tuple(
        Default(key, tuple(dict.fromkeys(filter(None, of))), value, _source(key, job.units))
        for (key, value), of in together.items()
    )


def _source(key: str, units: Units) -> str:
    plain = key.removesuffix(" of a window")
    plain = "gap" if plain.startswith("gap") else plain
    source = SOURCES[plain]
    if key.endswith(" of a window"):
        return f"half of what both faces of a wall get: {source}"
    return METRIC.get(plain, source) if units is Units.MM else source


def _said(top: Table, *path: str | int) -> bool:
    """Whether the job says it; a length alone says all sides, and a table those that it names."""
    value: object = top
    for key in path:
        if isinstance(value, Text):
            return True
        inside = isinstance(value, Table) and key in value
        if not inside and not (isinstance(value, Row) and isinstance(key, int) and key < len(value)):
            return False
        value = value[key]  # type: ignore[index]
    return True


def _head(job: Job, top: Table) -> Iterator[Found]:
    say = job.units
    if not _said(top, "step"):
        yield "step", "", with_unit(job.step, say)
    if job.saw.rails:
        for key in ("lead_in", "lead_out"):
            if not _said(top, "saw", key):
                yield f"saw, {key}", "", with_unit(getattr(job.saw, key), say)
    if len(job.saw.rails) > 1 and not _said(top, "saw", "join"):
        yield "saw, join", "", "no"
    if not _said(top, "saw", "face_up"):
        yield "saw, face_up", "", job.saw.face_up
    if not _said(top, "trim") and any(not size.board and size.trim == job.trim for size in job.stock):
        yield "trim", "", with_unit(job.trim.left, say)
    if not _said(top, "lean"):
        yield "lean", "", f"{float(job.lean):g}°"
    if not (_said(top, "keep", "length") and _said(top, "keep", "width")):
        yield "keep", "", f"{with_unit(job.keep.length, say)} × {with_unit(job.keep.width, say)}"


def _stock(job: Job, top: Table) -> Iterator[Found]:
    entries = rows(top, "stock")
    for i, size in dict(zip(sizes_of(top), job.stock, strict=True)).items():
        if not size.board:
            continue
        name = str(entries[i][Text("name")]).strip()
        if "trim" not in entries[i]:
            yield "trim of boards", name, f"{with_unit(size.trim.left, job.units)} at each end"
        if "width" not in entries[i]:
            yield "width of boards", name, with_unit(size.width, job.units)


def _materials(job: Job, top: Table) -> Iterator[Found]:
    for name, material in job.materials.items():
        if not _said(top, "materials", name, "grain"):
            yield "grain", name, "yes"
        if not _said(top, "materials", name, "faces"):
            yield "faces", name, "both" if material.both_faces else "one"


def _openings(job: Job, top: Table) -> Iterator[Found]:
    for index, opening in enumerate(job.openings):
        window = opening.kind == "window"
        at = ("openings", index)
        if not _said(top, *at, "joint"):
            yield "joint", opening.name, opening.joint
        if not window and not _said(top, *at, "straight"):
            yield "straight", opening.name, f"room {opening.straight}"
        for key, value in _lengths(opening):
            if not _said(top, *at, *key):
                named = ", ".join(key) + (" of a window" if window and key[0] == "proud" else "")
                yield named, opening.name, with_unit(value, job.units)
        if opening.band:
            yield from _band(top, (*at, "band"), opening.name, opening.band.lipping)


def _lengths(opening: Opening) -> Iterator[tuple[tuple[str, ...], int]]:
    if opening.kind == "window":
        yield ("reveal",), opening.reveal
    else:
        yield from ((("gap", side), getattr(opening.gap, side)) for side in ("left", "right", "top"))
    yield from ((("proud", key), getattr(opening.proud, key)) for key in ("least", "most"))


def _band(top: Table, at: Sequence[str | int], name: str, lipping: bool) -> Iterator[Found]:
    if not _said(top, *at, "kind"):
        yield "band, kind", name, "lipping" if lipping else "iron-on"
    if not lipping and not _said(top, *at, "deduct"):
        yield "band, deduct", name, "no"


def _parts(job: Job, top: Table) -> Iterator[Found]:
    for index, part in enumerate(job.parts):
        if part.band:
            yield from _band(top, ("parts", index, "band"), part.name, part.band.lipping)
