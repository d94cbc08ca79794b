"""The drawn rooms the network learns from: the same seed gives the same light, and lamps hang where light can come
from. Inside and outside are told by shapely; where corners fall in the picture by OpenCV's projection."""
from __future__ import annotations

import cv2
import numpy as np
import pytest
from shapely.geometry import Point, Polygon

from tests.bench.seeing.lights import RECTANGLE, lighted
from tests.bench.seeing.rooms import _AWAY, Scene, draw_scene
from tests.bench.seeing.traced import behind, packed
from tests.bench.seeing.views import truth_of


def scene(seed: int) -> Scene:
    rng = np.random.default_rng([5, seed])
    return lighted(rng, draw_scene(rng, False))


def outline(one: Scene) -> Polygon:
    return Polygon(one["walls"][one["walls"][:, 0] < _AWAY][:, :2].astype(float))


@pytest.mark.parametrize("seed", range(12))
def test_lamps_are_in_the_room_and_shine_into_it(seed):
    one = scene(seed)
    lamps = one["lamps"][one["lamps"][:, 13] > 0].astype(float)
    assert lamps[:, 13].sum() == pytest.approx(1.0, abs=1e-5)
    for lamp in lamps:
        middle, way = lamp[1:4], np.cross(lamp[4:7], lamp[7:10])
        assert 0.0 < middle[2] < one["ceiling"]
        if lamp[0] == RECTANGLE:
            ahead = middle + 0.01 * way / np.linalg.norm(way)
            assert outline(one).contains(Point(*ahead[:2])) and 0.0 < ahead[2] < one["ceiling"]


def test_the_same_seed_gives_the_same_room():
    assert np.array_equal(packed(scene(3)), packed(scene(3))) and not np.array_equal(packed(scene(3)), packed(scene(4)))


def test_the_plaster_stands_back_by_the_thickness_of_the_skirting():
    """The ring grown by shapely with mitred corners."""
    walls = scene(1)["walls"]
    walls = walls[walls[:, 0] < _AWAY].astype(float)
    grown = Polygon(walls[:, :2]).buffer(0.02, join_style="mitre", mitre_limit=50.0)
    assert Polygon(behind(walls, 0.02)).symmetric_difference(grown).area < 1e-6


def test_corners_lie_where_a_pinhole_shows_them():
    one = scene(2)
    told = truth_of(one, (1600, 1200))
    rotation, eye = np.array(told["rotation"]), np.array(told["eye"])
    matrix = np.array([[told["focal_px"], 0, 799.5], [0, told["focal_px"], 599.5], [0, 0, 1]])
    ring = np.array(outline(one).exterior.coords)[:-1]
    for corner in told["corners"]:
        spot = np.array([*ring[corner["number"]], 0.0])
        shown = cv2.projectPoints(spot[None], cv2.Rodrigues(rotation)[0], -rotation @ eye, matrix,
                                  np.array([told["k1"], 0, 0, 0]))[0].ravel()
        assert (corner["x"], corner["y"]) == pytest.approx(tuple(shown), abs=0.1)
