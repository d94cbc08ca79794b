"""The day through jobs in memory: laid rows never move, the judge finds nothing, no entry is lost, and one sentence
answers each."""
from __future__ import annotations

import datetime
import json
import random
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from tests.support.day_logs import DAY, kept_job, random_event, small_room, tree_of

from desk.cli import main
from desk.convert import to_pack_job
from desk.actions.day import active_entries, day_of, next_letter, tell
from desk.text.day_text import day_answer, sentence_of, stands_of
from desk.commands.day_parser import read_words
from desk.text.day_events import phrases
from desk.jobfile.files import read_job, write_job
from desk.jobfile.parse import parse_job
from desk.problem import JobFileError, JobProblems
from layout.judge.check import find_faults
from layout.errors import LayoutError
from layout.replan.events import (
    BoardsLeft, BoardsSpoiled, FloorPushed, Obstacle, OffcutFound, OffcutGone, PieceCut, PlaceMeasured, RowBegun,
    RowDown, Sight, ToFarWall)
from printpack.words.tolerances import Fit
from printpack.words.row_words import row_checks

HOUSE = Path(__file__).parents[3]
BOX = [[0, 0], [4000, 0], [4000, 3000], [0, 3000]]


@pytest.fixture(scope="module")
def box():
    """A true 4 by 3 m box with its plan kept."""
    return kept_job(tree_of(BOX))


def told(job, *events):
    """The job after these events, and the last thing told."""
    last = None
    for event in events:
        last = tell(job, event, "said", on=DAY)
        job = last.job
    return job, last


def kept_for_later(job):
    """(row, offcut): the first offcut that waits, once the row that leaves it is down, for one after the next."""
    offcuts = [offcut for offcut in day_of(job).plan.offcuts if offcut.used_by]
    found = [(row_of(offcut.cut_by), offcut) for offcut in offcuts if row_of(offcut.used_by) > row_of(offcut.cut_by)
             + 1]
    return min(found, key=lambda each: each[0])


def row_of(piece):
    return int(piece.split(".")[0])


def test_random_logs_move_no_laid_piece_leave_no_fault_and_lose_no_entry():
    rng = random.Random(11)
    for _ in range(6):
        job, before = kept_job(small_room(rng)), 0
        for _ in range(8):
            day = day_of(job)
            event = random_event(rng, day)
            try:
                after = tell(job, event, "said", on=DAY)
            except LayoutError as error:
                assert error.slug in ("under-rows", "bad-island", "bad-outline", "gap-eats-floor"), error
                continue
            lying = [piece for row in day.plan.rows[:day.now.down] for piece in row.pieces]
            still = [piece for row in after.after.plan.rows[:day.now.down] for piece in row.pieces]
            assert [(p.id, p.outline_mm, p.takes, p.leaves) for p in lying] == [(p.id, p.outline_mm, p.takes, p.leaves)
                                                                                for p in still]
            assert find_faults(after.after.plan, after.after.room) == ()
            assert after.job.tree()["day"][:-1] == job.tree().get("day", []) and len(after.job.day) == before + 1
            assert sentence_of(after, "metric") and parse_job(json.loads(after.job.text)) == after.job
            job, before = after.job, before + 1


def test_the_page_of_a_row_and_the_day_expect_the_same_distance(box):
    """What the booklet prints for a row, before anything is told, is what the day expects once that row is down (to
    the rounding of both)."""
    job, _ = told(box, RowDown(row=4))
    day = day_of(job)
    printed = " ".join(row_checks(to_pack_job(box, day.survey, day.kept.plan, date=DAY), day.kept.plan.rows[3],
                                  Fit(to_pack_job(box, day.survey, day.kept.plan, date=DAY))))
    (left, right, off), = re.findall(r"([\d.]+) left, ([\d.]+) right, ±\s*([\d.]+)", printed)
    on_paper = [(float(left), float(off)), (float(right), float(off))]
    said = [(float(low), float(high)) for low, high in re.findall(r"([\d.]+) to ([\d.]+) mm",
                                                                  " ".join(stands_of(day, "metric")))]
    assert len(on_paper) == len(said) == 2
    for (mm, pm), (low, high) in zip(on_paper, said):
        assert (mm - pm, mm + pm) == pytest.approx((low, high), abs=1.01)


