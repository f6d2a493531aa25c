"""The inner loops give the same plans, compiled and plain."""

from __future__ import annotations

import math
import os
import signal
import subprocess
from pathlib import Path

import pytest

from nesting.packing import compiled, prover
from nesting.packing.bounds import Bound
from nesting.packing.compiled import Loops
from nesting.packing.improve import Improver, all_waiting
from nesting.packing.instance import Instance, Item, Size
from nesting.packing.pool import Pool
from nesting.packing.rules import Rules
from nesting.packing.state import State
from nesting.stock import Saw
from tests.packing.cutups import cut_up

BOTH = Instance(
    (Item(800, 130, 140, count=5), Item(300, 110, 110, grain="any", count=6), Item(500, 200, 215, flip=True)),
    (Size("short", 960, 480, 9400), Size("long", 1200, 480, 13100, 2)),
    Saw(1, rails=(1180, 500)),
)


def walk(instance: Instance, functions: bool, tries: int) -> tuple[list[int], list[object], float]:
    """Where a search stands after some tries: the generator, the trees, and how many were accepted."""
    loops = Loops()
    if functions:
        loops.compiled = compiled.load()
    rules = Rules(instance, loops)
    improver = Improver(rules, all_waiting(rules), 7, Pool(rules))
    while improver.tries < tries:
        found: State | None = improver.go(tries, None)
        if found is not None:
            improver.aim(found.price - 1)
    trees = [improver.now.rows_of(slot).tolist() for slot in improver.now.slots]
    return improver.rng.tolist(), trees, float(improver.counters[0])


@pytest.mark.skipif(not compiled.available(), reason="numba is not installed")
@pytest.mark.parametrize("instance", [BOTH, cut_up(3, 2, 6, grain="any")], ids=["rails, two sizes", "cut up"])
def test_compiled_and_plain_loops_walk_the_same_way(instance: Instance):
    assert walk(instance, True, 400) == walk(instance, False, 400)


def test_without_numba_the_plain_loops_serve(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv(compiled.PLAIN, "1")
    assert not compiled.available()
    assert compiled.prepare() is None


def test_without_a_home_the_plain_loops_serve(monkeypatch: pytest.MonkeyPatch):
    def homeless() -> Path:
        raise RuntimeError("could not determine home directory")

    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    monkeypatch.setattr(Path, "home", homeless)
    monkeypatch.setattr(compiled, "_loaded", {})
    compiled.folder.cache_clear()
    try:
        assert not compiled.ready()
        assert compiled.prepare() is None
    finally:
        compiled.folder.cache_clear()


@pytest.mark.skipif(not compiled.available(), reason="numba is not installed")
@pytest.mark.parametrize("state", ["cannot be kept", "killed"])
def test_nobody_waits_for_loops_that_never_come(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, state: str
):
    """The proof did, to the end of its time: with a read-only folder, or for five minutes once killed."""
    (tmp_path / "file").touch()
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / ("file" if state == "cannot be kept" else "cache")))
    monkeypatch.setattr(compiled, "_loaded", {})
    monkeypatch.setattr(prover, "A_START", 0.1)
    compiled.folder.cache_clear()
    try:
        if state == "killed":
            compiled.folder().mkdir(parents=True)
            busy = compiled.folder() / compiled.BUSY
            busy.touch()
            assert compiled.coming()
            os.utime(busy, (0, 0))
        assert not compiled.coming()
        rules = Rules(BOTH, Loops())
        proof = prover.Prover(lambda: Bound(BOTH, rules.takes), rules, 10**9, 10**9, math.inf, 0)
        proof._ask_more_of_sheets(Bound(BOTH, rules.takes))  # returns
    finally:
        compiled.folder.cache_clear()


@pytest.mark.skipif(not compiled.available(), reason="numba is not installed")
def test_what_is_compiled_is_this_copy_and_not_one_in_the_current_folder(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
):
    """Run from a checkout with the program installed beside it, the checkout was compiled, and never this."""
    (tmp_path / "nesting" / "packing").mkdir(parents=True)
    for name in ("nesting/__init__.py", "nesting/packing/__init__.py"):
        (tmp_path / name).write_text("")
    (tmp_path / "nesting" / "packing" / "warm.py").write_text("raise SystemExit(7)")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(compiled, "_loaded", {})
    compiled.folder.cache_clear()
    try:
        child = compiled.prepare()
        assert child is not None
        with pytest.raises(subprocess.TimeoutExpired):  # the stranger would end at once
            child.wait(timeout=3)
        child.kill()
        child.wait()
    finally:
        compiled.folder.cache_clear()


def test_an_interrupt_is_held_back_and_not_lost():
    done = []

    def interrupted() -> None:
        with compiled.undisturbed():
            signal.raise_signal(signal.SIGINT)
            done.append("all of it")

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert done == ["all of it"]
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
