"""Places measured before the piece that closes a row is sawn, longer ones than a board among them. Expected values are
sums of the lengths drawn here; the stagger is the plan's own rule."""
import pytest

from layout.errors import LayoutError
from layout.planning.planner import plan_floor
from layout.replan.closure_bias import closing_reserve
from layout.replan.events import OffcutShort, PieceCut, PlaceMeasured, RowBegun, RowDown
from layout.replan.longer_start import longer_start
from layout.replan.progress import closing_piece, progress_of, refuse_event, with_piece
from layout.room import Wishes


@pytest.fixture(scope="module", params=["left-to-right", "right-to-left"])
def plan(box_3x4, board, request):
    return plan_floor(box_3x4, board, Wishes(along=("A", "B"), start=("A", "B"), lay=request.param), moves=60)


def length(piece):
    return piece.to_mm - piece.from_mm


def told(plan, *events):
    return progress_of(plan, events, bought=100)


def test_a_place_tells_as_much_of_the_side_walls_as_the_piece_sawn_for_it(plan):
    """Three rows whose places are 4 mm longer than planned, told before or after their pieces are sawn."""
    closing = [closing_piece(plan, row.runs[0]) for row in plan.rows[:3]]
    by_place = told(plan, *(PlaceMeasured(piece=piece.id, length_mm=length(piece) + 4.0) for piece in closing),
                    RowDown(row=3))
    by_piece = told(plan, *(PieceCut(piece=piece.id, length_mm=length(piece) + 4.0) for piece in closing),
                    RowDown(row=3))
    assert closing_reserve(plan, by_place) == closing_reserve(plan, by_piece) > 1.0
    assert by_place.spares == by_piece.spares and by_place.left == by_piece.left


def test_the_place_of_the_row_begun_tells_at_once(plan):
    piece = closing_piece(plan, plan.rows[1].runs[0])
    events = [RowDown(row=1), RowBegun(row=2)]
    assert closing_reserve(plan, told(plan, *events)) == pytest.approx(0.0, abs=1e-9)
    now = told(plan, *events, PlaceMeasured(piece=piece.id, length_mm=length(piece) + 9.0))
    assert closing_reserve(plan, now) > 1.0 and (now.down, now.held) == (1, 2)


def test_a_place_longer_than_a_board_is_told_and_takes_a_whole_board_at_most(plan):
    """A place of a board and 21 mm: the piece is a board, the walls stand further off by all of it."""
    board, piece = plan.board.length_mm, closing_piece(plan, plan.rows[1].runs[0])
    event = PlaceMeasured(piece=piece.id, length_mm=board + 21.0)
    refuse_event(plan, told(plan, RowDown(row=1)), event)
    now = told(plan, RowDown(row=1), event)
    assert now.cut[piece.id] == board and now.place_off_mm(piece) == board + 21.0 - length(piece)


def test_a_place_needs_no_name_where_one_piece_closes_the_row(plan):
    piece = closing_piece(plan, plan.rows[1].runs[0])
    assert with_piece(plan, PlaceMeasured(length_mm=500.0), 1) == PlaceMeasured(piece=piece.id, length_mm=500.0)
    other = next(one for one in plan.rows[1].pieces if one is not piece)
    for name, down in ((other.id, 1), (piece.id, 0), ("", len(plan.rows)), ("99.1", 1)):
        with pytest.raises(LayoutError) as refused:
            refuse_event(plan, told(plan, *([RowDown(row=down)] if down else [])),
                         PlaceMeasured(piece=name, length_mm=500.0))
        assert refused.value.slug in ("no-such-piece", "not-down")


def test_an_offcut_found_too_short_at_its_place_is_told_after_the_place(plan):
    """What is said of a place does not say that its piece is sawn."""
    row, piece = next((row, piece) for row in plan.rows[1:] for piece in [closing_piece(plan, row.runs[0])]
                      if piece.takes)
    events = [RowDown(row=row.number - 1), PlaceMeasured(piece=piece.id, length_mm=length(piece) + 12.0)]
    short = with_piece(plan, OffcutShort(label=piece.takes))
    refuse_event(plan, told(plan, *events), short)
    before, after = told(plan, *events), told(plan, *events, short)
    assert after.used == before.used + 1
    assert piece.takes in {spare.label for spare in after.spares} - {spare.label for spare in before.spares}


def test_a_row_begun_longer_keeps_its_joints_from_those_of_the_row_before(plan):
    """Every joint of the row moved as far as the first piece is longer: none is nearer than the stagger to one of the
    row before, and no lesser length would do."""
    def joints(row):
        return [max(plan.to_row_frame(point)[0] for point in piece.outline_mm) for piece in row.pieces[:-1]]

    way, rule, found = 1.0 if plan.lay == "left-to-right" else -1.0, plan.rules.stagger_mm, 0

    def keeps(row, before, more):
        return all(abs(s + way * more - other) >= rule - 1e-6 for s in joints(row) for other in joints(before))

    for before, row in zip(plan.rows, plan.rows[1:]):
        begun = longer_start(plan, closing_piece(plan, row.runs[0]), 20.4)
        if begun is None:
            assert not any(keeps(row, before, more) for more in range(21, 21 + int(
                plan.board.length_mm - length(row.pieces[0 if way > 0 else -1]) - 20.4)))
            continue
        first, long = begun
        more = round(long - length(first))
        assert more >= 20.4 and long <= plan.board.length_mm and keeps(row, before, more)
        assert not any(keeps(row, before, less) for less in range(21, more))
        found += 1
    assert found > 3
