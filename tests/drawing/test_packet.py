"""The packet and the report page: the plan's content, the same bytes, and no harm from any name."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import shutil
import subprocess
from html.parser import HTMLParser
from importlib import resources
from itertools import combinations

import pytest

from nesting.check import CheckedPlan
from nesting.drawing.drawings import draw_plan
from nesting.drawing.installing import opening_svg
from nesting.drawing.labels import LABEL_SHEETS
from nesting.drawing.packet import PAPERS, label_sheet, packet
from nesting.drawing.page import HEIGHT, WIDTH
from nesting.drawing.report_page import SCRIPT, report_page
from nesting.job.reading import parse_job
from nesting.packing.instance import Settings
from nesting.report.compare import Comparison, Option
from nesting.work.planner import plan_job
from tests.drawing import browser
from tests.report.handmade import renamed

LONG = ("x" * 500, "many words of a name " * 25, "W" * 30, "#panic(1) $x$ *bold* \u202e\u05d0 \U0001f4d0")

HOSTILE = '<script>alert(1)</script> "&quot; \' #panic("x") $ ] \u202e\u05d0\u05d1 \U0001f4a5 ' + "m" * 300


@pytest.fixture(scope="module")
def checked() -> CheckedPlan:
    name = HOSTILE.replace("'", "''")
    text = f"""
job: '{name}'
units: inch
saw: {{kerf: 3/32}}
materials: {{birch: {{thickness: 23/32, weight: 2.3}}}}
stock: [{{name: birch 4x8, material: birch, length: 96, width: 48, price: 94}}]
parts:
  - name: '{name}'
    material: birch
    length: 40
    width: [12, 13]
  - {{name: shelf, material: birch, length: 34 1/2, width: 11 3/4}}
"""
    return plan_job(parse_job(text, "x"), Settings(seconds=5, effort=20))


class Tags(HTMLParser):
    """What a browser would make of the page, told by the standard library's parser."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag, attrs):
        self.found.append((tag, dict(attrs)))


def test_nothing_a_job_says_runs_in_the_page(checked: CheckedPlan):
    page = report_page(checked)
    tags = Tags()
    tags.feed(page)
    assert [tag for tag, _ in tags.found].count("script") == 1
    assert page.count(SCRIPT) == 1
    assert not [a for _, attrs in tags.found for a in attrs if a.startswith("on")]
    links = [attrs.get("href") or attrs.get("src") or "" for _, attrs in tags.found]
    assert all(link.startswith(("#", "data:image/svg+xml;base64,")) for link in links if link)


def test_each_part_leads_to_its_sheet(checked: CheckedPlan):
    page = report_page(checked)
    targets = set(re.findall(r' id="([^"]+)"', page))
    assert {f"sheet-{sheet.number}" for sheet in checked.plan.sheets} <= targets
    assert set(re.findall(r'href="#([^"]+)"', page)) <= targets
    for part in checked.plan.parts:
        # from the parts list, and from the ticks below its sheet
        assert page.count(f'href="#place-{part.number}"') == 2
    for sheet in checked.plan.sheets:
        assert page.count(f'id="cut-{sheet.number}-') == len(sheet.cuts)


@pytest.mark.parametrize(("text", "whole"), [("13 11/32", True), ("13 3/8\"", True), ("13 11", False)])
def test_a_number_is_not_parted_from_its_fraction(text: str, whole: bool):
    import typst  # noqa: PLC0415 - 60 MB

    measured = b"#context [#metadata(measure(block(width: 1mm, data)).height == measure(data).height) <one>]"
    common = resources.files("nesting.drawing").joinpath("common.typ").read_bytes()
    found = typst.query(common + measured, "<one>", field="value", sys_inputs={"data": json.dumps(text)})
    assert json.loads(found) == [whole]


def test_the_same_plan_gives_the_same_bytes(checked: CheckedPlan):
    assert report_page(checked) == report_page(checked)
    assert packet(checked) == packet(checked)


def test_a_parts_place_is_where_its_number_stands(checked: CheckedPlan):
    """The frame that a link leads to lies about the part's own number in the drawing."""
    page = report_page(checked)
    for sheet in draw_plan(checked):
        texts = browser.texts(sheet.pages[0])
        for number in sheet.places:
            style = re.search(rf'id="place-{number}" style="([^"]+)"', page)
            assert style
            left, top, wide, high = (float(v) / 100 for v in re.findall(r":([\d.]+)%", style[1]))
            spots = [(float(t.attrib["x"]) / WIDTH, float(t.attrib["y"]) / HEIGHT) for t in texts
                     if t.text == str(number) and t.get("font-weight") == "bold"]  # fmt: skip
            assert any(left < x < left + wide and top < y < top + high for x, y in spots)


SIZES = ["612 x 792", "595.276 x 841.89"]  # points: 8 1/2 x 11 inches, and ISO 216 A4


@pytest.mark.parametrize(("paper", "size"), list(zip(PAPERS, SIZES, strict=True)))
def test_the_packet_has_its_paper_and_numbers(checked: CheckedPlan, paper: str, size: str, tmp_path):
    data = packet(checked, paper=paper)
    assert data.startswith(b"%PDF-")
    if shutil.which("pdftotext") is None:
        pytest.skip("poppler's pdftotext is not on this machine")
    file = tmp_path / "packet.pdf"
    file.write_bytes(data)
    text = _output("pdftotext", "-layout", str(file), "-")
    for words in ("34 1/2", "11 3/4", "12 to 13", "94.00", "shelf", "NIOSH"):
        assert words in text
    assert size in _output("pdfinfo", str(file))


