"""Cuts one by one: every cut once, in order, with the plan's own readings; pieces as Shapely cuts them."""

from __future__ import annotations

import math
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from shapely.geometry import LineString, Polygon
from shapely.ops import split

from nesting.drawing.bench import _size, in_hand
from nesting.drawing.drawings import draw_plan
from nesting.drawing.ink import Ink
from nesting.drawing.step_picture import StepPicture
from nesting.drawing.steps import _head, draw_steps, step_pages
from nesting.drawing.words import UNWANTED, said
from nesting.lengths import INCH
from tests.drawing import plans
from tests.report import handmade

SVG = "{http://www.w3.org/2000/svg}"
CASES = {
    "six parts": plans.six_parts, "tapers": plans.tapers, "forty": plans.many_parts, "a board": plans.strip,
    "mm, back": plans.metric_back, "slats": plans.slats, "random": lambda: plans.random_plan(6),
}  # fmt: skip


def words(svg: str) -> list[str]:
    return [element.text or "" for element in ElementTree.fromstring(svg.encode()).iter(f"{SVG}text")]


@pytest.mark.parametrize("case", CASES)
def test_every_cut_has_a_picture_in_its_order_with_the_plans_readings(case):
    checked = CASES[case]()
    plan = checked.plan
    for sheet in plan.sheets:
        drawn = draw_steps(checked, sheet)
        assert [n for one in drawn for n in one.numbers] == [cut.number for cut in sheet.cuts]
        for one in drawn:
            texts, cut = words(one.svg()), sheet.cuts[one.numbers[0] - 1]
            piece = f"piece {cut.piece}" + (" first" if len(one.numbers) > 1 else "")
            assert {cut.kind.upper(), piece} <= set(texts)
            assert any(text.startswith(f"{said(plan, cut.length)} long") for text in texts)
            for mark in cut.marks:
                assert said(plan, mark.reading) in texts
                assert any(mark.edge in text for text in texts)
            assert all(any(text.startswith(f"cut {n}, ") for text in texts)
                       for n in one.numbers if len(one.numbers) > 1)  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_the_piece_in_hand_is_what_shapely_leaves(case):
    """The piece cut by Shapely along the line: its two sides, the kerf taken off one of them."""
    plan = CASES[case]().plan
    for sheet in plan.sheets:
        for hand in in_hand(plan, sheet):
            piece = Polygon(hand.piece)
            (ax, ay), (bx, by) = hand.cut.start, hand.cut.to
            dx, dy = bx - ax, by - ay
            line = LineString([(ax - dx, ay - dy), (bx + dx, by + dy)])
            first, second = split(piece, line).geoms
            kept, other = Polygon(hand.kept), Polygon(hand.other)
            assert min(kept.symmetric_difference(side).area for side in (first, second)) < 4 * piece.length
            gone = piece.area - kept.area - other.area
            assert gone <= sheet.kerf * (math.hypot(dx, dy) + 3 * sheet.kerf) + 4 * piece.length
            if not other.is_empty:
                assert other.distance(LineString([hand.cut.start, hand.cut.to])) == pytest.approx(
                    sheet.kerf, abs=3)  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_a_name_with_no_room_in_the_picture_is_told_below_it(case, monkeypatch):
    """Every side that is wanted is named in its picture, else said to lie above, below, left or right."""
    checked = CASES[case]()
    plan, sheet = checked.plan, checked.plan.sheets[0]
    monkeypatch.setattr(StepPicture, "_name", lambda *_: iter(()))
    texts = {one.numbers[0]: " ".join(words(one.svg())) for one in draw_steps(checked, sheet)}
    told = 0
    for hand in in_hand(plan, sheet):
        if hand.cut.number not in texts:
            continue
        picture = StepPicture(plan, hand)
        axis = 1 if picture.along else 0
        for name, outline in ((hand.step.kept, hand.kept), (hand.step.other, hand.other)):
            if not outline or name in UNWANTED:
                continue
            line = LineString([hand.cut.start, hand.cut.to])
            beyond = Polygon(outline).centroid.coords[0][axis] > line.centroid.coords[0][axis]
            way = (("lower", "upper"), ("left", "right"))[1 - axis][beyond]
            assert f"{name} is the {way} side, too small here for its name" in texts[hand.cut.number]
            told += 1
    assert told


def test_cuts_that_are_alike_share_a_picture_and_lose_nothing():
    checked = plans.many_parts()
    (sheet,) = checked.plan.sheets
    drawn = draw_steps(checked, sheet)
    assert len(drawn) < len(sheet.cuts) * 0.6
    for one in drawn:
        text = " ".join(words(one.svg()))
        alike = [cut for cut in sheet.cuts if cut.number in one.numbers]
        same = {(cut.kind, cut.length, cut.rails, cut.packer, cut.marks) for cut in alike}
        assert len(same) == 1
        assert len(alike) == 1 or all(f"cut {cut.number}, {cut.piece}" in text for cut in alike)


def test_the_pages_hold_all_steps_and_say_how_the_sheet_lies():
    checked = plans.metric_back()
    (sheet,) = checked.plan.sheets
    texts = [text for page in step_pages(checked, sheet) for text in words(page)]
    assert any("MIRRORED" in text for text in texts)
    assert sum(text.startswith("piece ") for text in texts) == len(draw_steps(checked, sheet))


def test_a_sheet_that_needs_no_cut_has_no_page_of_cuts():
    checked = handmade.vouched()
    sheet = checked.plan.sheets[0].model_copy(update={"cuts": ()})
    assert step_pages(checked, sheet) == []


def test_files_are_named_by_sheet_and_page():
    checked = plans.many_parts(7, 10)
    (one,) = draw_plan(checked)
    names = list(one.files())
    assert names[0] == "sheet-1.svg"
    assert "sheet-1-steps.svg" in names
    assert len(set(names)) == len(names) == len(one.pages) + len(one.step_pages)


@pytest.mark.parametrize(("piece", "size"), [
    # a window's leg, one end cut to the splay; it is nowhere 8 9/32 or 10 wide
    (((34.5, 0.25), (61.25, 0.25), (61.25, 10.0625), (30.75, 10.1875)), "30 1/2 × 9 15/16"),
    # a taper that was cut right through a piece, all but a triangle
    (((0.25, 0.25), (10.75, 0.25), (0.75, 47.75), (0.25, 47.75)), "10 1/2 × 47 1/2"),
    # a leg with its foot off square is told by both its widths
    (((0.25, 0.25), (78.75, 0.25), (79, 13.0625), (0.25, 13.3125)), "78 3/4 × 13 1/16 to 12 13/16"),
])  # fmt: skip
def test_the_size_of_the_piece_in_hand(piece, size):
    plan = plans.six_parts().plan
    assert _size(plan, tuple((round(x * INCH), round(y * INCH)) for x, y in piece)) == size


def test_the_edge_to_read_from_is_never_cut_short():
    """Of several cuts at one setting with a packer; "16 to 18" and the rail leave little room."""
    checked = plans.many_parts()
    hand = next(hand for hand in in_hand(checked.plan, checked.plan.sheets[0]) if hand.step.kind == "rip")
    told = replace(hand.step, rail="rail 118 on kept, packer", number=16)
    ink = Ink(90, 40)
    _head(ink, (0, 0), [replace(hand, step=told), replace(hand, step=replace(told, number=18))])
    assert f"{hand.step.edge} edge" in " ".join(words(ink.text()))
