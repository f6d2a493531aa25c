"""An instance, and sheets being filled, as arrays of whole numbers: what the inner loops work on.

A node of a cutting tree is a row of numbers; the columns are named here. Sheets lie in slots, each with
rows for its own nodes, so that a try touches, and copies back, only the sheets that it changes.
"""

from __future__ import annotations

from typing import Any, NamedTuple

# Columns of a node: the piece, its tree, what lies in it and where, the line that cuts it, and whether what
# lies in it leans.
X0, X1, L0, L1, U0, U1, TURNED = range(7)
PARENT, KID, OTHER, ITEM, SHAPE, SPOT_X, SPOT_Y = range(7, 14)
AX, AY, BX, BY, FIXED, LIES = range(14, 20)
COLUMNS = 20
NONE = -1  # no node; no item
GONE = -2  # in ITEM: a row that is not in use
BAD = -3  # in ITEM: a zone of the sheet that no part may take
MOST_NEW = 12  # rows that an insertion may take: two cuts for a blank, two for each of its parts

# Columns of a shape, a size, a pair, a slot's head.
LENGTH, LEFT, RIGHT, HIGH, LIES_TURNED = range(5)
SX0, SY0, SX1, SY1, TRIM_LEFT, TRIM_LOWER, TRIM_RIGHT, TRIM_UPPER, PRICE, COUNT, AREA, PLAY, ZONES = range(13)
PARTNER, BLANK, LOWER, UPPER = range(4)
SIZE, SPARES, ROOMS, TOP, PARTS, DIRTY = range(6)
BY_LENGTH, BY_WIDTH, HOLDS = range(3)  # of a piece: how much shorter and narrower it could be; a part in it
SHEETS, WAITING, IDLES, MAY_LEAN, MOVING, FIRST, LIE = range(7)
EITHER = 0
LEVELS = 6  # of the rank of a complete state
ALONG, ACROSS = 1, 2  # which of an insertion's two cuts comes first, where both ways can be had
LYING, STANDING = 1, 2  # whether its longer side is to lie along the sheet, where it may be turned
KERF, REACH, SINGLE, KEEP_LENGTH, KEEP_WIDTH, ITEMS, SIZES, OFFCUT, TOTAL, CHEAPEST, LEAN, TIGHT = range(12)

Array = Any  # numpy's where it is compiled, a view of the same memory where it is not


class Table(NamedTuple):
    """What does not change during a search.

    Attributes
    ----------
    facts : [12] whole numbers
        Kerf, reach, reach of a single rail (-1: no limit), the least offcut to keep, how many items and
        sizes, the area by which offcuts are told apart, how many parts, the
        least price, how far a part may lean (a tangent, in millionths), and how short a sheet may be.
    credit : [1]
        Hundredths of money for a square unit kept.
    shapes : [shape, 5]
        The ways in which items may lie, then the blanks of pairs and of tapers by themselves.
    sides : [shape, 2]
        For the first shape of an item: the least that a piece's shorter and longer side must be.
    first : [items + 1]
        Where the shapes of an item begin.
    areas, worths : [item]
        Area of an item.
    ranks : [3, item]
        Place of an item in falling order of area, length, width.
    sizes : [size, 13]
        The trimmed sheet, trims, price, count, area, play, whether it has bad zones.
    takes : [item, size]
    heights : [height]
        At the ends of all tapered parts, rising.
    pairs : [pair, 4], first_pair : [items + 1]
        The partners of each tapered item, the best first.
    roots, root_rows, first_root : [root, row, column], [root], [sizes + 1]
        The ways in which a whole sheet may begin: one row, or several cut round a bad zone.
    keys : [item]
        Random numbers that tell sheets' contents apart.
    asked, costs : [place, 7], [place]
        The cheapest way to cut an item out of a piece, by the piece and the item: each asked once, or seldom.
    """

    facts: Array
    credit: Array
    shapes: Array
    sides: Array
    first: Array
    areas: Array
    ranks: Array
    sizes: Array
    takes: Array
    heights: Array
    pairs: Array
    first_pair: Array
    roots: Array
    root_rows: Array
    first_root: Array
    wanted: Array
    keys: Array
    asked: Array
    costs: Array


class Work(NamedTuple):
    """Sheets being filled, and parts still to be placed.

    Attributes
    ----------
    nodes : [slot, row, column]
    worth : [slot, row]
        Worth of free pieces.
    spare, rooms : [slot, row]
        Rows to use again; the free pieces.
    head : [slot, 6]
        Size, number of spare rows, of free pieces, rows ever used, parts, whether changed.
    order, idle : [slot]
        The slots in use, in order; the others.
    waiting, queue : [part]
        Items to be placed.
    left : [item]
        How many of each are still in the queue.
    counts : [7]
        Number of sheets, of waiting parts, of idle slots; how far parts may lean for now, and whether what is
        left beside a part taken out moves together.
    stack, row : [row]
        To list rows in.
    slack : [row, 3]
        Of the pieces of one sheet, how much shorter and narrower they could be, and whether they hold a part.
    """

    nodes: Array
    worth: Array
    spare: Array
    rooms: Array
    head: Array
    order: Array
    idle: Array
    waiting: Array
    queue: Array
    left: Array
    counts: Array
    stack: Array
    row: Array
    slack: Array


class Store(NamedTuple):
    """Sheets remembered, their trees packed one after the other.

    Attributes
    ----------
    nodes : [row, column], begin, rows, size, key : [sheet]
    content : [sheet, item]
        How many of each item lie on it.
    slots : [place]
        A table of sheets by key, open addressing.
    counts : [3]
        Sheets, rows, whether it is full.
    """

    nodes: Array
    begin: Array
    rows: Array
    size: Array
    key: Array
    content: Array
    slots: Array
    counts: Array
