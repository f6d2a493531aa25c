"""What is wrong or improbable in the answers up to now, by the very rules by which a job file is read.

The answers become the job file's tables, each of which knows the order of its answer as its line; what is
not answered yet is filled in by what cannot be at fault; and the job is read.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from nesting.asking.questions import Answer, Path
from nesting.errors import JobError
from nesting.job.outline import Row, Table, Text
from nesting.job.reading import job_of
from nesting.lengths import Units

# Lines of answers begin here, above those of any job file that is added to.
FIRST = 1_000_000
Tree = dict[str | int, Any]


def judged(base: Table, answers: Mapping[Path, Answer], units: Units) -> tuple[list[str], list[str]]:
    """Tell what is wrong with the answers, and what is improbable."""
    tree = tree_of(answers)
    for path, answer in answers.items():
        if path[-1] == "?faces" and answer.value == "faces":
            tree["openings"][path[1]]["?faces"] = True
    skipped = [path for path, answer in answers.items() if path[-1] == "price" and answer.texts is None]
    _fill(tree, base, units, bool(skipped) or (bool(base) and not _priced(base)))
    top = _copied(base)
    made = _table(tree)
    for path in _going_on(answers):
        _run_at(made, tree, path).line = 0
    _laid(top, made)
    try:
        return [], [text for line, text in map(_split, job_of(top, "job").warnings) if line > FIRST]
    except JobError as error:
        faults = [(int(fault.where.rpartition(":")[2]), fault) for fault in error.faults]
        return [f"{fault.what}: {fault.right}" for line, fault in faults
                if line > FIRST and not fault.right.startswith("is missing")], []


def _priced(base: Table) -> bool:
    return any("price" in entry for entry in base.get(Text("stock")) or ())


def _going_on(answers: Mapping[Path, Answer]) -> set[Path]:
    """The runs of which more stations are to come; what a run lacks is not to be said of them yet."""
    runs = {path[:-2] for path in answers if len(path) > 4 and path[0] == "openings" and path[-1] == 0}
    return runs - {path[:-2] for path, answer in answers.items() if answer.texts is None}


def _run_at(made: Table, tree: Tree, path: Path) -> Any:
    place = sorted(tree["openings"]).index(path[1])
    run: Any = made[Text("openings")][place]
    for key in path[2:]:
        run = run[Text(str(key))]
    return run


def tree_of(answers: Mapping[Path, Answer]) -> Tree:
    """The answers as nested tables; what only decides a question, and what was left out, is not in it."""
    tree: Tree = {}
    for path, answer in answers.items():
        if answer.texts is None or any(str(key).startswith("?") for key in path):
            continue
        inner = tree
        for key in path[:-1]:
            inner = inner.setdefault(key, {})
        inner[path[-1]] = answer
        inner |= {key: Answer(text, text, text, answer.order) for key, text in answer.also}
    return tree


def _split(warning: str) -> tuple[int, str]:
    match = re.fullmatch(r"line (\d+): (.*)", warning, re.DOTALL)
    return (int(match[1]), match[2]) if match else (0, warning)


def _table(value: Any) -> Any:
    """Tables, rows and texts out of the tree; the line of each is that of its last answer."""
    if isinstance(value, Answer):
        if isinstance(value.texts, tuple) and len(value.texts) > 1:
            return _placed(Row(_text(text, FIRST + value.order) for text in value.texts), FIRST + value.order)
        return _text(_plain(value), FIRST + value.order)
    if isinstance(value, str):
        return _text(value, 0)
    parts = {key: _table(value[key]) for key in (sorted(value) if 0 in value else value)}
    line = max((part.line for part in parts.values()), default=0)
    if parts and all(isinstance(key, int) for key in parts):
        return _placed(Row(parts.values()), line)
    return _placed(Table((_text(str(key), part.line), part) for key, part in parts.items()), line)


def _text(text: str, line: int) -> Text:
    made = Text(text)
    made.line, made.comment, made.trouble = line, "", ""
    return made


def _placed(value: Any, line: int) -> Any:
    value.line = line
    return value


def _copied(base: Table) -> Table:
    top: Table = _placed(Table(), 0)
    for key, value in base.items():
        copied = Row(value) if isinstance(value, Row) else Table(value) if isinstance(value, Table) else value
        top[key] = copied if isinstance(value, Text) else _placed(copied, value.line)
    return top


def _laid(top: Table, more: Table) -> None:
    """Add to a job's lists and tables."""
    for key, value in more.items():
        if isinstance(top.get(key), Row):
            top[key].extend(value)
        elif isinstance(top.get(key), Table):
            top[key].update(value)
        else:
            top[key] = value


