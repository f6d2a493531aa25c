"""The report as one HTML file: no network, no script needed to read it, on paper or on a phone."""

from __future__ import annotations

import base64
import hashlib
from html import escape

from nesting.check import CheckedPlan
from nesting.drawing.contents import Leaf, after_sheets, before_sheets
from nesting.drawing.drawings import Drawings, SheetDrawings, draw_plan
from nesting.drawing.steps import StepDrawing
from nesting.drawing.words import check_sum, said
from nesting.plan import Cut, Plan, Sheet
from nesting.report.blocks import Block, Cell, Ref, Table, clean
from nesting.report.compare import Comparison
from nesting.report.partslist import size_words
from nesting.report.summary import summary_text

STYLE = """
:root{color-scheme:light dark;--ink:#111;--paper:#fff;--line:#999}
@media(prefers-color-scheme:dark){:root{--ink:#eee;--paper:#161616;--line:#777}}
@media print{:root{--ink:#000;--paper:#fff}nav{display:none}section{break-inside:avoid-page}}
body{font:16px/1.45 "DejaVu Sans",Helvetica,Arial,sans-serif;color:var(--ink);background:var(--paper);
max-width:62rem;margin:0 auto;padding:1rem}
h1{margin:.2em 0}h2{margin:1.6em 0 .4em;border-bottom:2px solid var(--ink)}
.wide{overflow-x:auto}table{border-collapse:collapse;margin:.4em 0 1em}
caption{text-align:left;font-weight:bold;padding:.3em 0}
th,td{padding:.25em .6em;border-bottom:1px solid var(--line);text-align:left;vertical-align:top}
.r{text-align:right;white-space:nowrap;font-variant-numeric:tabular-nums}.total td{font-weight:bold}
img{width:100%;height:auto;background:#fff;border:1px solid var(--line)}
h1,h2,p,pre,li,caption,td{overflow-wrap:break-word}td{max-width:24rem}
a{color:inherit}pre{white-space:pre-wrap;font:inherit}input{width:1.3em;height:1.3em}
"""
SCRIPT = """
const key='nesting '+document.body.dataset.plan;
let done=[];try{done=JSON.parse(localStorage.getItem(key))||[]}catch(e){}
for(const box of document.querySelectorAll('input')){box.checked=done.includes(box.id);
box.addEventListener('change',()=>{done=[...document.querySelectorAll('input')].filter(b=>b.checked).map(b=>b.id);
try{localStorage.setItem(key,JSON.stringify(done))}catch(e){}})}
"""


def report_page(
    checked: CheckedPlan, drawn: Drawings | None = None, comparison: Comparison | None = None
) -> str:
    """Write the page; the same plan gives the same bytes. ``drawn``: its sheets, if drawn already.

    All that a job says is escaped, and the page's policy lets nothing run but the one script that
    remembers the ticks, named by its hash (W3C Content Security Policy).
    """
    plan = checked.plan
    digest = base64.b64encode(hashlib.sha256(SCRIPT.encode()).digest()).decode()
    policy = f"default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'sha256-{digest}'"
    sheets = "".join(_sheet(plan, one) for one in drawn or draw_plan(checked))
    links = " · ".join(f'<a href="#sheet-{s.number}">sheet {s.number}</a>' for s in plan.sheets)
    body = [
        f"<h1>{_words(plan.job)}</h1><pre>{_lines(summary_text(checked))}</pre><nav>{links}</nav>",
        *map(_leaf, before_sheets(checked, comparison)),
        sheets,
        *map(_leaf, after_sheets(checked)),
    ]
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{_words(plan.job)}</title><style>{STYLE}</style></head>\n"
        f'<body data-plan="{check_sum(plan)}">\n'
        + "\n".join(body)
        + f"\n<script>{SCRIPT}</script></body></html>\n"
    )


def _words(text: str) -> str:
    return escape(clean(text))


def _lines(text: str) -> str:
    return "\n".join(_words(line) for line in text.split("\n"))


