"""End joints near pipe holes and notches: the distances are measured here with shapely, from the pieces as they lie."""
from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Point, Polygon

from layout.judge.check import find_faults
from layout.search.core.joint_preferences import Bore, bars_of, notch_corners
from layout.search.core.model import Bar, Span, first_pieces, joints_of, split_run
from layout.planning.planner import plan_floor
from layout.room import Board, Pipe, Rules, Wishes
from layout.region.rows import runs_of, strips_of

#: Section 6 of the project's trade sheet: hole = pipe + 2 gaps; joint on the pipe's centre, half a hole in each board.
#: The 30 mm clear of a hole and the 60 mm from a corner are common practice, no source.
CLEAR_MM, NOTCH_MM = 30.0, 60.0


def joint_lines(plan) -> list[tuple[int, LineString]]:
    """(row, line in the plan) of every end joint: where two pieces of a run touch."""
    lines = []
    for row in plan.rows:
        for run in row.runs:
            for a, b in zip(run.pieces[:-1], run.pieces[1:]):
                shared = Polygon(a.outline_mm).buffer(1e-4).intersection(Polygon(b.outline_mm).buffer(1e-4))
                if not shared.is_empty:
                    corners = shapely.get_coordinates(shared.minimum_rotated_rectangle)
                    lines.append((row.number, LineString([corners[0], corners[2]])))
    return lines


def bitten_rows(plan, hole) -> set[int]:
    disc = Point(hole.centre_mm).buffer(hole.diameter_mm / 2)
    return {row.number for row in plan.rows for piece in row.pieces
            if Polygon(piece.outline_mm, piece.holes_mm).intersection(disc).area > 2.0}


def offs(plan, hole) -> list[tuple[float, float]]:
    """(distance along the rows from the pipe's middle, clear wood to the hole's edge) of every joint of the rows the
    hole bites."""
    middle, rows = plan.to_row_frame(hole.centre_mm)[0], bitten_rows(plan, hole)
    return [(abs(plan.to_row_frame(line.interpolate(0.5, normalized=True).coords[0])[0] - middle),
             line.distance(Point(hole.centre_mm)) - hole.diameter_mm / 2)
            for row, line in joint_lines(plan) if row in rows]


@pytest.mark.parametrize("place", [420.0, 900.0, 1200.0, 1777.0])
def test_a_joint_lies_on_a_pipe_where_that_costs_no_board(place, room_of, board):
    """One row of 2980: a first piece of `place` - 10, then whole boards, is three boards, and three are needed
    anyway (2980 / 1285)."""
    room = room_of([(0, 0), (3000, 0), (3000, 200), (0, 200)],
                   pipes=(Pipe(name="P1", centre_mm=(place, 60.0), diameter_mm=15.0),))
    plan = plan_floor(room, board, Wishes(along=("A", "B")), moves=1000)
    assert plan.boards == 3
    assert min(away for away, _ in offs(plan, plan.holes[0])) < 1e-6
    assert len(plan.holes[0].pieces) == 2


def test_joints_are_on_a_pipe_or_clear_of_its_hole(rooms_60):
    """Stored rooms with pipes."""
    seen = 0
    for _, room, board in rooms_60[:20]:
        if room.pipes:
            plan = plan_floor(room, board, Wishes(), moves=60)
            for hole in plan.holes:
                for away, clear in offs(plan, hole):
                    seen += 1
                    # Joints lie on whole mm.
                    assert away < 0.51 or clear >= CLEAR_MM - 1e-3
    assert seen > 20


def test_a_pipe_s_middle_is_no_place_where_it_spoils_the_next_pipe_s_hole(room_of, board):
    """Holes of 35 at pipes 40 apart: the middle of one is 22.5 mm from the edge of the other."""
    pipes = tuple(Pipe(name=f"P{k}", centre_mm=(1200.0 + 40.0 * k, 60.0), diameter_mm=15.0) for k in range(2))
    plan = plan_floor(room_of([(0, 0), (3000, 0), (3000, 200), (0, 200)], pipes=pipes), board, Wishes(along=("A", "B")),
                      moves=600)
    assert all(clear >= CLEAR_MM - 1e-6 for hole in plan.holes for _, clear in offs(plan, hole))


