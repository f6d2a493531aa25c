"""Work in a process split off: what comes back, and what happens where nothing does."""

from __future__ import annotations

import math
import os
import signal
import threading
import time
from collections.abc import Callable

import pytest

from nesting.work import beside
from nesting.work.beside import Beside, Meanwhile, can_fork, unheard

forking = pytest.mark.skipif(not can_fork(), reason="no process is split off here")


def answer(work: Callable[[], object], seconds: float = 20.0) -> object:
    with Beside(work, time.monotonic() + seconds) as one:
        return one.result()


@forking
def test_the_work_is_done_in_another_process_and_the_answer_comes_back():
    done: list[int] = []
    assert answer(lambda: (done.append(1), os.getpid())[1]) != os.getpid()
    assert done == []


def test_where_no_process_is_split_off_it_is_done_here(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(beside, "can_fork", lambda: False)
    assert answer(os.getpid) == os.getpid()


def test_what_is_raised_there_is_raised_here():
    with pytest.raises(ZeroDivisionError):
        answer(lambda: 1 / 0)


@forking
@pytest.mark.parametrize("way", ["stuck", "gone", "not to be sent"])
def test_where_no_answer_comes_it_is_done_here(way: str, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(beside, "PATIENCE", 0.2)
    here = os.getpid()

    def work() -> object:
        if os.getpid() == here:
            return "here"
        if way == "stuck":
            time.sleep(60)
        if way == "gone":
            os._exit(1)
        return lambda: None  # cannot be pickled

    begun = time.monotonic()
    assert answer(work, 0.0) == "here"
    assert time.monotonic() - begun < 30


@forking
def test_an_interrupt_ends_the_other_process():
    with pytest.raises(KeyboardInterrupt), Beside(lambda: time.sleep(60), time.monotonic() + 60) as one:
        raise KeyboardInterrupt
    with pytest.raises(ChildProcessError):
        os.waitpid(-1, os.WNOHANG)
    assert one


@forking
def test_nobody_waits_for_what_is_late(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(beside, "PATIENCE", 0.1)
    begun = time.monotonic()
    with Beside(lambda: time.sleep(60), time.monotonic(), lambda: None) as one:
        assert one.result() is None
    assert time.monotonic() - begun < 30


def test_where_no_process_is_split_off_nothing_is_begun_that_is_late(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(beside, "can_fork", lambda: False)
    with Beside(lambda: "done", time.monotonic() - 60, lambda: "late") as one:
        assert one.result() == "late"
    with Beside(lambda: "done", time.monotonic() + 60, lambda: "late") as one:
        assert one.result() == "done"


def test_an_interrupt_is_not_heard_for_a_moment():
    heard = signal.getsignal(signal.SIGINT)
    with unheard():
        os.kill(os.getpid(), signal.SIGINT)
    assert signal.getsignal(signal.SIGINT) is heard


@forking
def test_a_process_whose_parent_is_gone_does_not_wait_for_it_to_read():
    """More than a pipe holds; this end is closed as it is when the parent is killed."""
    with Beside(lambda: bytes(1 << 20), time.monotonic() + 60) as one:
        assert one._from is not None
        one._from.close()
        until = time.monotonic() + 30
        while (ended := os.waitpid(one._child, os.WNOHANG)[0]) == 0 and time.monotonic() < until:
            time.sleep(0.02)
        child, one._child, one._from = one._child, 0, None
        if not ended:
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
        assert ended


def test_what_a_thread_does_meanwhile_is_waited_for_but_not_for_ever():
    assert Meanwhile(lambda: "done").result(math.inf, late="late") == "done"
    gone = threading.Event()
    assert Meanwhile(gone.wait).result(time.monotonic() + 0.05, late=False) is False
    gone.set()

    def fails() -> str:
        raise ValueError("of the work")

    with pytest.raises(ValueError, match="of the work"):
        Meanwhile(fails).result(math.inf, late="late")
