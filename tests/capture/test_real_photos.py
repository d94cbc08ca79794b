"""Real photographs with known plane geometry: the calibration pictures left01.jpg ... left14.jpg of the Debian package
opencv-doc.

A board with 9 x 6 inner corners, 640 x 480, strong distortion. Inner corners stand for room corners, one square = 500
mm. The board is held at every angle, so nothing here is upright as a phone is. OpenCV finds the corners
(findChessboardCorners, cornerSubPix) and gives second opinions (findHomography, solvePnP).
"""
from functools import cache
from itertools import combinations

import cv2
import numpy as np
import pytest

from capture.network import Camera, Mark, Network, Photo, TapeLength
from capture.solve import solve_floor
from tests.support.needs import PHOTOGRAPHS
from tests.support.simulate import aligned_rms_mm

pytestmark = pytest.mark.photographs
SQUARE_MM = 500.0
ROOM = {"A": (0, 0), "B": (8, 0), "C": (8, 3), "D": (5, 3), "E": (5, 5), "F": (0, 5)}
# Seen from the printed side the board's columns run right and its rows run down: plan y is minus the row.
TRUTH = np.array([(c * SQUARE_MM, -r * SQUARE_MM) for c, r in ROOM.values()])
TAPED = [("A", "B"), ("B", "C"), ("A", "F"), ("C", "F")]
PAIRS = [("01", "02"), ("01", "13"), ("02", "08"), ("03", "11"), ("04", "05"), ("05", "12"), ("06", "09"), ("07", "12"),
         ("08", "14"), ("11", "14")]


@cache
def board_corners(name: str) -> np.ndarray:
    """(6, 9, 2) px of the inner corners, found by OpenCV."""
    path = PHOTOGRAPHS / f"left{name}.jpg"
    assert path.exists(), f"{path} is missing: install the Debian package opencv-doc"
    picture = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    found, corners = cv2.findChessboardCorners(picture, (9, 6), None)
    assert found
    fine = cv2.cornerSubPix(picture, corners, (5, 5), (-1, -1),
                            (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, 40, 1e-3))
    return fine.reshape(6, 9, 2).astype(float)


def distance(a: str, b: str) -> float:
    return SQUARE_MM * float(np.hypot(*np.subtract(ROOM[a], ROOM[b])))


@cache
def survey_of(names: tuple[str, ...], mark_sd: float = 0.25):
    """A survey with no EXIF: focal length 0.75 of the long side give or take 15 %, bend and axis of the lens quite
    unknown."""
    marks = tuple(Mark(photo=name, point=point, x_px=board_corners(name)[r, c][0], y_px=board_corners(name)[r, c][1],
                       sd_px=mark_sd) for name in names for point, (c, r) in ROOM.items())
    lens = Camera(name="lens", width_px=640, height_px=480, focal_px=480.0, focal_sd=0.15, k1=0.0, k1_sd=0.3, k2_sd=0.1,
                  centre_sd=0.03)
    return solve_floor(Network(outline=tuple(ROOM), cameras=(lens,),
                               photos=tuple(Photo(name=n, camera="lens") for n in names), marks=marks,
                               tapes=tuple(TapeLength(a=a, b=b, length_mm=distance(a, b), sd_mm=2.0)
                                           for a, b in TAPED)))


@pytest.mark.parametrize("names", PAIRS)
def test_two_photos_and_four_lengths(names):
    survey = survey_of(names)
    found = survey.floor.ring(tuple(ROOM))
    assert aligned_rms_mm(found, TRUTH) <= 20.0
    assert not survey.suspects
    for a, b in combinations(ROOM, 2):
        length = survey.floor.length(a, b)
        assert abs(length.length_mm - distance(a, b)) <= 1.5 * length.pm95_mm


def test_claimed_intervals_hold_over_all_pairs_tried():
    held = [abs(length.length_mm - distance(a, b)) <= length.pm95_mm for names in PAIRS for survey in [survey_of(names)]
            for a, b in combinations(ROOM, 2) for length in [survey.floor.length(a, b)]]
    assert np.mean(held) >= 0.95


def test_the_outline_runs_anticlockwise_whichever_way_it_is_listed():
    survey = survey_of(("01", "02"))
    assert survey.floor.outline == ("A", "F", "E", "D", "C", "B")
    assert survey.floor.area()[0] > 0
    assert tuple(survey.floor.at("A")) == (0.0, 0.0) and survey.floor.at("B")[1] == 0.0 and survey.floor.at("B")[0] > 0


def test_agrees_with_a_homography_from_all_54_corners():
    """Second opinion: undistorted with the lens OpenCV calibrates from all pictures, mapped by findHomography."""
    names = sorted({n for pair in PAIRS for n in pair})
    grid = np.array([(c * SQUARE_MM, -r * SQUARE_MM, 0.0) for r in range(6) for c in range(9)], np.float32)
    seen = [board_corners(n).reshape(-1, 1, 2).astype(np.float32) for n in names]
    _, matrix, bend, _, _ = cv2.calibrateCamera([grid] * len(names), seen, (640, 480), None, None)
    survey = survey_of(("02", "08"))
    for fit in survey.photos:
        assert fit.focal_px == pytest.approx(matrix[0, 0], rel=0.06)
        flat = cv2.undistortPoints(seen[names.index(fit.photo)], matrix, bend, P=matrix).reshape(-1, 2)
        to_floor, _ = cv2.findHomography(flat, grid[:, :2])
        six = [9 * r + c for c, r in ROOM.values()]
        mapped = cv2.perspectiveTransform(flat[six][:, None].astype(np.float64), to_floor).reshape(-1, 2)
        assert aligned_rms_mm(survey.floor.ring(tuple(ROOM)), mapped) < 12.0
        ok, turn, _ = cv2.solvePnP(grid, seen[names.index(fit.photo)], matrix, bend)
        assert ok
        tilt = np.degrees(np.arccos(np.clip(abs(cv2.Rodrigues(turn)[0][2, 2]), -1, 1)))
        assert np.degrees(np.arccos(np.clip(abs(fit.rotation[2, 2]), -1, 1))) == pytest.approx(tilt, abs=2.0)


def test_three_photos_do_better_than_their_worst_pair():
    worst = max(aligned_rms_mm(survey_of(pair).floor.ring(tuple(ROOM)), TRUTH)
                for pair in combinations(("07", "12", "05"), 2))
    assert aligned_rms_mm(survey_of(("07", "12", "05")).floor.ring(tuple(ROOM)), TRUTH) < worst
