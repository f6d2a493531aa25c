"""The inner loops, compiled where numba is at hand, and plain Python where it is not.

Functions marked with :func:`kernel` are plain Python over whole numbers and arrays. :func:`load` gives the
same functions compiled. Machine code is kept in a folder of its own for each version of these functions, of
numba and of the processor, so only the very first run has to wait for the compiler, which works in a child
process while the plain functions go on. Both give the same plans: they use whole numbers, and of floats only
what every machine rounds alike (sums, products, quotients, square roots).
"""

from __future__ import annotations

import hashlib
import importlib
import importlib.util
import os
import platform
import signal
import subprocess
import sys
import threading
import time
import types
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any, TypeVar

from nesting.packing.loading import without

F = TypeVar("F", bound=Callable[..., Any])
PLAIN = "NESTING_PLAIN"  # set in the environment: never compile
READY, BUSY = "ready", "busy"  # files in the folder
MARKED = (  # modules that have some
    "tables", "fitting", "leaning", "trees", "taking", "filling", "tightness", "search", "pricing", "lying",
    "joining", "dearest",
)  # fmt: skip
BEAT = 1.0  # seconds, after which whoever compiles says again that it does
PATIENCE = 20.0  # seconds without a word until it has come to nothing
_marked: list[Callable[..., Any]] = []
_loaded: dict[str, Callable[..., Any]] = {}


def kernel(function: F) -> F:
    """Mark a function to be compiled; it calls only others that are marked."""
    _marked.append(function)
    return function


def available() -> bool:
    """Whether numba is installed and not switched off, and there is a place to keep what it makes."""
    if os.environ.get(PLAIN) or importlib.util.find_spec("numba") is None:
        return False
    try:
        folder()
    except (OSError, RuntimeError):  # who runs this has no home
        return False
    return True


@cache
def folder() -> Path:
    """Where the machine code of just these functions is kept.

    Raises
    ------
    RuntimeError
        If no home is known.
    """
    files = [Path(__file__).with_name(f"{name}.py") for name in MARKED]
    told = [file.read_bytes() for file in files]
    told += [str(text).encode() for text in (version("numba"), sys.version, platform.processor(), *files)]
    base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return base / "nesting" / hashlib.sha256(b"\0".join(told)).hexdigest()[:16]


def ready() -> bool:
    """Whether :func:`load` is quick."""
    return bool(_loaded) or (available() and os.path.exists(folder() / READY))


def prepare() -> subprocess.Popen[bytes] | None:
    """Compile in a child process; None where that cannot be, or needs not."""
    if not available() or ready():
        return None
    busy = folder() / BUSY
    try:
        folder().mkdir(parents=True, exist_ok=True)
        if not under_way():
            busy.unlink(missing_ok=True)  # whoever began it did not come to the end
        busy.touch(exist_ok=False)
    except OSError:
        return None  # another is at it, or nothing can be kept here
    command = [sys.executable, "-P", "-m", "nesting.packing.warm"]  # not what lies in the current folder
    where = {**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)}
    quiet = subprocess.DEVNULL
    return subprocess.Popen(  # in a session of its own: it goes on where the terminal is closed
        command, stdin=quiet, stdout=quiet, stderr=quiet, env=where, start_new_session=True)  # fmt: skip


def under_way() -> bool:
    """Whether somebody compiles now."""
    try:
        return time.time() - (folder() / BUSY).stat().st_mtime <= PATIENCE
    except OSError:
        return False


def coming() -> bool:
    """Whether compiled loops are there, or will be: not where nothing can be kept, or compiling failed."""
    return available() and (ready() or under_way())


def load() -> dict[str, Callable[..., Any]]:
    """The marked functions, compiled, by name; compiles what is not in the folder."""
    if not _loaded:
        with undisturbed():
            _load()
    return _loaded


def _load() -> None:
    for name in MARKED:
        importlib.import_module(f"nesting.packing.{name}")
    with without("scipy"):  # for linear algebra, which takes 0.15 s and no loop needs
        import numba  # noqa: PLC0415 - half a second, and not needed where it is proved at once
        import numba.np.arraymath  # noqa: PLC0415 - it would ask for it at the first call

    numba.config.CACHE_DIR = str(folder())  # type: ignore[attr-defined]
    scopes = []
    for function in _marked:
        scope = dict(function.__globals__)
        scopes.append(scope)
        twin = types.FunctionType(function.__code__, scope, function.__name__, function.__defaults__)
        twin.__module__ = function.__module__
        twin.__qualname__ = function.__qualname__
        _loaded[function.__name__] = numba.njit(cache=True, nogil=True, error_model="numpy")(twin)
    for scope in scopes:  # compiled at the first call, when all are there
        scope.update({name: _loaded[name] for name in scope.keys() & _loaded.keys()})


@contextmanager
def undisturbed() -> Iterator[None]:
    """Hold back an interrupt until the end: numba, while it loads, loses it or makes another error of it."""
    elsewhere = threading.current_thread() is not threading.main_thread()
    if elsewhere or signal.getsignal(signal.SIGINT) is None:  # None: somebody else's, not Python's
        yield
        return
    pressed: list[int] = []
    usual = signal.signal(signal.SIGINT, lambda *_: pressed.append(1))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, usual)
    if pressed and callable(usual):
        usual(signal.SIGINT, None)


class Loops:
    """Calls marked functions: the compiled ones once they are loaded, the plain ones until then."""

    def __init__(self) -> None:
        self.compiled: dict[str, Callable[..., Any]] = {}

    def __call__(self, function: Callable[..., Any], *values: Any) -> Any:
        """Call with arrays, and tuples of arrays; plain functions see the same memory through views."""
        if self.compiled:
            with undisturbed():
                return self.compiled[function.__name__](*values)
        return function(*map(_view, values))


def _view(value: Any) -> Any:
    if hasattr(value, "_fields"):
        return type(value)(*(memoryview(array) for array in value))
    if hasattr(value, "ndim"):
        return memoryview(value) if value.ndim else value.item()
    return value
