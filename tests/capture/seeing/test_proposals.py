"""Proposals from photos. Truth comes from outside the code under test: the renderer's own projection
(demo_photos/truth.json), OpenCV's projection and calibration, OpenCV's and scikit-image's line segments. Drawn pictures
are cleaner than life; no real room is among them.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pytest

from capture.image.edges import cut_patch, find_segments
from capture.image.line_on_edge import on_edge
from capture.seeing.floor_lines import FloorLine, find_floor_lines, joined_lines
from capture.seeing.proposals import Proposals, propose
from capture.seeing.same_room import letter_corners, similarity
from capture.seeing.segmentation import Seen
from capture.seeing.vertical import find_up, is_upright, on_floor, tilt_and_roll
from tests.support.demo_pictures import TRUTH, finder, pixels, segmenter

ROOMS = [p for p in TRUTH["photos"] if "room" in p["file"]]
CORNERS = set(TRUTH["corners"])
PICTURES = Path("/usr/share/doc/opencv-doc/examples/data")


@cache
def looked(file: str) -> Proposals:
    """As the command looks: focal length from EXIF (26 mm equivalent), bending unknown."""
    return propose(pixels(file), segmenter(), finder(), focal_px=1201.8)


def shown(p: dict) -> dict[str, np.ndarray]:
    return {name: np.array(at) for name, at in p["points"].items() if name in CORNERS}


def nearest(found: Proposals, at: np.ndarray):
    return min(found.corners, key=lambda c: np.hypot(c.x_px - at[0], c.y_px - at[1]))


def off(corner, at) -> float:
    return float(np.hypot(corner.x_px - at[0], corner.y_px - at[1]))


def test_most_corners_of_the_demo_are_proposed_and_few_others():
    """Truth: the renderer's projection. 12 px of 1600; sure from 0.5 on."""
    hits = sum(any(off(c, at) <= 12 and c.sure >= 0.5 for c in looked(p["file"]).corners) for p in ROOMS
               for at in shown(p).values())
    false = sum(c.sure >= 0.5 and all(off(c, at) > 12 for at in shown(p).values()) for p in ROOMS
                for c in looked(p["file"]).corners)
    assert hits >= 0.8 * sum(len(shown(p)) for p in ROOMS)
    assert false <= 0.75 * len(ROOMS)


def test_the_place_of_a_proposed_corner_comes_from_its_edges():
    offs = [off(c, at) for p in ROOMS for at in shown(p).values() if off(c := nearest(looked(p["file"]), at), at) <= 12]
    assert np.median(offs) <= 0.5 and np.percentile(offs, 90) <= 2.5


@pytest.mark.parametrize("p", ROOMS, ids=lambda p: p["file"])
def test_up_is_the_renderers_up(p):
    """Third column of the true rotation, within 1.5 degrees."""
    up = np.array(p["rotation"])[:, 2]
    assert np.degrees(np.arccos(np.clip(np.dot(looked(p["file"]).up, up), -1, 1))) < 1.5


def test_a_mirrored_picture_gives_mirrored_corners():
    found = looked(ROOMS[0]["file"])
    turned = propose(np.ascontiguousarray(pixels(ROOMS[0]["file"])[:, ::-1]), segmenter(), finder(), focal_px=1201.8)
    sure = [c for c in found.corners if c.sure > 0.8]
    assert len(sure) >= 3
    for corner in sure:
        assert off(nearest(turned, (1599 - corner.x_px, corner.y_px)), (1599 - corner.x_px, corner.y_px)) < 4
    assert turned.roll_rad == pytest.approx(-found.roll_rad, abs=np.radians(1.0))


