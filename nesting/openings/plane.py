"""Whether the two sides of an opening lie in one plane, and what the head has to do where they do not.

Four corners of a face: one is off the plane of the other three by

    (left top - left foot) - (right top - right foot)

Two strings from corner to corner stand half of that apart where they cross. Legs that are set flush with
such a wall lean by different amounts, so the head between them winds: over its width b by off · b / H, with
H the height. Where both faces are read off one plumb plane, the legs are cut to lean with the wall and stand
plumb; the head then does not wind, only the casing over it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from nesting.job.models import Opening
from nesting.lengths import INCH, Units, nearest, to_step, with_unit
from nesting.openings.faces import Face, FaceName
from nesting.openings.frame import LEG, Edge, Frame, Role
from nesting.openings.records import Twist, TwistBy
from nesting.openings.studs import SIDES, TRUE

# A head that winds by more than this over its width shows at the joint (common practice, no source).
MOST_WIND = INCH // 32
# Casing bends over this much without being built out behind (common practice, no source).
MOST_OFF = INCH // 4


def twists(
    opening: Opening, frame: Frame, edges: Sequence[tuple[Face, Mapping[Role, Edge]]], width: int
) -> tuple[Twist, ...]:
    """What is known of each face; ``width`` is the head's."""
    found: list[tuple[TwistBy, FaceName, int]] = []
    if opening.corners:
        (left_foot, left_top), (right_foot, right_top) = opening.corners.left, opening.corners.right
        found.append(("corners", "A", left_top - left_foot - right_top + right_foot))
    if opening.strings is not None:
        found.append(("strings", "A", 2 * opening.strings))
    plumb = all(face.name for face, _ in edges)
    height = min(frame.height.values())
    made = [
        Twist(by, face, off, 0 if plumb else nearest(Fraction(abs(off) * width, height)))
        for by, face, off in found
    ]
    if plumb:
        made += [Twist("faces", face.name or "A", _off(frame, each), 0) for face, each in edges]
    return tuple(made)


def _off(frame: Frame, edges: Mapping[Role, Edge]) -> int:
    left, right = (edges[LEG[side]].slope * frame.height[side] for side in SIDES)
    return nearest(left - right)


def warnings(twist: Sequence[Twist], units: Units) -> Iterator[str]:
    """Where the head winds so that it shows, or a face is far off its plane."""
    yield from (_said(each, units) for each in twist if _much(each))


def notes(twist: Sequence[Twist], units: Units) -> Iterator[str]:
    """What is known beside that."""
    yield from (_said(each, units) for each in twist if not _much(each))


def _much(twist: Twist) -> bool:
    return twist.head > MOST_WIND or abs(twist.off) > MOST_OFF


def _said(twist: Twist, units: Units) -> str:
    face = f"by {twist.by} room {twist.face}'s face" if twist.by != "faces" else f"room {twist.face}'s face"
    if abs(twist.off) <= TRUE:
        return f"{face} lies in one plane on both sides, within {with_unit(TRUE, units)}"
    text = f"{face} does not lie in one plane: one corner is {_words(twist.off, units)} off the other three"
    if twist.by == "faces" or not twist.head:
        return f"{text}; the legs are cut to it and stand plumb: the head does not wind, its casing does"
    return (
        f"{text}. Set flush with it the head winds by {_words(twist.head, units)} over its width: read both "
        "faces off one plumb plane, or fit the head once the legs stand"
    )


def _words(length: int, units: Units) -> str:
    return with_unit(to_step(abs(length), INCH // 64) if units is Units.INCH else abs(length), units)
