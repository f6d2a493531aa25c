"""The packet: one PDF with the order, the parts, a page for each sheet, labels and reports (Typst)."""

from __future__ import annotations

import json
import re
from dataclasses import asdict
from importlib import resources
from typing import Any

from nesting.check import CheckedPlan
from nesting.drawing.contents import Leaf, after_sheets, before_sheets
from nesting.drawing.drawings import Drawings, SheetDrawings, draw_plan
from nesting.drawing.fonts import FOLDER, printable
from nesting.drawing.labels import LabelSheet, labels
from nesting.drawing.words import size_words
from nesting.lengths import Units
from nesting.plan import Plan
from nesting.report.blocks import Block, clean
from nesting.report.compare import Comparison
from nesting.report.summary import summary_text

PLACE = resources.files("nesting.drawing")
PAPERS = {"letter": "us-letter", "a4": "a4"}
LINE, CELL, PARAGRAPH = 120, 240, 600  # most signs in a title, a table's cell, a paragraph
BREAK, BREAK_EVERY = "\u200b", 8  # a space of no width, at which a line may break
_LONG = re.compile(r"\S{20,}")


def packet(
    checked: CheckedPlan,
    drawn: Drawings | None = None,
    paper: str | None = None,
    comparison: Comparison | None = None,
) -> bytes:
    """Set the packet; the same plan gives the same bytes.

    Parameters
    ----------
    drawn : Drawings, optional
        The plan's drawings, if they are made already.
    paper : str, optional
        ``letter`` or ``a4``; left out, Letter for a job in inches and A4 for one in millimetres.
    comparison : Comparison, optional
        How the stock compares, for the cover; left out, what the plan says of it, if it does.
    """
    plan = checked.plan
    data = {
        "paper": PAPERS[paper or ("letter" if plan.units is Units.INCH else "a4")],
        "job": _fit(plan.job, LINE),
        "plan": plan.check_sum,
        "summary": _fit(summary_text(checked).partition("\n")[0].partition(": ")[2], LINE),
        "before": [_leaf(leaf) for leaf in before_sheets(checked, comparison)],
        "sheets": [_sheet(plan, one) for one in drawn or draw_plan(checked)],
        "labels": [_label(asdict(label)) for label in labels(plan)],
        "after": [_leaf(leaf) for leaf in after_sheets(checked)],
    }
    return pdf("packet.typ", data)


def label_sheet(checked: CheckedPlan, sheet: LabelSheet) -> bytes:
    """Set the labels of all parts for a sheet of labels, as a PDF; the same plan gives the same bytes."""
    plan = checked.plan
    marks = [_label(asdict(label)) for label in labels(plan)]
    for label in marks:
        where = f"sheet {label['sheet']}" if label["sheet"] is not None else ""
        label["what"] = " · ".join(filter(None, (label["name"], label["opening"], where)))
    return pdf("labels.typ", {"job": _fit(plan.job, LINE), "sheet": asdict(sheet), "labels": marks})


def pdf(name: str, data: dict[str, Any]) -> bytes:
    """Set a template that ships with the package; the job's words go in as data."""
    import typst  # noqa: PLC0415 - 60 MB that no other command needs

    text = printable(json.dumps(data, ensure_ascii=False))
    template = b"".join((PLACE / part).read_bytes() for part in ("common.typ", name))
    with resources.as_file(FOLDER) as fonts:
        return bytes(typst.compile(template, format="pdf", font_paths=typst.Fonts(
            include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(fonts)]
        ), sys_inputs={"data": text}))  # fmt: skip


def _sheet(plan: Plan, drawn: SheetDrawings) -> dict[str, Any]:
    """A sheet's pages, and its line on the cover."""
    sheet = drawn.sheet
    numbers = [str(number) for number in sorted(placed.number for placed in sheet.placed)]
    line = [str(sheet.number), sheet.stock, size_words(plan, sheet), ", ".join(numbers), str(len(sheet.cuts))]
    return {"pages": [*drawn.pages, *drawn.step_pages], "line": [_fit(cell, CELL) for cell in line]}


def _label(words: dict[str, Any]) -> dict[str, Any]:
    """Each of a label's words has one line, which the template cuts to its width."""
    return {key: clean(value)[:LINE] if isinstance(value, str) else value for key, value in words.items()}


def _leaf(leaf: Leaf) -> dict[str, Any]:
    blocks = [_block(block) for block in leaf.section.blocks]
    title = _fit(leaf.section.title, LINE)
    return {"title": title, "blocks": blocks, "picture": leaf.picture, "fresh": leaf.fresh}


def _block(block: Block) -> str | dict[str, Any]:
    if isinstance(block, str):
        return _fit(block, PARAGRAPH)
    return {
        "title": _fit(block.title, LINE),
        "head": list(block.head),
        "rows": [[_fit(str(cell), CELL) for cell in row] for row in block.rows],
        "align": list(block.align),
        "total": block.total,
    }


def _fit(text: str, most: int) -> str:
    """Cut what is too long for print, and let long words break; the page has every name in full."""
    words = clean(text)
    words = words if len(words) <= most else words[: most - 1].rstrip() + "…"
    return _LONG.sub(lambda word: BREAK.join(re.findall(f".{{1,{BREAK_EVERY}}}", word[0])), words)
