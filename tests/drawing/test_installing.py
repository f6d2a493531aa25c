"""The pieces folded flat: the right way round, every word in its place."""

from __future__ import annotations

from itertools import combinations
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.drawing.installing import HEIGHT, WIDTH, WINDOW_HEIGHT, legend, opening_svg
from nesting.drawing.measure import POINT, Words
from nesting.lengths import INCH
from nesting.plan import OpeningRecord, Plan, PlanPart, RunRecord, StationRecord
from tests.report.handmade import opening, plan, renamed

SVG = "{http://www.w3.org/2000/svg}"
Box = tuple[float, float, float, float]


def picture(made: Plan) -> ElementTree.Element:
    return ElementTree.fromstring(opening_svg(made, made.openings[0]))


def black(text: ElementTree.Element) -> Box:
    """From the baseline, or the comma's tail, up to the capitals' height (DejaVu: 0.73 of the size)."""
    x, y, size = (float(text.get(key, "0")) for key in ("x", "y", "font-size"))
    wide = Words(text.text or "", size / POINT, text.get("font-weight") == "bold").width
    left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[text.get("text-anchor", "start")] * wide
    tail = 0.15 * size if set(text.text or "") & set("gjpqy,") else 0.0
    return left, y - 0.73 * size, left + wide, y + tail


def corners(polygon: ElementTree.Element) -> list[tuple[float, ...]]:
    return [tuple(map(float, pair.split(","))) for pair in polygon.get("points", "").split()]


def overlap(a: Box, b: Box, air: float = 0.0) -> bool:
    return a[0] < b[2] + air and b[0] < a[2] + air and a[1] < b[3] + air and b[1] < a[3] + air


# Which end of a piece its standard form starts at, by the face of its straight edge (unfold the frame
# around its head, show faces towards you, that edge below): left leg, right leg, head.
STARTS = {"A": ("TOP", "floor", "right"), "B": ("floor", "TOP", "left")}
OTHER = {"TOP": "floor", "floor": "TOP", "left": "right", "right": "left"}


@st.composite
def openings(draw: st.DrawFn) -> Plan:
    def sixteenths(least: float, most: float) -> int:
        return draw(st.integers(int(least * 16), int(most * 16))) * INCH // 16

    straight, faces = draw(st.sampled_from("AB")), draw(st.sampled_from([(None,), ("A", "B")]))
    clear, thick = sixteenths(18, 72), 23 * INCH // 32
    lengths = [sixteenths(60, 120), sixteenths(60, 120), clear + 2 * thick]
    parts, runs = [], []
    for k, role in enumerate(("left leg", "right leg", "head")):
        start = STARTS[straight][k]
        width = sixteenths(4, 30)
        parts.append(PlanPart(
            number=k + 101, id=f"x {role}", opening="x", role=role, material="birch", thickness=thick,
            length=lengths[k], width_start=width, width_end=width + INCH // 4,
            marks={"start": start, "end": OTHER[start], "straight": f"room {straight}",
                   "far": f"room {'B' if straight == 'A' else 'A'}"},
        ))  # fmt: skip
        places = draw(st.lists(st.integers(0, lengths[k]), min_size=2, max_size=12))
        stations = tuple(
            StationRecord(at=at, wall=width, piece=width, proud=draw(st.integers(0, INCH)), face=face)
            for at in sorted(places) for face in faces
        )  # fmt: skip
        worst = max(station.proud for station in stations)
        runs.append(RunRecord(role=role, stations=stations, worst=worst, over=draw(st.booleans())))
    record = OpeningRecord(
        **opening().model_dump()
        | {"name": "x", "straight": straight, "clear_width": clear, "runs": tuple(runs)}
    )
    return plan(parts=tuple(parts), openings=(record,))


# By unfolding too: a window's straight edges lie inside, so each starts here.
IN_A_WINDOW = {"left leg": "sill", "right leg": "TOP", "head": "left", "sill": "right"}
ACROSS = {"sill": "TOP", "TOP": "sill", "left": "right", "right": "left"}


@st.composite
def windows(draw: st.DrawFn) -> Plan:
    def sixteenths(least: float, most: float) -> int:
        return draw(st.integers(int(least * 16), int(most * 16))) * INCH // 16

    wide, high, reveal = sixteenths(12, 120), sixteenths(12, 96), sixteenths(0, 0.5)
    lengths = {"left leg": high, "right leg": high, "head": wide, "sill": wide}
    parts, runs = [], []
    for k, (role, start) in enumerate(IN_A_WINDOW.items()):
        width = sixteenths(2, 20)
        parts.append(PlanPart(
            number=k + 101, id=f"x {role}", opening="x", role=role, material="birch", thickness=6000,
            length=lengths[role], width_start=width, width_end=width + INCH // 4,
            skew_start=-draw(st.integers(0, width)), skew_end=draw(st.integers(0, width)),
            marks={"start": start, "end": ACROSS[start], "straight": "window", "far": "room"},
        ))  # fmt: skip
        places = draw(st.lists(st.integers(-10 * INCH, lengths[role]), min_size=2, max_size=12))
        stations = tuple(
            StationRecord(at=at, wall=width, piece=width, proud=draw(st.integers(0, INCH)))
            for at in sorted(places)
        )  # fmt: skip
        worst = max(station.proud for station in stations)
        runs.append(RunRecord(role=role, stations=stations, worst=worst, over=draw(st.booleans())))
    record = OpeningRecord(
        **opening().model_dump()
        | {"name": "x", "kind": "window", "straight": "B", "clear_width": wide, "reveal": reveal,
           "height": {"left": high, "right": high}, "runs": tuple(runs)}
    )  # fmt: skip
    return plan(parts=tuple(parts), openings=(record,))


