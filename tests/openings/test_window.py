"""Windows worked by hand; the arithmetic stands beside the numbers. t is 3/4 throughout."""

from __future__ import annotations

import itertools
import math
import random
from fractions import Fraction

import pytest

from nesting.errors import JobError
from nesting.geometry import twice_area
from nesting.job.models import Opening, Wall
from nesting.lengths import INCH, Units
from nesting.openings import Fit, fit_opening
from nesting.openings.cover import cover
from nesting.openings.faces import faces_of
from nesting.openings.splay import lean, root
from nesting.openings.window import _frame
from tests.openings.test_cover import highs_levels, matrices, worst_of
from tests.openings.walls import STEP, THREE_QUARTERS, band, fit, flat, height, inch, part, proud, run, width
from tests.openings.windows import ALL, all_round, even, splay, window


def sizes(found: Fit, role: str) -> tuple[float, ...]:
    one = part(found, role)
    return tuple(
        size / INCH for size in (one.length, one.width_start, one.width_end, one.skew_start, one.skew_end)
    )


# --- plumb -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("joint", "leg", "head"),
    [
        # inside the frame 36 x 48, reveal 1/4: between the pieces 36 1/2 and 48 1/2
        ("head over legs", "48 1/2", "38"),  # head and sill 36 1/2 + 2 x 3/4
        ("head between legs", "50", "36 1/2"),  # legs 48 1/2 + 2 x 3/4
        ("rabbet", "50", "37 1/4"),  # 36 1/2 + 2 x 3/8
    ],
)
def test_lengths_by_joint(joint: str, leg: str, head: str):
    found = fit(even("6", joint=joint, rabbet=inch("3/8")))
    assert [part(found, role).length for role in ALL] == [inch(leg), inch(leg), inch(head), inch(head)]
    assert all(sizes(found, role)[1:] == (6, 6, 0, 0) for role in ALL)
    assert all(part(found, role).bevels == {} for role in ALL)
    assert found.clear_width == inch("36 1/2")
    assert found.height == {"left": inch("48 1/2"), "right": inch("48 1/2")}


def test_no_reveal_is_less_than_asked_for():
    # 35 7/8 low, 36 in the middle, 35 15/16 high: 36 + 2 x 1/4 between the legs, 1/8 more at the bottom
    found = fit(even("6", width=width("35 7/8", "36", "35 15/16")))
    assert found.clear_width == inch("36 1/2")
    assert any('1/8" wider in one place' in note for note in found.notes)


def test_a_frame_out_of_level_is_followed_by_the_head():
    # 48 on the left, 48 1/4 on the right, over 36: legs 48 1/2 and 48 3/4, the head 38 x 1.00002
    found = fit(even("6", height=height("48", "48 1/4")))
    assert [sizes(found, role)[0] for role in ALL] == [48.5, 48.75, 38, 38]
    assert any('1/4" nearer the sill on the left' in note for note in found.notes)


def test_least_proud_is_added_once_and_rounded_up():
    # 6 + 1/32 is 6 1/32; a wall of 6.01 needs 6.04125, up to 6 1/16
    assert sizes(fit(even("6", proud=proud("1/32", "1/16"))), "sill")[1:3] == (6.03125, 6.03125)
    assert sizes(fit(even("6.01", proud=proud("1/32", "1/16"))), "head")[1:3] == (6.0625, 6.0625)


