"""The answers as a job file that a human would have written, or added to one that is there."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

from nesting.asking.judging import Tree, tree_of
from nesting.asking.questions import Answer, Path
from nesting.job.outline import Table, Text

TITLE = "# Left and right are those of somebody who stands in room A and looks into room B.\n"
COMMENTS = {
    "units": "for bare numbers and for print",
    "kerf": "what the blade takes, from a slot",
    "rails": "those in the van",
    "stock": "length runs along the grain",
    "straight": "the room whose edge is the straight one",
    "height": "finished floor to the framing",
    "line": "from a level line: down to the floor, up to the head",
    "gap": "shim space",
    "proud": "beyond the wall, both faces together",
    "wall": "[where, thickness] at every station",
}
BOTH = "[where, face A, face B] off one plumb plane"
WINDOW = {"height": "inside the window's frame", "proud": "beyond the wall",
          "wall": "[where, depth] from the frame to the wall's face"}  # fmt: skip
LONGEST = 96
AT = 32  # where comments begin
# What needs no quotes within brackets and braces.
_PLAIN = re.compile(r"[\w(][\w .'\"/()+×&-]*", re.ASCII)


def job_text(answers: Mapping[Path, Answer]) -> str:
    """Write a whole job file."""
    tree = tree_of(answers)
    lines = [TITLE]
    for key in ("job", "units"):
        if key in tree:
            lines.append(_line(0, key, _flow(tree[key]), COMMENTS.get(key, "")))
    lines += ["", "saw:"]
    lines += [_line(2, key, _flow(value), COMMENTS.get(key, "")) for key, value in tree["saw"].items()]
    for key, block in blocks(answers).items():
        comment = COMMENTS.get(key, "")
        lines += ["", f"{key}:".ljust(AT) + f"# {comment}" if comment else f"{key}:", *block]
    return "\n".join(lines) + "\n"


def blocks(answers: Mapping[Path, Answer]) -> dict[str, list[str]]:
    """The lines of each list or table, moved in by two."""
    tree = tree_of(answers)
    found = {
        "materials": [f"  {_scalar(str(name))}: {_flow(value)}"
                      for name, value in tree.get("materials", {}).items()],
        "stock": [f"  - {_flow(sheet)}" for sheet in _listed(tree, "stock")],
        "openings": [line for k, opening in enumerate(_listed(tree, "openings"))
                     for line in _opening(opening, k > 0)],
        "parts": [f"  - {_flow(part)}" for part in _listed(tree, "parts")],
    }  # fmt: skip
    return {key: lines for key, lines in found.items() if lines}


def _listed(tree: Tree, key: str) -> list[Tree]:
    return [tree[key][k] for k in sorted(tree.get(key, {}))]


KEYS = ("name", "material", "kind", "joint", "rabbet", "horn", "reveal", "splay", "straight", "height",
        "line", "width", "framing", "gap", "proud", "band")  # fmt: skip


def _opening(opening: Tree, apart: bool) -> list[str]:
    kind = getattr(opening.get("kind"), "value", "cased")
    window = kind == "window"
    words = COMMENTS | (WINDOW if window else {})
    lines = [""] if apart else []
    for key in KEYS:
        if key in opening and not (key == "kind" and not window):
            lines += _long(4, key, opening[key], words.get(key, ""))
    lines[int(apart)] = lines[int(apart)].replace("    ", "  - ", 1)
    stations = [station for run in opening["wall"].values() for station in run.values()]
    lines.append(_line(4, "wall", "", BOTH if any(len(s) > 2 for s in stations) else words["wall"]))
    runs = [run for run in ("left", "right", "head", "sill") if run in opening["wall"]]
    for run in runs:
        readings = sorted(opening["wall"][run].values(), key=lambda station: station[0].value)
        lines.append(f"      {run + ':':<6} [{', '.join(map(_flow, readings))}]")
    return lines


def _long(indent: int, key: str, value: Any, comment: str) -> list[str]:
    """One line for a key; one for each of its keys where that would be too long."""
    flow = _flow(value)
    if indent + len(key) + 2 + len(flow) <= LONGEST or not isinstance(value, dict):
        return [_line(indent, key, flow, comment)]
    return [_line(indent, key, "", comment), *(f"{' ' * indent}  {k}: {_flow(v)}" for k, v in value.items())]


def _line(indent: int, key: str, value: str, comment: str) -> str:
    text = f"{' ' * indent}{key}: {value}".rstrip()
    at = max(AT + (20 if indent == 4 and len(text) > AT - 2 else 0), len(text) + 2)
    return f"{text:<{at}}# {comment}" if comment else text


def _flow(value: Any) -> str:
    if isinstance(value, Answer):
        if isinstance(value.texts, tuple):
            texts = ", ".join(map(_scalar, value.texts))
            return texts if len(value.texts) == 1 else f"[{texts}]"
        return _scalar(str(value.texts))
    if all(isinstance(key, int) for key in value):
        return f"[{', '.join(_flow(value[key]) for key in sorted(value))}]"
    return f"{{{', '.join(f'{key}: {_flow(entry)}' for key, entry in value.items())}}}"


def _scalar(text: str) -> str:
    """A text, in quotes where it would else be read as something different."""
    plain = _PLAIN.fullmatch(text) and text == text.strip()
    return text if plain or text.isalnum() else json.dumps(text, ensure_ascii=False)


def added(text: str, base: Table, answers: Mapping[Path, Answer]) -> str:
    """A job file's text with the answers put behind the entries that its lists have.

    What stands there stays as it is; whether the result says what it should is for the reader to see.
    """
    lines = text.rstrip("\n").split("\n")
    for key, block in blocks(answers).items():
        begun = next((k for k, line in enumerate(lines) if re.match(rf"{key}\s*:", line)), None)
        if begun is None or not base.get(Text(key)):
            lines = [line for k, line in enumerate(lines) if k != begun]
            lines += ["", f"{key}:", *block]
            continue
        end = _end(lines, begun)
        indent = next((len(line) - len(line.lstrip()) for line in lines[begun + 1 : end] if _said(line)), 2)
        lines[end:end] = [(" " * (indent - 2) + line if indent >= 2 else line[2 - indent :]) if line else ""
                          for line in _parted(key, block)]  # fmt: skip
    return "\n".join(lines) + "\n"


def _parted(key: str, block: list[str]) -> list[str]:
    return ["", *block] if key == "openings" else block


def _said(line: str) -> bool:
    return bool(line.strip()) and not line.lstrip().startswith("#")


def _end(lines: list[str], begun: int) -> int:
    """The line behind a block's last entry."""
    end = begun + 1
    for k in range(begun + 1, len(lines)):
        if _said(lines[k]):
            if not lines[k].startswith((" ", "-")):
                break
            end = k + 1
    return end
