"""No new pages for what asks for none (common practice, no source): an entry that changed nothing is taken back without
any, and a piece that turned up and saves no board changes no row.

The wall is told a little nearer than surveyed, so that a plan made anew would differ along it: that alone waits.
"""
from __future__ import annotations

import pytest

from desk.actions.day import day_of, tell
from layout.replan.events import BoardsLeft, BoardsSpoiled, OffcutFound, RowBegun, RowDown, Sight, ToFarWall
from tests.support.day_logs import DAY, kept_job, tree_of

BOX = [[0, 0], [4000, 0], [4000, 3000], [0, 3000]]
ROW, NEARER_MM = 4, 4.0


@pytest.fixture(scope="module")
def drifting():
    """A day with four rows down and the far wall 4 mm nearer than surveyed, which waits."""
    job = tell(kept_job(tree_of(BOX)), RowDown(row=ROW), "said", on=DAY).job
    day = day_of(job)
    expected = 3000.0 - 10.0 - sum(row.far_mm - row.near_mm for row in day.plan.rows[:ROW])
    sights = tuple(Sight(distance_mm=expected - NEARER_MM, side=side) for side in ("left", "right"))
    told = tell(job, ToFarWall(row=ROW, sights=sights), "said", on=DAY)
    assert not told.changed and max(abs(end.mean_mm - end.planned_mm) for end in told.after.outlook.ends) > 1.5
    return told.job


@pytest.mark.parametrize("event", [BoardsLeft(count=0), BoardsSpoiled(count=1), RowBegun(row=ROW + 1)])
def test_what_changed_no_page_is_taken_back_without_new_pages(drifting, event):
    before = day_of(drifting)
    told = tell(drifting, event, "said", on=DAY)
    back = tell(told.job, 0, "undo", on=DAY)
    assert not told.changed and not back.changed
    assert back.after.letter == before.letter and back.after.plan.rows == before.plan.rows
    assert back.after.now == before.now


def test_a_found_piece_that_saves_no_board_changes_no_row_and_stays_on_hand(drifting):
    before = day_of(drifting)
    told = tell(drifting, OffcutFound(label="F1", length_mm=310.0, keeps=("left",)), "said", on=DAY)
    assert told.after.plan.boards == before.plan.boards and not told.changed
    assert "F1" in {spare.label for spare in told.after.now.spares}
