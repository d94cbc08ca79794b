"""The room's fabric as meshes: walls with openings, skirting, casing and lining, window, radiator, pipes, hall.

Same frame as `room`. Plaster lies one skirting's thickness outside the outline; a wall's texture runs in mm along it.
"""
from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from demo_photos.render import room
from demo_photos.render.shapes import Mesh, joined, prism, quad, rod, swept, turned

PLASTER = room.SKIRTING.thickness_mm
HALL_FAR, HALL_FROM, HALL_TO = -1350.0, -900.0, 2600.0


def wall_plaster(wall: tuple[str, str]) -> Mesh:
    """A wall's plaster, with its opening left out; uv = (mm along, mm up) over (5000, 2500)."""
    ends = _ends(wall, PLASTER)
    opening = _opening(wall)
    top = room.CEILING_MM
    if opening is None:
        return _panel(wall, *ends, 0.0, top)
    first, last, sill, head = opening
    parts = [(ends[0], first, 0.0, top), (last, ends[1], 0.0, top), (first, last, head, top)]
    return joined([_panel(wall, *part) for part in parts + ([(first, last, 0.0, sill)] if sill > 0 else [])])


def skirtings() -> Mesh:
    """Skirting round the room, stopping at the casing."""
    d = room.DOOR
    stops = (d.from_mm - d.casing_width_mm, d.from_mm + d.width_mm + d.casing_width_mm)
    parts = []
    for wall in room.walls():
        parts += [_skirting(wall, None, stops[0]), _skirting(wall, stops[1], None)] if wall == d.wall else \
            [_skirting(wall, None, None)]
    return joined(parts)


def door_casing() -> Mesh:
    """Two legs and a head, mitred, of one moulded section."""
    d, profile = room.DOOR, np.array(room.CASING_PROFILE)
    height = d.height_mm + d.casing_width_mm - profile[:, 0]
    feet = [room.casing_footprint(side) for side in ("first", "second")]
    low = [np.column_stack([foot, np.zeros(len(foot))]) for foot in feet]
    high = [np.column_stack([foot, height]) for foot in feet]
    return joined([swept([low[0], high[0]]), swept([low[1], high[1]]), swept(high)])


def door_lining() -> Mesh:
    """The lining inside the opening: two jambs and a head."""
    d = room.DOOR
    inner = room.CASING_PROFILE[-2][1]
    outer = -d.reveal_mm
    first, last = d.from_mm, d.from_mm + d.width_mm
    jambs = [_upright(d.wall, (s, inner), (s, outer), 0.0, d.height_mm) for s in (first, last)]
    head = quad([_at(d.wall, s, off, d.height_mm) for s, off in
                 ((first, inner), (first, outer), (last, outer), (last, inner))])
    return joined([*jambs, head])


def hall() -> Mesh:
    """The landing's walls and ceiling beyond the door."""
    d, top = room.DOOR, room.CEILING_MM
    near, last = -d.reveal_mm, d.from_mm + d.width_mm
    spans = [(HALL_FROM, d.from_mm, 0.0), (last, HALL_TO, 0.0), (d.from_mm, last, d.height_mm)]
    walls = [_upright(d.wall, (s0, near), (s1, near), z0, top) for s0, s1, z0 in spans]
    walls += [_upright(d.wall, (s, near), (s, HALL_FAR), 0.0, top) for s in (HALL_FROM, HALL_TO)]
    walls.append(_upright(d.wall, (HALL_FROM, HALL_FAR), (HALL_TO, HALL_FAR), 0.0, top))
    over = ((HALL_FROM, near), (HALL_TO, near), (HALL_TO, HALL_FAR), (HALL_FROM, HALL_FAR))
    return joined([*walls, quad([_at(d.wall, s, off, top) for s, off in over])])


def hall_carpet() -> Mesh:
    """Carpet of the landing, up to the outer edge of the reveal."""
    d = room.DOOR
    corners = [_at(d.wall, s, off, 9.0) for s, off in
               ((HALL_FROM, -d.reveal_mm), (HALL_TO, -d.reveal_mm), (HALL_TO, HALL_FAR), (HALL_FROM, HALL_FAR))]
    front = _upright(d.wall, (d.from_mm, -d.reveal_mm), (d.from_mm + d.width_mm, -d.reveal_mm), 0.0, 9.0)
    return joined([quad(corners), front])


