"""Invented houses on disk: rooms given as coordinates, and the file that says which doors lead into one another."""
from __future__ import annotations

import json
from pathlib import Path

from tests.support.flats import stored_flats

FLOORING = {"board": {"length": 1285, "width": 192, "thickness": 8, "pack": 8}, "first_row": 150}


def write_room(place: Path, outline, doors, **more) -> None:
    place.mkdir(parents=True)
    (place / "job.json").write_text(json.dumps({"format": "tapegroove-job", "version": 1, "floor": {"outline": outline},
                                                "doors": doors, "flooring": FLOORING} | more))


def write_house(place: Path, **more) -> None:
    (place / "house.json").write_text(json.dumps({"format": "tapegroove-house", "version": 1, "title": "Invented flat",
                                                  "rooms": ["kitchen", "hall", "bath"],
                                                  "doorways": [{"rooms": ["kitchen", "hall"], "doors": ["D1", "D1"],
                                                                "laid": "through"},
                                                               {"rooms": ["hall", "bath"], "doors": ["D2", "D1"],
                                                                "laid": "profile", "thickness": 100}]} | more))


def invented_flat(place: Path) -> Path:
    """A kitchen and a hall that boards run through between, and a bath behind a profile."""
    write_room(place / "kitchen", [[0, 0], [4000, 0], [4000, 3000], [0, 3000]],
               [{"name": "D1", "wall": ["B", "C"], "from": 900, "width": 800, "reveal": 60}])
    write_room(place / "hall", [[0, 0], [1500, 0], [1500, 5000], [0, 5000]],
               [{"name": "D1", "wall": ["D", "A"], "from": 1500, "width": 800, "reveal": 60}, {
        "name": "D2", "wall": ["B", "C"], "from": 3000, "width": 760, "reveal": 60}])
    write_room(place / "bath", [[0, 0], [2200, 0], [2200, 2000], [0, 2000]],
               [{"name": "D1", "wall": ["A", "B"], "from": 400, "width": 760}])
    write_house(place)
    return place


def titled_flat(place: Path) -> Path:
    """The invented flat with a profile in every doorway, rooms with titles and beading in bars; the kitchen has another
    underlay than the others, the bath a pipe."""
    invented_flat(place)
    for name, title, thick in (("kitchen", "Big kitchen", 5), ("hall", "Entrance hall", 3), ("bath", "Washroom", 3)):
        tree = json.loads((place / name / "job.json").read_text())
        flooring = FLOORING | {"beading": {"length": 2400}, "underlay": {
            "thickness": thick, "roll": {"length": 15000, "width": 1000}}}
        pipes = [{"name": "P1", "diameter": 22, "at": [700, 900]}] if name == "bath" else []
        tree |= {"title": title, "flooring": flooring, "pipes": pipes}
        (place / name / "job.json").write_text(json.dumps(tree))
    write_house(place, doorways=[
        {"rooms": ["kitchen", "hall"], "doors": ["D1", "D1"], "laid": "profile"},
        {"rooms": ["hall", "bath"], "doors": ["D2", "D1"], "laid": "profile", "thickness": 100}])
    return place


def drawn_flat(number: int, place: Path) -> Path:
    """One of the stored drawn flats (`tests.support.flats`) as a house on disk, a profile in every doorway."""
    data = stored_flats()[number]
    length, width, pack = data["board"]
    for room in data["rooms"]:
        write_room(place / room["name"], room["outline"], room["doors"], title=room["name"].title(), flooring={
            "board": {"length": length, "width": width, "thickness": 8, "pack": pack}})
    write_house(place, rooms=[room["name"] for room in data["rooms"]],
                doorways=[one | {"laid": "profile"} for one in data["doorways"]])
    return place
