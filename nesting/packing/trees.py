"""Cutting trees as rows of numbers: cutting a shape out of a free piece, emptying a piece, opening sheets.

These functions are compiled (see :mod:`nesting.packing.compiled`). ``t`` is a :class:`~.tables.Table`,
``w`` a :class:`~.tables.Work`, ``s`` a slot, ``n`` a row of it, ``node`` all rows of all slots.
"""

from __future__ import annotations

from nesting.packing import tables as c
from nesting.packing.compiled import kernel
from nesting.packing.fitting import (
    Piece,
    above,
    beside,
    fit_snapped,
    lower_at,
    mirrored,
    upper_at,
    worth_of,
)
from nesting.packing.leaning import LEVEL, ON_LOWER, ON_UPPER, fit_leaning
from nesting.packing.tables import Array, Table, Work


@kernel
def draw(rng: Array) -> int:
    """The next random number below 2^32 (Marsaglia 2003, xorshift)."""
    x: int = rng[0]
    x ^= (x << 13) & 0xFFFFFFFF
    x ^= x >> 17
    x ^= (x << 5) & 0xFFFFFFFF
    rng[0] = x
    return x


@kernel
def below(rng: Array, end: int) -> int:
    """A random whole number from 0 to end - 1."""
    return draw(rng) % end


@kernel
def piece_at(node: Array, s: int, n: int) -> Piece:
    """The piece of a node."""
    low, up = (node[s, n, c.L0], node[s, n, c.L1]), (node[s, n, c.U0], node[s, n, c.U1])
    return node[s, n, c.X0], node[s, n, c.X1], low[0], low[1], up[0], up[1]


@kernel
def is_free(node: Array, s: int, n: int) -> bool:
    """Neither a part nor a cut in it."""
    return bool(node[s, n, c.ITEM] == c.NONE and node[s, n, c.KID] == c.NONE)


@kernel
def has_rows(w: Work, s: int) -> bool:
    """Whether a slot has rows for one more insertion: cuts left over from parts taken out hold some, too."""
    return bool(w.nodes.shape[1] - w.head[s, c.TOP] + w.head[s, c.SPARES] >= c.MOST_NEW)


@kernel
def new_node(w: Work, s: int, piece: Piece, turned: int, parent: int) -> int:
    """A free piece; returns its row."""
    if w.head[s, c.SPARES] > 0:
        w.head[s, c.SPARES] -= 1
        n = w.spare[s, w.head[s, c.SPARES]]
    else:
        n = w.head[s, c.TOP]
        w.head[s, c.TOP] += 1
    x0, x1, l0, l1, u0, u1 = piece
    node = w.nodes
    node[s, n, c.X0], node[s, n, c.X1], node[s, n, c.L0], node[s, n, c.L1] = x0, x1, l0, l1
    node[s, n, c.U0], node[s, n, c.U1], node[s, n, c.TURNED], node[s, n, c.PARENT] = u0, u1, turned, parent
    node[s, n, c.KID], node[s, n, c.OTHER], node[s, n, c.ITEM] = c.NONE, c.NONE, c.NONE
    node[s, n, c.FIXED], node[s, n, c.LIES] = 0, LEVEL
    w.worth[s, n] = worth_of(piece)
    return int(n)


@kernel
def turn_frame(w: Work, s: int, n: int) -> None:
    """Exchange x and y of a rectangular piece."""
    node = w.nodes
    x0, x1, l0, u0 = node[s, n, c.X0], node[s, n, c.X1], node[s, n, c.L0], node[s, n, c.U0]
    node[s, n, c.X0], node[s, n, c.X1] = l0, u0
    node[s, n, c.L0] = node[s, n, c.L1] = x0
    node[s, n, c.U0] = node[s, n, c.U1] = x1
    node[s, n, c.TURNED] = 1 - node[s, n, c.TURNED]


