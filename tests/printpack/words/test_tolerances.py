"""Expected lengths and their spread, against finite differences and simulated surveys."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon

from capture.floor import Floor
from layout.frame import Frame
from layout.region.baseline import start_line, start_wall
from printpack.words.tolerances import Fit, end_pm95_mm, far_pm95_mm
from tests.support.plans import BREAST, SLANTED, breast_job, job_of

JOB = job_of(SLANTED)


def with_points(job, points):
    """The job on a floor whose corners have moved, with the rows hung on the moved start walls."""
    floor = job.floor
    moved = Floor(names=floor.names, points_mm=points, cov_mm2=floor.cov_mm2, outline=floor.outline)
    i, j = start_line(job.plan, floor)
    old, new = floor.points_mm, points
    before, after = (np.arctan2(*(p[j] - p[i])[::-1]) for p in (old, new))
    c, s = np.cos(after - before), np.sin(after - before)
    turn = np.array([[c, -s], [s, c]])
    start = turn @ (np.array(job.plan.start_mm) - old[i]) + new[i]
    frame = Frame(u=tuple(turn @ job.plan.u), v=tuple(turn @ job.plan.v), start_mm=tuple(start))
    plan = replace(job.plan, frame=frame)
    return replace(job, floor=moved, plan=plan)


@pytest.mark.parametrize("ring", [SLANTED, BREAST])
@pytest.mark.parametrize("ask", [lambda fit: fit.across(800.0, 500.0), lambda fit: fit.to_far_wall(700.0, 700.0)],
                         ids=["across", "down"])
def test_the_spread_is_that_of_the_corners(ring, ask):
    """J C J' by hand against central differences of the whole construction, rows riding on the start wall."""
    rng = np.random.default_rng(5)
    job = job_of(ring)
    n = len(ring)
    half = rng.normal(size=(2 * n, 2 * n))
    job = replace(job, floor=replace(job.floor, cov_mm2=half @ half.T))
    slope = np.zeros(2 * n)
    for k in range(2 * n):
        step = np.zeros(2 * n)
        step[k] = 1e-3
        ahead, behind = (ask(Fit(with_points(job, job.floor.points_mm + sign * step.reshape(-1, 2)))).length_mm
                         for sign in (1, -1))
        slope[k] = (ahead - behind) / 2e-3
    assert ask(Fit(job)).sd_mm == pytest.approx(np.sqrt(slope @ job.floor.cov_mm2 @ slope), rel=1e-5)


def test_moving_or_turning_the_whole_floor_changes_nothing():
    """A covariance of pure shift and turn (a gauge change) gives no spread at all."""
    points = JOB.floor.points_mm
    shift_x, shift_y = np.tile([1.0, 0.0], len(points)), np.tile([0.0, 1.0], len(points))
    turn = np.stack([-points[:, 1], points[:, 0]], axis=1).ravel() / 1000.0
    cov = sum(np.outer(v, v) for v in (shift_x, shift_y, turn))
    fit = Fit(replace(JOB, floor=replace(JOB.floor, cov_mm2=cov)))
    assert fit.across(800.0, 500.0).sd_mm == pytest.approx(0.0, abs=1e-6)
    assert fit.to_far_wall(700.0, 700.0).sd_mm == pytest.approx(0.0, abs=1e-6)


def test_lengths_are_those_of_the_room():
    """SLANTED: 3300 at the bottom, 2950 at the top, 2400 tall; rows start 10 inside the top left corner."""
    fit = Fit(JOB)
    assert fit.across(100.0, 490.0).length_mm == pytest.approx(2950 + 350 * 500 / 2400, abs=1e-9)
    assert fit.to_far_wall(100.0, 490.0).length_mm == pytest.approx(1900.0, abs=1e-9)
    assert fit.to_far_wall(-500.0, 490.0) is None and fit.across(100.0, 5000.0) is None
    assert [JOB.floor.names[k] for k in start_wall(JOB.plan, JOB.floor)] == ["C", "D"]