def test_corners_agree_and_the_taper_carries_on_past_the_joint():
    """Depth 6 + x/96 + y/64 off the frame's lower left corner, no reveal: a plane, so nothing stands proud.

    At the corners it is 6, 6 3/8 (lower right), 6 3/4 (upper left) and 7 1/8, and the legs end there. Head
    and sill run 3/4 further, which is 1/128 in depth: the sill is 5.9922 to 6.3828 wide, up to 6 and 6 13/32;
    the head 6.7422 to 7.1328, up to 6 3/4 and 7 5/32 (7.15625).
    """
    found = fit(
        window(
            run((0, "6"), (48, "6 3/4")), run((0, "6 3/8"), (48, "7 1/8")),
            run((0, "6 3/4"), (36, "7 1/8")), run((0, "6"), (36, "6 3/8")), reveal=0,
        )
    )  # fmt: skip
    assert sizes(found, "left leg")[1:3] == (6, 6.75)  # starts at the sill
    assert sizes(found, "right leg")[1:3] == (7.125, 6.375)  # starts at the TOP
    assert sizes(found, "head")[1:3] == (6.75, 7.15625)  # starts on the left
    assert sizes(found, "sill")[1:3] == (6.40625, 6)  # starts on the right
    for corner in found.corners.values():
        assert max(corner.values()) - min(corner.values()) <= STEP


def test_hands_follow_from_unfolding():
    """The edge on the window lies inside. Turn each until it lies below: the left leg's foot is then on the
    left, the head's left end, the right leg's top, and, of the sill, whose inside edge is the upper one,
    the right end."""
    found = fit(even("6"))
    starts = [part(found, role).marks["start"] for role in ALL]
    assert starts == ["sill", "TOP", "left", "right"]
    assert {(part(found, role).marks["straight"], part(found, role).marks["far"]) for role in ALL} == {
        ("window", "room")
    }


def test_a_mirrored_window_has_mirrored_parts():
    rng = random.Random(5)
    for _ in range(20):
        one = random_window(rng)
        found, other = fit(one), fit(mirrored(one))
        for role, twin in (("left leg", "right leg"), ("head", "head"), ("sill", "sill")):
            length, start, end, skew_start, skew_end = sizes(found, role)
            assert sizes(other, twin) == pytest.approx(
                (length, end, start, -skew_end, -skew_start), abs=2 / INCH
            )


def test_solid_lipping_is_taken_off_and_a_band_is_not():
    # lipping of 1/4 on the wall's edge: 6 - 1/4; a band of 1/32 stays on top
    assert sizes(fit(even("6", band=band("A", "1/4", False))), "head")[1:3] == (5.75, 5.75)
    found = fit(even("6", band=band("A", "1/32", False)))
    assert sizes(found, "head")[1:3] == (6, 6)
    assert found.runs[0].worst == inch("1/32")
    assert part(found, "head").band == ("far",)


# --- splayed ---------------------------------------------------------------------------------


def test_45_degrees_by_hand():
    """6 deep. Along the slope 6 x 1.414214 = 8.485281, and t tan 45 = 3/4 for the bevel: 9.235281, so 9 1/4.

    Heads and sills run over legs that are 3/4 x 1.414214 = 1.060660 wide along them: 36 1/2 + 2.121320 =
    38.621320, to the nearest 38 5/8. An end runs out by tan 45 x cos 45 = 0.707107 of the width: of 9 1/4
    that is 6.540738. Bevels 45 along, and at the ends asin(sin 45 x sin 45) = asin 1/2 = 30 degrees.
    """
    found = fit(even("6", splay=all_round(1)))
    for role in ALL:
        length, start, end, skew_start, skew_end = sizes(found, role)
        assert (length, start, end) == (48.5 if "leg" in role else 38.625, 9.25, 9.25)
        assert (skew_start, skew_end) == pytest.approx((-6.540738, 6.540738), abs=2 / INCH)
        assert part(found, role).bevels == {"start": 30.0, "end": 30.0, "straight": 45.0, "far": -45.0}
    assert all(len(set(corner.values())) == 1 for corner in found.corners.values())


def test_the_band_of_a_bevelled_edge_is_wider():
    # 3/4 x 1.414214 = 1.0607, up to 1 1/16; on a plumb window nothing is said
    banded = {"band": band("A", "1/32", False)}
    said = [fit(even("6", splay=one, **banded)).notes for one in (all_round(1), all_round(0))]
    assert [any('cover 1 1/16"' in note for note in notes) for notes in said] == [True, False]


