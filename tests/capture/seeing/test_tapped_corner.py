"""Rough taps on the demo photos, which another renderer made (truth: its projection), and what is no corner."""
from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from scipy.special import softmax

from capture.errors import CaptureError
from capture.seeing.tapped_corner import LEAST_SURE, TapView, chances, corner_at_tap, view_for_taps
from tests.support.demo_pictures import TRUTH, finder, pixels, segmenter

CORNERS = {p["file"]: {name: np.array(at) for name, at in p["points"].items() if name in TRUTH["corners"]}
           for p in TRUTH["photos"] if "room" in p["file"]}


@cache
def view(file: str) -> TapView:
    return view_for_taps(pixels(file), segmenter(), 1201.8)


def off_px(file: str, tap: np.ndarray, truth: np.ndarray) -> float | None:
    """How far from the truth a tap comes to lie; None where it stays."""
    try:
        found = corner_at_tap(view(file), (float(tap[0]), float(tap[1])), finder())
    except CaptureError as error:
        assert error.slug in ("no-crossing", "two-crossings")
        return None
    assert found.sure >= LEAST_SURE
    return float(np.hypot(found.x_px - truth[0], found.y_px - truth[1]))


def test_taps_beside_corners_come_to_lie_on_them():
    """Aims: nine in ten within 4 px of 1600, two in a hundred wrong. Of one tap a corner here."""
    random = np.random.default_rng(3)
    offs = []
    for file, corners in CORNERS.items():
        for truth in corners.values():
            tap = truth + random.uniform(5.0, 30.0) * np.array([np.cos(turn := random.uniform(0, 7)), np.sin(turn)])
            offs.append(off_px(file, np.clip(tap, 0.0, np.array(pixels(file).shape[1::-1]) - 1.0), truth))
    assert sum(off is not None and off <= 4.0 for off in offs) >= 0.8 * len(offs)
    assert not any(off is not None and off > 12.0 for off in offs)


def test_a_picture_twice_as_large_has_its_corner_at_the_same_place():
    """A property: pixels said twice say nothing new. (x + 0.5) 2 - 0.5, as pixels are centred."""
    file = next(iter(CORNERS))
    large = view_for_taps(np.repeat(np.repeat(pixels(file), 2, axis=0), 2, axis=1), segmenter(), 2403.6)
    tap = next(iter(CORNERS[file].values())) + (9.0, -6.0)
    one, two = corner_at_tap(view(file), tuple(tap), finder()), corner_at_tap(large, tuple(2 * tap + 0.5), finder())
    assert (two.x_px, two.y_px) == pytest.approx((2 * one.x_px + 0.5, 2 * one.y_px + 0.5), abs=1.0)
    assert two.sd_px == pytest.approx(2 * one.sd_px, rel=0.1)


@pytest.mark.parametrize("tap", [(200.0, 150.0), (0.0, 0.0), (399.0, 299.0)])
def test_where_nothing_is_a_corner_the_mark_stays(tap):
    blank = view_for_taps(np.full((300, 400, 3), 90, np.uint8), segmenter())
    with pytest.raises(CaptureError) as refused:
        corner_at_tap(blank, tap, finder())
    assert refused.value.slug == "no-crossing"


@pytest.mark.parametrize("tap", [(-1.0, 10.0), (10.0, 300.0), (float("nan"), 10.0)])
def test_a_mark_outside_the_picture_is_refused(tap):
    blank = view_for_taps(np.full((300, 400, 3), 90, np.uint8), segmenter())
    with pytest.raises(CaptureError) as refused:
        corner_at_tap(blank, tap, finder())
    assert refused.value.slug == "mark-outside"


def test_chances_are_those_of_a_conditional_logit():
    """Oracle: scipy's softmax over the candidates and 'none', whose utility is nought."""
    random = np.random.default_rng(5)
    for count in range(1, 6):
        features, weights = random.normal(size=(count, 5)), random.normal(size=5)
        assert chances(features.tolist(), weights) == pytest.approx(softmax(np.append(features @ weights, 0.0))[:-1])
    assert chances([], [1.0]).sum() == 0.0


def test_of_two_places_alike_neither_is_sure():
    assert max(chances([(1.0, 9.0), (1.0, 9.0)], (2.0, 2.0))) < LEAST_SURE