def _fill(tree: Tree, base: Table, units: Units, skipped: bool) -> None:
    """Put in what is needed and not answered yet, such that nothing can be wrong with it."""
    if not base:
        tree.setdefault("units", str(units))
        tree.setdefault("saw", {}).setdefault("kerf", "3/32 inch")
    for opening in tree.get("openings", {}).values():
        _fill_opening(opening)
    for part in tree.get("parts", {}).values():
        _defaults(part, material="stuff", length="10 inch", width="2 inch")
        if "band" in part:
            _defaults(part["band"], thickness="0.6 mm")
    if not base and not tree.get("openings") and not tree.get("parts"):
        tree["parts"] = {0: {"name": "part", "material": "stuff", "length": "10 inch", "width": "2 inch"}}
    known = base.get(Text("materials")) or {}
    materials = tree.setdefault("materials", {})
    for name in _named(tree):
        if name not in known:
            materials.setdefault(name, {}).setdefault("thickness", "3/4 inch")
    stock = tree.setdefault("stock", {})
    _fill_stock(stock, materials, skipped and not any("price" in sheet for sheet in stock.values()))
    for key in ("materials", "stock"):
        if not tree[key]:
            del tree[key]


def _fill_stock(stock: Tree, materials: Tree, unpriced: bool) -> None:
    """Complete each size, and give every new material one."""
    price = {} if unpriced else {"price": "1"}
    for sheet in stock.values():
        _defaults(sheet, length="96 inch", **({} if "board" in sheet else {"width": "48 inch"}), **price)
    stocked = {_plain(sheet["material"]) for sheet in stock.values()}
    for k, name in enumerate(materials):
        if name not in stocked:
            stock[FIRST + k] = {"name": f"sheet {k} of {name}", "material": name, "length": "96 inch",
                                "width": "48 inch"} | price  # fmt: skip


def _named(tree: Tree) -> list[str]:
    found: dict[str, None] = {}
    for entry in [*tree.get("openings", {}).values(), *tree.get("parts", {}).values()]:
        texts = getattr(entry["material"], "texts", entry["material"])
        found |= dict.fromkeys(texts if isinstance(texts, tuple) else (texts,))
    return list(found)


def _defaults(entry: Tree, **values: Any) -> None:
    for key, value in values.items():
        entry.setdefault(key, value)


def _fill_opening(opening: Tree) -> None:
    _defaults(opening, material="stuff", width={}, wall={})
    window = getattr(opening.get("kind"), "value", "cased") == "window"
    _alike(opening["width"], ("low", "middle", "high"), "36 inch")
    if "line" in opening:
        _alike(opening["line"], ("left", "right", "up"), "40 inch")
    else:
        _alike(opening.setdefault("height", {}), ("left", "right"), "80 inch")
    if getattr(opening.get("joint"), "value", "") == "rabbet":
        opening.setdefault("rabbet", "1/64 inch")
    if "band" in opening:
        _defaults(opening["band"], thickness="0.6 mm")
    wall = opening["wall"]
    for run in wall.values():
        _drop_half(run)
    runs = ("left", "right", "head", "sill") if window else ("left", "right", "head")
    taken = [station for run in wall.values() for station in run.values() if len(station) > 1]
    cells = 3 if opening.pop("?faces", False) else 2
    usual = taken[-1] if taken else dict.fromkeys(range(1, cells), "6 inch")
    for run in runs:
        _two(wall.setdefault(run, {}), {c: usual.get(c, "6 inch") for c in range(1, cells)})
    for run in opening.get("framing", {}).values():
        if isinstance(run, dict):
            _two(run, {1: "1 inch"})
    if "framing" in opening:
        for side in ("left", "right"):
            _two(opening["framing"].setdefault(side, {}), {1: "1 inch"})


def _drop_half(run: Tree) -> None:
    """A place that is read once more waits for its reading: nothing filled in may differ from those there."""
    places = [station[0].value for station in run.values()]
    for key in [key for key, station in run.items() if len(station) == 1]:
        if places.count(run[key][0].value) > 1:
            del run[key]


def _alike(table: Tree, keys: tuple[str, ...], usual: str) -> None:
    """What is missing is as what is there."""
    there = next((table[key] for key in keys if key in table), None)
    for key in keys:
        table.setdefault(key, _plain(there) if there is not None else usual)


def _two(run: Tree, usual: Tree) -> None:
    """Two stations at least, each with all its cells; what is missing is as what is before."""
    before = usual
    for key in sorted(run):
        for cell, value in before.items():
            if cell:
                run[key].setdefault(cell, _plain(value))
        before = run[key]
    for k, at in enumerate(("1001 inch", "1002 inch")):
        if len(run) < 2:
            run[FIRST + k] = {0: at} | {cell: _plain(value) for cell, value in before.items() if cell}


def _plain(value: Any) -> str:
    texts = getattr(value, "texts", value)
    return texts[0] if isinstance(texts, tuple) else str(texts)