def test_a_belly_that_may_turn_either_way_comes_to_rest():
    """Sill 6, 6 1/2, 6 at -2, 18, 38: level at 6 1/2 or turned about its middle, 1/2 proud at each end."""
    deep = run((-2, "6"), (18, "6 1/2"), (38, "6"))
    found = fit(window(flat("6", -2, 50), flat("6", -2, 50), flat("6", -2, 38), deep, splay=all_round("1/4")))
    sill = next(done for done in found.runs if done.role == "sill")
    assert inch("1/2") <= sill.worst <= inch("1/2") + 2 * STEP
    for corner in found.corners.values():
        assert max(corner.values()) - min(corner.values()) <= STEP
    assert any("below the sill" in text or "left of the window" in text for text in found.warnings)
    assert not any("-" in text for text in found.warnings)


def test_3_in_4_by_hand():
    """Sides lean 3 over 4 (36.87 degrees, cos 4/5, sin 3/5), head and sill do not; depth 6.

    Legs: 6 x 5/4 + 3/4 x 3/4 = 8 1/16, square ends. Head and sill: 6 wide; they pass the legs by 3/4 x 5/4 =
    15/16 a side: 36 1/2 + 1 7/8 = 38 3/8, and run out by 3/4 x 6 = 4 1/2 at each end. No bevel at the ends:
    the head's face is square to the wall.
    """
    found = fit(even("6", splay=splay(left="3/4", right="3/4")))
    for leg in ("left leg", "right leg"):
        assert sizes(found, leg) == (48.5, 8.0625, 8.0625, 0, 0)
        assert part(found, leg).bevels == {"straight": 36.87, "far": -36.87}
    for level in ("head", "sill"):
        assert sizes(found, level) == (38.375, 6, 6, -4.5, 4.5)
        assert part(found, level).bevels == {}


def test_no_splay_is_the_plain_frame():
    rng = random.Random(2)
    for _ in range(10):
        one = random_window(rng, splayed=False).model_copy(update={"height": height("48", "48")})
        assert fit(one) == fit(one.model_copy(update={"splay": all_round(0)}))
        for piece in fit(one).parts:
            assert (piece.skew_start, piece.skew_end, piece.bevels) == (0, 0, {})


def test_a_square_root_is_exact_or_a_little_more():
    assert root(Fraction(25, 16)) == Fraction(5, 4)
    for number in (2, 3, Fraction(7, 5)):
        assert 0 < root(Fraction(number)) ** 2 - number < Fraction(1, 10**13)


def test_a_corner_far_from_any_reading_is_asked_for():
    # at 45 degrees and 6 deep the wall's corners lie 6 1/4 past the frame's inside edge
    found = fit(even("6", splay=all_round(1)))
    assert any("lower corner" in text and '-6 1/4"' in text for text in found.warnings)
    near = flat("6", -6, 54)
    assert fit(window(near, near, flat("6", -6, 42), flat("6", -6, 42), splay=all_round(1))).warnings == ()


def test_a_piece_that_comes_to_nothing_is_a_fault():
    # head and right leg fall to nothing within 10 inches of the lower left, so their corner lies behind it
    falling = run((0, "5"), (10, "1/8"))
    with pytest.raises(JobError) as caught:
        fit(window(flat("5", 0, 48), falling, falling, flat("5", 0, 36)))
    assert "comes to nothing at one end" in str(caught.value)


def test_a_wall_that_runs_away_faster_than_the_splay_is_covered_and_said():
    # the legs' readings rise by 2.9 an inch at 45 degrees, which no piece can follow: they stand proud
    steep = run((0, "1"), (10, "30"))
    found = fit(window(steep, steep, flat("6", 0, 36), flat("6", 0, 36), splay=all_round(1)))
    assert min(station.proud for done in found.runs for station in done.stations) >= 0
    assert "proud" in found.warnings[0]


@pytest.mark.parametrize("change", [{"height": None}, {"joint": "rabbet", "rabbet": inch("3/4")}])
def test_an_impossible_window_is_a_fault(change):
    with pytest.raises(JobError):
        fit(even("6", **change))


# --- on random windows -----------------------------------------------------------------------