def window_reveal() -> Mesh:
    """Plastered sides and head of the window opening."""
    w = room.WINDOW
    inner, outer, last = -PLASTER, -w.reveal_mm, w.from_mm + w.width_mm
    sides = [_upright(w.wall, (s, inner), (s, outer), w.sill_mm, w.head_mm) for s in (w.from_mm, last)]
    head = quad([_at(w.wall, s, off, w.head_mm) for s, off in
                 ((w.from_mm, inner), (w.from_mm, outer), (last, outer), (last, inner))])
    return joined([*sides, head])


def window_joinery() -> Mesh:
    """Window board, frame, mullion and two sash rails."""
    w = room.WINDOW
    last = w.from_mm + w.width_mm
    board = _block(w.wall, (w.from_mm - 32, last + 32), (-w.reveal_mm, 34), (w.sill_mm - 20, w.sill_mm + 2))
    deep, bar = (-w.reveal_mm + 10, -w.reveal_mm + 68), 58.0
    middle = (w.from_mm + last) / 2
    posts = [(w.from_mm, w.from_mm + bar), (middle - bar / 2, middle + bar / 2), (last - bar, last)]
    parts = [_block(w.wall, post, deep, (w.sill_mm, w.head_mm)) for post in posts]
    parts += [_block(w.wall, (w.from_mm, last), deep, rail) for rail in ((w.sill_mm, w.sill_mm + bar + 20),
                                                                         (w.head_mm - 390, w.head_mm - 390 + bar),
                                                                         (w.head_mm - bar, w.head_mm))]
    return joined([board, *parts])


def radiator() -> Mesh:
    """A fluted panel radiator with its top grille and two brackets."""
    r = room.RADIATOR
    flute = np.arange(r.from_mm + 12, r.to_mm - 11, 33.0)
    line = [(s + ds, r.far_mm - cut) for s in flute for ds, cut in ((0, 7), (5, 7), (11, 0), (27, 0))]
    rings = [[_at(r.wall, s, off, z) for s, off in line] for z in (r.bottom_mm + 26, r.top_mm - 26)]
    body = _block(r.wall, (r.from_mm, r.to_mm), (r.near_mm + 6, r.far_mm - 7), (r.bottom_mm, r.top_mm - 8))
    top = _block(r.wall, (r.from_mm - 2, r.to_mm + 2), (r.near_mm, r.far_mm - 2), (r.top_mm - 12, r.top_mm))
    slots = [_block(r.wall, (s, s + 4), (r.near_mm + 10, r.far_mm - 12), (r.top_mm, r.top_mm + 1.5))
             for s in np.arange(r.from_mm + 20, r.to_mm - 20, 26.0)]
    brackets = [_block(r.wall, (s, s + 40), (-PLASTER, r.near_mm + 6), (r.bottom_mm + 60, r.top_mm - 60))
                for s in (r.from_mm + 120, r.to_mm - 160)]
    return joined([swept(rings), body, top, *slots, *brackets])


def pipes() -> Mesh:
    """The two copper tails, from below the floor up into their valves."""
    return joined([turned(room.pipe_centre(p), [(p.diameter_mm / 2, -5.0), (p.diameter_mm / 2, 192.0)], sides=64)
                   for p in room.PIPES])


def pipe_holes() -> Mesh:
    """The dark, slightly ragged ring each pipe leaves in the floor boards."""
    return joined([turned(room.pipe_centre(p), [(0.1, 0.12), (p.diameter_mm / 2 + 2.2, 0.12)]) for p in room.PIPES])


def valves() -> Mesh:
    """Valve bodies and their links to the radiator."""
    parts = []
    for pipe, end in zip(room.PIPES, (room.RADIATOR.from_mm, room.RADIATOR.to_mm)):
        centre = room.pipe_centre(pipe)
        parts.append(turned(centre, [(7.6, 176.0), (13.5, 178.0), (13.5, 194.0), (11.0, 196.0), (11.0, 222.0),
                                     (0.1, 222.0)]))
        inside = end + (3.0 if end > pipe.along_mm else -3.0)
        parts.append(rod([*centre, 207.0], _at(pipe.wall, inside, pipe.off_mm, 207.0), 9.0))
    return joined(parts)


def valve_heads() -> Mesh:
    """A white ribbed head on P1's valve, a plain cap on P2's."""
    first, second = (room.pipe_centre(p) for p in room.PIPES)
    return joined([turned(first, [(0.1, 222.0), (19.0, 222.0), (22.5, 240.0), (22.5, 285.0), (18.0, 296.0),
                                  (0.1, 298.0)]), turned(second,
                                                         [(0.1, 222.0), (14.0, 222.0), (14.0, 252.0), (11.0, 257.0),
                                                          (0.1, 257.0)])])


