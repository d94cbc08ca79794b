"""A flat's page, asked in process: house.json opened and saved whole, rooms by their names alone, what is wrong told
where it is. What is right is worked out by hand from the rooms' lengths, beside each check."""
from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest

import desk.server.home.keeper as keeping
from desk.jobfile.files import parse_job
from desk.problem import JobFileError, file_error
from desk.server.home.flat import Flat
from desk.server.home.keeper import is_flat
from desk.server.home.site import ROOM_HEADER, flat_app, open_any
from desk.server.http.guard import TOKEN_HEADER, Guard
from tests.desk.server.test_server import HOST, Answer, Client, says
from tests.support.houses import write_room
from tests.support.patience import PATIENCE_S


class HomeClient(Client):
    """Asks what the flat's page and its rooms' pages would ask."""

    def __init__(self, flat: Flat) -> None:
        self.desk, self.app = flat, flat_app(flat)

    def of(self, room: str, method: str, path: str, told: Any = None, **headers: str) -> Answer:
        named = {ROOM_HEADER.replace("-", "_"): quote(room, safe="")}
        return self.ask(method, path, **named) if told is None else self.send(method, path, told, **named, **headers)

    def work(self, kind: str, **options: Any) -> dict[str, Any]:
        told = self.send("POST", f"/api/{kind}", options).json
        while not told["done"]:
            told = self.ask("GET", f"/api/tasks/{told['task']}").json
        return told["result"]

    def change(self, **keys: Any) -> Answer:
        told = self.ask("GET", "/api/flat").json
        return self.send("PUT", "/api/flat", told["job"] | keys, if_match=f'"{told["revision"]}"')


@pytest.fixture
def client(house: Path, processes_kept: None) -> Iterator[HomeClient]:
    yield from opened(house)


def opened(folder: Path) -> Iterator[HomeClient]:
    flat = Flat(folder, Guard(hosts=(HOST,), token="a-token"))
    yield HomeClient(flat)
    flat.close()


def on_disk(folder: Path) -> Any:
    return json.loads((folder / "house.json").read_text("utf-8"))