def test_where_pipes_leave_no_place_the_plan_says_how_near_its_joints_come(room_of):
    """Pipes every 40 mm along two metres and boards of 400: any joint is near one."""
    pipes = tuple(Pipe(name=f"P{k}", centre_mm=(40.0 * k, 60.0), diameter_mm=15.0) for k in range(1, 50))
    room = room_of([(0, 0), (2000, 0), (2000, 200), (0, 200)], pipes=pipes)
    short = Board(length_mm=400.0, width_mm=192.0, thickness_mm=8.0, pack=8)
    plan = plan_floor(room, short, Wishes(along=("A", "B"), rules=Rules(stagger_mm=150.0, shortest_mm=150.0)), moves=60)
    said = {rule.where: rule.had_mm for rule in plan.relaxed if rule.rule == "pipe-joint"}
    nearest = min(clear for hole in plan.holes for away, clear in offs(plan, hole) if away > 1e-3)
    assert said == {"row 1": pytest.approx(max(0.0, nearest), abs=1e-3)}
    assert find_faults(replace(plan, relaxed=()), room)[0].slug == "pipe-joint"


def test_first_pieces_are_exactly_those_whose_joints_keep_off_the_bars():
    draw = random.Random(11)
    for _ in range(80):
        board, length = draw.choice([800.0, 1285.0]), draw.uniform(1500, 6000)
        bars = tuple(Bar(lo_mm=lo, hi_mm=lo + draw.uniform(20, 160), spot_mm=None)
                     for lo in (draw.uniform(0, length) for _ in range(draw.randint(1, 3))))
        bars = tuple(replace(bar, spot_mm=(bar.lo_mm + bar.hi_mm) / 2) if draw.random() < 0.5 else bar for bar in bars)
        span = Span(row=0, left_mm=50.0, right_mm=50.0 + length, shortest_mm=250.0, bars=bars)
        intervals = first_pieces(span, board)
        tried = [draw.uniform(1, board) for _ in range(60)] + [lo
                                                               for lo, _ in intervals] + [(bar.spot_mm - 50.0) % board
                                                                                          for bar in bars
                                                                                          if bar.spot_mm]
        for first in tried:
            count, last = split_run(length, first, board)
            joints = joints_of(span, first, board)
            off = all(not bar.lo_mm < s < bar.hi_mm or (bar.spot_mm is not None and abs(s - bar.spot_mm) < 1e-6)
                      for s in joints for bar in bars)
            edge = min([abs(s - end) for s in joints for bar in bars for end in (bar.lo_mm, bar.hi_mm)]
                       + [abs(first - 250), abs(last - 250), abs(last - board)])
            listed = any(lo - 1e-9 <= first <= hi + 1e-9 for lo, hi in intervals)
            assert listed == (off and count > 1 and first >= 250 and last >= 250) or edge < 1e-3 or count == 1


def test_a_bar_reaches_thirty_past_the_hole_and_less_where_the_hole_lies_beside_the_row():
    run = runs_of([Polygon([(0, 0), (4000, 0), (4000, 192), (0, 192)])], strips_of(192.0, 192.0, 192.0))[0]
    inside = bars_of(run, notch_corners(run.shape), (Bore(pipe="P1", s_mm=1000.0, t_mm=60.0, radius_mm=17.5),))[0]
    assert (inside.lo_mm, inside.hi_mm, inside.spot_mm) == (952.0, 1048.0, 1000.0)
    beside = bars_of(run, notch_corners(run.shape), (Bore(pipe="P1", s_mm=1000.0, t_mm=-10.0, radius_mm=17.5),))[0]
    assert 0.0 <= beside.hi_mm - 1000.0 - (47.5 ** 2 - 10.0 ** 2) ** 0.5 < 1.0
    assert bars_of(run, notch_corners(run.shape), (Bore(pipe="P1", s_mm=1000.0, t_mm=-20.0, radius_mm=17.5),)) == ()


@pytest.mark.parametrize(("shape", "corners"), [
    ([(0, 0), (3000, 0), (3000, 192), (2000, 192), (2000, 90), (1000, 90), (1000, 192), (0, 192)], [1000.0, 2000.0]),
    ([(0, 0), (3000, 0), (3000, 192), (200, 192), (200, 90), (0, 90)], [200.0]),
    ([(0, 0), (3000, 0), (2800, 192), (100, 192)], []),
    ([(0, 0), (1500, 3), (3000, 0), (3000, 192), (0, 192)], []),
    ([(0, 0), (3000, 0), (3000, 192), (2000, 192), (2000, 191.5), (1000, 191.5), (1000, 192), (0, 192)], []),
])
def test_inner_corners_are_those_a_saw_has_to_turn_at(shape, corners):
    """A slanted end, a bent wall and half a millimetre are no notches."""
    assert notch_corners(Polygon(shape)) == corners
    assert notch_corners(Polygon(shape[::-1])) == corners


