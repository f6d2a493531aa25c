"""Readings, parts, stock and openings out of CSV and XLSX files, good, bad and hostile.

The workbooks are written by openpyxl, or put together by hand where no such program would write them.
"""

from __future__ import annotations

import datetime
import hashlib
import io
import zipfile
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.errors import Fault, JobError
from nesting.job.buying import StockEntry
from nesting.job.grid import GridError, read_grid
from nesting.job.job import Job
from nesting.job.models import Opening
from nesting.job.reading import parse_job, read_job
from nesting.job.spreadsheet import headings
from nesting.lengths import INCH, MM
from tests.job.jobs import LEAST, LIBRARY

TOP = "units: inch\nsaw: {kerf: 3/32}\nmaterials: {birch: {thickness: 23/32}}\n"
STOCK = "stock: [{name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}]\n"
OPENING = """\
openings:
  - name: Kiln room
    material: birch
    height: {left: 83 1/2, right: 83 3/8}
    width: {low: 37 1/4, middle: 37 1/8, high: 37 1/4}
"""
READINGS = """\
opening,run,at,thickness
Kiln room,left,2,12 3/4
Kiln room,left,81,13
Kiln room,right,2,12 7/8
Kiln room,right,81,13
Kiln room,head,0,13
Kiln room,head,37,13
"""
PARTS = "name,material,length,width,width end,count,grain\n"


def job(folder: Path, text: str, **files: str | bytes) -> Job:
    for name, content in files.items():
        path = folder / name.replace("_", ".")
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
    (folder / "job.yaml").write_text(text)
    return read_job(folder / "job.yaml")


def faults(folder: Path, text: str, **files: str | bytes) -> list[Fault]:
    with pytest.raises(JobError) as caught:
        job(folder, text, **files)
    assert not any(LIBRARY.search(str(fault)) for fault in caught.value.faults), caught.value
    return caught.value.faults


def only(folder: Path, text: str, **files: str | bytes) -> Fault:
    (fault,) = faults(folder, text, **files)
    return fault


def book(**sheets: list[list[object]]) -> bytes:
    made = openpyxl.Workbook()
    made.remove(made.active)
    for name, rows in sheets.items():
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(row)
    file = io.BytesIO()
    made.save(file)
    return file.getvalue()


