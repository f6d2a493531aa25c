"""Libraries that others ask for and nothing here needs: each takes a share of the wait for a small job."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from types import ModuleType
from typing import Any


@contextmanager
def without(name: str) -> Iterator[None]:
    """Hide a library from what is loaded meanwhile, and can do without it."""
    if name in sys.modules:
        yield
        return
    sys.modules[name] = None  # type: ignore[assignment]  # as the import system marks what is not there
    try:
        yield
    finally:
        del sys.modules[name]


@contextmanager
def deferred(name: str) -> Iterator[None]:
    """Put off a library that what is loaded meanwhile names in annotations, until it is truly used."""
    if name in sys.modules:
        yield
        return
    stand_in = sys.modules[name] = _Later(name)
    try:
        yield
    finally:
        stand_in.named = False
        if sys.modules.get(name) is stand_in:
            del sys.modules[name]


class _Later(ModuleType):
    """Stands for a library that is loaded at the first use; while it is only named any class will do."""

    named = True

    def __getattr__(self, name: str) -> Any:
        if name.startswith("__"):  # what the import system asks of any module
            raise AttributeError(name)
        return type(name, (), {}) if self.named else getattr(import_module(self.__name__), name)
