"""Beading (quadrant, scotia, skirting) along every wall and island edge: saw angles, and the bars it is sawn from.

At a corner both pieces are cut along the bisector: with t the turn of the wall there (180 degrees less the corner's
angle, as the beading sees it), the saw stands at t / 2 from square; 45 at a square corner, 46 at an outside corner of
88. A door stops it: a plain square end on each side of the opening and its casing. Lengths are along the wall.

From a bar a piece takes its longest edge: at an outside corner the front is longer than the wall by width * tan(saw
angle). A stretch longer than a bar is joined on a slant of 45 degrees, which takes the width once more for each joint:
whole bars as far as they go, the last two shared so that none is shorter than 300 mm. The bars are then shared out
exactly (`cutting_stock`); mitres are not nested into one another, which leaves a little to spare.
"""
from __future__ import annotations

from math import atan2, ceil, degrees, hypot, pi, radians, tan

import numpy as np
from numpy.typing import NDArray

from layout.materials.cutting_stock import cut_bars
from layout.plan import BarPiece, Bars, BeadingPiece
from layout.room import Beading, Door, Room

#: Stretches shorter than this between a door's casing and a corner take no beading, mm.
LEAST_MM = 5.0
JOINT_DEG = 45.0
LEAST_JOINED_MM = 300.0


def beading_of(room: Room) -> tuple[BeadingPiece, ...]:
    """Every stretch, in order round the room, then round each island."""
    pieces = []
    angles = [abs(angle) for angle in _saw_angles(room.outline_mm)]
    for i, name in enumerate(room.names):
        k = (i + 1) % len(room.names)
        wall = (name, room.names[k])
        length = float(hypot(*(room.outline_mm[k] - room.outline_mm[i])))
        pieces += _wall_pieces(wall, length, angles[i], angles[k],
                               [door for door in room.doors if set(door.wall) == set(wall)])
    for name, ring in (island for island in room.islands if island[0] not in room.framed):
        angles, n = [abs(angle) for angle in _saw_angles(ring)], len(ring)
        pieces += [BeadingPiece(where=f"{name} edge {i + 1}", length_mm=float(hypot(*(ring[(i + 1) % n] - ring[i]))),
                                start_deg=angles[i], end_deg=angles[(i + 1) % n]) for i in range(n)]
    return tuple(pieces)


def bars_of(room: Room, stretches: tuple[BeadingPiece, ...], beading: Beading, kerf_mm: float) -> Bars:
    """Fewest bars for these stretches of the room, and how each bar is sawn."""
    outside = outside_ends(room, stretches)
    pieces = [piece for stretch, ends in zip(stretches, outside) for piece in _sawn(stretch, ends, beading)]
    cutting = cut_bars([piece.length_mm for piece in pieces], beading.bar_mm, kerf_mm)
    return Bars(bar_mm=beading.bar_mm, kerf_mm=kerf_mm, width_mm=beading.width_mm, bound=cutting.bound,
                bars=tuple(tuple(pieces[i] for i in bar) for bar in cutting.bars))


def outside_ends(room: Room, stretches: tuple[BeadingPiece, ...]) -> list[tuple[bool, bool]]:
    """For each stretch of the room whether its start and its end are mitred round an outside corner: the front is
    the longer edge there."""
    corners = _outside_corners(room)
    found = [corners[stretch.where] for stretch in stretches]
    return [(starts and stretch.start_deg > 0, ends and stretch.end_deg > 0) for (starts, ends),
            stretch in zip(found, stretches)]


def _sawn(stretch: BeadingPiece, outside: tuple[bool, bool], beading: Beading) -> list[BarPiece]:
    """A stretch as the lengths sawn for it: one, or several joined on a slant."""
    starts, ends = outside
    ahead = (beading.width_mm * tan(radians(stretch.start_deg)) if starts else 0.0)
    behind = (beading.width_mm * tan(radians(stretch.end_deg)) if ends else 0.0)
    long = stretch.length_mm + ahead + behind
    if long <= beading.bar_mm:
        return [BarPiece(where=stretch.where, length_mm=long, start_deg=stretch.start_deg, end_deg=stretch.end_deg,
                         stretch=stretch.stretch)]
    step = beading.bar_mm - beading.width_mm
    count = ceil((long - beading.bar_mm) / step - 1e-9) + 1
    lengths = [beading.bar_mm] * (count - 1) + [long - (count - 1) * step]
    short = LEAST_JOINED_MM - lengths[-1]
    if short > 0:
        lengths[-2:] = [lengths[-2] - short, lengths[-1] + short]
    angles = [stretch.start_deg, *[JOINT_DEG] * (count - 1), stretch.end_deg]
    return [BarPiece(where=stretch.where, length_mm=length, start_deg=angles[k], end_deg=angles[k + 1],
                     stretch=stretch.stretch, part=(k + 1, count)) for k, length in enumerate(lengths)]


def _outside_corners(room: Room) -> dict[str, tuple[bool, bool]]:
    """For every wall and island edge, by its name: whether its start and its end are outside corners, where the
    front is longer."""
    found = {}
    inward = _saw_angles(room.outline_mm)
    for i, name in enumerate(room.names):
        k = (i + 1) % len(room.names)
        found[f"{name}-{room.names[k]}"] = (inward[i] < 0, inward[k] < 0)
    for name, ring in room.islands:
        outward, n = _saw_angles(ring), len(ring)
        sense = 1.0 if sum(outward) > 0 else -1.0
        found |= {f"{name} edge {i + 1}": (sense * outward[i] > 0, sense * outward[(i + 1) % n] > 0) for i in range(n)}
    return found


def _wall_pieces(wall: tuple[str, str], length: float, start: float, end: float,
                 doors: list[Door]) -> list[BeadingPiece]:
    """The stretches of one wall between its doors; start and end are the saw angles at its corners."""
    openings = []
    for door in doors:
        lo = door.from_mm if door.wall == wall else length - door.from_mm - door.width_mm
        side = door.casing.width_mm if door.casing is not None else 0.0
        openings.append((max(0.0, lo - side), min(length, lo + door.width_mm + side)))
    stretches, reached = [], 0.0
    for lo, hi in [*sorted(openings), (length, length)]:
        stretches += [(reached, lo)] if lo - reached >= LEAST_MM else []
        reached = max(reached, hi)
    return [BeadingPiece(where="-".join(wall), stretch=(i + 1, len(stretches)), length_mm=b - a,
                         start_deg=start if a == 0.0 else 0.0, end_deg=end if b == length else 0.0)
            for i, (a, b) in enumerate(stretches)]


def _saw_angles(ring: NDArray[np.float64]) -> list[float]:
    """Half the turn at each corner of a ring, degrees, positive where it turns left; its size is the saw's angle
    from square."""
    ahead = np.roll(ring, -1, axis=0) - ring
    headings = [atan2(dy, dx) for dx, dy in ahead.tolist()]
    turns = [(headings[i] - headings[i - 1] + pi) % (2 * pi) - pi for i in range(len(headings))]
    return [degrees(t) / 2 for t in turns]