def test_spoiled_boards_change_no_page_that_saves_none(box):
    """More boards are spoiled than were to spare: what is short is told, and the pages stay unless fewer boards do."""
    job, _ = told(box, RowDown(row=4))
    before = day_of(job)
    _, last = told(job, BoardsSpoiled(count=before.now.left))
    assert bool(last.changed) is (last.after.plan.boards < before.plan.boards)
    assert last.after.now.left == 0 and sentence_of(last, "metric")


def test_an_entry_taken_back_leaves_things_as_if_it_had_never_been(box):
    job, _ = told(box, RowDown(row=4))
    spoiled, _ = told(job, BoardsSpoiled(count=2))
    back, _ = told(spoiled, 2)
    assert day_of(back).now == day_of(job).now and [number for number, _ in active_entries(back)] == [1]
    again, _ = told(back, 0)
    assert active_entries(again) == () and len(again.day) == 4
    with pytest.raises(JobProblems, match="no entry to take back"):
        tell(again, 0, "undo", on=DAY)


def nearer(job, row, by_mm):
    """The far wall told that much nearer than expected, from a row that is down."""
    return ToFarWall(row=row, sights=tuple(Sight(distance_mm=round(job_reach(job, row, side) - by_mm), side=name)
                                           for side, name in enumerate(("left", "right"))))


def test_a_nearer_wall_narrows_the_last_row_and_only_its_page_changes_when_it_comes_up(box):
    plan = day_of(box).plan
    job, _ = told(box, RowDown(row=8))
    job, early = told(job, nearer(job, 8, 8.0))
    assert not early.changed and early.after.letter == "A" and "instead of" in sentence_of(early, "metric")
    _, last = told(job, RowDown(row=len(plan.rows) - 1))
    assert last.changed == (len(plan.rows),) and last.after.letter == "B", "what was told comes to paper in time"
    job, _ = told(box, RowDown(row=len(plan.rows) - 3))
    _, last = told(job, nearer(job, len(plan.rows) - 3, 8.0))
    after = last.after
    had, has = (p.rows[-1].far_mm - p.rows[-1].near_mm for p in (plan, after.plan))
    assert has == pytest.approx(had - 8, abs=2.0) and last.changed == (len(plan.rows),) and after.letter == "B"
    assert f"instead of {had:.0f} mm" in sentence_of(last, "metric") and "lay by revision B" in sentence_of(
        last, "metric"
    )


@pytest.mark.parametrize("off, follows", [(1.5, False), (-1.5, False), (-4.0, True)])
def test_what_comes_out_as_expected_prints_nothing_and_small_steps_add_up(box, off, follows):
    near = len(day_of(box).plan.rows) - 3
    job, _ = told(box, RowDown(row=near))
    sights = tuple(Sight(distance_mm=job_reach(job, near, side) + off, side=name)
                   for side, name in enumerate(("left", "right")))
    job, last = told(job, ToFarWall(row=near, sights=sights))
    said = sentence_of(last, "metric")
    assert bool(last.changed) is follows and ("As expected" in said) is not follows and (last.after.letter
                                                                                         == "B") is follows
    # Compared with the pages that lie there, not with the last reading: what adds up is told.
    job, _ = told(job, RowDown(row=near + 1))
    sights = tuple(Sight(distance_mm=job_reach(job, near + 1, side) + 3 * off, side=name)
                   for side, name in enumerate(("left", "right")))
    _, last = told(job, ToFarWall(row=near + 1, sights=sights), ToFarWall(row=near + 1, sights=sights))
    assert last.after.letter > "A"