def _output(*command: str) -> str:
    return subprocess.run(command, capture_output=True, check=True, text=True).stdout


def _overlap(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    """Whether two words meet; a quarter off each line's height, which has air above and below."""
    air = (a[3] - a[1]) / 4
    return (a[0] + 0.5 < b[2] and b[0] + 0.5 < a[2]) and (a[1] + air < b[3] - air and b[1] + air < a[3] - air)


WORD = re.compile(r'<word xMin="(.+?)" yMin="(.+?)" xMax="(.+?)" yMax="(.+?)">(.*?)</word>')


@pytest.mark.parametrize("name", LONG)
def test_no_name_leaves_the_paper_or_lies_over_other_words(name: str, tmp_path):
    if shutil.which("pdftotext") is None:
        pytest.skip("poppler's pdftotext is not on this machine")
    file = tmp_path / "packet.pdf"
    file.write_bytes(packet(renamed(name)))
    pages = _output("pdftotext", "-bbox", str(file), "-").split("<page ")[1:]
    assert len(pages) >= 5
    for page in pages:
        words = [(*map(float, w[:4]), w[4]) for w in WORD.findall(page)]
        # a quarter inch at the paper's edges is what printers leave white (common practice, no source)
        assert all(w[0] >= 18 and w[2] <= 612 - 18 and w[1] >= 18 and w[3] <= 792 - 18 for w in words)
        if any(w[4] == "page" for w in words):  # the sheets' own pages are measured by their own tests
            met = [(a[4], b[4]) for a, b in combinations(words, 2) if _overlap(a, b)]
            assert not met


@pytest.mark.parametrize("name", ["left leg of the kiln", *LONG])
@pytest.mark.parametrize("sheet", LABEL_SHEETS)
def test_every_word_of_a_label_sheet_lies_in_its_label(sheet: str, name: str, tmp_path):
    """A printer may be a sixteenth of an inch off: so much is left free around (common practice)."""
    if shutil.which("pdftotext") is None:
        pytest.skip("poppler's pdftotext is not on this machine")
    form, checked = LABEL_SHEETS[sheet], renamed(name)
    file = tmp_path / "labels.pdf"
    file.write_bytes(label_sheet(checked, form))
    assert file.read_bytes() == label_sheet(checked, form)
    (page,) = _output("pdftotext", "-bbox", str(file), "-").split("<page ")[1:]
    cells = [tuple(form.corner[i] + form.pitch[i] * (k // form.grid[0] if i else k % form.grid[0])
                   for i in (0, 1)) for k in range(form.grid[0] * form.grid[1])]  # fmt: skip
    words = [(*(float(v) * 25.4 / 72 for v in w[:4]), w[4]) for w in WORD.findall(page)]
    for x0, y0, x1, y1, word in words:
        # the box of a word has air above and below its letters
        inside = [x <= x0 - 1.5 and y <= y0 and x1 + 1.5 <= x + form.size[0] and y1 <= y + form.size[1]
                  for x, y in cells]  # fmt: skip
        assert sum(inside) == 1, word
    assert not [(a[4], b[4]) for a, b in combinations(words, 2) if _overlap(a, b)]
    assert {str(part.number) for part in checked.plan.parts} <= {word for *_, word in words}


@pytest.mark.parametrize("form", LABEL_SHEETS.values(), ids=LABEL_SHEETS)
def test_a_label_sheet_fills_its_paper_evenly(form):
    """What is left at both sides, and above and below, is the same within a quarter of a millimetre."""
    for i in (0, 1):
        last = form.corner[i] + (form.grid[i] - 1) * form.pitch[i] + form.size[i]
        assert form.size[i] <= form.pitch[i]
        assert form.page[i] - last == pytest.approx(form.corner[i], abs=0.25)


def test_the_installing_page_shows_its_pieces(tmp_path):
    checked = renamed("Kiln")
    page = report_page(checked)
    svg = opening_svg(checked.plan, checked.plan.openings[0])
    assert base64.b64encode(svg.encode()).decode() in page
    if shutil.which("pdftotext") is None:
        pytest.skip("poppler's pdftotext is not on this machine")
    file = tmp_path / "packet.pdf"
    file.write_bytes(packet(checked))
    assert "folded flat" in _output("pdftotext", "-layout", str(file), "-")


def test_the_comparison_is_printed_where_it_is_at_hand(checked: CheckedPlan):
    options = (Option("birch 5x5", False, "left leg is longer than the sheet"),)
    comparison = Comparison(checked.plan.job, checked.plan.units, options)
    assert "left leg is longer than the sheet" in report_page(checked, comparison=comparison)
    assert "left leg is longer" not in report_page(checked)
    assert packet(checked, comparison=comparison) != packet(checked)


def test_the_policy_names_the_script_by_its_hash(checked: CheckedPlan):
    digest = base64.b64encode(hashlib.sha256(SCRIPT.encode()).digest()).decode()
    assert f"script-src 'sha256-{digest}'" in report_page(checked)
    assert "default-src 'none'" in report_page(checked)
