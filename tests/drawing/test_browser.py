"""Every word measured in a real browser: none over another, none over a line, none off the page."""

from __future__ import annotations

import shutil
import subprocess
from functools import partial
from itertools import combinations, groupby

import pytest
from shapely.geometry import Point, Polygon
from shapely.strtree import STRtree

from nesting.check import CheckedPlan
from nesting.drawing.chart import comparison_svg
from nesting.drawing.measure import Words
from nesting.drawing.page import HEIGHT, WIDTH
from nesting.drawing.sheet import Pages, draw_sheet
from nesting.drawing.steps import step_pages
from nesting.lengths import Units
from nesting.plan import Sheet
from nesting.report.compare import Comparison, Option
from tests.drawing import browser, plans
from tests.drawing.test_chart import COMPARISON
from tests.report import handmade

pytestmark = pytest.mark.skipif(
    browser.chromium() is None, reason="no Chromium found on this machine to measure the words in"
)

CASES = {
    "six parts": plans.six_parts,
    "joined rails": partial(plans.six_parts, (75, 55), "Jetty works"),
    "tapers on a 4 x 10": plans.tapers,
    "forty parts": plans.many_parts,
    "seventy parts": partial(plans.many_parts, 7, 10),
    "a board": plans.strip,
    "mm, back up": plans.metric_back,
    "a square sheet": plans.square,
    "slats": plans.slats,
    "banded": handmade.vouched,
    **{f"hostile {k}": partial(handmade.renamed, name) for k, name in enumerate(handmade.HOSTILE)},
    "worst": plans.worst,
    **{f"sample {path.stem}": partial(plans.sample_plan, path) for path in plans.SAMPLES},
    **{f"random {seed}": partial(plans.random_plan, seed) for seed in range(20)},
}
Found = dict[str, list[tuple[str, list[browser.Text], Sheet, CheckedPlan]]]


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Found:
    drawn = [
        (name, page, sheet, plan)
        for name, make in CASES.items()
        for plan in [make()]
        for sheet in plan.plan.sheets
        for page in [*draw_sheet(plan, sheet), *step_pages(plan, sheet)]
    ]
    found = browser.measured([page for _, page, *_ in drawn], tmp_path_factory.mktemp("chromium"))
    by_case: dict[str, list] = {name: [] for name in CASES}
    for (name, page, sheet, plan), texts in zip(drawn, found, strict=True):
        by_case[name].append((page, texts, sheet, plan))
    return by_case


@pytest.mark.parametrize("case", CASES)
def test_no_text_over_another_or_off_the_page_or_too_small(pages, case):
    assert pages[case]
    for _, texts, *_ in pages[case]:
        for text in texts:
            x0, y0, x1, y1 = text.box
            assert min(x0, y0) >= -0.05, text
            assert x1 <= WIDTH + 0.05, text
            assert y1 <= HEIGHT + 0.05, text
            assert text.size >= 7.99, text
        for one, other in combinations(texts, 2):
            assert not _overlap(one.box, other.box), (one, other)


def _overlap(a: tuple[float, ...], b: tuple[float, ...], play: float = 0.05) -> bool:
    across, down = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
    return across > play and down > play


@pytest.mark.parametrize("case", CASES)
def test_no_text_over_a_line(pages, case):
    """But for the number in a circle, which stands on its cut's line and hides it."""
    for page, texts, *_ in pages[case]:
        circles = browser.circles(page)
        tree = STRtree(browser.lines(page))
        for text in texts:
            black = text.black.buffer(-0.05)
            if any(circle.contains(black) for circle in circles):
                continue
            hit = [tree.geometries[k] for k in tree.query(black) if tree.geometries[k].intersects(black)]
            assert not hit, (text, hit)


@pytest.mark.parametrize("case", CASES)
def test_a_parts_words_lie_in_the_part(pages, case):
    """What is black of every word of a part, as measured; a number beside its part has a leader instead."""
    for sheet, plan in {id(sheet): (sheet, plan) for *_, sheet, plan in pages[case]}.values():
        first = next(texts for _, texts, other, _ in pages[case] if other is sheet)
        for piece in Pages(plan.plan, sheet).picture.pieces:
            outline = Polygon(piece.outline.corners).buffer(0.05)
            for one in piece.shape.laid:
                if not one.mark.words.text:
                    continue
                near = min((text for text in first if text.text == one.mark.words.text),
                           key=lambda text: Point(*one.centre).distance(text.black.centroid))  # fmt: skip
                led = near.text == str(piece.part.number) and piece.led
                assert led or outline.contains(near.black.buffer(-0.1)), (piece.part.number, near)


@pytest.mark.parametrize("case", CASES)
def test_the_words_own_measure_is_never_short(pages, case):
    """What the layout reckons with is at least what Chromium takes, with the font that ships."""
    for _, texts, *_ in pages[case]:
        for text in texts:
            if text.text.isascii():
                # letters stand out of their places by a tenth of their size, which long words hide
                stands_out = len(text.text) <= 5 or text.text[0] == "J" or text.text[-1] == "K"
                play = 0.3 if stands_out else 0.02
                assert Words(text.text, text.size, text.bold).width >= text.length - play, text


@pytest.mark.parametrize("case", CASES)
def test_every_part_has_its_number_large(pages, case):
    plan = pages[case][0][3].plan
    here = [text for _, texts, *_ in pages[case] for text in texts]
    large = {text.text for text in here if text.bold and text.size >= 13.99}
    assert {str(part.number) for part in plan.parts} <= large


def test_the_charts_words_keep_off_each_other(tmp_path):
    odd = Option("W" * 60, True, sheets={"W" * 60: 12, "birch 5x10": 3}, cost=12345.67, waste_percent=88.8)
    options = (*COMPARISON.options, odd, Option("M" * 500, False, "word " * 100))
    svg = comparison_svg(Comparison("x", Units.INCH, options))
    (texts,) = browser.measured([svg], tmp_path)
    for one, other in combinations(texts, 2):
        assert not _overlap(one.box, other.box), (one, other)
    assert all(text.box[2] <= WIDTH and text.box[3] <= HEIGHT for text in texts)


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="no pdftoppm to look at the print with")
def test_it_prints_at_its_full_size(tmp_path):
    """The 4-inch bar on a print to US Letter with the browser's own margins, at 254 dots an inch."""
    plan = plans.square()
    tmp_path.joinpath("sheet.svg").write_text(draw_sheet(plan, plan.plan.sheets[0])[0], "utf-8")
    program = browser.chromium()
    assert program
    target = ["--no-pdf-header-footer", f"--print-to-pdf={tmp_path / 'sheet.pdf'}",
              str(tmp_path / "sheet.svg")]  # fmt: skip
    profile = f"--user-data-dir={tmp_path / 'profile'}"
    command = [program, *browser.FLAGS, profile, *target]
    subprocess.run(command, capture_output=True, timeout=120, check=True)
    image = subprocess.run(["pdftoppm", "-r", "254", "-gray", str(tmp_path / "sheet.pdf")],
                           capture_output=True, timeout=60, check=True).stdout  # fmt: skip
    _, size, _, pixels = image.split(b"\n", 3)
    wide, high = map(int, size.split())
    assert len(pixels) == wide * high, "more than one page"
    rows = [pixels[wide * k : wide * (k + 1)] for k in range(high * 3 // 4, high)]
    runs = [max(len(list(run)) for dark, run in groupby(value < 128 for value in row) if dark)
            for row in rows if min(row) < 128]  # fmt: skip
    assert max(runs[-12:]) / 10 == pytest.approx(101.6, abs=0.2)