def job_reach(job, row, side):
    """Distance to the far wall as the plan expects it."""
    from layout.replan.floor_estimation import middles
    day = day_of(job)
    return day.planned.ahead(row, middles(day.plan, row)[side])[0]


def test_a_slip_of_the_tape_is_not_followed_until_a_second_reading_agrees(box):
    job, _ = told(box, RowDown(row=6))
    left = job_reach(job, 6, 0)
    job, last = told(job, ToFarWall(row=6, sights=(Sight(distance_mm=round(left - 60), side="left"),)))
    assert not last.changed and "measure again" in sentence_of(last, "metric")
    job, last = told(job, ToFarWall(row=6, sights=(Sight(distance_mm=round(left - 61), side="left"),)))
    assert last.changed and not any(verdict.left_out for verdict in last.after.drift.verdicts)


def test_a_lost_offcut_costs_one_board_at_most_and_its_piece_comes_from_another(box):
    row, offcut = kept_for_later(box)
    job, _ = told(box, RowDown(row=row))
    day, lost = day_of(job), offcut.label
    job, last = told(job, OffcutGone(label=lost))
    assert last.after.plan.boards <= day.plan.boards + 1 and last.changed
    assert all(piece.takes != lost for piece in last.after.plan.pieces)
    with pytest.raises(LayoutError, match="on hand"):
        tell(job, OffcutGone(label=lost), "said", on=DAY)


def test_a_found_piece_is_used_where_it_saves_a_board(box):
    job, _ = told(box, RowDown(row=4))
    day = day_of(job)
    job, last = told(job, *(OffcutFound(label=f"F{k}", length_mm=1280.0, keeps=(("left", "right")[k % 2],))
                            for k in range(1, 5)))
    assert last.after.plan.boards < day.plan.boards and any(piece.takes.startswith("F")
                                                            for piece in last.after.plan.pieces)


def test_a_found_piece_taken_back_is_counted_on_no_longer(box):
    """Two pieces found and used by the plan, then both entries taken back: none on hand, none in the plan, whose boards
    are all new. A piece told of under an old label is as long as it was told last."""
    job, _ = told(box, RowDown(row=3))
    boards = day_of(job).plan.boards
    job, last = told(job, *(OffcutFound(label=f"F{k}", length_mm=1270.0, keeps=(end,))
                            for k, end in ((1, "left"), (2, "right"))))
    assert {piece.takes for piece in last.after.plan.pieces} & {"F1", "F2"} and last.after.plan.boards < boards
    job, last = told(job, 0, 0)
    assert not {spare.label for spare in last.after.now.spares} & {"F1", "F2"} and last.after.plan.owned == ()
    assert last.after.plan.boards == len({piece.board for piece in last.after.plan.pieces}) <= boards
    assert not {piece.takes for piece in last.after.plan.pieces} & {"F1", "F2"}
    _, last = told(job, OffcutFound(label="F1", length_mm=1190.0, keeps=("right",)))
    assert [spare.length_mm for spare in last.after.now.spares if spare.label == "F1"] == [1190.0] and not last.trouble


def test_a_piece_that_came_out_longer_shortens_what_its_board_leaves(box):
    row, offcut = kept_for_later(box)
    piece = next(piece for piece in day_of(box).plan.pieces if piece.id == offcut.cut_by)
    before = [RowDown(row=row - 1)] if row > 1 else []
    _, last = told(box, *before, PieceCut(piece=piece.id, length_mm=piece.to_mm - piece.from_mm + 15), RowDown(row=row))
    spare = next(spare for spare in last.after.now.spares if spare.label == offcut.label)
    assert spare.length_mm == pytest.approx(offcut.to_mm - offcut.from_mm - 15)
    taken = [piece for piece in last.after.plan.pieces if piece.takes == offcut.label]
    assert all(piece.to_mm - piece.from_mm <= spare.length_mm + 1e-6 for piece in taken)


