"""Where the rows begin: the wall they start from, and the line through all walls beside it, along which row 1 is
laid with a string."""
from __future__ import annotations

import numpy as np

from capture.floor import Floor
from layout.plan import Plan, Row

#: Walls this near to the start wall's own line, seen across the rows, lie in it, mm.
IN_LINE_MM = 40.0
#: A wall within 20 degrees of the rows runs along them.
ALONG_SLOPE = float(np.tan(np.radians(20.0)))
#: A row that reaches no further from the gap at its wall is none there: a thinner strip cannot be sawn, mm.
LEAST_ROW_MM = 20.0

Edge = tuple[int, int]


def start_wall(plan: Plan, floor: Floor) -> Edge:
    """The wall the rows start from, as two places in `floor.names`: the wall along the rows nearest their start;
    with none, the nearest."""
    places = _places(plan, floor)

    def key(edge: Edge) -> tuple[bool, float, float]:
        (s0, t0), (s1, t1) = (places[k] for k in edge)
        return abs(t1 - t0) > abs(s1 - s0) * ALONG_SLOPE, round((t0 + t1) / 2, 3), -float(np.hypot(s1 - s0, t1 - t0))
    return min(outer_edges(floor), key=key)


def start_walls(plan: Plan, floor: Floor) -> tuple[Edge, ...]:
    """The start wall and every wall whose both ends lie in its line."""
    places, start = _places(plan, floor), start_wall(plan, floor)
    levels = [places[k][1] for k in start]
    return tuple(edge for edge in outer_edges(floor) if edge == start
                 or all(min(levels) - IN_LINE_MM < places[end][1] < max(levels) + IN_LINE_MM for end in edge))


def start_line(plan: Plan, floor: Floor) -> Edge:
    """The two corners, furthest apart, of all walls in one line with the start wall, in its sense."""
    places, (i, j) = _places(plan, floor), start_wall(plan, floor)
    inline = [k for edge in start_walls(plan, floor) for k in edge]
    first, last = (min, max) if places[i][0] < places[j][0] else (max, min)
    return first((*inline, i), key=lambda k: places[k][0]), last((*inline, j), key=lambda k: places[k][0])


def row_at_wall(plan: Plan, floor: Floor) -> tuple[Row, float]:
    """(the row at the start wall, its width there, the gap taken off, mm): rows inside a doorway of that wall come
    before it."""
    places = _places(plan, floor)
    edge = max(0.0, min(places[k][1] for k in start_wall(plan, floor)) + plan.gap_mm)
    row = next((row for row in plan.rows if row.far_mm - edge >= LEAST_ROW_MM), plan.rows[0])
    return row, row.far_mm - max(edge, row.near_mm)


def edges_of(floor: Floor) -> list[Edge]:
    """Walls, then edges of islands, as places in `floor.names`."""
    return [(floor.index(a), floor.index(b)) for ring in rings_of(floor) for a, b in zip(ring, ring[1:] + ring[:1])]


def outer_edges(floor: Floor) -> list[Edge]:
    """The walls."""
    return edges_of(floor)[:len(floor.outline)]


def rings_of(floor: Floor) -> list[tuple[str, ...]]:
    """Names of the outline's corners, and of every island's."""
    return [floor.outline, *(island.corners for island in floor.islands)]


def _places(plan: Plan, floor: Floor) -> dict[int, tuple[float, float]]:
    """Place of every wall's corner in the row frame, mm."""
    return {k: plan.to_row_frame((float(floor.points_mm[k][0]), float(floor.points_mm[k][1])))
            for edge in outer_edges(floor) for k in edge}
