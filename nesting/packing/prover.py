"""The bound is tightened beside the search, on the second core: the solver leaves Python free meanwhile."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

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

    def __init__(
        self, make: Callable[[], Bound], most: int, effort: int, deadline: float, least: int
    ) -> None:
        super().__init__(name="proof", daemon=True)
        self.make = make  # it takes a moment, and the search need not wait
        self.least = least
        self.most = most
        self.enough = most
        self.effort = max(FIRST_EFFORT, effort / TRIES_A_SECOND)  # in all
        self.deadline = deadline
        self.stopping = False
        self.bound: Bound | None = None

    @property
    def value(self) -> int:
        """The bound so far."""
        return self.least if self.bound is None else self.bound.value

    @property
    def impossible(self) -> bool:
        """No plan exists within the counts."""
        return self.bound is not None and self.bound.impossible

    def run(self) -> None:
        """Tighten the bound."""
        bound = self.bound = self.make()
        bound.deadline = self.deadline
        bound.ended = lambda: self.stopping or bound.value >= self.enough
        effort = FIRST_EFFORT
        while not (bound.stuck or bound.ended() or max(bound.spent, effort) > self.effort):
            bound.tighten(self.most, effort, self.effort - bound.spent)
            effort *= 2
            if time.monotonic() > self.deadline:
                return

    def stop(self) -> None:
        """End it now."""
        self.stopping = True
        if self.bound is not None:
            self.bound.interrupt()
        self.join(timeout=2)