def test_the_string_runs_along_all_walls_in_one_line():
    """Beside a chimney breast lie two walls in one line: row 1 is laid along both, so the rows hang on their far
    corners."""
    job = job_of(BREAST)
    assert [job.floor.names[k] for k in start_wall(job.plan, job.floor)] in (["C", "D"], ["G", "H"])
    assert [job.floor.names[k] for k in start_line(job.plan, job.floor)] == ["C", "H"]


def test_ninety_five_in_a_hundred_surveys_fall_inside():
    """2000 drawn floors and hands, fixed seed: coverage of the 95 % interval within 4 standard errors (binomial)."""
    rng = np.random.default_rng(11)
    reach = Fit(JOB).across(800.0, 500.0)
    pm = end_pm95_mm(reach.sd_mm, 2)
    inside, draws = 0, 2000
    noise = rng.normal(scale=1.5, size=(draws, *JOB.floor.points_mm.shape))
    boards, hand = rng.uniform(-0.5, 0.5, size=(draws, 2)).sum(axis=1), rng.normal(size=draws)
    for k in range(draws):
        true = Fit(with_points(JOB, JOB.floor.points_mm + noise[k])).across(800.0, 500.0).length_mm
        inside += abs(true - reach.length_mm + boards[k] + hand[k]) <= pm
    assert abs(inside / draws - 0.95) < 4 * (0.95 * 0.05 / draws) ** 0.5


def test_an_exact_floor_falls_back_on_the_rooms_own_spread():
    job = job_of(SLANTED, sd_mm=0.0)
    assert Fit(job).across(800.0, 500.0).sd_mm == job.room.length_sd_mm


def test_spreads_grow_with_boards_and_rows():
    reach = Fit(breast_job()).across(500.0, 1000.0)
    assert end_pm95_mm(reach.sd_mm, 0) < end_pm95_mm(reach.sd_mm, 4) and far_pm95_mm(reach.sd_mm,
                                                                                     1) < far_pm95_mm(reach.sd_mm, 20)
    assert end_pm95_mm(reach.sd_mm, 0) >= 1.96


def seen_from_the_rows(job, name, begins):
    """(off the wall the row begins at, off the start wall) of a point, by shapely: what a tape on the floor would
    say."""
    place = job.plan.to_row_frame(tuple(job.floor.points_mm[job.floor.index(name)]))
    ring = [job.plan.to_row_frame(tuple(job.floor.points_mm[job.floor.index(corner)])) for corner in job.floor.outline]
    far = -1e5 if begins == "left" else 1e5
    inside = LineString([place, (far, place[1])]).intersection(Polygon(ring).exterior)
    return Point(place).distance(inside), place[1]


@pytest.mark.parametrize("begins", ["left", "right"])
def test_a_pipes_spread_is_that_of_its_place_in_the_rows(begins):
    """Against central differences, the pipe one of the survey's points."""
    job = job_of(SLANTED)
    n = len(SLANTED) + 1
    half = np.random.default_rng(8).normal(size=(2 * n, 2 * n))
    floor = replace(job.floor, names=(*job.floor.names, "P1"),
                    points_mm=np.vstack([job.floor.points_mm, [900.0, 1500.0]]), cov_mm2=half @ half.T)
    job = replace(job, floor=floor)
    slopes = np.zeros((2, 2 * n))
    for k in range(2 * n):
        step = np.zeros(2 * n)
        step[k] = 1e-3
        ahead, behind = (seen_from_the_rows(with_points(job, floor.points_mm + sign * step.reshape(-1, 2)), "P1",
                                            begins) for sign in (1, -1))
        slopes[:, k] = (np.array(ahead) - behind) / 2e-3
    spreads = [np.sqrt(slope @ floor.cov_mm2 @ slope) for slope in slopes]
    assert Fit(job).point_sd_mm("P1", begins) == pytest.approx(max(spreads), rel=1e-5)
    assert Fit(job).point_sd_mm("P9", begins) == job.room.length_sd_mm
