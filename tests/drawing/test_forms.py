"""The measuring forms: the job file's keys, both papers, the same bytes, and no harm from any name."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from nesting.drawing import forms as module
from nesting.drawing.forms import forms
from nesting.drawing.packet import PAPERS
from nesting.job.buying import StockEntry
from nesting.job.models import Band, Material, Opening, PartEntry, Saw
from nesting.job.reading import parse_job
from nesting.job.spreadsheet import headings
from tests.job.jobs import EXAMPLE, LEAST

HOSTILE = "#panic(1) $x$ *b* \\u202e אב " + "m" * 300


def words(data: bytes, tmp_path: Path) -> list[str]:
    """The text of each page."""
    program = shutil.which("pdftotext")
    if program is None:
        pytest.skip("pdftotext is not there")
    path = tmp_path / "forms.pdf"
    path.write_bytes(data)
    done = subprocess.run([program, "-layout", path, "-"], capture_output=True, text=True, check=True)
    return done.stdout.split("\f")[:-1]


@pytest.mark.parametrize("paper", PAPERS)
def test_the_same_bytes_on_a_paper_of_its_size(paper: str):
    data = forms(paper)
    assert data == forms(paper)
    # US Letter 8.5 x 11 inch, A4 210 x 297 mm (ISO 216), in points of 1/72 inch
    wide, high = {"letter": (612, 792), "a4": (595.28, 841.89)}[paper]
    boxes = re.findall(rb"/MediaBox ?\[([^\]]+)\]", data)
    assert boxes
    for box in boxes:
        assert [float(n) for n in box.split()] == pytest.approx([0, 0, wide, high], abs=0.1)


@pytest.mark.parametrize("paper", PAPERS)
def test_each_form_is_one_page(paper: str, tmp_path: Path):
    pages = words(forms(paper), tmp_path)
    titles = ["Cased opening, thickness", "Cased opening, both faces", "Window extension", "Loose parts",
              "Stock and saw"]  # fmt: skip
    assert len(pages) == len(titles)
    for page, title in zip(pages, titles, strict=True):
        assert title in page
        assert "One tape" in page or "show face" in page or "Calliper" in page  # the caution


def test_what_the_boxes_are_called_are_keys_of_the_job_file():
    """Each label of a box begins with a key of the models; so a renamed key cannot be forgotten here."""
    known = {
        word
        for model in (Opening, Saw, Material, StockEntry, PartEntry, Band)
        for heading in headings(model)
        for word in [heading.replace("in shop", "in_shop"), *heading.split()]
    }
    known |= {
        "at",
        "face A",
        "face B",
        "thickness",
        "depth",
        "left",
        "head",
        "right",
        "sill",
        "step",
        "trim",
        "saw",
        "materials",
        "stock",
        "parts",
        "lead_in",
        "lead_out",
        "face_up",
        "in_shop",
        "line",
        "up",
        "low",
        "middle",
        "high",
        "framing",
        "apart",
        "diagonals",
        "one",
        "other",
        "width end",
    }
    named = [
        group
        for page in (*module._openings(None), module._parts(None), module._stock(None))
        for part in page["parts"]
        for group in part.get("groups", [part])
    ]
    assert len(named) > 20
    for part in named:
        boxes = [*part.get("boxes", []), *part.get("cells", []), *part.get("runs", []), part]
        for box in boxes:
            label = re.split(r"[:(·]", box.get("key", "at"))[0].strip().removeprefix("or ")
            assert label in known or label in ("head over legs",), label


def test_a_job_puts_its_names_on_them(tmp_path: Path):
    job = parse_job(EXAMPLE, "x")
    text = "\n".join(words(forms("letter", job), tmp_path))
    names = [opening.name for opening in job.openings] + [part.name for part in job.parts]
    names += [sheet.name for sheet in job.stock] + list(job.materials)
    assert all(name in text for name in names)
    assert "☐" not in text  # the units are known
    assert text.count("Cased opening") == sum(opening.kind == "cased" for opening in job.openings)


def test_hostile_names_stay_text(tmp_path: Path):
    job = parse_job(LEAST.replace("Kiln room", f'"{HOSTILE}"').replace("shelf", f'"{HOSTILE}"'), "x")
    pages = words(forms("letter", job), tmp_path)
    assert len(pages) == 3
    assert "#panic(1) $x$ *b*" in pages[0]


def test_many_parts_go_on_on_the_next_page(tmp_path: Path):
    part = "  - {name: shelf, material: birch, length: 34 1/2, width: 11 3/4}\n"
    job = parse_job(LEAST + part * 59, "x")
    text = words(forms("a4", job), tmp_path)
    assert sum(page.count("shelf") for page in text) == 60
