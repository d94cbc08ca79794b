"""The camera model against OpenCV's projectPoints and undistortPoints, and hand-made derivatives against
differences."""
import cv2
import numpy as np
import pytest

from capture.camera import project, project_with_slopes, px_to_rays, turn_matrix
from capture.adjustment.equations import State, equations, residuals
from capture.adjustment.parameter_index import index_network
from capture.network import Mark, Network, OnWall, SquareCorner, TapeError, TapeLength, WallOffset
from tests.support import simulate

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
    assert np.allclose(turn_matrix(turn), cv2.Rodrigues(turn)[0], atol=1e-12)


def full_network():
    """Every kind of reading once, on a drawn room."""
    case = simulate.draw_case(np.random.default_rng(5), photos=2, shape="chimney", see_through=True)
    net = case.network
    extra = Network(tape_error=TapeError(scale_sd=0.001, hook_sd_mm=1.0), outline=net.outline, cameras=net.cameras,
                    photos=net.photos, marks=(*net.marks, Mark(photo="0", point="P", x_px=900.0, y_px=700.0)),
                    wall_lines=net.wall_lines, tapes=(*net.tapes, TapeLength(a="A", b="P", length_mm=900.0, sd_mm=2.0)),
                    offsets=(WallOffset(point="P", wall=("A", "B"), distance_mm=400.0, sd_mm=2.0),
                             WallOffset(point="P", wall=("A", "H"), distance_mm=700.0, sd_mm=2.0)),
                    squares=(SquareCorner(corner="B", sd_rad=0.01), SquareCorner(corner="E", sd_rad=0.01)),
                    on_walls=(OnWall(point="P", wall=("D", "E")),))
    points = np.vstack([case.corners, case.corners[0] + [700.0, 420.0]])
    state = State(points_mm=points, rotations=case.rotations, shifts_mm=case.shifts, centres_px=case.centres,
                  log_focal=np.log([case.focal_px]), bend=np.array([case.bend]), tape_error=np.array([0.002, 1.5]))
    return index_network(extra), state


def test_derivatives_of_every_equation_agree_with_differences():
    ix, state = full_network()
    assert len(ix.click_photo) > 0
    _, jac = equations(ix, state)
    for column in range(ix.columns):
        step = np.zeros(ix.columns)
        step[column] = 1e-6 if np.abs(jac[:, column]).max() > 50 else 1e-3
        numeric = -(residuals(ix, state.moved(step)) - residuals(ix, state.moved(-step))) / (2 * step[column])
        assert np.allclose(numeric, jac[:, column], rtol=2e-5, atol=2e-5 * max(1.0, np.abs(jac[:, column]).max()))


def test_a_floor_seen_from_below_is_its_mirror_image_seen_from_above():
    ix, state = full_network()
    marks = slice(0, 2 * len(ix.mark_photo))
    assert np.allclose(residuals(ix, state)[marks], residuals(ix, state.seen_from_above())[marks], atol=1e-9)
    assert np.allclose(state.eye_heights(), -state.seen_from_above().eye_heights())


def test_slopes_return_the_same_pixels():
    rotation, shift = some_pose()
    args = (np.array([[2000.0, 2000.0]]), rotation[None], shift[None], np.array([FOCAL]), BEND[None], CENTRE)
    assert np.allclose(project(*args), project_with_slopes(*args)[0])
