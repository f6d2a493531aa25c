"""What a job wants cut: the parts of its openings, in the materials chosen, and the loose ones."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from nesting.errors import Fault, JobError
from nesting.job.job import Job
from nesting.job.models import LoosePart, Opening
from nesting.lengths import to_step
from nesting.openings.fit import fit_opening
from nesting.openings.records import Fit
from nesting.parts import Part

Choice = Mapping[str, str]  # material by opening
EDGES = ("straight", "far", "start", "end")


@dataclass(frozen=True, slots=True)
class Wanted:
    """The numbered parts of a job, where each stands in the file, and how its openings were fitted.

    ``spares`` are numbered after them; of these as many are cut as there is room for.
    """

    parts: tuple[Part, ...]
    places: tuple[str, ...]
    fits: tuple[tuple[Opening, str, Fit], ...]
    spares: tuple[Part, ...] = ()

    def only(self, material: str) -> Wanted:
        """The parts of one material, with the openings they are for."""
        kept = [at for at, part in enumerate(self.parts) if part.material == material]
        return Wanted(
            tuple(self.parts[at] for at in kept),
            tuple(self.places[at] for at in kept),
            tuple(fit for fit in self.fits if fit[1] == material),
            tuple(part for part in self.spares if part.material == material),
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
        loose = _loose(job)
        self.loose = [draft for draft in loose if not draft[0].spare]
        self.spares = [part for part, _ in loose if part.spare]

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
            name = entry_name(job, index)
            return JobError([replace(f, where=where, what=f"{name}{f.what}") for f in error.faults])

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
                drafts += [(_kind(part, opening), self.job.where("openings", index)) for part in fit.parts]
        if faults:
            raise JobError(faults)
        drafts += [draft for draft in self.loose if only in (None, draft[0].material)]
        spares = [part for part in self.spares if only in (None, part.material)]
        return Wanted(
            tuple(replace(part, number=number) for number, (part, _) in enumerate(drafts, 1)),
            tuple(where for _, where in drafts),
            tuple(fits),
            tuple(replace(part, number=number) for number, part in enumerate(spares, len(drafts) + 1)),
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


def entry_name(job: Job, index: int) -> str:
    """What a fault of an opening begins with, as the faults of its keys do: ``opening 2 (Hall), ``."""
    return f"opening {index + 1} ({job.openings[index].name}), "


def _kind(part: Part, opening: Opening) -> Part:
    """Iron-on band or solid lipping."""
    if not opening.band:
        return part
    return replace(part, band_kind="lipping" if opening.band.lipping else "iron-on")


def _loose(job: Job) -> list[tuple[Part, str]]:
    parts: list[tuple[Part, str]] = []
    faults: list[Fault] = []
    for index, loose in enumerate(job.parts):
        where = job.where("parts", index)
        size = _cut_size(loose, job.step)
        if min(size) <= 0:
            right = "leaves nothing of the part: it is taken off the sizes given"
            faults.append(Fault(where, f"part {loose.name}, band", "", right))
            continue
        parts += [(part, where) for part in _copies(job, loose, size)]
    if faults:
        raise JobError(faults)
    return parts


def _copies(job: Job, loose: LoosePart, size: tuple[int, int, int]) -> Iterator[Part]:
    material, band = job.materials[loose.material], loose.band
    name = loose.name
    names = [f"{name} {copy}" for copy in range(1, loose.count + 1)] if loose.count > 1 else [name]
    names += [f"{name} spare {copy}" for copy in range(1, loose.spare + 1)]
    for copy, named in enumerate(names):
        spare = copy >= loose.count
        yield Part(
            number=0,
            id=named,
            material=loose.material,
            thickness=material.thickness,
            length=size[0],
            width_start=size[1],
            width_end=size[2],
            grain=loose.grain if material.grain else "any",
            may_flip=material.both_faces,
            band=tuple(edge for edge in EDGES if edge in band.edges) if band and not spare else (),
            band_thickness=band.thickness if band and not spare else 0,
            band_kind=("lipping" if band.lipping else "iron-on") if band and not spare else "",
            spare=spare,
        )


def _cut_size(loose: LoosePart, step: int) -> tuple[int, int, int]:
    """Length and the two widths as cut: what is deducted for banding is taken off, to the nearest step.

    The far edge may be slanted; it moves in square to itself, and the widths are those at the new ends.
    """
    off = loose.band.deducted if loose.band else 0
    if not loose.band or not off:
        return loose.length, loose.width_start, loose.width_end
    at = {edge: off if edge in loose.band.edges else 0 for edge in EDGES}
    slope = (loose.width_end - loose.width_start) / loose.length
    lost = at["straight"] + at["far"] * math.hypot(1, slope)
    start = loose.width_start + slope * at["start"] - lost
    end = loose.width_end - slope * at["end"] - lost
    length = loose.length - at["start"] - at["end"]
    cut = [to_step(round(size), step) for size in (length, start, end)]
    return cut[0], cut[1], cut[2]
