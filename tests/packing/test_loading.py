"""What is not needed is not loaded, and still there for whoever needs it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from nesting.packing.loading import deferred, without


def run(code: str) -> str:
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return done.stdout


def test_the_solver_is_loaded_without_tables():
    code = "import sys, nesting.packing.solve; print(sorted({'pandas', 'ortools'} & set(sys.modules)))"
    assert run(code) == "['ortools']\n"


def test_who_indexes_variables_by_a_table_gets_it():
    """A script may use the solver as well; its series are pandas' own."""
    pytest.importorskip("pandas")
    code = """
from nesting.packing.solver import cp_model
import pandas
model = cp_model.CpModel()
made = model.new_bool_var_series("x", pandas.Index(["left", "right"]))
model.add(made["left"] + made["right"] == 2)
solver = cp_model.CpSolver()
solver.solve(model)
print(type(made) is pandas.Series, list(solver.values(made)))
"""
    assert run(code) == "True [1, 1]\n"


def library(folder: Path, text: str) -> str:
    (folder / "asks.py").write_text(text)
    return f"import sys; sys.path.insert(0, {str(folder)!r})\nfrom nesting.packing.loading import *\n"


def test_what_is_only_named_is_loaded_at_its_first_use(tmp_path: Path):
    begin = library(tmp_path, """
import colorsys
def f(x: colorsys.Sum) -> colorsys.Sum: return colorsys.rgb_to_hsv(*x)
""")
    code = begin + """
with deferred("colorsys"):
    import asks
print("colorsys" in sys.modules, asks.f((0.0, 0.0, 1.0))[2], "colorsys" in sys.modules)
"""
    assert run(code) == "False 1.0 True\n"


def test_what_is_hidden_is_there_again_afterwards(tmp_path: Path):
    begin = library(tmp_path, "try:\n import colorsys\nexcept ImportError:\n colorsys = None")
    code = begin + """
with without("colorsys"):
    import asks
import colorsys
print(asks.colorsys, colorsys.ONE_SIXTH > 0)
"""
    assert run(code) == "None True\n"


@pytest.mark.parametrize("way", [deferred, without])
def test_what_is_loaded_already_stays(way):
    with way("pathlib"):
        assert sys.modules["pathlib"].Path is Path
    assert sys.modules["pathlib"].Path is Path
