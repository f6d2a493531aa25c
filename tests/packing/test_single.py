"""One sheet's most valuable cutting: published optima, and a slow enumerator that knows nothing of it."""

from __future__ import annotations

import random
from functools import cache

import numpy as np
import pytest

from nesting.packing.recursion import Cutting, Piece, counts_of, raster, sides, sums
from nesting.packing.single import most_value

# Christofides and Whitlock 1977, Operations Research 25:30-44, problems 1 to 3 (cgcut1 to cgcut3 of the
# OR-Library): length x width, limit, value; no turning. The optima for edge-to-edge cutting are those that
# the literature gives (244 and 2892 in the paper; 1860 as in Hifi 1997, Computers & OR 24:727-736).
LIMITED = {
    "cgcut1": ((15, 10), 244, "8x4:2=66 3x7:1=35 8x2:3=24 3x4:5=17 3x3:2=11 3x2:2=8 2x1:1=2"),
    "cgcut2": ((40, 70), 2892, "21x22:1=582 31x13:1=403 9x35:3=315 9x24:3=216 30x7:2=210 11x13:3=143 "
                               "10x14:1=140 14x8:3=110 12x8:3=94 13x7:3=90"),
    "cgcut3": ((40, 70), 1860, "31x43:4=500 30x41:2=480 29x39:4=460 28x38:4=440 27x37:3=420 26x36:4=410 "
                               "25x35:3=400 24x34:4=380 33x23:4=360 22x32:3=340 31x21:3=320 29x18:3=300 "
                               "17x27:2=280 15x24:3=240 16x25:4=260 23x14:4=220 21x12:3=180 19x11:4=160 "
                               "9x17:1=140"),
}  # fmt: skip
# Beasley 1985, Journal of the Operational Research Society 36:297-306, gcut1 and gcut5 of the OR-Library:
# any number of each, value = area, no turning; the proved optima as the literature gives them.
UNLIMITED = {
    "gcut1": (250, 56460, "167x184 114x118 167x152 83x140 70x86 143x166 120x160 66x148 87x141 69x165"),
}


def limited(text: str) -> list[Piece]:
    found: list[Piece] = []
    for word in text.split():
        size, rest = word.split(":")
        limit, value = rest.split("=")
        a, b = size.split("x")
        found.append((int(a), int(b), int(value), int(limit), False))
    return found


@pytest.mark.parametrize("name", LIMITED)
def test_the_published_optimum_is_found_and_proved_where_parts_are_limited(name: str):
    room, best, text = LIMITED[name]
    pieces = limited(text)
    result = most_value(pieces, room, 0, seconds=60)
    assert (result.value, result.bound, result.proved) == (best, best, True)
    agrees(result, pieces, room, 0)


@pytest.mark.parametrize("name", UNLIMITED)
def test_the_published_optimum_is_found_and_proved_where_they_are_not(name: str):
    side, best, text = UNLIMITED[name]
    sizes = [tuple(map(int, word.split("x"))) for word in text.split()]
    pieces: list[Piece] = [(a, b, a * b, None, False) for a, b in sizes]
    result = most_value(pieces, (side, side), 0)
    assert (result.value, result.bound) == (best, best)
    agrees(result, pieces, (side, side), 0)


def agrees(result, pieces, room, kerf):
    """The tree holds what the counts say, within the limits, and fits by its true sizes."""
    counts = counts_of(result.tree, len(pieces))
    assert tuple(counts) == result.counts
    assert sum(int(n) * piece[2] for n, piece in zip(counts, pieces, strict=True)) == result.value
    assert all(piece[3] is None or n <= piece[3] for n, piece in zip(counts, pieces, strict=True))
    if result.tree is not None:
        length, width = sides(result.tree, pieces, kerf)
        assert length <= room[0]
        assert width <= room[1]


def enumerated(pieces: list[Piece], room: tuple[int, int], kerf: int) -> int:
    """The most value by trying every cut at every whole step."""

    @cache
    def contents(length: int, width: int) -> frozenset[tuple[int, ...]]:
        none = (0,) * len(pieces)
        found = {none}
        for index, (a, b, _, limit, may) in enumerate(pieces):
            ways = [(a, b), (b, a)] if may else [(a, b)]
            if limit != 0 and any(x <= length and y <= width for x, y in ways):
                found.add((*none[:index], 1, *none[index + 1 :]))
        halves = [(contents(x, width), contents(length - x - kerf, width)) for x in range(1, length - kerf)]
        halves += [(contents(length, y), contents(length, width - y - kerf)) for y in range(1, width - kerf)]
        for first, second in halves:
            for one in first:
                for other in second:
                    both = tuple(p + q for p, q in zip(one, other, strict=True))
                    if all(n <= (9 if p[3] is None else p[3]) for n, p in zip(both, pieces, strict=True)):
                        found.add(both)
        return frozenset(found)

    return max(sum(n * piece[2] for n, piece in zip(held, pieces, strict=True)) for held in contents(*room))


