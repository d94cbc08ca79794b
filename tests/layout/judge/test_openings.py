"""Doorways, expansion profiles and strips left out: areas by hand and by shapely, and the judge on plans that are
wrong about them."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon

from layout.facts.notes import InFields, InParts
from layout.judge.check import find_faults
from layout.judge.openings import opened
from layout.planning.planner import plan_floor
from layout.room import Board, Casing, Door, Room, Wishes

CASING = Casing(width_mm=57.0, thickness_mm=15.0)


def cover_area(plan) -> float:
    return sum(Polygon(part.outline, part.holes).area for part in plan.cover)


def slugs(plan, room) -> set[str]:
    return {fault.slug for fault in find_faults(plan, room)}


def door(**more) -> Door:
    return Door(**({"name": "D1", "wall": ("A", "B"), "from_mm": 1000.0, "width_mm": 762.0, "reveal_mm": 110.0} | more))


# Doorways
# -------------------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("along", [("A", "B"), ("B", "C")])
@pytest.mark.parametrize(("casing", "width"), [(None, 762.0 - 20.0), (CASING, 762.0 + 20.0)])
def test_a_doorway_adds_its_floor_to_the_cover(casing, width, along, box_3x4, board):
    """Gap 10 at both sides of a bare opening; 10 mm under the frame at both sides of one that is undercut (trade sheet,
    section 6). The boards stop 10 mm short of the profile, so they reach 110 - 10 beyond the wall line and 10 less than
    that to the room's own cover."""
    room = replace(box_3x4, doors=(door(casing=casing),))
    plan = plan_floor(room, board, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, along=along), moves=100)
    assert cover_area(plan) == pytest.approx(3980.0 * 2980.0 + width * 110.0)
    assert Polygon(plan.floor.outline).area == pytest.approx(4000.0 * 3000.0 + (width + 20.0) * 110.0)
    assert sum(Polygon(piece.outline_mm, piece.holes_mm).area
               for piece in plan.pieces) == pytest.approx(cover_area(plan), abs=100.0)
    assert min(y for part in plan.cover for _, y in part.outline) == pytest.approx(-100.0)


def test_a_frame_is_undercut_for_board_underlay_and_a_millimetre(box_3x4, board):
    """Trade sheet, section 6: height board + underlay + 1 (to 2), depth gap + 10."""
    from layout.room import Underlay
    room = replace(box_3x4, doors=(door(casing=CASING),))
    under = Underlay(thickness_mm=3.0, roll_length_mm=10000.0, roll_width_mm=1000.0)
    plan = plan_floor(room, board, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, along=("B", "C"), underlay=under),
                      moves=60)
    way = plan.doorways[0]
    assert (way.undercut_mm, way.undercut_deep_mm, way.under_mm, way.depth_mm) == (12.0, 20.0, 10.0, 110.0)
    casing = next(note for note in plan.notes if note.slug == "casing-undercut")
    assert (casing.high_mm, casing.gap_mm + casing.tuck_mm, casing.lap_mm) == (12.0, 20.0, 5.0)


def test_the_first_row_is_as_wide_as_wished_at_the_wall_even_behind_a_doorway(box_3x4, board):
    """The start wall's board edge is 110 mm behind the doorway's: seams lie 152 + k * 192 from the wall's edge."""
    room = replace(box_3x4, doors=(door(casing=CASING),))
    plan = plan_floor(room, board, Wishes(start=("A", "B"), first_row_mm=152.0), moves=60)
    seams = [plan.to_plan(0.0, row.far_mm)[1] for row in plan.rows[:-1]]
    assert all((y - 10.0 - 152.0) % 192.0 == pytest.approx(0.0, abs=1e-6)
               or (y - 10.0 - 152.0) % 192.0 == pytest.approx(192.0, abs=1e-6) for y in seams)
    assert next(reason for reason in plan.reasons if reason.slug == "first-row").in_doorway


def test_a_shallow_reveal_and_none_stop_at_the_wall_line(box_3x4, board):
    for reveal in (0.0, 20.0):
        wishes = Wishes(gap_least_mm=10.0, gap_most_mm=10.0, along=("B", "C"))
        plan = plan_floor(replace(box_3x4, doors=(door(reveal_mm=reveal),)), board, wishes, moves=60)
        assert plan.doorways == () and cover_area(plan) == pytest.approx(3980.0 * 2980.0)
        assert "doorway-open" in {note.slug for note in plan.notes}