def test_the_floor_pushed_to_the_start_wall_widens_the_last_row(box):
    job, _ = told(box, RowDown(row=2), FloorPushed(towards_start_mm=4))
    ends = day_of(job).outlook.ends
    assert all(end.mean_mm == pytest.approx(end.planned_mm + 4) for end in ends)


@pytest.mark.parametrize("phrase", [phrase for phrase in phrases() if not phrase.startswith("undo")])
def test_every_phrase_that_is_shown_is_understood(phrase):
    assert read_words(phrase.split(), show="metric") is not None


@pytest.mark.parametrize(("words", "event"),
                         [("rows 1 to 4 are down", RowDown(row=4)), ("Row 4 done.", RowDown(row=4)),
                          ("piece 4.5 came out 41,2 cm", PieceCut(piece="4.5", length_mm=412.0)),
                          ("the place is 1306 mm", PlaceMeasured(length_mm=1306.0)),
                          ("place of 4.5 measures 130,6 cm", PlaceMeasured(piece="4.5", length_mm=1306.0)),
                          ("row 4 to far wall left 1.803 m, right 179,9 cm",
                           ToFarWall(row=4, sights=(Sight(distance_mm=1803.0, side="left"),
                                                    Sight(distance_mm=1799.0, side="right")))),
                          ("start wall to wall at 350 mm is 3196 mm",
                           ToFarWall(row=0, sights=(Sight(distance_mm=3196.0, at_mm=350.0),))),
                          ("a board is broken", BoardsSpoiled(count=1)),
                          ("pushed 4 mm towards the far wall", FloorPushed(towards_start_mm=-4.0)), ("undo 3", 3),
                          ("undo", 0), ("found 640 mm, keeps right end",
                                        OffcutFound(label="F1", length_mm=640.0, keeps=("right",))),])
def test_words_as_people_say_them(words, event):
    assert read_words(words.split(), show="metric") == event


def test_words_in_feet_and_inches():
    assert read_words(["piece", "4.5", "came", "out", "1'", "4", '1/4"'], show="imperial") == PieceCut(
        piece="4.5", length_mm=412.75
    )


@pytest.mark.parametrize("words", ["hello", "row done", "piece 4 came out 412", "piece 4.5 came out much",
                                   "row four done", "undo it", "row 4 to wall", "rows 5 to 3 done", "0 boards spoiled",
                                   "99999999 boards left"])
def test_what_is_not_understood_is_answered_with_what_is(words):
    with pytest.raises(JobFileError) as refusal:
        read_words(words.split(), show="metric")
    shown = {"unknown-words": phrases(), "unread-length": ("mm",)}[refusal.value.slug]
    assert any(phrase in str(refusal.value) for phrase in shown)


@pytest.mark.parametrize(("event", "word"),
                         [(RowDown(row=99), "rows 1 to"), (PieceCut(piece="1.99", length_mm=300.0), "has pieces"),
                          (ToFarWall(row=5, sights=(Sight(distance_mm=1000.0, side="left"),)), "row 5 done"),
                          (PieceCut(piece="1.1", length_mm=2000.0), "longer than a board, 1285 mm"),
                          (OffcutFound(label="F1", length_mm=5000.0, keeps=("left",)), "longer than a board"),
                          (FloorPushed(towards_start_mm=40.0), "gap at the start wall is 10 mm"),
                          (FloorPushed(towards_start_mm=-400.0), "room for one more"),
                          (BoardsSpoiled(count=999), "more than there ever were, 56"),
                          (Obstacle(name="N1", row=0, left_mm=9999.0, ahead_mm=300.0, diameter_mm=22.0),
                           "outside the floor"), (Obstacle(name="N1", row=0, left_mm=900.0, ahead_mm=300.0,
                                                           diameter_mm=900.0), "outside diameter"),
                          (Obstacle(name="N1", row=0, left_mm=900.0, ahead_mm=3900.0, size_mm=(300.0, 200.0)),
                           "start wall"), (OffcutGone(label="99R"), "on hand")])
