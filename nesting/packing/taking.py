"""Taking parts out of a sheet: what is free afterwards is brought together where no slant stands in the way.

In Gardeyn and Wauters 2022 a structure has no coordinates, so what is free in it is one leftover. Here
pieces have their places; so where a rectangle is cut several times the same way, what still lies between the
cuts is moved together and the rest is one free piece. These functions are compiled; see
:mod:`nesting.packing.filling` for the names.
"""

from __future__ import annotations

from nesting.packing import tables as c
from nesting.packing.compiled import kernel
from nesting.packing.fitting import worth_of
from nesting.packing.tables import Array, Table, Work
from nesting.packing.trees import add_rooms, empty, is_free, new_node, piece_at, put_away

ACROSS, ALONG = 0, 1  # a cut at one x of the sheet, at one y


@kernel
def axis_of(node: Array, s: int, n: int) -> int:
    """Which way a rectangle is cut, on the sheet; -1 if it is none, or whole, or may not be cut anew."""
    if node[s, n, c.KID] < 0 or node[s, n, c.FIXED] != 0:
        return -1
    if node[s, n, c.L0] != node[s, n, c.L1] or node[s, n, c.U0] != node[s, n, c.U1]:
        return -1
    if node[s, n, c.AX] == node[s, n, c.BX]:
        return ALONG if node[s, n, c.TURNED] else ACROSS
    if node[s, n, c.AY] == node[s, n, c.BY]:
        return ACROSS if node[s, n, c.TURNED] else ALONG
    return -1


@kernel
def extent(node: Array, s: int, n: int, axis: int) -> tuple[int, int]:
    """From where to where a rectangle reaches on the sheet, in x or in y."""
    if (node[s, n, c.TURNED] != 0) == (axis == ALONG):
        return node[s, n, c.X0], node[s, n, c.X1]
    return node[s, n, c.L0], node[s, n, c.U0]


@kernel
def move(w: Work, s: int, n: int, axis: int, by: int) -> None:
    """Move all of a subtree on the sheet, in x or in y."""
    depth, node = 1, w.nodes
    w.stack[0] = n
    while depth > 0:
        depth -= 1
        m = w.stack[depth]
        if (node[s, m, c.TURNED] != 0) == (axis == ALONG):
            for column in (c.X0, c.X1, c.AX, c.BX, c.SPOT_X):
                node[s, m, column] += by
        else:
            for column in (c.L0, c.L1, c.U0, c.U1, c.AY, c.BY, c.SPOT_Y):
                node[s, m, column] += by
        for column in (c.KID, c.OTHER):
            if node[s, m, column] >= 0:
                w.stack[depth] = node[s, m, column]
                depth += 1


@kernel
def list_parallel(w: Work, s: int, root: int, axis: int) -> tuple[int, int, int]:
    """List what a rectangle is cut into the one way, from the low end on, in the front of ``w.row``.

    Returns
    -------
    tuple
        How many pieces hold something; how many are free; and how many rows, listed from the end of
        ``w.row`` backwards, are free or hold nothing but a cut of these, the rectangle's own left out.
    """
    node, row = w.nodes, w.row
    depth, full, free, loose, last = 1, 0, 0, 0, len(w.row) - 1
    w.stack[0] = root
    while depth > 0:
        depth -= 1
        m = w.stack[depth]
        if axis_of(node, s, m) == axis:
            kid, other = node[s, m, c.KID], node[s, m, c.OTHER]
            if other >= 0 and extent(node, s, kid, axis)[0] > extent(node, s, other, axis)[0]:
                kid, other = other, kid
            for below in (other, kid):
                if below >= 0:
                    w.stack[depth] = below
                    depth += 1
        elif is_free(node, s, m):
            free += 1
        else:
            row[full] = m
            full += 1
            continue
        if m != root:
            row[last - loose] = m
            loose += 1
    return full, free, loose


@kernel
def put_rectangle(w: Work, s: int, n: int, axis: int, low: int, high: int, sides: tuple[int, int]) -> None:
    """Make a node a free rectangle, not turned."""
    node = w.nodes
    x, y = ((low, high), sides) if axis == ACROSS else (sides, (low, high))
    node[s, n, c.X0], node[s, n, c.X1], node[s, n, c.TURNED] = x[0], x[1], 0
    node[s, n, c.L0], node[s, n, c.L1], node[s, n, c.U0], node[s, n, c.U1] = y[0], y[0], y[1], y[1]
    node[s, n, c.KID], node[s, n, c.OTHER], node[s, n, c.ITEM] = c.NONE, c.NONE, c.NONE
    w.worth[s, n] = worth_of(piece_at(node, s, n))


@kernel
def close_up(t: Table, w: Work, s: int, n: int) -> None:
    """Bring together what is free beside a free node: in the largest rectangle cut one way that it is of."""
    node, root = w.nodes, w.nodes[s, n, c.PARENT]
    axis = axis_of(node, s, root) if root >= 0 else -1
    if axis < 0:
        return
    while node[s, root, c.PARENT] >= 0 and axis_of(node, s, node[s, root, c.PARENT]) == axis:
        root = node[s, root, c.PARENT]
    full, free, loose = list_parallel(w, s, root, axis)
    low, high = extent(node, s, root, axis)
    if free < 2 or (t.facts[c.REACH] >= 0 and full > 0 and extent(node, s, w.row[0], axis)[0] != low):
        return  # where rails are short, what comes to lie at the sheet's own edge may be too long for them
    for place in range(loose):
        m = w.row[len(w.row) - 1 - place]
        node[s, m, c.ITEM] = c.GONE
        w.spare[s, w.head[s, c.SPARES]] = m
        w.head[s, c.SPARES] += 1
    sides, kerf = extent(node, s, root, 1 - axis), t.facts[c.KERF]
    put_rectangle(w, s, root, axis, low, high, sides)
    for place in range(full):
        kid = w.row[place]
        begin, end = extent(node, s, kid, axis)
        if begin != low:
            move(w, s, kid, axis, low - begin)
            end += low - begin
        other = new_node(w, s, piece_at(node, s, root), 0, root)
        low = end + kerf
        put_rectangle(w, s, other, axis, low, high, sides)
        node[s, root, c.KID], node[s, root, c.OTHER], node[s, kid, c.PARENT] = kid, other, root
        a, b = ((end, sides[0]), (end, sides[1])) if axis == ACROSS else ((sides[0], end), (sides[1], end))
        node[s, root, c.AX], node[s, root, c.AY], node[s, root, c.BX], node[s, root, c.BY] = *a, *b
        root = other


@kernel
def take_out(t: Table, w: Work, index: int, n: int) -> None:
    """Free a node of the sheet at a place of the order.

    Cuts between free pieces go, and so do empty sheets.
    """
    s, node = w.order[index], w.nodes
    empty(w, s, n)
    parent = node[s, n, c.PARENT]
    while parent >= 0 and node[s, parent, c.FIXED] == 0:
        kid, other = node[s, parent, c.KID], node[s, parent, c.OTHER]
        if not is_free(w.nodes, s, kid) or (other >= 0 and not is_free(w.nodes, s, other)):
            break
        n = parent
        empty(w, s, n)
        parent = node[s, n, c.PARENT]
    w.head[s, c.DIRTY] = 1
    if w.head[s, c.PARTS] == 0:
        put_away(w, index)
        return
    if w.counts[c.MOVING]:
        close_up(t, w, s, n)
    w.head[s, c.ROOMS] = 0
    add_rooms(w, s, 0)
