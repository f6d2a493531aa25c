"""What a fitted opening says of its runs, of level, of its studs and of its corners, for the plan."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from nesting.job.models import Opening
from nesting.openings.records import Fit
from nesting.openings.studs import SIDES


def measures(opening: Opening, fit: Fit) -> dict[str, Any]:
    """The keys of an opening's record in the plan that say what was measured beside the wall."""
    line, floor = opening.line, opening.floor
    falls: dict[str, int] = {side: getattr(floor, side) for side in SIDES}
    if floor.along is not None:
        falls["along"] = floor.along
    feet = {side: getattr(opening.feet, side) for side in SIDES}
    return {
        "runs": [asdict(run) for run in fit.runs],
        "head": opening.head or "parallel",
        "line": {"name": line.name, "up": line.up} if line else None,
        "feet": feet if any(feet.values()) else {},
        "floor": falls if any(falls.values()) else {},
        "gaps": {
            side: [{"at": at, "gap": gap} for at, gap in stations] for side, stations in fit.gaps.items()
        },
        "twist": [asdict(twist) for twist in fit.twist],
    }
