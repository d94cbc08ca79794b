"""A house of jobs joined from the command line: new jobs that plan, one direction in the house, nobody's work
overwritten."""
from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from desk.batch.many import find_jobs
from desk.cli import main
from tests.support.houses import FLOORING, write_house, write_room

def run(arguments: list[str], capsys) -> tuple[int, str, str]:
    status = main(arguments)
    told = capsys.readouterr()
    return status, told.out, told.err


def test_rooms_become_jobs_that_plan_with_rows_in_one_direction(own_record, house, capsys):
    status, told, _ = run(["house", str(house), "--json", "--effort", "preview"], capsys)
    answer = json.loads(told)
    assert status == 0 and [floor["rooms"] for floor in answer["floors"]] == [["bath"], ["kitchen", "hall"]]
    jobs = {floor["folder"]: json.loads((house / "floors" / floor["folder"] / "job.json").read_text())
            for floor in answer["floors"]}
    # The longest wall of the house is the hall's; the hall lies straight beside the kitchen, the bath a quarter turn
    # round.
    assert answer["problems"] == [] and answer["together"]["boards"][0]["floors"] == ["bath", "kitchen+hall"]
    assert {job["flooring"]["direction"] % 180.0 for job in jobs.values()} == {90.0}
    assert math.isclose(answer["rooms"]["bath"]["heading"] % 360.0, 270.0, abs_tol=1e-6)
    assert all("first_row" not in job["flooring"] for job in jobs.values())
    assert run(["many", str(house / "floors"), "--effort", "preview"], capsys)[0] == 0


def test_many_plans_the_floors_of_a_house_and_not_its_rooms_too(house, capsys):
    assert [place.name for place in find_jobs(house)] == ["bath", "hall", "kitchen"]
    run(["house", str(house), "--effort", "preview"], capsys)
    assert [place.relative_to(house).as_posix() for place in find_jobs(house)] == ["floors/bath", "floors/kitchen+hall"]


def test_a_joined_floor_is_no_surer_than_its_doors_are(house, capsys):
    run(["house", str(house), "--effort", "preview"], capsys)
    status, told, _ = run(["survey", str(house / "floors" / "kitchen+hall"), "--json"], capsys)
    walls = json.loads(told)["walls"]
    # 2 mm a door, two doors (sd 2.8 mm a coordinate), so a length between two corners holds to 1.96 x 2.8 x sqrt 2 =
    # 7.8 mm.
    assert status == 0 and all(wall["pm95"] == pytest.approx(7.8, abs=0.2) for wall in walls)


def test_what_was_kept_in_a_joined_job_is_not_overwritten(house, capsys):
    run(["house", str(house), "--effort", "preview"], capsys)
    assert run(["house", str(house), "--effort", "preview"], capsys)[0] == 0  # untouched: made again
    assert run(["plan", str(house / "floors" / "bath"), "--keep"], capsys)[0] == 0
    before = (house / "floors" / "bath" / "job.json").read_bytes()
    assert run(["house", str(house), "--effort", "preview"], capsys)[0] == 0
    assert (house / "floors" / "bath" / "job.json").read_bytes() == before


def test_what_is_no_floor_of_a_house_is_not_written_over(house, capsys):
    write_room(house / "floors" / "bath", [[0, 0], [2000, 0], [2000, 2000], [0, 2000]], [])
    before = (house / "floors" / "bath" / "job.json").read_bytes()
    status, _, complaint = run(["house", str(house), "--effort", "preview"], capsys)
    assert status == 2 and "bath/job.json" in complaint and (house / "floors" / "bath"
                                                             / "job.json").read_bytes() == before


@pytest.mark.parametrize(("change", "words"),
                         [({"rooms": ["kitchen", "kitchen"]}, "each once"),
                          ({"rooms": ["../other"]}, "beside house.json"),
                          ({"direction": {"room": "hall", "wall": ["A", "C"]}}, "no such wall"),
                          ({"doorways": [{"rooms": ["kitchen", "attic"], "doors": ["D1", "D1"]}]}, "none of the rooms"),
                          ({"version": 2}, "version"), ({"colour": "grey"}, 'house.json has the key "colour"'),
                          ({"entrance": "attic"}, "none of the rooms"), ({"order": ["hall"]}, "every room once"),
                          ({"doorways": [{"rooms": ["kitchen", "hall"], "doors": ["D1", "D1"], "lay": "through"}]},
                           'doorways[0] has the key "lay"')])
def test_a_house_that_cannot_be_read_is_one_sentence(house, change, words, capsys):
    write_house(house, **change)
    status, told, complaint = run(["house", str(house), "--effort", "preview"], capsys)
    assert status in (1, 2) and told == "" and words in complaint and complaint.count("\n") == 1
    assert not (house / "floors").exists()


def test_a_title_that_came_by_mail_steers_no_terminal(house, capsys):
    write_house(house, title="Flat\x1b[2J\nDone")
    status, told, _ = run(["house", str(house), "--effort", "preview"], capsys)
    assert status == 0 and "\x1b" not in told and told.startswith("Flat\\x1b[2J\\nDone: 3 rooms")


DOORWAY = {"rooms": ["kitchen", "hall"], "doors": ["D1", "D1"], "laid": "profile"}