def test_what_cannot_be_is_refused_and_not_entered(box, event, word):
    with pytest.raises(LayoutError, match=word):
        tell(box, event, "said", on=DAY)


def test_where_it_stands_and_the_answer_for_programs(box):
    _, last = told(box, RowDown(row=5))
    says = " ".join(stands_of(last.after, "metric"))
    assert f"Rows 1 to 5 of {len(last.after.plan.rows)} are down" in says and "expect" in says
    answer = json.loads(json.dumps(day_answer(last.after, last, ["x"], [], "metric"), allow_nan=False))
    assert answer["says"] == ["x", *stands_of(last.after, "metric")]
    assert answer["format"] == "tapegroove-day" and answer["rows_down"] == 5 and answer["boards"][
        "left"] == last.after.now.left


def test_letters_of_revisions():
    assert [next_letter(letter) for letter in ("A", "Y", "Z", "AZ", "ZZ")] == ["B", "Z", "AA", "BA", "AAA"]


def test_what_is_not_understood_is_answered_with_its_like_and_else_with_everything():
    for words, shown, hidden in (("piece 4 came out 412", phrases()[4], phrases()[0]),
                                 ("pushed 4 mm", "pushed 4 mm to start", "board spoiled"),
                                 ("3 screws broken", phrases()[0], None), ("start wall 3196", phrases()[3], None)):
        with pytest.raises(JobFileError) as refusal:
            read_words(words.split(), show="metric")
        assert shown in str(refusal.value) and (hidden is None or hidden not in str(refusal.value))


def test_a_row_that_became_the_last_replaces_a_whole_board_not_a_width_no_board_has(box):
    """The far wall of the box comes nearer by more than its last row is wide: arithmetic gives the row before as the
    last."""
    job, _ = told(box, RowDown(row=8))
    last_mm = day_of(box).plan.rows[-1].far_mm - day_of(box).plan.rows[-1].near_mm
    sights = tuple(Sight(distance_mm=job_reach(job, 8, side) - last_mm - 40, side=name)
                   for side, name in enumerate(("left", "right")))
    job, last = told(job, ToFarWall(row=8, sights=sights), ToFarWall(row=8, sights=sights))
    assert len(last.after.plan.rows) == len(day_of(box).plan.rows) - 1
    assert "instead of a whole board" in sentence_of(last, "metric")


EVERY_KIND = (("start wall to wall left {ahead} mm right {ahead} mm", "As expected", ()),
              ("row 1 done", "Row 1 is down", ()), ("row 1 to wall left {ahead} mm right {ahead} mm", "As expected",
                                                    ()), ("row 2 begun", "on its joints", ()),
              ("piece 2.1 came out {short} mm", "3 mm longer than planned", ()),
              ("the place is {last} mm", ", as planned", ()), ("row 2 done", "Row 2 is down", ()),
              ("row 3 done", "Row 3 is down", ()),
              ("offcut {next} too short", "stays on hand", ("revision",)), ("board spoiled", "1 board set aside", ()),
              ("offcut {offcut} lost", "is off the list", ()), ("found 640 mm left", "Pencil F1 on it", ()),
              ("pipe 22 mm at left 1204 mm row 2 ahead 656 mm", "the boards go round it", ("revision",)),
              ("box 300 mm by 200 mm at left 2204 mm row 2 ahead 956 mm", "the boards go round it", ("revision",)),
              ("pushed 2 mm to start", "2 mm further towards", ()), ("out of boards", "before row", ()),
              ("undo", "“out of boards”", ()))


