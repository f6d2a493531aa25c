"""The command line as a user meets it: words, files and exit codes."""

from __future__ import annotations

import json
import os
import pty
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

GOOD = """
job: shelves
units: inch
saw: {kerf: 3/32, rails: [118, 55], join: yes}
materials: {birch: {thickness: 23/32, weight: 2.3}}
stock:
  - {name: birch 4x8, material: birch, length: 96, width: 48, price: 94.00}
parts:
  - {name: shelf, material: birch, length: 34 1/2, width: 11 3/4, count: 4}
"""
HARD = GOOD.split("parts:", maxsplit=1)[0] + "parts:\n" + "".join(
    f"  - {{name: p{i}, material: birch, length: {20 + 7 * i % 60}, width: {5 + 3 * i % 11}.25, count: 2}}\n"
    for i in range(15)
)


# what is not proved within a minute, so that the search is still on when it is interrupted
OPEN = Path(__file__).resolve().parent.parent / "benchmarks" / "jobs" / "34-slate-granary.yaml"


def command(*arguments: object) -> list[str]:
    return [sys.executable, "-c", "from nesting.cli import main; main()", *map(str, arguments)]


def run(*arguments: object) -> subprocess.CompletedProcess[str]:
    done = subprocess.run(command(*arguments), capture_output=True, text=True, timeout=60, check=False)
    assert "Traceback" not in done.stderr + done.stdout
    return done


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.yaml"
    path.write_text(GOOD)
    return path


