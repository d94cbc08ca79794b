"""In which order rooms are laid, how their doorways are, and what is left out where rooms do not fit."""
from __future__ import annotations

from dataclasses import replace

import pytest

from layout.flat.doorway_choice import as_chosen, choose_passages
from layout.flat.fitting import fit_rooms
from layout.flat.order import as_whole_floors, order_of_laying, room_numbers
from layout.judge.check import find_faults
from layout.planning.planner import plan_floor
from layout.region.joined_rooms import groups_of, join_rooms
from layout.room import Board, Wishes
from tests.support.flats import passages_of, rooms_of, stored_flats

#: Six rooms: a hall with five doors.
FIVE_DOORS = next(flat for flat in stored_flats() if len(flat["rooms"]) == 6)
LONGEST_MM = 10_000.0


@pytest.fixture(scope="module")
def flat():
    """(rooms, doorways, the house) of a hall with five doors."""
    rooms, passages = rooms_of(FIVE_DOORS), passages_of(FIVE_DOORS)
    return rooms, passages, fit_rooms(rooms, passages).house


def choices_of(flat, asked=None, longest=LONGEST_MM, boards=None):
    rooms, passages, house = flat
    asked = asked or [None] * len(passages)
    return choose_passages(rooms, house, list(zip(passages, asked)), heading_rad=0.0,
                           longest_mm=dict.fromkeys(rooms, longest), boards=boards or dict.fromkeys(rooms, "same"))


def test_the_hall_with_the_outer_door_is_laid_last_and_the_farthest_room_first(flat):
    rooms, passages, house = flat
    order = order_of_laying(rooms, house, passages)
    assert (order.entrance, order.rule, order.rooms[-1]) == ("hall", "outer-door", "hall")
    middle = {name: house.placings[name].place(room.outline_mm).mean(axis=0) for name, room in rooms.items()}
    away = [float(sum((middle[name] - middle["hall"]) ** 2)) for name in order.rooms]
    assert away == sorted(away, reverse=True)
    asked = order_of_laying(rooms, house, passages, entrance="bath" if "bath" in rooms else "hall",
                            asked=list(rooms))
    assert asked.rooms == tuple(rooms) and asked.named and asked.rule == "named"


def test_floors_laid_through_stay_whole_where_their_first_room_stands_and_rooms_keep_numbers_they_bear():
    order = ("hall", "bath", "kitchen", "study")
    assert as_whole_floors(order, [("kitchen", "hall"), ("bath",), ("study",)]) == ("hall", "kitchen", "bath", "study")
    assert room_numbers(order, {}) == {"hall": 1, "bath": 2, "kitchen": 3, "study": 4}
    assert room_numbers(order, {"kitchen": 1, "attic": 2}) == {"hall": 2, "bath": 3, "kitchen": 1, "study": 4}


def test_a_room_comes_before_every_room_one_passes_through_from_it():
    """Kitchen behind parlour behind hall: nobody carries boards over a laid floor."""
    data = stored_flats()[1]
    rooms, passages = rooms_of(data), passages_of(data)
    order = order_of_laying(rooms, fit_rooms(rooms, passages).house, passages, entrance="hall")
    assert order.rooms[-1] == "hall"
    first = data["rooms"][0]["name"]
    from_inside = order_of_laying(rooms, fit_rooms(rooms, passages).house, passages, entrance=first)
    assert from_inside.rooms[-1] == first and from_inside.rooms[-2] == "hall"


@pytest.mark.parametrize("longest", [4000.0, 8000.0, 10_000.0, 50_000.0])
def test_boards_run_through_just_where_the_joined_floor_stays_within_the_longest_run(flat, longest):
    """8 to 10 m without a profile are usual (section 2 of the project's trade sheet)."""
    rooms, passages, house = flat
    choices = choices_of(flat, longest=longest)
    chosen = as_chosen(passages, choices)
    for group in groups_of(tuple(rooms), chosen):
        if len(group) > 1:
            joined = join_rooms(rooms, house, group, chosen)
            assert max(joined.outline_mm.max(axis=0) - joined.outline_mm.min(axis=0)) <= longest + 1e-6
    for choice in choices:
        assert choice.rule == "longest-run" and choice.through == (choice.extent_mm <= choice.longest_mm == longest)


