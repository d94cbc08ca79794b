"""Is the paper enough? Drawn rooms, real surveys' covariances, packs as they are printed, and a fitter who has nothing
else.

``python -m tests.bench.printpack.run_paper [rooms] [first seed]`` draws rooms (rectangle, L, alcove, chimney breast,
bay), takes the covariance that a survey of each would have (two photos and tape, or tape alone), plans and prints, and
has `tests.support.fitter` lay the floor from booklet.pdf and cuts.csv: first in the room as surveyed, with no error of
the hand (is the floor whole?), then in rooms that differ from the survey by that covariance, sawing to 1 mm (sd of each
mark), boards off by their own tolerance: how much of the walls' length has a gap from 5 mm to what the beading covers.
Baseline: the same fitter, same errors, who measures nothing in place.
"""
from __future__ import annotations

import datetime
import sys
import time
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon
from shapely.ops import unary_union

from capture.adjustment.least_squares import assess
from capture.floor import Floor
from capture.adjustment.parameter_index import index_network
from layout.errors import LayoutError
from layout.planning.planner import plan_floor
from layout.room import Board, Pipe, Room, Wishes
from layout.region.baseline import start_line
from printpack.job import PackJob
from printpack.outputs.pack import make_pack
from printpack.paper import A4, LETTER
from tests.support import simulate
from tests.support.fitter import Hand, Laid, gaps, lay, read_booklet, read_cuts

BOARDS = (Board(length_mm=1285, width_mm=192, thickness_mm=8, pack=8),
          Board(length_mm=1380, width_mm=193, thickness_mm=8, pack=8),
          Board(length_mm=1200, width_mm=190, thickness_mm=7, pack=10),
          Board(length_mm=2050, width_mm=240, thickness_mm=12, pack=5))
SURVEYS = ({"photos": 2, "diagonals": 2, "squares": True, "see_through": True}, {"photos": 0, "diagonals": 9})
#: Every figure on paper is rounded to a millimetre; at a slanted end the roundings of a cut and of its place add up.
ROUNDED_MM = 2.5
NARROWEST_GAP_MM, BEADING_MM, BEADING_LAP_MM = 5.0, 18.0, 6.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Case:
    """A room with its survey, its pack as printed, and the job it was made from."""

    shape: str
    floor: Floor
    job: PackJob
    pack: dict[str, bytes]


def draw_case(seed: int, *, right_to_left: bool = False, packed: bool = True) -> Case:
    """The room of a seed; rooms that no plan can be made for are drawn again. packed: whether its pack is made."""
    rng = np.random.default_rng(seed)
    while True:
        drawn = simulate.draw_determined(rng, **SURVEYS[seed % len(SURVEYS)])
        ix = index_network(drawn.network)
        state, count = simulate.truth_state(drawn), len(drawn.corners)
        cov = assess(ix, state).cov[:2 * count, :2 * count]
        floor = Floor(names=drawn.names, points_mm=state.points_mm[:count], cov_mm2=(cov + cov.T) / 2,
                      outline=drawn.names)
        x, y = floor.points_mm[:, 0].max(), floor.points_mm[:, 1].max()
        pipes = (Pipe(name="P1", centre_mm=(float(rng.uniform(0.2, 0.8) * x), 60.0),
                      diameter_mm=15.0),) if rng.random() < 0.5 and y > 2000 else ()
        room = Room(names=floor.outline, outline_mm=floor.points_mm, pipes=pipes,
                    length_sd_mm=max(w.pm95_mm for w in floor.walls()) / 1.96)
        try:
            plan = plan_floor(room, BOARDS[seed % len(BOARDS)],
                              Wishes(lay="right-to-left" if right_to_left or seed % 5 == 4 else "left-to-right"))
        except LayoutError:
            continue
        job = PackJob(title=f"Drawn room {seed}", show="metric", date=datetime.date(2026, 3, 5), floor=floor, plan=plan,
                      room=room, underlay_mm=3.0)
        return Case(shape=drawn.shape, floor=floor, job=job,
                    pack=make_pack(job, (A4, LETTER)[seed % 2]) if packed else {})


def in_row_frame(case: Case, points: np.ndarray) -> Polygon:
    """A room in the row frame of the plan, turned and shifted so that its start wall lies where the survey has it."""
    plan = case.job.plan
    surveyed, real = (np.array([plan.to_row_frame(tuple(p)) for p in some]) for some in (case.floor.points_mm, points))
    i, j = start_line(plan, case.floor)
    angle = np.diff([np.arctan2(*(ring[j] - ring[i])[::-1]) for ring in (real, surveyed)])[0]
    spin = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    middle = (real[i] + real[j]) / 2
    return Polygon((real - middle) @ spin.T + (surveyed[i] + surveyed[j]) / 2)


