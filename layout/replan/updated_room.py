"""The room as it is now known: corners ahead of the laid rows moved to where the readings put them, new obstacles
added.

Plan frame in and out, mm. What the laid rows touch stays: a corner whose wall passes them slides along that wall, so
their ends lie as they did. Cover width is taken up in the far corners (`layout.replan.floor_estimation.Drift.moved`):
boards keep their planned width in the plan.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Point, Polygon

from capture.language.messages import lazy_gettext
from layout.region.inset import OVERLAP_MM2
from layout.replan.floor_estimation import Drift
from layout.errors import LayoutError
from layout.replan.events import Obstacle
from layout.validation import check_pipes
from layout.plan import Plan
from layout.room import Pipe, Room
from layout.region.baseline import ALONG_SLOPE

#: A floor whose corners all stay within this is the floor of the plan, mm.
MATTERS_MM = 1.0
#: Nearer than this to the laid rows nothing is moved, mm.
CLEAR_MM = 1.0

Places = NDArray[np.float64]


def corrected(plan: Plan, room: Room, drift: Drift, held: int) -> Room:
    """The room in force with the corners moved that the readings move by more than a millimetre; `room` itself if
    none is."""
    target = dict(zip(drift.floor.names, (drift.places[:, 1] + drift.moved()).tolist()))
    front = plan.rows[held - 1].far_mm if held else plan.rows[0].near_mm
    outline = _to_rows(plan, room.outline_mm)
    moved = _moved_ring(outline, [target.get(name) for name in room.names], front)
    islands = tuple((name, _island(plan, drift, name, ring, target, front)) for name, ring in room.islands)
    pipes = tuple(replace(pipe, centre_mm=_pipe(plan, pipe, target, front)) for pipe in room.pipes)
    steps = [np.abs(moved - outline).max(), *(np.abs(a - np.asarray(b)).max() for (_, a),
                                              (_, b) in zip(islands, room.islands)),
             *(np.abs(np.subtract(a.centre_mm, b.centre_mm)).max() for a, b in zip(pipes, room.pipes))]
    if max(steps) < MATTERS_MM:
        return room
    return replace(room, outline_mm=_to_plan(plan, moved), islands=islands, pipes=pipes)


def with_obstacles(plan: Plan, room: Room, obstacles: Sequence[Obstacle], held: int) -> Room:
    """The room with new pipes and boxes. Raises LayoutError (slug under-rows) for one that stands in the laid rows."""
    pipes, islands = list(room.pipes), list(room.islands)
    for one in obstacles:
        if one.name in {pipe.name for pipe in pipes} | {name for name, _ in islands}:
            continue
        s, t = _place(plan, one)
        deep = one.diameter_mm / 2 if one.diameter_mm else 0.0
        if held and t - deep - plan.gap_mm < plan.rows[held - 1].far_mm:
            raise LayoutError("under-rows", lazy_gettext(
                "{name} reaches into row {held}, which lies already; cut that board where it lies, or lift the row "
                "and take back its entry.", name=one.name, held=held), where="day")
        if one.diameter_mm:
            pipes.append(Pipe(name=one.name, centre_mm=plan.to_plan(s, t), diameter_mm=one.diameter_mm))
        else:
            along, across = one.size_mm
            ring = [plan.to_plan(s + a, t + b) for a, b in ((0.0, 0.0), (0.0, across), (along, across), (along, 0.0))]
            islands.append((one.name, np.array(ring)))
    return replace(room, pipes=tuple(pipes), islands=tuple(islands))


def refuse_obstacle(plan: Plan, room: Room, one: Obstacle) -> None:
    """Refuse what cannot stand there. Raises LayoutError: bad-pipe for its width, bad-island outside the floor or in
    a box that stands there."""
    (s, t), (along, deep) = _place(plan, one), one.size_mm
    if one.diameter_mm:
        check_pipes(replace(room, pipes=(Pipe(name=one.name, centre_mm=plan.to_plan(s, t),
                                              diameter_mm=one.diameter_mm),)))
    reach = Point(s, t) if one.diameter_mm else Polygon([(s, t), (s + along, t), (s + along, t + deep), (s, t + deep)])
    if not Polygon(_to_rows(plan, room.outline_mm)).covers(reach):
        edge = lazy_gettext("the far edge of row {row}", row=one.row) if one.row else lazy_gettext("the start wall")
        said = (lazy_gettext("That pipe would stand outside the floor; measure again, from the left wall and from "
                             "{edge}.", edge=edge) if one.diameter_mm else
                lazy_gettext("That box would stand outside the floor; measure again, from the left wall and from "
                             "{edge}.", edge=edge))
        raise LayoutError("bad-island", said, where="day")
    for name, ring in room.islands:
        if not one.diameter_mm and Polygon(_to_rows(plan, ring)).intersection(reach).area > OVERLAP_MM2:
            raise LayoutError("bad-island", lazy_gettext(
                "That box would stand partly where {name} stands; measure again, or take its entry back and tell "
                "one box round both.", name=name), where="day")


def without_obstacles(plan: Plan, room: Room, names: set[str], held: int) -> Room:
    """The room without those of these pipes and boxes that the laid rows have not reached: what was told wrong is
    told again, or not."""
    front = plan.rows[held - 1].far_mm + plan.gap_mm if held else float("-inf")
    pipes = tuple(pipe for pipe in room.pipes if pipe.name not in names
                  or plan.to_row_frame(pipe.centre_mm)[1] - pipe.diameter_mm / 2 < front)
    islands = tuple((name, ring) for name, ring in room.islands if name not in names
                    or _to_rows(plan, ring)[:, 1].min() < front)
    return replace(room, pipes=pipes, islands=islands)


def _place(plan: Plan, one: Obstacle) -> tuple[float, float]:
    """(s, t) of an obstacle told from the left wall and from a row's far edge (row 0: the start wall)."""
    row = plan.rows[max(one.row, 1) - 1]
    left = min(plan.to_row_frame(point)[0] for piece in row.pieces for point in piece.outline_mm) - plan.gap_mm
    edge = row.far_mm if one.row else plan.rows[0].near_mm - plan.gap_mm
    return left + one.left_mm, edge + one.ahead_mm


