"""The packet: one PDF with the order, the parts, a page for each sheet, labels and reports (Typst)."""

from __future__ import annotations

import json
from dataclasses import asdict
from importlib import resources
from typing import Any

from nesting.check import CheckedPlan
from nesting.drawing.contents import after_sheets, before_sheets
from nesting.drawing.fonts import FOLDER, printable
from nesting.drawing.labels import labels
from nesting.drawing.sheet import Drawn, draw_sheets
from nesting.drawing.words import check_sum
from nesting.lengths import Units
from nesting.report.blocks import Block, Section, clean
from nesting.report.summary import summary_text

PAPERS = ("us-letter", "a4")


def packet(checked: CheckedPlan, drawn: Drawn | None = None, paper: str | None = None) -> bytes:
    """Set the packet; the same plan gives the same bytes.

    Parameters
    ----------
    drawn : mapping, optional
        The pages of each sheet by its number, if they are drawn already.
    paper : str, optional
        ``us-letter`` or ``a4``; left out, Letter for a job in inches and A4 for one in millimetres.
    """
    import typst  # noqa: PLC0415 - 60 MB that no other command needs

    plan = checked.plan
    data = {
        "paper": paper or ("us-letter" if plan.units is Units.INCH else "a4"),
        "job": clean(plan.job),
        "plan": check_sum(plan),
        "summary": clean(summary_text(checked).partition("\n")[0].partition(": ")[2]),
        "before": [_section(section) for section in before_sheets(checked)],
        "sheets": [page for pages in (drawn or draw_sheets(checked)).values() for page in pages],
        "labels": [_label(asdict(label)) for label in labels(plan)],
        "after": [_section(section, page=n <= len(plan.openings))
                  for n, section in enumerate(after_sheets(checked))],
    }
    text = printable(json.dumps(data, ensure_ascii=False))
    template = (resources.files("nesting.drawing") / "packet.typ").read_bytes()
    with resources.as_file(FOLDER) as fonts:
        return bytes(typst.compile(template, format="pdf", font_paths=typst.Fonts(
            include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(fonts)]
        ), sys_inputs={"data": text}))  # fmt: skip


def _label(words: dict[str, Any]) -> dict[str, Any]:
    return {key: clean(value) if isinstance(value, str) else value for key, value in words.items()}


def _section(section: Section, page: bool = False) -> dict[str, Any]:
    """A section as data; ``page`` begins a page of its own."""
    blocks = [_block(block) for block in section.blocks]
    return {"title": clean(section.title), "blocks": blocks, "page": page}


def _block(block: Block) -> str | dict[str, Any]:
    if isinstance(block, str):
        return clean(block)
    return {
        "title": clean(block.title),
        "head": [clean(cell) for cell in block.head],
        "rows": [[clean(str(cell)) for cell in row] for row in block.rows],
        "align": list(block.align),
        "total": block.total,
    }
