"""The judge of plans: it lists every rule that a plan breaks, and repairs none.

It is written from the plan's format and the rules of cutting, and knows nothing of how plans are found.
Numbers are exact: along and across the sheet nothing is granted; where a slant makes a place or a size
irrational, two inner units are (:data:`nesting.check.shapes.SLACK`).

================ ======================================================================================
code             what it says
================ ======================================================================================
record           a number that cannot be: a kerf, trim, lead, price or count below 0, no size, a lean
                 above 45 degrees
numbering        parts are not unique from 1, sheets or cuts not 1, 2, 3 in their order, or offcuts of one
                 sheet not unique
face             ``seen_from`` is not the face that the saw record says lies up
part-form        sizes that make no part: not above 0, or corners that cross
part-unknown     a number is placed that is not in the parts list
part-missing     a part is on no sheet
part-twice       a part is placed more than once
part-size        the corners on the sheet do not make the part's length, widths and skews
part-hand        the corners run the wrong way round, and the part may not be turned over
part-top         a leg's upper end is not marked TOP, or another end is
part-left        a head's or sill's left end is marked at another end than its hand has it
part-outside     a part reaches out of the trimmed sheet
part-blocked     a part lies in a zone that is no good
overlap          two parts overlap
gap              two parts are closer than the kerf
grain            a part lies off the grain by more than the lean
material         a part is of another material or thickness than its sheet
stock-unknown    a sheet is of no size that is offered
stock-twice      two sizes are offered under one name
stock-size       a sheet is not of the material, length, width, thickness of its size
stock-price      a sheet's price is not that of its size
stock-trim       a sheet's edge trim is not that of its size
stock-kerf       a sheet's kerf is not the saw's
stock-count      more sheets of a size are used than can be had
stock-blocked    a sheet's bad zones are not those of its size, or one is no rectangle on the sheet
sheet-play       a sheet's play is more than the parts leave along some line, or less than was to be kept
cut-piece        a cut names a piece that is not on the bench
cut-ends         a cut has no length, or an end that is not on an edge of its piece
cut-idle         a cut takes nothing off its piece
cut-part         a cut runs through a part, or its kerf eats into one
cut-offcut       a cut runs through an offcut, or its kerf eats into one
cut-waste        all that is useful lies on the waste side
cut-kind         trim: all that comes off lies in the trim of one factory edge, straight along it; else
                 rip along the sheet, crosscut across, taper neither
cut-length       ``length`` is not the distance between the ends
cut-rails        rails that the job does not have, or none where it has some
cut-joined       ``joined`` is wrong, or rails are joined where they may not be
cut-reach        the rails do not reach the cut's length and both leads
cut-marks        a reading is not the distance from that edge to that end, the tape held along the
                 sheet or across it, or an end has none from an edge that the line runs along
piece-part       a part is not a piece by itself, cut to its own outline, after the last cut
piece-offcut     the same of an offcut
piece-unlisted   a piece is left that is neither a part nor a listed offcut
offcut-trim      ``trim`` is wrong: what a trim cut took off is a trim strip, and nothing else
offcut-small     an offcut is kept into which the least rectangle worth keeping does not fit (along the
                 grain; either way where there is none)
offcut-outside   a kept offcut reaches out of the trimmed sheet
offcut-blocked   a kept offcut has a zone in it that is no good
area-sheet       these six: a sheet's area is not that of the polygons;
area-parts       kerf is ``sheet - parts - keep - scrap``, and but for the slack what the cuts
area-kerf        really took; trim is the scrap that trim cuts took off
area-keep
area-scrap
area-trim
total-sheets     the sheets are not counted right
total-cost       the cost is not the sum of the sheets' prices
total-credit     the credit is not the kept area, in square feet (inch) or square metres (mm), times its
                 rate; a hundredth of money is granted for each offcut, for rounding
total-area       a total is not the sum of the sheets' areas
total-used       ``used_percent`` is not 100 parts / sheet, to a tenth or better (0 without sheets)
total-banding    by material and thickness: not one strip for each banded edge, or the length is not that
                 of the edges and 1 inch (25 mm) for each, or the thickness is not above 0
band-list        the band list: an edge without its strip or with one too many, a strip too short or from no
                 roll of its band, a roll that does not hold its strips, or the rolls' cost
proof-value      the value is not cost less credit
proof-bound      the lower bound is above the value, or more sheets are called needed than there are
proof-gap        ``gap`` is not (value - lower_bound) / value, a share of 1, to 1/10000; 0 for value 0
proof-status     proved with a bound below the value, or ``optimal`` without ``proved`` or the reverse
single-cost      ``single_rail``: its cost is not that of its sheets, of which as many can be had, or is less
                 than what is proved of this plan, which may do without joined rails too
single-bound     ``single_rail``: its bound is above its cost, or it has a bound or sheets without a cost
single-use       ``single_rail`` where no cut joins rails, or with both a cost and a reason why there is
                 none, or with neither
job-part         against the job: a part is missing, not asked for, or not as asked for
job-stock        against the job: a size is missing, not offered, or not as offered
job-saw          against the job: kerf, rails, joining, leads or the face up
job-keep         against the job: the least offcut to keep, or its credit
job-lean         against the job: the lean
================ ======================================================================================
"""

from __future__ import annotations

from nesting.check.against import check_against_job
from nesting.check.bands import judge_bands
from nesting.check.cutting import judge_cuts
from nesting.check.money import judge_areas, judge_totals
from nesting.check.placing import judge_parts, judge_placed, judge_room
from nesting.check.play import judge_play
from nesting.check.single import judge_single_rail
from nesting.check.supply import judge_records, judge_sheet, judge_stock, stock_of
from nesting.check.violation import Violation
from nesting.errors import CheckFailedError
from nesting.plan import Plan

__all__ = ["CheckedPlan", "Violation", "check_against_job", "check_plan", "checked"]

_SEAL = object()


class CheckedPlan:
    """A plan that broke no rule; only :func:`checked` makes one.

    Attributes
    ----------
    plan : Plan
        The plan, as it was given.
    """

    __slots__ = ("_plan",)

    def __init__(self, plan: Plan, seal: object) -> None:
        if seal is not _SEAL:
            raise TypeError("a CheckedPlan comes out of nesting.check.checked only")
        self._plan = plan

    @property
    def plan(self) -> Plan:
        """The plan that was judged."""
        return self._plan


def check_plan(plan: Plan) -> list[Violation]:
    """List every rule that a plan breaks; empty for a good one. Raises for no plan."""
    found = [*judge_records(plan), *judge_stock(plan), *judge_parts(plan)]
    for sheet in plan.sheets:
        size = stock_of(plan, sheet)
        grain = size is None or size.grain
        found += [
            *judge_sheet(plan, sheet),
            *judge_placed(plan, sheet, grain),
            *judge_room(sheet),
            *judge_play(plan, sheet),
            *judge_cuts(plan, sheet, grain),
            *judge_areas(plan, sheet),
        ]
    return [*found, *judge_totals(plan), *judge_single_rail(plan), *judge_bands(plan)]


def checked(plan: Plan) -> CheckedPlan:
    """Judge a plan and vouch for it.

    Raises
    ------
    CheckFailedError
        If it breaks a rule: all violations, a line for each, ``sheet 2, part 7: [code] ...``.
    """
    if violations := check_plan(plan):
        raise CheckFailedError("\n".join(map(str, violations)))
    return CheckedPlan(plan, _SEAL)
