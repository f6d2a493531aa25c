"""Which sheets leave hardly any room to spare, on their cutting trees: such a sheet had better not be short.

As :func:`nesting.cutting.room.play` has it, with less for parts that lean and for kerf along slanted cuts.
These functions are compiled.
"""

from __future__ import annotations

from nesting.packing import tables as c
from nesting.packing.compiled import kernel
from nesting.packing.tables import Array, Table, Work


@kernel
def spans_of(node: Array, s: int, n: int) -> tuple[int, int]:
    """How long a node's piece is along the sheet and across it; of a slanted piece the least."""
    along = node[s, n, c.X1] - node[s, n, c.X0]
    across = min(node[s, n, c.U0] - node[s, n, c.L0], node[s, n, c.U1] - node[s, n, c.L1])
    return (across, along) if node[s, n, c.TURNED] else (along, across)


@kernel
def of_leaf(t: Table, w: Work, s: int, n: int) -> None:
    """Room to spare in a piece that is not cut: all of a free one."""
    node, slack = w.nodes, w.slack
    along, across = spans_of(node, s, n)
    item = node[s, n, c.ITEM]
    slack[n, c.HOLDS] = int(item != c.NONE)
    if item >= 0:
        shape = node[s, n, c.SHAPE]
        length, width = t.shapes[shape, c.LENGTH], max(t.shapes[shape, c.LEFT], t.shapes[shape, c.RIGHT])
        if node[s, n, c.TURNED]:
            length, width = width, length
        along, across = max(0, along - length), max(0, across - width)
    slack[n, c.BY_LENGTH], slack[n, c.BY_WIDTH] = along, across


@kernel
def of_cut(w: Work, s: int, n: int) -> None:
    """Room to spare in a row adds up; of rows side by side the tightest counts."""
    node, slack = w.nodes, w.slack
    kid, other = node[s, n, c.KID], node[s, n, c.OTHER]
    upright, level = node[s, n, c.AX] == node[s, n, c.BX], node[s, n, c.AY] == node[s, n, c.BY]
    way, across = c.BY_LENGTH, c.BY_WIDTH
    if upright == (node[s, n, c.TURNED] != 0):
        way, across = across, way
    spans, of_kid = spans_of(node, s, n), spans_of(node, s, kid)
    total, gap, held = slack[kid, way], spans[way] - of_kid[way], slack[kid, c.HOLDS]
    least = slack[kid, across] if held else spans[across]
    if other >= 0:
        total += slack[other, way]
        gap -= spans_of(node, s, other)[way]
        held += slack[other, c.HOLDS]
        if slack[other, c.HOLDS]:
            least = min(least, slack[other, across])
    if held < 2 and (upright or level):
        total += gap  # the kerf of a cut that is not needed once the waste beyond it is gone
    slack[n, way], slack[n, across], slack[n, c.HOLDS] = total, least, int(held > 0)


@kernel
def is_tight(t: Table, w: Work, s: int) -> bool:
    """Whether a sheet without bad zones leaves less room than it may be short, in either way."""
    size, node = w.head[s, c.SIZE], w.nodes
    if t.sizes[size, c.ZONES] or t.sizes[size, c.PLAY] >= t.facts[c.TIGHT]:
        return False
    n = 0
    while True:
        while node[s, n, c.KID] >= 0:
            n = node[s, n, c.KID]
        of_leaf(t, w, s, n)
        while n != 0:
            above = node[s, n, c.PARENT]
            if node[s, above, c.KID] == n and node[s, above, c.OTHER] >= 0:
                n = node[s, above, c.OTHER]
                break
            of_cut(w, s, above)
            n = above
        if n == 0:
            least = min(w.slack[0, c.BY_LENGTH], w.slack[0, c.BY_WIDTH])
            return bool(least + t.sizes[size, c.PLAY] < t.facts[c.TIGHT])
