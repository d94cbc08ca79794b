"""A flat as it stands, and changes of its house file: what is wrong with one part costs that alone, what is written is
whole, and nothing is planned for it."""
from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import Polygon

from desk.actions.flat import house_edits as edits
from desk.actions.flat.planning import flat_now
from desk.problem import JobFileError
from desk.store.house_store import HouseKeeper, rooms_in
from desk.store.job_store import Overtaken

HALL_BATH = (("hall", "D2"), ("bath", "D1"))


def test_rooms_lie_beside_one_another_and_doors_at_their_openings(house):
    now = flat_now(house)
    shapes = {name: Polygon(room["outline"]) for name, room in now["rooms"].items()}
    assert {room["state"] for room in now["rooms"].values()} == {"floor"} and now["together"] is None
    # As drawn: 4 x 3, 1.5 x 5, 2.2 x 2 m, walls of 120 and 100 mm between them (the doors' reveals, the house file).
    assert [shapes[name].area / 1e6 for name in ("kitchen", "hall", "bath")] == pytest.approx([12.0, 7.5, 4.4])
    assert shapes["kitchen"].distance(shapes["hall"]) == pytest.approx(120.0, abs=0.1)
    assert shapes["hall"].distance(shapes["bath"]) == pytest.approx(100.0, abs=0.1)
    for doorway in now["doorways"]:
        for name, door, ends in zip(doorway["rooms"], doorway["doors"], doorway["ends"]):
            assert np.hypot(*np.subtract(*ends)) == pytest.approx(760.0 if "bath" in doorway["rooms"] else 800.0)
            assert all(shapes[name].exterior.distance(Polygon([end] * 3).centroid) < 0.2 for end in ends)
            own = next(one for one in now["rooms"][name]["doors"] if one["name"] == door)
            assert own["ends"] == ends and own["leads_to"]["room"] in doorway["rooms"]
    assert not (house / "floors").exists()


def test_a_room_without_a_floor_and_a_doorway_that_does_not_meet_are_told_and_the_rest_goes_on(house):
    job = json.loads((house / "kitchen" / "job.json").read_text())
    (house / "kitchen" / "job.json").write_text(json.dumps({key: job[key] for key in job if key != "floor"} | {
        "outline": ["A", "B", "C", "D"]}))
    now = flat_now(house)
    kitchen = now["rooms"]["kitchen"]
    assert kitchen["state"] == "no-floor" and "kitchen is left out" in kitchen["says"] and "outline" not in kitchen
    assert [door["name"] for door in kitchen["doors"]] == ["D1"]
    assert [(one["doorway"], one["says"] != "") for one in now["loose_doorways"]] == [(0, True)]
    assert now["rooms"]["hall"]["state"] == now["rooms"]["bath"]["state"] == "floor"


def test_a_house_without_any_floor_is_told_room_by_room(tmp_path):
    for name in ("study", "loft"):
        place = tmp_path / name
        place.mkdir()
        (place / "job.json").write_text(json.dumps({"format": "tapegroove-job", "version": 1, "title": name.title(),
                                                    "outline": ["A", "B", "C"]}))
    assert rooms_in(tmp_path) == ("loft", "study")
    HouseKeeper(tmp_path).begin(edits.new_house(rooms_in(tmp_path)))
    now = flat_now(tmp_path)
    assert {room["state"] for room in now["rooms"].values()} == {"no-floor"} and len(now["problems"]) == 2
    assert {room["title"] for room in now["rooms"].values()} == {"Study", "Loft"}


def doorways(tree: dict, *entries: dict) -> dict:
    return tree | {"doorways": list(entries)}


def joined(tree: dict, *sides: tuple[str, str]) -> dict:
    """The house with one doorway more, as the page writes it."""
    rooms, doors = zip(*sides)
    return doorways(tree, *tree["doorways"], {"rooms": list(rooms), "doors": list(doors)})


def test_doors_are_joined_laid_ordered_and_parted_and_the_file_is_the_change(house):
    keeper = HouseKeeper(house)
    _, revision = keeper.load()
    revision = keeper.change(lambda tree: doorways(tree, tree["doorways"][0]), revision=revision)
    assert len(json.loads((house / "house.json").read_text())["doorways"]) == 1
    revision = keeper.change(lambda tree: joined(tree, *HALL_BATH), revision=revision)
    revision = keeper.change(lambda tree: doorways(tree, tree["doorways"][0], tree["doorways"][1] | {
        "laid": "profile", "thickness": 100.0}), revision=revision)
    revision = keeper.change(lambda tree: tree | {"order": ["bath", "kitchen", "hall"]}, revision=revision)
    now = flat_now(house)
    assert [one["asked"] for one in now["doorways"]] == ["through", "profile"] and now["problems"] == []
    assert now["order"]["rooms"] == now["order"]["asked"] == ["bath", "kitchen", "hall"]
    keeper.change(lambda tree: {key: told for key, told in tree.items() if key != "order"}, revision=revision)
    assert "order" not in json.loads((house / "house.json").read_text())
    with pytest.raises(Overtaken):
        keeper.change(lambda tree: tree, revision=revision)


@pytest.mark.parametrize(("change", "words"), [
    (lambda tree: joined(tree, ("hall", "D1"), ("hall", "D2")), "rooms"),
    (lambda tree: joined(tree, ("hall", "D1"), ("../x", "D2")), "none of the rooms"),
    (lambda tree: doorways(tree, tree["doorways"][0] | {"laid": "sideways"}), "sideways"),
    (lambda tree: tree | {"order": ["hall"]}, "every room once"),
    (lambda tree: tree | {"entrance": "attic"}, "none of the rooms"),
    (lambda tree: edits.with_room(tree, "hall"), "each once"),
    (lambda tree: edits.with_room(tree, "a/b"), "beside house.json")])
def test_a_change_that_cannot_be_is_one_sentence_and_the_file_stays(house, change, words):
    before = (house / "house.json").read_bytes()
    keeper = HouseKeeper(house)
    with pytest.raises(JobFileError) as refused:
        keeper.change(change, revision=keeper.load()[1])
    assert words in str(refused.value) and (house / "house.json").read_bytes() == before


def test_a_new_room_is_laid_last_where_an_order_is_written(tmp_path: Path):
    tree = edits.new_house(["hall", "bath"]) | {"order": ["bath", "hall"]}
    assert edits.with_room(tree, "attic")["order"] == ["bath", "hall", "attic"]
