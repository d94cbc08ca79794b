"""The job's readings as the survey takes them, one entry a kind; what a job leaves unsaid of them is decided here."""
from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from capture.network import (
    Mark,
    Network,
    OnWall,
    PaperSheet,
    SquareCorner,
    TapeLength,
    WallLine,
    WallOffset,
    default_tape_sd_mm,
)
from capture.readings.table import KINDS
from desk.jobfile.job import Job

SQUARE_SD_DEG = 0.5

#: The job's readings by their field of `Network`.
READINGS: Mapping[str, Callable[[Job], Sequence[Any]]] = {
    "marks": lambda job: [
        Mark(photo=p.file, point=m.point, x_px=m.x_px, y_px=m.y_px, where=m.where, **said(sd_px=m.sd_px))
        for p in job.photos
        for m in p.marks
    ],
    "wall_lines": lambda job: [
        WallLine(photo=p.file, wall=e.wall, points_px=e.points_px, where=e.where, **said(sd_px=e.sd_px))
        for p in job.photos
        for e in p.edges
        if e.points_px
    ],
    "tapes": lambda job: [
        TapeLength(
            a=t.between[0],
            b=t.between[1],
            length_mm=t.length_mm,
            where=t.where,
            sd_mm=t.sd_mm or default_tape_sd_mm(t.length_mm),
        )
        for t in job.tapes
    ],
    "offsets": lambda job: [
        WallOffset(
            point=o.point,
            wall=o.wall,
            distance_mm=o.length_mm,
            where=o.where,
            sd_mm=o.sd_mm or default_tape_sd_mm(o.length_mm),
        )
        for o in job.offsets
    ],
    "squares": lambda job: [
        SquareCorner(corner=name, sd_rad=math.radians(job.square_sd_deg or SQUARE_SD_DEG), where=f"square[{i}]")
        for i, name in enumerate(job.square)
    ],
    "on_walls": lambda job: [
        OnWall(point=o.point, wall=o.wall, where=o.where, **said(sd_mm=o.sd_mm)) for o in job.on_wall
    ],
    "papers": lambda job: [PaperSheet(corners=p.corners, sides_mm=p.sides_mm, where=p.where) for p in job.papers],
}


def readings_of(job: Job) -> dict[str, Any]:
    """The readings of a job, by their field of `Network`."""
    return {field: tuple(readings(job)) for field, readings in READINGS.items()}


def mentions_of(job: Job) -> Iterator[tuple[str, str]]:
    """Every (point, place) a reading of the job speaks of."""
    network = Network(outline=job.outline, **readings_of(job))
    return (mention for kind in KINDS for mention in kind.points(network))


def said(**values: float | None) -> dict[str, float]:
    """Only what the job says, so that the type's own default holds for the rest."""
    return {key: value for key, value in values.items() if value is not None}