def _moved_ring(ring: Places, targets: list[float | None], front: float) -> Places:
    """A ring (row frame) with each corner ahead of the front put at its target t, along a wall that passes the front
    if it ends one."""
    moved = ring.copy()
    for k, target in enumerate(targets):
        if target is None or min(target, ring[k, 1]) < front + CLEAR_MM or abs(target - ring[k, 1]) < 1e-9:
            continue
        behind = [other for other in (ring[k - 1], ring[(k + 1) % len(ring)]) if other[1] < front + CLEAR_MM]
        if not behind:
            moved[k, 1] = target
        elif len(behind) == 1 and ring[k, 1] - behind[0][1] > ALONG_SLOPE * abs(ring[k, 0] - behind[0][0]):
            moved[k] = behind[0] + (ring[k] - behind[0]) * (target - behind[0][1]) / (ring[k, 1] - behind[0][1])
    return moved


def _island(plan: Plan, drift: Drift, name: str, ring: Places, target: dict[str, float], front: float) -> Places:
    """An island wholly ahead of the front, moved; any other as it is."""
    corners = next((island.corners for island in drift.floor.islands if island.name == name), None)
    places = _to_rows(plan, np.asarray(ring, dtype=np.float64))
    if corners is None or len(corners) != len(places) or places[:, 1].min() < front + CLEAR_MM:
        return np.asarray(ring, dtype=np.float64)
    return _to_plan(plan, _moved_ring(places, [target.get(corner) for corner in corners], front))


def _pipe(plan: Plan, pipe: Pipe, target: dict[str, float], front: float) -> tuple[float, float]:
    s, t = plan.to_row_frame((float(pipe.centre_mm[0]), float(pipe.centre_mm[1])))
    clear = front + pipe.diameter_mm / 2 + plan.gap_mm + CLEAR_MM
    moved = pipe.name in target and min(t, target[pipe.name]) > clear
    return plan.to_plan(s, target[pipe.name]) if moved else pipe.centre_mm


def _to_rows(plan: Plan, points: Places) -> Places:
    return (np.asarray(points, dtype=np.float64) - np.array(plan.start_mm)) @ np.array([plan.u, plan.v]).T


def _to_plan(plan: Plan, places: Places) -> Places:
    return np.array(plan.start_mm) + places @ np.array([plan.u, plan.v])