def changed(data: bytes, name: str, old: bytes, new: bytes) -> bytes:
    """The same workbook with some bytes of one member replaced."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as before, zipfile.ZipFile(out, "w") as after:
        for member in before.namelist():
            content = before.read(member)
            if member.endswith(name):
                assert old in content, content
                content = content.replace(old, new)
            after.writestr(member, content)
    return out.getvalue()


def test_readings_give_the_job_that_the_job_file_gives(tmp_path: Path):
    read = job(tmp_path, TOP + STOCK + OPENING + "readings: walls.csv\n", walls_csv=READINGS)
    whole = parse_job(LEAST, "job.yaml")
    assert read.openings == whole.openings
    assert read.warnings == ()


def test_the_digest_is_of_the_job_and_its_spreadsheets(tmp_path: Path):
    text = TOP + STOCK + OPENING + "readings: walls.csv\n"
    read = job(tmp_path, text, walls_csv=READINGS)
    assert read.sha256 == hashlib.sha256((text + READINGS).encode()).hexdigest()
    assert parse_job(LEAST, "x").sha256 == hashlib.sha256(LEAST.encode()).hexdigest()


def test_both_faces_a_window_and_readings_below_zero(tmp_path: Path):
    both = (
        READINGS.replace("thickness", "face A,face B")
        .replace(",12 3/4", ",6 1/4,6 1/2")
        .replace(",12 7/8", ",6 3/8,6 1/2")
        .replace(",13\n", ",-1/2,13 1/2\n")
    )
    (opening,) = job(tmp_path, TOP + STOCK + OPENING + "readings: walls.csv\n", walls_csv=both).openings
    first, last = opening.wall.left
    assert (first.face_a, first.face_b, first.thickness) == (25 * INCH // 4, 13 * INCH // 2, 51 * INCH // 4)
    assert (last.face_a, last.thickness) == (-INCH // 2, 13 * INCH)
    window = OPENING.replace("    material", "    kind: window\n    material")
    rows = READINGS.replace("thickness", "depth").replace("left,2", "left,-1/2")
    rows += "Kiln room,sill,0,4\nKiln room,sill,37,4\n"
    (opening,) = job(tmp_path, TOP + STOCK + window + "readings: walls.csv\n", walls_csv=rows).openings
    assert opening.wall.left[0].at == -INCH // 2
    assert len(opening.wall.sill) == 2


def test_parts_alone_or_among_others(tmp_path: Path):
    rows = PARTS + "shelf,birch,34 1/2,11 3/4,,4,\nfiller,birch,84,3,3 3/4,,across\n"
    shelf, filler = job(tmp_path, TOP + STOCK + "parts: parts.csv\n", parts_csv=rows).parts
    assert (shelf.length, shelf.width_start, shelf.width_end, shelf.count) == (
        69 * INCH // 2,
        47 * INCH // 4,
        47 * INCH // 4,
        4,
    )
    assert (filler.width_start, filler.width_end, filler.count, filler.grain) == (
        3 * INCH,
        15 * INCH // 4,
        1,
        "across",
    )
    mixed = "parts:\n  - {name: cleat, material: birch, length: 20, width: 2}\n  - parts.csv\n"
    read = job(tmp_path, TOP + STOCK + mixed, parts_csv=rows)
    assert [part.name for part in read.parts] == ["cleat", "shelf", "filler"]
    assert read.where("parts", 0).endswith("job.yaml:6")
    assert read.where("parts", 2).endswith("parts.csv, row 3")


def test_a_workbook_holds_a_whole_job(tmp_path: Path):
    data = book(
        stock=[
            ["name", "material", "length", "width", "price", "in shop", "trim left"],
            ["birch 4x8", "birch", 96, 48, 94.0, False],
            ["rack", "birch", 61, 22.5, None, True, "1/2"],
        ],
        openings=[
            [
                "Name",
                "Material",
                "Height left",
                "Height right",
                "Width low",
                "Width middle",
                "Width high",
                "gap",
                "proud most",
                "band edges",
                "band thickness",
                "Joint",
            ],
            [
                "Kiln room",
                "birch, birch 2",
                83.5,
                "83 3/8",
                37.25,
                '37 1/8"',
                37.25,
                "1/4",
                0.125,
                "A, B",
                "0.6 mm",
                "head between legs",
            ],
        ],
        readings=[
            ["opening", "run", "at", "thickness", "note"],
            *(
                [*line.split(",")[:2], float(line.split(",")[2]), line.split(",")[3], "x"]
                for line in READINGS.splitlines()[1:]
            ),
        ],
        parts=[["name", "material", "length", "width"], ["shelf", "birch", 34.5, 11.75]],
    )
    text = TOP.replace("}}", "}, birch 2: {thickness: 3/4}}") + (
        "stock: [j.xlsx, {name: b2, material: birch 2, length: 96, width: 48, price: 9}]\n"
        "openings: j.xlsx\nreadings: [j.xlsx]\nparts: j.xlsx\n"
    )
    read = job(tmp_path, text, j_xlsx=data)
    (opening,) = read.openings
    assert opening.material == ("birch", "birch 2")
    assert opening.joint == "head between legs"
    assert opening.gap.left == opening.gap.top == INCH // 4
    assert opening.band.edges == ("A", "B")
    assert opening.width.middle == 297 * INCH // 8
    assert [r.thickness for r in opening.wall.left] == [51 * INCH // 4, 13 * INCH]
    assert (read.stock[1].in_shop, read.stock[1].trim.left, read.stock[1].trim.right) == (True, INCH // 2, 0)
    assert read.stock[0].price == 9400
    assert read.parts[0].length == 69 * INCH // 2


@pytest.mark.parametrize(
    "change",
    [
        lambda text: "\ufeff" + text,
        lambda text: text.replace("\n", "\r\n"),
        lambda text: text.replace("\n", "\r"),
        lambda text: text.replace(",", ";"),
        lambda text: text.replace(",", "\t"),
        lambda text: "sep=;\n" + text.replace(",", ";"),
        lambda text: text.replace("\n", "\n\n , ,\n"),
        lambda text: text.replace("\n", ",,,\n"),
        lambda text: text.replace("12 3/4", '"12 3/4"""'),
        lambda text: text.replace("12 3/4", '12 3/4"'),
        lambda text: text.replace("12 3/4", "12¾").replace("12 7/8", "12.875"),
        lambda text: text.replace("12 3/4", "12.75 in").replace("opening,run", " Opening , RUN "),
        lambda text: text.replace("Kiln room", "kiln ROOM"),
        lambda text: text.replace("Kiln room", '"Kiln room"').replace(",left", ",LEFT"),
        lambda text: text.replace("Kiln room", "").replace("opening", "note"),
        lambda text: "\n".join([text.split("\n")[0], *reversed(text.strip().split("\n")[1:])]),
    ],
    ids=[
        "BOM",
        "CRLF",
        "CR",
        "semicolons",
        "tabs",
        "sep",
        "empty rows",
        "trailing columns",
        "quoted inches",
        "bare inches",
        "signs",
        "spaces",
        "small letters",
        "quotes",
        "one opening",
        "any order",
    ],
)
def test_a_csv_may_be_written_in_many_ways(tmp_path: Path, change):
    text = TOP + STOCK + OPENING + "readings: walls.csv\n"
    (opening,) = job(tmp_path, text, walls_csv=change(READINGS)).openings
    (usual,) = parse_job(LEAST, "x").openings
    assert set(opening.wall.left) == set(usual.wall.left)
    assert set(opening.wall.right) == set(usual.wall.right)
    assert set(opening.wall.head) == set(usual.wall.head)


