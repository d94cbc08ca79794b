"""Random days: rooms with a kept plan, and events that may happen at any moment of laying them. For tests and the
bench of the day."""
from __future__ import annotations

import datetime
import random

from desk.actions.day import Day
from desk.jobfile.job import Job
from desk.actions.kept_plan import with_plan
from desk.jobfile.parse import parse_job
from desk.actions.pipeline import plan_job, survey_job
from layout.replan.floor_estimation import middles
from layout.replan.events import (
    BoardsLeft, BoardsSpoiled, Event, FloorPushed, Obstacle, OffcutFound, OffcutGone, OffcutShort, PieceCut,
    PlaceMeasured, RowBegun, RowDown, Sight, ToFarWall)
from layout.replan.progress import closing_piece

DAY = datetime.date(2026, 3, 5)
WALL_SD_MM = 3.0


#: What a pack of several lengths holds: length and count.
PACKS = (((800, 2), (1200, 4), (1600, 2)), ((600, 2), (1400, 4)), ((900, 3), (1250, 3), (1800, 2)))


def tree_of(outline: list, holes: list = (), pipes: list = (), board: tuple[float, float] = (1285.0, 192.0),
            sd_mm: float = WALL_SD_MM) -> dict:
    """A job with its floor given as coordinates, each known to `sd_mm`."""
    return {"format": "tapegroove-job", "version": 1, "title": "Invented",
            "floor": {"outline": outline, "holes": list(holes), "sd": sd_mm},
            "pipes": [{"name": f"P{k + 1}", "diameter": 15, "at": list(spot)} for k, spot in enumerate(pipes)],
            "flooring": {"board": {"length": board[0], "width": board[1], "thickness": 8, "pack": 8}, "gap": 10,
                         "kerf": 3}}


def kept_job(tree: dict, *, effort: str = "preview") -> Job:
    """The job with its plan kept."""
    job = parse_job(tree)
    survey = survey_job(job, {})
    return with_plan(job, survey, plan_job(job, survey, effort=effort), on=DAY)


def small_room(rng: random.Random) -> dict:
    """A rectangle, skewed or with an L's corner out, 2 to 3.4 m a side, sometimes with a pipe."""
    w, d = rng.uniform(2000, 3400), rng.uniform(1600, 2800)
    ring = [(0, 0), (w, 0), (w, d), (0, d)] if rng.random() < 0.7 else [(0, 0), (w, 0), (w, 0.5 * d),
                                                                        (0.6 * w, 0.5 * d), (0.6 * w, d), (0, d)]
    ring = [[round(x + rng.uniform(-20, 20), 1), round(y + rng.uniform(-20, 20), 1)] for x, y in ring]
    return tree_of(ring, pipes=[(0.3 * w, 90.0)] if rng.random() < 0.3 else [],
                   board=rng.choice([(1285.0, 192.0), (1200.0, 190.0), (800.0, 130.0)]))


def with_lengths(tree: dict, rng: random.Random) -> dict:
    """The job with boards of several lengths in a pack."""
    lengths = [{"length": length, "count": count} for length, count in rng.choice(PACKS)]
    flooring = tree["flooring"] | {"board": {"width": 192, "thickness": 8, "lengths": lengths}}
    return tree | {"flooring": flooring}


def random_event(rng: random.Random, day: Day) -> Event | int:
    """Something that may happen as things stand; an int takes an entry back."""
    plan, now = day.plan, day.now
    kind = rng.choice(["row", "row", "row", "begun", "wall", "wall", "piece", "place", "spoiled", "gone", "short",
                       "found", "obstacle", "left", "push", "undo"])
    nexts = plan.rows[now.down].pieces if now.down < len(plan.rows) else plan.rows[-1].pieces
    if kind == "begun" and now.down < len(plan.rows):
        return RowBegun(row=now.down + 1)
    if kind == "wall":
        return _wall(rng, day)
    if kind == "piece":
        piece = rng.choice(nexts)
        return PieceCut(piece=piece.id, length_mm=min(plan.board.length_mm,
                                                      max(20.0, piece.to_mm - piece.from_mm + rng.gauss(0, 8))))
    if kind == "place":
        piece = closing_piece(plan, rng.choice(plan.rows[min(now.down, len(plan.rows) - 1)].runs))
        return PlaceMeasured(piece=piece.id, length_mm=max(20.0, piece.to_mm - piece.from_mm + rng.gauss(0, 15)))
    if kind == "spoiled":
        return BoardsSpoiled(count=rng.choice((1, 1, 2)))
    if kind == "gone" and now.spares:
        return OffcutGone(label=rng.choice(now.spares).label)
    if kind == "short" and any(piece.takes for piece in nexts):
        return OffcutShort(label=rng.choice([piece.takes for piece in nexts if piece.takes]))
    if kind == "found":
        return OffcutFound(label=f"F{len(day.entries) + 1}", length_mm=rng.uniform(150, plan.board.length_mm - 1),
                           keeps=(rng.choice(("left", "right")),))
    if kind == "obstacle":
        return Obstacle(name=f"N{len(day.entries) + 1}", row=now.down, left_mm=rng.uniform(300, 1500),
                        ahead_mm=rng.uniform(60, 700), diameter_mm=rng.choice((15.0, 22.0, 0.0)),
                        size_mm=(rng.uniform(60, 200), rng.uniform(60, 200)))
    if kind == "left":
        return BoardsLeft(count=rng.randint(0, 20))
    if kind == "push":
        return FloorPushed(towards_start_mm=rng.uniform(-4, 4))
    if kind == "undo" and day.entries:
        return rng.choice(day.entries)[0]
    return RowDown(row=min(now.down + rng.choice((1, 1, 2)), len(plan.rows)))


def _wall(rng: random.Random, day: Day) -> Event:
    row = rng.randint(0, min(day.now.down, len(day.plan.rows) - 1))
    sights = []
    for side, s in zip(("left", "right"), middles(day.plan, row)):
        reach = day.drift.ahead(row, s)
        if reach is not None:
            sights.append(Sight(distance_mm=max(1.0, round(reach[0] + rng.gauss(0, 5))), side=side))
    return ToFarWall(row=row, sights=tuple(sights)) if sights else RowDown(row=min(day.now.down + 1,
                                                                                   len(day.plan.rows)))
