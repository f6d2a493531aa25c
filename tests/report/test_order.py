"""What to order, against trade values."""

from __future__ import annotations

import json

from nesting.check import _SEAL, CheckedPlan
from nesting.lengths import INCH
from nesting.report.edging import with_allowance
from nesting.report.order import order_data, order_lines, order_text
from tests.report.handmade import copies, metric, plan, vouched


def test_a_tenth_more_is_never_rounded_short() -> None:
    assert with_allowance(10) == 11
    assert with_allowance(11) == 13


def test_the_order_counts_and_sums() -> None:
    (line,) = order_lines(copies(3).plan)
    assert (line.count, line.price, line.cost) == (3, 94.0, 282.0)
    text = order_text(copies(3))
    assert "282.00" in text
    assert "From the shop" not in text
    data = order_data(copies(3))
    assert json.loads(json.dumps(data)) == data
    # by hand: 3 x (4 x 81 + 2 x 32 7/16) = 1166 5/8 in and 18 units = 97.2 ft; 106.9 ft with a tenth
    # more, so rolls of 125 ft in all
    assert data["banding"][0]["rolls_ft"] == {"50": 2, "25": 1}
    assert "97.3 ft" in text
    assert "107.0 ft" in text


def test_sheets_of_the_shop_stand_apart() -> None:
    stock = tuple(s.model_copy(update={"in_shop": True, "count": 5}) for s in plan().stock)
    text = order_text(vouched(stock=stock))
    assert "Nothing to buy" in text
    assert "From the shop" in text


def test_without_prices_none_are_shown() -> None:
    text = order_text(vouched(priced_by_area=True))
    assert "No prices given" in text
    assert "94" not in text


def test_band_width_leaves_an_eighth() -> None:
    # 7/8 is typical on a 3/4 edge, a strip at least 1/8 wider than the edge (a woodworker's magazine)
    assert '7/8" wide for 23/32" edges' in order_text(vouched())


def test_a_job_in_millimetres_reads_in_metres_and_kilograms() -> None:
    text = order_text(metric())
    assert "kg each" in text
    assert "25 mm longer" in text
    assert "50 ft (15.2 m)" in text  # 50 x 0.3048


def test_boards_are_ordered_in_board_feet_too() -> None:
    # 1x6 of 96 in: 4 board feet (a hardwood dealer's worked value)
    sizes = {"board": "1x6", "length": 96 * INCH, "width": 11 * INCH // 2}
    stock = tuple(s.model_copy(update=sizes) for s in plan().stock)
    text = order_text(CheckedPlan(plan().model_copy(update={"stock": stock}), _SEAL))
    assert "4.0 board feet" in text
    strange = tuple(s.model_copy(update={"board": "plank"}) for s in plan().stock)
    assert "board feet" not in order_text(CheckedPlan(plan().model_copy(update={"stock": strange}), _SEAL))


def test_without_banding_none_is_ordered() -> None:
    parts = tuple(part.model_copy(update={"band": ()}) for part in plan().parts)
    totals = plan().totals.model_copy(update={"banding": {}})
    assert "Edge banding" not in order_text(vouched(parts=parts, totals=totals))
