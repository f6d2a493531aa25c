"""The dialogue as somebody has it who stands at an opening with a tape, mistakes included."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.asking.dialogue import read_back
from nesting.asking.start import LeftError, Start
from nesting.errors import FileError, JobError
from nesting.job.reading import read_job
from nesting.lengths import INCH, MM, Units
from tests.job.jobs import LEAST

# An answer to each question that has no default, by a pattern.
USUAL = {
    r"the job called": "Kiln shed",
    r"first opening": "Kiln room",
    r"Width": "37 1/4",
    r"Height on the left": '83 1/2"',
    r"Height on the right": "6' 11 3/8\"",
    r"(Left|Right) side, station 1: height": "2",
    r"(Left|Right) side, station 2: height": "81",
    r"(Head|Sill), station 1: dist": "0",
    r"(Head|Sill), station 2: dist": "37",
    r"thickness, face": "12 7/8",
    r"depth, from": "4 1/2",
    r"room A's face": "6 1/4",
    r"room B's face": "6 5/8",
    r"line down to the floor": "40",
    r"line up": "43",
    r"Made of which": "birch",
    r"How deep is the rabbet": "3/8",
    r"Thickness of (birch|ash)": "23/32",
    r"that you can get": "birch 4x8",
    r"along the grain": "96",
    r"across the grain": "48",
    r"Its price": "94.00",
    r"Kerf": "3/32",
    r"Its material": "birch",
    r"Its length, along the straight": "34 1/2",
    r"Its width; of": "11 3/4",
    r"Stud on .*: height": "2",
    r"plumb line out": "1",
}


class Carpenter:
    """Answers each question: what comes first in the lists of a pattern, else as usual, else Enter."""

    def __init__(self) -> None:
        self.said: dict[str, list[str]] = {}
        self.heard: list[str] = []
        self.asked: list[str] = []

    def says(self, pattern: str, *answers: str) -> Carpenter:
        self.said[pattern] = list(answers)
        return self

    def ask(self, question: str) -> str:
        self.asked.append(question)
        assert len(self.asked) < 400, self.asked[-5:]
        for pattern, answers in self.said.items():
            if answers and re.search(pattern, question):
                answer = answers.pop(0)
                if answer == "^D":
                    raise EOFError
                if answer == "^C":
                    raise KeyboardInterrupt
                return answer
        if "Enter keeps" in question:
            return ""
        if re.search(r"\[[^\]]*\]: $", question) and not re.search(
            "job called|first opening|Its price", question
        ):
            return ""
        return next((answer for pattern, answer in USUAL.items() if re.search(pattern, question)), "")

    def start(self, path: Path) -> Path:
        Start(path, self.ask, self.heard.append).run()
        return path

    @property
    def told(self) -> str:
        return "\n".join(self.heard)


def test_a_plain_opening_with_as_many_defaults_as_can_be(tmp_path: Path):
    who = Carpenter()
    job = read_job(who.start(tmp_path / "job.yaml"))
    (opening,) = job.openings
    assert (job.name, opening.name, opening.material) == ("Kiln shed", "Kiln room", ("birch",))
    assert opening.height.right == 12 * INCH * 6 + 91 * INCH // 8
    assert [reading.at for reading in opening.wall.left] == [2 * INCH, 81 * INCH]
    assert job.saw.kerf == 3 * INCH // 32
    assert job.stock[0].price == 9400
    assert job.warnings == ()
    assert "= 83 3/8 (83.375 in)" in who.told
    assert sorted(path.name for path in tmp_path.iterdir()) == ["job.yaml"]


def test_one_walks_round_the_opening(tmp_path: Path):
    who = Carpenter()
    who.start(tmp_path / "job.yaml")
    order = [
        "opening?",
        "Width between",
        "Height on the left",
        "Left side, station 1",
        "Head, station 1",
        "Right side, station 1",
        "Made of",
        "Joint",
        "Shim gap",
        "Proud",
        "Banded",
        "next opening",
        "loose part",
        "Thickness of birch",
        "that you can get",
        "Kerf",
    ]
    spots = [next(k for k, asked in enumerate(who.asked) if word in asked) for word in order]
    assert spots == sorted(spots)


def test_the_file_is_as_a_human_would_write_it(tmp_path: Path):
    who = (
        Carpenter()
        .says("next opening", "Clay store: no. 2")
        .says("loose part", "shelf")
        .says("How many. ", "4")
        .says("side, station 3: height", "42")
        .says("Rails", "118, 55")
    )
    text = who.start(tmp_path / "job.yaml").read_text()
    assert "\n  rails: [118, 55]              # those in the van\n" in text
    assert "\n    width: {low: 37 1/4, middle: 37 1/4, high: 37 1/4}\n" in text
    assert "\n      left:  [[2, 12 7/8], [42, 12 7/8], [81, 12 7/8]]\n" in text
    assert '\n  - name: "Clay store: no. 2"\n' in text
    assert "\n  - {name: shelf, material: birch, length: 34 1/2, width: 11 3/4, count: 4}\n" in text
    assert "in_shop" not in text
    assert all(len(line) <= 110 for line in text.splitlines())


@pytest.mark.parametrize(
    ("typed", "units"),
    [
        ("12 7/8", INCH * 103 // 8),
        ("12-7/8", INCH * 103 // 8),
        ("12⅞", INCH * 103 // 8),
        ("12.875", INCH * 103 // 8),
        ('12 7/8"', INCH * 103 // 8),
        ("1' 0 7/8\"", INCH * 103 // 8),
        ("12 7/8 inches", INCH * 103 // 8),
        ("327 mm", 327 * MM),
        ("32.7 cm", 327 * MM),
        (" 12.875  ", INCH * 103 // 8),
    ],
)
def test_every_spelling_of_a_length_comes_out_as_itself(tmp_path: Path, typed: str, units: int):
    who = Carpenter().says("Left side, station 1: thickness", typed)
    (opening,) = read_job(who.start(tmp_path / "job.yaml")).openings
    assert opening.wall.left[0].thickness == units


@pytest.mark.parametrize(
    ("question", "bad", "right"),
    [
        ("Left side, station 1: thickness", "12 7/", "write it like 13 5/8"),
        ("Left side, station 1: thickness", "-12", "never negative"),
        ("Left side, station 1: thickness", "0", "must be more than 0"),
        ("Left side, station 1: thickness", "", "an answer is needed here, a length like 13 5/8"),
        ("Left side, station 1: thickness", "8-7-8", "write it out"),
        ("Left side, station 1: thickness", "2/6", "a tape has halves"),
        ("Left side, station 1: thickness", "9" * 500, "longer than 60"),
        ("Units", "feet", "must be one of these: 'inch', 'mm'"),
        ("Joint", "mitre", "must be one of these"),
        ("Banded", "A, C", "must be one of these"),
        ("Banded", "A, A", "must be [A], [B] or [A, B]"),
        ("Its price", "94,00", "a point for decimals"),
        ("How many are there", "0", "whole number from 1"),
        ("Proud, at most", "1/32", "must be at least the least"),
        ("Made of which", "birch, birch", "a list of different ones"),
        ("next opening", "Kiln room", "each needs its own name"),
        ("Left side, station 2: height", "2", None),
    ],
)
def test_a_bad_answer_is_asked_again_with_what_would_be_right(tmp_path: Path, question, bad, right):
    who = Carpenter().says(question, bad)
    who.says("Left side, station 3: height", "81" if right is None else "")
    who.start(tmp_path / "job.yaml")
    if right:
        assert right in who.told
        again = [k for k, asked in enumerate(who.asked) if re.search(question, asked)]
        assert again[1] == again[0] + 1  # at once, and the same question
    assert read_job(tmp_path / "job.yaml").openings[0].name == "Kiln room"


def test_what_depends_on_another_answer_is_judged_at_once(tmp_path: Path):
    who = Carpenter().says("Joint", "rabbet").says("How deep", "3/8").says("Thickness of birch", "3/8", "1/4")
    who.says("Thickness of birch", "3/8", "1/4", "23/32")
    job = read_job(who.start(tmp_path / "job.yaml"))
    assert "rabbet: must be less than the sheet's thickness" in who.told
    assert job.materials["birch"].thickness == 23 * INCH // 32


def test_back_takes_back_any_number_of_answers(tmp_path: Path):
    plain = Carpenter().start(tmp_path / "plain.yaml").read_text()
    who = Carpenter().says("Joint", "rabbet").says("How deep", "back")
    usual, backs = who.ask, 0

    def ask(question: str) -> str:
        nonlocal backs
        backs += backs > 0 or "Kerf" in question
        return "back" if 0 < backs < 60 else usual(question)

    Start(tmp_path / "job.yaml", ask, who.heard.append).run()
    assert (tmp_path / "job.yaml").read_text() == plain
    assert who.told.count("taken back") > 30
    assert "nothing to take back" in who.told


def test_back_from_the_last_question_of_all(tmp_path: Path):
    who = Carpenter().says("Write", "back", "no", "what", "yes").says("Rails", "118", "9", "55")
    job = read_job(who.start(tmp_path / "job.yaml"))
    assert [rail // INCH for rail in job.saw.rails] == [55]


def test_an_improbable_value_is_asked_about_and_may_be_kept(tmp_path: Path):
    who = Carpenter().says("Left side, station 2: thickness", "13 7/8", "12 7/8")
    (opening,) = read_job(who.start(tmp_path / "a.yaml")).openings
    assert 'look again: opening 1 (Kiln room), wall, left 2: differs by 1" from its neighbour' in who.told
    assert opening.wall.left[1].thickness == 103 * INCH // 8
    who = Carpenter().says("Left side, station 2: thickness", "13 7/8", "")
    (opening,) = read_job(who.start(tmp_path / "b.yaml")).openings
    assert opening.wall.left[1].thickness == 111 * INCH // 8
    who = Carpenter().says("Kerf", "1/2", "")
    assert read_job(who.start(tmp_path / "c.yaml")).saw.kerf == INCH // 2
    assert "wider than any blade" in who.told


def test_two_readings_at_one_station_that_differ_ask_for_a_third(tmp_path: Path):
    # 1/16 inch is what a tape itself may be off: NIST Handbook 44, 5.52
    who = Carpenter().says("Left side, station 3: height", "81").says("Left side, station 3: thick", "13", "")
    who.says("Left side, station 4: thick", "12 15/16")
    (opening,) = read_job(who.start(tmp_path / "job.yaml")).openings
    assert "take a third" in who.told
    assert any("Left side, station 4: height above the floor [81]" in asked for asked in who.asked)
    assert sorted(r.thickness for r in opening.wall.left if r.at == 81 * INCH) == [
        n * INCH // 16 for n in (206, 207, 208)
    ]
    who = (
        Carpenter().says("Left side, station 3: height", "81").says("Left side, station 3: thick", "12 15/16")
    )
    who.start(tmp_path / "close.yaml")
    assert "take a third" not in who.told


def test_both_faces_a_level_line_and_leaning_studs(tmp_path: Path):
    who = Carpenter().says("lean", "yes").says("Heights", "line").says("both faces off", "faces")
    who.says("Stud on .* 2: height", "81", "81").says("room A's face off", "-1/4").says(
        "plumb lines apart", "35"
    )
    (opening,) = read_job(who.start(tmp_path / "job.yaml")).openings
    assert opening.line.up == 43 * INCH
    assert opening.wall.left[0].face_a == -INCH // 4
    assert opening.framing.apart == 35 * INCH


def test_a_window(tmp_path: Path):
    who = (
        Carpenter()
        .says("cased or window", "window")
        .says("splayed", "yes")
        .says("Splay of the left", "2 over 6")
    )
    who.says("Left side, station 1: height", "-1/2").says("Height on the left", "48").says(
        "Height on the r", "48"
    )
    who.says("side, station 2: height", "47", "47")
    (opening,) = read_job(who.start(tmp_path / "job.yaml")).openings
    assert opening.kind == "window"
    assert opening.wall.left[0].at == -INCH // 2
    assert len(opening.wall.sill) == 2
    assert opening.splay.left * 3 == 1
    assert not any("Shim gap" in asked or "Which room's edge" in asked for asked in who.asked)
    assert opening.proud.least == INCH // 32


def test_millimetres(tmp_path: Path):
    who = Carpenter().says("Units", "mm").says("Width", "946", "945.5", "946").says("Height", "2120", "2118")
    who.says("height above", "50", "2060", "", "50", "2060").says("distance from", "0", "940")
    who.says("thickness, face", *["327"] * 6).says("Thickness of birch", "18").says("Kerf", "2.2")
    who.says("along the grain", "2440").says("across the grain", "1220")
    job = read_job(who.start(tmp_path / "job.yaml"))
    assert job.units is Units.MM
    assert job.openings[0].width.middle == 9455 * MM // 10
    assert "= 327 mm (about 12 7/8 in)" in who.told
    who = Carpenter().says("Units", "mm").says("Width", "1/2", "^D")
    with pytest.raises(LeftError):
        who.start(tmp_path / "other.yaml")
    assert "a fraction in a job in millimetres is ambiguous" in who.told


def test_a_name_nearly_that_of_a_material_is_asked_about(tmp_path: Path):
    who = Carpenter().says("loose part", "shelf").says("Its material", "brich", "birch")
    job = read_job(who.start(tmp_path / "job.yaml"))
    assert "brich would be a new material; is birch meant?" in who.told
    assert list(job.materials) == ["birch"]


def test_boards_and_banded_parts(tmp_path: Path):
    who = (
        Carpenter()
        .says("dressed board", "1x13", "1x12")
        .says("across the grain", "")
        .says("Its price", "3.10 a foot")
    )
    who.says("Thickness of birch", "3/4").says("loose part", "shelf").says("straight, far", "straight, end")
    job = read_job(who.start(tmp_path / "job.yaml"))
    (board,) = job.stock
    assert (board.board, board.width) == ("1x12", 45 * INCH // 4)  # PS 20: a 1x12 is dressed to 11 1/4
    assert job.parts[0].band.edges == ("straight", "end")
    assert "dressed board" in who.asked[who.asked.index(next(a for a in who.asked if "1x12" in a)) + 1]


def test_without_prices_area_stands_for_money(tmp_path: Path):
    who = Carpenter().says("Its price", "", "").says("Another one of birch", "birch 5x10", "")
    job = read_job(who.start(tmp_path / "job.yaml"))
    assert job.priced_by_area
    assert sum("Its price" in asked for asked in who.asked) == 2  # once more, as that is unusual


@pytest.mark.parametrize("way", ["^D", "^C", "stop"])
def test_who_leaves_can_go_on(tmp_path: Path, way: str):
    path = tmp_path / "job.yaml"
    who = Carpenter().says("Joint", way).says("Left side, station 1: thickness", "12 3/4")
    with pytest.raises(LeftError, match=r"kept in .*job\.yaml\.part"):
        who.start(path)
    assert not path.exists()
    assert LeftError.exit_code == 2
    who = Carpenter().says("Left side, station 1: thickness", "99")
    who.start(path)
    assert "answers from before" in who.told
    (opening,) = read_job(path).openings
    assert opening.wall.left[0].thickness == 51 * INCH // 4
    assert [p.name for p in tmp_path.iterdir()] == ["job.yaml"]


def test_who_leaves_at_once_leaves_nothing(tmp_path: Path):
    with pytest.raises(LeftError, match="nothing is written"):
        Carpenter().says("job called", "^D").start(tmp_path / "job.yaml")
    assert list(tmp_path.iterdir()) == []


def test_old_answers_may_be_refused_and_odd_ones_do_no_harm(tmp_path: Path):
    path, part = tmp_path / "job.yaml", tmp_path / "job.yaml.part"
    with pytest.raises(LeftError):
        Carpenter().says("job called", "Old").says("Units", "stop").start(path)
    Carpenter().says("Go on", "no").start(path)
    assert read_job(path).name == "Kiln shed"
    path.unlink()
    part.write_bytes(b"\xff\x00 no answers\n\n\n")
    Carpenter().start(path)
    path.unlink()
    header = "answers to nesting start, one a line; give the command again to go on with them\n"
    part.write_text(header + "A job\tx\nfurlongs\ty\n")
    who = Carpenter()
    assert read_job(who.start(path)).name == "A job"
    assert "1 of them still fit" in who.told


def test_a_job_that_is_there_is_added_to_and_else_stays(tmp_path: Path):
    path = tmp_path / "job.yaml"
    path.write_text("# the first floor\n" + LEAST.replace("parts:", "# to come\nparts:  # loose\n  # two"))
    before, old = path.read_text(), read_job(path)
    who = Carpenter().says("The next opening", "Clay store", "").says("Any loose part", "rail")
    who.says("first opening", "never asked")
    new = read_job(who.start(path))
    assert new.openings[0] == old.openings[0]
    assert new.parts[0] == old.parts[0]
    assert [opening.name for opening in new.openings] == ["Kiln room", "Clay store"]
    assert [part.name for part in new.parts] == ["shelf", "rail"]
    kept = iter(path.read_text().splitlines())
    assert all(line in kept for line in before.splitlines())  # every old line, in its order
    assert not any("Units" in asked or "Kerf" in asked or "Thickness of" in asked for asked in who.asked)


def test_a_new_material_in_a_job_that_is_there(tmp_path: Path):
    path = tmp_path / "job.yaml"
    path.write_text(LEAST)
    who = (
        Carpenter()
        .says("The next opening", "Clay store")
        .says("Made of", "ash")
        .says("ash that you", "ash 4x8")
    )
    new = read_job(who.start(path))
    assert list(new.materials) == ["birch", "ash"]
    assert [sheet.name for sheet in new.stock] == ["birch 4x8", "ash 4x8"]


@pytest.mark.parametrize(
    "text",
    [
        LEAST.replace("  - {name: ", "- {name: "),
        LEAST.replace(
            "parts:\n  - {name: shelf, material: birch, length: 34 1/2, width: 11 3/4}\n", "parts: []\n"
        ),
        LEAST.replace("openings:", "openings:   # measured\n\n"),
        LEAST.rstrip("\n"),
        LEAST.replace("\n", "\r\n"),
    ],
)
def test_however_the_lists_are_written(tmp_path: Path, text: str):
    path = tmp_path / "job.yaml"
    path.write_bytes(text.encode())
    who = Carpenter().says("The next opening", "Clay store").says("Any loose part", "rail")
    new = read_job(who.start(path))
    assert [opening.name for opening in new.openings] == ["Kiln room", "Clay store"]
    assert "rail" in [part.name for part in new.parts]


def test_a_list_in_brackets_cannot_be_added_to_and_stays(tmp_path: Path):
    path = tmp_path / "job.yaml"
    text = LEAST.replace(
        "stock:\n  - {name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}",
        "stock: [{name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}]",
    )
    path.write_text(text)
    who = Carpenter().says("The next opening", "Clay").says("Made of", "ash").says("ash that", "ash 4x8")
    who.says("Its price", "9", "stop", "stop").says("How many are", "", "stop").says(
        "Another one", "", "stop"
    )
    with pytest.raises(LeftError):
        who.start(path)
    assert "does not make a job" in who.told
    assert path.read_text() == text


def test_a_job_that_is_not_to_be_touched(tmp_path: Path):
    path = tmp_path / "job.yaml"
    path.write_text(LEAST)
    with pytest.raises(FileError, match="left as it is"):
        Carpenter().says("Add to it", "perhaps", "no").start(path)
    assert path.read_text() == LEAST
    path.write_text(LEAST.replace("kerf", "curf"))
    with pytest.raises(JobError):
        Carpenter().start(path)
    assert "curf" in path.read_text()
    with pytest.raises(FileError, match="no folder"):
        Carpenter().start(tmp_path / "none" / "job.yaml")
    with pytest.raises(FileError):
        Carpenter().start(tmp_path)
    path.write_text(LEAST.split("parts:", maxsplit=1)[0] + "parts: parts.csv\n")
    (tmp_path / "parts.csv").write_text("name,material,length,width\na,birch,9,3\n")
    with pytest.raises(FileError, match="stand in a spreadsheet"):
        Carpenter().start(path)


def test_words_that_help(tmp_path: Path):
    who = Carpenter().says("Height on the right", "?", "list").says("Joint", "help")
    who.start(tmp_path / "job.yaml")
    assert "Both sides, never one for both." in who.told
    assert "Width between the framing, low: 37 1/4" in who.told
    assert "back takes the last answer back" in who.told


def test_a_name_in_quotes_may_be_any_word(tmp_path: Path):
    who = Carpenter().says("first opening", "'back'")
    assert read_job(who.start(tmp_path / "job.yaml")).openings[0].name == "back"


@pytest.mark.parametrize(
    "name",
    [
        "a: b",
        "#3",
        "- x",
        "[1]",
        "{x}",
        "yes",
        "12",
        "a, b",
        'say "hi"',
        "*x",
        "&y",
        "é – ½",
        "!z",
        "back\\slash",
        "x #1",
        "@home",
        "null",
        "~",
        "%d",
        "'q",
    ],
)
def test_any_name_comes_out_as_it_went_in(tmp_path: Path, name: str):
    who = Carpenter().says("first opening", name).says("that you can get", name).says("job called", name)
    who.says("Any loose part", name)
    job = read_job(who.start(tmp_path / "job.yaml"))
    assert (job.name, job.openings[0].name, job.stock[0].name, job.parts[0].name) == (name,) * 4


@pytest.mark.parametrize(
    ("length", "units", "said"),
    [
        (103 * INCH // 8, Units.INCH, "12 7/8 (12.875 in)"),
        (346 * MM, Units.INCH, "346 mm (13.622 in)"),
        (-INCH // 2, Units.INCH, "-1/2 (-0.5 in)"),
        (0, Units.INCH, "0 (0 in)"),
        (3465 * MM // 10, Units.MM, "346.5 mm (about 13 41/64 in)"),
        (INCH // 3, Units.INCH, "about 21/64 (0.3333 in)"),
    ],
)
def test_read_back(length: int, units: Units, said: str):
    assert read_back(length, units) == said


WORDS = st.lists(
    st.sampled_from(
        [
            "",
            "back",
            "2",
            "81",
            "12 7/8",
            "yes",
            "no",
            "birch",
            "rabbet",
            "A",
            "?",
            "list",
            "window",
            "faces",
            "line",
            "x",
            "-1",
            "0",
            "37",
            "1/4",
            "A, B",
            "mm",
            "\x00",
            "#",
        ]
    ),
    max_size=60,
)


@settings(max_examples=25, deadline=None)
@given(WORDS)
def test_any_answers_end_in_a_job_or_are_kept(tmp_path_factory: pytest.TempPathFactory, words: Iterable[str]):
    path = tmp_path_factory.mktemp("any") / "job.yaml"
    typed = iter(words)

    def ask(_: str) -> str:
        try:
            return next(typed)
        except StopIteration as error:
            raise EOFError from error

    heard: list[str] = []
    with pytest.raises(LeftError):
        Start(path, ask, heard.append).run()
    kept = path.with_name("job.yaml.part")
    assert not path.exists()
    if kept.exists():
        count = len(kept.read_text().splitlines()) - 1
        again: list[str] = []

        def leave(question: str) -> str:
            if "Go on" in question:
                return ""
            raise EOFError

        with pytest.raises(LeftError, match=f"{count} answers?"):
            Start(path, leave, again.append).run()
