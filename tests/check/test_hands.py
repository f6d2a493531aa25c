"""Which end of a piece is marked, by the face of its straight edge: from unfolding an opening by hand."""

from __future__ import annotations

import pytest

from nesting.check import check_plan
from nesting.plan import Plan
from tests.report.handmade import plan


def marked(role: str, straight: str, left: str) -> Plan:
    """The hand-made plan, its head called head or sill, with its left end marked there."""
    one = plan()
    ends = {"start": "right", "end": "right"} | {left: "left"}
    parts = tuple(
        part.model_copy(update={"role": role, "marks": ends}) if part.role == "head" else
        part.model_copy(update={"role": None, "opening": None, "marks": {}}) for part in one.parts
    )  # fmt: skip
    openings = tuple(o.model_copy(update={"straight": straight}) for o in one.openings)
    return one.model_copy(update={"parts": parts, "openings": openings})


@pytest.mark.parametrize(
    ("role", "straight", "left"),
    [
        # above the legs: with the outer edge (A) below, turned half round, the right end comes to the left
        ("head", "A", "end"),
        ("head", "B", "start"),
        # below the legs the inner edge (B) is the upper one, so it is the other way about
        ("sill", "A", "start"),
        ("sill", "B", "end"),
    ],
)
def test_the_left_end_lies_where_the_hand_has_it(role: str, straight: str, left: str):
    def codes(end: str) -> set[str]:
        return {violation.code for violation in check_plan(marked(role, straight, end))}

    wrong = "start" if left == "end" else "end"
    assert "part-left" not in codes(left)
    assert "part-left" in codes(wrong)