def lay_case(case: Case, room: Polygon, hand: Hand) -> Laid:
    """The fitter's floor."""
    return lay(read_booklet(case.pack["booklet.pdf"]), read_cuts(case.pack["cuts.csv"].decode("utf-8-sig")), room, hand)


def cover_width(case: Case) -> float:
    """What the beading of the shopping list covers."""
    return max(BEADING_MM, case.job.plan.gap_mm + max((s.width_mm for s in case.job.plan.left_out), default=0.0)
               + BEADING_LAP_MM)


def whole_floor_faults(case: Case) -> list[str]:
    """What is wrong with the floor laid without any error in the room as surveyed: to a millimetre, since the paper
    is rounded to that."""
    plan, book = case.job.plan, read_booklet(case.pack["booklet.pdf"])
    room = in_row_frame(case, case.floor.points_mm)
    laid = lay_case(case, room, Hand(rng=np.random.default_rng(0), cut_sd_mm=0.0, measures=False, boards_err=False))
    faults = []
    if {sheet.name for row in book.rows for sheet in row} != {piece.id
                                                              for piece in plan.pieces} or book.boards != plan.boards:
        faults.append("pieces or boards are missing in the booklet")
    shapes = list(laid.shapes.values())
    whole = unary_union([shape.buffer(0.01, join_style="mitre") for shape in shapes])
    left_out = unary_union([Polygon([plan.to_row_frame(p) for p in strip.outline]).buffer(2.0)
                            for strip in plan.left_out])
    bare = room.buffer(-plan.gap_most_mm - ROUNDED_MM,
                       join_style="mitre").difference(whole).difference(left_out).buffer(-0.3)
    if bare.area > 1.0:
        faults.append(f"{bare.area:.0f} mm2 are bare at {bare.representative_point().coords[0]}")
    over = sum(shape.area for shape in shapes) - unary_union(shapes).area
    if over > 1.0 * sum(shape.bounds[3] - shape.bounds[1] for shape in shapes):
        faults.append(f"pieces overlap by {over:.0f} mm2")
    if whole.difference(room.buffer(-plan.gap_least_mm + ROUNDED_MM, join_style="mitre")).area > 1.0:
        faults.append("a piece comes too near a wall")
    return faults


def held(case: Case, seed: int, *, measures: bool) -> tuple[int, int, Laid]:
    """(stations along the walls with a good gap, stations, the floor) in one real room drawn from the survey's
    covariance."""
    rng = np.random.default_rng([seed, 1])
    points = rng.multivariate_normal(case.floor.points_mm.ravel(), case.floor.cov_mm2, method="eigh").reshape(-1, 2)
    room = in_row_frame(case, points)
    laid = lay_case(case, room, Hand(rng=np.random.default_rng([seed, 2]), measures=measures))
    found = gaps(room, unary_union(list(laid.shapes.values())))
    return int(np.sum((found >= NARROWEST_GAP_MM) & (found <= cover_width(case)))), len(found), laid


def main(rooms: int = 200, first: int = 0) -> None:
    began, whole, tallies, measured, outside, worst = time.process_time(), 0, {True: [0, 0], False: [0, 0]}, 0, 0, []
    for seed in range(first, first + rooms):
        case = draw_case(seed)
        faults = whole_floor_faults(case)
        whole += not faults
        for fault in faults:
            print(f"seed {seed} ({case.shape}): {fault}", flush=True)
        for measures in (True, False):
            good, count, laid = held(case, seed, measures=measures)
            tallies[measures][0] += good
            tallies[measures][1] += count
            if measures:
                measured, outside = measured + laid.measured, outside + laid.outside
                worst.append((good / count, seed, case.shape))
    print(f"{rooms} rooms: {whole} laid whole from the paper alone")
    for measures, (good, count) in tallies.items():
        print(f"{'measuring in place' if measures else 'baseline, nothing measured in place'}: "
              f"{100 * good / count:.2f} % of wall length good")
    print(f"{measured} places measured, {100 * outside / max(measured, 1):.1f} % outside what the booklet expects")
    print("worst rooms: " + ", ".join(f"{100 * share:.1f} % (seed {seed}, {shape})"
                                      for share, seed, shape in sorted(worst)[:5]))
    print(f"{time.process_time() - began:.0f} s of CPU")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
