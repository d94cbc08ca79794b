"""By how much the rows to come may close longer: against the same estimate written another way, and against walls
that are known."""
from dataclasses import replace

import numpy as np
import pytest

from layout.replan.closure_bias import ENDS_SD_MM, OTHER_REASON_MM, ROW_SD_MM, closing_reserve
from layout.replan.floor_estimation import BOW_SD_MM
from layout.replan.events import PieceCut, RowDown
from layout.planning.planner import plan_floor
from layout.replan.progress import progress_of
from layout.room import Wishes


@pytest.fixture(scope="module")
def plan(box_3x4, board):
    return plan_floor(box_3x4, board, Wishes(along=("A", "B"), start=("A", "B")), moves=60)


def after(plan, offs):
    """Where the work stands with a row down for each of `offs`, closed by so much longer than planned."""
    events = [RowDown(row=len(offs))] if len(offs) else []
    for row, off in zip(plan.rows, offs):
        last = row.pieces[-1]
        events.append(PieceCut(piece=last.id, length_mm=last.to_mm - last.from_mm + off))
    return progress_of(plan, events, bought=100)


def place(plan, row):
    return (row.near_mm + row.far_mm) / 2 / plan.rows[-1].far_mm


def test_nothing_told_and_nothing_left_reserve_nothing(plan):
    count = len(plan.rows)
    assert closing_reserve(plan, after(plan, [])) == 0.0
    assert closing_reserve(plan, after(plan, [0.0] * 6)) == pytest.approx(0.0, abs=1e-9)
    assert closing_reserve(plan, progress_of(plan, [RowDown(row=6)], bought=100)) == pytest.approx(0.0, abs=1e-9)
    assert closing_reserve(plan, after(plan, [-6.0] * 6)) == 0.0
    assert closing_reserve(plan, after(plan, [6.0] * count)) == 0.0


def test_walls_drawn_at_random_are_foretold_better_than_by_the_mean_so_far_and_as_well_as_can_be(plan):
    """Walls off at both ends and bowed, as much as is reckoned with: the error is that of the best estimate there is,
    to what 300 draws tell (its spread from the covariance of the linear model; what is cut off at nothing errs less),
    and less than the mean of the rows so far."""
    rng, errors, plain, expected = np.random.default_rng(3), [], [], []
    places = np.array([place(plan, row) for row in plan.rows])
    shape = np.stack([1 - places, places, 4 * places * (1 - places)], axis=1)
    prior = np.diag([ENDS_SD_MM ** 2, ENDS_SD_MM ** 2, 2 * BOW_SD_MM ** 2])
    for rows in (3, 8, 12):
        seen, mean_ahead = shape[:rows], shape[rows:].mean(axis=0)
        cov = np.linalg.inv(np.linalg.inv(prior) + seen.T @ seen / ROW_SD_MM ** 2)
        expected.append(mean_ahead @ cov @ mean_ahead)
        for _ in range(100):
            walls = rng.multivariate_normal(np.zeros(3), prior)
            told, truth = seen @ walls + rng.normal(0.0, ROW_SD_MM, rows), max(0.0, float(mean_ahead @ walls))
            errors.append(closing_reserve(plan, after(plan, told.tolist())) - truth)
            plain.append(max(0.0, float(np.mean(told))) - truth)
    assert np.mean(np.square(errors)) < 0.8 * np.mean(np.square(plain))
    assert np.mean(np.square(errors)) < 1.25 * np.mean(expected)


@pytest.mark.parametrize("rows", [1, 3, 8])
def test_the_same_as_by_normal_equations_with_the_prior_as_weights(plan, rows):
    """Bayes' linear model in its information form (C. M. Bishop, Pattern Recognition and Machine Learning, 2006, eq.
    3.53 and 3.54)."""
    told = np.random.default_rng(rows).normal(4.0, 3.0, rows)
    now = after(plan, told.tolist())
    x, ahead = (np.array([place(plan, row) for row in part]) for part in (plan.rows[:rows], plan.rows[rows:]))
    a, b = (np.stack([1 - at, at, 4 * at * (1 - at)], axis=1) for at in (x, ahead))
    weights = np.diag([ENDS_SD_MM ** -2, ENDS_SD_MM ** -2, BOW_SD_MM ** -2 / 2])
    mean = np.linalg.solve(weights + a.T @ a / ROW_SD_MM ** 2, a.T @ told / ROW_SD_MM ** 2)
    assert closing_reserve(plan, now) == pytest.approx(max(0.0, (b @ mean).mean()), abs=1e-9)


def test_a_row_cut_for_another_reason_tells_nothing_of_its_wall(plan):
    some = after(plan, [5.0] * 6)
    last = plan.rows[2].pieces[-1]
    odd = replace(some, cut=some.cut | {last.id: last.to_mm - last.from_mm - OTHER_REASON_MM - 1.0})
    without = replace(some, cut=some.cut | {last.id: last.to_mm - last.from_mm + 5.0})
    assert closing_reserve(plan, odd) == pytest.approx(closing_reserve(plan, without), abs=0.3)
