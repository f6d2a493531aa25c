"""The bound is tightened beside the search, on the second core: the solver leaves Python free meanwhile."""

from __future__ import annotations

import threading
import time

from nesting.packing.bounds import Bound

FIRST_EFFORT = 0.5  # deterministic seconds for each question, doubled from round to round
TRIES_A_SECOND = 6_250  # tries of the search that count as much as a deterministic second of the proof


class Prover(threading.Thread):
    """Asks with growing effort until nothing is left to ask, the bound is enough, or time is up.

    How far it comes depends on the effort alone, unless the deadline or :meth:`stop` ends it.

    Attributes
    ----------
    enough : int
        Money of the best plan: a bound that reaches it proves it.
    """

    def __init__(self, bound: Bound, most: int, effort: int, deadline: float) -> None:
        super().__init__(name="proof", daemon=True)
        self.bound = bound
        self.most = most
        self.enough = most
        self.effort = effort
        self.deadline = deadline
        bound.deadline = deadline
        bound.ended = lambda: self.stopping or bound.value >= self.enough
        self.stopping = False

    def run(self) -> None:
        """Tighten the bound."""
        effort = FIRST_EFFORT
        while not self.bound.stuck:
            self.bound.tighten(self.most, effort)
            effort *= 2
            if self.bound.ended() or effort * TRIES_A_SECOND > self.effort:
                return
            if time.monotonic() > self.deadline:
                return

    def stop(self) -> None:
        """End it now."""
        self.stopping = True
        self.bound.interrupt()
        self.join(timeout=2)