def test_what_was_asked_for_is_done_and_settled_first(flat):
    asked = [False, True, None, None, True]
    choices = choices_of(flat, asked=asked)
    assert [choice.through for choice, wish in zip(choices, asked) if wish is not None] == [False, True, True]
    assert {choice.rule for choice, wish in zip(choices, asked) if wish is not None} == {"asked"}


def test_boards_of_two_kinds_end_at_a_profile(flat):
    rooms, passages, _ = flat
    name = passages[0].rooms[0]
    choices = choices_of(flat, asked=[True] * 5, boards=dict.fromkeys(rooms, "one") | {name: "other"})
    assert choices[0].rule == "other-boards" and not choices[0].through
    assert all(choice.through for choice in choices[1:])


def test_two_rooms_that_are_one_floor_already_are_not_joined_again(flat):
    rooms, passages, house = flat
    twice = [(passages[0], True), (replace(passages[0]), True)]
    found = choose_passages(rooms, house, twice, heading_rad=0.0, longest_mm=dict.fromkeys(rooms, LONGEST_MM),
                            boards=dict.fromkeys(rooms, "same"))
    assert [choice.rule for choice in found] == ["asked", "second-opening"]


@pytest.mark.parametrize("asked", [[True] * 5, [None] * 5])
def test_a_hall_with_five_doors_is_laid_through_with_profiles_where_runs_are_too_long(flat, asked):
    """Laid through everywhere it is one floor; where that is longer than 10 m it is parted by profiles. Both floors are
    judged, and no field is longer than the limit along the rows."""
    rooms, passages, house = flat
    chosen = as_chosen(passages, choices_of(flat, asked=asked))
    board = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)
    floors = groups_of(tuple(rooms), chosen)
    assert (len(floors) == 1) == (asked[0] is True)
    for group in floors:
        joined = join_rooms(rooms, house, group, chosen)
        plan = plan_floor(joined, board, Wishes(direction_rad=0.0, longest_mm=LONGEST_MM), moves=60)
        assert find_faults(plan, joined) == ()
        extent = joined.outline_mm.max(axis=0) - joined.outline_mm.min(axis=0)
        assert bool(plan.profiles) == bool(max(extent) - 2 * plan.gap_mm > LONGEST_MM + 100.0) or plan.doorways


def test_what_does_not_fit_is_left_out_and_the_rest_goes_on(flat):
    rooms, passages, _ = flat
    name = passages[0].rooms[0]
    (door,) = rooms[name].doors
    wider = rooms | {name: replace(rooms[name], doors=(replace(door, width_mm=door.width_mm + 90.0),))}
    fitted = fit_rooms(wider, passages)
    assert [error.slug for error in fitted.troubles] == ["doorway-differs"]
    assert (name,) in fitted.parts
    assert len(fitted.passages) == 4 and set(fitted.house.placings) == set(rooms)
    alone = fit_rooms(rooms, passages[1:])
    assert [error.slug for error in alone.troubles] == ["room-alone"] and name in str(alone.troubles[0])


def test_rooms_over_one_another_cost_the_doorway_at_fault(flat):
    rooms, passages, _ = flat
    name = passages[1].rooms[0]
    (door,) = rooms[name].doors
    # The room's door named on the opposite wall turns the room round, into the hall's other side or its neighbours.
    hall = rooms["hall"]
    moved = [replace(one, from_mm=200.0) if one.name == passages[1].doors[1] else one for one in hall.doors]
    fitted = fit_rooms(rooms | {"hall": replace(hall, doors=tuple(moved))}, passages)
    assert {error.slug for error in fitted.troubles} <= {"rooms-overlap"}
    assert len(fitted.passages) == len(passages) - len(fitted.troubles) and door.name == "D1"
    assert set(fitted.house.placings) == set(rooms)


def test_a_door_leads_to_one_place_whichever_way_round_a_doorway_is_named(flat):
    rooms, passages, _ = flat
    first = passages[0]
    again = replace(first, rooms=first.rooms[::-1], doors=first.doors[::-1])
    for more in (first, again):
        fitted = fit_rooms(rooms, [*passages, more])
        (error,) = fitted.troubles
        assert error.slug == "door-twice" and first.doors[0] in str(error) and fitted.passages == tuple(passages)
        assert fitted.house.misfits == fit_rooms(rooms, passages).house.misfits