def test_a_larger_picture_gives_the_same_corners():
    """Twice as many pixels by OpenCV's cubic interpolation: places scale about the pixel's edge, (x + 0.5) 2 - 0.5."""
    p = ROOMS[1]
    large = cv2.resize(pixels(p["file"]), None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    twice = propose(large, segmenter(), finder(), focal_px=2403.6)
    for corner in looked(p["file"]).corners:
        if corner.sure > 0.8:
            at = np.array([corner.x_px, corner.y_px]) * 2 + 0.5
            assert off(nearest(twice, at), at) < 3


def test_known_bending_is_taken_out_before_looking_and_put_back():
    """The demo's lens bends by k1 -0.034; corners stay where the renderer put them."""
    p = ROOMS[0]
    found = propose(pixels(p["file"]), segmenter(), finder(), focal_px=p["focal_px"], k1=p["k1"])
    offs = [off(nearest(found, at), at) for at in shown(p).values()]
    assert np.median(offs) < 1.0


def test_letters_over_the_demos_photos_follow_its_targets():
    """No letter is given and no corner that two photos show gets two letters, nor two corners one; truth: names in
    truth.json."""
    from capture.image.targets import find_targets

    found = [looked(p["file"]) for p in ROOMS]
    targets = [{s.number: np.array(s.corners_px) for s in find_targets(pixels(p["file"]))} for p in ROOMS]
    letters = letter_corners(found, targets=targets)
    pairs = set()
    for p, one, points in zip(ROOMS, found, letters.points):
        for name, at in shown(p).items():
            corner = nearest(one, at)
            if off(corner, at) <= 12 and (letter := points[one.corners.index(corner)]):
                pairs.add((name, letter))
    assert len({name for name, _ in pairs}) == len(pairs) == len({letter for _, letter in pairs}) >= 5
    assert letters.apart == ()


def test_segments_agree_with_the_line_segment_detector_of_opencv():
    """A second opinion on the edges everything rests on: von Gioi's detector (IPOL 2012), as OpenCV has it, finds our
    longest segments too."""
    grey = cv2.cvtColor(pixels(ROOMS[0]["file"]), cv2.COLOR_RGB2GRAY)
    theirs = cv2.createLineSegmentDetector().detect(grey)[0].reshape(-1, 2, 2).astype(float)
    ours = find_segments(cut_patch(pixels(ROOMS[0]["file"]), (800, 600), 1600.0))
    longest = ours[np.argsort(-np.hypot(*(ours[:, 1] - ours[:, 0]).T))[:25]]
    assert np.mean([_beside(segment, theirs) for segment in longest]) > 0.8


def _beside(segment: np.ndarray, others: np.ndarray) -> bool:
    """Whether one of the others (n, 2, 2) runs along a segment within 3 px."""
    way = (segment[1] - segment[0]) / np.hypot(*(segment[1] - segment[0]))
    rel = others - segment[0]
    across, along = np.abs(rel @ np.array([-way[1], way[0]])).max(axis=1), rel @ way
    length = np.hypot(*(segment[1] - segment[0]))
    return bool(np.any((across < 3) & (along.max(axis=1) > 0) & (along.min(axis=1) < length)))


def _chessboards():
    """Grey pictures of opencv-doc with the 6 x 9 corners found in them and the lens calibrated from all of them, by
    OpenCV."""
    grid = np.zeros((54, 3), np.float32)
    grid[:, :2] = np.mgrid[:9, :6].T.reshape(-1, 2)
    spots, names = [], []
    for k in (1, 2, 3, 4, 5, 6, 7, 8, 9, 11, 12, 13, 14):
        grey = cv2.imread(str(PICTURES / f"left{k:02d}.jpg"), cv2.IMREAD_GRAYSCALE)
        assert grey is not None, "install opencv-doc"
        good, corners = cv2.findChessboardCorners(grey, (9, 6))
        if good:
            spots.append(cv2.cornerSubPix(grey, corners, (5, 5), (-1, -1), (3, 40, 1e-3)))
            names.append(k)
    _, matrix, bend, turns, _ = cv2.calibrateCamera([grid] * len(spots), spots, (640, 480), None, None)
    return [
        (cv2.undistortPoints(s, matrix, bend, P=matrix).reshape(6, 9, 2).astype(float), cv2.Rodrigues(t)[0], matrix)
        for s, t in zip(spots, turns)
    ]


def test_edges_of_a_real_chessboard_point_where_its_pose_says():
    """Seen from above, the board's rows and columns are a square grid again; pose and lens: OpenCV's calibration. This
    checks the floor's similarity on real photographs, with 'up' from the calibrated pose."""
    for grid, turn, matrix in _chessboards():
        up = turn[:, 2] if turn[2, 2] < 0 else -turn[:, 2]
        centre = np.array([matrix[0, 2], matrix[1, 2]])
        seen = on_floor(grid.reshape(-1, 2), up, float(matrix[0, 0]), centre)
        if not np.isfinite(seen).all():
            continue
        x, y = np.meshgrid(np.arange(9), np.arange(6))
        plan = (x + 1j * y).ravel()
        offs = []
        for figure in (plan, np.conj(plan)):
            a, b = similarity(seen, figure)
            offs.append(np.sqrt(np.mean(np.abs(seen - a * figure - b) ** 2)) / abs(a))
        assert min(offs) < 0.02, "rms in squares"


@pytest.mark.parametrize("tilt", [12.0, 25.0, 40.0])
@pytest.mark.parametrize("roll", [-4.0, 0.0, 3.0])
def test_up_from_drawn_edges(tilt, roll):
    """Upright edges and a rectangle's floor lines projected by OpenCV: up is found within half a degree."""
    t, r = np.radians([tilt, roll])
    forward = np.array([0, np.cos(t), -np.sin(t)])
    right = np.array([1.0, 0, 0])
    down = np.cross(forward, right)
    turned = np.cos(r) * right + np.sin(r) * down
    rotation = np.stack([turned, np.cross(forward, turned), forward])
    eye = np.array([0.3, -2.0, 1.5])
    matrix = np.array([[1200.0, 0, 799.5], [0, 1200.0, 599.5], [0, 0, 1]])

    def px(points):
        return cv2.projectPoints(np.array(points, float), cv2.Rodrigues(rotation)[0], -rotation @ eye, matrix,
                                 None)[0].reshape(-1, 2)

    rng = np.random.default_rng(3)
    ends = [[(x, y, z), (x, y, z + 0.8)] for x, y, z in rng.uniform([-1.5, 1, 0.2], [1.5, 3, 1.2], (30, 3))]
    segments = np.array([px(e) for e in ends])
    turn = 0.4
    ring = [
        np.array([x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn) + 1.5, 0])
        for x, y in ((-1, -0.6), (1, -0.6), (1, 1), (-1, 1))
    ]
    lines = [FloorLine(ends=px([a, b]), support=0.9, weakest=0.9, on_edge=True)
             for a, b in zip(ring, ring[1:] + ring[:1])]
    up = find_up(segments, lines, 1200.0, np.array([799.5, 599.5]))
    assert np.degrees(np.arccos(np.clip(up @ rotation[:, 2], -1, 1))) < 0.5
    assert tilt_and_roll(rotation[:, 2]) == (pytest.approx(t, abs=1e-9), pytest.approx(r, abs=1e-9))


