"""Compiles the inner loops into their folder, in a child process: ``python -m nesting.packing.warm``."""

from __future__ import annotations

from nesting.packing.compiled import BUSY, READY, Loops, folder, load
from nesting.packing.improve import Improver, all_waiting
from nesting.packing.instance import Instance, Item, Size
from nesting.packing.pool import Pool
from nesting.packing.rules import Rules
from nesting.stock import Saw


def warm() -> None:
    """Call every loop once, on a small problem with a taper, so that all of it is compiled."""
    items = (Item(80, 10, 12, count=3), Item(30, 9, 9, grain="any", count=2))
    instance = Instance(items, (Size("a", 100, 40, 5), Size("b", 90, 30, 4)), Saw(1, (200,)))
    loops = Loops()
    loops.compiled = load()
    rules = Rules(instance, loops)
    improver = Improver(rules, all_waiting(rules), 1, Pool(rules))
    state = improver.go(50, None)
    assert state is not None
    state.rank()
    state.drop_surplus()
    (folder() / READY).touch()
    (folder() / BUSY).unlink(missing_ok=True)


if __name__ == "__main__":
    warm()