def test_every_kind_of_entry_through_the_command(tmp_path, box, capsys):
    """What a fitter would say on one day, in order: each is answered in a sentence that tells what it is about, and
    is one entry more."""
    write_job(tmp_path, box)
    for number, (words, answer, printed) in enumerate(EVERY_KIND, start=1):
        day = day_of(read_job(tmp_path))
        piece = next(piece for piece in day.plan.rows[1].pieces)
        last = day.plan.rows[1].pieces[-1]
        filled = words.format(last=round(last.to_mm - last.from_mm, 1),
                              ahead=round(job_reach(read_job(tmp_path), day.now.down, 0)),
                              short=round(piece.to_mm - piece.from_mm + 3, 1), offcut=day.now.spares[0].label
                              if day.now.spares else "",
                              next=next((piece.takes for row in day.plan.rows[day.now.down:] for piece in row.pieces
                                         if piece.takes in {spare.label for spare in day.now.spares}), ""))
        assert main(["day", str(tmp_path), *filled.split()]) == 0, filled
        out = " ".join(capsys.readouterr().out.split())
        assert answer in out and all(word in out for word in printed), (filled, out)
        assert len(read_job(tmp_path).day) == number


@pytest.mark.parametrize("words", ["row 99 done", "row 5 begun", "piece 1.99 came out 300 mm",
                                   "piece 1.1 came out 2000 mm", "piece 1.1 came out -5 mm", "0 boards spoiled",
                                   "9999 boards spoiled", "offcut ZZ lost", "offcut ZZ too short", "found 5000 mm left",
                                   "found 640 mm", "row 7 to wall left 1800 mm", "start wall to wall middle 3 m",
                                   "pipe 22 mm at left 9999 mm start wall ahead 356 mm",
                                   "pipe 0 mm at left 904 mm start wall ahead 356 mm",
                                   "box 300 mm by 200 mm at left 904 mm start wall ahead 9356 mm", "-3 boards left",
                                   "pushed 400 mm to start", "pushed 400 mm to far", "first row 500 mm", "undo 99",
                                   "hello"])
def test_wrong_entries_through_the_command_get_one_sentence_and_are_not_entered(tmp_path, box, capsys, words):
    write_job(tmp_path, box)
    assert main(["day", str(tmp_path), *words.split()]) in (1, 2)
    out, err = capsys.readouterr()
    assert out == "" and len(err.strip().splitlines()) == 1 and err.strip().endswith((".", "”.",
                                                                                      '".')) and "Traceback" not in err
    assert read_job(tmp_path).day == ()


@pytest.mark.parametrize("words", ["box 300 mm by 200 mm", "box 300 x 200 mm", "box 300x200 mm",
                                   "new box 30 cm × 20 cm"])
def test_a_box_is_told_with_its_two_sides_however_they_are_joined(words):
    said = read_words(f"{words} at left 2204 mm row 2 ahead 956 mm".split(), show="metric")
    assert isinstance(said, Obstacle) and said.size_mm == (300.0, 200.0) and (said.left_mm, said.ahead_mm,
                                                                              said.row) == (2204.0, 956.0, 2)


def test_a_box_in_a_box_is_refused_and_one_beside_it_is_not(box):
    job, _ = told(box, RowDown(row=2), Obstacle(name="N1", row=2, left_mm=1200.0, ahead_mm=500.0,
                                                size_mm=(300.0, 200.0)))
    for left, ahead in ((1490.0, 690.0), (1300.0, 550.0), (1200.0, 500.0), (910.0, 310.0)):
        with pytest.raises(LayoutError,
                           match="where N1 stands; measure again, or take its entry back and tell one box round both"):
            tell(job, Obstacle(name="N2", row=2, left_mm=left, ahead_mm=ahead, size_mm=(300.0, 200.0)), "said", on=DAY)
    beside = tell(job, Obstacle(name="N2", row=2, left_mm=1500.0, ahead_mm=500.0, size_mm=(300.0, 200.0)), "said",
                  on=DAY)
    assert beside.changed and not beside.trouble
    back = tell(job, 0, "undo", on=DAY)
    assert not tell(back.job, Obstacle(name="N1", row=2, left_mm=1300.0, ahead_mm=550.0, size_mm=(300.0, 200.0)),
                    "said", on=DAY).trouble