def seen_with(line: np.ndarray, floor: np.ndarray) -> Seen:
    zero = np.zeros_like(floor)
    return Seen(floor=floor, skirting=zero, wall=1 - floor, other=zero, concave=zero, convex=zero, line=line,
                size_px=(1600, 1200))


def test_a_floor_line_is_parted_where_something_stands_before_it():
    """A wall's foot seen left and right of a breast is two strokes on the edge that was drawn, not on the skirting's
    top."""
    floor = np.zeros((300, 400), np.float32)
    floor[200:] = 1.0
    line = np.zeros_like(floor)
    line[199:201, 25:150] = line[199:201, 225:375] = 1.0
    pixels = np.full((1200, 1600, 3), 120, np.uint8)
    pixels[:770], pixels[801:] = 200, 60
    found = find_floor_lines(cv2.GaussianBlur(pixels, None, 1.0), seen_with(line, floor))
    assert sorted(round(float(f.ends[0, 0]), -1) for f in found) == [100, 900]
    for one in found:
        assert np.abs(one.ends[:, 1] - 800.5).max() < 0.05 and one.on_edge and one.weakest > 0.8


def test_a_floor_line_is_found_where_the_picture_has_no_edge():
    """Truth: the line the map was drawn with; a cell is 4 px."""
    y, x = np.mgrid[:300, :400]
    off = (y - 150.0) - 0.3 * (x - 200.0)
    plain = np.full((1200, 1600, 3), 120, np.uint8)
    found = find_floor_lines(plain, seen_with((np.abs(off) < 1.2).astype(np.float32), (off > 0).astype(np.float32)))
    assert len(found) == 1 and not found[0].on_edge
    (ax, ay), (bx, by) = (found[0].ends + 0.5) / 4 - 0.5
    assert [ay - 150 - 0.3 * (ax - 200), by - 150 - 0.3 * (bx - 200)] == pytest.approx([0, 0], abs=0.5)
    assert bx - ax > 390


def test_a_floor_line_does_not_run_on_past_its_wall():
    """The map's line ends where the floor does on both sides of it (a rug's edge goes on in the same way)."""
    floor = np.zeros((300, 400), np.float32)
    floor[200:] = floor[:, 250:] = 1.0
    line = np.zeros_like(floor)
    line[199:201, 25:375] = 1.0
    (found,) = find_floor_lines(np.full((1200, 1600, 3), 120, np.uint8), seen_with(line, floor))
    assert found.ends[:, 0] == pytest.approx([100, 1000], abs=12)


