"""What is taped before it is sawn: the place of a closing piece, its bounds, and where its wood ends."""
from __future__ import annotations

from dataclasses import replace

import pytest

from layout.room import OwnPiece
from layout.planning.planner import plan_floor
from layout.room import Board, Wishes
from printpack.words.in_place import in_place
from printpack.words.tolerances import Fit, end_pm95_mm
from tests.support.plans import breast_job, job_of

MIDDLING = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)


def test_the_piece_that_closes_a_run_has_its_place_and_bounds():
    """Row 3 of the breast room: from 10 to 4290, its last piece 300 long at least."""
    job = breast_job()
    row = job.plan.rows[2]
    long = row.pieces[-1].to_mm - row.pieces[-1].from_mm
    place = in_place(job, row, row.pieces[-1], Fit(job))
    assert place.closes and place.length.at_mm == pytest.approx((long, long))
    sd = Fit(job).across(4000.0, (row.near_mm + row.far_mm) / 2).sd_mm
    assert place.length.pm_mm == pytest.approx(end_pm95_mm(sd, len(row.pieces) - 1))
    assert all(in_place(job, row, piece, Fit(job)).length is None for piece in row.pieces[:-1])


@pytest.mark.parametrize("width", [3600.0, 4310.0])
def test_where_the_wood_may_end_before_its_place_is_told_and_only_there(width):
    """The planner's own plan, whose pieces use their boards to the end; the bounds against the wood as the plan has
    it."""
    job = job_of([(0, 0), (width, 0), (width + 15, 2500), (0, 2500)])
    job, told = replace(job, plan=plan_floor(job.room, MIDDLING, Wishes(), moves=200)), 0
    offcuts = {offcut.label: offcut.to_mm - offcut.from_mm for offcut in job.plan.offcuts}
    fit = Fit(job)
    for row in job.plan.rows:
        for piece in (run.pieces[-1] for run in row.runs):
            place = in_place(job, row, piece, fit)
            most = max(place.length.at_mm) + place.length.pm_mm
            wood = offcuts.get(piece.takes,
                               job.plan.board.length_mm) if piece.takes else job.plan.board.length_mm - piece.from_mm
            if abs(most - wood) > 2.0:
                assert bool(place.short_mm) == (most > wood)
            if place.short_mm:
                told += 1
                assert place.short_mm == pytest.approx(wood)
    assert told >= 1


def test_a_piece_at_hand_ends_where_it_ends_and_not_where_a_board_does():
    """The planner's plan with one offcut taken for a piece the reader owned before."""
    job = job_of([(0, 0), (3875, 0), (3890, 2500), (0, 2500)])
    plan = plan_floor(job.room, MIDDLING, Wishes(), moves=200)
    found = [(row, run.pieces[-1], offcut) for row in plan.rows for run in row.runs for offcut in plan.offcuts
             if offcut.label == run.pieces[-1].takes and offcut.to_mm - run.pieces[-1].to_mm < 1.0]
    row, piece, offcut = found[0]
    own = OwnPiece(label=offcut.label, length_mm=offcut.to_mm, keeps=("left",), board=piece.board)
    job = replace(job, plan=replace(plan, offcuts=tuple(other for other in plan.offcuts if other is not offcut),
                                    owned=(own,)))
    assert in_place(job, row, piece, Fit(job)).short_mm == pytest.approx(own.length_mm)
