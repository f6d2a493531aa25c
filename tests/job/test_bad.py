"""One bad job file for each input fault; its first lines say which faults are to be reported, and where.

``# 9: stock 1 (birch 4x8), price | at most two decimals``: the line, the end of what is named, and words
of what would be right.
"""

import re
from pathlib import Path

import pytest

from nesting.errors import Fault, JobError
from nesting.job.reading import read_job
from tests.job.jobs import BAD, LIBRARY

FILES = sorted(BAD.glob("*.yaml"))
EXPECTED = re.compile(r"# (\d+): (.+?) \| (.+)")


def expected(path: Path) -> list[tuple[str, str, str]]:
    lines = path.read_text(encoding="utf-8").split("\n")
    return [match.groups() for line in lines if (match := EXPECTED.fullmatch(line))]


def faults_of(path: Path) -> list[Fault]:
    with pytest.raises(JobError) as caught:
        read_job(path)
    return caught.value.faults


def test_there_are_bad_files():
    assert len(FILES) > 150
    assert all(expected(path) for path in FILES)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_fault_is_reported_with_its_line_and_no_other(path):
    faults, wanted = faults_of(path), sorted(expected(path), key=lambda item: int(item[0]))
    assert len(faults) == len(wanted), "\n".join(map(str, faults))
    for fault, (line, what, right) in zip(faults, wanted, strict=True):
        assert fault.where == f"{path}:{line}"
        assert fault.what.endswith(what), fault
        assert right in fault.right, fault
        assert not LIBRARY.search(str(fault)), fault


def test_each_way_to_write_it_wrong_is_told_apart():
    told = {(fault.what, fault.right) for path in FILES for fault in faults_of(path)}
    assert len(told) > 140
