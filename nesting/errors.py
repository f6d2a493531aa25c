"""What can go wrong, in a user's words.

Each error carries the exit code of the command line (0 done, 1 fault in the job, 2 wrong use or an
unreadable file, 3 no plan, 4 a plan failed its check).
"""

from __future__ import annotations

from dataclasses import dataclass


class NestingError(Exception):
    """Base of everything that is reported to the user without a traceback."""

    exit_code = 1


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault of an input file.

    Attributes
    ----------
    where : str
        File and line, ``job.yaml:12``, or a cell of a spreadsheet.
    what : str
        The thing at fault, in the words of the file: ``stock 2 (birch 4x8), length``.
    written : str
        The value as written; empty where something is missing.
    right : str
        What would be right.
    """

    where: str
    what: str
    written: str
    right: str

    def __str__(self) -> str:
        written = f" is written {self.written!r}" if self.written else ""
        return f"{self.where}: {self.what}{written}: {self.right}"


class JobError(NestingError):
    """The job has faults; all of them are carried (exit code 1)."""

    exit_code = 1

    def __init__(self, faults: list[Fault]) -> None:
        super().__init__("\n".join(map(str, faults)))
        self.faults = faults


class FileError(NestingError):
    """A file or folder cannot be read or written, or the command is used wrongly (exit code 2)."""

    exit_code = 2


class NoPlanError(NestingError):
    """There is no plan within the counts, or none was found in time; the text says which (3)."""

    exit_code = 3


class CheckFailedError(NestingError):
    """A plan broke a hard rule (exit code 4)."""

    exit_code = 4
