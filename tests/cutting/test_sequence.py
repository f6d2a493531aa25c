"""The cuts of small sheets, by hand: order, lines, readings, rails, letters."""

from __future__ import annotations

from nesting.cutting.pieces import beyond, ends_on, left_of, shifted, split
from nesting.cutting.sequence import Sequence, letters
from nesting.cutting.sequence import sequence as cut_up
from nesting.geometry import rectangle, twice_area
from nesting.lengths import INCH
from nesting.packing.instance import Instance, Item, Size
from nesting.packing.layout import shapes_of
from nesting.stock import Saw, Trim
from tests.packing.trees import Cutter

KERF = INCH // 8
SIZE = Size("4x8", 96 * INCH, 48 * INCH, 9400, trim=Trim(*[INCH // 4] * 4))


def sequence(saw: Saw, *items: Item) -> Sequence:
    """Put the items in one after the other, each where it spoils least, and cut."""
    instance = Instance(items, (SIZE,), saw, keep=(24 * INCH, 6 * INCH))
    cutter = Cutter(instance, SIZE)
    root = cutter.root()
    for index, item in enumerate(items):
        free = [node for node in root.walk() if node.free]
        ways = [(w.cost, n, w) for n, node in enumerate(free)
                for w in cutter.candidates(node, index, shapes_of(item, instance.mirrored))]  # fmt: skip
        _, place, way = min(ways)
        cutter.insert(free[place], index, way)
    return cut_up(instance, SIZE, root)


def told(done: Sequence) -> list[tuple]:
    return [
        (cut.kind, cut.piece, *(f"{mark.edge} {mark.reading / INCH:g}" for mark in cut.marks))
        for cut in done.cuts
    ]


def test_one_part_in_the_corner():
    """A part 40 x 20: both long and short reference edge first, the rest stays in two kept offcuts."""
    done = sequence(Saw(KERF, rails=(118 * INCH,), lead_in=7 * INCH, lead_out=3 * INCH),
                    Item(40 * INCH, 20 * INCH, 20 * INCH))  # fmt: skip
    # the part lies at 1/4, 1/4; a long edge to square from, the left end to read off; crosscut at 40, then
    # the rip at 20 from the trimmed lower edge. Both pieces reach the upper edge, so it is trimmed before
    # they are parted, and one alone the right one: it is trimmed in that piece
    assert told(done) == [
        ("trim", "A", "lower 0.25", "lower 0.25"),
        ("trim", "A", "left 0.25", "left 0.25"),
        ("trim", "A", "upper 0.25", "upper 0.25"),
        ("crosscut", "A", "left 40", "left 40"),
        ("trim", "E", "right 0.25", "right 0.25"),
        ("rip", "A", "lower 20", "lower 20"),
    ]
    kept = [final for final in done.finals if final.keep]
    # 95 1/2 - 40 - 1/8 = 55 3/8 by 47 1/2, and 40 by 47 1/2 - 20 - 1/8 = 27 3/8
    areas = sorted(twice_area(final.polygon) / 2 / INCH**2 for final in kept)
    assert areas == [40 * 27.375, 55.375 * 47.5]


def test_rails_the_shortest_that_reaches():
    # leads of 7 and 3: a full rip of 96 needs 106 (trade table), the crosscut of 47 1/2 needs 57 1/2
    done = sequence(Saw(KERF, rails=(118 * INCH, 63 * INCH), lead_in=7 * INCH, lead_out=3 * INCH),
                    Item(40 * INCH, 20 * INCH, 20 * INCH))  # fmt: skip
    assert [[rail // INCH for rail in cut.rails] for cut in done.cuts] == [
        [118], [63], [118], [63], [63], [63]
    ]  # fmt: skip


def test_short_rails_crosscut_before_they_rip():
    # joined, 70 + 42 would reach; single rails of 70 rip 60 at the most: the long edges are trimmed later
    done = sequence(Saw(KERF, rails=(70 * INCH,), lead_in=7 * INCH, lead_out=3 * INCH),
                    Item(40 * INCH, 20 * INCH, 20 * INCH))  # fmt: skip
    first = next(cut for cut in done.cuts if cut.kind == "crosscut")
    assert all(cut.length <= 60 * INCH for cut in done.cuts)
    assert not [cut for cut in done.cuts[: first.number] if cut.length > 48 * INCH]


def test_a_taper_is_read_at_both_ends_off_the_straight_edge():
    full = 95 * INCH + INCH // 2  # as long as the trimmed sheet, so that the line ends where the part does
    done = sequence(Saw(KERF), Item(full, 12 * INCH, 13 * INCH))
    (taper,) = [cut for cut in done.cuts if cut.kind == "taper"]
    assert [(mark.edge, mark.reading) for mark in taper.marks] == [
        ("lower", 12 * INCH), ("lower", 13 * INCH)
    ]  # fmt: skip
    assert taper.waste_side == "left"  # looking along the line from left to right, the waste lies above
    assert taper.rails == ()  # none named, no limit


def test_kept_keeps_its_letter_and_letters_run_on_after_z():
    names = letters()
    assert [next(names) for _ in range(28)][-3:] == ["Z", "AA", "AB"]


def test_a_piece_is_parted_with_a_kerf():
    piece = rectangle(0, 0, 100, 50)
    parted = split(piece, ((0, 20), (100, 20)), 3)
    assert parted is not None
    assert parted.kept == rectangle(0, 20, 100, 50)
    assert set(parted.rest) == set(rectangle(0, 0, 100, 17))
    assert ends_on(piece, ((10, 60), (11, 60))) is None
    assert beyond(piece, ((0, 20), (100, 20))) == 20
    # 3-4-5 (Euclid): a kerf of 5 beside a line that runs 4 and rises 3 lies 4 lower and 3 further
    assert shifted(((0, 0), (4, 3)), 5) == ((3, -4), (7, -1))
    assert left_of(piece, ((0, 60), (100, 60))) == ()
