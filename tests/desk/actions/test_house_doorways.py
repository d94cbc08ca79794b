"""What both sides of every doorway of a house say, as data and as sentences. Rooms are given as coordinates, so what is
true of them is known (`tests/support/houses.py`)."""
from __future__ import annotations

import json
from pathlib import Path

import pytest

from desk.actions.flat.planning import flat_now
from desk.cli import main
from tests.support.houses import write_house, write_room

RING = {"a": [[0, 0], [4000, 0], [4000, 3000], [0, 3000]], "b": [[0, 0], [3900, 0], [3900, 3000], [0, 3000]],
        "c": [[0, 0], [3900, 0], [3900, 3880], [0, 3880]], "d": [[0, 0], [4000, 0], [4000, 3880], [0, 3880]]}
DOORS = {"a": [("D1", "BC", 1000, 800), ("D2", "DC", 900, 700)],
         "b": [("D1", "AD", 1000, 800), ("D2", "DC", 1500, 760)],
         "c": [("D1", "AB", 1500, 760), ("D2", "AD", 1500, 820)],
         "d": [("D1", "AB", 900, 700), ("D2", "BC", 1500, 820)]}
SIDES = [("a", "b", "D1", "D1", 100), ("b", "c", "D2", "D1", 120), ("d", "c", "D2", "D2", 100),
         ("a", "d", "D2", "D1", 120)]


def ring_of_four(place: Path, doors: dict, thick: dict) -> Path:
    """Four invented rooms round a point, each in a frame of its own."""
    for name, outline in RING.items():
        write_room(place / name, outline, [{"name": door, "wall": list(wall), "from": at, "width": wide}
                                           for door, wall, at, wide in doors[name]])
    write_house(place, rooms=list(RING), doorways=[
        {"rooms": [a, b], "doors": [da, db], "laid": "profile"} | ({} if k in thick and thick[k] is None else
                                                                  {"thickness": thick.get(k, mm)})
        for k, (a, b, da, db, mm) in enumerate(SIDES)])
    return place


def test_a_house_tells_width_and_thickness_of_every_doorway_and_where_they_come_from(house):
    first, second = (one["measured"] for one in flat_now(house)["doorways"])
    assert (first["width"], first["widths"], first["agree"], first["thickness"]) == (800.0, [800.0, 800.0], True, 120.0)
    assert (first["thickness_by"], second["thickness_by"], second["thickness"]) == ("reveals", "typed", 100.0)
    # 1.96 times 2 mm over the root of two; a taped thickness of 2 mm, unchecked.
    assert first["width_pm95"] == pytest.approx(2.8, abs=0.05)
    assert second["thickness_pm95"] == pytest.approx(3.9, abs=0.1)
    assert first["says"] and flat_now(house)["rings"] == [] == flat_now(house)["doubts"]


def test_widths_that_differ_are_a_note_at_the_doorway_and_the_rooms_stay_joined(house):
    path = house / "kitchen" / "job.json"
    job = json.loads(path.read_text())
    job["doors"][0]["width"] = 814
    path.write_text(json.dumps(job))
    now = flat_now(house)
    (told,) = [one for one in now["problems"] if one["slug"] == "widths-differ"]
    assert told["where"] == "kitchen D1" and told["severity"] == "note"
    assert "814" in told["says"] and "800" in told["says"] and "14" in told["says"]
    assert now["doorways"][0]["measured"]["width"] == 807.0 and len(now["parts"]) == 1


def test_a_ring_tells_how_it_closes_and_a_wall_nobody_measured_how_thick_it_is(tmp_path):
    now = flat_now(ring_of_four(tmp_path, DOORS, {1: None}))
    (ring,) = now["rings"]
    assert ring["closes"] and ring["off"] < 0.1 and 15.0 < ring["most"] < 60.0
    assert now["doubts"] == [] == now["problems"]
    told = now["doorways"][1]["measured"]
    assert told["thickness_by"] == "rooms" and told["thickness"] == pytest.approx(120.0, abs=1.0)
    assert now["misfits"][0]["mm"] == pytest.approx(ring["off"], abs=0.06)


def test_a_ring_that_does_not_close_names_what_to_measure_again(tmp_path, capsys):
    doors = DOORS | {"d": [("D1", "AB", 960, 700), DOORS["d"][1]]}
    now = flat_now(place := ring_of_four(tmp_path, doors, {}))
    slugs = {one["slug"]: one for one in now["problems"]}
    assert set(slugs) == {"rooms-apart", "doorway-doubted"} and slugs["doorway-doubted"]["severity"] == "note"
    assert "D1 of d" in slugs["doorway-doubted"]["says"] and "960" in slugs["doorway-doubted"]["says"]
    assert {(one["room"], one["door"]) for one in now["doubts"]} >= {("d", "D1"), ("a", "D2")}
    assert len(now["loose_doorways"]) == 1 and len(now["parts"]) == 1
    assert main(["house", str(place), "--effort", "preview"]) in (0, 1)
    assert "nothing tells which" in " ".join(capsys.readouterr().err.split())
