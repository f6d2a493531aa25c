"""The parts by opening, and how proud each piece of an opening stands at its stations."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from nesting.check import CheckedPlan
from nesting.lengths import marked, show, to_number, with_unit
from nesting.openings.remedy import up_words
from nesting.plan import Edge, OpeningRecord, Plan, PlanPart, RunRecord, StationRecord
from nesting.report.blocks import Block, Cell, Ref, Section, Table, as_text, table
from nesting.report.measured import remedies, shims

LOOSE = "Loose parts"
EDGES: tuple[Edge, ...] = ("start", "end", "straight", "far")
PART_HEAD = ("no.", "piece", "length", "width", "skew", "of", "grain", "board", *EDGES, "sheet")

SEEN = (
    "Each piece is seen with its show face up, the straight edge below and the start on the left. Two "
    "widths are those at the start and at the end, square to the straight edge."
)
SKEW = (
    "Skew: by how much the far edge's corner lies further along than the straight edge's, at the start / "
    "at the end."
)


def by_opening(plan: Plan) -> dict[str | None, list[PlanPart]]:
    """Group the parts: the openings in the job's order, loose parts (None) last."""
    groups: dict[str | None, list[PlanPart]] = {opening.name: [] for opening in plan.openings}
    for part in sorted(plan.parts, key=lambda part: part.opening is None):
        groups.setdefault(part.opening, []).append(part)
    return {name: parts for name, parts in groups.items() if parts}


def sheet_of(plan: Plan) -> dict[int, int]:
    """Tell on which sheet each part lies."""
    return {placed.number: sheet.number for sheet in plan.sheets for placed in sheet.placed}


def width_words(plan: Plan, part: PlanPart) -> str:
    """Write the width, or that at the start and that at the end: ``13 to 13 1/4``."""
    start, end = (marked(w, plan.units, plan.step) for w in (part.width_start, part.width_end))
    return start if start == end else f"{start} to {end}"


def size_words(plan: Plan, part: PlanPart) -> str:
    """Length by width, as on a label."""
    return f"{marked(part.length, plan.units, plan.step)} × {width_words(plan, part)}"


def edge_words(part: PlanPart, edge: Edge) -> str:
    """Say what is at an edge: what is pencilled there, whether it gets banding, how the saw is tilted."""
    band = "band" if edge in part.band else ""
    return ", ".join(filter(None, (part.marks.get(edge, ""), band, bevel_words(part, edge))))


def bevel_words(part: PlanPart, edge: Edge) -> str:
    """Say how far off square an edge is, and which face keeps the line: ``bevel 15° under``."""
    degrees = round(part.bevels.get(edge, 0.0), 1)
    return f"bevel {abs(degrees):g}° {'under' if degrees > 0 else 'over'}" if degrees else ""


def stuff_words(plan: Plan, part: PlanPart) -> str:
    """Material and thickness: ``birch, 23/32"``."""
    return f"{part.material}, {with_unit(part.thickness, plan.units)}"


def parts_data(checked: CheckedPlan) -> list[dict[str, Any]]:
    """List every piece as data, lengths in the plan's units, in the order of :func:`by_opening`."""
    plan = checked.plan
    sheets = sheet_of(plan)
    return [
        {
            "number": part.number, "name": part.id, "opening": part.opening, "role": part.role,
            "material": part.material, "thickness": to_number(part.thickness, plan.units),
            "length": to_number(part.length, plan.units),
            "width_start": to_number(part.width_start, plan.units),
            "width_end": to_number(part.width_end, plan.units),
            "skew_start": to_number(part.skew_start, plan.units),
            "skew_end": to_number(part.skew_end, plan.units),
            "grain": part.grain, "board": part.board, "may_flip": part.may_flip, "band": list(part.band),
            "marks": dict(part.marks), "bevels": dict(part.bevels), "sheet": sheets.get(part.number),
        }
        for parts in by_opening(plan).values() for part in parts
    ]  # fmt: skip


def parts_section(checked: CheckedPlan) -> Section:
    """Build the parts list by opening, for print."""
    plan = checked.plan
    tables = [
        part_table(plan, parts, name or (LOOSE if plan.openings else ""))
        for name, parts in by_opening(plan).items()
    ]
    skewed = any(part.skew_start or part.skew_end for part in plan.parts)
    notes = [SEEN, *([SKEW] if skewed else [])]
    return Section("Parts by opening" if plan.openings else "Parts", (*tables, *notes))


def parts_text(checked: CheckedPlan) -> str:
    """Write the parts list, and the stations of each opening, as plain text."""
    openings = (opening_section(checked, opening) for opening in checked.plan.openings)
    return as_text([parts_section(checked), *openings])


def part_table(plan: Plan, parts: list[PlanPart], title: str = "") -> Table:
    """Build the table of some parts; columns in which nothing is said are left out."""
    sheets, stuff = sheet_of(plan), {stuff_words(plan, part) for part in parts}
    title = ": ".join(filter(None, (title, *stuff))) if len(stuff) == 1 else title
    rows = [_part_row(plan, part, sheets.get(part.number), len(stuff) > 1) for part in parts]
    return table(PART_HEAD, rows, "rlrrrlllllllr", title)


