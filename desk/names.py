"""Which corners and walls a job has. Names only, no numbers."""
from __future__ import annotations

from capture.language.messages import gettext
from desk.convert import corner_names, hole_name
from desk.jobfile.job import Job
from desk.jobfile.kinds import Pair
from desk.problem import Problem


def outline_of(job: Job) -> tuple[str, ...]:
    """Names of the outline's corners; A, B, C, ... for a floor given as coordinates without names."""
    return job.outline or (corner_names(len(job.floor.outline_mm)) if job.floor else ())


def rings_of(job: Job) -> list[tuple[str, ...]]:
    """The outline and every island, by the names of their corners in order."""
    if job.floor is None:
        return [job.outline, *(island.corners for island in job.islands)]
    holes = (tuple(f"{hole_name(job, n)}{i + 1}" for i in range(len(hole)))
             for n, hole in enumerate(job.floor.holes_mm))
    return [outline_of(job), *holes]


def walls_of(job: Job) -> set[frozenset[str]]:
    """Every wall of the outline and every edge of an island, as a set of its two ends."""
    return {frozenset((a, b)) for ring in rings_of(job) for a, b in zip(ring, ring[1:] + ring[:1])}


def placed_points(job: Job) -> set[str]:
    """Points of a floor given as coordinates, and pipes whose place is given outright."""
    return {name for name, _ in (job.floor.points if job.floor else ())} | {pipe.name for pipe in job.pipes
                                                                            if pipe.at_mm is not None}


def no_wall(wall: Pair, where: str, *, stage: str) -> Problem:
    """The problem of a wall that is none."""
    name = "-".join(wall)
    return Problem(slug="unknown-wall", where=where, stage=stage, name=name, says=gettext(
        "{where} speaks of a wall {name}, but the outline has no wall between these corners; name two corners that "
        "follow each other.", where=where, name=name))