def kitchen_without(house: Path, *keys: str) -> None:
    """The kitchen's job without some of its keys."""
    place = house / "kitchen" / "job.json"
    place.write_text(json.dumps({key: value for key, value in json.loads(place.read_text()).items() if key not in keys}
                                | ({"outline": ["A", "B", "C", "D"]} if "floor" in keys else {})))


@pytest.mark.parametrize(("spoil", "words", "left"), [
    (lambda place: kitchen_without(place, "floor", "doors"), "kitchen is left out", {"hall", "bath"}),
    (lambda place: (place / "kitchen" / "job.json").write_text("{"), "kitchen is left out", {"hall", "bath"}),
    (lambda place: kitchen_without(place, "flooring"), "kitchen is left out", {"hall", "bath"}),
    (lambda place: write_house(place, doorways=[DOORWAY]), "No doorway joins bath to kitchen",
     {"kitchen", "hall", "bath"}),
    (lambda place: write_house(place, doorways=[DOORWAY, {"rooms": ["hall", "bath"], "doors": ["D2", "D1"]}]),
     "how thick the wall", {"kitchen", "hall", "bath"}),
    (lambda place: write_house(place, doorways=[DOORWAY, {"rooms": ["hall", "bath"], "doors": ["D1", "D1"],
                                                          "thickness": 100}]), "wide", {"kitchen", "hall", "bath"}),
    (lambda place: write_house(place, doorways=[DOORWAY, {"rooms": ["hall", "bath"], "doors": ["D7", "D1"],
                                                          "thickness": 100}]), "no door D7",
     {"kitchen", "hall", "bath"})])
def test_what_is_wrong_with_one_room_or_doorway_is_one_sentence_and_the_rest_goes_on(house, spoil, words, left, capsys):
    write_house(house, doorways=[DOORWAY, {"rooms": ["hall", "bath"], "doors": ["D2", "D1"], "laid": "profile",
                                           "thickness": 100}])
    spoil(house)
    status, told, complaint = run(["house", str(house), "--json", "--effort", "preview"], capsys)
    answer = json.loads(told)
    assert status == 1 and words in complaint and complaint.count("\n") == 1
    assert [problem["says"] for problem in answer["problems"]] == complaint.splitlines()
    if "no door D7" in words:
        assert [problem["where"] for problem in answer["problems"]] == ["doorways[1]"]
    planned = {name for floor in answer["floors"] for name in floor["rooms"] if "plan" in floor}
    assert planned == left and answer["together"]["boards"][0]["boards"] > 0


def test_two_kinds_of_boards_end_at_a_profile_and_are_counted_apart(house, capsys):
    job = json.loads((house / "kitchen" / "job.json").read_text())
    job["flooring"] = FLOORING | {"board": FLOORING["board"] | {"width": 240}}
    (house / "kitchen" / "job.json").write_text(json.dumps(job))
    status, told, complaint = run(["house", str(house), "--json", "--effort", "preview"], capsys)
    answer = json.loads(told)
    assert status == 1 and "name different boards" in complaint and complaint.count("\n") == 1
    assert len(answer["together"]["boards"]) == 2 and [one["laid"] for one in answer["doorways"]] == ["profile"] * 2


def test_the_house_says_order_doorways_and_what_is_bought_together(house, capsys):
    write_house(house, doorways=[{"rooms": ["kitchen", "hall"], "doors": ["D1", "D1"]},
                                 {"rooms": ["hall", "bath"], "doors": ["D2", "D1"], "laid": "profile",
                                  "thickness": 100}], entrance="hall")
    status, told, _ = run(["house", str(house), "--effort", "preview"], capsys)
    said = " ".join(told.split())
    assert status == 0 and "boards run through: together their floor reaches 5." in said
    assert "leaflet decides" in said and "from the farthest to hall" in said
    assert "Boards for all rooms" in said and "To buy, for all rooms" in said
    asked = ["bath", "kitchen", "hall"]
    write_house(house, order=asked)
    answer = json.loads(run(["house", str(house), "--json", "--effort", "preview"], capsys)[1])
    assert answer["order"]["rooms"] == asked and [floor["rooms"][0] for floor in answer["floors"]] == ["bath",
                                                                                                      "kitchen"]


def test_no_house_at_all(tmp_path, capsys):
    status, _, complaint = run(["house", str(tmp_path)], capsys)
    assert status == 2 and "house.json" in complaint


def test_an_island_without_a_name_is_in_the_joined_job_by_its_number(own_record, house, capsys):
    tree = json.loads((house / "hall" / "job.json").read_text())
    tree["floor"]["holes"] = [[[300, 300], [600, 300], [600, 600], [300, 600]]]
    (house / "hall" / "job.json").write_text(json.dumps(tree))
    status, told, said = run(["house", str(house), "--json", "--effort", "preview"], capsys)
    assert status == 0 and said == ""
    folder = next(floor["folder"] for floor in json.loads(told)["floors"] if "hall" in floor["rooms"])
    joined = house / "floors" / folder
    assert [island["name"] for island in json.loads((joined / "job.json").read_text())["islands"]] == ["3island 1."]
    assert run(["check", str(joined)], capsys)[0] == 0
