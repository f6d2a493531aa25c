"""The rooms of the house in the data's order: a module imports only what stands to its left."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "nesting"
ORDER = ["lengths", "geometry", "errors", "boards", "stock", "parts", "job", "openings", "packing",
         "plan_records", "plan", "banding", "cutting", "check", "report", "drawing",
         "work", "asking", "cli"]  # fmt: skip
MODULES = sorted(PACKAGE.rglob("*.py"))
# in how many modules, at the most
BORDERS = {"svgwrite": 1, "typst": 1, "ruamel": 1, "typer": 1, "python_calamine": 1, "numba": 1}


def room(path: Path) -> str:
    return path.relative_to(PACKAGE).with_suffix("").parts[0]


def imported(path: Path) -> list[str]:
    names = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            names += [f"{node.module}.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
    return names


def test_there_are_modules_to_look_at():
    assert len(MODULES) > 30
    assert {room(path) for path in MODULES} - {"__init__"} == set(ORDER)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_module_imports_only_what_stands_to_its_left(path: Path):
    if room(path) == "__init__":
        return
    own = ORDER.index(room(path))
    for name in imported(path):
        if name.startswith("nesting.") and name.split(".")[1] in ORDER:
            assert ORDER.index(name.split(".")[1]) <= own, f"{path.name} imports {name}"


def test_the_judge_knows_nothing_of_the_search():
    for path in (PACKAGE / "check").rglob("*.py"):
        assert not [n for n in imported(path) if n.startswith(("nesting.packing", "nesting.cutting"))]


@pytest.mark.parametrize("library", BORDERS)
def test_each_border_library_is_imported_in_one_place(library: str):
    using = [path for path in MODULES if any(n.split(".")[0] == library for n in imported(path))]
    assert len(using) == BORDERS[library], [str(path) for path in using]


def test_only_the_command_line_prints_or_exits():
    for path in MODULES:
        if room(path) == "cli":
            continue
        calls = [node.func for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
                 if isinstance(node, ast.Call)]  # fmt: skip
        names = {call.id for call in calls if isinstance(call, ast.Name)}
        assert not names & {"print", "exit", "quit", "input"}, path.name
