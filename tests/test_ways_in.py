"""Start, forms and spreadsheets through the command line: words, files and exit codes."""

from __future__ import annotations

import os
import pty
import subprocess
import time
from pathlib import Path

import pytest

from nesting.job.reading import read_job
from tests.job.jobs import LEAST
from tests.test_cli import command, run

SAMPLES = Path(__file__).resolve().parent.parent / "samples"
TYPED = """\
Kiln shed

Kiln room

37 1/4
3' 1"
back
37⅛
37.25


83 1/2"
83-3/8

2
12 3/4
81
13

0
13
37
13

81
13
2
12 7/8

birch
rabbet
3/8









shelf
birch
34 1/2
11 3/4
4



23/32



birch 4x8

96
48

94.00


3/32


"""


def start(path: Path, typed: str) -> subprocess.CompletedProcess[str]:
    done = subprocess.run(
        command("start", path), input=typed, capture_output=True, text=True, timeout=60, check=False
    )
    assert "Traceback" not in done.stderr + done.stdout
    return done


def test_answers_from_a_pipe_make_a_job_that_is_planned(tmp_path: Path):
    path = tmp_path / "job.yaml"
    done = start(path, TYPED)
    assert (done.returncode, done.stderr) == (0, ""), done.stdout[-2000:]
    assert "Kiln room: Width, half way up: 37⅛\n  = 37 1/8 (37.125 in)\n" in done.stdout
    job = read_job(path)
    assert (job.openings[0].joint, job.parts[0].count) == ("rabbet", 4)
    assert run("plan", path, "-o", tmp_path / "out", "--seconds", 3).returncode == 0


@pytest.mark.parametrize("lines", [0, 1, 9, 30])
def test_a_pipe_that_ends_too_soon(tmp_path: Path, lines: int):
    path = tmp_path / "job.yaml"
    done = start(path, "".join(TYPED.splitlines(keepends=True)[:lines]))
    assert done.returncode == 2
    assert "left before" in done.stderr
    assert not path.exists()
    assert (tmp_path / "job.yaml.part").exists() == (lines > 0)


def test_a_job_with_faults_is_not_added_to(tmp_path: Path):
    path = tmp_path / "job.yaml"
    path.write_text(LEAST.replace("kerf", "curf"))
    done = start(path, "yes\n")
    assert done.returncode == 1
    assert "curf" in done.stderr
    assert start(tmp_path / "none" / "job.yaml", "").returncode == 2
    assert start(tmp_path, "").returncode == 2


def test_on_a_terminal_an_interrupt_says_what_is_kept(tmp_path: Path):
    lead, follow = pty.openpty()
    path = tmp_path / "job.yaml"
    running = subprocess.Popen(command("start", path), stdin=follow, stdout=follow, stderr=follow,
                               start_new_session=True)  # fmt: skip
    os.close(follow)
    said, to_type = "", [("called?", b"Kiln shed\r"), ("inch or mm?", b"mm\r"), ("first opening?", b"\x04")]
    ends = time.monotonic() + 30
    while time.monotonic() < ends:
        try:
            said += os.read(lead, 4096).decode(errors="replace")
        except OSError:
            break
        if to_type and to_type[0][0] in said:
            os.write(lead, to_type.pop(0)[1])
    os.close(lead)
    assert running.wait(timeout=30) == 2
    assert "2 answers are kept" in " ".join(said.split())
    assert "Traceback" not in said


def test_forms(tmp_path: Path):
    out, again = tmp_path / "out", tmp_path / "again"
    done = run("forms", "-o", out)
    assert (done.returncode, done.stderr) == (0, "")
    assert {path.name for path in out.iterdir()} == {"measuring-letter.pdf", "measuring-a4.pdf"}
    run("forms", "-o", again)
    assert all(path.read_bytes() == (again / path.name).read_bytes() for path in out.iterdir())
    assert run("forms", "-o", tmp_path / "named", "--job", SAMPLES / "weir-lane-pottery.yaml").returncode == 0
    assert run("forms", "-o", "/proc/nothing").returncode == 2
    assert run("forms", "-o", out, "--job", tmp_path / "none.yaml").returncode == 2


def test_spreadsheets_are_part_of_the_job(tmp_path: Path):
    for path in SAMPLES.glob("lock-cottage*"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    job, out = tmp_path / "lock-cottage.yaml", tmp_path / "out"
    assert run("plan", job, "-o", out, "--seconds", 3).returncode == 0
    assert run("check", out / "plan.json", "--job", job).returncode == 0
    walls = tmp_path / "lock-cottage-walls.csv"
    walls.write_text(walls.read_text().replace("11 3/4", "11 1/2").replace("11 15/16", "4-Mar"))
    done = run("check", out / "plan.json", "--job", job)
    assert done.returncode == 1
    assert done.stderr.count("walls.csv, row ") == 2
    walls.write_text(walls.read_text().replace("4-Mar", "12 15/16"))
    done = run("check", out / "plan.json", "--job", job)
    assert done.returncode == 4


def test_the_parts_as_csv(tmp_path: Path):
    path = tmp_path / "parts.csv"
    done = run("parts", SAMPLES / "lock-cottage.yaml", "--csv", path)
    assert done.returncode == 0
    rows = path.read_bytes().decode("utf-8-sig").split("\r\n")
    assert rows[0].startswith("number,name,opening,role,material,length,length (in)")
    assert len(rows) == 1 + 10 + 1
    assert run("parts", SAMPLES / "lock-cottage.yaml", "--csv", tmp_path).returncode == 2
