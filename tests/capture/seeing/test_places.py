"""Sub-pixel places of corners on the demo photos, which another renderer made (truth: its projection)."""
from __future__ import annotations


import numpy as np
import pytest

from tests.support.demo_pictures import TRUTH, finder, pixels

CORNERS = [(p["file"], np.array(at)) for p in TRUTH["photos"] if "room" in p["file"]
           for name, at in p["points"].items() if name in TRUTH["corners"]]


def test_a_place_is_found_again_from_wherever_it_is_looked_for():
    """Most corners lie within 2 px of the truth from any rough place some px off, and the stated sd says which."""
    random = np.random.default_rng(4)
    offs, stated = [], []
    for file, at in CORNERS:
        rough = [at + random.uniform(-5.0, 5.0, 2) for _ in range(2)]
        for place in finder().place(pixels(file), rough, [], 12.0):
            offs.append(np.hypot(*(place.px - at)))
            stated.append(place.sd_px)
    offs, stated = np.array(offs), np.array(stated)
    assert np.median(offs) < 1.0
    sharp = stated < np.median(stated)
    assert np.mean(offs[sharp]) < np.mean(offs[~sharp])


def test_a_mirrored_picture_has_its_corner_mirrored():
    """A property of the geometry: the looks are as they are and mirrored in equal number."""
    file, at = CORNERS[0]
    picture = pixels(file)
    wide = picture.shape[1]
    start = np.floor(at + 0.5)
    here = finder().place(picture, [start], [], 12.0)[0]
    there = finder().place(np.ascontiguousarray(picture[:, ::-1]), [np.array([wide - 1 - start[0], start[1]])], [],
                           12.0)[0]
    assert wide - 1 - there.px[0] == pytest.approx(here.px[0], abs=0.6)
    assert there.px[1] == pytest.approx(here.px[1], abs=0.6)


def test_a_place_at_the_picture_s_rim_is_answered():
    """A piece that reaches over the rim is filled by the rim's own pixels."""
    picture = np.full((300, 400, 3), 128, np.uint8)
    places = finder().place(picture, [np.array([0.0, 0.0]), np.array([399.0, 299.0])], [], 12.0)
    assert all(np.all(np.isfinite(place.px)) and place.heat < 0.5 for place in places)


def test_no_rough_place_gives_no_place():
    assert finder().place(np.zeros((300, 400, 3), np.uint8), [], [], 12.0) == []
