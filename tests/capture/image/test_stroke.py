"""A stroke along a wall's foot against lines drawn at known places, and against the walls of the demo's photos."""
from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest

from capture.errors import CaptureError
from capture.image.stroke import points_on_line
from tests.support.drawn_edge import drawn, finger

DEMO = Path(__file__).parents[3] / "demo_photos"


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("bow", [0.0, 3.0])
def test_points_lie_on_the_edge_under_the_stroke(seed, bow):
    """Truth: the place the edge was drawn at; 3 px of bow is a lens's bending over 1200 px."""
    pixels, edge = drawn(bow)
    found = points_on_line(pixels, finger(edge, seed))
    assert np.all(np.diff(found[:, 0]) > 150)
    assert found[:, 1] == pytest.approx(np.interp(found[:, 0], np.arange(1200), edge), abs=0.3)


def test_points_keep_the_strokes_order():
    pixels, edge = drawn()
    there, back = (points_on_line(pixels, finger(edge, 2)[::way]) for way in (1, -1))
    assert there == pytest.approx(back[::-1], abs=0.1)


def test_a_wall_of_the_demo():
    """Truth: the demo's camera and corners (demo_photos/truth.json), drawn by a renderer."""
    truth = json.loads((DEMO / "truth.json").read_text())
    photo = next(p for p in truth["photos"] if {"G", "H"} <= set(p["points"]) and "room" in p["file"])
    pixels = cv2.cvtColor(cv2.imread(str(DEMO / photo["file"])), cv2.COLOR_BGR2RGB)
    ends = np.array([photo["points"][name] for name in ("G", "H")])
    way = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    across = np.array([-way[1], way[0]])
    at = np.linspace(0.15, 0.85, 40)
    stroke = ends[0] + at[:, None] * (ends[1] - ends[0]) + (3 * np.sin(9 * at))[:, None] * across
    found = points_on_line(pixels, stroke)
    # The lens bends the line off the chord between the corners by a pixel or two.
    assert np.abs((found - ends[0]) @ across).max() < 3.0


def test_what_is_no_line_is_refused():
    plain = np.full((900, 1200, 3), 128, np.uint8)
    x = np.linspace(200, 1000, 50)
    for slug, stroke in (("short-stroke", [[300, 300], [310, 305]]), ("no-line", [[0, 0], [9e6, 9e6]]),
                         ("no-line", [[-9e6, 300], [9e6, 300]]), ("short-stroke", [[9e6, 9e6], [9e6, 9e6]]),
                         ("no-line", np.stack([x, 300 + 0 * x], axis=1)),
                         ("bent-stroke", np.stack([x, 300 + (x - 600) ** 2 / 1000], axis=1))):
        with pytest.raises(CaptureError) as refused:
            points_on_line(plain, np.array(stroke, float))
        assert refused.value.slug == slug
