"""Rooms put side by side. Truth: houses drawn in one frame by the test, each room then carried off by a rigid motion
of its own."""
from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from shapely.geometry import Polygon

from layout.judge.check import find_faults
from layout.errors import LayoutError
from layout.flat.fitting import fit_rooms
from layout.region.joined_rooms import Passage, groups_of, join_rooms
from layout.planning.planner import plan_floor
from layout.room import Door, Pipe, Room, Wishes

#: Three rooms round a corner of an invented house, mm: kitchen, hall right of it, bath above the hall; walls 100 and
#: 120 thick.
KITCHEN = [(0, 0), (4000, 0), (4000, 3000), (0, 3000)]
HALL = [(4100, -500), (5600, -500), (5600, 3200), (4100, 3200)]
BATH = [(4100, 3320), (6600, 3320), (6600, 5000), (4100, 5000)]
DOORS = {"kitchen": [("D1", "BC", 900, 800)], "hall": [("D1", "DA", 1500, 800), ("D2", "CD", 350, 700)],
         "bath": [("D9", "AB", 450, 700)]}
PASSAGES = (Passage(rooms=("kitchen", "hall"), doors=("D1", "D1"), thickness_mm=100.0, through=True),
            Passage(rooms=("bath", "hall"), doors=("D9", "D2"), thickness_mm=120.0, through=False))


def motion(angle: float, shift: tuple[float, float]):
    """A rigid motion of (n, 2) points."""
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return lambda points: np.asarray(points, float) @ turn.T + shift


CARRIED = {"kitchen": motion(0.0, (0.0, 0.0)), "hall": motion(2.1, (300.0, -7000.0)),
           "bath": motion(-0.7, (-900.0, 40.0))}


def carried_rooms(**other) -> dict[str, Room]:
    rings = {"kitchen": KITCHEN, "hall": HALL, "bath": BATH} | other
    return {name: Room(names=tuple("ABCD"), outline_mm=CARRIED[name](ring),
                       pipes=(Pipe(name="P1", centre_mm=tuple(CARRIED[name]([ring[2]])[0] - 200.0), diameter_mm=15.0),)
                       if name == "bath" else (), doors=tuple(Door(name=d, wall=(w[0], w[1]), from_mm=at, width_mm=wide,
                                                                   reveal_mm=50.0) for d, w, at, wide in DOORS[name]))
            for name, ring in rings.items()}


def placed(rooms, passages):
    """The house of rooms that all fit."""
    fitted = fit_rooms(rooms, passages)
    assert fitted.troubles == () and len(fitted.parts) == 1
    return fitted.house


def test_every_room_comes_back_to_where_it_was_drawn():
    rooms = carried_rooms()
    house = placed(rooms, PASSAGES)
    for name, ring in (("kitchen", KITCHEN), ("hall", HALL), ("bath", BATH)):
        assert house.placings[name].place(rooms[name].outline_mm) == pytest.approx(np.array(ring, float), abs=1e-6)
    assert groups_of(tuple(rooms), PASSAGES) == (("kitchen", "hall"), ("bath",)) and house.misfits == ()


def test_a_joined_floor_is_the_rooms_and_the_openings_between_them_and_nothing_else():
    rooms = carried_rooms()
    house = placed(rooms, PASSAGES)
    joined = join_rooms(rooms, house, ("kitchen", "hall"), PASSAGES)
    drawn = Polygon(KITCHEN).union(Polygon(HALL)).union(Polygon([(3999, 900), (4101, 900), (4101, 1700), (3999, 1700)]))
    assert Polygon(joined.outline_mm).symmetric_difference(drawn).area < 1.0
    assert joined.names[0] == "1A" and set(joined.names) == {"1A", "1B", "1C", "1D", "2A", "2B", "2C", "2D", "J1", "J2",
                                                             "J3", "J4"}
    (door,) = joined.doors  # the one towards the bath; the other is no door any more
    start, end = (joined.outline_mm[joined.names.index(name)] for name in door.wall)
    along = (end - start) / np.hypot(*(end - start))
    assert door.name == "2D2" and start + along * door.from_mm == pytest.approx([5250.0, 3200.0], abs=1e-6)


def test_a_joined_floor_is_planned_without_fault(board):
    rooms = carried_rooms()
    joined = join_rooms(rooms, placed(rooms, PASSAGES), ("kitchen", "hall"), PASSAGES)
    plan = plan_floor(joined, board, Wishes(), moves=60)
    assert find_faults(plan, joined) == ()