def plates() -> Mesh:
    """Sockets, a light switch and the vent of the closed fireplace."""
    parts = [_block(wall, (s, s + 146), (-PLASTER, -PLASTER + 9), (420, 506)) for wall, s in
             ((("C", "D"), 930.0), (("G", "H"), 560.0), (("H", "A"), 2390.0), (("A", "B"), 2650.0))]
    parts.append(_block(("A", "B"), (1490, 1576), (-PLASTER, -PLASTER + 9), (1180, 1266)))
    return joined([*parts, _block(("E", "F"), (490, 719), (-PLASTER, -PLASTER + 4), (205, 357)), *_louvres()])


def floor_sheet(z_mm: float = 0.0, box: tuple[float, float, float, float] = (-300.0, 4700.0, -1500.0, 3700.0)) -> Mesh:
    """The subfloor as one rectangle (x from, x to, y from, y to), uv 0 to 1 over it; it runs on under walls and
    hall."""
    x0, x1, y0, y1 = box
    return quad([(x0, y0, z_mm), (x1, y0, z_mm), (x1, y1, z_mm), (x0, y1, z_mm)], [(0, 0), (1, 0), (1, 1), (0, 1)])


def ceiling() -> Mesh:
    """The ceiling over the room and the walls' heads."""
    x, y = (-200.0, 4600.0), (-PLASTER - 1.0, 3600.0)
    return quad([(x[i], y[j], room.CEILING_MM) for i, j in ((0, 0), (1, 0), (1, 1), (0, 1))])


def _louvres() -> list[Mesh]:
    """Slats of the vent."""
    return [_block(("E", "F"), (505, 704), (-PLASTER + 4, -PLASTER + 9), (z, z + 6))
            for z in np.arange(220.0, 340.0, 13.0)]


def _skirting(wall: tuple[str, str], first: float | None, last: float | None) -> Mesh:
    """Skirting along a wall from `first` to `last` mm (None: the mitred corner)."""
    s = room.SKIRTING
    profile = [(0.0, 0.0), (0.0, s.height_mm - s.chamfer_mm), (s.chamfer_mm, s.height_mm), (PLASTER, s.height_mm)]
    rings = []
    for out, z in profile:
        low, high = _ends(wall, out)
        stops = (low if first is None else first, high if last is None else last)
        rings.append([_at(wall, stop, -out, z) for stop in stops])
    return swept(np.array(rings).transpose(1, 0, 2))


def _panel(wall: tuple[str, str], s0: float, s1: float, z0: float, z1: float) -> Mesh:
    """A rectangle of plaster."""
    at = ((s0, z0), (s1, z0), (s1, z1), (s0, z1))
    return quad([_at(wall, s, -PLASTER, z) for s, z in at], [((s + 100) / 5000, z / 2500) for s, z in at])


def _ends(wall: tuple[str, str], out_mm: float) -> tuple[float, float]:
    """Where the wall's line, moved `out_mm` outwards, meets its neighbours': mm along from the first corner."""
    names = list(room.CORNERS)
    moved = dict(zip(names, room.offset_outline(out_mm)))
    start, along, _, _ = room.wall_frame(wall)
    return float((moved[wall[0]] - start) @ along), float((moved[wall[1]] - start) @ along)


def _opening(wall: tuple[str, str]) -> tuple[float, float, float, float] | None:
    """(from, to, sill, head) of the opening in a wall, mm."""
    if wall == room.DOOR.wall:
        d = room.DOOR
        return d.from_mm, d.from_mm + d.width_mm, 0.0, d.height_mm
    w = room.WINDOW
    return (w.from_mm, w.from_mm + w.width_mm, w.sill_mm, w.head_mm) if wall == w.wall else None


def _upright(wall: tuple[str, str], one: room.Point, two: room.Point, z0: float, z1: float) -> Mesh:
    """An upright rectangle between two (along, off) places at a wall."""
    return quad([_at(wall, *one, z0), _at(wall, *two, z0), _at(wall, *two, z1), _at(wall, *one, z1)])


def _at(wall: tuple[str, str], along: float, off: float, z: float) -> NDArray[np.float64]:
    """(3,) world point by its place at a wall."""
    return np.array([*room.at_wall(wall, along, off), z])


def _block(wall: tuple[str, str], along: tuple[float, float], off: tuple[float, float], z: tuple[float, float]) -> Mesh:
    """A box set out from a wall."""
    at = ((along[0], off[0]), (along[1], off[0]), (along[1], off[1]), (along[0], off[1]))
    return prism([room.at_wall(wall, *place) for place in at], *z)
