"""The bound is tightened beside the search, on the second core: the solver leaves Python free meanwhile."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

import numpy as np

from nesting.packing.bounds import Bound
from nesting.packing.compiled import available
from nesting.packing.construct import first_plans
from nesting.packing.functions import Ints
from nesting.packing.master import Master
from nesting.packing.pool import Pool
from nesting.packing.rules import Rules

FIRST_EFFORT = 0.5  # deterministic seconds for each question, doubled from round to round
BEFORE_COLUMNS = 2.0  # of one size, in all, before it is asked what single sheets can hold
LEAST_FOR_COLUMNS = 8.0  # in all; a quick look is over before they tell anything
COLUMNS_SHARE = 0.8  # for that, of what is left then
SEARCHED, MOST_ROUNDS, IN_VAIN = 600, 120, 4  # tries for sheets in a round; rounds; those without any
A_CONTENT = 0.25  # for a question of one of them
A_MOMENT = 0.05  # seconds
COUNT_EFFORT = 0.03  # for the number of sheets, once the money is proved
TRIES_A_SECOND = 10_000  # tries of the search that count as much as a deterministic second of the proof


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
        if len(self.instance.sizes) == 1 and self.effort > LEAST_FOR_COLUMNS:
            bound.tighten(self.most, effort, BEFORE_COLUMNS)
            self._by_columns(bound)
        while not (bound.stuck or bound.ended() or max(bound.spent, effort) > self.effort):
            bound.tighten(self.most, effort, self.effort - bound.spent)
            effort *= 2
            if self._late():
                return
        if self.sheets and self.value >= self.enough and not self.stopping:
            self._count()

    def _by_columns(self, bound: Bound) -> None:
        """Ask what single sheets can hold, once loops are compiled: plain ones would take far too long."""
        while available() and not (self.loops.compiled or bound.ended() or self._late()):
            time.sleep(A_MOMENT)
        if self.loops.compiled and not (bound.ended() or self._late()):
            in_all = (self.effort - bound.spent) * COLUMNS_SHARE
            bound.tighten_by_columns(lambda: self._columns(bound), self.most, A_CONTENT, in_all, self.loops)

    def _columns(self, bound: Bound) -> Ints:
        """Sheets that can be cut, until no better ones are found: by a search apart, the same each time."""
        rules = Rules(self.instance, self.loops)
        pool = Pool(rules)
        for state in first_plans(rules):
            pool.add(state)
        master = Master(rules, pool, 1, lambda: bound.ended() or self._late())
        in_vain = 0
        for _ in range(MOST_ROUNDS):
            better = master.improve(1, SEARCHED)
            in_vain = 0 if better else in_vain + 1
            if in_vain == IN_VAIN:
                break
        bound.spend(master.tries / TRIES_A_SECOND)
        contents: Ints = pool.contents()[1].astype(np.int64)
        return contents

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
