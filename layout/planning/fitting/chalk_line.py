"""The line the first rows are held to where rows run along no wall: the far edge of an early row that is long enough,
told by where it meets two walls, which a tape can set out and check (common practice, no source)."""
from __future__ import annotations

from math import atan2, pi

import numpy as np

from layout.plan import ChalkLine, OnWall, Row
from layout.region.frame import Frame
from layout.room import Room

#: Rows within this of a wall's direction run along it.
SAME_DIRECTION_RAD = pi / 180
#: A line shorter than this share of the longest row is no good guide.
LONG_ENOUGH = 0.5


def chalk_line_of(rows: tuple[Row, ...], room: Room, frame: Frame) -> ChalkLine | None:
    """The chalk line of rows that run along no wall; None where they do, or where no line meets two walls."""
    walls = list(zip(room.names, room.names[1:] + room.names[:1],
                     room.outline_mm, np.roll(room.outline_mm, -1, axis=0)))
    heading = atan2(frame.u[1], frame.u[0])
    if any(abs((atan2(*(b - a)[::-1]) - heading + pi / 2) % pi - pi / 2) < SAME_DIRECTION_RAD for _, _, a, b in walls):
        return None
    lines = [(row.number, sorted(_met(row.far_mm, walls, frame))) for row in rows]
    whole = [(number, ends) for number, ends in lines if len(ends) == 2]
    if not whole:
        return None
    longest = max(ends[1][0] - ends[0][0] for _, ends in whole)
    number, ends = next((number, ends) for number, ends in whole
                        if ends[1][0] - ends[0][0] >= LONG_ENOUGH * longest)
    return ChalkLine(row=number, ends=(ends[0][1], ends[1][1]))


def _met(t: float, walls: list[tuple[str, str, np.ndarray, np.ndarray]], frame: Frame) -> list[tuple[float, OnWall]]:
    """(s, place) wherever the line at t meets a wall."""
    found = []
    for first, second, a, b in walls:
        (s0, t0), (s1, t1) = frame.to_row(np.array([a, b])).tolist()
        if min(t0, t1) <= t < max(t0, t1):
            share = (t - t0) / (t1 - t0)
            along = float(round(share * float(np.hypot(*(b - a)))))
            found.append((s0 + share * (s1 - s0), OnWall(wall=(first, second), from_mm=along)))
    return found


def chalk_says(line: ChalkLine) -> str:
    """How the first rows are held to the line."""
    (left, right) = (f"{end.from_mm:.0f} mm from {end.wall[0]} on wall {'-'.join(end.wall)}" for end in line.ends)
    return (f"Rows run along no wall: snap a chalk line from {left} to {right}. It is the far edge of row "
            f"{line.row}: lay rows 1 to {line.row} loosely, slide them until its edge lies on the line all along, "
            "then wedge them.")
