"""What makes one way of cutting up a sheet better than another, the weightiest first.

The tree says which pieces are parted from which; what is left open is when a factory edge is trimmed, which
of two pieces has the line and on which of them the rail lies, from which edge the tape reads, and in which
order pieces that do not depend on each other are taken. A :class:`Score` has one figure for each of these:

=========== ============================================================================================
figure      what is counted, and why less is better
=========== ============================================================================================
joined      Cuts with joined rails: connectors have play, and a kink swings the far end (trade press and
            owners). A trim that waits until the piece is short often needs one rail only.
short       Cuts read to a side with room, though what lies beyond has none: on a sheet 1/16 inch short (PS 1)
            a part is short then, and not waste.
unread      Cuts read off a factory edge that is still to be trimmed. A straight reference edge comes
            first: a factory edge is dented and not always straight, and a sheet may be 1/8 inch out of
            square by its diagonals (PS 1-19). What is squared off it is as crooked as it is.
slivers     Cuts whose waste is thinner than 1/4 inch: it breaks and flies, and the blade wanders out of
            it (trade press: no rip under 1/4). A trim strip and a thin strip of scrap beside it are
            therefore taken in one, where no more cuts stand against it.
hanging     Cuts with the rail on something narrower than itself, so that it tips (common practice, no
            source: 8 inches for a rail of 7 to 7 1/4). It lies on the wide piece if one is.
exposed     Cuts with part edges in sight on the side that no splinter strip guards. The strip is on the
            rail's own side; the other one chips (saw makers' manuals). Where two parts share a cut, the
            edge that casing, a joint or band will hide lies there.
cuts        Each is a chance to err, and a minute (common practice, no source).
handled     Area of the piece in hand, summed over the cuts: a sheet of 60 to 140 pounds is first made
            handy, and a far edge trimmed on the small piece (trade press).
heavy       Cuts made on something else while a piece too large for one person lies there. 16 square feet
            of 3/4 inch sheet weigh 37 to 48 pounds; the lifting equation starts from 51 (NIOSH 94-110).
changes     Times that the setting, the edge and its reading, changes from one cut to the next: equal
            pieces cut at one setting are equal (common practice, no source).
late        Risk of each part times its place among the cuts. A long, tapered or two-sided part, or a large
            one, comes early: if it is spoiled, it can still be cut again from what is left (practitioners).
=========== ============================================================================================

A carpenter who disagrees may make the cuts of different pieces in any order: each is read from its own piece.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from nesting.cutting.steps import Step
from nesting.lengths import INCH

HANDY = 2 * 16 * (12 * INCH) ** 2  # twice the area that one person turns alone


class Score(NamedTuple):
    """A way of cutting up one sheet; compared figure by figure, less is better."""

    joined: int = 0
    short: int = 0
    unread: int = 0
    slivers: int = 0
    hanging: int = 0
    exposed: int = 0
    cuts: int = 0
    handled: int = 0
    heavy: int = 0
    changes: int = 0
    late: int = 0


def of_steps(steps: Sequence[Step]) -> Score:
    """The figures that do not depend on the order."""
    return Score(
        joined=sum(len(step.rails) > 1 for step in steps),
        short=sum(step.short for step in steps),
        unread=sum(step.unread for step in steps),
        slivers=sum(step.sliver for step in steps),
        hanging=sum(step.packer for step in steps),
        exposed=sum(step.exposed for step in steps),
        cuts=len(steps),
        handled=sum(step.piece.area for step in steps),
    )


def score(order: Sequence[Step]) -> Score:
    """All figures of cuts in the order in which they are made."""
    heavy, changes, late = in_order(order, heavy_cuts(order))
    return of_steps(order)._replace(heavy=heavy, changes=changes, late=late)


def in_order(order: Sequence[Step], heavy: int) -> tuple[int, int, int]:
    """The figures that depend on the order, the one that takes long being known."""
    changes = sum(one.setting != other.setting for one, other in pairwise(order))
    return heavy, changes, sum(place * step.risk for place, step in enumerate(order))


def heavy_cuts(order: Sequence[Step]) -> int:
    """Cuts made while a larger piece, too large for one person, was to be cut."""
    waiting: set[Step] = set(order[:1])
    found = 0
    for step in order:
        largest = max(other.piece.area for other in waiting)
        found += HANDY < largest != step.piece.area
        waiting.discard(step)
        waiting |= set(following(step))
    return found


def following(step: Step) -> Iterator[Step]:
    """The cuts that can be made once this one is."""
    for piece in (step.kept, step.rest):
        if piece is not None and piece.step is not None:
            yield piece.step