BAD = {
    "a missing key": (lambda t: t.replace("kerf: 3/32, ", ""), 1, "kerf"),
    "an unknown key": (lambda t: t.replace("join:", "jion:"), 1, "join"),
    "a negative length": (lambda t: t.replace("length: 34 1/2", "length: -34"), 1, "-34"),
    "no fraction": (lambda t: t.replace("34 1/2", "13 5/0"), 1, "13 5/0"),
    "no stock of the material": (lambda t: t.replace("materials: {", "materials: {ash: {thickness: 1}, ")
                                 .replace("shelf, material: birch", "shelf, material: ash"), 1, "ash"),
    "longer than every sheet": (lambda t: t.replace("34 1/2", "97"), 1, "97"),
    "wider than every sheet": (lambda t: t.replace("11 3/4", "47 3/4"), 1, "47 3/4"),
    "no rail long enough": (lambda t: t.replace("[118, 55], join: yes", "[42]"), 1, "rail"),
    "stock count too small": (lambda t: t.replace("94.00}", "94.00, count: 1}")
                              .replace("count: 4", "count: 40"), 3, "counts"),
    "an empty file": (lambda _: "", 1, "needs"),
    "a 5 MB file": (lambda _: "a" * 5_000_000, 1, "1 MB"),
    "a binary file": (lambda _: b"\x00\xff\xfe" * 1000, 1, "UTF-8"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_bad_input_ends_in_a_clear_message(name: str, tmp_path: Path):
    change, code, word = BAD[name]
    changed = change(GOOD)
    path, out = tmp_path / "job.yaml", tmp_path / "out"
    path.write_bytes(changed if isinstance(changed, bytes) else changed.encode())
    done = run("plan", path, "-o", out, "--seconds", 5)
    assert (done.returncode, done.stdout) == (code, "")
    assert word in done.stderr
    assert not out.exists() or not list(out.iterdir())


def test_an_unwritable_folder_and_unreadable_files(job: Path, tmp_path: Path):
    for out in (job, job / "below a file", "/proc/nothing"):
        done = run("plan", job, "-o", out)
        assert (done.returncode, done.stdout) == (2, "")
        assert "cannot be written" in done.stderr
    assert run("plan", tmp_path / "none.yaml", "-o", tmp_path / "o").returncode == 2
    assert run("plan", tmp_path, "-o", tmp_path / "o").returncode == 2
    assert job.read_text() == GOOD


def test_wrong_use(job: Path):
    assert run("plan", job).returncode == 2
    assert run("plan", job, "-o", "x", "--seconds", "soon").returncode == 2
    assert run("plan", job, "-o", "x", "--seconds", "0").returncode == 2
    assert run("dance", job).returncode == 2
    assert "Usage" in run().stdout + run().stderr


def test_plan_check_draw(job: Path, tmp_path: Path):
    out, again = tmp_path / "out", tmp_path / "again"
    done = run("plan", job, "-o", out)
    assert done.returncode == 0
    assert "Proved: no cheaper plan exists" in done.stdout
    assert done.stderr == ""  # nothing of the progress in a pipe
    names = {path.name for path in out.iterdir()}
    assert names == {"plan.json", "sheet-1.svg", "sheet-1-steps.svg", "packet.pdf", "report.html",
                     "waste.json", "waste.txt"}  # fmt: skip
    assert run("check", out / "plan.json").returncode == 0
    assert run("check", out / "plan.json", "--job", job).returncode == 0
    assert run("draw", out / "plan.json", "-o", again).returncode == 0
    for path in again.iterdir():
        assert path.read_bytes() == (out / path.name).read_bytes()
    pytest.importorskip("ezdxf")
    assert run("draw", out / "plan.json", "-o", again, "--dxf", "--labels", "letter-30",
               "--paper", "a4").returncode == 0  # fmt: skip
    assert (again / "sheet-1.dxf").exists()
    assert (again / "labels.pdf").read_bytes().startswith(b"%PDF-")
    assert run("draw", out / "plan.json", "-o", again, "--paper", "napkin").returncode == 2
    figures = json.loads((out / "waste.json").read_text())
    assert figures


def test_a_plan_that_breaks_a_rule_is_neither_good_nor_drawn(job: Path, tmp_path: Path):
    out = tmp_path / "out"
    run("plan", job, "-o", out)
    data = json.loads((out / "plan.json").read_text())
    data["sheets"][0]["placed"][0]["corners"][0][0] += 1
    bad = tmp_path / "bad.json"
    bad.write_text(json.dumps(data))
    done = run("check", bad)
    assert done.returncode == 4
    assert "[part-size]" in done.stderr
    assert run("draw", bad, "-o", tmp_path / "drawn").returncode == 4
    assert not (tmp_path / "drawn").exists()
    other = tmp_path / "other.yaml"
    other.write_text(GOOD.replace("11 3/4", "12"))
    assert run("check", out / "plan.json", "--job", other).returncode == 4
    bad.write_text("no plan")
    assert run("check", bad).returncode == 2


def test_parts_and_compare_speak_json(job: Path):
    parts = json.loads(run("parts", job, "--json").stdout)
    assert [part["length"] for part in parts["parts"]] == [34.5] * 4
    comparison = json.loads(run("compare", job, "--json", "--seconds", 5).stdout)
    assert [option["name"] for option in comparison["options"]] == ["birch 4x8", "best mix"]
    assert {option["cost"] for option in comparison["options"]} == {94.0}
    assert "34 1/2" in run("parts", job).stdout
    assert "best mix" in run("compare", job, "--seconds", 5).stdout


def test_the_same_job_gives_the_same_plan(job: Path, tmp_path: Path):
    for name in ("one", "two"):
        assert run("plan", job, "-o", tmp_path / name, "--seed", 3).returncode == 0
    assert (tmp_path / "one/plan.json").read_bytes() == (tmp_path / "two/plan.json").read_bytes()


def test_help_loads_nothing_heavy():
    code = ("import sys; from nesting.cli import main\nsys.argv = ['nesting', '--help']\n"
            "try:\n main()\nexcept SystemExit:\n pass\n"
            "print([m for m in ('ortools', 'svgwrite', 'numpy', 'typst', 'pydantic') if m in sys.modules])")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
    for name in ("start", "forms", "parts", "plan", "compare", "check", "draw"):
        assert name in done.stdout
        assert run(name, "--help").returncode == 0


def test_an_interrupt_keeps_the_best_plan(tmp_path: Path):
    path, out = OPEN, tmp_path / "out"
    done, said = _on_a_terminal(command("plan", path, "-o", out, "--seconds", 60), after="proved")
    assert done == 0
    assert re.search(r"birch: \d+ sheets, [\d.]+; proved: no plan below", said)  # plan, cost and bound
    assert "interrupted" in said
    assert run("check", out / "plan.json").returncode == 0


def _on_a_terminal(words: list[str], after: str) -> tuple[int, str]:
    """Run on a terminal of its own and press Ctrl-C once ``after`` is on the screen."""
    lead, follow = pty.openpty()
    running = subprocess.Popen(words, stdout=follow, stderr=follow, stdin=follow, start_new_session=True)
    os.close(follow)
    said, pressed = "", False
    while True:
        try:
            said += os.read(lead, 4096).decode(errors="replace")
        except OSError:  # the other end is closed
            break
        if not pressed and after in said:
            time.sleep(0.5)
            os.killpg(running.pid, signal.SIGINT)
            pressed = True
    os.close(lead)
    return running.wait(timeout=30), said


def test_a_good_plan_stays_whole_when_the_next_run_fails_or_is_killed(job: Path, tmp_path: Path):
    out = tmp_path / "out"
    run("plan", job, "-o", out)
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    job.write_text(GOOD.replace("94.00}", "94.00, count: 1}").replace("count: 4", "count: 40"))
    assert run("plan", job, "-o", out, "--seconds", 5).returncode == 3
    running = subprocess.Popen(command("plan", OPEN, "-o", out), stderr=subprocess.DEVNULL)
    time.sleep(1.5)
    running.kill()
    running.wait()
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


def test_the_limit_on_the_seconds_is_kept(tmp_path: Path):
    path = tmp_path / "job.yaml"
    path.write_text(HARD)
    begun = time.monotonic()
    assert run("plan", path, "-o", tmp_path / "out", "--seconds", 1).returncode == 0
    assert time.monotonic() - begun < 1 + 5 + 3  # the contract's 5 seconds; 3 for a busy machine


def test_a_plan_says_what_each_size_alone_comes_to(job: Path, tmp_path: Path):
    """Two sizes to choose from: plan file, print and page have the comparison; a chart on request."""
    large = "  - {name: birch 5x5, material: birch, length: 60, width: 60, price: 200}\n"
    job.write_text(GOOD.replace("parts:", large + "parts:"))
    out, chart = tmp_path / "out", tmp_path / "charts" / "c.svg"
    assert run("plan", job, "-o", out, "--seconds", 5).returncode == 0
    options = json.loads((out / "plan.json").read_text())["comparison"]
    assert [option["name"] for option in options] == ["birch 4x8", "birch 5x5", "best mix"]
    assert options[-1]["cost"] == min(option["cost"] for option in options if option["feasible"])
    assert "How the stock compares" in (out / "report.html").read_text()
    assert run("compare", job, "--seconds", 3, "-o", chart).returncode == 0
    assert chart.read_text().startswith("<?xml")
    assert run("compare", job, "--seconds", 3, "-o", tmp_path).returncode == 2


def test_the_command_is_installed():
    program = Path(sys.executable).parent / "nesting"
    assert program.exists() or shutil.which("nesting")


def test_compare_says_why_a_size_cannot_and_a_part_without_a_home_is_a_fault(job: Path):
    strip = "  - {name: strip, material: birch, length: 96, width: 6, price: 9}\n"
    job.write_text(GOOD.replace("parts:", strip + "parts:"))
    done = run("compare", job, "--json", "--seconds", 3)
    found = json.loads(done.stdout)["options"][1]
    assert (done.returncode, found["feasible"]) == (0, False)
    assert "wide" in found["why_not"]
    job.write_text(GOOD.replace("34 1/2", "97"))
    done = run("compare", job, "--seconds", 3)
    assert (done.returncode, done.stdout) == (1, "")


def test_an_interrupt_before_there_is_a_plan_says_so(job: Path, tmp_path: Path):
    code = ("import nesting.job.reading as reading\nfrom nesting.cli import main\n"
            "def pressed(path): raise KeyboardInterrupt\nreading.read_job = pressed\nmain()")
    words = [sys.executable, "-c", code, "plan", str(job), "-o", str(tmp_path / "out")]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (3, "interrupted before a plan was found\n")


def test_what_is_left_out_is_said_in_one_line(job: Path, tmp_path: Path):
    """Time is up as soon as the search is over: the plan is there, and how to draw it."""
    out = tmp_path / "out"
    words = command("plan", job, "-o", out)
    words[2] = words[2].replace("; main()", "; import nesting.cli as cli; cli.GRACE = -60; main()")
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    assert done.returncode == 0
    assert f"left out, so as to end: drawings; this makes all of it: nesting draw {out}" in done.stderr
    assert sorted(path.name for path in out.iterdir()) == ["plan.json", "waste.json", "waste.txt"]
    assert run("draw", out / "plan.json", "-o", out).returncode == 0
    assert (out / "packet.pdf").exists()
