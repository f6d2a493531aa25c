"""What is read back from the SVG pages and the packet's PDF are the numbers of the plan file."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from fractions import Fraction
from functools import cache

import pytest

from nesting.check import CheckedPlan
from nesting.drawing.drawings import draw_plan
from nesting.drawing.packet import PAPERS, packet
from tests.drawing import browser, plans

CASES = {"tapers": plans.tapers, "mm, back": plans.metric_back, "worst": plans.worst,
         "forty": plans.many_parts, **{path.stem: lambda path=path: plans.sample_plan(path)
                                       for path in plans.SAMPLES}}  # fmt: skip
LETTER, A4 = (612.0, 792.0), (595.276, 841.89)  # points: 8 1/2 x 11 inches, and ISO 216 A4


@cache
def made(case: str) -> CheckedPlan:
    return CASES[case]()


def value(text: str) -> Fraction:
    """Read ``13 5/8`` or ``346.5`` (written anew: the package's own reader is not asked)."""
    whole, _, part = text.rpartition(" ") if "/" in text else (text, "", "0")
    return Fraction(whole or 0) + Fraction(part)


def agrees(text: str, number: float, step: Fraction) -> bool:
    """Whether a figure is the file's number: exactly, or where that is off the step to the nearest one."""
    off = abs(value(text) - Fraction(number))
    return off < Fraction(1, 10**5) or (off <= step / 2 + Fraction(1, 10**5) and value(text) % step == 0)


def file_of(plan) -> tuple[dict, Fraction]:
    data = json.loads(plan.to_json())
    return data, Fraction(data["step"]).limit_denominator(64)


def readings(cut: dict) -> list[float]:
    """Of the left or lower end first, from the edges that the line runs along."""
    (x0, y0), (x1, y1) = cut["from"], cut["to"]
    along = abs(x1 - x0) >= abs(y1 - y0)
    beside = ("lower", "upper") if along else ("left", "right")
    order = ("from", "to") if (x0 < x1 if along else y0 < y1) else ("to", "from")
    return [next(m["reading"] for m in cut["marks"] if m["at"] == at and m["edge"] in beside) for at in order]


@pytest.mark.parametrize("case", CASES)
def test_the_rows_of_a_sheet_are_the_files_cuts(case):
    """Number, kind, edge, both readings and the length (not in a short row), in this order in the SVG."""
    checked = made(case)
    data, step = file_of(checked.plan)
    for drawn, sheet in zip(draw_plan(checked), data["sheets"], strict=True):
        texts = [element.text or "" for page in drawn.pages for element in browser.texts(page)]
        rows = {}
        for k, text in enumerate(texts):
            if text in ("trim", "rip", "crosscut", "taper") and texts[k - 1].isdecimal():
                rows[int(texts[k - 1])] = texts[k : k + 5]
        assert list(rows) == [cut["number"] for cut in sheet["cuts"]]
        for cut in sheet["cuts"]:
            kind, edge, low, high, length = rows[cut["number"]]
            assert kind == told(cut, step, data["units"])
            assert any(mark["edge"] in edge for mark in cut["marks"])
            for text, number in zip((low, high), readings(cut), strict=True):
                assert agrees(text, number, step)
            if f"{cut['piece']} → " in " ".join(texts):  # else the row is a short one and says what it gives
                assert agrees(length, cut["length"], step)


@pytest.mark.parametrize("case", CASES)
def test_the_parts_of_a_sheet_have_the_files_sizes(case):
    """Every part's length and widths stand in the picture or in the table of what had no room there."""
    checked = made(case)
    data, step = file_of(checked.plan)
    figure = re.compile(r"\d+(?: \d+/\d+|/\d+|\.\d+)?")
    for drawn, sheet in zip(draw_plan(checked), data["sheets"], strict=True):
        joined = " | ".join(e.text or "" for page in drawn.pages for e in browser.texts(page))
        found = figure.findall(joined)
        here = {placed["number"] for placed in sheet["placed"]}
        for part in (part for part in data["parts"] if part["number"] in here):
            for key in ("length", "width_start", "width_end"):
                assert any(agrees(text, part[key], step) for text in found), (part["number"], key)


@pytest.fixture(scope="module")
def packets(tmp_path_factory: pytest.TempPathFactory):
    if shutil.which("pdftotext") is None:
        pytest.skip("poppler's pdftotext is not on this machine")
    folder = tmp_path_factory.mktemp("packets")

    @cache
    def of(case: str, paper: str):
        file = folder / f"{case}-{paper}.pdf"
        file.write_bytes(packet(made(case), paper=paper))
        return file

    return of


def output(*command: str) -> str:
    return subprocess.run(command, capture_output=True, check=True, text=True).stdout


@pytest.mark.parametrize("case", CASES)
def test_the_packet_says_the_files_cuts(case, packets):
    """pdftotext gives the words as they are set; each cut's row among them, with the file's numbers."""
    text = " ".join(output("pdftotext", "-raw", str(packets(case, "letter")), "-").split())
    data, step = file_of(made(case).plan)
    for sheet in data["sheets"]:
        for cut in sheet["cuts"]:
            low, high = (written(number, step, data["units"]) for number in readings(cut))
            kind = told(cut, step, data["units"])
            start = rf"\b{cut['number']} {kind} (?:[A-Z]+ )?\w+(?:, \w+)?…? "
            assert re.search(f"{start}{low} {high} ", text), cut


def told(cut: dict, step: Fraction, units: str) -> str:
    """What a cut is to who makes it: a taper that reads alike at both ends is none that a tape can tell."""
    low, high = (written(number, step, units) for number in readings(cut))
    if cut["kind"] != "taper" or low != high or len({mark["edge"] for mark in cut["marks"]}) > 1:
        return cut["kind"]
    (x0, y0), (x1, y1) = cut["from"], cut["to"]
    return "rip" if abs(x1 - x0) >= abs(y1 - y0) else "crosscut"


def written(number: float, step: Fraction, units: str) -> str:
    """A number as a tape says it, to the step (half a step down), as a pattern."""
    steps = -((Fraction(number).limit_denominator(10**6) / -step + Fraction(1, 2)) // 1)
    whole, part = divmod(steps * step, 1)
    if units == "mm":
        return re.escape(f"{float(steps * step):g}")
    shown = f"{whole} {part}" if whole and part else f"{part or whole}"
    return re.escape(shown)


WORD = re.compile(r'<word xMin="(.+?)" yMin="(.+?)" xMax="(.+?)" yMax="(.+?)">(.*?)</word>')


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("case", CASES)
def test_the_packet_keeps_off_the_papers_edges(case, paper, packets):
    """A quarter inch is what printers leave white (common practice, no source)."""
    wide, high = LETTER if paper == "letter" else A4
    pages = output("pdftotext", "-bbox", str(packets(case, paper)), "-").split("<page ")[1:]
    assert len(pages) > len(made(case).plan.sheets) + 3
    for page in pages:
        size = [float(v) for v in re.findall(r'(?:width|height)="([\d.]+)"', page)[:2]]
        assert size == pytest.approx([wide, high], abs=0.01)
        for x0, y0, x1, y1, word in WORD.findall(page):
            assert float(x0) >= 18, word
            assert float(x1) <= wide - 18, word
            assert float(y0) >= 18, word
            assert float(y1) <= high - 18, word