def near_notches(plan) -> dict[str, float]:
    """Least distance along the row of a joint from a corner of the cover that stands into its piece, by row, where
    it is below 60 mm."""
    found: dict[str, float] = {}
    corners = []
    for part in plan.cover:
        for ring, turn in [(part.outline, 1.0)] + [(hole, 1.0) for hole in part.holes]:
            for a, b, c in zip(ring[-1:] + ring[:-1], ring, ring[1:] + ring[:1]):
                if turn * ((b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])) < -1.0:
                    corners.append(plan.to_row_frame(b))
    strips = {row.number: row for row in plan.rows}
    for row, line in joint_lines(plan):
        s, _ = plan.to_row_frame(line.interpolate(0.5, normalized=True).coords[0])
        for corner in corners:
            inside = strips[row].near_mm + 15.0 < corner[1] < strips[row].far_mm - 15.0
            if inside and abs(s - corner[0]) < NOTCH_MM - 1e-3:
                found[f"row {row}"] = min(found.get(f"row {row}", NOTCH_MM), abs(s - corner[0]))
    return found


def test_joints_keep_off_a_chimney_breast_or_the_plan_says_so(chimney, board):
    """Square corners only, so every reflex corner strictly inside a row is a notch's."""
    for seed in range(3):
        plan = plan_floor(replace(chimney, pipes=()), board,
                          Wishes(gap_least_mm=10.0, gap_most_mm=10.0, along=("A", "B")), seed=seed, moves=300)
        assert near_notches(plan) == {}
        assert not any(rule.rule == "notch-joint" for rule in plan.relaxed)


def test_a_fixed_pattern_that_meets_a_corner_says_so(room_of, board):
    """Halves along a wall with a step of 20 mm every 100 mm: a joint of the last rows must come near one of them."""
    steps = [point for k in range(50) for point in ((5000 - 100 * k, 2100 + 20 * k), (4900 - 100 * k, 2100 + 20 * k))]
    corners = [(0, 0), (5000, 0), *steps]
    room = replace(room_of([(0, 0), (5000, 0), (0, 2460)]), names=tuple(f"N{k}" for k in range(len(corners))),
                   outline_mm=np.array(corners, float))
    plan = plan_floor(room, board, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, direction_rad=0.0, pattern="halves"),
                      moves=60)
    said = {rule.where: rule.had_mm for rule in plan.relaxed if rule.rule == "notch-joint"}
    measured = near_notches(plan)
    assert measured and said == {where: pytest.approx(had, abs=0.01) for where, had in measured.items()}
    unsaid = replace(plan, relaxed=tuple(rule for rule in plan.relaxed if rule.rule != "notch-joint"))
    assert {fault.slug for fault in find_faults(unsaid, room)} == {"notch-joint"}
    wrong = replace(plan, relaxed=(*plan.relaxed,
                                   replace(plan.relaxed[-1], rule="notch-joint", where=f"row {len(plan.rows)}",
                                           asked_mm=60.0, had_mm=10.0)))
    assert "relaxed-wrong" in {fault.slug for fault in find_faults(wrong, room)}


def test_no_joint_lies_beside_a_notch_where_a_strip_of_it_would_be_left():
    """Rows that pass a breast: a joint 1 to 15 mm off its corner would leave a strip no saw can hold. The corner is
    barred to 15 mm on both sides."""
    run = next(run for run in runs_of([Polygon([(0, 0), (4000, 0), (4000, 384), (2500, 384), (2500, 300), (1300, 300),
                                                (1300, 384), (0, 384)])], strips_of(384.0, 192.0, 192.0))
               if run.row == 1)
    assert notch_corners(run.shape) == [1300.0, 2500.0]
    bars = bars_of(run, notch_corners(run.shape), ())
    for corner in (1300.0, 2500.0):
        assert all(any(bar.stops(corner + off) for bar in bars) for off in (-14.0, -2.0, 0.0, 1.0, 14.0))
        assert not any(bar.stops(corner + off) for bar in bars for off in (-15.0, 15.0, 40.0))
