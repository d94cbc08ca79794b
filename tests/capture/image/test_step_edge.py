"""A step of light between two shades: drawn here pixel by pixel by scipy's normal curve, no part of the tool; how
well a run is known, by drawing."""
import numpy as np
import pytest
from scipy.special import ndtr

from capture.image.edge_profiles import LIGHT
from capture.image.step_edge import find_steps
from capture.closeup.tracing import _fitted, _known

SIZE = 60


def picture(rng, *, at_px, near, far, blur=1.2, near_slope=0.0, noise=0.0):
    """Light of a step at x = at_px, stored as a picture: near side left, far side right, near shade changing by
    `near_slope` a px."""
    x = np.arange(SIZE) - at_px
    share = ndtr(x / blur)[:, None]
    light = np.array(near) * (1 + near_slope * x[:, None]) * (1 - share) + np.array(far) * share
    stored = np.searchsorted(LIGHT, np.clip(light, 0, 255)[None].repeat(SIZE, axis=0)).astype(float) + rng.normal(
        0, noise, (SIZE, SIZE, 3)
    )
    return np.clip(np.round(stored), 0, 255).astype(np.uint8)


def look(pixels, at=30.0, reach=7.0):
    spots = np.column_stack([np.full(12, at), 20.0 + np.arange(12)])
    return find_steps(pixels, [(spots, np.tile([1.0, 0.0], (12, 1)))], reach)[0]


@pytest.mark.parametrize(("near", "far", "slope"),
                         [((200, 195, 180), (60, 40, 20), 0.0), ((60, 40, 20), (200, 195, 180), 0.0),
                          ((110, 60, 40), (80, 55, 35), 0.0), ((150, 90, 60), (80, 50, 30), 0.03)])
def test_the_step_is_where_it_was_drawn(near, far, slope):
    """Wherever the cuts are laid within some px of it, and though the near side grows lighter inwards."""
    rng = np.random.default_rng(1)
    for place in (27.3, 30.0, 32.8):
        step = look(picture(rng, at_px=place, near=near, far=far, near_slope=slope, noise=0.7))
        assert abs(30.0 + step.off_px - place) <= 0.12
        assert np.sign(step.change @ (np.array(far) - near)) == 1


def test_its_spread_is_that_of_many_drawings():
    rng = np.random.default_rng(2)
    steps = [look(picture(rng, at_px=30.2, near=(110, 60, 40), far=(85, 58, 38), noise=3.0)) for _ in range(150)]
    off = np.array([step.off_px - 0.2 for step in steps])
    claimed = np.sqrt(np.mean([step.sd_px**2 for step in steps]))
    # Noise here is white; in a stored picture neighbours share it, and the spread is meant for that: it may be up to
    # twice as large.
    assert 0.9 <= claimed / np.std(off) <= 2.2
    assert abs(np.mean(off)) <= 4 * np.std(off) / np.sqrt(len(off))


def test_where_there_is_no_step_there_is_none_or_a_faint_one():
    rng = np.random.default_rng(3)
    for _ in range(20):
        step = look(picture(rng, at_px=200.0, near=(120, 80, 50), far=(0, 0, 0), noise=2.0))
        assert step is None or np.linalg.norm(step.change) < 8.0


@pytest.mark.parametrize("arc", [False, True])
def test_a_run_is_known_as_well_as_drawing_it_again_tells(arc):
    """400 runs through places drawn anew: their spread beside three places, one of them off the end, is what the
    covariance says."""
    rng = np.random.default_rng(4)
    share = np.linspace(0.0, 1.0, 15)
    true = (20.0 * np.column_stack([np.cos(1.5 * share), np.sin(1.5 * share)])
            if arc else share[:, None] * [30.0, 12.0])
    beside = true[[1, 7, 14]] + 0.2 * (true[[1, 7, 14]] - true[[0, 6, 13]])
    offs, claimed = [], []
    for _ in range(400):
        places = true + rng.normal(0, 0.1, true.shape) + (0.05 * rng.normal() * square_to(true, arc))
        run = _known(_fitted(places, arc), places, 0.1, 0.05)
        offs.append([off_run(run, place) for place in beside])
        claimed.append([run.sd_mm(place) for place in beside])
    assert np.allclose(np.std(offs, axis=0) / np.mean(claimed, axis=0), 1.0, atol=0.12)


def square_to(places, arc):
    """Unit vectors across the true run."""
    if arc:
        return places / np.hypot(*places.T)[:, None]
    return np.tile(np.array([-12.0, 30.0]) / np.hypot(12.0, 30.0), (len(places), 1))


def off_run(run, place):
    """Distance of a place from a run, by school geometry."""
    if run.centre_mm is None:
        return run.way[0] * (place - run.foot_mm)[1] - run.way[1] * (place - run.foot_mm)[0]
    return np.hypot(*(place - run.centre_mm)) - run.radius_mm
