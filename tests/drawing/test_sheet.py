"""The pages of a sheet: true to scale, the same each time, safe for any name, all where it belongs."""

from __future__ import annotations

import math
import re
from functools import partial
from xml.etree import ElementTree

import pytest
from shapely import unary_union
from shapely.geometry import Point, Polygon, box

from nesting.check import checked
from nesting.drawing.balloons import Balloon
from nesting.drawing.measure import plain
from nesting.drawing.page import HEIGHT, WIDTH
from nesting.drawing.sheet import Pages, draw_sheet
from nesting.drawing.words import skew_words
from nesting.lengths import MM, show
from tests.drawing import browser, plans
from tests.report import handmade

SVG = browser.SVG
CASES = {
    "six parts": plans.six_parts, "tapers": plans.tapers, "many": plans.many_parts, "board": plans.strip,
    "back": plans.metric_back, "square": plans.square, "banded": handmade.vouched,
    **{f"random {seed}": partial(plans.random_plan, seed) for seed in (20, 21, 22, 23)},
}  # fmt: skip


@pytest.fixture(scope="module", params=CASES)
def drawn(request):
    plan = CASES[request.param]()
    return plan, draw_sheet(plan, plan.plan.sheets[0], validate=True)


def scale_of(page: str) -> int:
    return int(re.search(r"1 : (\d+)<", page)[1])


def test_it_is_plain_svg_of_one_page_size(drawn):
    """svgwrite has judged every element against SVG 1.1; here: no style sheet, nothing defined."""
    for page in drawn[1]:
        root = ElementTree.fromstring(page.encode())
        assert root.attrib["width"] == f"{WIDTH:g}mm"
        assert root.attrib["height"] == f"{HEIGHT:g}mm"
        assert root.attrib["viewBox"] == f"0 0 {WIDTH:g} {HEIGHT:g}"
        kinds = {element.tag.removeprefix(SVG) for element in root.iter()}
        assert kinds <= {"svg", "rect", "line", "polygon", "circle", "path", "text"}
        assert not any("style" in element.attrib or "class" in element.attrib for element in root.iter())


def test_it_fits_both_papers():
    """US Letter is 215.9 x 279.4 mm, A4 210 x 297 (ISO 216); 10 mm stay free on each side."""
    assert min(215.9, 210) - WIDTH >= 20
    assert min(279.4, 297) - HEIGHT >= 20


def test_parts_are_drawn_true_to_scale(drawn):
    plan, pages = drawn
    scale, root = scale_of(pages[0]), ElementTree.fromstring(pages[0].encode())
    shapes = [
        [tuple(map(float, pair.split(","))) for pair in polygon.attrib["points"].split()]
        for polygon in root.iter(f"{SVG}polygon")
        if polygon.get("stroke-width") == "0.5"
    ]
    sheet = plan.plan.sheets[0]
    assert len(shapes) == len(sheet.placed)
    for corners, placed in zip(shapes, sheet.placed, strict=True):
        for i in range(4):
            drawn_side = math.dist(corners[i], corners[(i + 1) % 4])
            real = math.dist(placed.corners[i], placed.corners[(i + 1) % 4]) / MM
            assert drawn_side == pytest.approx(real / scale, abs=0.015)


def test_nothing_is_mirrored(drawn):
    """Corners run on paper as on the sheet: anticlockwise from the show face, y being down on paper."""
    plan, _ = drawn
    pages = Pages(plan.plan, plan.plan.sheets[0])
    for piece in pages.picture.pieces:
        ring = piece.outline.corners
        area = sum(p[0] * q[1] - q[0] * p[1] for p, q in zip(ring, [*ring[1:], ring[0]], strict=True))
        assert (area < 0) is (plan.plan.seen_from == "show")


def test_the_bar_has_its_length(drawn):
    plan, pages = drawn
    root = ElementTree.fromstring(pages[0].encode())
    ends = [[float(line.attrib[k]) for k in ("x1", "y1", "x2", "y2")] for line in root.iter(f"{SVG}line")]
    bar = next(line for line in ends if line[1] == line[3] == HEIGHT - 1.5)
    assert bar[2] - bar[0] == {"inch": 101.6, "mm": 100.0}[plan.plan.units]


