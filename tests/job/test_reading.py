"""What each key of a job file means, and what holds where it is left out."""

import hashlib
from fractions import Fraction
from pathlib import Path

import pytest

from nesting.errors import FileError, JobError
from nesting.job.measured import Height, Line, Reading, Width
from nesting.job.models import Band, Gap, Keep, Proud
from nesting.job.reading import parse_job, read_job
from nesting.lengths import INCH, MM, Units
from nesting.stock import Material, Saw, Stock, Trim
from tests.job.jobs import EXAMPLE, LEAST, METRIC, faults, inch, job, metric, mm

SAMPLES = Path(__file__).parents[2] / "samples"


def test_every_key_is_read():
    made = job(text=EXAMPLE)
    assert (made.name, made.units, made.step) == ("Weir Lane pottery", Units.INCH, INCH // 32)
    assert made.saw == Saw(3 * INCH // 32, (inch(118), inch(55)), True, inch(7), inch(3), "show")
    quarter = Trim(*[INCH // 4] * 4)
    assert (made.trim, made.lean) == (quarter, Fraction(1, 2))
    assert made.keep == Keep(length=inch(24), width=inch(6))
    assert made.materials == {"birch": Material("birch", 23 * INCH // 32, True, False, 2.3)}
    assert made.stock == (
        Stock("birch 4x8", "birch", inch(96), inch(48), 9400, None, quarter),
        Stock("birch 4x10", "birch", inch(120), inch(48), 13100, 3, quarter),
        Stock("rack piece", "birch", inch(61), inch(22.5), 0, 1, Trim(), in_shop=True),
    )
    assert [(p.name, p.length, p.width_start, p.width_end, p.count, p.grain) for p in made.parts] == [
        ("shelf", inch(34.5), inch(11.75), inch(11.75), 4, "length"),
        ("filler", inch(84), inch(3), inch(3.75), 1, "length"),
    ]
    assert (made.warnings, made.priced_by_area) == ((), False)


def test_the_examples_opening():
    (opening,) = job(text=EXAMPLE).openings
    assert (opening.name, opening.material) == ("Kiln room", ("birch",))
    assert (opening.joint, opening.rabbet, opening.straight) == ("rabbet", inch(0.375), "A")
    assert opening.height == Height(left=inch(83.5), right=inch(83.375))
    assert opening.line is None
    assert opening.width == Width(low=inch(37.25), middle=inch(37.125), high=inch(37.25))
    assert opening.gap == Gap(left=inch(0.25), right=inch(0.25), top=inch(0.25))
    assert opening.proud == Proud(least=0, most=inch(0.0625))
    assert opening.band == Band(edges=("A", "B"), thickness=6 * MM // 10, deduct=False)
    assert opening.wall.left == (
        Reading(at=inch(2), thickness=inch(12.75)),
        Reading(at=inch(42), thickness=inch(12.875)),
        Reading(at=inch(81), thickness=inch(13)),
    )
    assert opening.wall.head[0] == Reading(at=0, thickness=inch(13))


def test_defaults_in_inches():
    made = job()
    assert (made.name, made.step) == ("job", INCH // 32)
    assert made.saw == Saw(3 * INCH // 32, (), False, inch(7), inch(3), "show")
    assert made.trim == made.stock[0].trim == Trim(*[INCH // 4] * 4)
    assert (made.lean, made.keep) == (Fraction(1, 2), Keep(length=inch(24), width=inch(6), credit=0))
    assert made.materials["birch"] == Material("birch", 23 * INCH // 32, True, False, None)
    assert (made.stock[0].count, made.stock[0].in_shop) == (None, False)
    assert (made.parts[0].count, made.parts[0].grain) == (1, "length")


def test_defaults_in_millimetres():
    made = metric()
    assert made.step == MM // 2
    assert (made.saw.lead_in, made.saw.lead_out) == (mm(178), mm(76))
    assert made.trim == Trim(*[mm(6)] * 4)
    assert (made.lean, made.keep) == (Fraction(1, 2), Keep(length=mm(600), width=mm(150), credit=0))


def test_defaults_of_an_opening_are_the_same_in_both_units():
    opening = LEAST[LEAST.index("openings:") : LEAST.index("parts:")]
    in_mm = opening.replace("83 1/2", "2120").replace("83 3/8", "2118").replace("37 1/4", "946")
    in_mm = in_mm.replace("37 1/8", "943").replace("12 3/4", "324").replace("12 7/8", "327")
    in_mm = in_mm.replace("[81, 13]", "[2050, 330]").replace("[0, 13], [37, 13]", "[0, 330], [940, 330]")
    for made in (job(), metric(("parts:", in_mm.replace("birch", "ply") + "parts:"))):
        (opening,) = made.openings
        assert (opening.joint, opening.straight, opening.band) == ("head over legs", "A", None)
        assert opening.gap == Gap(left=INCH // 4, right=INCH // 4, top=INCH // 4)
        assert opening.proud == Proud(least=INCH // 16, most=INCH // 8)


def test_a_table_that_names_some_sides_leaves_the_defaults_of_the_others():
    made = job(("units: inch", "units: inch\ntrim: {left: 1/2}\nkeep: {width: 4}"),
               ("material: birch\n    height", "material: birch\n    gap: {top: 0}\n"
                                              "    proud: {most: 1/4}\n    height"))
    assert made.trim == Trim(left=INCH // 2)
    assert made.keep == Keep(length=inch(24), width=inch(4))
    assert made.openings[0].gap == Gap(left=INCH // 4, right=INCH // 4, top=0)
    assert made.openings[0].proud == Proud(least=INCH // 16, most=INCH // 4)


def test_a_stocks_own_trim_goes_before_the_jobs():
    made = job(("price: 94.00}", "price: 94.00, trim: {lower: 1/8}}\n"
                "  - {name: other, material: birch, length: 96, width: 48, price: 1, trim: 1/2}"))
    assert [sheet.trim for sheet in made.stock] == [Trim(lower=INCH // 8), Trim(*[INCH // 2] * 4)]


def test_a_bad_zone_is_measured_from_the_left_end_and_the_lower_edge():
    made = job(("price: 94.00}", "price: 94.00}\n"
                "  - {name: scuffed, material: birch, length: 96, width: 48, in_shop: yes, blocked: ["
                "{left: 40, right: 44 1/2, lower: 20, upper: 23}, {left: 90}, {upper: 1}]}"))
    assert made.stock[0].blocked == ()
    zones = ((40, 20, 44.5, 23), (90, 0, 96, 48), (0, 0, 96, 1))
    assert made.stock[-1].blocked == tuple(tuple(map(inch, zone)) for zone in zones)


def test_play_is_of_the_job_unless_the_material_has_its_own():
    assert [sheet.play for sheet in job().stock] == [0] * len(job().stock)
    made = job(("units: inch", "units: inch\nplay: 1/16"))
    assert {sheet.play for sheet in made.stock} == {INCH // 16}


@pytest.mark.parametrize(("written", "count", "price"), [
    ("in_shop: yes", 1, 0),
    ("in_shop: yes, count: 3, price: 12.5", 3, 1250),
    ("in_shop: no, price: 12", None, 1200),
    ("price: 0.05, count: 2", 2, 5),
])
def test_count_and_price_in_the_shop_and_elsewhere(written, count, price):
    new = f"price: 94.00}}\n  - {{name: other, material: birch, length: 96, width: 48, {written}}}"
    other = job(("price: 94.00}", new)).stock[1]
    assert (other.count, other.price) == (count, price)


def test_without_any_price_area_stands_for_money():
    made = job((", price: 94.00", ""))
    # 96 x 48 = 4608 square inches, in hundredths.
    assert (made.priced_by_area, made.stock[0].price) == (True, 460_800)
    assert any("area stands for money" in warning for warning in made.warnings)
    made = metric((", price: 80", ""), ("parts:", "  - {name: bit, material: ply, length: 900, width: 400, "
                                                  "in_shop: yes}\nparts:"))
    # 2440 x 1220 = 2,976,800 mm².
    assert [sheet.price for sheet in made.stock] == [297_680_000, 0]


def test_shorthands():
    made = job(("saw: {kerf: 3/32}", "saw: {kerf: 3/32, rails: 118}\ntrim: {left: 1, upper: 2}"),
               ("material: birch\n", "material: [birch, ash]\n    band: {edges: B, thickness: 1/4}\n"
                                     "    gap: 0\n"),
               ("stock:", "  ash: {thickness: 3/4}\nstock:\n"
                          "  - {name: ash, material: ash, length: 96, width: 48, price: 1}"),
               ("width: 11 3/4", "width: [11 3/4, 3]"))
    assert made.saw.rails == (inch(118),)
    assert made.trim == Trim(left=inch(1), upper=inch(2))
    opening = made.openings[0]
    assert (opening.material, opening.gap) == (("birch", "ash"), Gap(left=0, right=0, top=0))
    assert opening.band == Band(edges=("B",), thickness=inch(0.25))
    assert (made.parts[0].width_start, made.parts[0].width_end) == (inch(11.75), inch(3))


def test_two_faces_of_a_wall_make_its_thickness():
    made = job(("[[2, 12 3/4], [81, 13]]", "[[2, 6 1/2, 6 1/4], [81, 13 1/2, -1/2]]"),
               ("[[2, 12 7/8], [81, 13]]", "[[2, −1/8, 13], [81, 6, 7]]"),
               ("[[0, 13], [37, 13]]", "[[0, 0, 13], [37, 6 1/2, 6 1/2]]"))
    wall = made.openings[0].wall
    assert wall.left == (Reading(at=inch(2), face_a=inch(6.5), face_b=inch(6.25), thickness=inch(12.75)),
                         Reading(at=inch(81), face_a=inch(13.5), face_b=-INCH // 2, thickness=inch(13)))
    assert (wall.right[0].face_a, wall.right[0].thickness) == (-INCH // 8, inch(12.875))
    assert (wall.head[0].face_a, wall.head[0].thickness) == (0, inch(13))


def test_a_level_line_instead_of_the_height():
    made = job(("height: {left: 83 1/2, right: 83 3/8}", "line: {left: 40 1/4, right: 39 7/8, up: 43}"))
    assert made.openings[0].height is None
    assert made.openings[0].line == Line(left=inch(40.25), right=inch(39.875), up=inch(43))


def test_what_is_off_the_grid_goes_to_the_nearest_unit_a_kerf_up_a_sheet_down():
    # An inch is 8128 units, so a hundredth is 81.28 and a thousandth 8.128.
    made = job(("kerf: 3/32", "kerf: 0.09"), ("thickness: 23/32", "thickness: 0.71"),
               ("length: 96, width: 48", "length: 96.01, width: 47.99"), ("34 1/2", "34.55"))
    assert made.saw.kerf == 732  # 731.52
    assert made.materials["birch"].thickness == 5771  # 5770.88
    assert made.stock[0].length == 780_369  # 780369.28
    assert made.stock[0].width == 390_062  # 390062.72
    assert made.parts[0].length == 280_822  # 280822.4


def test_zero_is_allowed_for_kerf_trim_leads_and_gaps():
    made = job(("kerf: 3/32", "kerf: 0, lead_in: 0, lead_out: 0"), ("units: inch", "units: inch\ntrim: 0"),
               ("material: birch\n    height", "material: birch\n    gap: {left: 0, right: 0, top: 0}\n"
                                              "    height"))
    assert (made.saw.kerf, made.saw.lead_in, made.saw.lead_out, made.trim) == (0, 0, 0, Trim())
    assert made.openings[0].gap == Gap(left=0, right=0, top=0)


@pytest.mark.parametrize("written", ["yes", "Yes", "YES", "true"])
@pytest.mark.parametrize("other", ["no", "No", "false"])
def test_yes_and_no(written, other):
    made = job(("kerf: 3/32", f"kerf: 3/32, join: {written}"), ("23/32}", f"23/32, grain: {other}}}"))
    assert made.saw.join
    assert not made.materials["birch"].grain


def test_in_a_material_without_grain_every_part_may_lie_any_way():
    made = job(("23/32}", "23/32, grain: no, faces: both}"), ("11 3/4}", "11 3/4, grain: across}"))
    assert made.parts[0].grain == "any"
    assert made.materials["birch"].both_faces


@pytest.mark.parametrize(("written", "degrees"), [
    ("0", 0), ("1/2", Fraction(1, 2)), ("0.25", Fraction(1, 4)), ("1 1/2 degrees", Fraction(3, 2)),
    ("1°", 1),
])
def test_lean(written, degrees):
    assert job(("units: inch", f"units: inch\nlean: {written}")).lean == degrees


def test_keep_credit_and_weight():
    made = job(("units: inch", "units: inch\nkeep: {credit: 1.25}"), ("23/32}", "23/32, weight: 2.51}"))
    assert (made.keep.credit, made.materials["birch"].weight) == (125, 2.51)


@pytest.mark.parametrize("written", [
    "010", "2026-11-25", "1e3", "~", "null", "yes", "0x10", "12:30", "'#3 shelf'", '"#3 shelf"', "shelf#3",
    "Küche", "棚", "a <b> & c", "x" * 500,
])
def test_a_name_stays_the_text_that_was_written(written):
    assert job(("name: Kiln room", f"name: {written}")).openings[0].name == written.strip("'\"")


def test_names_are_stripped():
    assert job(("Kiln room", '"  Kiln room "')).openings[0].name == "Kiln room"


def test_an_alias_stands_for_what_it_names():
    made = job(("left: [[2, 12 3/4], [81, 13]]", "left: &both [[2, 12 3/4], [81, 13]]"),
               ("right: [[2, 12 7/8], [81, 13]]", "right: *both"))
    assert made.openings[0].wall.left == made.openings[0].wall.right


@pytest.mark.parametrize("data", [
    LEAST.encode(), b"\xef\xbb\xbf" + LEAST.encode(), LEAST.replace("\n", "\r\n").encode(),
    LEAST.replace("\n", "\r").encode(), b"---\n" + LEAST.encode() + b"...\n",
])
def test_a_file_with_other_line_ends_or_a_mark_at_its_start(tmp_path, data):
    path = tmp_path / "small.yaml"
    path.write_bytes(data)
    made = read_job(path)
    assert (made.openings, made.stock) == (job().openings, job().stock)
    assert made.name == "small"
    assert made.sha256 == hashlib.sha256(data).hexdigest()


def test_where_each_entry_begins():
    made = job(("parts:", "parts:\n  - {name: a,\n     material: birch, length: 9, width: 9}"))
    assert made.lines == {("stock", 0): 6, ("openings", 0): 8, ("parts", 0): 17, ("parts", 1): 19}


def test_as_many_pieces_as_are_allowed():
    assert job(("width: 11 3/4", "width: 11 3/4, count: 4997")).parts[0].count == 4997


@pytest.mark.parametrize("name", ["missing.yaml", ".", "a\0b", "a\udcffb.yaml"])
def test_a_file_that_cannot_be_read(tmp_path, name):
    with pytest.raises(FileError, match="cannot be read") as caught:
        read_job(tmp_path / name)
    assert caught.value.exit_code == 2
    assert str(caught.value).isprintable()


@pytest.mark.parametrize(("data", "said"), [
    (b"", "nothing is in it; a job needs units, saw"),
    (b"\n\n# only a remark\n", "nothing is in it; a job needs units, saw"),
    (b"units: \xe9\n", "no text in UTF-8 (line 1)"),
    (LEAST.encode("utf-16"), "no text in UTF-8"),
    (b"units: inch\n\x00\x01\x02", "line 2", ),
    (b"PK\x03\x04" + bytes(range(256)) * 4, "no text in UTF-8"),
    (LEAST.encode() + b"#" * 1_000_000, "larger than 1 MB"),
])
def test_a_file_that_is_no_job(tmp_path, data, said):
    path = tmp_path / "job.yaml"
    path.write_bytes(data)
    with pytest.raises(JobError) as caught:
        read_job(path)
    assert len(caught.value.faults) == 1
    assert said in str(caught.value).replace("job.yaml:2:", "line 2")
    assert caught.value.exit_code == 1


def test_text_that_is_no_job():
    assert "1 MB" in str(faults("#" * 1_000_001)[0])
    assert "U+D800" in str(faults("units: \ud800")[0])
    assert parse_job("\ufeff" + METRIC, "job.yaml").units is Units.MM


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.yaml")), ids=lambda path: path.stem)
def test_samples_are_read_without_a_warning(path):
    assert read_job(path).warnings == ()


def test_there_are_two_samples():
    assert {read_job(path).units for path in SAMPLES.glob("*.yaml")} == {Units.INCH, Units.MM}
