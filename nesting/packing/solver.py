"""CP-SAT as it is used here: one worker, one seed, effort counted in its deterministic time."""

from __future__ import annotations

import time

from ortools.sat.python import cp_model

SOLVED = (cp_model.OPTIMAL, cp_model.FEASIBLE)


def solver_for(effort: float, deadline: float | None = None) -> cp_model.CpSolver:
    """Make a solver that gives the same answer each time, unless the deadline is what stops it.

    Parameters
    ----------
    effort : float
        Deterministic seconds.
    deadline : float, optional
        On the clock of ``time.monotonic``.
    """
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.catch_sigint_signal = False  # an interrupt is for the whole search
    solver.parameters.max_deterministic_time = effort
    if deadline is not None:
        solver.parameters.max_time_in_seconds = max(0.01, deadline - time.monotonic())
    return solver