def test_a_job_without_a_kept_plan_says_what_to_do(tmp_path, capsys):
    write_job(tmp_path, parse_job(tree_of(BOX)))
    assert main(["day", str(tmp_path), "row", "1", "done"]) == 1
    assert "--keep" in capsys.readouterr().err


def test_the_command_enters_prints_and_keeps_its_plan_safe(tmp_path, box, capsys):
    write_job(tmp_path, box)
    assert main(["day", str(tmp_path), "row", "14", "done"]) == 0 and "Row 14 is down" in capsys.readouterr().out
    reach = job_reach(read_job(tmp_path), 14, 0)
    words = f"to wall left {reach - 9:.0f} mm right {reach - 9:.0f} mm".split()
    assert (
        main(["day", str(tmp_path), "--paper", "a3", "row", "14", *words, "--json"]) == 0
    )  # options stand where they like
    answer = json.loads(capsys.readouterr().out)
    assert answer["revision"] == "B" and Path(answer["files"][0]).read_bytes().startswith(b"%PDF")
    assert main(["day", str(tmp_path), "--papre", "a3", "row", "15",
                 "done"]) == 2 and "--papre" in capsys.readouterr().err
    assert main(["plan", str(tmp_path), "--keep", "--afresh"]) == 1 and "being laid" in capsys.readouterr().err
    assert len(read_job(tmp_path).day) == 2


def test_killed_while_writing_no_entry_is_lost(tmp_path, box):
    """A process that enters rows without end is killed: the job is whole, and holds every entry that was answered."""
    write_job(tmp_path, box)
    code = (
        "import sys, datetime, pathlib\nfrom desk.actions.day import tell\nfrom desk.jobfile.files import read_job\n"
        "from desk.store.job_store import JobKeeper\n"
        "from layout.replan.events import BoardsSpoiled\nfolder = pathlib.Path(sys.argv[1])\n"
        "job = read_job(folder)\n"
        "while True:\n    made = tell(job, BoardsSpoiled(count=1), 'said', on=datetime.date(2026, 3, 5)).job\n"
        "    JobKeeper(folder).keep(made, instead_of=job)\n    job = made\n    print(len(job.day), flush=True)\n")
    for round_ in range(2):
        with subprocess.Popen([sys.executable, "-c", code, str(tmp_path)], cwd=HOUSE, stdout=subprocess.PIPE,
                              text=True) as process:
            for _ in range(2):
                process.stdout.readline()
            time.sleep(0.013 * (round_ + 1))
            process.send_signal(signal.SIGKILL)
            answered = [int(line) for line in process.stdout.read().split()]
        entries = len(read_job(tmp_path).day)
        assert entries >= max(answered, default=2) and day_of(read_job(tmp_path)).now.spoiled == entries
        assert datetime.date.fromisoformat(read_job(tmp_path).tree()["day"][-1]["on"]) == DAY


def test_while_it_is_laid_the_kept_plan_is_printed_whatever_is_edited_and_in_the_room_as_it_lies(box):
    from desk.jobfile.files import with_keys
    from desk.actions.pipeline import pack_job, planned_job
    left = job_reach(box, 6, 0)
    job, last = told(box, RowDown(row=6), ToFarWall(row=6,
                                                    sights=tuple(Sight(distance_mm=left - 8, side=side)
                                                                 for side in ("left", "right"))))
    edited = with_keys(job, floor={"outline": [[0, 0], [4100, 0], [4100, 3000], [0, 3000]], "sd": 3})
    survey, plan, kept = planned_job(edited, {})
    assert kept is not None and kept.is_current and plan.rows == last.after.plan.rows
    assert set(pack_job(edited, survey, plan, date=DAY, paper="a4")) >= {"booklet.pdf", "plan.json"}


