"""Random jobs, as text, for properties that must hold of every plan."""

from __future__ import annotations

from hypothesis import strategies as st

from nesting.errors import JobError
from nesting.job.job import Job
from nesting.job.reading import parse_job
from nesting.packing.construct import first_plans
from nesting.packing.rules import Rules
from nesting.packing.state import State
from nesting.work.problem import Problem, problem
from nesting.work.wanted import Wanted, wanted

SHEETS = [(96, 48, 94), (120, 48, 131), (120, 60, 175), (144, 48, 160), (60, 60, 70)]
RAILS = ["[118, 55]", "[75, 55, 42]", "[160]"]


@st.composite
def job_texts(draw: st.DrawFn) -> str:
    """A job in inches with loose parts, some of them tapered, on one to three sheet sizes."""
    grain, faces = draw(st.sampled_from(["yes", "no"])), draw(st.sampled_from(["one", "both"]))
    lines = [
        "job: random", "units: inch",
        f"saw: {{kerf: {draw(st.sampled_from(['0', '3/32', '1/8']))}, "
        f"rails: {draw(st.sampled_from(RAILS))}, join: {draw(st.sampled_from(['yes', 'no']))}, "
        f"face_up: {draw(st.sampled_from(['show', 'back']))}}}",
        f"trim: {draw(st.sampled_from(['0', '1/4', '{left: 1/2, lower: 1/8}']))}",
        f"keep: {{length: 24, width: 6, credit: {draw(st.sampled_from(['0', '0.50']))}}}",
        f"materials: {{birch: {{thickness: 23/32, grain: {grain}, faces: {faces}}}}}",
        "stock:",
    ]  # fmt: skip
    for length, width, price in draw(st.lists(st.sampled_from(SHEETS), min_size=1, max_size=3, unique=True)):
        lines.append(f"  - {{name: s{length}x{width}, material: birch, length: {length}, width: {width}, "
                     f"price: {price}}}")  # fmt: skip
    lines.append("parts:")
    for index in range(draw(st.integers(1, 7))):
        lines.append(_part(draw, index))
    return "\n".join(lines) + "\n"


def _part(draw: st.DrawFn, index: int) -> str:
    length, start = draw(st.integers(5 * 32, 90 * 32)), draw(st.integers(2 * 32, 18 * 32))
    end = start + draw(st.sampled_from([0, 0, 0, 4, 9, -13, 40]))
    width = f"[{start / 32}, {end / 32}]" if end != start else f"{start / 32}"
    grain = draw(st.sampled_from(["length", "length", "across", "any"]))
    return (f"  - {{name: p{index}, material: birch, length: {length / 32}, width: {width}, "
            f"count: {draw(st.integers(1, 3))}, grain: {grain}}}")  # fmt: skip


def first_looks(text: str) -> tuple[Job, Wanted, Problem, list[State]] | None:
    """The job, its parts, the birch one and two first plans of it; None where a part has no home."""
    job = parse_job(text, "random.yaml")
    want = wanted(job)
    try:
        one = problem(job, "birch", want, job.stock)
    except JobError:
        return None
    return job, want, one, list(first_plans(Rules(one.instance)))[:2]
