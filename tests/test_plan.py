"""The plan file: what is written comes back to the unit, and what is no plan is refused with a reason."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

from nesting import plan as plan_module
from nesting.errors import CheckFailedError, FileError
from nesting.lengths import INCH, MM
from nesting.plan import Plan, plan_from_data, read_plan
from tests.check import sample


def data(plan: Plan | None = None) -> Any:
    return json.loads((plan or sample.kiln()).to_json())


@pytest.mark.parametrize("plan", [sample.kiln(), sample.mill()], ids=["inch", "mm"])
def test_a_file_gives_back_the_plan_and_the_same_bytes(plan: Plan, tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text(plan.to_json(), encoding="utf-8")
    again = read_plan(path)
    assert again == plan
    assert again.to_json() == plan.to_json()


def test_the_file_has_the_keys_of_the_format_and_lengths_in_its_units() -> None:
    written = data()
    assert {"format", "units", "job", "seen_from", "program", "saw", "keep", "lean", "stock", "openings",
            "warnings", "proof", "parts", "sheets", "totals"} <= written.keys()  # fmt: skip
    sheet, cut = written["sheets"][0], written["sheets"][0]["cuts"][1]
    assert written["format"] == "nesting-plan/1"
    assert (sheet["length"], sheet["kerf"]) == (96, 0.09375)
    assert (cut["from"], cut["to"]) == ([0, 26.59375], [96, 26.59375])
    assert sheet["area"]["sheet"] == 4608
    assert sum(sheet["area"][name] for name in ("parts", "kerf", "keep", "scrap")) == pytest.approx(4608)


@pytest.mark.parametrize(("units", "size"), [("inch", INCH), ("mm", MM)])
def test_every_inner_length_can_be_written_and_read(units: str, size: int) -> None:
    """All of the first inch, and some of 144 inches: the largest sheet that is made."""
    lengths = [*range(INCH + 1), *range(0, 144 * INCH, 997)]
    made = sample.kiln().model_copy(update={"units": plan_module.lengths.Units(units)})
    cuts = [made.saw.model_copy(update={"rails": tuple(lengths)})]
    again = plan_from_data(data(made.model_copy(update={"saw": cuts[0]})))
    assert list(again.saw.rails) == lengths


def test_unknown_keys_are_ignored_and_the_tape_may_be_left_out() -> None:
    written = data() | {"colour": "none"}
    written["sheets"][0]["cuts"][0]["note"] = [1]
    del written["step"]
    assert plan_from_data(written) == sample.kiln()
    metric = data(sample.mill()) | {"step": 0}
    assert plan_from_data(metric).step == MM // 2  # the job file's default: 0.5 mm


@pytest.mark.parametrize(("text", "says"), [
    ("", "no plan file"), ("{", "no plan file"), ("units: inch", "no plan file"),
    ("[" * 100_000, "no plan file"), ('{"units": ' + "9" * 5000 + "}", "no plan file"),
])  # fmt: skip
def test_what_is_no_json_is_a_file_error(text: str, says: str, tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileError, match=says):
        read_plan(path)


def test_files_that_cannot_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(FileError, match="cannot be read"):
        read_plan(tmp_path / "nothing.json")
    with pytest.raises(FileError, match="cannot be read"):
        read_plan(tmp_path)
    path = tmp_path / "latin.json"
    path.write_bytes('{"job": "Küche"}'.encode("latin-1"))
    with pytest.raises(FileError, match="UTF-8"):
        read_plan(path)
    monkeypatch.setattr(plan_module, "LARGEST_FILE", 10)
    with pytest.raises(FileError, match="larger"):
        read_plan(path)


@pytest.mark.parametrize("wrong", [None, 3, "plan", [], [{}]])
def test_json_that_is_no_object_is_no_plan(wrong: Any) -> None:
    with pytest.raises(CheckFailedError, match="JSON object"):
        plan_from_data(wrong, "plan.json")


@pytest.mark.parametrize("units", ["cm", "", None, 3, ["inch"], {}, "Inch"])
def test_units_are_inch_or_mm(units: Any) -> None:
    with pytest.raises(CheckFailedError, match=r'units: must be "inch" or "mm"'):
        plan_from_data(data() | {"units": units})


def test_units_that_are_left_out() -> None:
    written = data()
    del written["units"]
    with pytest.raises(CheckFailedError, match="units"):
        plan_from_data(written)


@pytest.mark.parametrize("key", ["saw", "keep", "lean", "stock", "proof", "parts", "sheets", "totals",
                                 "seen_from", "program", "job"])  # fmt: skip
def test_a_missing_key_is_named(key: str) -> None:
    written = data()
    del written[key]
    with pytest.raises(CheckFailedError, match=rf"\[format\] {key}: Field required"):
        plan_from_data(written)


def test_all_keys_at_fault_are_named_each_on_a_line() -> None:
    written = data()
    written["format"] = "nesting-plan/2"
    del written["sheets"][0]["cuts"][2]["waste_side"]
    written["parts"][1]["grain"] = "along"
    with pytest.raises(CheckFailedError) as caught:
        plan_from_data(written, "my.json")
    lines = str(caught.value).splitlines()
    assert [line.split(": ")[1] for line in lines] == [
        "[format] format", "[format] parts.1.grain", "[format] sheets.0.cuts.2.waste_side"]  # fmt: skip


BAD_NUMBERS = ["NaN", "Infinity", "-Infinity", "1e400", "1e9", "-1e9", "1" + "0" * 400, '"96"', "true",
               "null", "[]"]  # fmt: skip


@pytest.mark.parametrize("number", BAD_NUMBERS)
@pytest.mark.parametrize("place", ['"length": 96.0', '"kerf": 0.09375', '"reading": 12.875'])
def test_a_length_is_a_number_that_a_sheet_can_have(place: str, number: str) -> None:
    key = place.split(":", maxsplit=1)[0]
    text = sample.kiln().to_json().replace(place, f"{key}: {number}")
    with pytest.raises(CheckFailedError, match=r"\[format\]"):
        plan_from_data(json.loads(text))


@pytest.mark.parametrize("number", ["NaN", "Infinity", "1e400", "1e13", '"4608"', "true"])
def test_an_area_is_a_number_that_a_sheet_can_have(number: str) -> None:
    text = sample.kiln().to_json().replace('"sheet": 4608.0', f'"sheet": {number}')
    with pytest.raises(CheckFailedError, match=r"area\.sheet"):
        plan_from_data(json.loads(text))


@pytest.mark.parametrize("number", ["NaN", "Infinity", "1e400", '"dear"', "null"])
def test_money_is_a_number(number: str) -> None:
    text = sample.kiln().to_json().replace('"price": 94.0', f'"price": {number}')
    with pytest.raises(CheckFailedError, match=r"price"):
        plan_from_data(json.loads(text))


def test_corners_are_four_points() -> None:
    written = data()
    written["sheets"][0]["placed"][0]["corners"].pop()
    with pytest.raises(CheckFailedError, match=r"placed\.0\.corners"):
        plan_from_data(written)


@pytest.mark.parametrize("length", [96.5, float("nan"), float("inf"), 10**13, True, "96"])
def test_inside_lengths_are_whole_numbers_of_inner_units(length: Any) -> None:
    with pytest.raises(ValidationError):
        Plan.model_validate(sample.kiln_data() | {"keep": {"length": length, "width": 0}})
