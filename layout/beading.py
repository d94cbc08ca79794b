"""Beading (quadrant, scotia, skirting) along every wall and island edge, with the angle to set the saw to at each end.

At a corner both pieces are cut along the bisector: with t the turn of the wall there (180 degrees less the corner's
angle, as the beading sees it), the saw stands at t / 2 from square; 45 at a square corner, 46 at an outside corner of 88.
A door stops it: a plain square end on each side of the opening and its casing. Lengths are along the wall.
"""
from __future__ import annotations

from math import atan2, degrees, hypot, pi

import numpy as np
from numpy.typing import NDArray

from layout.plan import BeadingPiece
from layout.room import Door, Room

#: Stretches shorter than this between a door's casing and a corner take no beading, mm.
LEAST_MM = 5.0


def beading_of(room: Room) -> tuple[BeadingPiece, ...]:
    """Every stretch, in order round the room, then round each island."""
    pieces = []
    angles = _saw_angles(room.outline_mm)
    for i, name in enumerate(room.names):
        k = (i + 1) % len(room.names)
        wall = (name, room.names[k])
        length = float(hypot(*(room.outline_mm[k] - room.outline_mm[i])))
        pieces += _wall_pieces(wall, length, angles[i], angles[k], [door for door in room.doors if set(door.wall) == set(wall)])
    for name, ring in room.islands:
        angles, n = _saw_angles(ring), len(ring)
        pieces += [BeadingPiece(where=f"{name} edge {i + 1}", length_mm=float(hypot(*(ring[(i + 1) % n] - ring[i]))),
                                start_deg=angles[i], end_deg=angles[(i + 1) % n]) for i in range(n)]
    return tuple(pieces)


def _wall_pieces(wall: tuple[str, str], length: float, start: float, end: float, doors: list[Door]) -> list[BeadingPiece]:
    """The stretches of one wall between its doors; start and end are the saw angles at its corners."""
    openings = []
    for door in doors:
        lo = door.from_mm if door.wall == wall else length - door.from_mm - door.width_mm
        side = door.casing.width_mm if door.casing is not None else 0.0
        openings.append((max(0.0, lo - side), min(length, lo + door.width_mm + side)))
    stops = [0.0, *(place for opening in sorted(openings) for place in opening), length]
    stretches = [(a, b) for a, b in zip(stops[::2], stops[1::2]) if b - a >= LEAST_MM]
    return [BeadingPiece(where="-".join(wall) + (f" ({i + 1} of {len(stretches)})" if len(stretches) > 1 else ""), length_mm=b - a,
                         start_deg=start if a == 0.0 else 0.0, end_deg=end if b == length else 0.0)
            for i, (a, b) in enumerate(stretches)]


def _saw_angles(ring: NDArray[np.float64]) -> list[float]:
    """Saw angle at each corner of a ring, degrees from square."""
    ahead = np.roll(ring, -1, axis=0) - ring
    headings = [atan2(dy, dx) for dx, dy in ahead.tolist()]
    turns = [(headings[i] - headings[i - 1] + pi) % (2 * pi) - pi for i in range(len(headings))]
    return [degrees(abs(t)) / 2 for t in turns]
