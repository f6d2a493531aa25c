"""The comparison as bars: as long as their figures, the best mix dark, nothing lost of what it says."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from nesting.drawing.chart import WIDTH, comparison_svg
from nesting.lengths import Units
from nesting.report.compare import MIX, Comparison, Option

SVG = "{http://www.w3.org/2000/svg}"
ALONE = Option("birch 4x8", True, sheets={"birch 4x8": 6}, cost=564.0, waste_percent=30.0, lower_bound=470.0)
DEARER = Option("birch 5x10", True, sheets={"birch 5x10": 5}, cost=825.0, waste_percent=40.0, proved=True)
CANNOT = Option("birch 4x10", False, "part 7 is longer than the sheet")
MIXED = {"birch 4x8": 1, "birch 5x10": 2}
BEST = Option(MIX, True, sheets=MIXED, cost=424.0, waste_percent=22.9, proved=True)
COMPARISON = Comparison("Weir Lane", Units.INCH, (ALONE, DEARER, CANNOT, BEST))


def drawn(comparison: Comparison) -> ElementTree.Element:
    return ElementTree.fromstring(comparison_svg(comparison).encode())


def bars(root: ElementTree.Element) -> list[tuple[float, float, float, str]]:
    """Where each bar begins, how long it is, how high up it stands, its fill."""
    found = []
    for shape in root.iter(f"{SVG}polygon"):
        spots = [tuple(map(float, pair.split(","))) for pair in shape.attrib["points"].split()]
        xs, ys = [x for x, _ in spots], [y for _, y in spots]
        found.append((min(xs), max(xs) - min(xs), min(ys), shape.attrib["fill"]))
    return found


def test_bars_are_as_long_as_their_figures_and_the_best_mix_is_dark():
    all_bars = bars(drawn(COMPARISON))
    feasible = [option for option in COMPARISON.options if option.feasible]
    assert len(all_bars) == 3 * len(feasible)
    columns = sorted({start for start, *_ in all_bars})
    values = [[o.cost for o in feasible], [sum(o.sheets.values()) for o in feasible],
              [o.waste_percent for o in feasible]]  # fmt: skip
    for start, wanted in zip(columns, values, strict=True):
        own = [bar for bar in all_bars if bar[0] == start]
        assert [length / own[0][1] for _, length, *_ in own] == pytest.approx(
            [value / wanted[0] for value in wanted], rel=0.01)  # fmt: skip
        assert [fill for *_, fill in own].count("black") == 1
        assert own[-1][3] == "black"


def test_all_figures_are_said():
    texts = [element.text for element in drawn(COMPARISON).iter(f"{SVG}text")]
    for words in ("564.00", "424.00", "30.0 %", "22.9 %", "cannot: part 7 is longer than the sheet", MIX,
                  "1 birch 4x8 + 2 birch 5x10"):  # fmt: skip
        assert words in texts


HOSTILE = ["<script>alert(1)</script> & \"'", "\u202e\u05d0\u05d1 \U0001f4a5", "m" * 500]


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_stay_text_on_the_paper(name):
    odd = Option(name, True, sheets={name: 2}, cost=1.0, waste_percent=1.0)
    root = drawn(Comparison(name, Units.MM, (odd, Option(name, False, name))))
    kinds = {element.tag.removeprefix(SVG) for element in root.iter()}
    assert kinds <= {"svg", "rect", "text", "line", "polygon"}
    assert float(root.attrib["viewBox"].split()[2]) == WIDTH


def test_nothing_to_compare_draws_no_bar():
    assert bars(drawn(Comparison("x", Units.INCH, (CANNOT,)))) == []
