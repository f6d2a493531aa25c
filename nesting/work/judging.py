"""Judge a plan file against the job that it says it is for."""

from __future__ import annotations

from nesting.check import Violation, check_against_job
from nesting.job.job import Job
from nesting.plan import Plan
from nesting.work.wanted import wanted


def against_job(plan: Plan, job: Job) -> list[Violation]:
    """List where a plan is not of this job; openings in the materials that the plan has chosen.

    Raises
    ------
    JobError
        If an opening of the job takes no frame.
    """
    named = {opening.name: opening.material for opening in plan.openings}
    choice = {
        opening.name: named[opening.name]
        for opening in job.openings
        if named.get(opening.name) in opening.material
    }
    want = wanted(job, choice)
    return check_against_job(
        plan,
        (*want.parts, *want.spares),
        job.stock,
        job.saw,
        materials=list(job.materials.values()),
        keep=job.keep,
        lean=float(job.lean),
    )