@kernel
def cut_across(w: Work, s: int, n: int, left_right: bool, up_down: bool, at: int, kerf: int) -> int:
    """Cut a node upright at x of the mirrored frame; returns the kid that holds the corner."""
    frame = piece_at(w.nodes, s, n)
    piece = mirrored(frame, left_right, up_down)
    x0, x1, l0, _, u0, _ = piece
    if at >= x1:
        return n
    low, up = lower_at(piece, at), upper_at(piece, at)
    more, rest = beside(piece, at, kerf)
    near = (x0, at, l0, low, u0, up)
    return split(w, s, n, left_right, up_down, near, more, rest, (at, low, at, up))


@kernel
def cut_along(
    w: Work, s: int, n: int, left_right: bool, up_down: bool, left: int, right: int, kerf: int
) -> int:
    """Cut a node along a line between two heights of the mirrored frame; returns the lower kid."""
    frame = piece_at(w.nodes, s, n)
    piece = mirrored(frame, left_right, up_down)
    x0, x1, l0, l1, u0, u1 = piece
    if left >= u0 and right >= u1:
        return n
    more, rest = above(piece, left, right, kerf)
    near = (x0, x1, l0, l1, left, right)
    return split(w, s, n, left_right, up_down, near, more, rest, (x0, left, x1, right))


@kernel
def split(
    w: Work, s: int, n: int, left_right: bool, up_down: bool, near: Piece, more: bool, rest: Piece,
    line: tuple[int, int, int, int],
) -> int:  # fmt: skip
    """Give a node its two kids (the second only if it is more than kerf) and the line between."""
    node, turned = w.nodes, w.nodes[s, n, c.TURNED]
    kid = new_node(w, s, mirrored(near, left_right, up_down), turned, n)
    other = c.NONE
    if more:
        other = new_node(w, s, mirrored(rest, left_right, up_down), turned, n)
    ax, ay, bx, by = line
    node[s, n, c.KID], node[s, n, c.OTHER] = kid, other
    node[s, n, c.AX] = -ax if left_right else ax
    node[s, n, c.BX] = -bx if left_right else bx
    node[s, n, c.AY] = -ay if up_down else ay
    node[s, n, c.BY] = -by if up_down else by
    return kid


@kernel
def carve(
    t: Table, w: Work, s: int, n: int, length: int, left: int, right: int, high: bool, turned: int,
    leaning: bool, left_right: bool, up_down: bool, across_first: bool,
) -> tuple[int, int, int]:  # fmt: skip
    """Cut a shape out of a free node.

    Returns
    -------
    tuple
        Its cell (-1 if the node does not hold it), and the lower left corner of the shape in the node's
        frame, if it does not lean.
    """
    kerf = t.facts[c.KERF]
    if turned != w.nodes[s, n, c.TURNED]:
        turn_frame(w, s, n)
    piece = mirrored(piece_at(w.nodes, s, n), left_right, up_down)
    if left_right:
        left, right = right, left
    high = high != up_down
    if leaning:
        fit = fit_leaning(piece, length, left, right, high, t.facts[c.LEAN])
    else:
        fit = fit_snapped(piece, length, left, right, high, kerf, t.heights)
    fits, bottom, end, top, top_end, far = fit
    if not fits:
        return c.NONE, 0, 0
    if across_first:
        column = cut_across(w, s, n, left_right, up_down, end, kerf)
        cell = cut_along(w, s, column, left_right, up_down, top, top_end, kerf)
    else:
        strip = cut_along(w, s, n, left_right, up_down, top, far, kerf)
        cell = cut_across(w, s, strip, left_right, up_down, end, kerf)
    return cell, -end if left_right else piece[0], -bottom if up_down else bottom


@kernel
def cut_out(
    t: Table, w: Work, s: int, n: int, shape: int, leaning: bool, left_right: bool, up_down: bool,
    across_first: bool, item: int,
) -> int:  # fmt: skip
    """Cut a shape of the table out of a free node, for an item (-1: a blank); its cell, or -1."""
    k, node = t.shapes, w.nodes
    cell, x, y = carve(
        t, w, s, n, k[shape, c.LENGTH], k[shape, c.LEFT], k[shape, c.RIGHT], k[shape, c.HIGH] != 0,
        k[shape, c.LIES_TURNED], leaning, left_right, up_down, across_first,
    )  # fmt: skip
    if item >= 0 and cell >= 0:
        node[s, cell, c.ITEM], node[s, cell, c.SHAPE] = item, shape
        node[s, cell, c.SPOT_X], node[s, cell, c.SPOT_Y] = x, y
        node[s, cell, c.LIES] = (ON_UPPER if up_down else ON_LOWER) if leaning else LEVEL
        w.head[s, c.PARTS] += 1
    return cell


