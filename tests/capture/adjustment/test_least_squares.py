"""The adjustment's parts by themselves: which lines make one reading, slips held off, readings left out, directions
nothing fixes."""
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import least_squares

from capture.adjustment.least_squares import (
    RANK_TOLERANCE, assess, free_columns, minimise, reading_squares)
from capture.adjustment.batch import robust_costs
from capture.readings.state import State
from capture.adjustment.equations import equations, residuals
from capture.adjustment.parameter_index import index_network
from capture.network import (
    Camera, Mark, Network, OnWall, PaperSheet, Photo, SquareCorner, TapeError, TapeLength, WallOffset)
from tests.support import simulate

SHEETS = (("S1", "S2", "S3", "S4"), ("S5", "S6", "S7", "S8"))


def everything(seed=3):
    """A drawn survey with one reading of every kind and more, and a state near its truth."""
    case = simulate.draw_determined(np.random.default_rng(seed), photos=3, shape="L", diagonals=2, targets=3)
    papers = tuple(PaperSheet(corners=names, sides_mm=(297.0, 210.0)) for names in SHEETS)
    spots = {name: (300.0 + 297.0 * (k in (1, 2)) + 900.0 * sheet, 400.0 + 210.0 * (k in (2, 3)))
             for sheet, names in enumerate(SHEETS) for k, name in enumerate(names)}
    offsets = tuple(WallOffset(point=name, wall=("A", "B"), distance_mm=y, sd_mm=2.0) for name, (_, y) in spots.items())
    more = replace(case.network, papers=papers, offsets=offsets,
                   squares=tuple(SquareCorner(corner=name, sd_rad=0.01) for name in "BC"),
                   on_walls=(OnWall(point="S1", wall=("A", "B"), sd_mm=500.0),),
                   tape_error=TapeError(scale_sd=0.001, hook_sd_mm=1.0))
    ix, truth = index_network(more), simulate.truth_state(case)
    named = [dict(zip(case.names, case.corners)).get(name, spots.get(name)) for name in ix.names]
    points = np.vstack([np.array(named), case.sheets.reshape(-1, 2)])
    return more, ix, replace(truth, points_mm=points, tape_error=np.zeros(2))


def test_the_lines_of_one_reading_are_one_group_and_no_others():
    """Counted from the survey as a person told it: a mark is two lines, a sheet of paper five, a target seen in a
    photo eight, its shape four."""
    network, ix, state = everything()
    told = [("mark", k) for k in range(len(network.marks)) for _ in "xy"]
    told += [("target seen", k) for k in range(len(network.target_marks)) for _ in range(8)]
    told += [("click", line, k) for line, wall in enumerate(network.wall_lines) for k in range(len(wall.points_px))]
    for kind in ("tapes", "offsets", "squares", "on_walls"):
        told += [(kind, k) for k in range(len(getattr(network, kind)))]
    told += [("paper", k) for k in range(2) for _ in range(5)]
    laid = sorted({mark.seen.number for mark in network.target_marks})
    told += [("shape", k) for k in laid for _ in range(4)] + [("size", k) for k in laid]
    told += [("lens", k) for k in range(3 * len(network.cameras))] + [("centre", k) for k in range(len(network.photos))
                                                                      for _ in "xy"]
    told += [("tape scale",), ("tape hook",)]
    groups, residual = ix.line_groups(), residuals(ix, state)
    assert len(groups) == len(residual) == len(told)
    assert sorted(set(groups)) == list(range(len(set(told))))
    assert len(set(zip(groups.tolist(), told))) == len(set(told))  # one group a reading, one reading a group
    squares = {name: sum(r * r for r, other in zip(residual, told) if other == name) for name in told}
    assert reading_squares(ix, state) == pytest.approx([squares[told[int(np.flatnonzero(groups == g)[0])]]
                                                        for g in range(len(squares))])


def quad(*wrong):
    """A room of 4 x 3 m by six tapes, one line a reading; `wrong` are added to the lengths in turn, mm."""
    lengths = {"AB": 4000.0, "BC": 3000.0, "CD": 4000.0, "DA": 3000.0, "AC": 5000.0, "BD": 5000.0}
    tapes = tuple(TapeLength(a=a, b=b, length_mm=mm + off, sd_mm=2.0) for ((a, b), mm),
                  off in zip(lengths.items(), wrong))
    ix = index_network(Network(outline=tuple("ABCD"), tapes=tapes))
    state = State(points_mm=np.array([(0.0, 0.0), (4010.0, 0.0), (3985.0, 3010.0), (12.0, 2990.0)]),
                  rotations=np.zeros((0, 3, 3)), shifts_mm=np.zeros((0, 3)), centres_px=np.zeros((0, 2)),
                  log_focal=np.zeros(0), distortion=np.zeros((0, 2)), tape_error=np.zeros(0))
    return ix, state


