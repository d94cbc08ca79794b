"""Where a floor begins, and pieces in tight places. Common practice, no source: row 1 lies along one long straight
wall; a breast or a jamb never leads; nothing is tilted in under a frame; one piece crosses a doorway."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon

from layout.facts.reasons import RowsRun, StartBroken
from layout.judge.check import find_faults
from layout.planfile.codec import from_answer, to_answer
from layout.planning.planner import plan_floor
from layout.planning.recount import recounted
from layout.planning.start_wall import start_wall
from layout.region.gap import edge_window
from layout.region.rows import runs_of, strips_of
from layout.words.plan import plan_words
from layout.room import Beading, Board, Casing, Door, Room, Wishes, settle

BOARD = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)


def room_with(corners, **parts) -> Room:
    return Room(names=tuple("ABCDEFGHIJ"[:len(corners)]), outline_mm=np.array(corners, float), **parts)


#: A breast in the far wall; the walls on its two sides are 12 mm out of line.
BREAST = [(0, 0), (4300, 0), (4300, 3400), (2500, 3400), (2500, 3050), (1300, 3050), (1300, 3388), (0, 3388)]


def test_rows_begin_at_the_long_wall_not_beside_the_breast():
    plan = plan_floor(room_with(BREAST), BOARD, Wishes(direction_rad=0.0), moves=60)
    turned = plan_floor(room_with(BREAST), BOARD, Wishes(), moves=60)
    assert turned.rows[0].runs[0].pieces[0].outline_mm and len(turned.rows[0].runs) == 1
    assert RowsRun(along=("A", "B"), start=("A", "B")) == turned.reasons[0]
    assert find_faults(turned, room_with(BREAST)) == ()
    assert len(plan.rows[0].runs) == 2 and StartBroken(row=1, stretches=2) in plan.reasons


def test_a_start_is_measured_by_its_row_at_the_wall():
    """A row of two stretches, the longer of them 2 of 4 m and 9 mm out of line; then one along all of the floor."""
    cover = [Polygon([(0, 0), (1000, 0), (1000, 300), (2000, 300), (2000, 0), (4000, 9), (4000, 1000), (0, 1000)])]
    strips = strips_of(1000.0, 192.0, 192.0)
    begun = start_wall(runs_of(cover, strips), strips, 0.0)
    assert (begun.row, begun.runs, begun.share) == (0, 2, 0.5) and begun.wedge_mm == pytest.approx(9.0)
    assert begun.is_wedge and not begun.is_short and begun.faults == 2
    later = start_wall(runs_of(cover, strips), strips, 300.0)
    assert (later.row, later.runs, later.faults) == (1, 1, 0)
    whole = start_wall(runs_of([Polygon([(0, 0), (4000, 0), (4000, 1000), (0, 1000)])], strips), strips, 0.0)
    assert whole.faults == 0


def test_a_wedge_in_row_1_is_told():
    """The only walls across the rows lie at 2 degrees to them."""
    room = room_with([(0, 0), (4000, 140), (4000, 3000), (0, 2860)])
    plan = plan_floor(room, BOARD, Wishes(direction_rad=0.0), moves=60)
    (wedge,) = [reason for reason in plan.reasons if reason.slug == "start-wedge"]
    # 4 m at 2 degrees, less what the gap takes off its two ends.
    assert wedge.row == 1 and 130.0 < wedge.wedge_mm <= 140.0
    along = plan_floor(room, BOARD, Wishes(), moves=60)
    assert not [reason for reason in along.reasons if reason.slug == "start-wedge" and reason.row == 1]


def doorway(wall, at, *, width=762.0) -> Room:
    return room_with([(0, 0), (4000, 0), (4000, 3000), (0, 3000)],
                     doors=(Door(name="D1", wall=wall, from_mm=at, width_mm=width, reveal_mm=110.0,
                                 casing=Casing(width_mm=57.0, thickness_mm=15.0)),))


@pytest.mark.parametrize("at", [300.0, 1100.0, 2050.0])
@pytest.mark.parametrize("start", [("A", "B"), ("C", "D")])
def test_one_piece_crosses_a_doorway_and_slides_in_flat_from_the_room(at, start):
    """The doorway in the far wall is the last row or the first; under its frame a board cannot be tilted."""
    room = doorway(("C", "D"), at)
    plan = plan_floor(room, BOARD, Wishes(start=start), moves=60)
    behind = [row for row in plan.rows if all(y > 2991.0 for piece in row.pieces for _, y in piece.outline_mm)]
    assert all(len(row.pieces) == 1 for row in behind)
    flat = {piece.id: piece.flat for piece in plan.pieces if piece.flat}
    assert set(flat.values()) <= {"between casings", "under a casing"} and flat
    told = {name: note.why for note in plan.notes if note.slug == "laid-flat" for name in note.pieces}
    assert told == flat
    # Nothing far from the door is marked.
    for piece in plan.pieces:
        if piece.flat:
            assert max(y for _, y in piece.outline_mm) > 2980.0
            assert any(4000 - at - 762 - 60 < x < 4000 - at + 60 for x, _ in piece.outline_mm) or len(
                {x < 4000 - at for x, _ in piece.outline_mm}) == 2


def test_tight_places_go_through_a_file_and_are_found_anew():
    room = doorway(("C", "D"), 1100.0)
    wishes = settle(Wishes(), 10.0, edge_window(10.0, Wishes()))
    plan = plan_floor(room, BOARD, Wishes(start=("A", "B")), moves=60)
    flat = [piece.id for piece in plan.pieces if piece.flat]
    read = from_answer(to_answer(plan))
    assert flat and read == plan
    bare = replace(read, rows=tuple(replace(row, runs=tuple(replace(run, pieces=tuple(
        replace(piece, flat=None) for piece in run.pieces)) for run in row.runs)) for row in read.rows))
    assert recounted(bare, room, wishes).rows == plan.rows


def test_the_last_row_of_a_recess_is_pushed_in_flat():
    """A recess 1000 wide behind the far wall is shorter than a board; its last row has walls on three sides."""
    room = room_with([(0, 0), (4000, 0), (4000, 2000), (2500, 2000), (2500, 2500), (1500, 2500), (1500, 2000),
                      (0, 2000)])
    plan = plan_floor(room, BOARD, Wishes(along=("A", "B"), start=("A", "B")), moves=60)
    last = plan.rows[-1].pieces
    assert [piece.flat for piece in last] == ["in a recess"] * len(last)
    assert not any(piece.flat for row in plan.rows[:-1] for piece in row.pieces)


@pytest.mark.parametrize(("beading_mm", "left_out"), [(18.0, False), (38.0, True)])
def test_a_strip_too_narrow_to_click_is_left_out_where_the_beading_covers_it(beading_mm, left_out):
    """2912 - 20 = 15 x 192 + 12: a last row of 12 mm under a beading of 18 mm is laid and told; one of 38 mm covers
    38 - 5 - 10 = 23 mm beyond the gap."""
    room = room_with([(0, 0), (4000, 0), (4000, 2912), (0, 2912)])
    wishes = Wishes(start=("A", "B"), first_row_mm=192.0, gap_least_mm=10.0, gap_most_mm=10.0,
                    beading=Beading(width_mm=beading_mm))
    plan = plan_floor(room, BOARD, wishes, moves=60)
    assert (len(plan.rows), len(plan.left_out)) == ((15, 1) if left_out else (16, 0))
    said = plan_words(plan, "metric")
    assert any("too little to click" in text for text in said.relaxed) is not left_out
    assert not left_out or any("beading must cover it" in text for text in said.warnings)
    assert find_faults(plan, room) == ()
    if left_out:
        narrow = replace(plan, bars=replace(plan.bars, width_mm=20.0))
        assert "left-out" in {fault.slug for fault in find_faults(narrow, room)}


def test_stretches_that_begin_apart_are_told_the_row_that_joins_them():
    """Rows from the far wall lie on both sides of the breast until one passes it; those from the near wall meet it
    late, and the rows before hold their stretches in line."""
    room = room_with(BREAST)
    apart = plan_floor(room, BOARD, Wishes(direction_rad=0.0), moves=60)
    broken = [row for row in apart.rows if len(row.runs) > 1]
    joining = next(row.number for row in apart.rows if len(row.runs) == 1)
    assert broken and broken[0].number == 1 and {row.joined_by for row in broken} == {joining}
    assert from_answer(to_answer(apart)) == apart
    later = plan_floor(room, BOARD, Wishes(along=("A", "B"), start=("A", "B")), moves=60)
    assert any(len(row.runs) > 1 for row in later.rows) and all(row.joined_by == 0 for row in later.rows)


def test_gaps_at_the_ends_of_a_row_are_told_as_they_lie():
    """A room 4000 mm wide: what the pieces of a row are long together and its two gaps add up to it."""
    room = room_with([(0, 0), (4000, 0), (4000, 3000), (0, 3000)])
    plan = plan_floor(room, BOARD, Wishes(along=("A", "B"), start=("A", "B")), moves=60)
    for row in plan.rows:
        (run,) = row.runs
        assert all(plan.gap_least_mm - 0.05 <= gap <= plan.gap_most_mm + 0.05 for gap in run.gaps_mm)
        long = sum(piece.to_mm - piece.from_mm for piece in run.pieces)
        assert long + sum(run.gaps_mm) == pytest.approx(4000.0, abs=0.11)


def between_three_walls(plan) -> int:
    """Runs shorter than a board that lie along the row before and along none after, by shapely."""
    rows = [[shapely.union_all([Polygon(piece.outline_mm) for piece in run.pieces]) for run in row.runs]
            for row in plan.rows]

    def along(shape, k) -> bool:
        return 0 <= k < len(rows) and any(shape.buffer(1.0).intersection(other).area > 20.0 for other in rows[k])

    def long(shape) -> float:
        s = [plan.to_row_frame(point)[0] for point in shape.exterior.coords]
        return max(s) - min(s)
    return sum(along(shape, k - 1) and not along(shape, k + 1) and long(shape) < plan.board.length_mm
               for k, row in enumerate(rows) for shape in row)


def test_rows_end_between_three_walls_only_where_no_other_start_is_as_good():
    """A doorway in one of two long walls: begun at it, nothing is pushed in between its jambs at the end."""
    won = 0
    for deep, at in ((3000.0, 300.0), (2870.0, 1100.0), (2940.0, 2050.0)):
        room = room_with([(0, 0), (4000, 0), (4000, deep), (0, deep)], doors=doorway(("C", "D"), at).doors)
        chosen, *forced = (plan_floor(room, BOARD, Wishes(along=("A", "B"), start=start), moves=60)
                           for start in (None, ("A", "B"), ("C", "D")))
        counts = [between_three_walls(plan) for plan in forced if plan.boards <= chosen.boards]
        assert not counts or between_three_walls(chosen) == min(counts)
        won += len(set(counts)) > 1
    assert won
