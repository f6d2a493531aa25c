"""Work beside the rest: in a process split off where the system does that well, else when it is asked for.

Planning ends with work of which no piece waits for another: the looks at other ways to buy, and the drawings.
Python runs one thing at a time in a process, so a second core is used by a second process. It is split off
(forked) with all that is in memory, so nothing is loaded twice. Linux only: elsewhere system libraries do not
bear it, and a new process would take longer to load than the work takes.
"""

from __future__ import annotations

import contextlib
import math
import os
import pickle
import queue
import signal
import sys
import threading
import time
import warnings
from collections.abc import Callable, Iterator
from multiprocessing import Pipe
from multiprocessing.connection import Connection
from types import TracebackType
from typing import Generic, TypeVar

T = TypeVar("T")
PATIENCE = 2.0  # seconds beyond its end until the other process is given up


class Beside(Generic[T]):
    """The answer to come of a piece of work; used with ``with``, at whose end it is ended if it still runs.

    Parameters
    ----------
    work : callable
        What it returns must be picklable, what it changes in memory is lost. It is deaf to an interrupt.
    end : float
        When the work means to be done, on the clock of ``time.monotonic``. What is late by far has gone
        wrong, and is done here.
    late : callable, optional
        What to take instead of work that is late by far, so that nobody waits for it.
    """

    def __init__(self, work: Callable[[], T], end: float, late: Callable[[], T] | None = None) -> None:
        self.work = work
        self.end = end
        self.late = late
        self._child = 0
        self._from: Connection | None = None

    def __enter__(self) -> Beside[T]:
        if can_fork():
            self._split_off()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.stop()

    def stop(self) -> None:
        """End it: its answer is not needed any more."""
        if self._child:
            with contextlib.suppress(ProcessLookupError):
                os.kill(self._child, signal.SIGKILL)
            os.waitpid(self._child, 0)
            self._child = 0
        if self._from:
            self._from.close()

    def result(self) -> T:
        """Wait for the answer; where none comes, since something was raised, the work is done here."""
        left = self.end + PATIENCE - time.monotonic()
        if self._from and self._from.poll(None if math.isinf(left) else max(0.0, left)):
            with contextlib.suppress(EOFError):
                return pickle.loads(self._from.recv_bytes())  # type: ignore[no-any-return]
        elif self.late and (self._from or left < 0):
            return self.late()
        return self.work()

    def _split_off(self) -> None:
        self._from, to = Pipe(duplex=False)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)  # of threads: those of libraries are idle
            self._child = os.fork()
        if self._child:
            to.close()
            return
        try:
            self._from.close()  # or it would wait for ever for a parent that is gone to read
            signal.signal(signal.SIGINT, signal.SIG_IGN)
            to.send_bytes(pickle.dumps(self.work()))
        finally:
            os._exit(0)  # nothing of the parent's is closed or written a second time


class Meanwhile(Generic[T]):
    """The answer of work that leaves Python free, by a thread that nobody waits for at the end.

    For a library that has threads of its own: a process split off does not have them, and would wait for them
    for ever.
    """

    def __init__(self, work: Callable[[], T]) -> None:
        self._work = work
        self._answers: queue.SimpleQueue[tuple[T | None, Exception | None]] = queue.SimpleQueue()
        threading.Thread(target=self._do, name="meanwhile", daemon=True).start()

    def result(self, latest: float, late: T) -> T:
        """Wait for it until then, on the clock of ``time.monotonic``; else take what is for want of time."""
        left = latest - time.monotonic()
        try:
            answer, error = self._answers.get(timeout=None if math.isinf(left) else max(0.0, left))
        except queue.Empty:
            return late
        if error:
            raise error
        return answer  # type: ignore[return-value]  # there is one, or an error

    def _do(self) -> None:
        try:
            self._answers.put((self._work(), None))
        except Exception as error:
            self._answers.put((None, error))


@contextlib.contextmanager
def unheard() -> Iterator[None]:
    """An interrupt is not heard meanwhile: for a moment, while what was found is put away."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    usual = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, usual if usual is not None else signal.SIG_DFL)


def can_fork() -> bool:
    """Whether a process can be split off here, and has a core of its own."""
    if sys.platform != "linux" or threading.active_count() > 1:
        return False
    return len(os.sched_getaffinity(0)) > 1
