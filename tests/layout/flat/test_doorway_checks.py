"""What the two sides of doorways tell of one another: widths, rings of rooms, slips, walls nobody measured. Truth:
rooms drawn by the test in one frame, a known slip put into one of them."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Polygon

from layout.flat.fitting import SURE_THICKNESS_MM, fit_rooms
from layout.flat.pose_adjustment import TAPE_SD_MM
from layout.region.joined_rooms import Passage, join_rooms
from layout.room import Door, Room
from layout.words.doorways import closure_words, doubt_words, measured_words, widths_words
from tests.layout.flat.test_pose_adjustment import PASSAGES, RINGS, ring_of_four, room_of


def with_door(rooms: dict[str, Room], room: str, door: str, **other) -> dict[str, Room]:
    """The rooms with one door told otherwise."""
    doors = tuple(replace(one, **other) if one.name == door else one for one in rooms[room].doors)
    return rooms | {room: replace(rooms[room], doors=doors)}


def door_in(rooms: dict[str, Room], room: str, name: str) -> Door:
    return next(one for one in rooms[room].doors if one.name == name)


def two_rings() -> tuple[dict[str, Room], tuple[Passage, ...]]:
    """Six rooms, three by two, a doorway in every wall between them, two in one of these: a slip shows in two ways."""
    rooms, passages = {}, []
    for column in range(3):
        for row in range(2):
            x, y = column * 4100.0, row * 3100.0
            doors = [("W", "AD", 900 + 50 * row, 800)] * (column > 0) + [("E", "BC", 900 + 50 * row, 800)] * (
                column < 2) + [("S", "AB", 700, 760), ("S2", "AB", 2300, 760)] * (row > 0) + [
                ("N", "DC", 700, 760), ("N2", "DC", 2300, 760)] * (row < 1)
            rooms[f"{column}{row}"] = room_of([(x, y), (x + 4000, y), (x + 4000, y + 3000), (x, y + 3000)], doors)
    for row in range(2):
        passages += [Passage(rooms=(f"{c}{row}", f"{c + 1}{row}"), doors=("E", "W"), thickness_mm=100.0, through=False)
                     for c in range(2)]
    for column in range(3):
        passages += [Passage(rooms=(f"{column}0", f"{column}1"), doors=doors, thickness_mm=100.0, through=False)
                     for doors in (("N", "S"), ("N2", "S2"))]
    return rooms, tuple(passages)


def test_widths_that_measuring_cannot_explain_are_told_in_mm_and_the_doorway_stays():
    """Two readings of 2 mm each differ by 3.29 times 2.8 mm in one pair of a thousand (normal law)."""
    rooms, _, _ = ring_of_four()
    told = with_door(rooms, "b", "1", width_mm=814.0)
    fitted = fit_rooms(told, PASSAGES[:1] + PASSAGES[1:])
    one = fitted.doorways[0]
    assert not one.agrees and one.widths_mm == (800.0, 814.0) and one.most_apart_mm == pytest.approx(
        3.29 * TAPE_SD_MM * 2 ** 0.5, abs=0.01)
    assert one.width_mm == pytest.approx(807.0, abs=0.1) and one.width_sd_mm == pytest.approx(7.0)
    assert "800 mm wide by a and 814 mm by b, 14 mm apart" in widths_words(one, "metric").replace("\u00a0", " ")
    assert [each.agrees for each in fitted.doorways[1:]] == [True] * 3 and fitted.troubles == ()
    sound = fit_rooms(with_door(rooms, "b", "1", width_mm=806.0), PASSAGES).doorways[0]
    assert sound.agrees and sound.width_sd_mm == pytest.approx(TAPE_SD_MM / 2 ** 0.5, rel=0.01)


def test_a_ring_that_closes_says_how_well_and_nothing_is_doubted():
    rooms, _, _ = ring_of_four()
    fitted = fit_rooms(with_door(rooms, "d", "1", from_mm=904.0), PASSAGES)
    (ring,) = fitted.closures
    assert ring.off_mm == pytest.approx(4.0, abs=0.05) and ring.closes and fitted.doubts == () == fitted.troubles
    assert 15.0 < ring.most_mm < 60.0 and ring.most_mm == pytest.approx(ring.off_mm / ring.score)
    assert "4 mm apart; measuring explains up to" in closure_words(ring, "metric").replace("\u00a0", " ")


@pytest.mark.parametrize("slip", [-100.0, 60.0, 200.0])
def test_a_slip_that_others_check_both_ways_is_named_alone_and_left_out(slip):
    rooms, passages = two_rings()
    true = door_in(rooms, "10", "N").from_mm
    fitted = fit_rooms(with_door(rooms, "10", "N", from_mm=true + slip), passages)
    # Its partner across the wall would explain it as well, and so would both places of the wall's jambs.
    assert {(one.room, one.door) for one in fitted.doubts} == {("10", "N"), ("11", "S")}
    told = next(one for one in fitted.doubts if one.room == "10")
    assert told.should_mm == pytest.approx(true, abs=1.0) and told.told_mm == true + slip
    assert all(not one.left_out for one in fitted.doubts)
    if abs(slip) > 60.0:  # the doorway is left out, and the rooms lie as drawn
        assert [error.slug for error in fitted.troubles] == ["rooms-apart"] and len(fitted.passages) == 9
        assert "10" in str(fitted.troubles[0]) and "11" in str(fitted.troubles[0])
        for name, room in rooms.items():
            assert fitted.house.placings[name].place(room.outline_mm) == pytest.approx(room.outline_mm, abs=0.5)
    words = doubt_words(fitted.doubts, "metric").replace("\u00a0", " ")
    assert f"door N of 10 from corner D ({true + slip:.0f} mm; {told.should_mm:.0f} mm" in words


def test_a_wall_told_wrong_stands_alone_and_the_rooms_lie_as_drawn():
    """Nothing else reaches across the wall there but its second doorway."""
    rooms, passages = two_rings()
    slipped = [replace(one, thickness_mm=200.0) if k == 4 else one for k, one in enumerate(passages)]
    fitted = fit_rooms(rooms, slipped)
    (doubt,) = fitted.doubts
    assert doubt.reading == "thickness" and doubt.left_out and doubt.told_mm == 200.0
    assert doubt.should_mm == pytest.approx(100.0, abs=2.0) and fitted.troubles == ()
    assert fitted.doorways[4].thickness_mm == pytest.approx(100.0, abs=2.0)
    for name, room in rooms.items():
        assert fitted.house.placings[name].place(room.outline_mm) == pytest.approx(room.outline_mm, abs=1.0)
    words = doubt_words([doubt], "metric").replace("\u00a0", " ")
    assert "is said to be 200 mm thick" in words and "Probably misread by 10 cm: 100 mm?" in words


def test_of_one_ring_all_that_would_explain_it_are_named_together():
    """Along x the ring is closed by two walls' thicknesses and four places of doors: nothing tells them apart, and a
    doorway more than 40 mm open is left out."""
    rooms, _, _ = ring_of_four()
    fitted = fit_rooms(with_door(rooms, "d", "1", from_mm=960.0), PASSAGES)
    assert [error.slug for error in fitted.troubles] == ["rooms-apart"] and len(fitted.passages) == 3
    assert {("d", "1", "from"), ("a", "2", "from"), ("b", "2", "from"), ("c", "1", "from")} <= {
        (one.room, one.door, one.reading) for one in fitted.doubts}
    told = {(one.room, one.door): one.should_mm for one in fitted.doubts if one.reading == "from"}
    assert told["d", "1"] == pytest.approx(900.0, abs=2.0)
    assert "one distance is wrong, and nothing tells which" in doubt_words(fitted.doubts, "metric")


def test_a_wall_that_nobody_measured_is_as_thick_as_the_ring_says_or_the_doorway_waits():
    rooms, _, _ = ring_of_four()
    unknown = [replace(one, thickness_mm=150.0, thickness_sd_mm=150.0, thickness_by="rooms") if k == 1 else one
               for k, one in enumerate(PASSAGES)]
    one = fit_rooms(rooms, unknown).doorways[1]
    assert one.thickness_mm == pytest.approx(120.0, abs=1.0) and 3.0 < one.thickness_sd_mm < SURE_THICKNESS_MM
    assert "nobody measured it" in measured_words(one, "metric")
    two = {name: rooms[name] for name in ("b", "c")}
    alone = fit_rooms(two, unknown[1:2])
    assert alone.unsure == tuple(unknown[1:2]) and alone.passages == () and alone.parts == (("b",), ("c",))


def test_a_floor_laid_through_has_the_openings_and_places_of_all_readings_together():
    """The far rooms are moved by the adjustment, and the joined floor with them: its area is the rooms' and the
    opening's as adjusted."""
    rooms, _, _ = ring_of_four()
    told = with_door(with_door(rooms, "b", "1", width_mm=806.0), "d", "1", from_mm=912.0)
    passages = [replace(one, through=k == 0) for k, one in enumerate(PASSAGES)]
    fitted = fit_rooms(told, passages)
    one = fitted.doorways[0]
    assert one.width_mm == pytest.approx(803.0, abs=0.1) and one.thickness_mm != pytest.approx(100.0, abs=0.01)
    floor = Polygon(join_rooms(told, fitted.house, ("a", "b"), passages).outline_mm)
    parts = [Polygon(fitted.house.placings[name].place(told[name].outline_mm)) for name in ("a", "b")]
    between = floor.area - sum(part.area for part in parts)
    # A face bears its own spread, so the opening is not quite as deep as the wall is thick.
    assert between / one.width_mm == pytest.approx(one.thickness_mm, abs=3.0)
    drawn = Polygon(join_rooms(told, replace(fitted.house, openings={}), ("a", "b"), passages).outline_mm)
    assert drawn.symmetric_difference(floor).area > 100.0