@given(windows())
@settings(max_examples=60, deadline=None)
def test_no_words_meet_in_a_window(made: Plan) -> None:
    svg = picture(made)
    texts = [(text.text or "", black(text)) for text in svg.iter(f"{SVG}text")]
    boxes = []
    for ring in map(corners, svg.iter(f"{SVG}polygon")):
        xs, ys = [x for x, _ in ring], [y for _, y in ring]
        boxes.append((min(xs), min(ys), max(xs), max(ys)))
    assert len(boxes) == 4
    for words, box in texts:
        assert 0 <= box[0] <= box[2] <= WIDTH, words
        assert 0 <= box[1] <= box[3] <= WINDOW_HEIGHT, words
        for piece in boxes:
            if not words.startswith("10"):  # its number lies in it
                assert not overlap(box, piece), words
    for (a, one), (b, other) in combinations(texts, 2):
        assert not overlap(one, other), (a, b)
    for one, other in combinations(boxes, 2):
        assert not overlap(one, other)


@given(windows())
@settings(max_examples=60, deadline=None)
def test_a_windows_pieces_lie_round_it_and_never_mirrored(made: Plan) -> None:
    for part, polygon in zip(made.parts, picture(made).iter(f"{SVG}polygon"), strict=True):
        c0, c1, c2, c3 = ring = corners(polygon)
        assert (c1[0] - c0[0]) * (c2[1] - c0[1]) - (c1[1] - c0[1]) * (c2[0] - c0[0]) < 0
        ends = dict(zip((part.marks["start"], part.marks["end"]), ((c0, c3), (c1, c2)), strict=True))
        middle = [sum(c[k] for c in ring) / 4 for k in (0, 1)]
        across = 0 if "leg" in str(part.role) else 1
        inside = (c0[across] + c1[across]) / 2 - middle[across]
        assert (inside > 0) == (part.role in ("left leg", "head"))
        first, last = ("TOP", "sill") if "leg" in str(part.role) else ("left", "right")
        assert ends[first][0][1 - across] < ends[last][0][1 - across]


def test_a_window_has_its_own_legend() -> None:
    assert legend(opening()).startswith("Outer edges face room A")
    assert legend(opening().model_copy(update={"kind": "window"})).startswith("R:")


@given(openings())
@settings(max_examples=60, deadline=None)
def test_no_words_meet_words_or_a_piece_or_leave_the_picture(made: Plan) -> None:
    svg = picture(made)
    texts = [(text.text or "", black(text)) for text in svg.iter(f"{SVG}text")]
    pieces = [corners(p) for p in svg.iter(f"{SVG}polygon")]
    assert len(pieces) == 3
    for words, (x0, y0, x1, y1) in texts:
        assert 0 <= x0 <= x1 <= WIDTH, words
        assert 0 <= y0 <= y1 <= HEIGHT, words
    for (a, one), (b, other) in combinations(texts, 2):
        assert not overlap(one, other), (a, b)
    for words, box in texts:
        for piece in pieces:
            xs, ys = [x for x, _ in piece], [y for _, y in piece]
            if not words.startswith("10"):  # its number lies in it
                assert not overlap(box, (min(xs), min(ys), max(xs), max(ys))), words


@given(openings())
@settings(max_examples=60, deadline=None)
def test_pieces_lie_with_top_up_room_a_outside_and_never_mirrored(made: Plan) -> None:
    straight = made.openings[0].straight
    for part, polygon in zip(made.parts, picture(made).iter(f"{SVG}polygon"), strict=True):
        c0, c1, c2, c3 = corners(polygon)
        middle = [sum(c[k] for c in (c0, c1, c2, c3)) / 4 for k in (0, 1)]
        turning = (c1[0] - c0[0]) * (c2[1] - c0[1]) - (c1[1] - c0[1]) * (c2[0] - c0[0])
        assert turning < 0, "anticlockwise on paper, where y runs down: the show face is seen"
        ends = dict(zip((part.marks["start"], part.marks["end"]), ((c0, c3), (c1, c2)), strict=True))
        room_a = (c0, c1) if straight == "A" else (c3, c2)
        if part.role == "head":
            assert sum(c[0] for c in ends["left"]) / 2 < middle[0]
            assert sum(c[1] for c in room_a) / 2 < middle[1]
        else:
            assert sum(c[1] for c in ends["TOP"]) / 2 < middle[1]
            outside = sum(c[0] for c in room_a) / 2 - middle[0]
            assert (outside < 0) == (part.role == "left leg")


def test_the_widths_stand_at_their_ends() -> None:
    # the hand-made left leg is 13 wide at its top and 13 1/4 at the floor, the right leg the reverse
    said = {(t.text or ""): float(t.get("y", "0")) for t in picture(plan()).iter(f"{SVG}text")}
    assert {"TOP, 13", "TOP, 13 1/4", "13 1/4"} <= set(said)
    assert said["TOP, 13"] < said["13 1/4"]


def test_the_station_over_the_limit_is_bold() -> None:
    bold = {t.text for t in picture(plan()).iter(f"{SVG}text") if t.get("font-weight") == "bold"}
    assert "2: 1/8" in bold
    assert "42: 0" not in bold


def test_an_opening_without_its_pieces_has_no_picture() -> None:
    assert opening_svg(plan(parts=plan().parts[3:]), opening()) == ""


@pytest.mark.parametrize("name", ["<b>&\"'", "\x00 x", "\u202e\u05d0"])
def test_a_name_breaks_nothing(name: str) -> None:
    assert picture(renamed(name).plan).tag == f"{SVG}svg"
