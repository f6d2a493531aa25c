"""The bound is tightened beside the search, on the second core: the solver leaves Python free meanwhile."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

from nesting.packing.bounds import Bound
from nesting.packing.compiled import available, coming
from nesting.packing.rules import Rules
from nesting.packing.seeking import Seeker

FIRST_EFFORT = 0.5  # deterministic seconds for each question, doubled from round to round
BEFORE_COLUMNS = 0.2  # in all, before more is asked of single sheets
LEAST_FOR_COLUMNS = 3.0  # in all; a quick look is over before they tell anything
A_MOMENT = 0.05  # seconds
A_START = 2.0  # seconds, in which compiling has begun if it is to begin at all
COUNT_EFFORT = 0.03  # for the number of sheets, once the money is proved
MOST_IN_SETS = 60  # parts, for columns of several sizes: of more they proved nothing, and held up the search
TRIES_A_SECOND = 8_000  # tries of the search that count as much as a deterministic second of the proof


class Prover(threading.Thread):
    """Asks with growing effort until nothing is left to ask, the bound is enough, or time is up.

    How far it comes depends on the effort alone, unless the deadline or :meth:`stop` ends it.

    Attributes
    ----------
    enough : int
        Money of the best plan: a bound that reaches it proves it.
    sheets : int
        Of the best plan; 0 where there is none.
    fewest : int
        Once the money is proved: no plan of this money has fewer sheets.
    """

    def __init__(
        self,
        make: Callable[[], Bound],
        rules: Rules,
        most: int,
        effort: int,
        deadline: float,
        least: int,
    ) -> None:
        super().__init__(name="proof", daemon=True)
        self.make = make  # it takes a moment, and the search need not wait
        self.instance, self.loops = rules.instance, rules.loops  # the tables are the search's own
        self.least = least
        self.most = most
        self.enough = most
        self.sheets = self.fewest = 0
        self.effort = max(FIRST_EFFORT, effort / TRIES_A_SECOND)  # in all
        self.deadline = deadline
        self.stopping = False
        self.bound: Bound | None = None
        self.counting: Bound | None = None

    @property
    def value(self) -> int:
        """The bound so far."""
        return self.least if self.bound is None else max(self.least, self.bound.value)

    @property
    def impossible(self) -> bool:
        """No plan exists within the counts."""
        return self.bound is not None and self.bound.impossible

    def run(self) -> None:
        """Tighten the bound; once it is enough, that of the number of sheets."""
        bound = self.bound = self.make()
        bound.deadline = self.deadline
        bound.ended = lambda: self.stopping or self.value >= self.enough
        effort = FIRST_EFFORT
        one_size, parts = len(self.instance.sizes) == 1, self.instance.total
        if self.effort > LEAST_FOR_COLUMNS and (one_size or parts <= MOST_IN_SETS):
            bound.tighten(self.most, effort, BEFORE_COLUMNS)
            self._ask_more_of_sheets(bound)
        while not (bound.stuck or bound.ended() or max(bound.spent, effort) > self.effort):
            bound.tighten(self.most, effort, self.effort - bound.spent)
            effort *= 2
            if self._late():
                return
        if self.sheets and self.value >= self.enough and not self.stopping:
            self._count()

    def _ask_more_of_sheets(self, bound: Bound) -> None:
        """Let the bound ask what single sheets hold, once loops are compiled: plain ones take too long."""
        begun = time.monotonic()
        while coming() or (available() and time.monotonic() - begun < A_START):
            if self.loops.compiled or bound.ended() or self._late():
                break
            time.sleep(A_MOMENT)
        if self.loops.compiled and not (bound.ended() or self._late()):
            seeker = Seeker(Rules(self.instance, self.loops), lambda: bound.ended() or self._late())
            bound.ask_more_of_sheets(seeker, self.loops)

    def _late(self) -> bool:
        return time.monotonic() > self.deadline

    def _count(self) -> None:
        """From the beginning, as what is known by now depends on when the best plan came."""
        self.counting = self.make()
        self.counting.ended = lambda: self.stopping
        self.fewest = self.counting.fewest(self.enough, self.sheets, COUNT_EFFORT)

    def stop(self) -> None:
        """End it now."""
        self.stopping = True
        if self.counting is not None:
            self.counting.interrupt()
        self.hurry()
        self.join(timeout=2)

    def hurry(self) -> None:
        """End the question about money that is being asked: the answer is not needed any more."""
        if self.bound is not None:
            self.bound.interrupt()
