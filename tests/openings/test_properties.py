"""What holds of every opening that can be measured, tried by Hypothesis."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nesting.job.measured import Feet, Floor, Framing, Line, Reading, Stud, Wall, Width
from nesting.job.models import Gap, Opening, Proud
from nesting.lengths import INCH, MM, Units
from nesting.openings import Fit, fit_opening
from nesting.openings.cover import cover
from nesting.openings.faces import faces_of
from nesting.openings.frame import ROLES, SIDES, Role, make_frame
from nesting.parts import Part
from nesting.stock import Material
from tests.openings.test_cover import worst_of
from tests.openings.walls import BIRCH, STEP, part, widths

RUN: dict[Role, str] = {"left leg": "left", "right leg": "right", "head": "head"}
THICK, WIDE, HIGH = 12 * INCH, 38 * INCH, 80 * INCH
few = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
# What a tape reads: 32nds up to a half more than the thinnest place.
READ = st.integers(0, 16).map(lambda n: n * STEP)


@st.composite
def readings(draw: st.DrawFn, first: int, last: int, faces: int) -> tuple[Reading, ...]:
    """Two to five stations, one within a foot of each end."""
    middle = draw(st.lists(st.integers(first + 12, last - 12), max_size=3))
    places = [draw(st.integers(first, first + 8)), *middle, draw(st.integers(last - 8, last))]
    found = []
    for at in places:
        a, b = THICK // 2 + draw(READ), THICK // 2 + draw(READ)
        found.append(
            Reading(at=at * INCH, face_a=a, face_b=b, thickness=a + b) if faces == 2
            else Reading(at=at * INCH, thickness=THICK - a + b)
        )  # fmt: skip
    return tuple(found)


@st.composite
def openings(draw: st.DrawFn, faces: int | None = None, **fixed: object) -> Opening:
    """Any joint, both rooms, one width; feet, floor and studs are given by ``fixed`` or not at all."""
    faces = faces or draw(st.sampled_from([1, 2]))
    joint = draw(st.sampled_from(["head over legs", "head between legs", "rabbet"]))
    fields: dict[str, object] = {
        "name": "D",
        "material": ("birch",),
        "joint": joint,
        "rabbet": 3 * INCH // 8,
        "horn": draw(st.sampled_from([0, INCH])),
        "straight": draw(st.sampled_from(["A", "B"])),
        "line": Line(left=HIGH // 2, right=HIGH // 2 + draw(READ), up=HIGH // 2),
        "width": Width(low=WIDE, middle=WIDE, high=WIDE),
        "gap": Gap(left=draw(READ), right=draw(READ), top=INCH // 4),
        "proud": Proud(least=draw(st.sampled_from([0, INCH // 16])), most=INCH // 8),
        "wall": Wall(left=draw(readings(0, 80, faces)), right=draw(readings(0, 80, faces)),
                     head=draw(readings(0, 38, faces))),
    }  # fmt: skip
    return Opening(**{**fields, **fixed})  # type: ignore[arg-type]


def fit(opening: Opening, step: int = STEP, material: Material = BIRCH) -> Fit:
    return fit_opening(opening, material, step, Units.INCH)


@st.composite
def harder(draw: st.DrawFn) -> Opening:
    """Feet held up, a floor that falls both ways, studs that lean."""
    small = st.integers(-8, 8).map(lambda n: n * STEP)
    studs = [
        tuple(Stud(at=at * INCH, off=INCH + draw(small)) for at in (2, 40, 80)) for _ in SIDES
    ]
    return draw(openings(
        feet=Feet(left=draw(READ), right=draw(READ)),
        floor=Floor(left=draw(small), right=draw(small)),
        framing=Framing(left=studs[0], right=studs[1], apart=36 * INCH),
    ))  # fmt: skip


@few
@given(st.one_of(openings(), harder()))
def test_no_station_is_short_and_corners_agree_to_the_step(opening: Opening):
    found = fit(opening)
    faces = len(faces_of(opening))
    for run in found.runs:
        for station in run.stations:
            assert station.proud >= opening.proud.least // faces
    for corner in found.corners.values():
        assert abs(corner["leg"] - corner["head"]) <= faces * STEP


@few
@given(openings(faces=1))
def test_no_station_is_short_by_the_parts_own_widths(opening: Opening):
    """By the part that is cut: its width carried along from end to end, never below wall and least proud."""
    found, frame = fit(opening), make_frame(opening, BIRCH.thickness, STEP)
    for role, piece in frame.pieces.items():
        low, high = widths(found, role)
        for reading in getattr(opening.wall, RUN[role]):
            along = Fraction(reading.at - piece.start) / piece.length
            assert low + (high - low) * along >= reading.thickness + opening.proud.least


def mirrored(opening: Opening) -> Opening:
    """The same seen in a mirror: left and right changed, the head's places from the other side."""
    wall, gap, line, wide = opening.wall, opening.gap, opening.line, opening.width.low
    assert line
    head = tuple(reading.model_copy(update={"at": wide - reading.at}) for reading in wall.head)
    return opening.model_copy(update={
        "wall": Wall(left=wall.right, right=wall.left, head=head),
        "gap": Gap(left=gap.right, right=gap.left, top=gap.top),
        "line": Line(left=line.right, right=line.left, up=line.up),
        "floor": Floor(left=opening.floor.right, right=opening.floor.left),
        "feet": Feet(left=opening.feet.right, right=opening.feet.left),
    })  # fmt: skip