def _leaf(leaf: Leaf) -> str:
    blocks = "".join(map(_block, leaf.section.blocks))
    picture = _image(leaf.picture, leaf.section.title) if leaf.picture else ""
    return f"<section><h2>{_words(leaf.section.title)}</h2>{picture}{blocks}</section>"


def _image(svg: str, words: str) -> str:
    """An image of its own: what stands in it can run nothing in the page."""
    data = base64.b64encode(svg.encode()).decode()
    return f'<img alt="{_words(words)}" src="data:image/svg+xml;base64,{data}">'


def _block(block: Block) -> str:
    return _table(block) if isinstance(block, Table) else f"<p>{_words(block)}</p>"


def _table(table: Table) -> str:
    kinds = [' class="r"' if letter == "r" else "" for letter in table.align]
    head = "".join(f"<th{k}>{_words(cell)}</th>" for k, cell in zip(kinds, table.head, strict=True))
    rows = []
    for index, row in enumerate(table.rows):
        cells = "".join(f"<td{k}>{_cell(cell)}</td>" for k, cell in zip(kinds, row, strict=True))
        total = table.total and index == len(table.rows) - 1
        rows.append(f'<tr class="total">{cells}</tr>' if total else f"<tr>{cells}</tr>")
    caption = f"<caption>{_words(table.title)}</caption>" if table.title else ""
    return f'<div class="wide"><table>{caption}<tr>{head}</tr>{"".join(rows)}</table></div>'


def _cell(cell: Cell) -> str:
    return f'<a href="#sheet-{cell.sheet}">{_words(cell.text)}</a>' if isinstance(cell, Ref) else _words(cell)


def _sheet(plan: Plan, drawn: SheetDrawings) -> str:
    """The drawing, and its parts and cuts to tick off, each cut with its picture."""
    sheet = drawn.sheet
    images = "".join(
        f'<details class="zoom" open><summary>sheet {sheet.number} as it is printed</summary>'
        f'<div class="pan">{_image(page, f"sheet {sheet.number}, {sheet.stock}")}</div></details>'
        for page in drawn.pages
    )
    parts = "".join(_part(plan, number) for number in sorted(placed.number for placed in sheet.placed))
    cuts = "".join(_step(plan, sheet, step) for step in drawn.steps)
    return (
        f'<section id="sheet-{sheet.number}"><h2>Sheet {sheet.number}: {_words(sheet.stock)}</h2>{images}'
        f'<h3>Parts on sheet {sheet.number}</h3><ul class="ticks">{parts}</ul>'
        f'<h3>Cuts of sheet {sheet.number}</h3><ol class="steps">{cuts}</ol></section>'
    )


def _part(plan: Plan, number: int) -> str:
    part = next(part for part in plan.parts if part.number == number)
    where = f"{part.opening}: " if part.opening else ""
    name = part.role or part.id
    return (
        f'<li id="place-{number}"><label><input type="checkbox" id="part-{number}"> <b>{number}</b> '
        f"{_words(where + name)}, {_words(size_words(plan, part))}</label></li>"
    )


def _step(plan: Plan, sheet: Sheet, step: StepDrawing) -> str:
    """The boxes of the cuts that share a picture, and the picture."""
    boxes = "".join(_cut(plan, sheet, cut) for cut in sheet.cuts if cut.number in step.numbers)
    alt = f"picture of cut {step.numbers[0]}"
    return f"<li>{boxes}{_image(step.svg(), alt)}</li>"


def _cut(plan: Plan, sheet: Sheet, cut: Cut) -> str:
    marks = " and ".join(f"{said(plan, mark.reading)} from {mark.edge}" for mark in cut.marks)
    rails = " + ".join(said(plan, rail) for rail in cut.rails)
    return (
        f'<label><input type="checkbox" id="cut-{sheet.number}-{cut.number}"> <b>{cut.number}</b> {cut.kind} '
        f"{cut.piece}: {marks}{f'; rail {rails}' if rails else ''}</label>"
    )