def test_a_door_through_a_spur_of_wall_into_the_same_floor_is_left_and_said(room_of, board):
    """Two rooms round a wall 100 thick: the doorway, 110 deep, would run into the other one."""
    room = room_of([(0, 0), (4000, 0), (4000, 3000), (2100, 3000), (2100, 800), (2000, 800), (2000, 3000), (0, 3000)],
                   doors=(Door(name="D1", wall=("F", "G"), from_mm=800.0, width_mm=762.0, reveal_mm=110.0),))
    plan = plan_floor(room, board, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, along=("A", "B")), moves=60)
    assert plan.doorways == () and "doorway-blocked" in {note.slug for note in plan.notes}


def test_a_door_at_the_end_of_its_wall_opens_no_further_than_the_corner(box_3x4, board):
    room = replace(box_3x4, doors=(door(from_mm=0.0, casing=CASING),))
    plan = plan_floor(room, board, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, along=("B", "C")), moves=60)
    assert min(x for x, _ in plan.doorways[0].outline) == 0.0
    assert cover_area(plan) == pytest.approx(3980.0 * 2980.0 + (762.0 + 20.0 - 20.0) * 110.0)


@pytest.fixture(scope="module")
def with_doorway(box_3x4, board):
    room = replace(box_3x4, doors=(door(casing=CASING),))
    return plan_floor(room, board, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, along=("A", "B")), moves=60), room


def test_the_judge_wants_the_doorway_the_door_asks_for(with_doorway):
    plan, room = with_doorway
    way = plan.doorways[0]
    assert slugs(plan, room) == set()
    assert "doorway" in slugs(replace(plan, doorways=(replace(way, undercut_mm=7.0),)), room)
    assert "doorway" in slugs(replace(plan, doorways=(replace(way, undercut_deep_mm=10.0),)), room)
    assert "doorway" in slugs(replace(plan, doorways=(replace(way, depth_mm=90.0),)), room)
    assert "doorway" in slugs(replace(plan, doorways=(way, way)), room)
    assert "doorway" in slugs(replace(plan, doorways=(replace(way, door="D9"),)), room)
    assert {"floor", "gap-narrow"} <= slugs(replace(plan, doorways=()), room)
    quiet = tuple(note for note in plan.notes if getattr(note, "door", "") != "D1")
    assert "doorway" in slugs(replace(plan, doorways=(), notes=quiet), room)


# Expansion profiles
# ---------------------------------------------------------------------------------------------------------

def extents(plan) -> list[tuple[float, float]]:
    sizes = []
    for part in plan.cover:
        places = np.array([plan.to_row_frame(point) for point in part.outline])
        sizes.append(tuple(np.ptp(places, axis=0)))
    return sizes


@pytest.mark.parametrize("along", [("A", "B"), ("B", "C")])
def test_a_floor_beyond_ten_metres_is_parted_with_a_gap_on_both_sides(along, room_of, board):
    """11.28 by 2.98 m of cover; trade sheet, section 2: 8 to 10 m without a profile, each floor stops the gap short
    of its web."""
    room = room_of([(0, 0), (11300, 0), (11300, 3000), (0, 3000)])
    plan = plan_floor(room, board, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, along=along, gap_mm=10.0), moves=60)
    assert len(plan.profiles) == 1 and len(plan.cover) == 2
    assert cover_area(plan) == pytest.approx((11280.0 - 20.0) * 2980.0)
    assert all(max(size) <= 10_000.0 for size in extents(plan))
    line = LineString(plan.profiles[0].ends)
    assert line.length == pytest.approx(2980.0)
    assert all(Polygon(part.outline).distance(line) == pytest.approx(10.0) for part in plan.cover)
    assert InFields(longest_mm=10_000.0, fields=2) in plan.notes
    bought = next(item for item in plan.shopping if item.purchase.slug == "expansion-profiles")
    assert bought.quantity == pytest.approx(3.0)


def test_a_leaflet_that_allows_more_is_believed(room_of, board):
    room = room_of([(0, 0), (11300, 0), (11300, 3000), (0, 3000)])
    plan = plan_floor(room, board, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, along=("A", "B"), longest_mm=13_000.0),
                      moves=60)
    assert plan.profiles == () and len(plan.cover) == 1


