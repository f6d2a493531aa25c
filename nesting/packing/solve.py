"""The engine's one door: :func:`solve`.

>>> from nesting.packing.instance import Instance, Item, Settings, Size
>>> from nesting.packing.solve import solve
>>> from nesting.stock import Saw
>>> items = (Item(800, 130, 140, count=4), Item(300, 110, 110, count=2))
>>> sizes = (Size("short", 960, 480, 9400), Size("long", 1200, 480, 13100))
>>> result = solve(Instance(items, sizes, Saw(kerf=1)), Settings(seconds=2))
>>> result.cost, result.bound, result.proved
(18800, 18800, True)
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from nesting.packing.aiming import Aimer
from nesting.packing.blocks import Filler, full_sheets
from nesting.packing.bounds import Bound, known_at_once
from nesting.packing.closing import Closer
from nesting.packing.compiled import Loops, load, prepare, ready
from nesting.packing.construct import first_plans, slim
from nesting.packing.diving import Diver
from nesting.packing.earning import worth_a_look
from nesting.packing.halves import within_reach
from nesting.packing.improve import Improver, all_waiting
from nesting.packing.instance import Instance, Settings, require_sound
from nesting.packing.master import WORTH_IT, Master
from nesting.packing.pool import CoverModel, Pool
from nesting.packing.prover import MOST_IN_SETS, Prover
from nesting.packing.regroup import Regrouper
from nesting.packing.rules import Rules
from nesting.packing.spares import with_spares
from nesting.packing.state import NO_LIMIT, Layout, Rank, State

__all__ = ["HomelessError", "Layout", "News", "Result", "Watch", "solve"]

WALK = 5_000  # tries of ruin and recreate at a time
LONG_WALK = 2  # times the square of the number of parts, from the best plan on; no shorter than the others
ROUNDS, LOOKS = 8, 1_000  # of the master problem, and tries for sheets in each
MANY = 100  # parts: the first plans are made by compiled loops, if these are there
FEW_JOINTS, MANY_JOINTS = 300_000, 3_000_000  # looked at for sheets without waste
MOST_COVERED, COVER_EFFORT = 1_500, 0.5  # sheets, and deterministic seconds
DIVES = 10  # at single sets of sheets, in a turn
REGROUPED = 4_000  # tries for a few sheets at a time
DEARER = 0.01  # a dive's plan may be, than the best, and is made cheaper afterwards
LEAST_TO_CLOSE = 80_000  # effort; a quick look is over before
CLOSING = 20_000  # tries of the search that count as much as a deterministic second of closing
POLISH = 4_000  # tries spent on what costs nothing
EARNING = 0.25  # of the effort and the time, where offcuts are credited, for plans of more money and worth
LEAST_SHARE, MOST_SHARE = 0.05, 0.2  # of the seconds, kept back for it
WITH_ROOM = 3  # times what as many tries took in the search: two searches, and some room


class HomelessError(ValueError):
    """Items that no size can take, or no rail can cut out; ``items`` has their indices."""

    def __init__(self, items: list[int]) -> None:
        super().__init__(f"no sheet or rail can take items {items}")
        self.items = items


@dataclass(frozen=True, slots=True)
class Result:
    """What was found.

    Attributes
    ----------
    layouts : tuple of Layout
        Empty where no complete plan was found. They hold the spares that there is room for, too.
    cost : int
        Price of the sheets in hundredths; credit is not taken off.
    bound : int
        No plan has less cost less credit than this.
    fewest : int
        No plan of this cost has fewer sheets; 0 where it is not known, as where the cost is not proved.
    impossible : bool
        No plan exists within the counts: proved, not merely none found.
    stopped : str
        ``proved``, ``effort``, ``time`` or ``interrupt``.
    """

    layouts: tuple[Layout, ...]
    cost: int
    bound: int
    fewest: int
    impossible: bool
    stopped: str

    @property
    def proved(self) -> bool:
        """No plan has less cost than this one; where a credit counts, see the plan's own value."""
        return bool(self.layouts) and self.bound >= self.cost


@dataclass(frozen=True, slots=True)
class News:
    """Progress: a better plan, or a better bound."""

    layouts: tuple[Layout, ...]
    cost: int | None
    bound: int
    seconds: float


Watch = Callable[[News], None]