@kernel
def settle(w: Work, s: int, n: int) -> None:
    """Count the free pieces that an insertion has made of one."""
    last = w.head[s, c.ROOMS] - 1
    for place in range(last + 1):
        if w.rooms[s, place] == n:
            w.rooms[s, place] = w.rooms[s, last]
            break
    w.head[s, c.ROOMS] = last
    add_rooms(w, s, n)
    w.head[s, c.DIRTY] = 1


@kernel
def add_rooms(w: Work, s: int, n: int) -> None:
    """List the free pieces of a subtree."""
    depth = 1
    w.stack[0] = n
    while depth > 0:
        depth -= 1
        m = w.stack[depth]
        if is_free(w.nodes, s, m):
            w.rooms[s, w.head[s, c.ROOMS]] = m
            w.head[s, c.ROOMS] += 1
        for column in (c.OTHER, c.KID):
            if w.nodes[s, m, column] >= 0:
                w.stack[depth] = w.nodes[s, m, column]
                depth += 1


@kernel
def keep_waiting(w: Work, item: int) -> None:
    """One more part to be placed."""
    w.waiting[w.counts[c.WAITING]] = item
    w.counts[c.WAITING] += 1


@kernel
def empty(w: Work, s: int, n: int) -> None:
    """Make a node free again; what lay in it waits, rows below are spare."""
    depth, node = 0, w.nodes
    m = n
    while True:
        item = node[s, m, c.ITEM]
        if item >= 0:
            keep_waiting(w, item)
            w.head[s, c.PARTS] -= 1
        for column in (c.KID, c.OTHER):
            if node[s, m, column] >= 0:
                w.stack[depth] = node[s, m, column]
                depth += 1
        node[s, m, c.KID], node[s, m, c.OTHER], node[s, m, c.ITEM] = c.NONE, c.NONE, c.NONE
        node[s, m, c.LIES] = LEVEL
        if m != n:
            node[s, m, c.ITEM] = c.GONE
            w.spare[s, w.head[s, c.SPARES]] = m
            w.head[s, c.SPARES] += 1
        if depth == 0:
            return
        depth -= 1
        m = w.stack[depth]


@kernel
def put_away(w: Work, index: int) -> None:
    """Close an empty sheet."""
    w.idle[w.counts[c.IDLES]] = w.order[index]
    w.counts[c.IDLES] += 1
    w.counts[c.SHEETS] -= 1
    for place in range(index, w.counts[c.SHEETS]):
        w.order[place] = w.order[place + 1]


@kernel
def open_root(t: Table, w: Work, size: int, root: int) -> int:
    """Take one more sheet of a size that begins in this way."""
    w.counts[c.IDLES] -= 1
    s = w.idle[w.counts[c.IDLES]]
    w.order[w.counts[c.SHEETS]] = s
    w.counts[c.SHEETS] += 1
    rows = t.root_rows[root]
    for row in range(rows):
        for column in range(c.COLUMNS):
            w.nodes[s, row, column] = t.roots[root, row, column]
        w.worth[s, row] = worth_of(piece_at(w.nodes, s, row))
    w.head[s, c.SIZE], w.head[s, c.SPARES], w.head[s, c.ROOMS] = size, 0, 0
    w.head[s, c.TOP], w.head[s, c.PARTS], w.head[s, c.DIRTY] = rows, 0, 1
    add_rooms(w, s, 0)
    return int(s)


@kernel
def open_sheet(t: Table, w: Work, size: int, rng: Array) -> int:
    """Take one more sheet of a size, beginning in one of the ways there are."""
    root, ways = t.first_root[size], t.first_root[size + 1] - t.first_root[size]
    if ways > 1:
        root += below(rng, ways)
    return open_root(t, w, size, root)