def test_a_profile_goes_where_a_leg_narrows(room_of, board):
    """A leg 4 m wide joins a block at x = 4300: the chord is 2.1 m in the leg and 4.2 m in the block."""
    room = room_of([(0, 0), (12000, 0), (12000, 2120), (4300, 2120), (4300, 4220), (0, 4220)])
    plan = plan_floor(room, board, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, along=("A", "B")), moves=60)
    line = LineString(plan.profiles[0].ends)
    assert len(plan.profiles) == 1 and line.length == pytest.approx(2100.0)
    assert line.centroid.x >= 4300.0 - 1e-6


def test_a_hall_is_parted_both_ways(room_of, board):
    room = room_of([(0, 0), (21000, 0), (21000, 12000), (0, 12000)])
    wishes = Wishes(gap_least_mm=10.0, gap_most_mm=10.0, along=("A", "B"))
    plan = plan_floor(room, Board(length_mm=2050.0, width_mm=240.0, thickness_mm=8.0, pack=6), wishes, moves=0)
    assert len(plan.cover) == 6 and all(max(size) <= 10_000.0 for size in extents(plan))
    assert all(row.far_mm - row.near_mm == pytest.approx(240.0) for row in plan.rows[1:-1])


def test_the_judge_measures_fields_and_profiles(room_of, board):
    room = room_of([(0, 0), (11300, 0), (11300, 3000), (0, 3000)])
    plan = plan_floor(room, board, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, along=("A", "B")), moves=60)
    assert "profile" in slugs(replace(plan, longest_mm=5000.0), room)
    (x0, y0), (x1, y1) = plan.profiles[0].ends
    moved = replace(plan.profiles[0], ends=((x0 + 4.0, y0), (x1 + 4.0, y1)))
    assert {"profile", "gap-wide"} & slugs(replace(plan, profiles=(moved,)), room)
    assert "gap-wide" in slugs(replace(plan, profiles=()), room)
    assert "profile" in slugs(replace(plan, profiles=(replace(plan.profiles[0], clear_mm=4.0),)), room)


# Strips left out, pieces alone
# ----------------------------------------------------------------------------------------------

def test_a_strip_too_thin_to_saw_is_left_to_the_beading_and_said(room_of, board):
    """2903 - 20 = 15 * 192 + 3: a last row of 3 mm."""
    room = room_of([(0, 0), (4000, 0), (4000, 2903), (0, 2903)])
    plan = plan_floor(room, board, Wishes(start=("A", "B"), first_row_mm=192.0, gap_least_mm=10.0, gap_most_mm=10.0),
                      moves=60)
    assert len(plan.rows) == 15 and len(plan.left_out) == 1
    assert plan.left_out[0].width_mm == pytest.approx(3.0, abs=0.01)
    assert cover_area(plan) == pytest.approx(3980.0 * 15 * 192.0)
    (strip,) = [note for note in plan.notes if note.slug == "strips-left-out"]
    assert strip.strips == 1 and strip.gap_mm + strip.widest_mm == pytest.approx(13.0, abs=0.01)
    assert not any(rule.rule == "narrowest" for rule in plan.relaxed)


def test_six_millimetres_are_laid_and_owned_up_to(room_of, board):
    wishes = Wishes(start=("A", "B"), first_row_mm=192.0, gap_least_mm=10.0, gap_most_mm=10.0)
    plan = plan_floor(room_of([(0, 0), (4000, 0), (4000, 2906), (0, 2906)]), board, wishes, moves=60)
    assert plan.left_out == () and [(rule.rule, rule.where, round(rule.had_mm))
                                    for rule in plan.relaxed if rule.rule != "alike"] == [("narrowest", "row 16", 6)]


def test_the_needle_of_a_wall_at_a_flat_angle_is_cut_short(room_of, board):
    """The wall climbs 40 mm over 4 m and crosses a seam on the way: 500 mm of that row are thinner than 5 mm."""
    room = room_of([(0, 0), (4000, 0), (4000, 2120), (0, 2080)])
    plan = plan_floor(room, board, Wishes(start=("A", "B"), first_row_mm=192.0 - 20.0, gap_least_mm=10.0,
                                          gap_most_mm=10.0), moves=60)
    assert plan.left_out and all(strip.width_mm <= 5.01 for strip in plan.left_out)
    floor = Polygon([(10, 10), (3990, 10), (3990, 2109.9), (10, 2070.1)])
    left_out = sum(Polygon(strip.outline).area for strip in plan.left_out)
    assert cover_area(plan) + left_out == pytest.approx(floor.area, abs=500.0)
    assert all(min(piece.far_mm - piece.near_mm for piece in row.pieces) >= 5.0 - 0.01 for row in plan.rows)


