"""Boards beside sheets: a part as wide as its board, and each piece's narrowest board."""

from __future__ import annotations

import pytest

from nesting.check import check_plan
from nesting.job.reading import parse_job
from nesting.lengths import INCH
from nesting.packing.instance import Settings
from nesting.plan import Plan
from nesting.report.fitting import fitting_data, fitting_text
from nesting.report.summary import summary_text
from nesting.work.planner import plan_job
from nesting.work.record import plan_of as draft_of
from nesting.work.wanted import wanted

HEAD = """
units: inch
saw: {kerf: 3/32, rails: [118, 55], join: yes}
materials:
  birch: {thickness: 23/32}
  poplar: {thickness: 3/4}
"""


def plan_of(text: str) -> Plan:
    plan = plan_job(parse_job(HEAD + text, "test.yaml"), Settings(seconds=10, effort=300)).plan
    assert check_plan(plan) == []
    return plan


@pytest.mark.parametrize(("board", "width"), [("1x8", "7 1/4"), ("1x10", "9 1/4"), ("1x12", "11 1/4")])
def test_a_part_exactly_as_wide_as_its_board_needs_no_rip(board: str, width: str):
    # PS 20 dressed widths; half an inch is lost at each end, so 95 of 96 are left for 83 + 3/32 + 11
    plan = plan_of(f"""
stock: [{{name: b, material: poplar, board: {board}, length: 8', price: 20}}]
parts:
  - {{name: leg, material: poplar, length: 83, width: {width}}}
  - {{name: block, material: poplar, length: 11, width: {width}}}
""")
    (sheet,) = plan.sheets
    assert plan.proof.proved
    assert (sheet.edge_trim.lower, sheet.edge_trim.upper, sheet.edge_trim.left) == (0, 0, INCH // 2)
    assert {cut.kind for cut in sheet.cuts} <= {"trim", "crosscut"}
    assert [text for text in plan.warnings if "wood shrinks" in text]


def test_what_is_a_hair_wider_than_the_board_has_no_home():
    with pytest.raises(Exception, match="11 9/32"):
        plan_of("""
stock: [{name: b, material: poplar, board: 1x12, length: 8', price: 20}]
parts: [{name: leg, material: poplar, length: 83, width: 11 9/32}]
""")


def test_of_several_lengths_the_cheapest_are_taken():
    # two of 58: on 8' (95 left) one each, on 10' (119 left) two with a kerf: 37.50 against 2 x 30
    plan = plan_of("""
stock: [{name: b, material: poplar, board: 1x12, length: [8', 10', 12'], price: [30, 37.50, 45]}]
parts: [{name: shelf, material: poplar, length: 58, width: 11, count: 2}]
""")
    assert (plan.totals.sheets, plan.totals.cost) == ({"b 10'": 1}, 37.5)
    assert [stock.board for stock in plan.stock] == ["1x12"] * 3


OPENING = """
  - name: {name}
    material: [poplar, birch]
    proud: {{least: 0}}
    height: {{left: 83 1/2, right: 83 1/2}}
    width: {{low: 31, middle: 31, high: 31}}
    wall:
      left:  [[2, {left}], [81, {left}]]
      right: [[2, {left}], [81, {left}]]
      head:  [[0, {left}], [31, {left}]]
"""


def test_each_piece_says_its_narrowest_board_and_the_opening_too():
    plan = plan_of("""
stock:
  - {name: birch 4x8, material: birch, length: 96, width: 48, price: 94}
  - {name: 1x12, material: poplar, board: 1x12, length: [8', 10'], price: 2 a foot}
openings:""" + OPENING.format(name="Pantry", left="7 1/4") + OPENING.format(name="Vault", left="11 1/2"))
    # a 1x8 is 7 1/4 dressed, the widest, a 1x12, 11 1/4 (PS 20)
    assert [part.board for part in plan.parts] == ["1x8"] * 3 + ["sheet"] * 3
    assert [part.material for part in plan.parts] == ["poplar"] * 3 + ["birch"] * 3
    pantry, vault = plan.openings
    assert "1x8 for the left leg and the right leg and the head" in " ".join(pantry.notes)
    assert "a sheet is needed" in " ".join(vault.notes)


SAID = """
stock:
  - {name: ply, material: birch, length: 96, width: 48, price: 94.00}
  - {name: b, material: poplar, board: 1x12, length: 8', price: 20}
parts:
"""
SHELF = "  - {name: shelf, material: birch, length: 34, width: 12}\n"
APRONS = "  - {name: apron, material: poplar, length: 60, width: 8, count: 2}\n"


@pytest.mark.parametrize(("parts", "on", "of"), [
    (SHELF, "1 part on 1 sheet,", "sheets"), (APRONS, "2 parts on 2 boards,", "boards"),
    (SHELF + APRONS, "3 parts on 1 sheet and 2 boards,", "sheets and boards"),
])  # fmt: skip
def test_boards_are_not_called_sheets(parts: str, on: str, of: str):
    settings = Settings(seconds=10, effort=300)
    said = summary_text(plan_job(parse_job(HEAD + SAID + parts, "test.yaml"), settings))
    assert on in said
    assert f"% of the {of} ends in parts" in said
    assert f"for these {of}, saw and parts" in said


def test_the_parts_list_names_every_material_that_may_be_chosen():
    text = HEAD + SAID.partition("parts:")[0] + """
openings:
  - name: Door
    material: [birch, poplar]
    height: {left: 83 1/2, right: 83 1/2}
    width: {low: 37, middle: 37, high: 37}
    wall:
      left:  [[2, 9], [42, 9], [81, 9]]
      right: [[2, 9], [42, 9], [81, 9]]
      head:  [[0, 9], [18, 9], [37, 9]]
"""
    job = parse_job(text, "test.yaml")
    draft = draft_of(job, wanted(job), [], Settings())
    assert "Door may be of birch or poplar. The sizes here are those in birch" in " ".join(
        fitting_text(draft).split())  # fmt: skip
    (opening,) = fitting_data(draft)["openings"]
    assert [(one["material"], one["taken"]) for one in opening["choices"]] == [
        ("birch", True), ("poplar", False)]  # fmt: skip
    one = parse_job(text.replace("[birch, poplar]", "birch"), "test.yaml")
    assert "may be of" not in fitting_text(draft_of(one, wanted(one), [], Settings()))
