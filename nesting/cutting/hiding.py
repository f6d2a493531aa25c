"""Which edges of a part nobody will see, so that the saw may chip them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from nesting.parts import Part


def hidden_edges(part: Part, joint: str | None) -> frozenset[str]:
    """Edges that band, casing or a joint will cover (common practice, no source).

    Parameters
    ----------
    joint : str or None
        Of the opening that the part is a piece of: casing lies on both long edges. Over the legs, or in a
        rabbet, a head's ends are out of sight; between them, or in a rabbet, the legs' upper ends are.
    """
    hidden = set(part.band)
    if part.role is not None:
        hidden |= {"straight", "far"}
    if part.role == "head" and joint in ("head over legs", "rabbet"):
        hidden |= {"start", "end"}
    if part.role in ("left leg", "right leg") and joint in ("head between legs", "rabbet"):
        hidden |= {end for end in ("start", "end") if "TOP" in part.marks.get(end, "")}
    return frozenset(hidden)


def hidden_of_all(parts: Iterable[Part], joints: Mapping[str, str]) -> frozenset[str]:
    """Edges that are hidden on every one of some parts that are alike; ``joints`` by opening."""
    found = [hidden_edges(part, joints.get(part.opening or "")) for part in parts]
    return frozenset.intersection(*found) if found else frozenset()
