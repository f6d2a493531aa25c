"""Compiles the inner loops into their folder, in a child process: ``python -m nesting.packing.warm``."""

from __future__ import annotations

import os
import threading
import time
from contextlib import suppress
from dataclasses import replace

import numpy as np

from nesting.packing.bounds import Bound
from nesting.packing.compiled import BEAT, BUSY, READY, Loops, folder, load
from nesting.packing.halves import within_reach
from nesting.packing.improve import Improver, all_waiting
from nesting.packing.instance import Instance, Item, Size
from nesting.packing.master import Master
from nesting.packing.pool import Pool
from nesting.packing.rules import Rules
from nesting.packing.seeking import Seeker
from nesting.packing.state import NO_LIMIT
from nesting.stock import Saw


def warm() -> None:
    """Call every loop once, on a small problem with a taper, so that all of it is compiled."""
    threading.Thread(target=_say_so, daemon=True).start()
    items = (Item(80, 10, 12, count=3), Item(30, 9, 9, grain="any", count=2))
    instance = Instance(items, (Size("a", 100, 40, 5), Size("b", 90, 30, 4)), Saw(1, (200,)))
    loops = Loops()
    loops.compiled = load()
    rules = Rules(instance, loops)
    pool = Pool(rules)
    improver = Improver(rules, all_waiting(rules), 1, pool)
    state = None
    while state is None:
        state = improver.go(1_000, None)
    pool.add(state)
    state.rank()
    master = Master(rules, pool, 1, lambda: False)
    master.improve(2, 20)
    master.dive(NO_LIMIT, 5)
    state.drop_surplus()
    one = replace(instance, sizes=instance.sizes[:1])
    bound = Bound(*within_reach(one, [row[:1] for row in rules.takes]))
    bound.ask_more_of_sheets(Seeker(Rules(one, loops), lambda: False), loops)
    bound.until = 1.0
    bound.failing(0, bound.demand)
    assert bound.columns is not None
    bound.columns.pricers[0].dearer(np.ones(len(items), dtype=np.int64), 0, bound.ask, 0.1)
    (folder() / READY).touch()
    (folder() / BUSY).unlink(missing_ok=True)


def _say_so() -> None:
    """Again and again until it has ended: where it is killed, nobody is to wait for it."""
    with suppress(OSError):
        while True:
            os.utime(folder() / BUSY)
            time.sleep(BEAT)


if __name__ == "__main__":
    warm()
