"""Closed forms for a camera over a plane, against cameras drawn by the test: what they saw is put back where they
stood."""
from __future__ import annotations

import numpy as np
import pytest

from capture.initial.plane_poses import plane_poses, refined_pose
from tests.support.simulate import look_at

PLACES = np.array([(0.0, 0.0), (4000.0, 0.0), (4000.0, 3000.0), (1500.0, 3200.0), (0.0, 2900.0)])


@pytest.mark.parametrize("count", [3, 4, 5])
def test_the_true_pose_is_among_those_found(count):
    turn, shift = look_at(np.array([2000.0, -1500.0, 1500.0]), np.array([2000.0, 1600.0, 0.0]), 0.04)
    body = PLACES[:count] @ turn[:, :2].T + shift
    found = plane_poses(PLACES[:count], body[:, :2] / body[:, 2:])
    assert min(np.abs(other - turn).max() + np.abs(at - shift).max() / 1000.0 for other, at in found) < 1e-4


def test_a_pose_nearby_is_brought_to_the_true_one():
    turn, shift = look_at(np.array([2000.0, -1500.0, 1500.0]), np.array([2000.0, 1600.0, 0.0]), 0.0)
    body = PLACES @ turn[:, :2].T + shift
    near = look_at(np.array([2080.0, -1450.0, 1540.0]), np.array([2000.0, 1600.0, 0.0]), 0.03)
    assert np.allclose(refined_pose(near, PLACES, body[:, :2] / body[:, 2:])[0], turn, atol=1e-4)


def test_places_in_one_line_have_no_pose():
    line = np.array([(0.0, 0.0), (1000.0, 0.0), (2500.0, 0.0)])
    rays = np.column_stack([line[:, 0] / 3000.0, np.full(3, 0.4)])
    assert all(np.all(np.isfinite(turn)) for turn, _ in plane_poses(line, rays))
