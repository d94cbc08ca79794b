"""Is the picture enough? Drawn rooms, real surveys' covariances, and a fitter who sees the pictures of the rows alone.

``python -m tests.bench.printpack.run_pictures [rooms] [first seed]`` draws rooms (rectangle, L, alcove, chimney breast,
bay), takes the covariance that a survey of each would have (two photos and tape, or tape alone), plans, draws each
row's picture as wide as an A4 sheet that lies, writes it as the SVG a phone shows, and has `tests.support.strip_fitter`
lay the floor from its lines and figures, no sentence read: first in the room as surveyed, with no error of the hand (is
the floor whole?), then in a room that differs from the survey by its covariance, each mark off by 1 mm (sd), boards by
their own tolerance: how much of the walls' length has a gap from 5 mm to what the beading covers. Words on each row's
page are counted in millimetres and in inches, and pages where texts touch or leave the printable box are named.
Baseline: the same fitter, same errors, who measures nothing in place.
"""
from __future__ import annotations

import datetime
import sys
import time
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Polygon
from shapely.ops import unary_union

from capture.adjustment.least_squares import assess
from capture.adjustment.parameter_index import index_network
from capture.floor import Floor
from layout.errors import LayoutError
from layout.planning.planner import plan_floor
from layout.region.baseline import start_line
from layout.room import Board, Pipe, Room, Wishes
from printpack.booklet.row_page import row_page
from printpack.drawing.frames import in_board
from printpack.drawing.inline_svg import inline_svg
from printpack.drawing.page_layout import bound
from printpack.drawing.sheet import Sheet
from printpack.strip.row_picture import row_facts, row_picture
from printpack.errors import PrintError
from printpack.job import PackJob
from printpack.paper import A4
from printpack.fullsize.templates import find_templates, names_by_piece
from printpack.words.tolerances import Fit
from tests.support import simulate
from tests.support.fitter import Hand, gaps
from tests.support.looks import overprints, strays, texts
from tests.support.strip_fitter import Bench, Work, lay_pictures
from tests.support.strip_reader import Picture, read_picture

BOARDS = (Board(length_mm=1285, width_mm=192, thickness_mm=8, pack=8),
          Board(length_mm=1380, width_mm=193, thickness_mm=8, pack=8),
          Board(length_mm=1200, width_mm=190, thickness_mm=7, pack=10),
          Board(length_mm=2050, width_mm=240, thickness_mm=12, pack=5))
SURVEYS = ({"photos": 2, "diagonals": 2, "squares": True, "see_through": True}, {"photos": 0, "diagonals": 9})
#: Every figure on paper is rounded to a millimetre; at a slanted end the roundings of a cut and of its place add up.
ROUNDED_MM = 2.5
NARROWEST_GAP_MM, BEADING_MM, BEADING_LAP_MM = 5.0, 18.0, 6.0
SHEET_MM = 273.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Case:
    """A room with its survey and the job it was made from."""

    shape: str
    floor: Floor
    job: PackJob


def draw_case(seed: int, *, right_to_left: bool = False) -> Case:
    """The room of a seed; rooms that no plan can be made for are drawn again."""
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
        return Case(shape=drawn.shape, floor=floor, job=job)


def in_row_frame(case: Case, points: np.ndarray) -> Polygon:
    """A room in the row frame of the plan, turned and shifted so that its start wall lies where the survey has it."""
    plan = case.job.plan
    surveyed, real = (np.array([plan.to_row_frame(tuple(p)) for p in some]) for some in (case.floor.points_mm, points))
    i, j = start_line(plan, case.floor)
    angle = np.diff([np.arctan2(*(ring[j] - ring[i])[::-1]) for ring in (real, surveyed)])[0]
    spin = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    middle = (real[i] + real[j]) / 2
    return Polygon((real - middle) @ spin.T + (surveyed[i] + surveyed[j]) / 2)


def cover_width(case: Case) -> float:
    """What the beading of the shopping list covers."""
    return max(BEADING_MM, case.job.plan.gap_mm + max((s.width_mm for s in case.job.plan.left_out), default=0.0)
               + BEADING_LAP_MM)


def pictures_of(case: Case) -> list[Picture]:
    """The rows' pictures as read from their SVG."""
    job, fit = case.job, Fit(case.job)
    names = names_by_piece(find_templates(job.plan))
    drawn = [row_picture(row_facts(job, row, fit, names), job.units, SHEET_MM) for row in job.plan.rows]
    return [read_picture(inline_svg(picture.items, picture.width_mm, picture.height_mm, label="")) for picture in drawn]


