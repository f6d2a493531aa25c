"""The packet and the report page: the plan's content, the same bytes, and no harm from any name."""

from __future__ import annotations

import re
import shutil
import subprocess
from html.parser import HTMLParser

import pytest

from nesting.check import CheckedPlan
from nesting.drawing.packet import PAPERS, packet
from nesting.drawing.report_page import SCRIPT, report_page
from nesting.job.reading import parse_job
from nesting.packing.instance import Settings
from nesting.work.planner import plan_job

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
    targets = set(re.findall(r'id="(sheet-\d+)"', page))
    assert targets == {f"sheet-{sheet.number}" for sheet in checked.plan.sheets}
    assert set(re.findall(r'href="#(sheet-\d+)"', page)) <= targets
    for sheet in checked.plan.sheets:
        assert page.count(f'id="cut-{sheet.number}-') == len(sheet.cuts)


def test_the_same_plan_gives_the_same_bytes(checked: CheckedPlan):
    assert report_page(checked) == report_page(checked)
    assert packet(checked) == packet(checked)


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