def listing(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*"))


# Which folder is a flat --------------------------------------------------------------------------


def test_a_folder_of_several_jobs_or_with_a_house_file_is_a_flat_and_one_of_a_job_is_not(house):
    assert is_flat(house) and not is_flat(house / "kitchen") and not is_flat(house / "nowhere")
    (house / "house.json").unlink()
    assert is_flat(house)  # three jobs beside one another
    (house / "job.json").write_text("{}")
    assert not is_flat(house)  # what is a job stays one, whatever lies in it


def test_the_desk_serves_what_the_folder_holds(house, processes_kept):
    for folder, page in ((house, b"/home/home.js"), (house / "kitchen", b"/main.js")):
        desk = open_any(folder, 0)
        thread = threading.Thread(target=desk.run, daemon=True)
        thread.start()
        try:
            import urllib.request
            with urllib.request.urlopen(desk.address.partition("#")[0]) as answer:
                assert page in answer.read()
        finally:
            desk.stop()
            thread.join(timeout=PATIENCE_S)


# Reading and saving ------------------------------------------------------------------------------


def test_opening_writes_nothing_and_the_first_change_writes_the_file(house, client):
    (house / "house.json").unlink()
    before = listing(house)
    told = client.ask("GET", "/api/flat").json
    assert told["job"]["rooms"] == ["bath", "hall", "kitchen"] and listing(house) == before
    answer = client.send("PUT", "/api/flat", told["job"] | {"title": "Ours"}, if_match=f'"{told["revision"]}"')
    assert answer.status == 200 and on_disk(house)["title"] == "Ours"


def test_a_change_reaches_the_disk_and_an_overtaken_window_does_not_overwrite(house, client):
    told = client.ask("GET", "/api/flat").json
    assert client.change(order=["bath", "hall", "kitchen"]).status == 200
    assert on_disk(house)["order"] == ["bath", "hall", "kitchen"]
    late = client.send("PUT", "/api/flat", told["job"] | {"title": "late"}, if_match=f'"{told["revision"]}"')
    assert late.status == 409 and on_disk(house)["title"] == "Invented flat"
    assert says(late).startswith("The flat was changed in another window")
    assert client.send("PUT", "/api/flat", told["job"]).status == 428


@pytest.mark.parametrize("change", [{"rooms": ["kitchen", "../secret"]}, {"rooms": []}, {"rooms": ["a/b", "hall"]},
                                    {"doorways": [{"rooms": ["kitchen", "attic"], "doors": ["D1", "D1"]}]},
                                    {"order": ["kitchen"]}, {"entrance": "nowhere"}, {"odd": 1}, {"rooms": "kitchen"}])
def test_what_is_no_flat_is_refused_in_a_sentence_and_the_file_stays(house, client, change):
    before = (house / "house.json").read_bytes()
    answer = client.change(**change)
    assert answer.status == 422 and says(answer)
    assert (house / "house.json").read_bytes() == before


def test_a_file_that_is_gone_is_told_and_nothing_is_written(house, client):
    told = client.ask("GET", "/api/flat").json
    (house / "house.json").unlink()
    answer = client.send("PUT", "/api/flat", told["job"], if_match=f'"{told["revision"]}"')
    assert answer.status == 503 and "house.json" in says(answer) and not (house / "house.json").exists()


# A room by its name ------------------------------------------------------------------------------


def test_a_room_is_read_and_saved_as_any_job_is(house, client):
    told = client.of("kitchen", "GET", "/api/job").json
    assert told["flat"] == "Invented flat" and told["job"]["floor"]["outline"][2] == [4000, 3000]
    answer = client.of("kitchen", "PUT", "/api/job", told["job"] | {"title": "Big kitchen"},
                       if_match=f'"{told["revision"]}"')
    assert answer.status == 200
    assert json.loads((house / "kitchen" / "job.json").read_text())["title"] == "Big kitchen"
    assert "title" not in json.loads((house / "hall" / "job.json").read_text())
    assert b"/main.js" in client.ask("GET", "/?room=kitchen").data and client.ask("GET", "/api/job").status == 404


@pytest.mark.parametrize("name", ["..", ".", "../flat/kitchen", "kitchen/", "kitchen/../hall", "/etc", "KITCHEN",
                                  "beside", "link", "floors", "floors/kitchen", "floors/../kitchen", "kitchen\x00",
                                  "%2e%2e", "x" * 5000])
def test_only_the_rooms_that_the_flat_lists_are_opened(house, client, name):
    write_room(house / "beside", [[0, 0], [1, 0], [1, 1]], [])
    (house / "link").symlink_to(house / "kitchen")
    for method, path, told in (("GET", "/api/job", None), ("PUT", "/api/job", {}), ("POST", "/api/survey", {}),
                               ("GET", "/api/photos/1.jpg", None)):
        answer = client.of(name, method, path, told)
        assert answer.status == 404 and "no room" in says(answer)
    assert b"/home/home.js" in client.ask("GET", f"/?room={quote(name)}").data


def test_every_address_of_a_flat_wants_the_key(client):
    for method, path in (("GET", "/api/flat"), ("PUT", "/api/flat"), ("POST", "/api/flat/rooms"), ("POST", "/api/look"),
                         ("POST", "/api/buy"), ("GET", "/api/tasks/look-1")):
        answer = client.ask(method, path, **{TOKEN_HEADER.replace("-", "_"): "another"})
        assert answer.status == 403 and "key" in says(answer)


# New rooms ---------------------------------------------------------------------------------------


def add(client: HomeClient, title: str) -> Answer:
    revision = client.ask("GET", "/api/flat").json["revision"]
    return client.send("POST", "/api/flat/rooms", {"title": title}, if_match=f'"{revision}"')


def test_a_new_room_is_begun_listed_and_opened(house, client):
    client.change(order=["bath", "kitchen", "hall"])
    answer = add(client, "Box  room")
    assert answer.json == {"room": "Box room"} and on_disk(house)["rooms"] == ["kitchen", "hall", "bath", "Box room"]
    assert sorted(on_disk(house)["order"]) == sorted(on_disk(house)["rooms"])
    job = client.of("Box room", "GET", "/api/job").json["job"]
    assert job["title"] == "Box  room" and job["outline"] == []


@pytest.mark.parametrize("title", ["kitchen", "KITCHEN", "", "  ", "x" * 81])
def test_a_room_that_cannot_be_is_refused_and_nothing_is_written(house, client, title):
    before = listing(house)
    assert add(client, title).status == 422 and listing(house) == before


@pytest.mark.parametrize("title", ["Up/down", "CON", "..", "what?", "...", ".hidden", "floors", "Pack"])
def test_a_room_called_what_no_folder_can_be_called_has_a_number(house, client, title):
    name = add(client, title).json["room"]
    assert name == "room 4" and parse_job(client.of(name, "GET", "/api/job").json["job"]).title == title


def test_a_disk_that_refuses_leaves_neither_the_room_nor_a_line_of_it(house, client, monkeypatch):
    def refuse(*_: Any, **__: Any) -> None:
        raise file_error("cannot-write", "The disk is full.")
    before = listing(house)
    monkeypatch.setattr(keeping.HouseKeeper, "change", refuse)
    assert "disk is full" in says(add(client, "Attic")) and listing(house) == before


def test_the_first_room_of_all_begins_the_flat(tmp_path, processes_kept):
    folder = tmp_path / "new flat"
    for client in opened(folder):
        assert client.ask("GET", "/api/flat").json["job"]["rooms"] == [] and not folder.exists()
        assert client.work("look")["rooms"] == {} and client.work("buy", effort="usual")["together"] is None
        assert add(client, "Hall").json == {"room": "Hall"} and on_disk(folder)["rooms"] == ["Hall"]
        assert client.work("look")["rooms"]["Hall"]["state"] == "empty"


# The flat as it is seen --------------------------------------------------------------------------


def test_rooms_are_drawn_where_their_doorway_puts_them(client):
    """By hand: the middle of the kitchen's door is at (4000, 900 + 400); that of the hall's, 1500 + 400 from D along
    D-A, at (0, 3100) of the hall. The wall between is 60 + 60 thick, so the hall's A lies at (4120, 1300 - 3100)."""
    rooms = client.work("look")["rooms"]
    kitchen, hall = (rooms[name]["corners"]["A"] for name in ("kitchen", "hall"))
    assert hall[0] - kitchen[0] == pytest.approx(4120.0, abs=0.2)
    assert hall[1] - kitchen[1] == pytest.approx(-1800.0, abs=0.2)
    assert rooms["kitchen"]["area"] == "12.00 m²" and rooms["bath"]["part"] == 0


def test_rooms_that_no_doorway_joins_lie_apart_and_free_doors_are_offered_likeliest_first(client):
    client.change(doorways=[])
    told = client.work("look")
    assert told["parts"] == 3 and {room["part"] for room in told["rooms"].values()} == {0, 1, 2}
    boxes = sorted((min(x for x, _ in room["corners"].values()), max(x for x, _ in room["corners"].values()))
                   for room in told["rooms"].values())
    assert all(left[1] < right[0] for left, right in zip(boxes, boxes[1:]))
    partners = {(one["room"], one["door"]): one["partners"][0] for one in told["free"]}
    assert partners[("bath", "D1")] == ["hall", "D2"]  # both 760 mm wide
    assert partners[("kitchen", "D1")] == ["hall", "D1"]  # both 800


def test_the_order_the_doorways_and_the_direction_are_told_as_chosen(client):
    client.change(order=["hall", "bath", "kitchen"])
    told = client.work("look")
    assert told["order"]["rooms"] == ["hall", "bath", "kitchen"] and told["order"]["rule"] == "asked"
    assert [(one["laid"], one["rule"], one["fits"]) for one in told["doorways"]] == [
        ("through", "asked", True), ("profile", "asked", True)]


def trouble_free(told: dict[str, Any]) -> set[str]:
    """Rooms of which nothing is wrong."""
    return {name for name, room in told["rooms"].items() if room["state"] == "floor" and not room["says"]}


def test_a_room_without_a_floor_is_told_on_its_card_and_the_rest_goes_on(house, client):
    add(client, "Attic")
    (house / "bath" / "job.json").write_text("{")
    told = client.work("look")
    assert trouble_free(told) == {"kitchen", "hall"} and told["rooms"]["Attic"]["state"] == "empty"
    assert told["rooms"]["bath"]["state"] == "unread" and "job.json" in told["rooms"]["bath"]["says"][0]
    assert told["doorways"][1]["fits"] is None and told["problems"] == []
    assert client.work("buy", effort="preview")["together"]["boards"][0]["floors"] == ["kitchen+hall"]


def test_doors_that_do_not_meet_are_told_at_their_doorway_and_the_rest_goes_on(house, client):
    client.change(doorways=[{"rooms": ["kitchen", "hall"], "doors": ["D1", "D1"]},
                            {"rooms": ["kitchen", "bath"], "doors": ["D1", "D1"], "thickness": 100}])
    first, other = client.work("look")["doorways"]
    assert first["fits"] and first["says"] == []
    assert other["fits"] is False and len(other["says"]) == 1 and "mm wide" in other["says"][0]


def test_a_wall_of_unknown_thickness_is_asked_for_at_its_doorway(client):
    client.change(doorways=[{"rooms": ["hall", "bath"], "doors": ["D2", "D1"]}])
    (told,) = client.work("look")["doorways"]
    assert told["asks"] == ["no-thickness"] and told["fits"] is False


def test_rooms_that_lie_over_one_another_are_told_and_lie_apart(house, client):
    """Put on the hall's left side, where the kitchen is, the bath lies in the kitchen."""
    job = json.loads((house / "hall" / "job.json").read_text())
    job["doors"] += [{"name": "D4", "wall": ["D", "A"], "from": 2600, "width": 760, "reveal": 60}]
    (house / "hall" / "job.json").write_text(json.dumps(job))
    client.change(doorways=[{"rooms": ["kitchen", "hall"], "doors": ["D1", "D1"]},
                            {"rooms": ["hall", "bath"], "doors": ["D4", "D1"], "thickness": 100}])
    told = client.work("look")
    said = [*told["rooms"]["bath"]["says"], *told["rooms"]["hall"]["says"], *told["doorways"][1]["says"]]
    assert len(said) == 1 and "over one another" in said[0] and told["parts"] == 2
    assert [one["fits"] for one in told["doorways"]].count(True) == 1


def test_two_kinds_of_boards_are_told_at_the_doorway_and_bought_beside_one_another(house, client):
    job = json.loads((house / "hall" / "job.json").read_text())
    job["flooring"]["board"]["width"] = 160
    (house / "hall" / "job.json").write_text(json.dumps(job))
    told = client.work("look")
    assert told["doorways"][0]["rule"] == "other-boards" and len(told["doorways"][0]["says"]) == 1
    assert [kind["rooms"] for kind in told["boards"]] == [["kitchen", "bath"], ["hall"]]
    assert len(client.work("buy", effort="preview")["together"]["boards"]) == 2
    client.change(flooring=told["boards"][0]["flooring"])
    after = client.work("look")["doorways"][0]
    assert (after["rule"], after["laid"], after["says"]) == ("asked", "through", [])


def test_rows_along_a_wall_that_is_none_are_told_and_lie_as_usual(client):
    client.change(direction={"room": "hall", "wall": ["A", "C"]})
    told = client.work("look")
    assert [one["where"] for one in told["problems"]] == ["direction"] and len(trouble_free(told)) == 3
    assert client.work("buy", effort="preview")["together"] is not None


def test_rooms_without_boards_are_named(house, client):
    write_room(house / "attic", [[0, 0], [2000, 0], [2000, 2000], [0, 2000]], [], flooring={})
    client.change(rooms=["kitchen", "hall", "bath", "attic"])
    assert client.work("look")["boardless"] == ["attic"]


def test_a_plan_that_is_kept_is_told_of_every_room_of_its_floor(house, client):
    from desk.cli import main
    assert main(["house", str(house), "--effort", "preview"]) == 0
    assert main(["plan", str(house / "floors" / "kitchen+hall"), "--keep"]) == 0
    rooms = client.work("look")["rooms"]
    assert {name: room["state"] for name, room in rooms.items()} == {"kitchen": "kept", "hall": "kept", "bath": "floor"}
    assert client.of("floors/kitchen+hall", "GET", "/api/job").json["job"]["house"] == ["kitchen", "hall"]
    job = json.loads((house / "kitchen" / "job.json").read_text())
    job["floor"]["outline"][2] = job["floor"]["outline"][3] = None
    job["floor"]["outline"] = [[0, 0], [4000, 0], [4000, 3200], [0, 3200]]
    (house / "kitchen" / "job.json").write_text(json.dumps(job))
    after = client.work("look")["rooms"]["kitchen"]
    assert after["state"] == "out-of-date" and "out of date" in after["kept"]


def test_one_purchase_is_no_larger_than_room_by_room_and_worked_out_once(client, monkeypatch):
    told = client.work("buy", effort="usual")
    (kind,) = told["together"]["boards"]
    assert kind["packs"] <= kind["packs_alone"] and kind["bound"] <= kind["boards"] <= kind["boards_alone"]
    assert [floor["rooms"] for floor in told["floors"]] == [["bath"], ["kitchen", "hall"]]
    monkeypatch.setattr("desk.server.home.plans.planned_apart", None)
    assert client.work("buy", effort="usual") == told


def test_the_plans_are_kept_as_one_and_printed_in_one_booklet_or_one_a_room(house, client):
    before = client.work("buy", effort="usual")
    assert before["kept"] is False and client.work("keep") == {"kept": True}
    after = client.work("buy", effort="usual")
    counts = [told["together"]["boards"][0]["boards"] for told in (before, after)]
    assert after["kept"] is True and counts[0] == counts[1]
    assert {room["state"] for room in client.work("look")["rooms"].values()} == {"kept"}
    one, each = client.work("pack"), client.work("pack", each=True)
    assert "booklet.pdf" in one["files"] and [name for name in each["files"] if name.endswith("/booklet.pdf")] == [
        "bath/booklet.pdf", "kitchen+hall/booklet.pdf"]
    assert client.ask("GET", one["zip"]).data.startswith(b"PK")


def test_plans_are_not_kept_of_a_flat_without_a_floor(tmp_path, processes_kept):
    for client in opened(tmp_path / "empty"):
        for kind in ("keep", "pack"):
            told = client.send("POST", f"/api/{kind}", {}).json
            assert told["refused"]["slug"] == "no-house"


def test_a_house_file_that_cannot_be_read_is_told_where_the_desk_is_opened(house):
    (house / "house.json").write_text('{"rooms": ["../other"]}')
    with pytest.raises(JobFileError, match="folder beside"):
        open_any(house, 0)


def test_a_room_that_lies_elsewhere_and_is_linked_here_is_told_of_and_not_opened(client, house, tmp_path):
    """Its page would write outside the flat's folder."""
    (house / "bath").rename(tmp_path / "elsewhere")
    (house / "bath").symlink_to(tmp_path / "elsewhere")
    before = (tmp_path / "elsewhere" / "job.json").read_bytes()
    refused = client.of("bath", "GET", "/api/job")
    assert refused.status == 404 and "no room" in says(refused)
    assert client.of("hall", "GET", "/api/job").status == 200
    assert client.work("look")["rooms"].keys() == {"kitchen", "hall", "bath"}
    assert (tmp_path / "elsewhere" / "job.json").read_bytes() == before
    assert [path.name for path in (tmp_path / "elsewhere").iterdir()] == ["job.json"]
