"""Which floor points a camera sees, from the room's geometry alone, without a renderer.

World frame: mm, z up. Walls are full-height; everything else that can hide a floor point is a prism: a convex
footprint with a bottom and a top. A corner is looked for 3 mm off its walls and 1.5 mm above the floor, a pipe at its
near side: the exact corner lies in the wall and would hide itself.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon

from demo_photos.render import room
from demo_photos.render.camera import View, in_picture, project

NUDGE_OFF_MM, NUDGE_UP_MM = 3.0, 1.5


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Prism:
    """An upright obstacle: (k, 2) convex footprint, mm, and its bottom and top, mm."""

    footprint: NDArray[np.float64]
    bottom_mm: float
    top_mm: float


def obstacles() -> tuple[Prism, ...]:
    """Radiator, pipes and props as prisms."""
    r = room.RADIATOR
    panel = np.array([room.at_wall(r.wall, s, off) for s, off in
                      ((r.from_mm, r.near_mm), (r.to_mm, r.near_mm), (r.to_mm, r.far_mm), (r.from_mm, r.far_mm))])
    found = [Prism(footprint=panel, bottom_mm=r.bottom_mm, top_mm=r.top_mm)]
    found += [_cylinder(room.pipe_centre(p), p.diameter_mm / 2, r.bottom_mm + 40.0) for p in room.PIPES]
    found += [_cylinder(np.array(p.centre), p.radius_mm, p.height_mm) for p in room.PROPS]
    found += [Prism(footprint=room.slab_footprint(s), bottom_mm=s.bottom_mm, top_mm=s.bottom_mm + s.size_mm[2])
              for s in room.SLABS]
    found += [Prism(footprint=_leg(side), bottom_mm=0.0, top_mm=room.DOOR.height_mm) for side in ("first", "second")]
    return tuple(found)


def aim_at(name: str, view: View) -> NDArray[np.float64]:
    """(3,) the point to aim the line of sight at for a named floor point."""
    place = room.floor_points()[name]
    pipe = next((p for p in room.PIPES if p.name == name), None)
    if name in room.CORNERS:
        inside = dict(zip(room.CORNERS, room.offset_outline(-NUDGE_OFF_MM)))[name]
        return np.array([*inside, NUDGE_UP_MM])
    if pipe is None:
        return np.array([place[0] + NUDGE_OFF_MM, place[1] + NUDGE_OFF_MM, NUDGE_UP_MM])
    towards = np.array(view.eye_mm[:2]) - place
    near = place + towards / np.hypot(*towards) * (pipe.diameter_mm / 2 + NUDGE_OFF_MM)
    return np.array([*near, NUDGE_UP_MM])


def looks(view: View) -> dict[str, tuple[NDArray[np.float64], str]]:
    """For every named floor point: its true px and "seen", "hidden" (something stands before it) or "outside"."""
    answer = {}
    for name, place in room.floor_points().items():
        px = project(view, np.array([[*place, 0.0]]))
        inside = bool(in_picture(view, px, border=4.0)[0])
        state = "outside" if not inside else "seen" if free_sight(view, aim_at(name, view)) else "hidden"
        answer[name] = (px[0], state)
    return answer


def free_sight(view: View, aim: NDArray[np.float64]) -> bool:
    """Whether nothing stands between the camera and a world point."""
    eye = np.array(view.eye_mm)
    if not _open_floor().covers(LineString([eye[:2], aim[:2]])):
        return False
    return not any(_blocks(prism, eye, aim) for prism in obstacles())


def _open_floor() -> Polygon:
    """The floor with the doorway, through which one can look."""
    d = room.DOOR
    ends = (d.from_mm, d.from_mm + d.width_mm)
    doorway = Polygon([room.at_wall(d.wall, ends[i], off) for i, off in ((0, 1), (1, 1), (1, -900), (0, -900))])
    return Polygon(room.outline()).union(doorway)


def _leg(side: str) -> NDArray[np.float64]:
    """The part of a casing leg that stands out from the wall line, as its bounding rectangle."""
    d = room.DOOR
    outer = d.from_mm - d.casing_width_mm if side == "first" else d.from_mm + d.width_mm
    return np.array([room.at_wall(d.wall, outer + s, off) for s, off in
                     ((0, 0), (d.casing_width_mm, 0), (d.casing_width_mm, d.casing_proud_mm), (0, d.casing_proud_mm))])


def _blocks(prism: Prism, eye: NDArray[np.float64], aim: NDArray[np.float64]) -> bool:
    """Whether the segment from eye to aim runs through the prism."""
    cut = LineString([eye[:2], aim[:2]]).intersection(Polygon(prism.footprint))
    if cut.is_empty or cut.length < 1e-6:
        return False
    reach = np.hypot(*(aim - eye)[:2])
    heights = [eye[2] + (aim[2] - eye[2]) * np.hypot(*(np.array(p) - eye[:2])) / reach for p in cut.coords]
    return min(heights) < prism.top_mm and max(heights) > prism.bottom_mm


def _cylinder(centre: NDArray[np.float64], radius: float, height: float) -> Prism:
    """A cylinder as a 24-sided prism standing on the floor."""
    turn = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    return Prism(footprint=centre + radius * np.stack([np.cos(turn), np.sin(turn)], axis=1), bottom_mm=0.0,
                 top_mm=height)
