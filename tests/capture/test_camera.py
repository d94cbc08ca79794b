"""The camera model against OpenCV's projectPoints and undistortPoints."""
import cv2
import numpy as np
import pytest

from capture.camera import project, project_with_jacobian, px_to_rays, rotation_matrix
from capture.adjustment.equations import residuals
from capture.adjustment.parameter_index import index_network
from capture.readings.photo import Marks
from tests.support import simulate
from tests.support.every_reading import every_reading

RNG = np.random.default_rng(3)
FOCAL, BEND, CENTRE = 1180.0, np.array([-0.06, 0.02]), np.array([799.5, 599.5])


def some_pose():
    return simulate.look_at(np.array([300.0, -400.0, 1500.0]), np.array([2500.0, 2300.0, 0.0]), 0.1)


def spread(value, count):
    return np.repeat(np.asarray(value)[None], count, axis=0)


def test_projection_agrees_with_opencv():
    rotation, shift = some_pose()
    points = RNG.uniform(1000, 4000, (20, 2))
    ours = project(points, spread(rotation, 20), spread(shift, 20), np.full(20, FOCAL), np.tile(BEND, (20, 1)), CENTRE)
    matrix = np.array([[FOCAL, 0, CENTRE[0]], [0, FOCAL, CENTRE[1]], [0, 0, 1]])
    theirs, _ = cv2.projectPoints(np.column_stack([points, np.zeros(20)]), cv2.Rodrigues(rotation)[0], shift, matrix,
                                  np.array([*BEND, 0, 0]))
    assert np.allclose(ours, theirs.reshape(-1, 2), atol=1e-6)


def test_rays_agree_with_opencv():
    px = RNG.uniform(0, 1200, (50, 2))
    matrix = np.array([[FOCAL, 0, CENTRE[0]], [0, FOCAL, CENTRE[1]], [0, 0, 1]])
    # OpenCV iterates five times, so it is asked for straight rays and those are bent again by its own projectPoints.
    rays = px_to_rays(px, FOCAL, BEND, CENTRE)
    again, _ = cv2.projectPoints(rays, np.zeros(3), np.zeros(3), matrix, np.array([*BEND, 0, 0]))
    assert np.allclose(again.reshape(-1, 2), px, atol=1e-7)
    theirs = cv2.undistortPoints(px[:, None], matrix, np.array([*BEND, 0, 0])).reshape(-1, 2)
    assert np.allclose(rays[:, :2], theirs, atol=1e-4)


def test_points_behind_the_camera_are_never_pixels():
    rotation, shift = some_pose()
    behind = project(np.array([[-5000.0, -5000.0]]), rotation[None], shift[None], np.array([FOCAL]), BEND[None], CENTRE)
    assert np.all(np.isinf(behind))


@pytest.mark.parametrize("turn", [np.zeros(3), np.array([1e-10, 0, 0]), np.array([0.3, -1.1, 2.0])])
def test_turns_agree_with_opencv(turn):
    assert np.allclose(rotation_matrix(turn), cv2.Rodrigues(turn)[0], atol=1e-12)


def test_a_floor_seen_from_below_is_its_mirror_image_seen_from_above():
    network, state = every_reading()
    ix = index_network(network)
    marks = ix.lines_of(Marks)
    assert np.allclose(residuals(ix, state)[marks], residuals(ix, state.seen_from_above())[marks], atol=1e-9)
    assert np.allclose(state.camera_heights(), -state.seen_from_above().camera_heights())


def test_the_jacobian_comes_with_the_same_pixels():
    rotation, shift = some_pose()
    args = (np.array([[2000.0, 2000.0]]), rotation[None], shift[None], np.array([FOCAL]), BEND[None], CENTRE)
    assert np.allclose(project(*args), project_with_jacobian(*args)[0])
