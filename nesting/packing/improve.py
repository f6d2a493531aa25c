"""Goal-driven ruin and recreate over cutting trees (Gardeyn and Wauters 2022, EJOR).

The goal is a price strictly below that of the best complete plan. Subtrees are taken out at random and
the parts put back one by one where they spoil least; states with parts missing are normal, and judged
by the area that is missing, then by how much free room lies in large pieces (late acceptance).
"""

from __future__ import annotations

import random

from nesting.packing.construct import slim
from nesting.packing.layout import Node
from nesting.packing.state import Any, Rules, Sheet, State

BLINK = 0.05
PAIRING = 0.5  # chance that a tapered part is put in as one of a pair
HISTORY = 60


class Improver:
    """One search for a complete state that costs no more than a limit (None: no limit).

    Attributes
    ----------
    now : State
        Where the search stands; parts may be missing.
    accepted : bool
        Whether the last try was accepted.
    """

    def __init__(
        self, rules: Rules, start: State, rng: random.Random, limit: float | None = None
    ) -> None:
        self.rules = rules
        self.rng = rng
        self.choose = Any(rng)
        self.accepted = False
        self.restart(start, float("inf") if limit is None else limit)

    def restart(self, start: State, limit: float) -> None:
        """Go on from another state."""
        self.now = start.copy()
        self.aim(limit)

    def aim(self, limit: float) -> None:
        """Look for a price no higher than this from now on; sheets go until it holds."""
        self.limit = limit
        while self.now.sheets and self.now.price > limit:
            sheet = self.rng.choice(self.now.sheets)
            self.now.take_out(sheet, sheet.root)
        self.scores = [self.now.score()] * HISTORY
        self.tries = 0

    def step(self) -> State | None:
        """Make one try: ruin, recreate, accept or not; returns a complete state if it is one."""
        trial = self.now.copy()
        self._ruin(trial)
        self._recreate(trial)
        score = trial.score()
        index = self.tries % HISTORY
        self.accepted = score <= self.scores[index] or score <= self.now.score()
        if self.accepted:
            self.now = trial
            self.scores[index] = score
            self.tries += 1
        if trial.waiting:
            return None
        complete = trial.copy()
        slim(complete)
        return complete

    def _ruin(self, state: State) -> None:
        total = self.rules.instance.total
        mean = max(2, min(8, total // 4))
        for _ in range(self.rng.randint(1, 2 * mean - 1)):
            if not state.sheets:
                return
            sheet = self.rng.choice(state.sheets)
            state.take_out(sheet, self._victim(sheet))

    def _victim(self, sheet: Sheet) -> Node:
        return self.rng.choice([node for node in sheet.root.walk() if not node.free])

    def _recreate(self, state: State) -> None:
        rng, items = self.rng, self.rules.instance.items
        order = list(state.waiting)
        rng.shuffle(order)
        way = rng.randrange(4)
        if way == 0:
            order.sort(key=lambda item: -self.rules.areas[item])
        elif way == 1:
            order.sort(key=lambda item: -items[item].length)
        elif way == 2:
            order.sort(key=lambda item: -max(items[item].start, items[item].end))
        state.fill(order, self.limit, self.choose, rng, BLINK, PAIRING)
