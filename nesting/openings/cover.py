"""The covering edges of an opening's pieces, exactly.

Unfolded, an edge of the frame is one line bent only at the two corners: from the left foot up to the
left corner, across the head to the right corner, and down to the right foot. Its offsets at these four
nodes are the unknowns, so leg and head agree at each corner by themselves (six unknowns and two ties).
A window's sill lies between the two feet and closes the line (eight unknowns and four ties). With two
faces there are two such lines. On a piece whose nodes i, j lie at the places p, q the edge at the place
s is

    w(s) = (x_i (q - s) + x_j (s - p)) / (q - p)

and at every station with the least offset v (wall and least proud)

    v <= w(s)             never short
    w(s) <= v + worst     worst, of the piece, to be as little as can be

Sought are, on each face by itself, the edges whose worst station of the whole face stands proud least; of
these, piece by piece from the worst down; of these, the least area. The faces share no unknown, so the
worst of all is least too, and a hollow in room A's face is no excuse to stand proud of room B's. Edges
that are still equal (turning about a belly at mid-height, say) are settled by the offsets at the nodes, the
widest as little as can be, from the widest down: that leaves one answer, and the mirrored one for a
mirrored opening.

Only the upper hull of the stations can be short and only the lower hull most proud.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Hashable, Iterable, Sequence
from fractions import Fraction
from typing import TypeVar

from nesting.geometry import Point, cross
from nesting.openings.faces import Face
from nesting.openings.frame import Edge, Frame, Piece, Role
from nesting.openings.linear import Row, minimise

# Left foot, left corner, right corner, right foot; and a piece's nodes, in the order of its joints.
NODES: dict[Role, tuple[int, int]] = {
    "left leg": (0, 1), "right leg": (3, 2), "head": (1, 2), "sill": (0, 3)
}  # fmt: skip
COUNT = 4
NO_NODES = (0,) * COUNT
WORTH = 4  # a piece gives way where the others win four times as much by it
# Inside, offsets are half units, so that half of the least proud is whole.
HALVES = 2
# ``(a, d, v)``: a · x is the offset at a station times d, v the least offset there times d.
Line = tuple[tuple[int, ...], int, int]
Offsets = tuple[Fraction, ...]
Name = TypeVar("Name", bound=Hashable)


def cover(frame: Frame, faces: Sequence[Face], slack: Fraction | int = 0) -> tuple[dict[Role, Edge], ...]:
    """The best covering edges of the pieces, one set for each face; all exact.

    A piece may stand proud by up to the ``slack`` more than it must where the others come down by far more
    (``WORTH``), so that none is thrown far off for the last hair of its neighbour. A head is read at the
    framing, an inch past the corner, which is a lever of one to its length: without slack a head that is
    high on the left would lie level, and lift the right leg by 1/4 inch to save itself 0.007. Where a line
    is closed the lever is a hundred to one.
    """
    lines = [FaceLine(frame, face) for face in faces]
    return tuple(line.edges(line.best(least_worst(line, HALVES * Fraction(slack)))) for line in lines)


def least_worst(line: FaceLine, slack: Fraction | int = 0) -> dict[Role, Fraction]:
    """How far (in half units) each piece's worst station must stand above the least proud.

    From the worst down. With a slack every piece may then stand so much higher where the others come down
    by ``WORTH`` times as much in all; of what is left, from the worst down again.
    """
    strict = Worst(line).levels()
    if not slack:
        return strict
    given = Worst(line, strict, slack)
    return given.levels(given.together())


class Worst:
    """Programmes over a face's nodes, each piece's worst station, and what is to be least of these.

    The unknowns stand in that order: four nodes; one worst t for each piece; where it may
    give way from its ``strict`` one s, for each what that costs, at least t and WORTH (t - s) + s; and last
    the one that is to be least.
    """

    def __init__(
        self, line: FaceLine, strict: dict[Role, Fraction] | None = None, slack: Fraction | int = 0
    ) -> None:
        self.roles = tuple(line.pieces)
        self.costs = len(self.roles) if strict else 0
        self.rows: list[Row] = []
        for role in self.roles:
            self.rows += [((*a, *self._rest()), b) for a, b in line.covering(role)]
            self.rows += [((*_minus(a), *self._rest({role: d})), -v) for a, d, v in line.lower[role]]
        nodes = NO_NODES
        for role, worst in (strict or {}).items():
            n, d = worst.as_integer_ratio()
            self.rows += [
                self._at_most({role: 1}, worst + slack),
                ((*nodes, *self._rest({role: -1}, {role: 1})), 0),
                ((*nodes, *self._rest({role: -WORTH * d}, {role: d})), (1 - WORTH) * n),
            ]

    def together(self) -> Fraction:
        """The least that all pieces' worst stations cost."""
        costs = dict.fromkeys(self.roles, 1)
        floor: Row = ((*NO_NODES, *self._rest(last=1)), 0)  # the last unknown is not used
        solution = minimise((*NO_NODES, *self._rest(costs=costs)), [*self.rows, floor])
        return sum(solution.x[-1 - self.costs : -1], Fraction(0))

    def levels(self, together: Fraction | None = None) -> dict[Role, Fraction]:
        """Each piece's worst station, from the worst down; ``together`` is the most that they may cost."""
        rows, nodes = list(self.rows), NO_NODES
        if together is not None:
            rows.append(self._at_most({}, together, dict.fromkeys(self.roles, 1)))

        def level(settled: dict[Role, Fraction]) -> tuple[Fraction, set[Role]]:
            free = [role for role in self.roles if role not in settled]
            ranked = [((*nodes, *self._rest({role: -1}, last=1)), 0) for role in free]
            fixed = [self._at_most({role: 1}, worst) for role, worst in settled.items()]
            solution = minimise((*nodes, *self._rest(last=1)), [*ranked, *fixed, *rows])
            return solution.x[-1], {free[i] for i in solution.binding if i < len(free)}

        return _from_the_worst_down(self.roles, level)

    def _rest(
        self, worst: dict[Role, int] | None = None, costs: dict[Role, int] | None = None, last: int = 0
    ) -> tuple[int, ...]:
        """Shares of the unknowns behind the nodes."""
        each = [(worst or {}).get(role, 0) for role in self.roles]
        each += [(costs or {}).get(role, 0) for role in self.roles][: self.costs]
        return (*each, last)

    def _at_most(self, worst: dict[Role, int], most: Fraction, costs: dict[Role, int] | None = None) -> Row:
        n, d = most.as_integer_ratio()
        return _minus((*NO_NODES, *(d * share for share in self._rest(worst, costs)))), -n


