"""The folder that a command writes to; apart from what is written, which takes longer to load."""

from __future__ import annotations

import tempfile
from pathlib import Path

from nesting.errors import FileError


def prepare(folder: Path) -> None:
    """Make the folder and see that it can be written, before a search is begun.

    Raises
    ------
    FileError
        If it cannot.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError as error:
        raise FileError(f"{folder}: cannot be written: {error.strerror or error}") from error
