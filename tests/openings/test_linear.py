"""The exact solver against SciPy's HiGHS, and by hand."""

import random
from fractions import Fraction

import pytest
from scipy.optimize import linprog

from nesting.openings.linear import minimise


def test_two_rows_meet_in_a_corner() -> None:
    # min x + y with 2x + y >= 4 and x + 3y >= 7: the rows meet at x = 1, y = 2.
    solution = minimise((1, 1), [((2, 1), 4), ((1, 3), 7), ((1, 1), 0)])
    assert solution.x == (1, 2)
    assert solution.binding == {0, 1}
    assert solution.only


def test_thirds_stay_exact() -> None:
    # 3x >= 1 and 7y >= x, so x = 1/3, y = 1/21.
    solution = minimise((1, 1), [((3, 0), 1), ((-1, 7), 0)])
    assert solution.x == (Fraction(1, 3), Fraction(1, 21))


def test_an_edge_of_best_corners_is_not_called_the_only_one() -> None:
    # min x + y with x + y >= 2: every point of that line with x, y >= 0.
    rows = [((1, 1), 2), ((1, 0), 0), ((0, 1), 0)]
    solution = minimise((1, 1), rows)
    assert sum(solution.x) == 2
    assert solution.binding == {0}
    assert not solution.only


def test_contradicting_rows_are_refused() -> None:
    with pytest.raises(ArithmeticError):
        minimise((1,), [((1,), 3), ((-1,), -2)])


def _programme(seed: int) -> tuple[list[int], list[tuple[tuple[int, ...], int]]]:
    rng = random.Random(seed)
    size = rng.randint(1, 5)
    unit = [tuple(int(i == j) for i in range(size)) for j in range(size)]
    rows = [
        (tuple(rng.randint(-4, 4) for _ in range(size)), rng.randint(-9, 6))
        for _ in range(rng.randint(1, 12))
    ]
    return [rng.randint(0, 3) for _ in range(size)], [*rows, *((a, -5) for a in unit)]


def test_like_highs_on_random_programmes() -> None:
    """HiGHS (through SciPy) agrees on the value and on which rows always bind."""
    solved = contradictory = 0
    for seed in range(300):
        cost, rows = _programme(seed)
        matrix, bounds = [[-x for x in a] for a, _ in rows], [-b for _, b in rows]
        free = [(None, None)] * len(cost)
        outside = linprog(cost, A_ub=matrix, b_ub=bounds, bounds=free, method="highs")
        if outside.status == 2:
            contradictory += 1
            with pytest.raises(ArithmeticError):
                minimise(cost, rows)
            continue
        solution = minimise(cost, rows)
        solved += 1
        value = sum(c * x for c, x in zip(cost, solution.x, strict=True))
        assert float(value) == pytest.approx(outside.fun, abs=1e-7)
        for a, b in rows:
            assert sum(c * x for c, x in zip(a, solution.x, strict=True)) >= b
        _rows_always_bind(cost, matrix, bounds, rows, solution.binding, float(value))
    assert solved > 100
    assert contradictory > 10


def _rows_always_bind(cost, matrix, bounds, rows, binding, value) -> None:
    """Among the best solutions none leaves a row slack that is said to bind."""
    for i in binding:
        a, b = rows[i]
        loosest = linprog([-x for x in a], A_ub=[*matrix, cost], b_ub=[*bounds, value + 1e-9],
                          bounds=[(None, None)] * len(cost), method="highs")  # fmt: skip
        assert -loosest.fun == pytest.approx(b, abs=1e-5)
