"""The day of a floor of boards of several lengths: the log, what lies and what the walls tell go on as with one length;
where a row has to be planned anew, the rest is, with the boards left of each length."""
from __future__ import annotations

import random
from dataclasses import replace

import pytest

from desk.actions.day import day_of, tell
from layout.errors import LayoutError
from layout.judge.check import find_faults
from layout.replan.events import BoardsSpoiled, Obstacle, OffcutFound, PieceCut, RowDown
from layout.replan.in_force import _wood_suffices
from layout.replan.progress import progress_of
from tests.support.day_logs import DAY, kept_job, random_event, tree_of, with_lengths

ROOM = [[0, 0], [3100, 0], [3100, 1700], [0, 1700]]


@pytest.fixture(scope="module")
def job():
    return kept_job(with_lengths(tree_of(ROOM), random.Random(1)))


def test_rows_are_told_and_wood_that_is_not_needed_changes_nothing(job):
    told = tell(job, RowDown(row=2), "row 2 done", on=DAY)
    for event in (BoardsSpoiled(count=1), OffcutFound(label="F1", length_mm=400.0, keeps=("left",))):
        told = tell(told.job, event, "said", on=DAY)
        assert not told.trouble and not told.changed
    day = day_of(told.job)
    # Common sense: what lies took the boards its pieces are cut from, and one was spoiled.
    used = {piece.board for row in day.plan.rows[:2] for piece in row.pieces}
    assert day.now.down == 2 and day.now.used == len(used) + 1 and day.now.left == day.bought - day.now.used


def lying(plan, held):
    """Pieces of the rows that lie: where, and which offcut they came from and left."""
    return [(piece.id, piece.outline_mm, piece.takes, piece.leaves) for row in plan.rows[:held] for piece in row.pieces]


def test_a_piece_that_moves_a_joint_has_the_rest_planned_anew_and_what_lies_stays(job):
    told = tell(job, RowDown(row=1), "row 1 done", on=DAY)
    piece = next(row for row in day_of(told.job).plan.rows if len(row.pieces) > 2 and row.number > 1).pieces[0]
    row = int(piece.id.partition(".")[0])
    told = tell(tell(told.job, RowDown(row=row - 1), "said", on=DAY).job,
                PieceCut(piece=piece.id, length_mm=piece.to_mm - piece.from_mm - 60.0), "said", on=DAY)
    before, after = told.before.plan, told.after.plan
    assert not told.trouble and len(told.job.day) == 3 and find_faults(after, told.after.room) == ()
    assert lying(after, row) == lying(before, row)
    # No joint of the next row is nearer than asked to where the joint behind the short piece came to lie.
    joint = max(after.to_row_frame(point)[0] for point in piece.outline_mm) - 60.0
    near = [max(after.to_row_frame(point)[0] for point in one.outline_mm) for one in after.rows[row].pieces[:-1]]
    asked = next((rule.had_mm for rule in after.relaxed if rule.rule == "stagger"), after.rules.stagger_mm)
    assert all(abs(s - joint) >= asked - 1e-6 for s in near)


def test_an_obstacle_is_planned_round(job):
    told = tell(job, Obstacle(name="N1", row=0, left_mm=900.0, ahead_mm=500.0, diameter_mm=22.0, size_mm=(0.0, 0.0)),
                "said", on=DAY)
    assert not told.trouble and [hole.pipe for hole in told.after.plan.holes] == ["N1"]
    assert find_faults(told.after.plan, told.after.room) == ()


def test_of_boards_spoiled_any_length_may_be_the_one_that_is_gone(job):
    """Nobody says how long a spoiled board was: whichever it was, what the plan takes is there, or it asks for a pack
    more. Counted from the pack alone."""
    told = tell(tell(job, RowDown(row=2), "said", on=DAY).job, BoardsSpoiled(count=2), "said", on=DAY)
    told = tell(told.job, Obstacle(name="N1", row=2, left_mm=900.0, ahead_mm=300.0, diameter_mm=22.0,
                                   size_mm=(0.0, 0.0)), "said", on=DAY)
    plan, bought = told.after.plan, told.before.bought // told.before.plan.board.pack
    assert not told.trouble and told.changed
    short = [length for length, count in plan.board.mix if plan.lengths_mm.count(length) > count * bought - 2]
    assert not short or plan.packs > bought


@pytest.mark.parametrize("seed", range(3))
def test_random_days_lose_nothing_and_the_plan_in_force_is_sound(seed, job):
    rng = random.Random(seed)
    for _ in range(4):
        day = day_of(job)
        try:
            told = tell(job, random_event(rng, day), "said", on=DAY)
        except LayoutError:
            continue
        assert len(told.job.day) == len(job.day) + 1 and find_faults(told.after.plan, told.after.room) == ()
        job = told.job


def test_wood_that_the_rows_to_come_take_is_missed(job):
    plan = day_of(job).plan
    taken = next(offcut for offcut in plan.offcuts if offcut.used_by)
    row = int(taken.cut_by.partition(".")[0])
    now = progress_of(plan, [RowDown(row=row)], bought=40)
    lost = replace(now, spares=tuple(spare for spare in now.spares if spare.label != taken.label))
    assert _wood_suffices(plan, now)
    assert int(taken.used_by.partition(".")[0]) == row or not _wood_suffices(plan, lost)