def test_the_judge_lets_no_wide_strip_be_left_out(room_of, board):
    room = room_of([(0, 0), (4000, 0), (4000, 2903), (0, 2903)])
    plan = plan_floor(room, board, Wishes(start=("A", "B"), first_row_mm=192.0, gap_least_mm=10.0, gap_most_mm=10.0),
                      moves=60)
    assert "gap-wide" in slugs(replace(plan, left_out=()), room)
    wide = replace(plan.left_out[0], outline=((10.0, 2884.0), (3990.0, 2884.0), (3990.0, 2893.0), (10.0, 2893.0)))
    assert "left-out" in slugs(replace(plan, left_out=(wide,)), room)
    laid = replace(plan.left_out[0], outline=((10.0, 10.0), (400.0, 10.0), (400.0, 14.0), (10.0, 14.0)))
    assert "left-out" in slugs(replace(plan, left_out=(*plan.left_out, laid)), room)


def test_a_piece_alone_in_a_short_stretch_is_owned_up_to(room_of, board):
    """An alcove 220 wide takes pieces of 200: no longer one fits, and the plan says so."""
    room = room_of([(0, 0), (4000, 0), (4000, 2000), (1500, 2000), (1500, 2800), (1280, 2800), (1280, 2000), (0, 2000)])
    plan = plan_floor(room, board, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, along=("A", "B")), moves=60)
    alone = [rule for rule in plan.relaxed if rule.rule == "shortest"]
    assert alone and all(rule.had_mm == pytest.approx(200.0) and rule.alone for rule in alone)
    assert "shortest" in slugs(replace(plan, relaxed=()), room)


def test_rows_of_a_floor_in_parts_skip_the_neck_between_them(room_of, board):
    """Two rooms joined by a passage 15 mm wide and 900 long, less than two gaps: no row lies across it, and none is
    empty."""
    room = room_of([(0, 0), (3000, 0), (3000, 2000), (1515, 2000), (1515, 2900), (3000, 2900), (3000, 4900), (0, 4900),
                    (0, 2900), (1500, 2900), (1500, 2000), (0, 2000)])
    plan = plan_floor(room, board, Wishes(gap_least_mm=10.0, gap_most_mm=10.0, along=("A", "B")), moves=60)
    assert all(row.pieces for row in plan.rows) and [row.number for row in plan.rows] == list(
        range(1, len(plan.rows) + 1)
    )
    assert InParts(parts=2) in plan.notes


@pytest.mark.parametrize("turn", [0.0, 0.17, 0.7, 1.3, 2.9])
def test_an_opening_in_a_wall_at_any_angle_leaves_no_slit_beside_the_room(turn):
    """The floor of a hall that is no rectangle with a doorway in each wall, built by shapely from its parts: half way
    under each opening nothing is nearer than the jambs, half the width away, and the areas add up."""
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    corners = np.array([(0.0, 0.0), (6200.0, 0.0), (6197.29, 1197.997), (2.24, 1189.998)]) @ spin.T
    doors = tuple(door(name=f"D{k}", wall=wall, from_mm=at, width_mm=700.0, casing=CASING) for k, (wall, at) in
                  enumerate(((("A", "B"), 500.0), (("B", "C"), 200.0), (("C", "D"), 4200.0), (("D", "A"), 190.0))))
    room = Room(names=tuple("ABCD"), outline_mm=corners, doors=doors)
    plan = plan_floor(room, Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8), Wishes(), moves=0)
    shape = opened(plan, room)
    assert shape.geom_type == "Polygon" and not shape.interiors and len(plan.doorways) == 4
    assert shape.area == pytest.approx(Polygon(corners).area + 4 * 740.0 * 110.0, abs=1.0)
    for one in doors:
        start, end = (corners["ABCD".index(name)] for name in one.wall)
        middle = start + (end - start) / np.hypot(*(end - start)) * (one.from_mm + 350.0)
        assert shape.boundary.distance(Point(middle)) >= 109.9