def random_window(rng: random.Random, splayed: bool = True) -> Opening:
    """Depths of 5 to 5 1/2 at two to five places a run; slopes up to 1."""
    def stations(top: int):
        places = sorted({0, top, *(rng.randint(1, top - 1) for _ in range(rng.randint(0, 3)))})
        return run(*((str(at), f"5 {rng.randint(1, 31)}/64") for at in places))

    slopes = [Fraction(rng.randint(0, 20), 20) if splayed else Fraction(0) for _ in range(4)]
    left = 48 * INCH + rng.randint(-8, 8) * INCH // 16
    return window(
        stations(48), stations(48), stations(36), stations(36),
        splay=splay(**dict(zip(("left", "right", "head", "sill"), slopes, strict=True))),
        height=height("48", "48").model_copy(update={"left": left}),
        joint=rng.choice(("head over legs", "head between legs", "rabbet")), rabbet=inch("3/8"),
        reveal=rng.choice((0, inch("1/8"), inch("1/4"))),
    )  # fmt: skip


def mirrored(one: Opening) -> Opening:
    def turned(readings):
        return tuple(r.model_copy(update={"at": one.width.low - r.at}) for r in readings)

    wall = Wall(
        left=one.wall.right, right=one.wall.left, head=turned(one.wall.head), sill=turned(one.wall.sill)
    )
    flip = {"left": "right", "right": "left"}
    swap = {name: getattr(one.splay, flip.get(name, name)) for name in ("left", "right", "head", "sill")}
    tall = one.height.model_copy(update={"left": one.height.right, "right": one.height.left})
    return one.model_copy(update={"wall": wall, "splay": splay(**swap), "height": tall})


@pytest.mark.parametrize("seed", range(40))
def test_no_station_is_short_and_the_corners_agree(seed: int):
    rng = random.Random(seed)
    one = random_window(rng)
    found = fit_opening(one, THREE_QUARTERS, STEP, Units.INCH)
    assert [done.role for done in found.runs] == list(ALL)
    for station in itertools.chain(*(done.stations for done in found.runs)):
        assert station.proud >= one.proud.least
    for corner in found.corners.values():
        assert max(corner.values()) - min(corner.values()) <= STEP