def _part_row(plan: Plan, part: PlanPart, sheet: int | None, stuff: bool) -> tuple[Cell, ...]:
    skews = [marked(skew, plan.units, plan.step) for skew in (part.skew_start, part.skew_end)]
    return (
        str(part.number),
        part.role or part.id,
        marked(part.length, plan.units, plan.step),
        width_words(plan, part),
        " / ".join(skews) if part.skew_start or part.skew_end else "",
        stuff_words(plan, part) if stuff else "",
        part.grain,
        part.board,
        *(edge_words(part, edge) for edge in EDGES),
        "" if sheet is None else Ref(str(sheet), sheet),
    )


def openings_data(checked: CheckedPlan) -> list[dict[str, Any]]:
    """List the openings with every station, as in the plan file."""
    context = {"units": checked.plan.units}
    return [opening.model_dump(mode="json", context=context) for opening in checked.plan.openings]


def opening_section(checked: CheckedPlan, opening: OpeningRecord) -> Section:
    """Build what is needed to hang one opening: sizes, stations, corners, notes."""
    return fit_section(checked.plan, opening)


def fit_section(plan: Plan, opening: OpeningRecord) -> Section:
    """Build the same before there is a plan of cuts: it needs none."""
    return Section(
        f"Installing: {opening.name}",
        (
            _sizes(plan, opening),
            *_run_blocks(plan, opening),
            *remedies(plan, opening),
            *shims(plan, opening),
            _corner_table(plan, opening),
            *_notes(opening),
        ),
    )


def _notes(opening: OpeningRecord) -> tuple[str, ...]:
    """One paragraph each, so that none is too long for print."""
    return tuple(
        f"Notes: {note}." if k == 0 else f"{note[:1].upper()}{note[1:]}."
        for k, note in enumerate(opening.notes)
    )


def _sizes(plan: Plan, opening: OpeningRecord) -> str:
    def words(length: int) -> str:
        return with_unit(length, plan.units)  # measured or asked for, and never cut: on no step

    gap, height = opening.gap, opening.height
    heights = f"left {words(height['left'])}, right {words(height['right'])}"
    if opening.kind == "window":
        return _window_sizes(opening, words, heights)
    gaps = f"left {words(gap['left'])}, right {words(gap['right'])}, top {words(gap['top'])}"
    return (
        f"Joint: {opening.joint}. Clear between the legs {words(opening.clear_width)}. Floor to the "
        f"underside of the head: {heights}. Shim space: {gaps}. The straight edge faces room "
        f"{opening.straight}."
    )


def _window_sizes(opening: OpeningRecord, words: Callable[[int], str], heights: str) -> str:
    lean = ", ".join(f"{side} {degrees:.1f}°" for side, degrees in opening.splay.items() if degrees)
    return (
        f"Joint: {opening.joint}, at the sill as at the head. Reveal {words(opening.reveal)}. At the "
        f"window's frame, clear between the legs {words(opening.clear_width)}, between sill and head: "
        f"{heights}. Splay: {lean or 'none'}. The straight edge stands on the window's frame, the other "
        "covers the wall."
    )


def _run_blocks(plan: Plan, opening: OpeningRecord) -> tuple[Block, ...]:
    two_faces = any(s.face for run in opening.runs for s in run.stations)
    rows = [row for run in opening.runs for row in _run_rows(plan, opening, run)]
    head = ("piece", "station", "face", "wall", "piece is", "proud", "remark")
    least, most = (with_unit(opening.proud[key], plan.units) for key in ("least", "most"))
    allowed = f"Asked for: proud by {least} to {most}"
    if opening.kind == "window":
        high = (". Wall and piece: depth from the window's frame. Stations from its inside edge: "
                "legs up from the sill, head and sill from the left.")  # fmt: skip
    else:
        allowed += ", both faces together"
        allowed += "; a single face gets half of it" if two_faces else ""
        high = ". Legs: height above the finished floor. Head: distance from the framing on the left."
    return (table(head, rows, "lrlrrrl", "How proud it stands at each station"), allowed + high)


def _run_rows(plan: Plan, opening: OpeningRecord, run: RunRecord) -> list[tuple[str, ...]]:
    worst = next((k for k, station in enumerate(run.stations) if station.proud == run.worst), -1)
    return [
        (
            run.role if k == 0 else "",
            show(station.at, plan.units, plan.step),
            station.face or "",
            # no coarser than what is said of them in words, or the two would not agree
            *(show(w, plan.units) for w in (station.wall, station.piece, station.proud)),
            _remark(plan, opening, run, station) if k == worst else "",
        )
        for k, station in enumerate(run.stations)
    ]


def _remark(plan: Plan, opening: OpeningRecord, run: RunRecord, station: StationRecord) -> str:
    if not run.over:
        return "worst" if run.worst > 0 else ""
    limit = opening.proud["most"]
    if station.face:
        limit //= 2
    return f"worst, over by {up_words(run.worst - limit, plan.units)}"


def _corner_table(plan: Plan, opening: OpeningRecord) -> Table:
    rows = [
        (corner if " " in corner else f"upper {corner}",
         *(show(length, plan.units, plan.step) for length in both.values()))
        for corner, both in opening.corners.items()
    ]  # fmt: skip
    head = ("corner", "leg is", "head is")
    if opening.kind == "window":
        return Table((*head[:2], "head or sill is"), tuple(rows), "lrr", "Depth at the inside corners")
    return Table(head, tuple(rows), "lrr", "Width at the inside corners")