def test_floor_lines_end_where_they_meet():
    """Two that come near to one another are drawn to their crossing; one that ends far off is left as it is."""
    def line(*ends) -> FloorLine:
        return FloorLine(ends=np.array(ends, float), support=0.9, weakest=0.9, on_edge=True)

    joined = joined_lines([line((100, 500), (485, 500)), line((500, 520), (500, 900)), line((600, 500), (900, 560))])
    assert joined[0].ends.tolist() == [[100, 500], [500, 500]] and joined[1].ends.tolist() == [[500, 500], [500, 900]]
    assert joined[2].ends.tolist() == [[600, 500], [900, 560]]


@pytest.mark.parametrize("slope", [0.0, 0.13, -0.4])
def test_a_rough_line_is_moved_onto_the_edge(slope):
    """A step of 20 grey levels at a known place, blurred and with noise, found to a tenth of a pixel."""
    y, x = np.mgrid[:400, :600].astype(float)
    grey = 120 + 20 / (1 + np.exp(-(y - 200.3 - slope * (x - 300)) / 0.8))
    grey += np.random.default_rng(5).normal(0, 2, grey.shape)
    rough = np.array([[60, 200.3 - 240 * slope + 2.5], [540, 200.3 + 240 * slope - 1.5]])
    found = on_edge(np.repeat(np.clip(grey, 0, 255).astype(np.uint8)[..., None], 3, axis=2), rough)
    assert found[:, 1] - slope * (found[:, 0] - 300) == pytest.approx([200.3, 200.3], abs=0.1)


def test_where_no_edge_is_seen_a_rough_line_is_left_alone():
    noise = np.random.default_rng(6).normal(120, 1, (200, 300, 3)).clip(0, 255).astype(np.uint8)
    assert on_edge(noise, np.array([[30.0, 90.0], [270.0, 110.0]])) is None


def test_the_edge_of_a_wall_before_a_floor_is_no_floor_line():
    """An upright post and a wall's foot through OpenCV's projection: 20 degrees down, 1.5 m up."""
    tilt = np.radians(20.0)
    rotation = np.array([[1, 0, 0], [0, -np.sin(tilt), -np.cos(tilt)], [0, np.cos(tilt), -np.sin(tilt)]])
    matrix = np.array([[1200.0, 0, 799.5], [0, 1200.0, 599.5], [0, 0, 1]])

    def lined(points) -> FloorLine:
        ends = cv2.projectPoints(np.array(points), cv2.Rodrigues(rotation)[0], -rotation @ [0, 0, 1.5], matrix,
                                 None)[0].reshape(-1, 2)
        return FloorLine(ends=ends, support=0.9, weakest=0.9, on_edge=True)

    def upright(points) -> bool:
        return is_upright(lined(points), rotation[:, 2] * 1.0, 1200.0, np.array([799.5, 599.5]))

    assert upright([(0.7, 3.0, 0.0), (0.7, 3.0, 0.9)])
    assert not upright([(0.3, 2.0, 0.0), (0.3, 5.0, 0.0)])


BAD = {
    "level, no floor": (np.tile(np.linspace(150, 210, 1200)[:, None, None], (1, 1600, 3)), "No floor"),
    "sheet": (np.full((1200, 1600, 3), 235), ""),
    "night": (np.full((1200, 1600, 3), 9), "too dark"),
    "panorama": (np.full((600, 4000, 3), 120), "panorama"),
    "tiny": (np.full((90, 120, 3), 120), "too small"),
}


@pytest.mark.parametrize("name", BAD)
def test_what_is_no_photo_of_a_floor_gives_one_quiet_sentence(name):
    made, word = BAD[name]
    found = propose(np.ascontiguousarray(made.astype(np.uint8)), segmenter(), finder())
    assert found.corners == () and found.lines == ()
    assert found.says.endswith(".") and word in found.says


def test_an_upside_down_photo_is_named_as_such():
    found = propose(np.ascontiguousarray(pixels(ROOMS[0]["file"])[::-1, ::-1]), segmenter(), finder(), focal_px=1201.8)
    assert [c for c in found.corners if c.sure >= 0.5] == []
    assert found.says.endswith(".")
