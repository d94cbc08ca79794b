"""Stored flats (`draw_flats`) as the planner takes them."""
from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from layout.flat.planner import Floor, PlannedFlat, plan_flat
from layout.flat.purchase import Opening
from layout.region.joined_rooms import Passage
from layout.room import Board, Door, Room, Wishes

#: What a floor of a flat is planned with in tests.
MOVES = 400
STORED = Path(__file__).parents[1] / "bench" / "instances" / "flats.json"


def stored_flats() -> list[dict[str, Any]]:
    """All of them."""
    return json.loads(STORED.read_text())["flats"]


def rooms_of(data: dict[str, Any]) -> dict[str, Room]:
    """The rooms by name, the hall last."""
    return {room["name"]: Room(names=tuple("ABCDEFGHIJ"[:len(room["outline"])]),
                               outline_mm=np.array(room["outline"], dtype=np.float64),
                               doors=tuple(Door(name=door["name"], wall=tuple(door["wall"]), from_mm=door["from"],
                                                width_mm=door["width"], reveal_mm=door["reveal"])
                                           for door in room["doors"])) for room in data["rooms"]}


def passages_of(data: dict[str, Any], *, through: bool = False) -> tuple[Passage, ...]:
    """The doorways."""
    return tuple(Passage(rooms=tuple(one["rooms"]), doors=tuple(one["doors"]), thickness_mm=one["thickness"],
                         through=through) for one in data["doorways"])


def floors_of(data: dict[str, Any]) -> tuple[list[Floor], list[Opening]]:
    """(every room as a floor, rows along the hall; the doors that are one opening)."""
    length, width, pack = data["board"]
    board = Board(length_mm=float(length), width_mm=float(width), thickness_mm=8.0, pack=pack)
    floors = [Floor(name=name, room=room, board=board, wishes=Wishes(direction_rad=0.0))
              for name, room in rooms_of(data).items()]
    openings = [((one["rooms"][0], one["doors"][0]), (one["rooms"][1], one["doors"][1])) for one in data["doorways"]]
    return floors, openings


@cache
def planned_flat(number: int) -> PlannedFlat:
    """A stored flat planned once, for the tests that look at the same."""
    floors, openings = floors_of(stored_flats()[number])
    return plan_flat(floors, openings=openings, moves=MOVES)
