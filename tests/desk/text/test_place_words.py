"""What is answered to “the place is …”: the piece to saw, the row slid within the edge window, and else the way out.
Expected lengths are sums of those told here; the window is the plan's own."""
import pytest

from desk.actions.day import day_of, tell
from desk.commands.day_parser import read_words
from desk.jobfile.day_entries import entry_tree
from desk.text.day_events import meaning_of
from layout.replan.events import PlaceMeasured, RowBegun, RowDown
from layout.replan.progress import closing_piece
from tests.support.day_logs import DAY, kept_job, tree_of


@pytest.fixture(scope="module")
def job():
    """Two rows down and the third begun, 3104 mm wide."""
    made = kept_job(tree_of([[0, 0], [3124, 0], [3124, 2600], [0, 2600]]))
    for event in (RowDown(row=2), RowBegun(row=3)):
        made = tell(made, event, "", on=DAY).job
    return made


def said(job, length, piece=""):
    told = tell(job, PlaceMeasured(piece=piece, length_mm=length), "", on=DAY)
    return meaning_of(told, "metric"), told


def closing(job):
    plan = day_of(job).plan
    return closing_piece(plan, plan.rows[2].runs[0])


def test_a_place_as_planned_or_a_little_off_is_sawn(job):
    piece = closing(job)
    long = piece.to_mm - piece.from_mm
    assert said(job, long)[0] == f"Saw piece {piece.id} to {long:.0f} mm, as planned."
    assert said(job, long - 4.0)[0] == f"Saw piece {piece.id} to {long - 4:.0f} mm, 4 mm shorter than planned."


def test_a_place_longer_than_a_board_within_the_window_is_closed_by_sliding_the_row(job):
    plan = day_of(job).plan
    room = 2 * (plan.gap_most_mm - plan.gap_mm)
    words, told = said(job, plan.board.length_mm + room, closing(job).id)
    assert f"gaps at its two ends are alike, {plan.gap_most_mm:.0f} mm each" in words
    assert told.after.letter == told.before.letter, "advice first: no new pages"


def test_a_place_much_longer_than_a_board_is_told_how_the_row_begins(job):
    plan = day_of(job).plan
    words, told = said(job, plan.board.length_mm + 21.0)
    assert words.startswith("A board is 21 mm too short for that place.") or "Offcut" in words
    assert "Take row 3 up and begin it" in words
    assert told.after.now.places == {closing(job).id: plan.board.length_mm + 21.0}


def test_an_entry_of_a_place_is_written_and_read(job):
    told = said(job, 1306.0)[1]
    event = PlaceMeasured(piece=closing(job).id, length_mm=1306.0)
    assert read_words(["the", "place", "is", "1306", "mm"], show="metric") == PlaceMeasured(length_mm=1306.0)
    assert read_words(f"place of piece {event.piece} is 130.6 cm".split(), show="metric") == event
    assert entry_tree(event) == {"what": "place-measured", "piece": event.piece, "mm": 1306.0}
    assert told.job.day[-1].event == event
