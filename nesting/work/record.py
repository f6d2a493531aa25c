"""A solved job as its plan: what the job said, the parts, the sheets, the sums and the proof."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, dataclass

from nesting import __version__
from nesting.banding import STRIP_OVER, band_list, banding_defaults, edge_length
from nesting.boards import narrowest
from nesting.cutting.assemble import Cutting, cut_sheet, trim_record
from nesting.cutting.hiding import hidden_of_all
from nesting.cutting.room import TIGHT
from nesting.geometry import rectangle
from nesting.job.job import Job
from nesting.job.models import Opening
from nesting.lengths import FOOT, MM, Units, with_unit
from nesting.openings.frame import horn
from nesting.openings.records import Fit
from nesting.openings.splay import splay_degrees
from nesting.packing.instance import Settings
from nesting.packing.solve import Layout
from nesting.parts import Part
from nesting.plan import (
    AreaRecord,
    BandTotal,
    ChoiceRecord,
    DefaultRecord,
    KeepRecord,
    OpeningRecord,
    Plan,
    PlanPart,
    Program,
    Proof,
    SawRecord,
    Sheet,
    StockRecord,
    Totals,
    band_name,
)
from nesting.report.play import tight_sides
from nesting.stock import Stock
from nesting.work.choosing import Chosen
from nesting.work.measures import measures
from nesting.work.problem import Problem
from nesting.work.wanted import Wanted

SHORT = {
    True: "a dressed size is that at the mill (PS 20), and wood shrinks",
    False: "sheets may be that much short (PS 1)",
}


@dataclass(frozen=True, slots=True)
class Solved:
    """The sheets of one material; ``bound`` of cost less credit, in hundredths.

    No plan of this cost has fewer sheets than ``fewest``; 0 where that is not known.
    """

    problem: Problem
    layouts: tuple[Layout, ...]
    bound: int
    fewest: int = 0


def plan_of(
    job: Job,
    wanted: Wanted,
    solved: Sequence[Solved],
    settings: Settings,
    chosen: Chosen | None = None,
    remarks: Sequence[str] = (),
) -> Plan:
    """Build the plan of a job from the sheets of its materials, which add up.

    Parameters
    ----------
    solved : sequence of Solved
        Parts of other materials are left out; without any it is a draft: all parts and no sheets.
    settings : Settings
        Where plans are not polished, the cuts are not made as neat as they can be either.
    chosen : Chosen, optional
        What other choices of material would come to, and a bound over them.
    remarks : sequence of str
        Further warnings, of how the search ended.
    """
    sheets = _sheets(job, wanted, solved, neat=settings.polish)
    materials = {one.problem.material for one in solved}
    parts = [p for p in wanted.parts if p.material in materials or not solved]
    cut = {placed.number for sheet in sheets for placed in sheet.placed}
    parts += [spare for spare in wanted.spares if spare.number in cut]
    records = tuple(PlanPart.model_validate(asdict(part) | {"board": _board(part)}) for part in parts)
    totals = _totals(job, records, sheets)
    banding = band_list(records, job.units, job.rolls)
    bound = sum(one.bound for one in solved)
    rest = [one for one in solved if chosen and one.problem.material in chosen.rest]
    floor = chosen.floor if chosen else None
    if floor is not None:
        bound = min(bound, floor + sum(one.bound for one in rest))
    saw = job.saw
    return Plan(
        units=job.units,
        step=job.step,
        job=job.name,
        date=job.date,
        seen_from="back" if saw.face_up == "back" else "show",
        program=Program(
            version=__version__, seed=settings.seed, seconds=settings.seconds, job_sha256=job.sha256
        ),
        saw=SawRecord.model_validate(asdict(saw)),
        keep=KeepRecord(
            length=job.keep.length, width=job.keep.width, credit=job.keep.credit / 100
        ),
        lean=float(job.lean),
        priced_by_area=job.priced_by_area,
        stock=tuple(_stock(job, stock) for stock in job.stock),
        openings=tuple(
            _opening(*fit, choices=_choices(fit[0].name, chosen, rest) if solved else _open_choice(*fit[:2]))
            for fit in wanted.fits
        ),
        warnings=(*job.warnings, *wanted.warnings, *_tight(job, sheets), *remarks),
        proof=_proof(totals, bound, _fewest(solved) if floor is None else 0),
        parts=records,
        sheets=sheets,
        totals=totals,
        banding=banding,
        defaults=(
            *(DefaultRecord.model_validate(asdict(one)) for one in job.defaults),
            *banding_defaults(banding, job.units, job.rolls),
        ),
    )


def _sheets(job: Job, wanted: Wanted, solved: Sequence[Solved], *, neat: bool) -> tuple[Sheet, ...]:
    sheets: list[Sheet] = []
    joints = {opening.name: opening.joint for opening in job.openings}
    parts = {part.number: part for part in (*wanted.parts, *wanted.spares)}
    for one in solved:
        problem = one.problem
        numbers = {item: list(free) for item, free in enumerate(problem.numbers)}
        for item, more in enumerate(problem.spares):
            numbers[item] += more
        hidden = {item: hidden_of_all([parts[number] for number in free], joints)
                  for item, free in numbers.items()}  # fmt: skip
        cutting = Cutting(problem.instance, job.materials[problem.material], hidden, neat)
        for layout in one.layouts:
            stock = problem.stock[layout.size]
            sheets.append(cut_sheet(cutting, len(sheets) + 1, layout, numbers, stock))
    return tuple(sheets)


def _board(part: Part) -> str:
    """The narrowest board for a piece of an opening."""
    if part.opening is None:
        return ""
    return narrowest(max(part.width_start, part.width_end)) or "sheet"


def _stock(job: Job, stock: Stock) -> StockRecord:
    material = job.materials[stock.material]
    unit = FOOT if job.units is Units.INCH else 1000 * MM
    weight = None
    if material.weight is not None:
        weight = round(material.weight * (stock.length / unit) * (stock.width / unit), 2)
    return StockRecord(
        name=stock.name,
        material=stock.material,
        length=stock.length,
        width=stock.width,
        thickness=material.thickness,
        price=stock.price / 100,
        count=stock.count,
        trim=trim_record(stock),
        in_shop=stock.in_shop,
        weight=weight,
        grain=material.grain,
        board=stock.board,
        blocked=tuple(rectangle(*zone) for zone in stock.blocked),
        play=stock.play,
    )


def _choices(name: str, chosen: Chosen | None, rest: Sequence[Solved]) -> tuple[ChoiceRecord, ...]:
    """What each material of an opening would come to, with what comes out of the other materials."""
    cost = sum(one.problem.stock[layout.size].price for one in rest for layout in one.layouts)
    bound = sum(one.bound for one in rest)
    return tuple(
        ChoiceRecord(
            material=other.material,
            taken=other.taken,
            cost=None if other.cost is None else (other.cost + cost) / 100,
            lower_bound=None if other.bound is None else (other.bound + bound) / 100,
            why=other.why,
        )
        for other in (chosen.others.get(name, ()) if chosen else ())
    )


def _open_choice(opening: Opening, material: str) -> tuple[ChoiceRecord, ...]:
    """The materials that an opening of a draft may be of; it has the sizes for the first of them."""
    several = opening.material if len(opening.material) > 1 else ()
    return tuple(ChoiceRecord(material=name, taken=name == material) for name in several)


def _opening(
    opening: Opening, material: str, fit: Fit, choices: tuple[ChoiceRecord, ...] = ()
) -> OpeningRecord:
    return OpeningRecord.model_validate(
        {
            "name": opening.name,
            "material": material,
            "joint": opening.joint,
            "straight": opening.straight,
            "clear_width": fit.clear_width,
            "height": fit.height,
            "gap": opening.gap.model_dump(),
            "proud": opening.proud.model_dump(),
            "corners": fit.corners,
            "notes": fit.notes,
            "kind": opening.kind,
            "horn": horn(opening),
            "reveal": opening.reveal if opening.kind == "window" else 0,
            "splay": splay_degrees(opening),
            "choices": choices,
            **measures(opening, fit),
        }
    )


def _totals(job: Job, parts: Sequence[PlanPart], sheets: Sequence[Sheet]) -> Totals:
    areas = {name: sum(getattr(sheet.area, name) for sheet in sheets) for name in AreaRecord.model_fields}
    return Totals(
        sheets=dict(Counter(sheet.stock for sheet in sheets)),
        cost=sum(round(sheet.price * 100) for sheet in sheets) / 100,
        credit=_credit(job, areas["keep"]) / 100,
        area=AreaRecord(**areas),
        used_percent=round(100 * areas["parts"] / areas["sheet"], 2) if areas["sheet"] else 0.0,
        banding=_banding(job, parts),
    )


def _credit(job: Job, keep: int) -> int:
    """Hundredths of money for what is kept, rounded down."""
    unit = FOOT if job.units is Units.INCH else 1000 * MM
    return int(job.keep.credit) * keep // (2 * unit * unit)


def _banding(job: Job, parts: Sequence[PlanPart]) -> dict[str, BandTotal]:
    """Strips by material and thickness; each is longer than its edge by an inch (25 mm)."""
    totals: dict[str, BandTotal] = {}
    for part in parts:
        name = band_name(part, job.units)
        for edge in part.band:
            known = totals.get(name)
            totals[name] = BandTotal(
                thickness=part.band_thickness,
                strips=1 + (known.strips if known else 0),
                length=edge_length(part, edge) + STRIP_OVER[job.units] + (known.length if known else 0),
            )
    return totals


def _fewest(solved: Sequence[Solved]) -> int:
    """Of all materials together, where it is known of each."""
    return sum(one.fewest for one in solved) if all(one.fewest for one in solved) else 0


def _proof(totals: Totals, bound: int, fewest: int) -> Proof:
    value = round(totals.cost * 100) - round(totals.credit * 100)
    bound = min(bound, value)
    proved = bound >= value
    return Proof(
        value=value / 100,
        lower_bound=bound / 100,
        gap=round((value - bound) / value, 6) if value else 0.0,
        proved=proved,
        status="optimal" if proved else "feasible",
        fewest_sheets=fewest if proved else 0,
    )


def _tight(job: Job, sheets: Sequence[Sheet]) -> list[str]:
    """Sheets on which a plan leaves less than PS 1 lets them be short."""
    boards = {stock.name: bool(stock.board) for stock in job.stock}
    found, least = [], with_unit(TIGHT, job.units)
    for sheet in sheets:
        if tight := tight_sides(sheet):
            found.append(
                f"sheet {sheet.number} ({sheet.stock}) has less than {least} to spare in its "
                f"{' and '.join(tight)}; {SHORT[boards[sheet.stock]]}: measure it first"
            )
    return found
