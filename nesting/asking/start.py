"""`nesting start`: the dialogue, the file it ends with, and what is kept if it is left before."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from nesting.asking.dialogue import WORDS, Dialogue, Stopped
from nesting.asking.writing import added, job_text
from nesting.errors import FileError, JobError
from nesting.job.job import Job
from nesting.job.outline import Row, Table, Text, read_outline
from nesting.job.reading import LARGEST_FILE, parse_job, read_job
from nesting.lengths import with_unit
from nesting.work.wanted import wanted

LISTS = ("stock", "openings", "parts")
HEADER = "answers to nesting start, one a line; give the command again to go on with them"


class LeftError(FileError):
    """The questions were left before their end; nothing was written but the answers (exit code 2)."""


@dataclass(slots=True)
class Start:
    """One run of the command.

    Parameters
    ----------
    path : Path
        The job file; added to if it is there.
    ask, say : callable
        Show a question and give the line typed; show a line.
    """

    path: Path
    ask: Callable[[str], str]
    say: Callable[[str], None]

    def run(self) -> None:
        """Ask, and write the job file.

        Raises
        ------
        LeftError
            If the user leaves; what is kept is said.
        FileError
            If the file is not to be touched, or cannot be written.
        JobError
            If the file is there and has faults.
        """
        base, text = self._base()
        self._writable()
        dialogue = Dialogue(self.ask, self.say, self._keep, base)
        try:
            self.say(WORDS)
            self._go_on(dialogue)
            while True:
                dialogue.run()
                if self._finished(dialogue, base, text):
                    return
                dialogue.back()
        except (EOFError, KeyboardInterrupt, Stopped) as error:
            count = len(dialogue.answers)
            self.say("")
            left = "left before the first answer: nothing is written"
            if count:
                kept = "1 answer is" if count == 1 else f"{count} answers are"
                left = (f"left before the end: the job is not written; {kept} kept in "
                        f"{self._part}, and nesting start {self.path} goes on with them")
            raise LeftError(left) from error

    @property
    def _part(self) -> Path:
        return self.path.with_name(self.path.name + ".part")

    def _base(self) -> tuple[Table, str]:
        if not self.path.exists():
            return Table(), ""
        job = read_job(self.path)
        text = self.path.read_bytes().decode("utf-8-sig")
        base = read_outline(text, str(self.path))[0]
        there = [key for key in LISTS if not isinstance(base.get(Text(key), Row()), Row)]
        if there:
            raise FileError(f"{self.path}: its {' and '.join(there)} stand in a spreadsheet; add there")
        self.say(f"{self.path} is there already: {_counted(job)}.")
        if not self._yes("Add to it?"):
            raise FileError(f"{self.path} is left as it is; give another name for a new job")
        return base, text

    def _writable(self) -> None:
        """Say before the first question that the last would be in vain."""
        folder = self.path.parent
        if not folder.is_dir():
            raise FileError(f"{self.path}: cannot be written: there is no folder {folder}")
        if not os.access(self.path if self.path.exists() else folder, os.W_OK):
            raise FileError(f"{self.path}: cannot be written")

    def _yes(self, question: str) -> bool:
        while True:
            try:
                typed = self.ask(f"{question} yes or no [yes]: ").strip().casefold()
            except (EOFError, KeyboardInterrupt) as error:
                self.say("")
                raise LeftError("left before the first answer: nothing is written") from error
            if typed in ("", "y", "yes", "n", "no"):
                return typed in ("", "y", "yes")

    def _keep(self, so_far: list[tuple[str, str]]) -> None:
        """Write the answers beside the job file, so that no closed window loses them."""
        if not so_far:
            self._part.unlink(missing_ok=True)
            return
        lines = [f"{HEADER}", *(f"{typed}\t{asked.strip()}" for typed, asked in so_far)]
        _write(self._part, "\n".join(lines) + "\n")

    def _go_on(self, dialogue: Dialogue) -> None:
        if not self._part.is_file() or self._part.stat().st_size > LARGEST_FILE:
            return
        text = self._part.read_text(encoding="utf-8", errors="replace")
        typed = [line.partition("\t")[0] for line in text.splitlines()[1:]]
        if text.splitlines()[:1] != [HEADER] or not typed:
            return
        self.say(f"{len(typed)} answers from before are in {self._part}.")
        if self._yes("Go on with them?"):
            taken = dialogue.replay(typed)
            if taken < len(typed):
                self.say(f"{taken} of them still fit; going on from there.")
            last = next(reversed(dialogue.so_far), ("", "nothing"))
            self.say(f"The last was: {last[1].strip()}: {last[0]} (list shows all)")

    def _finished(self, dialogue: Dialogue, base: Table, text: str) -> bool:
        """Show what came out and write it, if it is wanted."""
        made = added(text, base, dialogue.answers) if base else job_text(dialogue.answers)
        try:
            job = parse_job(made, str(self.path))
            _same(base, read_outline(made, str(self.path))[0])
            wanted(job)  # the pieces can be made
        except (JobError, FileError) as error:
            self.say(f"That does not make a job yet:\n{error}")
            return False
        self.say("")
        for line in summary(job):
            self.say(line)
        while True:
            word = self.ask(f"Write {self.path}? yes, or back [yes]: ").strip().casefold()
            if word in ("back", "no", "n"):
                return False
            if word == "stop":
                raise Stopped
            if word in ("", "y", "yes"):
                break
        _write(self.path, made)
        self._part.unlink(missing_ok=True)
        self.say(f"{self.path} is written. Look at it with: nesting parts {self.path}")
        return True


def _same(base: Table, made: Table) -> None:
    """What was in the file must be in it still."""
    for key, value in base.items():
        now = made.get(key)
        if isinstance(value, Row):
            kept = isinstance(now, Row) and now[: len(value)] == value
        elif isinstance(value, Table):
            kept = isinstance(now, Table) and all(now.get(k) == v for k, v in value.items())
        else:
            kept = now == value
        if not kept:
            raise FileError(f"{key}: nothing can be added as it is written there; write one entry a line")


def _write(path: Path, text: str) -> None:
    """Write the whole file or nothing."""
    passing = path.with_name(path.name + ".new")
    try:
        passing.write_text(text, encoding="utf-8")
        passing.replace(path)
    except OSError as error:
        raise FileError(f"{path}: cannot be written: {error.strerror or error}") from error


def summary(job: Job) -> list[str]:
    """What the job holds, in a few lines, and what is improbable in it."""
    lines = [f"{job.name}: {_counted(job)}"]
    for opening in job.openings:
        stations = [reading for run in (opening.wall.left, opening.wall.right, opening.wall.head,
                                        opening.wall.sill) for reading in run]
        thick = sorted(reading.thickness for reading in stations)
        width = min(opening.width.low, opening.width.middle, opening.width.high)
        lines.append(f"  {opening.name}: {opening.kind}, {' or '.join(opening.material)}, "
                     f"{with_unit(width, job.units)} wide at the least, {len(stations)} readings from "
                     f"{with_unit(thick[0], job.units)} to {with_unit(thick[-1], job.units)}")
    lines += [f"  {part.count} {part.name}: {part.material}" for part in job.parts]
    lines += [f"  {sheet.name}: {with_unit(sheet.length, job.units)} by {with_unit(sheet.width, job.units)}, "
              f"{sheet.material}" for sheet in job.stock]
    return lines + [f"  look again: {text.partition(': ')[2]}" for text in job.warnings]


def _counted(job: Job) -> str:
    names = {"openings": len(job.openings), "parts": sum(part.count for part in job.parts),
             "stock sizes": len(job.stock)}  # fmt: skip
    return ", ".join(f"{count} {name if count > 1 else name.removesuffix('s')}"
                     for name, count in names.items() if count)