def test_every_page_says_which_it_is(drawn):
    plan, pages = drawn
    for page in pages:
        assert plan.plan.check_sum in page
        assert f"SHEET 1 of {len(plan.plan.sheets)}" in page
        assert ("BACK FACE UP" in page) is (plan.plan.seen_from == "back")
        assert ("SHOW FACE UP" in page) is (plan.plan.seen_from == "show")


def test_every_cut_has_its_circle_and_its_row(drawn):
    plan, pages = drawn
    numbers = {cut.number for cut in plan.plan.sheets[0].cuts}
    found = Pages(plan.plan, plan.plan.sheets[0]).picture.balloons
    circled = {balloon.number for balloon in found.balloons}
    assert circled | set(found.homeless) == numbers
    texts = [text.text for page in pages for text in browser.texts(page)]
    assert all(texts.count(str(number)) >= 1 + (number in circled) for number in numbers)
    assert len([text for text in texts if "(see the pictures of the cuts)" in text]) == len(found.homeless)


@pytest.mark.parametrize("case", [case for case in CASES if not case.startswith("random")])
def test_on_a_sheet_of_the_usual_kind_every_cut_has_its_circle(case):
    """At random the smallest parts are 3 inches, six sides cut: there a number may find no room."""
    plan = CASES[case]().plan
    assert Pages(plan, plan.sheets[0]).picture.balloons.homeless == []


def test_the_dark_point_is_on_the_blades_side(drawn):
    """Walk a little from the line's middle to the waste side, on the sheet; on paper it is the same way."""
    sheet = drawn[0].plan.sheets[0]
    picture = Pages(drawn[0].plan, sheet).picture
    for balloon in picture.balloons.balloons:
        cut = sheet.cuts[balloon.number - 1]
        (ax, ay), (bx, by) = cut.start, cut.to
        turn = 1 if cut.waste_side == "left" else -1
        middle = ((ax + bx) / 2, (ay + by) / 2)
        step = (middle[0] - turn * (by - ay) * 0.01, middle[1] + turn * (bx - ax) * 0.01)
        here, there = picture.view.at(middle), picture.view.at(step)
        towards = (there[0] - here[0]) * balloon.side[0] + (there[1] - here[1]) * balloon.side[1]
        assert towards == pytest.approx(math.dist(here, there))


@pytest.mark.parametrize("number", [7, 107])
@pytest.mark.parametrize("degrees", range(0, 360, 15))
def test_a_balloon_keeps_off_all_that_it_covers(number, degrees):
    """Words once stood on the flank of the dark point, between the circle's box and the tip's."""
    side = (math.cos(math.radians(degrees)), math.sin(math.radians(degrees)))
    balloon = Balloon(number, (50.0, 40.0), side, (50.0, 40.0))
    kept = unary_union([box(b.x0, b.y0, b.x1, b.y1) for b in balloon.boxes])
    drawn = Polygon(balloon.point).union(Point(*balloon.centre).buffer(balloon.radius))
    assert kept.contains(drawn)
    reach = balloon.radius + 1
    assert Polygon(balloon.point).contains(Point(50 + reach * side[0], 40 + reach * side[1]))


def test_words_lie_in_their_part_and_sizes_at_their_ends():
    plan = plans.tapers().plan
    pages = Pages(plan, plan.sheets[0])
    tapered = [piece for piece in pages.picture.pieces if piece.tapered]
    assert len(tapered) == 4
    for piece in tapered:
        ends = {
            end: [sum(spot[i] for spot in piece.outline.edges[end]) / 2 for i in (0, 1)]
            for end in ("start", "end")
        }

        def nearer(text, piece=piece, ends=ends):
            (laid,) = (one for one in piece.shape.laid if one.mark.words.text == text)
            return min((math.dist(spot, laid.centre), end) for end, spot in ends.items())[1]

        assert nearer(show(piece.part.width_start, plan.units, plan.step)) == "start"
        assert nearer(show(piece.part.width_end, plan.units, plan.step)) == "end"
        assert piece.part.marks[nearer("TOP")] == "TOP"
        assert piece.part.marks[nearer("floor")] == "floor"


