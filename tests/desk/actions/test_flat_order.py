"""A flat's rooms numbered as they are laid, an order that would part a floor, slips in its file. The invented flat: a
kitchen and a hall that boards run through between, and a bath."""
from __future__ import annotations

import datetime
import json

import pytest

from desk.actions.flat.planning import flat_kept, flat_now
from desk.actions.flat.room_in_flat import room_in_flat
from desk.actions.flat.state import flat_state
from desk.cli import main
from desk.jobfile.files import read_job
from tests.support.houses import drawn_flat, titled_flat, write_house

ON = datetime.date(2026, 3, 5)


def numbers_of(house) -> dict[str, int]:
    return dict(flat_state(house).joined.numbers)


def corners_of(house, floor: str) -> set[str]:
    return {name for name in flat_state(house).joined.jobs[floor].outline if name[0] != "J"}


def test_corners_bear_the_number_of_their_room_in_the_order_of_laying(house):
    assert numbers_of(house) == {"bath": 1, "kitchen": 2, "hall": 3}
    assert corners_of(house, "bath") == {"1A", "1B", "1C", "1D"}
    assert corners_of(house, "kitchen+hall") <= {f"{n}{c}" for n in (2, 3) for c in "ABCD"}
    write_house(house, order=["kitchen", "hall", "bath"])
    assert numbers_of(house) == {"kitchen": 1, "hall": 2, "bath": 3}


def test_a_floor_laid_through_takes_the_place_of_its_first_room_in_an_order_that_parts_it_and_that_is_said(house):
    write_house(house, order=["hall", "bath", "kitchen"])
    joined = flat_state(house).joined
    assert joined.order.rooms == ("hall", "kitchen", "bath") and list(joined.jobs) == ["kitchen+hall", "bath"]
    (told,) = [problem for problem in joined.troubles if problem.slug == "order-split"]
    assert told.severity == "note" and "in the place of hall" in told.says and "profile" in told.says
    write_house(house, order=["bath", "hall", "kitchen"])
    assert flat_state(house).joined.troubles == ()


def test_rooms_of_a_floor_that_is_being_laid_keep_their_numbers(tmp_path):
    """What lies, and the paper beside it, bears them; the others take those that are left."""
    house = titled_flat(tmp_path / "flat")
    flat_kept(house, "preview", on=ON)
    before = numbers_of(house)
    last = max(before, key=lambda name: before[name])
    assert main(["day", str(house / "floors" / last), "row", "1", "done"]) == 0
    write_house(house, order=[last, *(name for name in before if name != last)],
                doorways=json.loads((house / "house.json").read_text())["doorways"])
    after = numbers_of(house)
    assert after[last] == before[last] == 3 and sorted(after.values()) == [1, 2, 3]
    assert all(name.startswith("3") for name in read_job(house / "floors" / last).outline)


def test_a_key_of_the_flats_flooring_that_nothing_reads_is_told_and_stops_nothing(house):
    board = {"length": 1285, "width": 192, "thickness": 8, "pack": 8}
    write_house(house, flooring={"board": board | {"wide": 3}, "gapp": 9})
    told = [problem for problem in flat_now(house)["problems"] if problem["slug"] == "unknown-key"]
    assert len(told) == 2 and all(problem["severity"] == "note" for problem in told)
    assert any("gapp" in problem["says"] and "gap" in problem["says"] for problem in told)
    assert any("flooring.board" in problem["says"] and "wide" in problem["says"] for problem in told)


def test_doorways_that_are_null_are_none_as_in_a_job(house):
    write_house(house, doorways=None)
    assert flat_now(house)["doorways"] == [] and len(flat_state(house).joined.parts) == 3


def test_the_day_of_a_room_leads_to_the_floor_it_is_laid_with(house, capsys):
    assert main(["house", str(house), "--effort", "preview"]) == 0
    assert main(["day", str(house / "kitchen")]) == 1
    said = capsys.readouterr().err
    assert "--keep" in said and f"tapegroove day {house / 'floors' / 'kitchen+hall'}" in said
    flat_kept(house, "preview", on=ON)
    assert main(["day", str(house / "kitchen")]) == 1
    said = capsys.readouterr().err
    assert "--keep" not in said and f"tapegroove day {house / 'floors' / 'kitchen+hall'}" in said


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A drawn flat in which offcuts travel, kept."""
    place = drawn_flat(1, tmp_path_factory.mktemp("told") / "flat")
    return place, flat_kept(place, "preview", on=ON).flat


def test_a_room_of_a_flat_is_told_what_comes_and_goes_by_the_plan_of_all_rooms(kept):
    house, plan = kept
    for floor in plan.floors:
        told = room_in_flat(house, floor.name)
        assert told["floor"] == f"floors/{floor.name}" and not told["is_floor"] and told["broken"] == []
        assert "one room of a flat" in told["says"][0]
        said = " ".join(told["says"])
        for travel in plan.travels:
            if travel.to_floor == floor.name:
                assert travel.label in said and f"from {travel.from_floor.title()}" in said
            if travel.from_floor == floor.name:
                assert travel.label in said and f"kept for {travel.to_floor.title()}" in said


def test_a_floor_that_others_count_on_is_told_what_another_plan_kept_there_would_spoil(kept):
    house, plan = kept
    giver = plan.travels[0].from_floor
    told = room_in_flat(house, f"floors/{giver}")
    assert told["is_floor"] and "kept again" in told["says"][-1] and told["broken"] == []
    assert main(["plan", str(house / "floors" / giver), "--afresh", "--keep"]) == 0
    assert any("counts on" in says for says in room_in_flat(house, f"floors/{giver}")["broken"])
