"""The local search, driven from Python: it goes on in short bursts, and what it finds is taken over."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from nesting.packing.construct import slim
from nesting.packing.pool import Pool
from nesting.packing.rules import Rules
from nesting.packing.search import FOUND, HISTORY, aim, copy_changed, missing, run, worth
from nesting.packing.state import NO_LIMIT, Rank, State
from nesting.packing.tables import LEVELS

BURST = 0.1  # seconds, about
NEARLY = 0.03  # of all parts' area may be missing in a state whose sheets are remembered


def next_burst(burst: int, took: float) -> int:
    """How many tries to make at once, when one took so many seconds."""
    return max(5, min(4 * burst, int(BURST / max(took, 1e-7))))


class Improver:
    """One search for a complete state that costs no more than a limit.

    Attributes
    ----------
    now : State
        Where the search stands; parts may be missing.
    trial : State
        The last try; complete where one was found.
    """

    def __init__(self, rules: Rules, start: State, seed: int, pool: Pool, limit: int = NO_LIMIT) -> None:
        self.rules = rules
        self.pool = pool
        self.rng = np.array([(seed * 2_654_435_761 + 88_172_645) % 0xFFFFFFFF + 1], dtype=np.int64)
        self.history = np.zeros((HISTORY, 2))
        self.counters = np.zeros(2, dtype=np.int64)
        self.burst = 20
        self.near = NEARLY * float(rules.table.areas @ rules.table.wanted)
        self.restart(start, limit)

    @property
    def tries(self) -> int:
        """Made so far."""
        return int(self.counters[1])

    def restart(self, start: State, limit: int) -> None:
        """Go on from another state."""
        self.trial = start.copy()
        self.now = start.copy()
        self.aim(limit)

    def aim(self, limit: int) -> None:
        """Look for a price no higher than this from now on, from the last try; sheets go until it holds."""
        rules, table = self.rules, self.rules.table
        self.limit = limit
        rules.loops(aim, table, self.trial.work, limit, self.rng)
        lack = rules.loops(missing, table, self.trial.work), -rules.loops(worth, self.trial.work)
        rules.loops(copy_changed, self.trial.work, self.now.work, self.trial.work)
        self.history[:] = lack
        self.counters[0] = 0

    def by_rank(self) -> Improver:
        """Complete states are told apart by their rank from now on: see :func:`~.search.value_of`."""
        self.history[:, 1] = np.inf
        return self

    def search(self, tries: int, stop: Callable[[], bool]) -> State | None:
        """So many tries more, in bursts, or until a complete state is found; ``stop`` is asked in between."""
        found, until = None, self.tries + tries
        while self.tries < until and found is None and not stop():
            found = self.go(until, None)
        return found

    def go(self, until: int, best: Rank | None) -> State | None:
        """Try on, for a burst; returns a complete state that ranks before ``best``, if there is one.

        No more tries are made than ``until`` in all.
        """
        tries = min(self.burst, until - self.tries)
        begun, before = time.thread_time(), self.tries
        rank = np.array(best or [np.inf] * LEVELS)
        outcome = self.rules.loops(
            run, self.rules.table, self.now.work, self.trial.work, self.pool.store, self.rng, self.history,
            self.counters, self.limit, tries, rank, np.zeros(LEVELS), self.near,
        )  # fmt: skip
        self.burst = next_burst(self.burst, (time.thread_time() - begun) / max(1, self.tries - before))
        if outcome != FOUND:
            return None
        complete = self.trial.copy()
        slim(complete)
        if self.rules.instance.credit and complete.rank() > self.trial.rank():
            return self.trial.copy()  # what its offcuts are worth is gone with the larger sheets
        return complete


def all_waiting(rules: Rules, slots: int | None = None, items: list[int] | None = None) -> State:
    """No sheet opened yet; room for so many. All items wait, or those that are given."""
    state = State(rules, slots)
    state.wait(rules.all_items() if items is None else items)
    return state