class FaceLine:
    """The line that covers one face: its rows over the four nodes.

    Attributes
    ----------
    upper, lower : dict
        For each piece the stations at which its edge can be short, and those at which it can stand
        most proud.
    """

    def __init__(self, frame: Frame, face: Face) -> None:
        self.pieces = frame.pieces
        self.upper: dict[Role, list[Line]] = {}
        self.lower: dict[Role, list[Line]] = {}
        for role, piece in frame.pieces.items():
            points = [(at, int(HALVES * least)) for at, least in face.needed(role)]
            below = upper_hull((at, -least) for at, least in points)
            self.upper[role] = [_line(piece, at, least) for at, least in upper_hull(points)]
            self.lower[role] = [_line(piece, at, -least) for at, least in below]

    def covering(self, role: Role) -> list[Row]:
        """Never short: a · x >= v."""
        return [(a, v) for a, _, v in self.upper[role]]

    def within(self, role: Role, worst: Fraction) -> list[Row]:
        """No station more than ``worst`` above its least: a · x <= v + d worst."""
        n, d = worst.as_integer_ratio()
        return [
            (tuple(-d * entry for entry in a), -(d * v + n * share)) for a, share, v in self.lower[role]
        ]

    def area(self) -> tuple[int, ...]:
        """Each node's share of the pieces' area, up to a common factor.

        A piece's area is its length times the edge's offset at its middle.
        """
        shares = [Fraction(0)] * COUNT
        for role, piece in self.pieces.items():
            (i, j), (p, q) = NODES[role], piece.joints
            middle = piece.start + Fraction(piece.length, 2)
            shares[i] += piece.length * (q - middle) / (q - p)
            shares[j] += piece.length * (middle - p) / (q - p)
        common = math.lcm(*(share.denominator for share in shares))
        return tuple(int(share * common) for share in shares)

    def best(self, worst: dict[Role, Fraction]) -> Offsets:
        """Offsets at the nodes (half units): least area within the worst of each piece."""
        rows = [row for role in self.pieces for row in self.covering(role) + self.within(role, worst[role])]
        area = self.area()
        solution = minimise(area, rows)
        if solution.only:
            return solution.x
        least = sum((x * share for x, share in zip(solution.x, area, strict=True)), Fraction(0))
        n, d = least.as_integer_ratio()
        return self._settled([*rows, (tuple(-d * share for share in area), -n)])

    def _settled(self, rows: list[Row]) -> Offsets:
        """Of the offsets that keep the rows, those whose widest node is least, from the widest down."""

        def level(settled: dict[int, Fraction]) -> tuple[Fraction, set[int]]:
            nodes = []
            for k in range(COUNT):
                n, d = settled.get(k, Fraction(0)).as_integer_ratio()
                unit = tuple(-d * (i == k) for i in range(COUNT))
                nodes.append(((*unit, 0), -n) if k in settled else ((*unit, 1), 0))
            solution = minimise((0,) * COUNT + (1,), [*nodes, *(((*a, 0), b) for a, b in rows)])
            return solution.x[-1], {k for k in solution.binding if k < COUNT and k not in settled}

        offsets = _from_the_worst_down(range(COUNT), level)
        return tuple(offsets[k] for k in range(COUNT))

    def edges(self, offsets: Offsets) -> dict[Role, Edge]:
        """The edge of each piece between its nodes, in whole units again."""
        found = {}
        for role, piece in self.pieces.items():
            (i, j), (p, q) = NODES[role], map(Fraction, piece.joints)
            found[role] = Edge.through(p, offsets[i] / HALVES, q, offsets[j] / HALVES)
        return found


def upper_hull(points: Iterable[Point]) -> list[Point]:
    """Corners of the upper convex hull, from left to right; of points over one place the highest."""
    hull: list[Point] = []
    for point in sorted(points):
        while hull and hull[-1][0] == point[0]:
            hull.pop()
        while len(hull) > 1 and cross(hull[-2], hull[-1], point) >= 0:
            hull.pop()
        hull.append(point)
    return hull


def _line(piece: Piece, at: int, least: int) -> Line:
    (i, j), (p, q) = NODES[piece.role], piece.joints
    a = [0] * COUNT
    a[i], a[j] = q - at, at - p
    return tuple(a), q - p, least * (q - p)


def _minus(a: tuple[int, ...]) -> tuple[int, ...]:
    return tuple(-entry for entry in a)


def _from_the_worst_down(
    names: Collection[Name], level: Callable[[dict[Name, Fraction]], tuple[Fraction, set[Name]]]
) -> dict[Name, Fraction]:
    """Least values one by one, from the worst down.

    ``level`` is given those settled; it says how low the worst of the others can be, and which of them
    then have that value in every solution (those whose rows have a positive multiplier do).
    """
    settled: dict[Name, Fraction] = {}
    while len(settled) < len(names):
        value, binding = level(settled)
        settled |= dict.fromkeys(binding, value)
    return settled