def bench_of(case: Case) -> Bench:
    """Boards, saw, spacers, and the shapes that only templates tell."""
    plan = case.job.plan
    traced = {piece.id: [[(x - min(p[0] for p in in_board(plan, piece)[0]), y) for x, y in cut.shape]
                         for cut in piece.cuts if cut.kind in ("line", "notch")] for piece in plan.pieces}
    return Bench(length=plan.board.length_mm, width=plan.board.width_mm, kerf=plan.kerf_mm, gap=plan.gap_mm,
                 traced=traced)


def whole_floor_faults(case: Case, pictures: list[Picture]) -> list[str]:
    """What is wrong with the floor laid without any error in the room as surveyed, to what rounding leaves."""
    plan = case.job.plan
    room = in_row_frame(case, case.floor.points_mm)
    work = lay_pictures(pictures, bench_of(case), room, Hand(rng=np.random.default_rng(0), cut_sd_mm=0.0,
                                                             measures=False, boards_err=False))
    faults = []
    if set(work.laid.shapes) != {piece.id for piece in plan.pieces} or work.boards != plan.boards:
        faults.append(f"pieces are missing, or {work.boards} boards were taken, not {plan.boards}")
    shapes = list(work.laid.shapes.values())
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


def held(case: Case, pictures: list[Picture], seed: int, *, measures: bool) -> tuple[int, int, Work]:
    """(stations along the walls with a good gap, stations, the floor) in one real room drawn from the survey's
    covariance."""
    rng = np.random.default_rng([seed, 1])
    points = rng.multivariate_normal(case.floor.points_mm.ravel(), case.floor.cov_mm2, method="eigh").reshape(-1, 2)
    room = in_row_frame(case, points)
    work = lay_pictures(pictures, bench_of(case), room, Hand(rng=np.random.default_rng([seed, 2]), measures=measures))
    found = gaps(room, unary_union(list(work.laid.shapes.values())))
    return int(np.sum((found >= NARROWEST_GAP_MM) & (found <= cover_width(case)))), len(found), work


def sheets_of(case: Case, show: str) -> list[Sheet]:
    """The rows' pages as sheets of A4, lengths shown "metric" or "imperial"."""
    job = replace(case.job, show=show)
    fit, names = Fit(job), names_by_piece(find_templates(job.plan, show=show))
    return [bound([row_page(job, row, A4, names, fit)], A4, title=job.title, foot=str)[0] for row in job.plan.rows]


def words_of_rows(case: Case, show: str) -> list[int]:
    """How many words each row's page has; a page refused, or on which texts touch, is named."""
    try:
        sheets = sheets_of(case, show)
    except PrintError as error:
        print(f"{case.job.title} ({case.shape}), {show}: {error}", flush=True)
        return []
    for sheet in sheets:
        if overprints(sheet) or strays(sheet):
            print(f"{case.job.title} ({case.shape}), {show}, {sheet.bookmark}: {overprints(sheet)[:2]} "
                  f"{strays(sheet)[:1]}", flush=True)
    return [sum(len(text.text.split()) for text in texts(sheet)) for sheet in sheets]


def main(rooms: int = 200, first: int = 0) -> None:
    began, whole, tallies, worst = time.process_time(), 0, {True: [0, 0], False: [0, 0]}, []
    words: dict[str, list[int]] = {"metric": [], "imperial": []}
    spares = 0
    for seed in range(first, first + rooms):
        case = draw_case(seed)
        for show, counts in words.items():
            counts += words_of_rows(case, show)
        try:
            pictures = pictures_of(case)
            faults = whole_floor_faults(case, pictures)
        except (ValueError, IndexError, KeyError) as error:
            print(f"seed {seed} ({case.shape}): not read: {error}", flush=True)
            continue
        whole += not faults
        for fault in faults:
            print(f"seed {seed} ({case.shape}): {fault}", flush=True)
        for measures in (True, False):
            good, count, work = held(case, pictures, seed, measures=measures)
            spares += work.spares
            tallies[measures][0] += good
            tallies[measures][1] += count
            if measures:
                worst.append((good / count, seed, case.shape))
    print(f"{rooms} rooms: {whole} laid whole from the pictures alone")
    for show, counts in words.items():
        print(f"{show}: {len(counts)} rows, a page each: {np.median(counts):.0f} words (median), {max(counts)} at most")
    for measures, (good, count) in tallies.items():
        print(f"{'measuring in place' if measures else 'baseline, nothing measured in place'}: "
              f"{100 * good / max(count, 1):.2f} % of wall length good")
    print(f"{spares} boards beyond the plan, for offcuts that came out short of their place")
    print("worst rooms: " + ", ".join(f"{100 * share:.1f} % (seed {seed}, {shape})"
                                      for share, seed, shape in sorted(worst)[:5]))
    print(f"{time.process_time() - began:.0f} s of CPU")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
