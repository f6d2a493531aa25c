"""CP-SAT as it is used here: one worker, one seed, effort counted in its deterministic time."""

from __future__ import annotations

import time
from collections.abc import Callable

from nesting.packing.loading import deferred

try:
    with deferred("pandas"):  # 0.15 s, for variables that are indexed by its tables: none are here
        from ortools.sat.python import cp_model
except (ImportError, AttributeError, TypeError):  # some version that needs it to be loaded
    from ortools.sat.python import cp_model

__all__ = ["SOLVED", "Counted", "cp_model", "solver_for"]

SOLVED = (cp_model.OPTIMAL, cp_model.FEASIBLE)


class Counted(cp_model.CpSolver):
    """A solver that says what each of its answers took."""

    def __init__(self, spend: Callable[[float], None]) -> None:
        super().__init__()
        self.spend = spend

    def solve(self, model: cp_model.CpModel) -> cp_model.CpSolverStatus:  # type: ignore[override]
        """Solve, and tell the deterministic seconds."""
        status = super().solve(model)
        self.spend(self.response_proto.deterministic_time)
        return status


def solver_for(
    effort: float, deadline: float | None = None, spend: Callable[[float], None] = lambda _: None
) -> cp_model.CpSolver:
    """Make a solver that gives the same answer each time, unless the deadline is what stops it.

    Parameters
    ----------
    effort : float
        Deterministic seconds.
    deadline : float, optional
        On the clock of ``time.monotonic``.
    spend : callable
        Told the deterministic seconds that an answer took.
    """
    solver = Counted(spend)
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.catch_sigint_signal = False  # an interrupt is for the whole search
    solver.parameters.max_deterministic_time = effort
    if deadline is not None:
        solver.parameters.max_time_in_seconds = max(0.01, deadline - time.monotonic())
    return solver
