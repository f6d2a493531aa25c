"""What is improbable is named with its line, and never a fault."""

import pytest

from tests.job.jobs import job, metric


def test_a_usual_job_has_no_warning():
    assert job().warnings == metric().warnings == ()


@pytest.mark.parametrize(("old", "new", "line", "said"), [
    ("kerf: 3/32", "kerf: 3/8", 2, "saw, kerf is written '3/8': wider than any blade"),
    ("kerf: 3/32", "kerf: 0", 2, "saw, kerf is written '0': every blade takes something"),
    ("units: inch", "units: inch\nstep: 1/2", 2, "step is written '1/2': coarser than any tape"),
    ("units: inch", "units: inch\nstep: 3/32", 2, "step is written '3/32': no fraction that a tape has"),
    ("units: inch", "units: inch\nstep: 1 mm", 2, "step is written '1 mm': no fraction that a tape has"),
    ("units: inch", "units: inch\nlean: 3", 2, "lean is written '3'"),
    ("23/32", "18", 4,
     "material birch, thickness is written '18': hardly a sheet's thickness; is it in millimetres"),
    ("23/32", "5", 4, "material birch, thickness is written '5'"),
    ("23/32", "1/32", 4, "material birch, thickness is written '1/32'"),
    ("94.00", "0", 6, "stock 1 (birch 4x8), price is written '0': costs nothing"),
    (", price: 94.00", "", 5, "stock: no entry has a price, so its area stands for money"),
    ("length: 96", "length: 17 ft", 6,
     "stock 1 (birch 4x8), length is written '17 ft': hardly a sheet's length"),
    ("length: 96, width: 48", "length: 48, width: 96", 6,
     "stock 1 (birch 4x8), width is written '96': more than the length, which runs along the grain"),
    ("length: 96", "length: 9.6", 6, "stock 1 (birch 4x8), length is written '9.6'"),
    ("low: 37 1/4, middle: 37 1/8, high: 37 1/4", "low: 145, middle: 145, high: 145", 11, '145" is wide'),
    ("middle: 37 1/8", "middle: 31 7/8", 11, "width: the three widths are far apart"),
    ("right: 83 3/8", "right: 88 3/8", 10, "height: left and right are far apart"),
    ("[81, 13]]\n      right", "[81, 15 1/4]]\n      right", 13,
     "wall, left 2: differs by 2 1/2\" from its neighbour"),
    ("[[2, 12 3/4], [81, 13]]", "[[2, 12 3/4], [2, 12 7/8], [81, 13]]", 13,
     "wall, left 2: the readings at 2\", 12 3/4\" and 12 7/8\", differ by 1/8\": take a third"),
    ("    height", "    rabbet: 3/8\n    height", 10,
     "rabbet is written '3/8': not used: the joint is head over legs"),
    ("name: Kiln room", "name: Kiln room #3", 8,
     "name is written 'Kiln room': #3 after it is read as a comment"),
])  # fmt: skip
def test_each_is_named_with_its_line(old, new, line, said):
    (warning,) = job((old, new)).warnings
    assert warning.startswith(f"line {line}: ")
    assert said in warning


@pytest.mark.parametrize(("old", "new"), [
    ("kerf: 3/32", "kerf: 1/4"),
    ("units: inch", "units: inch\nstep: 1/16"),
    ("units: inch", "units: inch\nstep: 1/64"),
    ("units: inch", "units: inch\nlean: 2"),
    ("23/32", "2"),
    ("94.00", "0.01"),
    ("94.00", "0, in_shop: yes"),
    ("length: 96", "length: 16 ft"),
    ("middle: 37 1/8", "middle: 39 1/4"),
    ("[[2, 12 3/4], [81, 13]]", "[[2, 12 3/4], [2, 12 13/16], [81, 13]]"),
    ("[[2, 12 3/4], [81, 13]]", "[[2, 12 1/2], [40, 13], [81, 12 1/4]]"),
    ("[[2, 12 3/4], [81, 13]]", "[[81, 14], [2, 12 1/2], [40, 13 1/4]]"),
    ("name: Kiln room", "name: Kiln room # the third"),
])
def test_what_is_just_likely_is_not_named(old, new):
    assert job((old, new)).warnings == ()


def test_inches_in_a_metric_job():
    (warning,) = metric(("length: 2440, width: 1220", "length: 96, width: 48"), ("876.3", "12"),
                        ("298.5", "11")).warnings
    assert warning == ("line 6: stock 1 (ply 2440), length is written '96': hardly a sheet's length; "
                       "is it in inches?")