def test_what_has_no_room_in_the_picture_is_in_the_table():
    plan = plans.slats(10)
    texts = [text.text for page in draw_sheet(plan, plan.plan.sheets[0]) for text in browser.texts(page)]
    for part in plan.plan.parts:
        assert part.id in texts
        assert texts.count(f"{show(part.length, plan.plan.units)} × 1 1/2") == len(plan.plan.parts)


def test_a_part_that_has_all_its_words_is_not_in_the_table():
    plan = plans.square()
    (page,) = draw_sheet(plan, plan.plan.sheets[0])
    assert not any("×" in text.text and "28" in text.text for text in browser.texts(page))


def test_forty_parts_and_ninety_cuts_go_on_to_more_pages():
    plan = plans.many_parts(7, 10)
    assert len(plan.plan.sheets[0].cuts) >= 80
    pages = draw_sheet(plan, plan.plan.sheets[0])
    for k, page in enumerate(pages, 1):
        assert f"page {k} of {len(pages)}" in page


def test_a_few_cuts_stay_on_one_page():
    assert all(len(draw_sheet(plan, plan.plan.sheets[0])) == 1
               for plan in (plans.six_parts(), plans.tapers(), plans.strip(), plans.square()))  # fmt: skip


def test_the_same_plan_gives_the_same_bytes(drawn):
    plan, pages = drawn
    assert draw_sheet(plan, plan.plan.sheets[0]) == pages  # and to have it judged changes nothing


@pytest.mark.parametrize("name", handmade.HOSTILE)
def test_hostile_names_stay_text(name):
    plan = handmade.renamed(name)
    pages = draw_sheet(plan, plan.plan.sheets[0], validate=True)
    for page in pages:
        root = ElementTree.fromstring(page.encode())
        kinds = {element.tag.removeprefix(SVG) for element in root.iter()}
        assert "script" not in kinds
        assert "img" not in kinds
    title = browser.texts(pages[0])[1].text
    whole = plain(name)
    assert title == whole or whole.startswith(title.rstrip("…").rstrip())


def test_blocked_zones_and_an_odd_outline_are_drawn_and_named():
    """The format's `blocked` and `outline`; the zone lies in the scrap beside the parts."""
    plan = plans.metric_back()
    sheet = plan.plan.sheets[0]
    scrap = max((o for o in sheet.offcuts if not o.keep and not o.trim), key=lambda o: max(o.corners))
    x0, y0 = (min(c[i] for c in scrap.corners) + 50 * MM for i in (0, 1))
    zone = ((x0, y0), (x0 + 250 * MM, y0), (x0 + 250 * MM, y0 + 200 * MM), (x0, y0 + 200 * MM))
    ring = ((0, 0), (sheet.length, 0), (sheet.length, sheet.width), (20 * MM, sheet.width), (0, 1200 * MM))
    odd = sheet.model_copy(update={"blocked": (zone,), "outline": ring})
    (page,) = draw_sheet(plan, odd, validate=True)
    assert any(text.text == "BLOCKED" for text in browser.texts(page))
    assert any("cross-hatched" in text.text for text in browser.texts(page))
    assert page.count("<polygon") > draw_sheet(plan, sheet)[0].count("<polygon")


def test_a_skewed_end_says_by_how_much():
    plan = handmade.vouched().plan
    part = plan.parts[0].model_copy(update={"skew_start": 254, "skew_end": -254})
    assert skew_words(plan, part, "start") == "far 1/32 in"
    assert skew_words(plan, part, "end") == "far 1/32 in"
    assert skew_words(plan, part, "far") == ""
    assert skew_words(plan, part.model_copy(update={"skew_end": 254}), "end") == "far 1/32 out"


def test_the_jobs_own_date_stands_on_the_page():
    plan = plans.six_parts().plan
    for date, said in (("25 Nov 2026", "25 Nov 2026; "), ("x" * 400, "x" * 16 + "; "), ("", None)):
        dated = checked(plan.model_copy(update={"date": date}))
        page = draw_sheet(dated, dated.plan.sheets[0])[0]
        assert (said or ">inches, tape read") in page
        assert ('"date"' in dated.plan.to_json()) == bool(date)
