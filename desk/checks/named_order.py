"""Another order of the corners in which every wall that the job names is one: where something lies along two corners
that are no neighbours, they were most likely listed in another order than they stand in."""
from __future__ import annotations

from collections.abc import Iterable, Iterator

from capture.language.messages import gettext
from capture.mends import OtherOrder
from capture.mishaps.outline import neighbours_swapped, orders
from desk.jobfile.job import Job
from desk.jobfile.kinds import Pair
from desk.names import MOST_SURVEYED, walls_of
from desk.problem import Problem


def no_walls(job: Job, named: Iterable[tuple[Pair, str]], *, stage: str) -> Iterator[Problem]:
    """The problems of walls that are none, each with its place in the job, and the order of the corners in which all
    would be walls."""
    walls = walls_of(job)
    none = [(wall, where) for wall, where in named if frozenset(wall) not in walls]
    order = named_order(job) if none else None
    for wall, where in none:
        name = "-".join(wall)
        says = gettext(
            "{where} speaks of a wall {name}, but the outline has no wall between these corners; name two corners that "
            "follow each other.", where=where, name=name) if order is None else gettext(
            "{where} speaks of a wall {name}, but the outline has no wall between these corners; in the order "
            "{outline} every wall that the job names is one.", where=where, name=name, outline="-".join(order.outline))
        yield Problem(slug="unknown-wall", where=where, stage=stage, name=name, says=says,
                      mends=() if order is None else (order,))


def named_walls(job: Job) -> Iterator[Pair]:
    """Walls that something in the job lies along, whether there are such walls or not; no length off a wall, since its
    line may run between any two corners of a bowed one."""
    yield from (edge.wall for photo in job.photos for edge in photo.edges)
    yield from (reading.wall for reading in job.on_wall)
    yield from job.straight
    yield from (door.wall for door in job.doors)
    yield from (wall for wall in (job.flooring.along, job.flooring.start) if wall is not None)


def named_order(job: Job) -> OtherOrder | None:
    """The one order that makes every named wall one, with two neighbours swapped or else one other change; None where
    there is none or more than one, where nothing is amiss, and where the corners are not for surveying."""
    if job.floor is not None or len(job.outline) > MOST_SURVEYED:
        return None
    outline = frozenset(map(frozenset, _pairs(job.outline)))
    wanted = {frozenset(wall) for wall in named_walls(job)} - (walls_of(job) - outline)
    if wanted <= outline or not all(wall <= set(job.outline) for wall in wanted):
        return None
    return _only(neighbours_swapped(job.outline), wanted) or _only(orders(job.outline), wanted)


def _only(tried: Iterable[tuple[tuple[str, ...], tuple[str, ...]]], wanted: set[frozenset[str]]) -> OtherOrder | None:
    """The order among these that has every wanted wall, if all that have are the same ring."""
    fit: dict[frozenset[frozenset[str]], OtherOrder] = {}
    for points, outline in tried:
        ring = frozenset(map(frozenset, _pairs(outline)))
        if wanted <= ring:
            fit.setdefault(ring, OtherOrder(where="outline", points=points, outline=outline))
    return next(iter(fit.values())) if len(fit) == 1 else None


def _pairs(ring: tuple[str, ...]) -> list[tuple[str, str]]:
    return list(zip(ring, ring[1:] + ring[:1]))