def in_a_mirror(piece: Part) -> tuple[int, ...]:
    """The sizes of a piece in a mirror: what was its start is its end."""
    return piece.length, piece.width_end, piece.width_start, -piece.skew_end, -piece.skew_start


def sizes(piece: Part) -> tuple[int, ...]:
    return piece.length, piece.width_start, piece.width_end, piece.skew_start, piece.skew_end


OTHER: dict[str, str] = {"left leg": "right leg", "right leg": "left leg", "head": "head"}


@few
@given(openings(floor=Floor(left=INCH // 8, right=-INCH // 16), feet=Feet(left=INCH // 2, right=0)))
def test_a_mirrored_opening_gives_mirrored_parts(opening: Opening):
    """One width at all heights. (Else the frame's stand at the left gap makes the difference.)"""
    found, other = fit(opening), fit(mirrored(opening))
    for role in ROLES:
        assert sizes(part(other, OTHER[role])) == in_a_mirror(part(found, role))


@few
@given(openings(), st.randoms(use_true_random=False))
def test_where_the_frame_stands_is_all_that_three_widths_change(opening: Opening, rng: object):
    """With a wider place above, the head's places are off by what is spare, and nothing else is."""
    spare = INCH // 4
    wider = Width(low=WIDE, middle=WIDE, high=WIDE + spare)
    turned = mirrored(opening)
    # in the mirror the frame stands at the other side's gap: its head's readings lie that much further in
    moved = tuple(r.model_copy(update={"at": r.at + spare}) for r in turned.wall.head)
    at_right = opening.model_copy(update={"width": wider})
    at_left = turned.model_copy(update={
        "width": wider, "wall": turned.wall.model_copy(update={"head": moved}),
        "gap": Gap(left=turned.gap.left + spare, right=turned.gap.right - spare, top=turned.gap.top),
    })  # fmt: skip
    for role in ROLES:
        assert sizes(part(fit(at_left), OTHER[role])) == in_a_mirror(part(fit(at_right), role))


@few
@given(harder(), st.randoms(use_true_random=False))
def test_the_order_of_the_stations_does_not_matter(opening: Opening, rng):
    def shuffled(run):
        return tuple(rng.sample(run, len(run)))

    wall = Wall(**{run: shuffled(getattr(opening.wall, run)) for run in RUN.values()})
    framing = opening.framing
    assert framing
    studs = Framing(left=shuffled(framing.left), right=shuffled(framing.right), apart=framing.apart)
    other = fit(opening.model_copy(update={"wall": wall, "framing": studs}))
    found = fit(opening)
    assert (other.parts, other.corners, other.gaps) == (found.parts, found.corners, found.gaps)
    assert [run.worst for run in other.runs] == [run.worst for run in found.runs]


@few
@given(openings())
def test_inches_and_millimetres_give_the_same_piece_within_a_step(opening: Opening):
    """Steps of 1/32 inch and of 1/2 mm; a 32nd is 0.79375 mm, 254 units, so readings are the same in both."""
    inches, metric = fit(opening), fit_opening(opening, BIRCH, MM // 2, Units.MM)
    faces = len(faces_of(opening))
    for one, other in zip(inches.parts, metric.parts, strict=True):
        for mine, its in zip(sizes(one), sizes(other), strict=True):
            assert abs(mine - its) <= faces * STEP  # each face is rounded up by itself


@st.composite
def one_plumb_face(draw: st.DrawFn) -> tuple[Opening, Opening, str]:
    """The same wall as thickness and as two faces, of which one is plumb and straight, at whole steps."""
    opening = draw(openings(faces=1))
    plumb = draw(st.sampled_from(["A", "B"]))
    off = draw(st.integers(0, 300)) * STEP

    def both(reading: Reading) -> Reading:
        rest = reading.thickness - off
        a, b = (off, rest) if plumb == "A" else (rest, off)
        return Reading(at=reading.at, face_a=a, face_b=b, thickness=reading.thickness)

    wall = Wall(**{run: tuple(map(both, getattr(opening.wall, run))) for run in RUN.values()})
    return opening, opening.model_copy(update={"wall": wall}), plumb


@few
@given(one_plumb_face())
def test_one_plumb_face_gives_the_piece_that_the_thickness_gives(walls: tuple[Opening, Opening, str]):
    thickness, faces, plumb = walls
    thickness, faces = (wall.model_copy(update={"straight": plumb}) for wall in (thickness, faces))
    for one, other in zip(fit(thickness).parts, fit(faces).parts, strict=True):
        assert sizes(one) == sizes(other)


@few
@given(openings(faces=2))
def test_a_wall_that_leans_never_fits_better_than_its_thickness(opening: Opening):
    """Both edges together cover the thickness, so their worst station is no less than the best line's.

    That is the opening's worst: elsewhere, and in area, a piece that follows both faces can be less wide.
    """
    wall = Wall(**{
        run: tuple(Reading(at=r.at, thickness=r.thickness) for r in getattr(opening.wall, run))
        for run in RUN.values()
    })  # fmt: skip
    alone = opening.model_copy(update={"wall": wall})
    frame = make_frame(opening, BIRCH.thickness, STEP)
    (line,) = cover(frame, faces_of(alone))
    best = max(worst_of((line,), faces_of(alone)).values())
    pair = cover(frame, faces_of(opening))
    worst = max(
        sum(edges[role].at(r.at) for edges in pair) - r.thickness - opening.proud.least
        for role in ROLES
        for r in getattr(opening.wall, RUN[role])
    )
    assert worst >= best
