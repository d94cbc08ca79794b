"""A door longer than its wall is told in the room, with the walls that it fits. Lengths are those of the box drawn
here."""
import numpy as np
import pytest

from capture.floor import Floor
from desk.jobfile.files import parse_job
from desk.text.page_view import show_misfits

FLOOR = Floor(names=("A", "B", "C", "D", "E", "F"), outline=("A", "B", "C", "D", "E", "F"), cov_mm2=np.zeros((12, 12)),
              points_mm=np.array([(0, 0), (5000, 0), (5000, 400), (4000, 400), (4000, 3000), (0, 3000)], dtype=float))


def misfits(wall: list[str], begins: float):
    doors = [{"name": "D1", "wall": wall, "from": begins, "width": 800}]
    return show_misfits(FLOOR, parse_job({"outline": list(FLOOR.outline), "doors": doors}))


@pytest.mark.parametrize("wall", [["B", "C"], ["C", "B"]])
def test_it_is_told_with_the_walls_it_fits_the_longest_first(wall):
    told, = misfits(wall, 1900)
    assert told["name"] == "D1" and "the wall" in told["says"] and "400 mm" in told["says"]
    assert told["walls"] == [["A", "B"], ["E", "F"], ["F", "A"]]
    told, = misfits(wall, 3300)
    assert told["walls"] == [["A", "B"]]


def test_a_door_that_fits_and_one_on_a_wall_the_floor_does_not_know_are_not_told():
    assert misfits(["A", "B"], 4100) == [] and misfits(["A", "X"], 0) == []
