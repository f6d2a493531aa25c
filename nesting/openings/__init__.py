"""From measured walls to legs and heads: the covering edges, joints, rounding and hands."""

from nesting.openings.fit import fit_opening
from nesting.openings.records import Fit, Run, Station

__all__ = ["Fit", "Run", "Station", "fit_opening"]
