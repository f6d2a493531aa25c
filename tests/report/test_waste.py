"""The waste report against sums done by hand, and as printed."""

from __future__ import annotations

import json
from decimal import Decimal

import pytest

from nesting.check import CheckedPlan
from nesting.report.areas import SHARES
from nesting.report.blocks import Table
from nesting.report.waste import EXACT, proof_line, waste_data, waste_section, waste_text
from tests.report.handmade import copies, metric, plan, vouched


def tables(checked: CheckedPlan) -> list[Table]:
    return [block for block in waste_section(checked).blocks if isinstance(block, Table)]


def numbers(row: tuple[object, ...]) -> list[Decimal]:
    return [Decimal(str(cell).replace(",", "")) for cell in row]


def test_figures_are_those_done_by_hand() -> None:
    # legs 80 x 13 1/8 on average, twice: 2100; head 31 7/16 x 13: 408 11/16; shelf 20 x 11: 220
    # kept: 80 1/4 - (1/4 + 31 7/16 + 3/32 + 20 + 3/32) = 28 3/8, x 11 = 312 1/8
    total = waste_data(vouched())["total"]
    assert total["fine"]["bought"] == 96 * 48
    assert total["fine"]["parts"] == pytest.approx(2728.6875, abs=0.1)
    assert total["fine"]["kept"] == pytest.approx(312.125, abs=0.1)
    assert total["exact"]["parts"] == 2728.6875 * 2 * 8128**2
    assert total["large"]["bought"] == 32
    assert total["used_percent"] == 59.2  # 2728.6875 / 4608
    assert waste_data(vouched())["kept_offcuts"][0]["size"] == "28 3/8 × 11"


def test_a_job_in_millimetres_reads_in_square_metres() -> None:
    # 2438.4 x 1219.2 mm (an inch is 25.4 mm)
    data = waste_data(metric())
    assert data["areas_in"] == {"large": "m²", "fine": "mm²", "exact": EXACT}
    assert data["total"]["large"]["bought"] == 2.973
    assert data["total"]["fine"]["bought"] == 2972897
    assert "720.7 × 279.4" not in waste_text(metric()), "the step is half a millimetre"
    assert "720.5 × 279" in waste_text(metric())


@pytest.mark.parametrize("count", [1, 2, 3, 7, 12])
@pytest.mark.parametrize("scale", ["large", "fine", "exact"])
def test_data_add_up_over_shares_and_sheets(count: int, scale: str) -> None:
    data = waste_data(copies(count))
    for entry in [*data["sheets"], data["total"]]:
        figures = {name: Decimal(str(value)) for name, value in entry[scale].items()}
        assert figures["bought"] == sum(figures[share] for share in SHARES)
    for share in ("bought", *SHARES):
        values = [Decimal(str(entry[scale][share])) for entry in data["sheets"]]
        assert sum(values) == Decimal(str(data["total"][scale][share]))


@pytest.mark.parametrize("count", [1, 3, 11])
def test_printed_tables_add_up(count: int) -> None:
    share, sheet, kept = tables(copies(count))
    for column in range(1, 4):
        *above, total = (numbers(row[1:])[column - 1] for row in share.rows)
        assert sum(above) == total
    figures = [numbers(row[2 if row[1] else 1 : 8]) for row in sheet.rows[:-1]]
    total_row = numbers(sheet.rows[-1][2:8])
    for row in [*figures, total_row]:
        assert sum(row[:5]) == row[5]
    assert [sum(column) for column in zip(*figures, strict=True)] == total_row
    assert sum(Decimal(str(row[3])) for row in kept.rows) == total_row[SHARES.index("kept")]
    assert [str(row[1]) for row in share.rows[:5]] == [str(cell) for cell in sheet.rows[-1][2:7]]


def test_data_can_be_written_as_json() -> None:
    assert json.loads(json.dumps(waste_data(copies(2)))) == waste_data(copies(2))


def test_proof_says_no_more_than_is_proved() -> None:
    assert proof_line(plan()).startswith("Proved: no cheaper plan exists")
    # bound 94 for 282: 200 % above it
    assert "at most 200.0 % above what is proved to be needed (94.00)" in proof_line(copies(3).plan)
    proof = plan().proof
    open_end = proof.model_copy(update={"proved": False, "lower_bound": 0.0})
    assert "is not known" in proof_line(plan(proof=open_end))
    # a credit may come to more than the sheets cost: 3.81 is credited, and 12.20 could be
    credited = proof.model_copy(update={"proved": False, "value": -3.81, "lower_bound": -12.2})
    assert proof_line(plan(proof=credited)) == "Not proved: at most 8.39 could be saved."
    # 94 over a bound of 93.99 is 0.0106 % above: rounded up, never down to "0.0"
    tight = proof.model_copy(update={"proved": False, "lower_bound": 93.99})
    assert "at most 0.1 %" in proof_line(plan(proof=tight))


def test_that_no_fewer_sheets_do_is_said_where_it_is_proved_of_more_than_one() -> None:
    three = copies(3).plan
    proof = three.proof.model_copy(update={"proved": True, "fewest_sheets": 3})
    with_three = three.model_copy(update={"proof": proof})
    assert proof_line(with_three).startswith(
        "Proved: no cheaper plan exists, nor one as cheap with fewer sheets, for these sheets"
    )
    two = proof.model_copy(update={"fewest_sheets": 2})  # two might do, for all that is known
    assert "fewer" not in proof_line(three.model_copy(update={"proof": two}))
    assert "fewer" not in proof_line(plan(proof=plan().proof.model_copy(update={"fewest_sheets": 1})))


def test_without_prices_area_stands_for_money() -> None:
    text = waste_text(vouched(priced_by_area=True))
    assert "No prices given: area stands for money." in text
    assert "Cost" not in text
    assert waste_data(vouched(priced_by_area=True))["money"]["priced_by_area"] is True


def test_a_credit_is_shown_beside_the_cost() -> None:
    keep = plan().keep.model_copy(update={"credit": 1.0})
    totals = plan().totals.model_copy(update={"credit": 2.17})
    proof = plan().proof.model_copy(update={"value": 91.83, "lower_bound": 91.83})
    checked = vouched(keep=keep, totals=totals, proof=proof)
    assert "Cost: 94.00, less 2.17 credit for kept offcuts: 91.83." in waste_text(checked)
    assert waste_data(checked)["money"]["net"] == 91.83


def test_without_a_kept_offcut_that_is_said() -> None:
    keep = plan().keep.model_copy(update={"length": 40 * 8128})
    sheet = plan().sheets[0]
    offcuts = tuple(offcut.model_copy(update={"keep": False}) for offcut in sheet.offcuts)
    area = sheet.area.model_copy(update={"keep": 0, "scrap": sheet.area.scrap + sheet.area.keep})
    checked = vouched(
        keep=keep,
        sheets=(sheet.model_copy(update={"offcuts": offcuts, "area": area}),),
        totals=plan().totals.model_copy(update={"area": area}),
    )
    assert "No offcut is large enough to keep." in waste_text(checked)
    assert waste_data(checked)["kept_offcuts"] == []
