"""The report as one HTML file: no network, no script needed to read it, on paper or on a phone."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from html import escape

from nesting.check import CheckedPlan
from nesting.drawing.contents import Leaf, after_sheets, before_sheets
from nesting.drawing.drawings import Drawings, SheetDrawings, StepSvg, draw_plan
from nesting.drawing.page import HEIGHT, WIDTH, Box
from nesting.drawing.words import kind_words, said
from nesting.plan import Cut, Plan, Sheet
from nesting.report.blocks import Block, Cell, Ref, Table, clean
from nesting.report.compare import Comparison
from nesting.report.partslist import PART_HEAD, size_words
from nesting.report.summary import summary_text

MOST = 40  # signs of a title in the line of links
STYLE = """
:root{color-scheme:light dark;--ink:#111;--paper:#fff;--line:#999;--mark:#b30000}
@media(prefers-color-scheme:dark){:root{--ink:#eee;--paper:#161616;--line:#777}}
body{font:16px/1.45 "DejaVu Sans",Helvetica,Arial,sans-serif;color:var(--ink);background:var(--paper);
max-width:62rem;margin:0 auto;padding:1rem}
h1{margin:.2em 0}h2{margin:1.6em 0 .4em;border-bottom:2px solid var(--ink)}h3{margin:1.2em 0 .3em}
nav{position:sticky;top:0;background:var(--paper);padding:.5em 0;border-bottom:1px solid;z-index:2}
nav a{display:inline-block;padding:.2em .5em .2em 0}section,li{scroll-margin-top:5rem}
.wide{overflow-x:auto}table{border-collapse:collapse;margin:.4em 0 1em}
caption{text-align:left;font-weight:bold;padding:.3em 0}
th,td{padding:.25em .6em;border-bottom:1px solid var(--line);text-align:left;vertical-align:top}
.r{text-align:right;white-space:nowrap;font-variant-numeric:tabular-nums}.total td{font-weight:bold}
img{display:block;width:100%;height:auto;background:#fff}
.pan{overflow:auto;border:1px solid var(--line)}.page{position:relative}
.zoom:checked~.pan .page{width:250%}.zoom:checked~.pan{max-height:90vh}
.place{position:absolute;scroll-margin:40vh}.place:target{outline:3px solid var(--mark);outline-offset:2px}
.ticks,.steps{list-style:none;padding:0}.ticks{columns:20rem}.ticks li{break-inside:avoid;padding:.15em 0}
.steps{display:grid;grid-template-columns:repeat(auto-fill,minmax(min(21rem,100%),1fr));gap:.8rem}
.steps li{border:1px solid var(--line);padding:.4rem;break-inside:avoid}.steps label{display:block}
.steps label:has(:checked),.ticks label:has(:checked){text-decoration:line-through;opacity:.65}
h1,h2,p,pre,li,caption{overflow-wrap:anywhere}td{overflow-wrap:break-word;max-width:24rem}
a{color:inherit}pre{white-space:pre-wrap;font:inherit}input{width:1.3em;height:1.3em;vertical-align:-.2em}
@media print{:root{--ink:#000;--paper:#fff;--line:#999}body{font-size:10pt;max-width:none;padding:0}
nav,.zoom,.zoom+label{display:none}.zoom:checked~.pan .page{width:100%}.pan{border:0;overflow:visible}
.sheet{break-before:page}h2,h3{break-after:avoid}.page,tr,img{break-inside:avoid}.place{display:none}
.page img{max-height:222mm;width:auto;max-width:100%;margin:0 auto}.wide{overflow:visible}
table{font-size:8pt}th,td{padding:.15em .4em}.sheet h2{margin:0 0 .3em}
.steps{grid-template-columns:1fr 1fr;gap:1.5mm}.steps li{padding:1mm}
.steps label{font-size:7.5pt;line-height:1.2}.steps input,.ticks input{width:1em;height:1em}}
"""
SCRIPT = """
const key='nesting '+document.body.dataset.plan,all=[...document.querySelectorAll('input[id]:not(.zoom)')];
let done=[];try{done=JSON.parse(localStorage.getItem(key))||[]}catch(e){}
for(const box of all){box.checked=Array.isArray(done)&&done.includes(box.id);
box.addEventListener('change',()=>{try{localStorage.setItem(key,
JSON.stringify(all.filter(b=>b.checked).map(b=>b.id)))}catch(e){}})}
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
    before, after = before_sheets(checked, comparison), after_sheets(checked)
    body = [
        f"<h1>{_words(plan.job)}</h1><pre>{_lines(summary_text(checked))}</pre>{_nav(plan, before, after)}",
        *(_leaf(leaf, f"before-{k}") for k, leaf in enumerate(before)),
        sheets,
        *(_leaf(leaf, f"after-{k}") for k, leaf in enumerate(after)),
    ]
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{_words(plan.job)}</title><style>{STYLE}</style></head>\n"
        f'<body data-plan="{plan.check_sum}">\n'
        + "\n".join(body)
        + f"\n<script>{SCRIPT}</script></body></html>\n"
    )


def _words(text: str) -> str:
    return escape(clean(text))


def _lines(text: str) -> str:
    return "\n".join(_words(line) for line in text.split("\n"))


def _nav(plan: Plan, before: Sequence[Leaf], after: Sequence[Leaf]) -> str:
    links = [
        *((f"before-{k}", leaf.section.title) for k, leaf in enumerate(before)),
        *((f"sheet-{sheet.number}", f"Sheet {sheet.number}") for sheet in plan.sheets),
        *((f"after-{k}", leaf.section.title) for k, leaf in enumerate(after)),
    ]
    short = ((name, clean(title)[:MOST] + ("…" if len(clean(title)) > MOST else "")) for name, title in links)
    return "<nav>" + " ".join(f'<a href="#{name}">{_words(title)}</a>' for name, title in short) + "</nav>"


def _leaf(leaf: Leaf, name: str) -> str:
    blocks = "".join(map(_block, leaf.section.blocks))
    words = ": ".join(filter(None, (leaf.section.title, leaf.says)))
    picture = _image(leaf.picture, words) if leaf.picture else ""
    return f'<section id="{name}"><h2>{_words(leaf.section.title)}</h2>{picture}{blocks}</section>'


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
        place = str(row[0]) if table.head[:1] == PART_HEAD[:1] else ""
        cells = "".join(f"<td{k}>{_cell(cell, place)}</td>" for k, cell in zip(kinds, row, strict=True))
        total = table.total and index == len(table.rows) - 1
        rows.append(f'<tr class="total">{cells}</tr>' if total else f"<tr>{cells}</tr>")
    caption = f"<caption>{_words(table.title)}</caption>" if table.title else ""
    return f'<div class="wide"><table>{caption}<tr>{head}</tr>{"".join(rows)}</table></div>'


def _cell(cell: Cell, part: str) -> str:
    """A cell; words that lead to a sheet lead to the part's place on it where the row is a part's."""
    if not isinstance(cell, Ref):
        return _words(cell)
    where = f"place-{part}" if part.isdecimal() else f"sheet-{cell.sheet}"
    return f'<a href="#{where}">{_words(cell.text)}</a>'


def _sheet(plan: Plan, drawn: SheetDrawings) -> str:
    """The drawing, and its parts and cuts to tick off, each cut with its picture."""
    sheet = drawn.sheet
    images = "".join(_page(drawn, k) for k in range(len(drawn.pages)))
    parts = "".join(_part(plan, number) for number in sorted(placed.number for placed in sheet.placed))
    cuts = "".join(_step(plan, sheet, step) for step in drawn.steps)
    return (
        f'<section id="sheet-{sheet.number}" class="sheet">'
        f"<h2>Sheet {sheet.number}: {_words(sheet.stock)}</h2>{images}"
        f'<h3>Parts on sheet {sheet.number}</h3><ul class="ticks">{parts}</ul>'
        f'<h3>Cuts of sheet {sheet.number}</h3><ol class="steps">{cuts}</ol></section>'
    )


def _page(drawn: SheetDrawings, k: int) -> str:
    """A page of a sheet, to zoom; on the first, each part's place, to be led to."""
    name = f"zoom-{drawn.sheet.number}-{k + 1}"
    places = "".join(_place(number, box) for number, box in sorted(drawn.places.items())) if k == 0 else ""
    alt = f"sheet {drawn.sheet.number}, {drawn.sheet.stock}"
    return (
        f'<div><input type="checkbox" class="zoom" id="{name}"><label for="{name}"> larger</label>'
        f'<div class="pan"><div class="page">{_image(drawn.pages[k], alt)}{places}</div></div></div>'
    )


def _place(number: int, box: Box) -> str:
    """A part's place, in shares of the page."""
    spots = ((box.x0, WIDTH), (box.y0, HEIGHT), (box.x1 - box.x0, WIDTH), (box.y1 - box.y0, HEIGHT))
    names = ("left", "top", "width", "height")
    style = ";".join(f"{name}:{100 * x / of:.2f}%" for name, (x, of) in zip(names, spots, strict=True))
    return f'<a class="place" id="place-{number}" style="{style}"></a>'


def _part(plan: Plan, number: int) -> str:
    part = next(part for part in plan.parts if part.number == number)
    where = f"{part.opening}: " if part.opening else ""
    name = part.role or part.id
    return (
        f'<li><label><input type="checkbox" id="part-{number}"> <a href="#place-{number}">'
        f"<b>{number}</b></a> "
        f"{_words(where + name)}, {_words(size_words(plan, part))}</label></li>"
    )


def _step(plan: Plan, sheet: Sheet, step: StepSvg) -> str:
    """The boxes of the cuts that share a picture, and the picture."""
    boxes = "".join(_cut(plan, sheet, cut) for cut in sheet.cuts if cut.number in step.numbers)
    alt = f"picture of cut {step.numbers[0]}"
    return f"<li>{boxes}{_image(step.svg, alt)}</li>"


def _cut(plan: Plan, sheet: Sheet, cut: Cut) -> str:
    marks = " and ".join(f"{said(plan, mark.reading)} from {mark.edge}" for mark in cut.marks)
    rails = " + ".join(said(plan, rail) for rail in cut.rails)
    what = f"{kind_words(plan, cut)} {cut.piece}: {marks}{f'; rail {rails}' if rails else ''}"
    return (
        f'<label><input type="checkbox" id="cut-{sheet.number}-{cut.number}"> '
        f"<b>{cut.number}</b> {what}</label>"
    )
