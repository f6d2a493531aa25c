"""What a job wants cut: the parts of its openings, in the materials chosen, and the loose ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from nesting.errors import Fault, JobError
from nesting.job.job import Job
from nesting.job.models import Opening
from nesting.openings.fit import fit_opening
from nesting.openings.records import Fit
from nesting.parts import Part

Choice = Mapping[str, str]  # material by opening


@dataclass(frozen=True, slots=True)
class Wanted:
    """The numbered parts of a job, where each stands in the file, and how its openings were fitted."""

    parts: tuple[Part, ...]
    places: tuple[str, ...]
    fits: tuple[tuple[Opening, str, Fit], ...]

    def only(self, material: str) -> Wanted:
        """The parts of one material, with the openings they are for."""
        kept = [at for at, part in enumerate(self.parts) if part.material == material]
        return Wanted(
            tuple(self.parts[at] for at in kept),
            tuple(self.places[at] for at in kept),
            tuple(fit for fit in self.fits if fit[1] == material),
        )

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the fits warn of, with the opening's name."""
        return tuple(f"{opening.name}: {text}" for opening, _, fit in self.fits for text in fit.warnings)


def wanted(job: Job, choice: Choice | None = None) -> Wanted:
    """Fit all openings and number all parts.

    Parameters
    ----------
    choice : mapping, optional
        The material of each opening that names several; left out, the first named.

    Raises
    ------
    JobError
        All openings in which no frame can be built.
    """
    fits: list[tuple[Opening, str, Fit]] = []
    drafts: list[tuple[Part, str]] = []
    faults: list[Fault] = []
    for index, opening in enumerate(job.openings):
        where = job.where("openings", index)
        material = (choice or {}).get(opening.name, opening.material[0])
        try:
            fit = fit_opening(opening, job.materials[material], job.step, job.units)
        except JobError as error:
            faults += [replace(fault, where=where) for fault in error.faults]
        else:
            fits.append((opening, material, fit))
            drafts += [(part, where) for part in fit.parts]
    if faults:
        raise JobError(faults)
    drafts += _loose(job)
    return Wanted(
        tuple(replace(part, number=number) for number, (part, _) in enumerate(drafts, 1)),
        tuple(where for _, where in drafts),
        tuple(fits),
    )


def _loose(job: Job) -> list[tuple[Part, str]]:
    parts = []
    for index, loose in enumerate(job.parts):
        material = job.materials[loose.material]
        for copy in range(1, loose.count + 1):
            part = Part(
                number=0,
                id=loose.name if loose.count == 1 else f"{loose.name} {copy}",
                material=loose.material,
                thickness=material.thickness,
                length=loose.length,
                width_start=loose.width_start,
                width_end=loose.width_end,
                grain=loose.grain if material.grain else "any",
                may_flip=material.both_faces,
            )
            parts.append((part, job.where("parts", index)))
    return parts