@pytest.mark.parametrize("seed", range(20))
def test_a_flat_wall_is_met_to_the_step_at_any_splay(seed: int):
    """A plane 6 + x/p + y/q: whatever the splay, the edge follows it, proud by what was rounded up."""
    rng = random.Random(seed)
    a, b = Fraction(rng.randint(-3, 3), 200), Fraction(rng.randint(-3, 3), 200)
    slopes = {name: Fraction(rng.randint(0, 20), 20) for name in ("left", "right", "head", "sill")}

    def station(x: Fraction, y: Fraction, at: Fraction):
        return at, 6 * INCH + a * x * INCH + b * y * INCH

    def place(name: str, at: int):
        # the point on the piece's face at the wall, found by going there step by step
        depth = Fraction(6)
        for _ in range(60):
            x, y = {
                "left": (-Fraction(1, 4) - slopes["left"] * depth, Fraction(at)),
                "right": (36 + Fraction(1, 4) + slopes["right"] * depth, Fraction(at)),
                "head": (Fraction(at), 48 + Fraction(1, 4) + slopes["head"] * depth),
                "sill": (Fraction(at), -Fraction(1, 4) - slopes["sill"] * depth),
            }[name]
            depth = Fraction(round((6 + a * x + b * y) * 10**12), 10**12)
        return at * INCH, math.floor(depth * INCH)

    def readings(name: str, top: int):
        template = flat("6", 0)[0]
        return tuple(
            template.model_copy(update=dict(zip(("at", "thickness"), place(name, at), strict=True)))
            for at in (-8, 3, top // 2, top + 8)
        )

    one = window(readings("left", 48), readings("right", 48), readings("head", 36), readings("sill", 36),
                 splay=splay(**slopes))  # fmt: skip
    for done in fit(one).runs:
        # both ends were rounded up by a step at most, and corners may take one more to agree
        assert 0 <= done.worst <= 2 * STEP, done.role


def test_worst_stations_like_highs():
    """The closed line, its four runs and four ties, against HiGHS (SciPy), exactly: without slack."""
    rng = random.Random(11)
    same = 0
    for _ in range(60):
        one = random_window(rng)
        pieces = lean(one, THREE_QUARTERS.thickness, STEP)
        depths = dict.fromkeys(range(4), rng.randint(0, 6) * INCH)
        frame, faces = _frame(pieces, depths), faces_of(one)
        ours = worst_of(cover(frame, faces), faces)
        theirs = highs_levels(matrices(frame, faces))
        assert float(max(ours.values())) / INCH == pytest.approx(max(theirs.values()), abs=1e-6)
        same += all(abs(float(ours[role]) / INCH - theirs[role]) < 1e-6 for role in ALL)
        loose = worst_of(cover(frame, faces, STEP), faces)
        assert max(loose.values()) <= max(ours.values()) + STEP
    # where two levels are closer than HiGHS' own tolerance of 1e-7 it may take them for one
    assert same >= 57


@pytest.mark.parametrize("seed", range(60))
def test_whatever_the_readings_a_window_is_covered_and_closes_or_is_a_fault(seed: int):
    """Depths from 1/4 to 20 inches beside each other, splays up to 60 degrees, frames out of level."""
    rng = random.Random(seed)
    high, wide, most = rng.randint(10, 90), rng.randint(8, 100), rng.choice((1, 2, 6, 20))

    def stations(top: int):
        ends = rng.randint(-12, top // 2), rng.randint(top // 2 + 1, top + 12)
        places = {*ends, *(rng.randint(-12, top + 12) for _ in range(rng.randint(0, 4)))}
        reading = flat("1", 0)[0]
        return tuple(
            reading.model_copy(update={"at": at * INCH, "thickness": rng.randint(INCH // 4, most * INCH)})
            for at in sorted(places)
        )

    slopes = [Fraction(rng.randint(0, 17321), 10000) * rng.choice((0, 1)) for _ in range(4)]
    one = window(
        stations(high), stations(high), stations(wide), stations(wide),
        splay=splay(**dict(zip(("left", "right", "head", "sill"), slopes, strict=True))),
        height=height(str(high), str(high)).model_copy(
            update={"left": high * INCH + rng.randint(-3, 3) * INCH // 8}
        ),
        width=width(str(wide)),
    )  # fmt: skip
    try:
        found = fit(one)
    except JobError as error:
        said = str(error)
        assert "comes to nothing" in said or "do not meet" in said
        return
    assert all(station.proud >= 0 for done in found.runs for station in done.stations)
    assert all(max(corner.values()) - min(corner.values()) <= STEP for corner in found.corners.values())
    assert all(twice_area(piece.outline) > 0 for piece in found.parts)


@pytest.mark.parametrize("seed", range(20))
def test_the_order_of_the_stations_does_not_matter(seed: int):
    rng = random.Random(300 + seed)
    one = random_window(rng)
    names = ("left", "right", "head", "sill")
    runs = {name: getattr(one.wall, name) for name in names}
    shuffled = {name: tuple(rng.sample(found, len(found))) for name, found in runs.items()}
    other = one.model_copy(update={"wall": one.wall.model_copy(update=shuffled)})
    assert fit(one).parts == fit(other).parts


@pytest.mark.parametrize("seed", range(20))
def test_inches_and_millimetres_give_one_piece_within_a_step(seed: int):
    """The same window with steps of 1/32 inch (0.79 mm) and of 0.5 mm."""
    one = random_window(random.Random(400 + seed))
    for inches, metric in zip(fit(one).parts, fit(one, step=160).parts, strict=True):
        for size in ("length", "width_start", "width_end"):
            # each is rounded by a step at most; an end may go up one more where a corner asks for it
            assert abs(getattr(inches, size) - getattr(metric, size)) <= 2 * STEP, size
