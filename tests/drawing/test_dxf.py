"""DXF read back by the library that is at home in it: real size, right units, every part and cut."""

from __future__ import annotations

import io
import sys

import pytest

from nesting.drawing.dxf import LAYERS, sheet_dxf
from nesting.errors import FileError
from nesting.lengths import to_number
from tests.drawing import plans
from tests.report import handmade

ezdxf = pytest.importorskip("ezdxf")
CASES = {"tapers": plans.tapers, "mm, back": plans.metric_back, "forty": plans.many_parts}


def read_back(text: str):
    document = ezdxf.read(io.StringIO(text))
    assert not document.audit().errors
    return document


@pytest.mark.parametrize("case", CASES)
def test_parts_and_cuts_are_where_the_plan_has_them(case):
    plan = CASES[case]().plan
    for sheet in plan.sheets:
        document = read_back(sheet_dxf(plan, sheet))

        def at(point, units=plan.units):
            return tuple(to_number(value, units) for value in point)

        space = document.modelspace()
        rings = {layer: [[tuple(p[:2]) for p in ring.get_points()] for ring in space.query("LWPOLYLINE")
                         if ring.dxf.layer == layer and ring.closed] for layer in LAYERS}  # fmt: skip
        assert rings["parts"] == [[at(c) for c in placed.corners] for placed in sheet.placed]
        assert rings["outline"] == [[at(c) for c in ((0, 0), (sheet.length, 0), (sheet.length, sheet.width),
                                                     (0, sheet.width))]]  # fmt: skip
        lines = [((line.dxf.start.x, line.dxf.start.y), (line.dxf.end.x, line.dxf.end.y))
                 for line in space.query("LINE") if line.dxf.layer == "cuts"]  # fmt: skip
        assert lines == [(at(cut.start), at(cut.to)) for cut in sheet.cuts]
        texts = [text.dxf.text for text in space.query("TEXT") if text.dxf.layer == "text"]
        for placed in sheet.placed:
            assert any(text.split()[0] == str(placed.number) for text in texts)


def test_the_units_are_said():
    """$INSUNITS 1 is inches, 4 is millimetres (DXF reference of its maker; ezdxf.units says the same)."""
    for make, units in ((plans.tapers, ezdxf.units.IN), (plans.metric_back, ezdxf.units.MM)):
        plan = make().plan
        assert read_back(sheet_dxf(plan, plan.sheets[0])).header["$INSUNITS"] == units


def test_back_face_up_is_said():
    plan = plans.metric_back().plan
    assert "MIRRORED" in sheet_dxf(plan, plan.sheets[0])


def test_the_same_plan_gives_the_same_bytes():
    plan = plans.tapers().plan
    assert sheet_dxf(plan, plan.sheets[0]) == sheet_dxf(plan, plan.sheets[0])


@pytest.mark.parametrize("name", [*handmade.HOSTILE, "%%d ^J \\\\U+0041 \\n {\\fArial;x}", "x" * 500])
def test_names_stay_text(name):
    plan = handmade.renamed(name).plan
    document = read_back(sheet_dxf(plan, plan.sheets[0]))
    texts = [text.dxf.text for text in document.modelspace().query("TEXT")]
    assert not any("%%" in text or "\\" in text or "\n" in text for text in texts)
    assert all(len(text) <= 300 for text in texts)


def test_without_the_library_it_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "ezdxf", None)
    plan = plans.tapers().plan
    with pytest.raises(FileError, match="pip install ezdxf"):
        sheet_dxf(plan, plan.sheets[0])
