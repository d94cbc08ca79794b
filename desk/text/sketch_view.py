"""The sketch beside the photo: what is known of the floor while its corners are being named, for the page."""
from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import Any

from capture.adjustment.measuring_plan import measuring_plan
from capture.adjustment.survey import Survey
from capture.network import Network
from capture.seeing.outline_order import better_order, crossing_walls, settled, with_corner
from capture.seeing.rough_floor import RoughFloor, rough_floor
from desk.actions.answers import unseen_answer
from desk.convert import to_network
from desk.jobfile.job import Job
from desk.store.photos import Photos


def show_sketch(job: Job, photos: Photos, near: Survey | None, fresh: Sequence[str] = (), *, free: bool = False,
                ups: Mapping[str, Sequence[float]] | None = None) -> dict[str, Any]:
    """Where the corners are, as far as can be told, and what that tells: plan mm, angles in degrees.

    near: the last survey, None if there is none. fresh: corners just named, whose place in the order the photos are to
    tell; free: nobody has put the others in order by hand, so that they may be moved too. ups: by photo, which way is
    up, where its picture told. `outline` is the order with the fresh ones in their places; `order` a better one where
    the job's own is contradicted.
    """
    network = to_network(job, photos)
    near = near if near is not None and len(set(network.outline) & set(near.floor.outline)) >= 3 else None
    rough_of = cache(lambda order: rough_floor(replace(network, outline=order), near=near, ups=ups))
    outline = _ordered(job, fresh, rough_of, free=free)
    job, network = replace(job, outline=outline), replace(network, outline=outline)
    rough, order = rough_of(outline), better_order(outline, rough_of)
    crossing = crossing_walls(outline, rough)
    return {"points": {name: [round(float(spot.real), 1), round(float(spot.imag), 1)]
                       for name, spot in rough.places.items()},
            "outline": list(outline), "placed": sorted(rough.placed),
            "drawn": sorted(name for name, _ in job.sketch if name in outline),
            "unseen": unseen_answer(job) if len(outline) > 2 else [],
            "crossing": [list(wall) for wall in crossing] if crossing else [],
            "order": list(order) if order else None,
            "ahead": _ahead(rough, job),
            "measure": _measure(network, rough, near)}


def _ordered(job: Job, fresh: Sequence[str], rough_of: Callable[[tuple[str, ...]], RoughFloor], *,
             free: bool) -> tuple[str, ...]:
    """The outline with the corners just named where the photos show them."""
    outline = tuple(name for name in job.outline if name not in fresh)
    for name in (name for name in fresh if name in job.outline):
        outline = with_corner(outline, name, rough_of)
    if not (fresh and free and len(outline) > 2):
        return outline
    outline = settled(outline, rough_of)
    # Either way round is the same room: the list runs from the first corner the way the letters do.
    back = (outline[0], *outline[:0:-1])
    return min(outline, back, key=lambda one: (len(one[1]), one[1]))


def _ahead(rough: RoughFloor, job: Job) -> float | None:
    """What lies ahead on the drawing, degrees anticlockwise from A to B: as the first photo looks; else as the outline
    was drawn."""
    if rough.ahead is not None:
        return round(math.degrees(rough.ahead), 1)
    drawn = dict(job.sketch)
    if len(job.outline) < 2 or not set(job.outline[:2]) <= set(drawn):
        return None
    (x, y), (to_x, to_y) = (drawn[name] for name in job.outline[:2])
    return round(90.0 - math.degrees(math.atan2(to_y - y, to_x - x)), 1)


def _measure(network: Network, rough: RoughFloor, near: Survey | None) -> dict[str, Any]:
    """What was taped between corners, and what is still to be taped."""
    names = set(network.outline)
    done = len({frozenset((tape.a, tape.b)) for tape in network.tapes if {tape.a, tape.b} <= names})
    if len(names) < 2:
        return {"done": done, "next": []}
    floor = near.floor if near is not None and _is_for(near, network) else rough.as_floor()
    if not floor.cov_mm2.any():
        return {"done": done, "next": []}
    return {"done": done, "next": [list(pair) for pair in measuring_plan(floor, network)]}


def _is_for(near: Survey, network: Network) -> bool:
    """Whether a survey is of just these corners and lengths."""
    taped = sorted(tuple(sorted((tape.a, tape.b))) for tape in network.tapes)
    told = sorted(tuple(sorted(reading.names)) for reading in near.readings if reading.kind == "tape")
    return set(near.floor.outline) == set(network.outline) and taped == told
