"""Judge the figures: areas, totals, banding, and what is said to be proved about the money."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction

from nesting import lengths
from nesting.check import shapes
from nesting.check.violation import Code, Violation, cents, say, say_cents
from nesting.plan import AreaRecord, Edge, Plan, PlanPart, Pt, Sheet, band_name

_AREAS: tuple[tuple[str, Code], ...] = (
    ("sheet", "area-sheet"), ("parts", "area-parts"), ("kerf", "area-kerf"), ("keep", "area-keep"),
    ("scrap", "area-scrap"), ("trim", "area-trim"),
)  # fmt: skip
_EDGES: tuple[Edge, ...] = ("straight", "end", "far", "start")  # from corner 0, 1, 2, 3
_NOISE = Fraction(1, 10**6)  # of the job's money: what a float may be off


def judge_areas(plan: Plan, sheet: Sheet) -> Iterator[Violation]:
    """Judge a sheet's areas, each against the polygons; kerf is the rest.

    With a kerf of 0 and rounded slants that rest may be a hair below 0; whether it is what the cuts
    took is judged with the cuts.
    """
    scrap = [offcut for offcut in sheet.offcuts if not offcut.keep]
    figures = {
        "sheet": 2 * sheet.length * sheet.width,
        "parts": _area([placed.corners for placed in sheet.placed]),
        "keep": _area([offcut.corners for offcut in sheet.offcuts if offcut.keep]),
        "scrap": _area([offcut.corners for offcut in scrap]),
        "trim": _area([offcut.corners for offcut in scrap if offcut.trim]),
    }
    figures["kerf"] = figures["sheet"] - figures["parts"] - figures["keep"] - figures["scrap"]
    for name, code in _AREAS:
        said, right = getattr(sheet.area, name), figures[name]
        if said != right:
            yield Violation(code, sheet.number, None, f"{name}: {_square(plan, said)} written, "
                                                      f"{_square(plan, right)} by the corners")


def _area(polygons: Sequence[Sequence[Pt]]) -> int:
    return sum(abs(int(shapes.twice_area(corners))) for corners in polygons)


def _square(plan: Plan, twice_area: int) -> str:
    return f"{float(Fraction(twice_area, 2 * plan.units.size**2)):.6f}"


def judge_totals(plan: Plan) -> Iterator[Violation]:
    """Judge the sums over the sheets."""
    for code, text in (*_sums(plan), *_money(plan), *_banding(plan)):
        yield Violation(code, None, None, text)


def _sums(plan: Plan) -> Iterator[tuple[Code, str]]:
    used, totals = Counter(sheet.stock for sheet in plan.sheets), plan.totals
    if {name: number for name, number in totals.sheets.items() if number} != used:
        yield "total-sheets", f"{dict(totals.sheets)} written, {dict(used)} used"
    for name in AreaRecord.model_fields:
        said, right = getattr(totals.area, name), sum(getattr(s.area, name) for s in plan.sheets)
        if said != right:
            yield "total-area", (f"{name}: {_square(plan, said)} written, the sheets make "
                                 f"{_square(plan, right)}")
    parts, whole = totals.area.parts, totals.area.sheet
    right_percent = Fraction(100 * parts, whole) if whole else Fraction(0)
    if abs(Fraction(totals.used_percent) - right_percent) > Fraction(1, 20) + _NOISE:
        yield "total-used", f"{totals.used_percent:g} % written, {float(right_percent):.2f} % it is"


def _money(plan: Plan) -> Iterator[tuple[Code, str]]:
    totals, proof = plan.totals, plan.proof
    cost = sum(cents(sheet.price) for sheet in plan.sheets)
    if cents(totals.cost) != cost:
        yield "total-cost", (f"{say_cents(cents(totals.cost))} written, the sheets cost "
                             f"{say_cents(cost)}")
    credit, slack = _credit(plan)
    if abs(100 * Fraction(totals.credit) - credit) > slack + _NOISE:
        yield "total-credit", (f"{say_cents(cents(totals.credit))} written, the kept offcuts are worth "
                               f"{say_cents(round(credit))}")
    value = cents(totals.cost) - cents(totals.credit)
    if cents(proof.value) != value:
        yield "proof-value", (f"{say_cents(cents(proof.value))} written, cost less credit is "
                              f"{say_cents(value)}")
    yield from _proof(plan)


def _credit(plan: Plan) -> tuple[Fraction, int]:
    """Hundredths of money for what is kept, and one for each offcut whose worth was rounded."""
    kept = [offcut.corners for sheet in plan.sheets for offcut in sheet.offcuts if offcut.keep]
    unit = lengths.FOOT if plan.units is lengths.Units.INCH else 1000 * lengths.MM
    rate = 100 * Fraction(plan.keep.credit)
    return rate * Fraction(_area(kept), 2 * unit**2), len(kept) if rate else 0


def _proof(plan: Plan) -> Iterator[tuple[Code, str]]:
    proof = plan.proof
    value, bound = Fraction(proof.value), Fraction(proof.lower_bound)
    if bound > value + _NOISE:
        yield "proof-bound", f"the bound {proof.lower_bound:g} is above the value {proof.value:g}"
    if proof.fewest_sheets > len(plan.sheets):
        yield "proof-bound", f"at least {proof.fewest_sheets} sheets written, there are {len(plan.sheets)}"
    gap = (value - bound) / value if value else Fraction(0)
    if abs(Fraction(proof.gap) - gap) > Fraction(1, 10**4):
        yield "proof-gap", f"{proof.gap:g} written, (value - bound) / value is {float(gap):.6f}"
    if proof.proved and bound < value - _NOISE:
        yield "proof-status", "called proved, and the bound is below the value"
    if proof.proved != (proof.status == "optimal"):
        yield "proof-status", f"proved is {proof.proved}, and the status {proof.status}"


def _banding(plan: Plan) -> Iterator[tuple[Code, str]]:
    strips = [(part, edge) for part in plan.parts for edge in sorted(set(part.band))]
    names = {band_name(part, plan.units) for part, _ in strips}
    if set(plan.totals.banding) != names:
        yield "total-banding", (f"listed for {sorted(plan.totals.banding)}, needed for "
                                f"{sorted(names)}")
    for name in sorted(names & set(plan.totals.banding)):
        total = plan.totals.banding[name]
        edges = [edge_size(part, edge) for part, edge in strips if band_name(part, plan.units) == name]
        over = lengths.INCH if plan.units is lengths.Units.INCH else 25 * lengths.MM
        length = sum(run + over for run, _ in edges)
        off = shapes.size(total.length - length) > sum(slack for _, slack in edges)
        if off or total.strips != len(edges) or total.thickness <= 0:
            yield "total-banding", (f"{name}: {total.strips} strips, {say(total.length, plan.units)} "
                                    f"written; {len(edges)} of {say(length, plan.units)} are needed")


def edge_size(part: PlanPart, edge: Edge) -> tuple[shapes.Number, int]:
    """Length of a part's edge, and the slack where it is slanted against the straight one."""
    i = _EDGES.index(edge)
    (x0, y0), (x1, y1) = part.outline[i], part.outline[(i + 1) % 4]
    slack = shapes.SLACK if x0 != x1 and y0 != y1 else 0
    return shapes.root(shapes.distance_squared((x0, y0), (x1, y1))), slack
