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


class Fits:
    """The openings of a job, each fitted once in each material in which it is asked for."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.known: dict[tuple[int, str], Fit | JobError] = {}
        self.loose = _loose(job)

    def fit(self, index: int, material: str) -> Fit:
        """Fit one opening.

        Raises
        ------
        JobError
            If no frame can be built in it, with the opening's line.
        """
        key = index, material
        if key not in self.known:
            self.known[key] = self._fit(index, material)
        found = self.known[key]
        if isinstance(found, JobError):
            raise found
        return found

    def _fit(self, index: int, material: str) -> Fit | JobError:
        job, where = self.job, self.job.where("openings", index)
        try:
            return fit_opening(job.openings[index], job.materials[material], job.step, job.units)
        except JobError as error:
            return JobError([replace(fault, where=where) for fault in error.faults])

    def wanted(self, choice: Choice | None = None, only: str | None = None) -> Wanted:
        """Number the parts of all openings in their materials; see :func:`wanted`.

        ``only`` leaves out all that is of other materials, openings too.
        """
        fits: list[tuple[Opening, str, Fit]] = []
        drafts: list[tuple[Part, str]] = []
        faults: list[Fault] = []
        for index, opening in enumerate(self.job.openings):
            material = (choice or {}).get(opening.name, opening.material[0])
            if only is not None and material != only:
                continue
            try:
                fit = self.fit(index, material)
            except JobError as error:
                faults += error.faults
            else:
                fits.append((opening, material, fit))
                drafts += [(part, self.job.where("openings", index)) for part in fit.parts]
        if faults:
            raise JobError(faults)
        drafts += [draft for draft in self.loose if only in (None, draft[0].material)]
        return Wanted(
            tuple(replace(part, number=number) for number, (part, _) in enumerate(drafts, 1)),
            tuple(where for _, where in drafts),
            tuple(fits),
        )


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
    return Fits(job).wanted(choice)


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
