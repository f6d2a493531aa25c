"""Cautions fit the job, and each names who says so."""

from __future__ import annotations

import pytest

from nesting.check import CheckedPlan
from nesting.lengths import INCH
from nesting.report.cautions import cautions, cautions_text
from tests.report.handmade import metric, plan, vouched


def topics(checked: CheckedPlan) -> set[str]:
    return {caution.topic for caution in cautions(checked)}


def weighing(weight: float | None) -> CheckedPlan:
    return vouched(stock=tuple(s.model_copy(update={"weight": weight}) for s in plan().stock))


@pytest.mark.parametrize(("weight", "said"), [(None, False), (51.0, False), (52.0, True)])
def test_lift_is_said_above_the_ideal_lift(weight: float | None, said: bool) -> None:
    # 51 lb or 23 kg: the load constant of the lifting equation, NIOSH Publication 94-110
    assert ("lift" in topics(weighing(weight))) is said


def test_a_sheet_too_heavy_even_for_two_is_named() -> None:
    # 3/4 in hardwood ply, 2.3 lb a sq ft: 4x12 weighs 110 lb, over 51 lb each for two; 4x8 74 lb is not
    assert "Halved between two" in cautions_text(weighing(2.3 * 48))
    assert "Halved between two" not in cautions_text(weighing(2.3 * 32))


def test_kilograms_have_their_own_limit() -> None:
    assert "73.6 kg" not in cautions_text(metric())
    assert "74 kg" in cautions_text(metric())
    assert "23 kg" in cautions_text(metric())


def test_joined_rails_are_said_where_there_are_any() -> None:
    assert "joined rails" not in topics(vouched())
    sheet, saw = plan().sheets[0], plan().saw
    pair = (60 * INCH, 60 * INCH)
    cuts = tuple(cut.model_copy(update={"rails": pair, "joined": True}) for cut in sheet.cuts)
    joined = vouched(
        saw=saw.model_copy(update={"rails": pair, "join": True}),
        sheets=(sheet.model_copy(update={"cuts": cuts}),),
    )
    assert "9 cuts need rails joined" in " ".join(cautions_text(joined).split())


def test_what_belongs_to_openings_is_left_out_without_any() -> None:
    loose = tuple(
        part.model_copy(update={"opening": None, "role": None, "marks": {}, "band": ()})
        for part in plan().parts
    )
    totals = plan().totals.model_copy(update={"banding": {}})
    bare = topics(vouched(openings=(), parts=loose, totals=totals))
    assert not bare & {"nailer", "lead", "asbestos", "code", "banding"}
    assert {"dust", "kickback", "saw", "eyes, hearing"} <= bare


def test_thin_band_and_planing_do_not_go_together() -> None:
    assert "does not survive planing" in " ".join(cautions_text(vouched()).split()).replace(" flush", "")


def test_each_names_its_source() -> None:
    assert all(caution.source for caution in cautions(vouched()))
