"""Judge whether a plan is one for a given job: its parts, stock, saw, and what it counts as kept."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from nesting.check.violation import Violation, cents
from nesting.job.models import Keep
from nesting.parts import Part
from nesting.plan import Plan, StockRecord
from nesting.stock import Material, Saw, Stock

_PART = ("id", "opening", "role", "material", "thickness", "length", "width_start", "width_end",
         "skew_start", "skew_end", "grain", "may_flip", "band", "band_thickness", "marks",
         "bevels", "spare")  # fmt: skip
_SAW = ("kerf", "rails", "join", "lead_in", "lead_out", "face_up")
_TRIM = ("left", "right", "lower", "upper")


def check_against_job(
    plan: Plan,
    parts: Sequence[Part],
    stock: Sequence[Stock],
    saw: Saw,
    *,
    materials: Sequence[Material],
    keep: Keep,
    lean: float,
) -> list[Violation]:
    """List where a plan is not of the job whose parts, stock and saw are given.

    :func:`nesting.check.check_plan` judges the plan in itself, by what it says the job was; this says
    whether that is what the job is. Both together judge a plan file against a job.

    Parameters
    ----------
    parts : sequence of Part
        All that the job asks for, numbered as in the plan, and its spares, which may be missing; where an
        opening may be of several materials, those of the material that the plan has chosen.
    stock : sequence of Stock
        Every size offered; in any order.
    materials : sequence of Material
        Those of the stock: thickness and grain.
    keep : Keep
        With ``credit`` in hundredths of money.
    lean : float
        Degrees.

    Returns
    -------
    list of Violation
        With the codes ``job-part``, ``job-stock``, ``job-saw``, ``job-keep`` and ``job-lean``.
    """
    return [
        *_parts(plan, parts),
        *_stock(plan, stock, {material.name: material for material in materials}),
        *_settings(plan, saw, keep, lean),
    ]


def _parts(plan: Plan, parts: Sequence[Part]) -> Iterator[Violation]:
    wanted = {part.number: part for part in parts}
    listed = {part.number: part for part in plan.parts}
    for number in sorted(wanted.keys() | listed.keys()):
        if number not in listed and wanted[number].spare:
            continue
        if number not in listed:
            yield Violation("job-part", None, number, f"the job asks for it ({wanted[number].id})")
        elif number not in wanted:
            yield Violation("job-part", None, number, "the job does not ask for it")
        elif differing := _differing(listed[number], wanted[number], _PART):
            yield Violation("job-part", None, number, f"not as the job has it: {', '.join(differing)}")


def _differing(said: Any, right: Any, names: Sequence[str]) -> list[str]:
    return [name for name in names if getattr(said, name) != getattr(right, name)]


def _stock(plan: Plan, stock: Sequence[Stock], materials: dict[str, Material]) -> Iterator[Violation]:
    wanted = {size.name: size for size in stock}
    listed = {size.name: size for size in plan.stock}
    for name in sorted(wanted.keys() | listed.keys()):
        if name not in listed:
            yield Violation("job-stock", None, None, f"{name} is in the job and not in the plan")
        elif name not in wanted:
            yield Violation("job-stock", None, None, f"{name} is not in the job")
        elif differing := _size_differs(listed[name], wanted[name], materials):
            text = f"{name} is not as the job has it: {', '.join(differing)}"
            yield Violation("job-stock", None, None, text)


def _size_differs(said: StockRecord, right: Stock, materials: dict[str, Material]) -> list[str]:
    differing = _differing(said, right, ("material", "length", "width", "count", "in_shop", "play"))
    if cents(said.price) != right.price:
        differing.append("price")
    if _differing(said.trim, right.trim, _TRIM):
        differing.append("trim")
    zones = sorted((min(ring), max(ring)) for ring in said.blocked if ring)
    if zones != sorted(((x0, y0), (x1, y1)) for x0, y0, x1, y1 in right.blocked):
        differing.append("blocked")
    material = materials.get(right.material)
    return differing + (_differing(said, material, ("thickness", "grain")) if material else [])


def _settings(plan: Plan, saw: Saw, keep: Keep, lean: float) -> Iterator[Violation]:
    rails = plan.saw.model_copy(update={"rails": tuple(sorted(plan.saw.rails))})
    if differing := _differing(rails, _sorted(saw), _SAW):
        yield Violation("job-saw", None, None, f"not as the job has it: {', '.join(differing)}")
    kept = _differing(plan.keep, keep, ("length", "width"))
    if cents(plan.keep.credit) != keep.credit:
        kept.append("credit")
    if kept:
        yield Violation("job-keep", None, None, f"not as the job has it: {', '.join(kept)}")
    if plan.lean != float(lean):
        yield Violation("job-lean", None, None, f"{plan.lean:g} degrees; the job says {float(lean):g}")


def _sorted(saw: Saw) -> Saw:
    return Saw(saw.kerf, tuple(sorted(saw.rails)), saw.join, saw.lead_in, saw.lead_out, saw.face_up)
