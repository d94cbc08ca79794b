"""Another order of the corners in which every wall was seen: where one is asked about that nobody saw, two neighbours
may be listed in each other's place."""
from __future__ import annotations

from dataclasses import replace

from capture.adjustment.floor_prior import is_simple
from capture.floor import Floor
from capture.mends import OtherOrder
from capture.mishaps.outline import neighbours_swapped
from desk.checks.unseen import unseen_of
from desk.jobfile.job import Job


def seen_order(job: Job, floor: Floor) -> OtherOrder | None:
    """The one order with two neighbours swapped that leaves no wall unseen and whose walls do not cross on this floor;
    None where there is none, or more than one."""
    found: dict[frozenset[frozenset[str]], OtherOrder] = {}
    for points, outline in neighbours_swapped(job.outline):
        ring = frozenset(map(frozenset, zip(outline, outline[1:] + outline[:1])))
        spots = floor.points_mm[[floor.names.index(name) for name in outline]]
        if ring not in found and not unseen_of(replace(job, outline=outline)) and is_simple(spots):
            found[ring] = OtherOrder(where="outline", points=points, outline=outline)
    return next(iter(found.values())) if len(found) == 1 else None