def test_what_stands_in_a_room_goes_with_it():
    rooms = carried_rooms()
    house = placed(rooms, PASSAGES)
    joined = join_rooms(rooms, house, ("bath",), PASSAGES)
    (pipe,) = joined.pipes
    assert pipe.name == "3P1"
    far = [np.hypot(*(np.array(pipe.centre_mm) - corner)) for corner in joined.outline_mm]
    assert far == pytest.approx([np.hypot(*(np.array(rooms["bath"].pipes[0].centre_mm) - corner))
                                 for corner in rooms["bath"].outline_mm])


def test_a_ring_of_rooms_tells_how_well_it_closes():
    # The bath drawn a corner further down also has a door to the kitchen, 30 mm from where it should be.
    rooms = carried_rooms()
    bath, kitchen = rooms["bath"], rooms["kitchen"]
    rooms["bath"] = dataclasses.replace(bath,
                                        outline_mm=CARRIED["bath"]([(3000, 3320), (6600, 3320), (6600, 5000),
                                                                    (3000, 5000)]),
                                        doors=(dataclasses.replace(bath.doors[0], from_mm=1550.0),
                                               Door(name="D2", wall=("A", "B"), from_mm=130.0, width_mm=700.0)))
    rooms["kitchen"] = dataclasses.replace(kitchen,
                                           doors=(*kitchen.doors, Door(name="D2", wall=("C", "D"), from_mm=200.0,
                                                                       width_mm=700.0)))
    ring = (*PASSAGES, Passage(rooms=("kitchen", "bath"), doors=("D2", "D2"), thickness_mm=320.0, through=False))
    ((passage, off),) = placed(rooms, ring).misfits
    assert passage is ring[2] and off == pytest.approx(30.0, abs=1e-3)
    rooms["kitchen"] = dataclasses.replace(kitchen,
                                           doors=(*kitchen.doors, Door(name="D2", wall=("C", "D"), from_mm=100.0,
                                                                       width_mm=700.0)))
    assert (refused := _refused(rooms, ring)).slug == "rooms-apart" and "70 mm" in str(refused)


def _refused(rooms, passages) -> LayoutError:
    """The first trouble of rooms that do not all fit."""
    return fit_rooms(rooms, passages).troubles[0]


def test_rooms_that_cannot_fit_are_named():
    rooms = carried_rooms()
    assert _refused(rooms, PASSAGES[:1]).slug == "room-alone"
    other = dataclasses.replace(PASSAGES[1], doors=("D7", "D2"))
    assert _refused(rooms, (PASSAGES[0], other)).slug == "no-such-door"
    kitchen = rooms["kitchen"]
    wider = rooms | {"kitchen": dataclasses.replace(kitchen,
                                                    doors=(dataclasses.replace(kitchen.doors[0], width_mm=880.0),))}
    assert "880 mm" in str(_refused(wider, PASSAGES))
    slipped = rooms | {"bath": dataclasses.replace(rooms["bath"],
                                                   doors=(dataclasses.replace(rooms["bath"].doors[0],
                                                                              wall=("C", "D")),))}
    assert placed(slipped, PASSAGES)  # the bath stands on its head, and still fits
    hall = rooms["hall"]
    wrong = rooms | {
        "hall": dataclasses.replace(hall, doors=(hall.doors[0], dataclasses.replace(hall.doors[1], wall=("D", "A"))))
    }
    assert _refused(wrong, PASSAGES).slug == "rooms-overlap"


def test_two_openings_between_the_same_rooms_cannot_both_be_laid_through():
    rooms = carried_rooms()
    more = {"kitchen": Door(name="D2", wall=("B", "C"), from_mm=2000.0, width_mm=700.0),
            "hall": Door(name="D3", wall=("D", "A"), from_mm=500.0, width_mm=700.0)}
    rooms |= {name: dataclasses.replace(rooms[name], doors=(*rooms[name].doors, door)) for name, door in more.items()}
    ring = (*PASSAGES, Passage(rooms=("kitchen", "hall"), doors=("D2", "D3"), thickness_mm=100.0, through=True))
    with pytest.raises(LayoutError) as caught:
        join_rooms(rooms, placed(rooms, ring), ("kitchen", "hall"), ring)
    assert caught.value.slug == "bad-outline" and "profile" in str(caught.value)
