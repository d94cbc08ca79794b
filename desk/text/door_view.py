"""Doors that do not fit their walls, in the words of the page, each with the walls that it would fit."""
from __future__ import annotations

from typing import Any

from capture.floor import Floor
from desk.convert import past_end
from desk.jobfile.job import Job

#: So many walls are offered, the longest first.
_OFFERED = 3


def show_misfits(floor: Floor, job: Job) -> list[dict[str, Any]]:
    """name, sentence, and walls by their two corners that the door fits where it begins, told from the first."""
    known = set(floor.names)
    misfits = [(door, problem) for door in job.doors if set(door.wall) <= known for problem in past_end(floor, door)]
    walls = sorted(floor.walls(), key=lambda wall: -wall.length_mm)
    return [{"name": door.name, "says": problem.says,
             "walls": [[wall.a, wall.b] for wall in walls if wall.length_mm >= door.from_mm + door.width_mm][:_OFFERED]}
            for door, problem in misfits]