def test_utf_16_as_a_spreadsheet_saves_unicode_text(tmp_path: Path):
    data = READINGS.replace(",", "\t").encode("utf-16")
    assert job(tmp_path, TOP + STOCK + OPENING + "readings: walls.csv\n", walls_csv=data).openings


METRIC = TOP.replace("inch", "mm").replace("3/32", "2.2").replace("23/32", "18") + (
    "stock: [{name: ply, material: birch, length: 2440, width: 1220}]\nparts: parts.csv\n"
)


def test_decimal_commas_where_semicolons_part_the_columns(tmp_path: Path):
    rows = "name;material;length;width\nshelf, wide;birch;876,3;298,5 mm\n"
    (part,) = job(tmp_path, METRIC, parts_csv=rows).parts
    assert (part.name, part.length, part.width_start) == ("shelf, wide", 8763 * MM // 10, 2985 * MM // 10)
    fault = only(tmp_path, METRIC, parts_csv=rows.replace("876,3", "1,250"))
    assert "thousands" in fault.right
    fault = only(tmp_path, METRIC, parts_csv='name,material,length,width\nshelf,birch,"876,3",298\n')
    assert "write decimals with a point" in fault.right


@pytest.mark.parametrize("number", [12.875, 0.1 + 0.2, 12.7 * 3, 1250, 13.03125, 1e-3, 99999.0])
def test_a_number_in_a_cell_is_the_number_that_one_sees(number: float):
    grid = read_grid(book(parts=[["length"], [number]]), "p.xlsx", "parts")
    assert float(grid.rows[1][1][0]) == pytest.approx(number, rel=1e-11)
    assert "e" not in grid.rows[1][1][0].lower()
    assert len(grid.rows[1][1][0]) < 15


def test_all_faults_at_once_by_file_row_and_heading(tmp_path: Path):
    rows = PARTS + "shelf,birch,34 1/2,11 3/4,,4,\n,elm,-3,3/0,,0,up\n"
    walls = READINGS.replace("Kiln room,right,2", "Kiln romo,rihgt,2").replace(",head,0,13", ",head,0,")
    text = TOP.replace("kerf: 3/32", "kerf: -3") + STOCK + OPENING + "readings: walls.csv\nparts: parts.csv\n"
    found = [
        (f.where.removeprefix(f"{tmp_path}/"), f.what)
        for f in faults(tmp_path, text, parts_csv=rows, walls_csv=walls)
    ]
    assert found == [
        ("job.yaml:2", "saw, kerf"),
        ("parts.csv, row 3", "part 2, name"),
        ("parts.csv, row 3, column material", "part 2, material"),
        ("parts.csv, row 3, column length", "part 2, length"),
        ("parts.csv, row 3, column width", "part 2, width"),
        ("parts.csv, row 3, column count", "part 2, count"),
        ("parts.csv, row 3, column grain", "part 2, grain"),
        ("walls.csv, row 4, column opening", "opening"),
        ("walls.csv, row 4, column run", "run"),
        ("walls.csv, row 5", "opening 1 (Kiln room), wall, right"),
        ("walls.csv, row 6", "opening 1 (Kiln room), wall, head 1, thickness"),
    ]


BAD = {
    "a date": (PARTS + "shelf,birch,4-Mar,3,,,\n", "parts.csv, row 2, column length", "made a date"),
    "a date, month first": (PARTS + "shelf,birch,Mar-04,3,,,\n", "row 2, column length", "made a date"),
    "a date with its year": (PARTS + "shelf,birch,3/4/2026,3,,,\n", "row 2, column length", "made a date"),
    "a short date": (PARTS + "shelf,birch,03/04/26,3,,,\n", "row 2, column length", "made a date"),
    "a date by the standard": (
        PARTS + "shelf,birch,2026-03-04,3,,,\n",
        "row 2, column length",
        "made a date",
    ),
    "a heading": (
        PARTS.replace("grain", "grian") + "a,birch,9,3,,,\n",
        "row 1, column grian",
        "did you mean",
    ),
    "a heading twice": (
        PARTS.replace("grain", "Width start") + "a,birch,9,3,,,\n",
        "row 1, column Width start",
        "the same as one before",
    ),
    "no heading": (PARTS.replace("grain", "") + "a,birch,9,3,,,any\n", "row 2", "stands under no heading"),
    "more cells than headings": (PARTS + "a,birch,9,3,,,any,7\n", "row 2", "stands under no heading"),
    "a needed column": (PARTS.replace("length", "note") + "a,birch,9,3,,,\n", "row 1", "length is missing"),
    "no headings at all": ("a,birch\n", "row 1", None),
    "an open quote": (
        PARTS + '"a,birch,9,3,,,\nb,birch,9,3,,,\n',
        "job.yaml:5",
        "row 2 holds a cell of several",
    ),
    "nothing": ("", "job.yaml:5", "nothing is in it"),
    "blank": (" , \n\n", "job.yaml:5", "nothing is in it"),
    "no text": (b"\xff\x00\xfe\x01" * 9, "job.yaml:5", "UTF-8"),
    "Latin text": (PARTS.encode() + b"caf\xe9,birch,9,3,,,\n", "job.yaml:5", "UTF-8 (row 2)"),
    "a picture": (b"\x89PNG\r\n\x1a\n\0\0", "job.yaml:5", "UTF-8"),
    "zeros": (b"\0" * 99, "job.yaml:5", "no text"),
    "a wide row": ("name" + "," * 5000 + "\n", "job.yaml:5", "more than 10000 rows or 100 columns"),
    "too many rows": (PARTS + "a,birch,9,3,,,\n" * 10_001, "job.yaml:5", "more than 10000 rows"),
    "a large file": (PARTS + "a" * 5_000_000, "job.yaml:5", "larger than 5 MB"),
    "a long cell": (PARTS + "a" * 200_000 + ",birch,9,3,,,\n", "job.yaml:5", "cannot be read at row 2"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_csv_is_named(name: str, tmp_path: Path):
    content, where, right = BAD[name]
    found = faults(tmp_path, TOP + STOCK + "parts: parts.csv\n", parts_csv=content)
    if right is not None:
        fault = next(fault for fault in found if where in fault.where)
        assert right in fault.right


def test_a_name_may_look_like_a_date_and_hold_a_comma(tmp_path: Path):
    rows = PARTS.replace(",", ";") + "4-Mar;birch;9;3;;;\n1,5;birch;9;3;;;\n"
    read = job(tmp_path, TOP + STOCK + "parts: parts.csv\n", parts_csv=rows)
    assert [part.name for part in read.parts] == ["4-Mar", "1,5"]


def test_readings_that_fit_no_opening_are_never_dropped(tmp_path: Path):
    two = TOP + STOCK + OPENING + OPENING.removeprefix("openings:\n").replace("Kiln", "Clay")
    rows = READINGS + READINGS.split("\n", 1)[1].replace("Kiln", "Clay")
    assert len(job(tmp_path, two + "readings: walls.csv\n", walls_csv=rows).openings) == 2
    fault = only(tmp_path, two + "readings: walls.csv\n", walls_csv=rows + "Glaze room,left,2,9\n")
    assert fault.right.startswith("is none of the job's openings: 'Kiln room', 'Clay room'")
    fault = only(tmp_path, two + "readings: walls.csv\n", walls_csv=rows + ",left,2,9\n")
    assert "in every row" in fault.right
    fault = only(
        tmp_path,
        LEAST + "readings: walls.csv\n",
        walls_csv=READINGS.partition("Kiln room,right")[0].replace("Kiln room,left,2,12 3/4\n", ""),
    )
    assert "has a wall on line" in fault.right
    found = faults(tmp_path, two + "readings: walls.csv\n", walls_csv=READINGS)
    assert [fault.what for fault in found] == ["opening 2 (Clay room), wall"]


@pytest.mark.parametrize(
    ("row", "what", "right"),
    [
        ("Kiln room,left,40,13,6,7", "thickness", "one or the other"),
        ("Kiln room,left,40,,,", "thickness", "no thickness is written in this row"),
        ("Kiln room,left,40,,6,", "face_b", "face B is missing"),
        ("Kiln room,left,40,,6,7", "left", "both faces at every station"),
        ("Kiln room,left,,13,,", "at", "no place is written"),
        ("Kiln room,,40,13,,", "run", "is missing"),
    ],
)
def test_a_reading_that_is_not_whole(tmp_path: Path, row: str, what: str, right: str):
    walls = READINGS.replace("\n", ",,\n").replace("thickness,,", "thickness,face A,face B") + row + "\n"
    fault = only(tmp_path, TOP + STOCK + OPENING + "readings: walls.csv\n", walls_csv=walls)
    assert what in fault.what
    assert right in fault.right
    assert "walls.csv, row" in fault.where


def test_readings_that_cannot_be_read_are_the_only_fault(tmp_path: Path):
    assert "no such file" in only(tmp_path, TOP + STOCK + OPENING + "readings: walls.csv\n").right


@pytest.mark.parametrize(
    ("line", "right"),
    [
        ("parts: none.csv", "there is no such file"),
        ("parts: folder.csv", "there is no such file"),
        ("parts: [none.xlsx]", "there is no such file"),
        ("parts: parts.ods", "the name of a .csv or .xlsx file"),
        ("parts: [parts.ods]", "must be a table"),
        ("readings: walls", "must be the name of a .csv or .xlsx file"),
        ("readings: {a: walls.csv}", "must be the name of a .csv or .xlsx file"),
    ],
)
def test_a_file_that_is_none(tmp_path: Path, line: str, right: str):
    (tmp_path / "folder.csv").mkdir()
    found = faults(tmp_path, TOP + STOCK + line + "\n")
    assert any(right in fault.right for fault in found), found
    assert all(fault.where.endswith(("job.yaml:5", "job.yaml:1")) for fault in found)


def test_cells_that_a_spreadsheet_spoiled_are_refused_by_their_names(tmp_path: Path):
    head = ["name", "material", "length", "width", "count"]
    data = book(
        parts=[
            head,
            ["a", "birch", datetime.date(2026, 3, 4), 3],
            ["b", "birch", 9, datetime.time(2, 30)],
            ["c", "birch", "=A1+2", 3],
            [datetime.datetime(2026, 3, 4), "birch", 9, 3],
            ["e", "birch", 9, 3, "#"],
        ]
    )
    data = changed(
        data,
        "sheet1.xml",
        b'<c r="E6" t="inlineStr"><is><t>#</t></is></c>',
        b'<c r="E6" t="e"><v>#DIV/0!</v></c>',
    )
    found = faults(tmp_path, TOP + STOCK + "parts: p.xlsx\n", p_xlsx=data)
    assert [fault.where.rpartition("p.xlsx, sheet parts, ")[2] for fault in found] == [
        "row 2, column length (C2)",
        "row 3, column width (D3)",
        "row 4, column length (C4)",
        "row 5, column name (A5)",
        "row 6, column count (E6)",
    ]
    assert ["date" in fault.right for fault in found] == [True, True, False, True, False]
    assert all("formula" in found[k].right for k in (2, 4))


def test_a_formula_counts_by_its_value(tmp_path: Path):
    data = book(parts=[["name", "material", "length", "width"], ["a", "birch", "=1+2", 3]])
    data = changed(data, "sheet1.xml", b"<f>1+2</f><v />", b"<f>1+2</f><v>12.875</v>")
    (part,) = job(tmp_path, TOP + STOCK + "parts: p.xlsx\n", p_xlsx=data).parts
    assert part.length == 103 * INCH // 8


def test_every_key_of_an_opening_has_its_heading():
    known = headings(Opening)
    assert {keys[0] for keys in known.values()} == {*Opening.model_fields} - {"wall"}
    assert known["height left"] == ("height", "left")
    assert not any(
        heading.startswith(("framing left", "blocked")) for heading in [*known, *headings(StockEntry)]
    )


def test_two_diagonals_in_one_cell(tmp_path: Path):
    head = "name,material,height left,height right,width low,width middle,width high,diagonals\n"
    rows = head + 'Kiln room,birch,83 1/2,83 3/8,37 1/4,37 1/8,37 1/4,"91 1/2, 91 5/8"\n'
    text = TOP + STOCK + "openings: o.csv\nreadings: walls.csv\n"
    (opening,) = job(tmp_path, text, o_csv=rows, walls_csv=READINGS).openings
    assert opening.diagonals == (183 * INCH // 2, 733 * INCH // 8)


def test_which_sheet_of_a_workbook(tmp_path: Path):
    rows = [["name", "material", "length", "width"], ["a", "birch", 9, 3]]
    text = TOP + STOCK + "parts: p.xlsx\n"
    assert job(tmp_path, text, p_xlsx=book(Anything=rows)).parts
    assert job(tmp_path, text, p_xlsx=book(other=[["x"]], PARTS=rows)).parts
    fault = only(tmp_path, text, p_xlsx=book(one=rows, two=rows))
    assert fault.right == "has no sheet called parts; it has 'one', 'two'"


def test_hostile_workbooks(tmp_path: Path):
    rows = [["name", "material", "length", "width"], ["a", "birch", 9, 3]]
    good = book(parts=rows)
    far = changed(good, "sheet1.xml", b'<c r="A2"', b'<c r="XFD1048576"')
    bomb = io.BytesIO()
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b" " * 40_000_000)
    many = io.BytesIO()
    with zipfile.ZipFile(many, "w") as packed:
        for k in range(400):
            packed.writestr(f"{k}", b"")
    empty = io.BytesIO()
    zipfile.ZipFile(empty, "w").close()
    entities = changed(good, "sheet1.xml", b"<worksheet", b'<!DOCTYPE x [<!ENTITY a "aaaa">]><worksheet')
    for data, right in (
        (far, "more than 10000 rows"),
        (bomb.getvalue(), "unpacks to more"),
        (many.getvalue(), "unpacks to more"),
        (empty.getvalue(), "is no spreadsheet"),
        (good[:-200], "is no spreadsheet"),
        (b"PK", "is no spreadsheet"),
        (b"", "no spreadsheet"),
        (changed(good, "workbook.xml.rels", b"sheet1", b"sheet9"), "is no spreadsheet"),
        (changed(good, "sheet1.xml", b"</worksheet>", b""), "is no spreadsheet"),
        (changed(good, "sheet1.xml", b'r="A2"', b'r="A99999999999"'), "is no spreadsheet"),
        (changed(good, "sheet1.xml", b'r="A2"', b'r="a2"'), "is no spreadsheet"),
        (changed(good, "sheet1.xml", b'row r="2"', b'row r="-2"'), "is no spreadsheet"),
        (changed(good, "sheet1.xml", b'<row r="2">', b"<row>" + b"<c/>" * 101), "100 columns"),
        (
            changed(good, "sheet1.xml", b'<row r="2">', b"<row/>" * 10_001 + b'<row r="2">'),
            "more than 10000 rows",
        ),
    ):
        fault = only(tmp_path, TOP + STOCK + "parts: p.xlsx\n", p_xlsx=data)
        assert right in fault.right, (right, fault)
    assert job(tmp_path, TOP + STOCK + "parts: p.xlsx\n", p_xlsx=entities).parts  # never unfolded


@settings(max_examples=150, deadline=None)
@given(
    st.text(max_size=200)
    | st.lists(
        st.sampled_from(
            [",", ";", "\t", '"', "\n", "\r", "name", "length", "13 5/8", "=1", "\ufeff", "sep=", "-", "\x00"]
        ),
        max_size=40,
    ).map("".join)
)
def test_any_text_is_read_or_refused(text: str):
    data = text.encode("utf-8", "surrogatepass")
    try:
        grid = read_grid(data, "p.csv", "parts")
    except GridError:
        return
    assert all(any(cells) for _, cells in grid.rows)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 4000), st.integers(0, 255))
def test_a_damaged_workbook_is_read_or_refused(at: int, byte: int):
    data = bytearray(GOOD_BOOK)
    data[at % len(data)] = byte
    try:
        read_grid(bytes(data), "p.xlsx", "parts")
    except GridError:
        return


GOOD_BOOK = book(parts=[["name", "material", "length", "width"], ["a", "birch", 9, 3]])