def test_rooms_over_one_another_name_the_distance_that_would_part_them():
    """Two rooms on one side of a hall, one door taped from the wall's other corner."""
    hall = room_of([(0, 0), (6000, 0), (6000, 1200), (0, 1200)], [("1", "DC", 400, 800), ("2", "DC", 4500, 800)])
    left = room_of([(0, 1300), (3000, 1300), (3000, 4000), (0, 4000)], [("1", "AB", 400, 800)])
    right = room_of([(3100, 1300), (6000, 1300), (6000, 4000), (3100, 4000)], [("1", "AB", 1400, 800)])
    rooms = {"hall": hall, "left": left, "right": right}
    passages = [Passage(rooms=("hall", name), doors=(str(k), "1"), thickness_mm=100.0, through=False)
                for k, name in enumerate(("left", "right"), start=1)]
    assert fit_rooms(rooms, passages).troubles == ()
    # Taped from corner C, as it is 700 mm from there.
    (error,) = (fitted := fit_rooms(with_door(rooms, "hall", "2", from_mm=700.0), passages)).troubles
    assert error.slug == "rooms-overlap" and error.where == "hall 2" and len(fitted.passages) == 1
    assert "700 mm of door 2 of hall were measured from corner C, not D" in str(error)


def test_where_no_other_corner_helps_the_least_move_is_told():
    """All doors but one in the middle of their wall: the right-hand room begins 300 mm before its door and the left one
    ends at 4500 mm, so the door cannot be nearer than 4800 mm (rooms share up to 0.05 m2 through rounding)."""
    hall = room_of([(0, 0), (6000, 0), (6000, 1200), (0, 1200)], [("1", "DC", 2600, 800), ("2", "DC", 4000, 800)])
    left = room_of([(1500, 1300), (4500, 1300), (4500, 4000), (1500, 4000)], [("1", "AB", 1100, 800)])
    right = room_of([(4700, 1300), (6100, 1300), (6100, 4000), (4700, 4000)], [("1", "AB", 300, 800)])
    passages = [Passage(rooms=("hall", name), doors=(str(k), "1"), thickness_mm=100.0, through=False)
                for k, name in enumerate(("left", "right"), start=1)]
    (error,) = fit_rooms({"hall": hall, "left": left, "right": right}, passages).troubles
    assert error.slug == "rooms-overlap" and error.where == "hall 2"
    assert "door 2 of hall would have to be about 4800 mm from corner D, not 4000 mm" in str(error)


def test_a_drawn_ring_of_rooms_read_well_is_hardly_ever_doubted():
    """At most 1.5 % of sound surveys are doubted (the share that snooping is set to): of 60 rings no more than 4 are in
    99 % of cases (binomial law)."""
    rng = np.random.default_rng(11)
    doubted = sum(bool(fit_rooms(rooms, PASSAGES, covs).doubts) for rooms, _, covs in (
        ring_of_four(rng, spread=2.0) for _ in range(60)))
    assert doubted <= 4 and set(RINGS) == {"a", "b", "c", "d"}
