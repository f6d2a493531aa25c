"""What the measuring rests on: the jobs kept as files, the peers, the text put together."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from benchmarks.cases import ENGINE, Case
from benchmarks.families import FAMILIES
from benchmarks.make_jobs import PARTS, Writer
from benchmarks.peers import by_hand, cuttable, with_plain_model, with_rectpack
from benchmarks.store import Store
from nesting.packing.instance import Instance, Item, Size
from nesting.stock import Saw

JOBS = next(family for family in FAMILIES if family.name == "jobs")
# three strips of 15 and two kerfs of 1 fill 47 of 48; the fourth needs a sheet of its own, the narrow one
LEGS = Instance((Item(90, 15, 15, count=4),),
                (Size("wide", 96, 48, 9000), Size("narrow", 96, 24, 5500)), Saw(1))  # fmt: skip
WHEEL = [(0, 0, 6, 4), (6, 0, 10, 6), (4, 6, 10, 10), (0, 4, 4, 10), (4, 4, 6, 6)]


def test_forty_jobs_are_kept_and_none_has_a_fault():
    cases = JOBS.cases(None)
    assert len(cases) == 40
    assert {case.parts for case in cases} >= set(PARTS)
    assert (min(case.parts for case in cases), max(case.parts for case in cases)) == (3, 60)
    for case in cases:
        job, _, problems = case.problems()
        assert sum(one.instance.total for one in problems) == case.parts
        assert not job.warnings


def test_the_written_jobs_come_from_their_seeds():
    folder = Path(__file__).resolve().parents[2] / "benchmarks" / "jobs"
    kept = {path.read_text(encoding="utf-8") for path in folder.glob("[0-9]*.yaml")}
    assert len(kept) == len(PARTS)
    assert Writer(0, 0).text() in kept


def test_a_pinwheel_cannot_be_cut_edge_to_edge_and_without_its_ring_it_can():
    assert not cuttable(WHEEL)
    assert cuttable(WHEEL[1:])
    assert not cuttable([(0, 0, 5, 5), (4, 4, 9, 9)])  # they overlap


@pytest.mark.parametrize("peer", [by_hand, with_rectpack, with_plain_model])
def test_the_peers_by_hand(peer):
    assert peer(LEGS, 2.0)["cost"] == 14500
    assert peer(replace(LEGS, sizes=(Size("few", 96, 48, 9000, count=1),)), 2.0)["cost"] is None


def test_the_plain_model_says_when_its_plan_cannot_be_cut():
    items = tuple(Item(x1 - x0, y1 - y0, y1 - y0) for x0, y0, x1, y1 in WHEEL)
    record = with_plain_model(Instance(items, (Size("s", 10, 10, 100),), Saw(0)), 2.0)
    assert (record["cost"], record["cuttable"]) == (100, False)


def test_a_peer_that_is_cheaper_is_named_and_what_is_not_measured_is_said(tmp_path):
    store = Store(JOBS, tmp_path)
    assert "Not measured" in store.text([])
    case = Case("Weir", 5.0, 4, instance=LEGS, known={"sizes": 2})
    store.begin(ENGINE, {"scale": 1.0})
    store.begin("rectpack", {"scale": 1.0})
    store.add("Weir", ENGINE, {"cost": 18000, "bound": 14500, "proved": False, "seconds": 5.0})
    store.add("Weir", "rectpack", {"cost": 14500})
    text = store.text([case])
    assert "rectpack: cheaper on 1: Weir;" in text
    assert "Missed: 1: Weir (4 parts, gap 19.44 %)" in text  # 35 of 180
    assert Store(JOBS, tmp_path).text([]) == text  # as it was, without the cases at hand
