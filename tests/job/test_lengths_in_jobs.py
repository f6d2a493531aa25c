"""Every way to write a length, in a job in inches and in one in millimetres."""

from fractions import Fraction

import pytest

from nesting.lengths import INCH
from tests.job.jobs import LEAST, faults, job, metric

# 8 feet 2 5/8 are 96 + 2.625 = 98.625 inches, and 98.625 x 25.4 = 2505.075 mm (the inch is 25.4 mm since
# the international yard and pound agreement of 1959). How it is written: common practice, no source.
EIGHT_TWO = [
    "98 5/8", "98-5/8", "98 - 5/8", "98⅝", "98 ⅝", "98-⅝", "98.625", '98 5/8"', '98-5/8"', "98 5/8 in",
    "98 5/8in.",
    "98 5/8 inch", "98 5/8 inches", "98.625 in", '98.625"', "98⅝ in", "8' 2 5/8\"", "8'-2 5/8\"",
    "8' - 2 5/8", "8' 2-5/8\"", "8'2 5/8", "8′ 2⅝″", "8’ 2 5/8”", "8 ft 2 5/8 in", "8 ft. 2 5/8 in.",
    "8 feet 2 5/8 inches", "2505.075 mm", "250.5075 cm", "2.505075 m", "98 10/16", "98 40/64", "98 5⁄8",
]  # fmt: skip
WAYS = [
    ("13 5/8", "13.625"), ("13⅝", "13.625"), ("5/8", "0.625"), ("⅝", "0.625"), ("½", "0.5"), (".5", "0.5"),
    ("8'", "96"), ("8 ft", "96"), ("8.5'", "102"), ("1 foot", "12"),
    ("1/64", "0.015625"), ("63/64", "0.984375"),
    ("13.", "13"), ("007", "7"), ("2'6\"", "30"), ("2' 0\"", "24"), ("25.4 mm", "1"), ("2.54cm", "1"),
    ("0.0254 m", "1"), ("2505.1MM", "98.6260"),
]  # fmt: skip


def quoted(written: str) -> str:
    return "'" + written.replace("'", "''") + "'"


def part_length(written: str) -> int:
    return job(("34 1/2", quoted(written))).parts[0].length


def units_of(inches: str) -> int:
    """The nearest inner unit."""
    return round(Fraction(inches) * INCH)


@pytest.mark.parametrize("written", EIGHT_TWO)
def test_eight_feet_two_and_five_eighths(written):
    assert part_length(written) == units_of("98.625")


@pytest.mark.parametrize(("written", "inches"), WAYS)
def test_other_ways(written, inches):
    assert part_length(written) == units_of(inches)


@pytest.mark.parametrize("written", ["98 5/8", "8' 2 5/8\"", "98⅝", "2505.1 mm", "13-5/8", "5/8", "8'"])
def test_lengths_need_no_quotes(written):
    for text in (f"length: {written}, width", f"length: {written} , width"):
        assert job(("length: 34 1/2, width", text)).parts[0].length == part_length(written)


@pytest.mark.parametrize(("written", "mm"), [
    ("876.3", "876.3"), ("876", "876"), ("87.63 cm", "876.3"), ("0.8763 m", "876.3"),
    ("34 1/2 in", "876.3"),
    ('34.5"', "876.3"), ("2' 10 1/2\"", "876.3"), ("8' 2 5/8\"", "2505.075"), ("1/2 inch", "12.7"),
    ("5/8\"", "15.875"),
])  # fmt: skip
def test_in_millimetres(written, mm):
    made = metric(("876.3", quoted(written)))
    assert made.parts[0].length == round(Fraction(mm) * INCH / Fraction("25.4"))


# Sheets, kerfs and rails that go by two names in the trade, within the last digit that it prints: 23/32 ply
# is 18.26, a metric 4x8 1220 by 2440, a 5x5 1525, a 1400 rail 55.1 (lists of the trade, no standard).
@pytest.mark.parametrize(("metric_name", "inches", "off"), [
    ("18.26 mm", "0.71875", "0.0003"), ("18 mm", "0.709", "0.0005"), ("1220 mm", "48.03", "0.005"),
    ("2440 mm", "96.06", "0.005"), ("1525 mm", "60.04", "0.005"), ("1.8 mm", "0.071", "0.0005"),
    ("2.2 mm", "0.087", "0.0005"), ("2.4 mm", "0.094", "0.0006"), ("1400 mm", "55.1", "0.05"),
    ("3000 mm", "118.1", "0.05"), ("0.794 mm", "0.03125", "0.00002"), ("0.397 mm", "0.015625", "0.00002"),
])  # fmt: skip
def test_one_size_by_two_names(metric_name, inches, off):
    assert abs(part_length(metric_name) - Fraction(inches) * INCH) <= Fraction(off) * INCH + Fraction(1, 2)


@pytest.mark.parametrize(("written", "said"), [
    ("8-7-8", "three figures"), ("2/6", "2' 6\""), ("4/0", "4' 0\""), ("7/10", "no 7/10"),
    ("1/128", "no 1/128"),
    ("8/8", "no proper fraction"), ("13 5 / 8 / 2", "write it like"), ("13 5/8 mm", "write it like"),
    ("98 minus 5/8", "write it like"), ("13 5/8 in 2", "write it like"),
    ("1e3", "write it like"), ("inf", "write it like"), ("0x10", "write it like"),
    ("--5", "never negative"),
    ("−5", "never negative"), ("13,625", "with a point"), ("8' 12\"", "less than 12 inches"),
])  # fmt: skip
def test_what_is_asked_back(written, said):
    (fault,) = faults(LEAST.replace("34 1/2", quoted(written)))
    assert fault.what == "part 1 (shelf), length"
    assert said in fault.right