@pytest.mark.parametrize("robust", [False, True])
@pytest.mark.parametrize("wrong", [(1.0, -2.0, 0.5, 3.0, -1.0, 2.0), (0.0, 0.0, 1.0, -2.0, 40.0, 0.0)])
def test_the_minimum_and_its_cost_are_scipys(robust, wrong):
    """Second method: scipy.optimize.least_squares, loss "linear" or "cauchy" at three standard deviations; its cost
    is half of ours."""
    ix, start = quad(*wrong)
    free = free_columns(ix)
    assert free.tolist() == [2, 4, 5, 6, 7]  # A at the origin, B on the x axis

    def off(x):
        step = np.zeros(ix.columns)
        step[free] = x
        return residuals(ix, start.moved(step))

    other = least_squares(off, np.zeros(len(free)), loss="cauchy" if robust else "linear", f_scale=3.0, xtol=1e-15,
                          ftol=1e-15, gtol=1e-14)
    found = minimise(ix, start, robust=robust).state
    step = np.zeros(ix.columns)
    step[free] = other.x
    assert found.points_mm == pytest.approx(start.moved(step).points_mm, abs=2e-3 if robust else 1e-4)
    ours = float(robust_costs(ix, [found])[0]) if robust else float(np.sum(residuals(ix, found) ** 2))
    assert ours == pytest.approx(2 * other.cost, rel=1e-6)


def test_a_reading_left_out_is_predicted_by_the_others():
    """Left out by weight 0 or not there at all: the same covariance; its residual then spreads by its own variance
    and the prediction's."""
    ix, start = quad(1.0, -2.0, 0.5, 3.0, -1.0, 2.0)
    weights = np.array([1.0, 1.0, 1.0, 1.0, 0.0, 1.0])
    state = minimise(ix, start, line_weights=weights).state
    left_out = assess(ix, state, line_weights=weights)
    jac = equations(ix, state)[1][:, free_columns(ix)]
    normal = jac[weights > 0].T @ jac[weights > 0]
    cov = np.linalg.inv(normal)
    assert left_out.cov[np.ix_(free_columns(ix), free_columns(ix))] == pytest.approx(cov, rel=1e-9)
    assert left_out.residual_cov[4, 4] == pytest.approx(1.0 + jac[4] @ cov @ jac[4])
    assert left_out.residual_cov[4, [0, 1, 2, 3, 5]] == pytest.approx(0.0, abs=1e-12)
    kept = [0, 1, 2, 3, 5]
    assert left_out.residual_cov[np.ix_(kept, kept)] == pytest.approx(np.eye(5) - jac[kept] @ cov @ jac[kept].T,
                                                                      abs=1e-9)
    assert not left_out.loose.size


def test_what_no_reading_fixes_is_found_in_true_proportions():
    """A survey by photos alone has no size: its one loose direction, of very unlike columns, moves no reading, and
    has length one."""
    room = np.array([(0.0, 0.0), (4000.0, 0.0), (4000.0, 3000.0), (0.0, 3000.0)])
    poses = [simulate.look_at(np.array(eye), np.array([2000.0, 1500.0, 0.0]), 0.02)
             for eye in ((2000.0, -2500.0, 2600.0), (7000.0, 900.0, 2500.0))]
    rotations, shifts = (np.array(part) for part in zip(*poses))
    # Where the marks lie does not matter here, only how they would move.
    network = Network(outline=tuple("ABCD"),
                      cameras=(Camera(name="c", width_px=1600, height_px=1200, focal_px=1200.0, focal_sd=0.03, k1=0.0,
                                      k1_sd=0.02),), photos=tuple(Photo(name=name, camera="c") for name in "12"),
                      marks=tuple(Mark(photo=photo, point=point, x_px=800.0, y_px=600.0) for photo in "12"
                                  for point in "ABCD"))
    ix = index_network(network)
    state = State(points_mm=room, rotations=rotations, shifts_mm=shifts, centres_px=np.full((2, 2), (799.5, 599.5)),
                  log_focal=np.log([1200.0]), distortion=np.zeros((1, 2)), tape_error=np.zeros(0))
    found = assess(ix, state)
    jac = equations(ix, state)[1]
    assert found.loose.shape == (ix.columns, 1) and np.linalg.norm(found.loose) == pytest.approx(1.0)
    assert np.abs(jac @ found.loose).max() < 1e-6 * np.linalg.norm(jac, axis=0).max()
    # Every corner moves away from the first one in proportion to how far it lies from it.
    moved = found.loose[:ix.point_columns, 0].reshape(-1, 2)
    assert moved == pytest.approx(state.points_mm * (moved[1, 0] / state.points_mm[1, 0]), abs=1e-6)
    assert 0 < RANK_TOLERANCE < 1e-5


def test_a_corner_on_one_tape_alone_may_go_round_it():
    tapes = tuple(TapeLength(a=a, b=b, length_mm=mm, sd_mm=2.0) for a, b, mm in (("A", "B", 4000.0), ("B", "C", 3000.0),
                                                                                 ("A", "C", 5000.0),
                                                                                 ("A", "D", 3000.0)))
    ix = index_network(Network(outline=tuple("ABCD"), tapes=tapes))
    state = replace(quad()[1], points_mm=np.array([(0.0, 0.0), (4000.0, 0.0), (4000.0, 3000.0), (0.0, 3000.0)]))
    (loose,) = assess(ix, state).loose.T
    assert np.abs(loose) == pytest.approx([0, 0, 0, 0, 0, 0, 1, 0], abs=1e-9)  # D, square to its tape