@pytest.mark.parametrize("seed", range(40))
def test_no_enumerated_cutting_is_better(seed: int):
    rng = random.Random(seed)
    room, kerf = (rng.randint(5, 9), rng.randint(4, 7)), rng.randint(0, 1)
    pieces: list[Piece] = [
        (rng.randint(1, 6), rng.randint(2, 5), rng.randint(1, 30), rng.choice([0, 1, 1, 2, 2]),
         rng.random() < 0.5)
        for _ in range(4)
    ]  # fmt: skip
    if seed % 4 == 0:  # a few of them without a limit, large enough for the enumerator
        pieces[0] = (rng.randint(3, 5), rng.randint(2, 4), rng.randint(5, 20), None, True)
    result = most_value(pieces, room, kerf)
    assert result.proved
    assert result.value == enumerated(pieces, room, kerf)
    agrees(result, pieces, room, kerf)


def test_the_recursion_is_the_optimum_where_limits_do_not_bind_and_above_it_where_they_do():
    """Four of 5 x 5 fill a sheet of 10 x 10: tight; with one to be had the recursion says four times it."""
    free, once = (5, 5, 7, None, False), (5, 5, 7, 1, False)
    for piece, best in ((free, 28), (once, 7)):
        cutting = Cutting([(5, 5, 7, None, False)], (10, 10), 0)
        assert cutting.inside(np.array([7]))[-1, -1] == 28
        assert most_value([piece], (10, 10), 0).value == best


def test_out_of_rectangles_the_bound_is_honest():
    room, best, text = LIMITED["cgcut2"]
    result = most_value(limited(text), room, 0, most_built=30)
    assert not result.proved
    assert result.value <= best <= result.bound
    agrees(result, limited(text), room, 0)


def test_the_same_question_has_the_same_answer():
    room, _, text = LIMITED["cgcut2"]
    first, second = (most_value(limited(text), room, 0, most_built=200) for _ in range(2))
    assert first == second


def test_a_grid_gives_bounds_and_trees_that_are_measured():
    rng = random.Random(5)
    pieces: list[Piece] = [(rng.randint(90, 400), rng.randint(90, 400), 0, None, True) for _ in range(8)]
    pieces = [(a, b, a * b, limit, may) for a, b, _, limit, may in pieces]

    values = np.array([piece[2] for piece in pieces])
    fine, coarse = (Cutting(pieces, (997, 743), 3, most) for most in (4000, 20))
    assert fine.exact
    assert not coarse.exact
    assert coarse.inside(values)[-1, -1] >= fine.inside(values)[-1, -1]
    exact = fine.tree(fine.inside(values), values)
    assert exact is not None
    assert fine.fits(exact)


def test_what_fits_nowhere_or_is_worth_nothing_is_not_cut():
    result = most_value([(30, 5, 9, None, False), (2, 2, 0, None, False)], (20, 20), 1)
    assert (result.value, result.bound, result.counts, result.tree) == (0, 0, (0, 0), None)
    assert most_value([(30, 5, 9, 1, True)], (20, 40), 0).value == 9
    assert most_value([], (20, 40), 0).value == 0


def test_sums_and_raster_points_by_hand():
    assert sums([((3,), None), ((4,), None)], 10) == [0, 3, 4, 6, 7, 8, 9, 10]
    assert sums([((3,), 1), ((4, 5), 1)], 10) == [0, 3, 4, 5, 7, 8]
    # beside 8 only 2 is left, which holds none: 8 and 9 and 10 are the same
    assert raster([0, 3, 4, 6, 7, 8, 9, 10], 10) == [0, 3, 4, 6, 7, 10]


@pytest.mark.parametrize("pieces", [
    [(0, 5, 3, None, False)],
    [(5, 5, -3, None, False)],
    [(5, 5, 3, -2, False)],
    [(5, 5, 2.5, None, False)],
    [(5, 5, 5 * 10**18, None, False)],  # four of them are more than 64 bits hold
])  # fmt: skip
def test_what_makes_no_sense_is_refused(pieces: list[Piece]):
    with pytest.raises(ValueError, match=r"piece 0|values"):
        most_value(pieces, (10, 10), 0)


@pytest.mark.parametrize(
    ("room", "kerf"), [((0, 10), 0), ((10, 10), -1), ((10.5, 10), 0), ((1 << 25, 10), 0)])  # fmt: skip
def test_a_sheet_that_makes_no_sense_is_refused(room: tuple[int, int], kerf: int):
    with pytest.raises(ValueError, match=r"sense|units"):
        most_value([(5, 5, 3, None, False)], room, kerf)


@pytest.mark.parametrize("limit", [None, 3_000])
def test_a_row_of_thousands_by_arithmetic(limit: int | None):
    """It was one call deeper for each strip."""
    result = most_value([(1, 10, 1, limit, False)], (2_500, 10), 0)
    assert (result.value, result.proved) == (2_500, True)


def test_the_time_ends_it_between_bounds():
    pieces: list[Piece] = [(110 + 13 * i, 50 + 7 * i, 10 + i * i, 2 + i % 2, True) for i in range(12)]
    ended = most_value(pieces, (960, 480), 7, seconds=0.0)
    assert 0 < ended.value <= most_value(pieces, (960, 480), 7).value <= ended.bound