def test_a_row_begun_keeps_its_joints(box):
    row, offcut = kept_for_later(box)
    job, _ = told(box, RowDown(row=row), RowBegun(row=row + 1))
    day = day_of(job)
    with pytest.raises(LayoutError, match=f"row {row + 2} done"):
        tell(job, RowBegun(row=row + 3), "said", on=DAY)
    _, last = told(job, OffcutGone(label=offcut.label))
    begun, still = ([piece.outline_mm for piece in plan.rows[row].pieces] for plan in (day.plan, last.after.plan))
    assert day.now.held == row + 1 and begun == still


def test_a_last_row_in_a_doorway_only_is_given_no_width_along_the_wall():
    """3000 mm less two gaps is a first row of 100 and fifteen of 192: only the doorway holds a row more."""
    tree = tree_of(BOX)
    tree["doors"] = [{"name": "D1", "wall": ["A", "B"], "from": 1000, "width": 800, "reveal": 110}]
    tree["flooring"] |= {"direction": ["A", "B"], "start": ["C", "D"], "first_row": 100}
    job, down = told(kept_job(tree), RowDown(row=1))
    assert len(down.after.plan.rows) == 17 and down.after.plan.rows[15].far_mm == pytest.approx(2980.0)
    for off in (0.0, 4.0):
        sights = tuple(Sight(side=side, distance_mm=job_reach(job, 1, k) - off)
                       for k, side in enumerate(("left", "right")))
        _, last = told(job, ToFarWall(row=1, sights=sights))
        said = " ".join([sentence_of(last, "metric"), *stands_of(last.after, "metric")])
        assert "As expected." in said and "the last" not in said and last.after.outlook.ends == ()
    _, back = told(job, 0)
    assert sentence_of(back, "metric").startswith("Entry 1 is taken back: “row 1 done”.")


def test_the_packs_to_buy_cover_what_is_short(box):
    day, pack = day_of(box), day_of(box).plan.board.pack
    needed = len({piece.board for piece in day.plan.pieces if piece.board})
    for left, words in ((needed - 1, "1 short. Buy a pack before"), (needed - pack, f"{pack} short. Buy a pack before"),
                        (needed - pack - 1, f"{pack + 1} short. Buy 2 packs before"),
                        (0, f"{needed} short. Buy {-(-needed // pack)} packs before row 1.")):
        _, last = told(box, BoardsLeft(count=left))
        assert words in sentence_of(last, "metric")


def test_an_offcut_is_called_by_what_is_pencilled_on_it(tmp_path, box):
    """Its label in the plan and the piece it is to become mean the same one."""
    from desk.commands.day_command import _label_of
    plan = day_of(box).plan
    offcut = next(offcut for offcut in plan.offcuts if offcut.used_by)
    lost = read_words(["offcut", offcut.used_by, "lost"], show="metric",
                      label_of=lambda name: _label_of(name, box, None))
    assert lost == OffcutGone(label=offcut.label)
    assert [_label_of(name, box, None) for name in ("99.9", "7R")] == ["99.9", "7R"]


@pytest.mark.parametrize("push", [-4.0, 3.0])
@pytest.mark.parametrize("seed", range(5))
def test_a_push_changes_no_row_that_does_not_lie_along_a_far_wall(seed, push):
    """Skewed rooms with every row but the last one between side walls that stay: only that one may change."""
    rng = random.Random(seed)
    corners = ((0, 0), (3100, 0), (3100, 2600), (0, 2600))
    tree = tree_of([[x + rng.uniform(-20, 20), y + rng.uniform(-20, 20)] for x, y in corners])
    tree["flooring"] |= {"direction": ["A", "B"], "start": ["A", "B"]}
    job = kept_job(tree)
    rows = len(day_of(job).plan.rows)
    for down in (0, rows // 3, rows - 2):
        last = told(job, *([RowDown(row=down)] if down else []), FloorPushed(towards_start_mm=push))[1]
        assert last.trouble == "" and set(last.changed) <= {rows}
        assert find_faults(last.after.plan, last.after.room) == ()