def solve(
    instance: Instance, settings: Settings, watch: Watch | None = None, least: int | None = None
) -> Result:
    """Find the cheapest cutting plan of one material.

    Parameters
    ----------
    instance : Instance
        Items, sizes and saw, in whole units of any kind (all lengths the same).
    settings : Settings
        Wall-clock limit in seconds, seed, and effort in tries.
    watch : callable, optional
        Called with each better plan or bound.
    least : int, optional
        A bound that is known already; a plan that costs no more is proved by it.

    Returns
    -------
    Result
        The best plan at the end of the time or effort, or a proved one before; the same instance,
        seed and effort give the same result unless it was stopped by the time or an interrupt.

    Raises
    ------
    HomelessError
        If an item fits no size or cannot be cut out with the rails.
    ValueError
        If the instance makes no sense: nothing to cut, a width of 0, a price below 0.
    """
    require_sound(instance, settings)
    return _Run(instance, settings, watch or (lambda _: None), least).go()


class _Run:
    def __init__(
        self, instance: Instance, settings: Settings, watch: Watch, least: int | None = None
    ) -> None:
        self.settings = settings
        self.watch = watch
        self.begun = time.monotonic()
        self.loops = Loops()
        self.rules = Rules(instance, self.loops)
        if homeless := self.rules.homeless():
            raise HomelessError(homeless)
        self.best: State | None = None
        self.cost = 0  # of the best
        self.rank: Rank | None = None
        self.layouts: tuple[Layout, ...] = ()
        known = known_at_once(instance)
        self.bound = known if least is None else max(known, least)
        self.pool = Pool(self.rules)
        self.prover: Prover | None = None
        self.stopped = "effort"
        self.asked = False
        self.effort = settings.effort  # of the search
        self.earning = 0.0  # share of the effort, and of the time, for what offcuts are worth
        if instance.credit:
            self.earning = EARNING
            self.effort -= round(self.effort * EARNING)
        self.walked = self.walks = self.turns = 0
        self.master: Master | None = None
        self.pace = math.inf  # seconds for a try of a walk
        self.filler = Filler(self.rules)
        self.regrouper = Regrouper(self.rules, self.pool, settings.seed, self._over)
        self.aimer = Aimer(self.rules, self.pool, settings.seed, self._over)
        self.diver: Diver | None = None

    def go(self) -> Result:
        try:
            self._start()
            self.prover = self._prove() if self.settings.prove else None
            self._improve()
            self._earn()
            self._polish()
            if self.best is not None and self.rules.instance.spares:
                self.layouts = with_spares(self.rules, self.best, self.settings, self._out_of_time).layouts()
            self._await_proof()
        except KeyboardInterrupt:
            self.stopped = "interrupt"
        if self.prover is not None:
            self.prover.stop()
        self._learn()
        if self.best is None:
            return Result((), 0, self.bound, 0, self._impossible, self.stopped)
        fewest = min(len(self.layouts), self.prover.fewest if self.prover else 0)
        return Result(self.layouts, self.best.price, self.bound, fewest, False, self.stopped)

    def _out_of_time(self, share: float = 1.0) -> bool:
        if time.monotonic() - self.begun < self.settings.seconds * share:
            return False
        self.stopped = "time"
        return True

    def _learn(self) -> None:
        """Take over what the proof has reached."""
        value = self.bound if self.prover is None else self.prover.value
        value = value if self.best is None else min(value, self.cost)
        if value > self.bound:
            self.bound = value
            self._tell()

    def _closed(self) -> bool:
        """Nothing cheaper can exist, or nothing at all."""
        self._learn()
        if self.best is None:
            return self._impossible
        if self.cost > self.bound:
            return False
        self.stopped = "proved"
        return True

    def _take(self, state: State) -> None:
        """Keep a complete state if it is better than all before."""
        new = state.rank()
        if self.rank is not None and new >= self.rank:
            return
        cheaper = self.rank is None or new[0] < self.rank[0]
        self.best, self.rank, self.layouts = state.copy(), new, state.layouts()
        self.cost = self.best.price
        if self.prover is not None:
            self.prover.sheets, self.prover.enough = len(self.layouts), self.cost
        if cheaper:
            self._tell()

    def _tell(self) -> None:
        cost = None if self.best is None else self.best.price
        self.watch(News(self.layouts, cost, self.bound, time.monotonic() - self.begun))

    def _start(self) -> None:
        if self.rules.instance.total > MANY:
            self._compile()
        best: State | None = None
        for state in first_plans(self.rules):
            self.pool.add(state)
            if self.best is None:
                self._take(state)  # one at once, and of the others only the best: each is judged
                if ready():
                    self._compile()  # half a second, where one plan takes a hundredth
            elif best is None or state.rank() < best.rank():
                best = state
            if self._out_of_time(0.25):
                break
        if best is not None:
            self._take(best)

    def _prove(self) -> Prover:
        """Start the proof beside the search."""
        total = self.rules.instance.total
        most = self.best.price if self.best else 1 + sum(
            size.price * (total if size.count is None else min(size.count, total))
            for size in self.rules.instance.sizes
        )  # fmt: skip - more than all that can be had costs: then there is no plan
        end = self.begun + self.settings.seconds
        prover = Prover(self._new_bound, self.rules, most, self.settings.effort, end, self.bound)
        if self.best is not None:
            prover.sheets, prover.enough = len(self.layouts), self.cost
        prover.start()
        return prover

    def _new_bound(self) -> Bound:
        return Bound(*within_reach(self.rules.instance, self.rules.takes))

    @property
    def _impossible(self) -> bool:
        return self.prover is not None and self.prover.impossible

    def _await_proof(self) -> None:
        """Let the proof come as far as the effort takes it, within the time."""
        while self.prover is not None and self.prover.is_alive() and not self._closed():
            if self._out_of_time():
                return
            self._compile()
            self.prover.join(timeout=0.05)
        while self._closed() and self.prover is not None and self.prover.is_alive():
            if time.monotonic() - self.begun > self.settings.seconds:
                return
            self.prover.hurry()  # the money is settled; how many sheets it takes is counted yet
            self.prover.join(timeout=0.02)

    def _improve(self) -> None:
        if self._closed():
            return
        self._fill_fully(FEW_JOINTS)
        long = max(WALK, int(LONG_WALK * self.rules.instance.total**2))
        self._walk(self.best or all_waiting(self.rules), long)
        self._regroup(self.best)
        self._aim()
        self.master = Master(self.rules, self.pool, self.settings.seed, self._over)
        self._go_on(self.master, long)
        self._close()
        self._go_on(self.master, long)

    def _go_on(self, master: Master, long: int) -> None:
        """Turn by turn until the effort is spent."""
        looks = 2 * LOOKS // (1 + len(self.rules.prices))
        while not self._over():
            self._dive()
            self.turns += 1
            master.improve(ROUNDS, looks)
            dived = master.dive(self._limit() + int(self.cost * DEARER), looks // 3)
            if dived.waiting:
                self._walk(dived, WALK)
                self._regroup(self.best)
            else:
                self._found(dived)
                self._regroup(dived)
            if self.turns & (self.turns - 1) == 0:
                self._fill_fully(MANY_JOINTS * self.turns)
            if self.turns % 2 == 0:
                self._cover(master)
            self._walk(self.best or all_waiting(self.rules), long)
            self._aim()
            master.thin_out()

    def _aim(self) -> None:
        """Go over the sets of sheets that cost less, from the start for each better plan."""
        while len(self.rules.prices) > 1 and self.best is not None and not self._over():
            found = self.aimer.improve(self._limit(), self.effort - self.spent)
            if found is None:
                return
            self._found(found)

    def _dive(self) -> None:
        """Some dives at the sets of sheets that are likeliest to do; as many again for each better plan."""
        self.diver = self.diver or Diver(self.rules, self.pool, self.settings.seed, self._over)
        dives = 0
        while self.best is not None and dives < DIVES and not self._over():
            counts = self.diver.promising(self._limit())
            if counts is None:
                return
            dives += 1
            found = self.diver.dive(counts)
            if found is not None:
                self._found(found)
                dives = 0

    def _close(self) -> None:
        """Look at sets of sheets that cost less by all that they can hold, once the search has ended.

        What that leaves of its effort goes to the search.
        """
        few = len(self.rules.prices) > 1 and self.rules.instance.total <= MOST_IN_SETS
        if self.best is None or self.settings.effort < LEAST_TO_CLOSE or not few or self._ended():
            return
        end = self.begun + self.settings.seconds * self._share
        closer = Closer(self.rules, self.pool, self.settings.seed, self._ended, end)
        clock = threading.Timer(max(0.0, end - time.monotonic()), closer.interrupt)  # loops do not look
        clock.daemon = True
        clock.start()
        effort = self.settings.effort / CLOSING
        while not self._ended():
            found = closer.improve(self._limit(), effort)
            if found is None:
                break
            self._found(found)
        clock.cancel()
        self.effort += max(0, int((effort - closer.spent) * CLOSING))

    def _fill_fully(self, joints: int) -> None:
        """Look for plans without any waste, where the bound leaves room for one and it would be cheaper."""
        for size, price in enumerate(self.rules.prices):
            sheets = full_sheets(self.rules, size)
            if self._over() or not sheets or not self.bound <= sheets * price <= self._limit():
                continue
            full = self.filler.plan(size, joints, self._over)
            if full is not None:
                self._found(full)

    def _over(self) -> bool:
        """Whether the search has come to its end; goes over to the compiled loops once they are there."""
        return self.spent >= self.effort or self._ended()

    def _ended(self) -> bool:
        """Whether there is nothing more to look for, or no time."""
        self._compile()
        return self._closed() or self._out_of_time(self._share)

    @property
    def _share(self) -> float:
        """Of the seconds, for the search: the polish makes a number of tries, known by what they take."""
        polish = WITH_ROOM * POLISH * self.pace if self.settings.polish else 0.0
        return 1 - self.earning - min(MOST_SHARE, max(LEAST_SHARE, polish / max(self.settings.seconds, 1e-3)))

    @property
    def spent(self) -> int:
        """Tries made, of walks and for sheets by themselves."""
        walked = self.walked + self.aimer.tries + int(self.regrouper.tries)
        walked += self.diver.tries if self.diver else 0
        return walked + (self.master.tries if self.master else 0)

    def _limit(self) -> int:
        return self.best.price - 1 if self.best else NO_LIMIT

    def _found(self, state: State) -> None:
        """Keep a complete state if it is cheaper.

        When the proof comes depends on the clock, so which of equally cheap plans is kept must not depend on
        how far the search has come by then: that is left to the polish.
        """
        slim(state)
        self.pool.add(state)
        if self.best is None or state.price < self.cost:
            self._take(state)

    def _walk(self, start: State, tries: int) -> None:
        """Ruin and recreate from a state on, below the money of the best plan.

        Ends after so many tries without a better plan.
        """
        self.walks += 1
        most = max(0, self.effort - self.spent)
        until = min(tries, most)
        improver = Improver(self.rules, start, self.settings.seed + self.walks, self.pool, self._limit())
        before, begun = self.walked, time.monotonic()
        while improver.tries < until and not self._over():
            found = improver.go(until, None)
            self.walked = before + improver.tries
            self.pace = (time.monotonic() - begun) / max(1, improver.tries)
            if found is not None:
                self._found(found)
                improver.aim(self._limit())
                until = min(most, improver.tries + tries)

    def _regroup(self, state: State | None) -> None:
        """Exchange a few sheets of a complete state at a time for cheaper ones, of another size as a rule."""
        if state is None or len(self.rules.prices) == 1 or self._over():
            return
        better = self.regrouper.improve(state, REGROUPED)
        if self.best is None or better.price < self.cost:
            self._found(better)

    def _compile(self) -> None:
        """Go over to the compiled loops as soon as they are there."""
        if not self.loops.compiled:
            if ready():
                self.loops.compiled = load()
            elif not self.asked:
                self.asked = True
                prepare()

    def _cover(self, master: Master) -> None:
        """Ask for the cheapest plan out of the sheets that can be in a cheaper one at all."""
        if not master.solve():
            return
        penalties = master.reduced()
        likely = np.argsort(penalties, kind="stable")[:MOST_COVERED]
        slack = self._limit() - master.value + WORTH_IT * max(1, self._limit())
        chosen = likely[penalties[likely] <= slack]
        state = CoverModel(self.rules, self.pool, self._limit(), chosen).solve(COVER_EFFORT)
        if state is not None:
            self._found(state)

    def _earn(self) -> None:
        """Where offcuts are worth money: plans that cost more, but whose offcuts are worth more than that."""
        if self.best is None or self.rank is None or not self.earning:
            return
        tries = round(self.settings.effort * self.earning)
        self.earning = 0.0
        improver = Improver(self.rules, self.best, self.settings.seed, Pool(self.rules)).by_rank()
        while improver.tries < tries and not self._out_of_time(self._share):
            improver.limit = worth_a_look(self.rules, self.cost, self.rank[0])
            found = improver.go(tries, self.rank)
            if found is not None:
                self._take(found)

    def _polish(self) -> None:
        """For the same money: fewer sheets, joined rails and tight sheets, larger offcuts, fewer cuts."""
        if self.best is None or not self.settings.polish:
            return
        self._search_equal(self.rules, self.best)
        if self.rank and self.rank[2] and self.settings.single:
            saw = replace(self.rules.instance.saw, join=False)
            single = Rules(replace(self.rules.instance, saw=saw), self.loops)
            if not single.homeless():
                self._search_equal(single, all_waiting(single))

    def _search_equal(self, rules: Rules, start: State) -> None:
        assert self.best is not None
        improver = Improver(rules, start, self.settings.seed, Pool(rules), self.best.price).by_rank()
        tries = min(POLISH, self.settings.effort)
        while improver.tries < tries and not self._out_of_time():
            found = improver.go(tries, self.rank)
            if found is not None:
                self._take(found)
