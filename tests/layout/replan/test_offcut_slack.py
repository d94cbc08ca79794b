"""When a piece that came out longer leaves too little for the next: what is to spare, how far the row can be slid with
both gaps within the window, how far its joints may move. Lengths are read off the plan itself."""
import pytest

from layout.planning.planner import plan_floor
from layout.replan.events import OffcutGone, PieceCut, RowDown
from layout.replan.offcut_slack import JOINTS_MOVE_MM, wants_wood, without_small_changes
from layout.replan.progress import closing_piece, progress_of
from layout.room import Wishes


@pytest.fixture(scope="module", params=["left-to-right", "right-to-left"])
def plan(box_3x4, board, request):
    return plan_floor(box_3x4, board, Wishes(along=("A", "B"), start=("A", "B"), lay=request.param), moves=60)


def test_wood_is_wanted_only_beyond_what_is_to_spare_and_what_the_row_bears(plan):
    pieces, seen = {piece.id: piece for piece in plan.pieces}, set()
    for offcut in (offcut for offcut in plan.offcuts if offcut.used_by):
        cut, user = pieces[offcut.cut_by], pieces[offcut.used_by]
        closes = any(user is closing_piece(plan, run) for row in plan.rows for run in row.runs)
        bears = 2 * (plan.gap_most_mm - plan.gap_mm) if closes else JOINTS_MOVE_MM
        spare = (offcut.to_mm - offcut.from_mm) - (user.to_mm - user.from_mm)
        for over, wanted in ((spare + bears - 0.5, False), (spare + bears + 0.5, True), (-5.0, False), (0.0, False)):
            long = cut.to_mm - cut.from_mm + over
            now = progress_of(plan, [RowDown(row=int(cut.id.split(".")[0])), PieceCut(piece=cut.id, length_mm=long)],
                              bought=100)
            assert wants_wood(plan, now, cut) is wanted, (cut.id, user.id, over)
        seen.add(closes)
    assert False in seen


def test_what_nobody_waits_for_wants_no_wood(plan):
    idle = next(piece for piece in plan.pieces if not any(offcut.cut_by == piece.id and offcut.used_by
                                                          for offcut in plan.offcuts))
    now = progress_of(plan, [PieceCut(piece=idle.id, length_mm=idle.to_mm - idle.from_mm + 20.0)], bought=100)
    assert not wants_wood(plan, now, idle)


def test_small_changes_count_for_nothing_and_greater_ones_stay(plan):
    """Half of what is to spare or borne, then more; a lost offcut is none of them."""
    pieces = {piece.id: piece for piece in plan.pieces}
    offcut = next(offcut for offcut in plan.offcuts if offcut.used_by
                  and int(offcut.used_by.split(".")[0]) > int(offcut.cut_by.split(".")[0]))
    cut = pieces[offcut.cut_by]
    down = RowDown(row=int(cut.id.split(".")[0]))
    planned = progress_of(plan, [down], bought=100)
    for over, small in ((JOINTS_MOVE_MM / 2, True), (-JOINTS_MOVE_MM, True), (80.0, False), (-80.0, False)):
        now = progress_of(plan, [down, PieceCut(piece=cut.id, length_mm=cut.to_mm - cut.from_mm + over)], bought=100)
        calm = without_small_changes(plan, now)
        assert (calm.spares == planned.spares and not calm.cut) if small else calm is now
    lost = progress_of(plan, [down, OffcutGone(label=offcut.label)], bought=100)
    assert without_small_changes(plan, lost) is lost
