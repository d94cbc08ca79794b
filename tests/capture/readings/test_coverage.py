"""Which walls the readings show: the rule of the commands' contract, case by case."""
from __future__ import annotations

from dataclasses import replace

import pytest

from capture.network import Mark, Network, OnWall, TapeLength, WallLine
from capture.readings.coverage import unseen_walls

CORNERS = ("A", "B", "C", "D")
ALL = (("A", "B"), ("B", "C"), ("C", "D"), ("D", "A"))
BARE = Network(outline=CORNERS)


def mark(photo: str, point: str) -> Mark:
    return Mark(photo=photo, point=point, x_px=1.0, y_px=1.0)


def tape(a: str, b: str) -> TapeLength:
    return TapeLength(a=a, b=b, length_mm=1000.0, sd_mm=2.0)


def test_nothing_read_shows_nothing():
    assert unseen_walls(BARE) == ALL


@pytest.mark.parametrize("shown", [
    {"marks": (mark("1", "D"), mark("1", "C"))},
    {"wall_lines": (WallLine(photo="1", wall=("D", "C"), points_px=((1.0, 2.0),)),)},
    {"tapes": (tape("D", "C"),)},
    {"straight": (("D", "C"),)},
    {"tapes": (tape("C", "J"), tape("J", "D")), "on_walls": (OnWall(point="J", wall=("D", "C")),)},
])
def test_each_way_of_seeing_a_wall_shows_that_wall_alone(shown):
    assert unseen_walls(replace(BARE, **shown)) == (("A", "B"), ("B", "C"), ("D", "A"))


@pytest.mark.parametrize("blind", [
    {"marks": (mark("1", "D"), mark("2", "C"))},
    {"tapes": (tape("A", "C"), tape("B", "D"))},
    {"tapes": (tape("C", "J"), tape("J", "D"))},
    {"tapes": (tape("C", "J"),), "on_walls": (OnWall(point="J", wall=("D", "C")),)},
    {"straight": (("A", "C"),)},
])
def test_ends_seen_apart_diagonals_and_half_a_wall_show_none(blind):
    assert unseen_walls(replace(BARE, **blind)) == ALL
