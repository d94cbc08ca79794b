"""Close-ups: drawn pictures with known truth (`tests/support/draw_closeups.py`), and real photographs of a board with
known geometry.

Outside checks: OpenCV's projectPoints draws every picture; solvePnP and fitEllipse are second opinions; sizes from
ISO/IEC 7810, ISO 216, EN 1057 and ASTM B88 as the project's trade fact sheet quotes them (sections 6 and 9).
"""
from math import pi

import cv2
import numpy as np
import pytest

from capture.closeup.reference_objects import A4, CARD, KNOWN, LETTER, Reference, reference_named
from capture.camera import project
from capture.errors import CaptureError
from capture.closeup.reference_detection import find_reference, marked_reference, seen_of_corners
from capture.network import Camera
from capture.closeup.pipe_sizes import SIZES, girth_mm, match_size
from capture.closeup.accuracy import WORST_PM_MM, pm95_mm, promise_of, shrunk
from capture.closeup.pipe_circle import fit_ring
from capture.closeup.tracing import Click, fit_circle, trace
from capture.closeup.plane_pose import solve_view
from capture.closeup.wall_line import wall_line
from tests.support.needs import PHOTOGRAPHS
from tests.support.draw_closeups import CAMERA, SIZE, draw_closeup, draw_negative, rounded
from tests.bench.capture.run_closeup import clicked_ring


@pytest.fixture(scope="module")
def casing():
    return draw_closeup(1, what="casing", kind="a4", tilt_deg=25.0)


@pytest.fixture(scope="module")
def pipe():
    return draw_closeup(2, what="pipe", kind="card", tilt_deg=18.0, diameter=15.0)


@pytest.fixture(scope="module")
def on_sheet(casing):
    return find_reference(casing.pixels, CAMERA, KNOWN)


@pytest.fixture(scope="module")
def on_card(pipe):
    return find_reference(pipe.pixels, CAMERA, (CARD,))


def turned(found, drawn) -> float:
    """1, or -1 if the reference was found the other way round: half a turn maps it on itself."""
    true = drawn.shot.px(drawn.corners, drawn.thick)
    return 1.0 if np.argmin(np.hypot(*(true - found.corners_px[0]).T)) == 0 else -1.0


@pytest.mark.parametrize(("which", "found_by"), [("casing", "on_sheet"), ("pipe", "on_card")])
def test_the_reference_is_found_and_the_floor_beside_it_lies_where_it_is(request, which, found_by):
    drawn, found = request.getfixturevalue(which), request.getfixturevalue(found_by)
    assert found.view.reference.name == drawn.kind
    places = np.array([[x, found.view.sides_mm[1] / 2 + 60.0] for x in (-40.0, 0.0, 40.0)])
    sign = turned(found, drawn)
    off = sign * found.view.to_floor(drawn.shot.px(places)) - places
    assert np.max(np.hypot(*off.T)) <= 0.8
    assert np.all(np.hypot(*off.T) <= 1.5 * pm95_mm(found.view, sign * places))


def test_floor_and_picture_are_inverse_and_slopes_are_true(on_sheet):
    view, places = on_sheet.view, np.array([[0.0, 0.0], [150.0, 120.0], [-90.0, 160.0]])
    for height in (0.0, 15.0):
        assert np.allclose(view.to_floor(view.to_px(places, height), height), places, atol=1e-6)
    by_px, by_view = view.slopes(places)
    px = view.to_px(places)
    for axis in (0, 1):
        step = np.eye(2)[axis] * 1e-3
        slope = (view.to_floor(px + step) - view.to_floor(px - step)) / 2e-3
        assert np.allclose(by_px[:, :, axis], slope, rtol=1e-4, atol=1e-6)
    assert by_view.shape == (3, 2, 11)


def test_solve_pnp_agrees_where_the_lens_is_known():
    """Corners alone and a lens taken as exact: OpenCV's solvePnP must find the same pose."""
    drawn = draw_shot_only(7)
    camera = known_lens(drawn.focal)
    w, h = np.array(A4.sides_mm) / 2
    corners = np.array([[-w, -h], [w, -h], [w, h], [-w, h]])
    matrix = np.array([[drawn.focal, 0, (SIZE[0] - 1) / 2], [0, drawn.focal, (SIZE[1] - 1) / 2], [0, 0, 1]])
    px = project(corners, np.broadcast_to(drawn.rotation, (4, 3, 3)), np.broadcast_to(drawn.shift, (4, 3)),
                 np.full(4, drawn.focal), np.zeros(2), (np.array(SIZE) - 1) / 2)
    flat = Reference(name="a4", says="sheet", sides_mm=A4.sides_mm, side_sd_mm=1e-6, thick_mm=0.0)
    view = solve_view(seen_of_corners(px, 0.1), px, flat, camera)
    done, turn, shift = cv2.solvePnP(np.column_stack([corners, np.zeros(4)]), px, matrix, None)
    assert done
    assert np.allclose(view.rotation, cv2.Rodrigues(turn)[0], atol=1e-5)
    assert np.allclose(view.shift_mm, shift[:, 0], atol=0.02)


def known_lens(focal_px) -> Camera:
    return Camera(name="c", width_px=SIZE[0], height_px=SIZE[1], focal_px=focal_px, focal_sd=1e-6, k1=0.0, k1_sd=1e-9,
                  k2_sd=1e-9, centre_sd=1e-9)


def draw_shot_only(seed):
    from tests.support.draw_closeups import draw_shot
    return draw_shot(np.random.default_rng(seed), np.zeros(2), 30.0, 1.2, 700.0)


def test_a_casing_is_traced_on_its_edges(casing, on_sheet):
    rng = np.random.default_rng(5)
    path = casing.casing[:casing.arcs[0] + 1]
    middle, last = casing.casing[casing.arcs[len(casing.arcs) // 2]], casing.casing[casing.arcs[-1] + 1]
    true = np.array([*path, middle, last])
    px = casing.shot.px(true) + rng.normal(0, 1.5, (len(true), 2))
    clicks = [Click(x_px=x, y_px=y, on_arc=k == len(true) - 2) for k, (x, y) in enumerate(px)]
    ground = np.median([side.outside for side in on_sheet.sides], axis=0)
    outline = trace(casing.pixels, on_sheet.view, clicks, click_px=1.5, ground=ground)
    assert [run.centre_mm is None for run in outline.runs] == [True] * 4 + [False]
    front = outline.runs[1]
    assert front.snapped
    # The front of the casing runs parallel to the wall, and the whole lies within its stated error of where it is.
    sign = turned(on_sheet, casing)
    assert abs(front.way[1]) <= 0.02
    off = sign * outline.corners_mm[1:-1] - np.array([*path[1:], last])[:4]
    assert np.max(np.hypot(*off.T)) <= 2.0
    assert np.all(np.abs(sign * outline.corners_mm[1:3, 1] - path[1:3, 1]) <= 1.5 * outline.pm95_mm()[1:3] + 0.1)


def test_a_pipe_is_measured_and_its_size_named(pipe, on_card):
    x, y, diameter = pipe.pipe
    towards = pipe.shot.eye[:2] - [x, y]
    turn = np.arctan2(towards[1], towards[0]) + np.linspace(-1.4, 1.4, 5)
    true = pipe.shot.px(np.array([x, y]) + diameter / 2 * np.column_stack([np.cos(turn), np.sin(turn)]))
    px = true + np.random.default_rng(1).normal(0, 1.0, (5, 2))
    ring = fit_ring(pipe.pixels, on_card.view, px, click_px=1.0)
    assert np.hypot(*(turned(on_card, pipe) * ring.centre_mm - [x, y])) <= 1.0
    assert abs(ring.diameter_mm - diameter) <= 2.0 * 1.96 * ring.diameter_sd_mm
    assert match_size(ring.diameter_mm, ring.diameter_sd_mm).best.diameter_mm == diameter


def test_a_pipe_of_nearly_the_floors_colour_is_measured_all_the_same():
    """Drawn copper on reddish boards: single cuts lie up to two px beside its edge, the step of light of a whole
    sector does not."""
    drawn = draw_closeup(6026, what="pipe")
    found = find_reference(drawn.pixels, CAMERA, (reference_named(drawn.kind),))
    x, y, diameter = drawn.pipe
    ring = clicked_ring(drawn, found.view, np.random.default_rng(6), with_sides=True)
    off = turned(found, drawn) * ring.centre_mm - [x, y]
    assert np.hypot(*off) <= 1.0
    assert np.all(np.abs(off) <= 3.0 * np.sqrt(np.diag(ring.cov)[:2])) and abs(ring.diameter_mm
                                                                               - diameter) <= 3.0 * ring.diameter_sd_mm


def test_an_upright_face_of_a_casing_is_no_card():
    """It has the shape of one only through another lens, or seen from far aside; found beside the sheet, it makes
    the sheet no less sure."""
    for seed in (1000, 1015):
        drawn = draw_closeup(seed, what="casing")
        assert find_reference(drawn.pixels, CAMERA, KNOWN).view.reference.name == drawn.kind


def test_a_whole_ring_agrees_with_fit_ellipse():
    """A circle on the floor, seen whole and straight from above, is the ellipse OpenCV fits."""
    camera = known_lens(1500.0)
    middle, eye = (np.array(SIZE) - 1) / 2, 600.0
    scale = 1500.0 / eye
    w, h = np.array(CARD.sides_mm) / 2
    corners = middle + scale * np.array([[-w, h], [w, h], [w, -h], [-w, -h]])
    flat = Reference(name="card", says="card", sides_mm=CARD.sides_mm, side_sd_mm=1e-6, thick_mm=0.0)
    view = solve_view(seen_of_corners(corners, 0.01), corners, flat, camera)
    turn = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    px = middle + scale * (np.array([60.0, 20.0]) + 11.0 * np.column_stack([np.cos(turn), np.sin(turn)])) * [1, -1]
    ring = fit_ring(np.full((*SIZE[::-1], 3), 128, np.uint8), view, px, click_px=0.01)
    (cx, cy), (one, other), _ = cv2.fitEllipse(px.astype(np.float32).reshape(-1, 1, 2))
    assert not ring.snapped
    assert np.allclose(view.to_px(ring.centre_mm[None])[0], [cx, cy], atol=0.02)
    assert abs(ring.diameter_mm - (one + other) / 2 / scale) <= 0.01
    assert ring.seen_rad > 5.9


def test_sizes_are_those_of_the_standards():
    metric = {size.diameter_mm for size in SIZES["metric"] if "EN 1057" in size.name}
    assert {10.0, 12.0, 15.0, 22.0, 28.0} <= metric
    for size in SIZES["imperial"]:
        if "ASTM B88" in size.name:
            whole, _, rest = size.name.split(" in ")[0].rpartition(" ")
            top, _, bottom = rest.partition("/")
            inches = float(whole or 0) + float(top) / float(bottom or 1)
            assert size.diameter_mm == pytest.approx((inches + 1 / 8) * 25.4, abs=0.001)
    assert CARD.sides_mm == (85.60, 53.98)
    assert CARD.radius_mm == 3.48
    assert A4.sides_mm == (297.0, 210.0)
    assert LETTER.sides_mm == pytest.approx((11 * 25.4, 8.5 * 25.4))


def test_a_size_is_named_only_when_it_is_sure():
    assert match_size(15.1, 0.15).sure
    doubtful = match_size(15.5, 0.3)
    assert not doubtful.sure
    assert {size.diameter_mm for size, _ in doubtful.odds[:2]} == {15.0, 16.0}
    assert not match_size(19.6, 0.1).fits
    assert girth_mm(match_size(15.0, 0.1).best) == pytest.approx(15 * pi)
    assert sum(share for _, share in doubtful.odds) == pytest.approx(1.0, abs=0.03)


def test_the_promise_grows_with_distance_and_ends(on_card):
    promise = promise_of(on_card.view)
    pm = [error for _, error in promise.errors]
    assert pm == sorted(pm)
    assert pm[-1] <= WORST_PM_MM
    assert promise.beyond(np.array([[0.0, promise.reach_mm + 60.0]]))
    assert not promise.beyond(np.array([[0.0, 30.0]]))


def test_a_reference_off_the_floor_shrinks_all_by_what_is_said():
    """A sheet 5 mm above the floor, photographed by cv2.projectPoints: a length on the floor comes out too small by
    the share told."""
    drawn, (w, h) = draw_shot_only(6), np.array(A4.sides_mm) / 2
    matrix = np.array([[drawn.focal, 0, (SIZE[0] - 1) / 2], [0, drawn.focal, (SIZE[1] - 1) / 2], [0, 0, 1]])
    sheet = np.array([[-w, -h, 5.0], [w, -h, 5.0], [w, h, 5.0], [-w, h, 5.0]])
    floor = np.array([[-180.0, -40.0, 0.0], [150.0, 130.0, 0.0]])
    seen = cv2.projectPoints(np.concatenate([sheet, floor]), cv2.Rodrigues(drawn.rotation)[0], drawn.shift, matrix,
                             None)[0][:, 0]
    flat = Reference(name="a4", says="sheet", sides_mm=A4.sides_mm, side_sd_mm=1e-6, thick_mm=0.0)
    view = solve_view(seen_of_corners(seen[:4], 0.1), seen[:4], flat, known_lens(drawn.focal))
    a, b = view.to_floor(seen[4:])
    assert 0.004 < shrunk(view, 5.0) < 0.012
    assert np.hypot(*(b - a)) == pytest.approx(np.hypot(*(floor[1] - floor[0])[:2]) * (1 - shrunk(view, 5.0)), abs=0.02)


def test_parallax_is_what_a_height_does(casing, on_sheet):
    """A thing 20 mm high, taken to lie on the floor, seems to be farther from the camera; with its height typed it
    is not."""
    place = np.array([[0.0, 150.0]])
    sign = turned(on_sheet, casing)
    px = casing.shot.px(place, 20.0)
    as_floor, as_high = sign * on_sheet.view.to_floor(px), sign * on_sheet.view.to_floor(px, 20.0)
    assert np.hypot(*(as_high - place)[0]) <= 0.8
    assert np.allclose(as_floor - as_high, sign * on_sheet.view.parallax_mm(sign * place, 20.0), atol=0.2)
    assert np.hypot(*(as_floor - place)[0]) >= 4.0


def test_a_wall_line_has_the_room_on_its_left(casing, on_sheet):
    clicks = casing.shot.px([(-120.0, casing.wall), (0.0, casing.wall), (120.0, casing.wall)])
    line = wall_line(on_sheet.view, clicks, 1.0)
    off, sd = line.distance(on_sheet.view, np.zeros(2), np.zeros((2, 2)))
    assert abs(off - casing.wall) <= 3.0 * sd + 0.1
    assert 0.0 < sd < 2.0


def test_marked_by_hand_even_where_edges_are_clear(casing):
    quad = casing.shot.px(casing.corners, casing.thick) + np.random.default_rng(3).normal(0, 2.0, (4, 2))
    found = marked_reference(casing.pixels, CAMERA, A4, quad[[2, 0, 3, 1]][[1, 3, 0, 2]], click_px=2.0)
    assert found.sides
    off = turned(found, casing) * found.view.to_floor(casing.shot.px([(0.0, 160.0)])) - [0.0, 160.0]
    assert np.hypot(*off[0]) <= 0.8


def test_a_card_is_laid_right_though_the_first_pose_has_its_rims_wrong():
    """Clicks 1.5 px off make the rim of one side of this drawn card seem to be seen from aside, which it is not: 2
    mm at 50 mm beside it."""
    drawn = draw_closeup(1137, what="casing")
    clicked = drawn.shot.px(drawn.corners, drawn.thick) + np.random.default_rng([1137, 1]).normal(0, 1.5, (4, 2))
    marked = marked_reference(drawn.pixels, CAMERA, CARD, clicked, click_px=1.5)
    places = np.array([[-40.0, 80.0], [40.0, 80.0]])
    sign = turned(marked, drawn)
    off = sign * marked.view.to_floor(drawn.shot.px(places)) - places
    assert np.max(np.hypot(*off.T)) <= 0.8


def test_fitted_circles_are_exact():
    turn = np.linspace(0.2, 1.1, 7)
    centre, radius = fit_circle(np.array([40.0, -7.0]) + 12.5 * np.column_stack([np.cos(turn), np.sin(turn)]))
    assert np.allclose(centre, [40.0, -7.0], atol=1e-6)
    assert radius == pytest.approx(12.5)


def said(slug, call, *words):
    with pytest.raises(CaptureError) as error:
        call()
    assert error.value.slug == slug
    assert all(word in str(error.value) for word in words)
    assert "\n" not in str(error.value)


def test_what_cannot_be_used_is_said_with_the_way_out(casing, on_sheet):
    blank = np.full((600, 800, 3), 120, np.uint8)
    small = Camera(name="c", width_px=800, height_px=600, focal_px=600.0, focal_sd=0.05)
    said("no-reference", lambda: find_reference(blank, small, (A4,)), "A4 sheet", "whole")
    cut = blank.copy()
    cut[:240, 200:500] = 235
    said("reference-cut-off", lambda: find_reference(cut, small, (A4,)), "step back")
    blurred = cv2.GaussianBlur(casing.pixels, (0, 0), 9.0)
    quad = casing.shot.px(casing.corners, casing.thick)
    said("blurred-closeup", lambda: marked_reference(blurred, CAMERA, A4, quad, click_px=3.0), "hold the phone still")
    dot, over_the_rim = (np.array(ring, float) for ring in ([(10, 10), (12, 10), (12, 11), (10, 11)],
                                                            [(-50, 10), (300, 10), (300, 300), (10, 300)]))
    said("reference-corners", lambda: marked_reference(blank, small, A4, dot, click_px=2.0), "corners")
    said("reference-cut-off", lambda: marked_reference(blank, small, A4, over_the_rim, click_px=2.0))
    said("bad-ring-clicks", lambda: fit_ring(casing.pixels, on_sheet.view, quad[:2]), "three")
    said("bad-ring-clicks", lambda: fit_ring(casing.pixels, on_sheet.view, quad[:3]), "no pipe")
    said("bad-outline-clicks", lambda: trace(casing.pixels, on_sheet.view, [Click(x_px=1.0, y_px=1.0)]), "corners")
    said("bad-wall-clicks", lambda: wall_line(on_sheet.view, quad[[0, 0]], 1.0), "far apart")
    said("unknown-reference", lambda: reference_named("a postcard"), "A4")


@pytest.mark.parametrize("seed", [29050, 29001, 29005])
def test_a_print_a_phone_and_a_photo_are_never_taken_for_a_card(seed):
    """Drawn: a book whose cover has a print of nearly a card's size, seen so small that its sharp corners look cut;
    a phone; a photo print."""
    pixels, _ = draw_negative(seed)
    said("no-reference", lambda: find_reference(pixels, CAMERA, KNOWN), "sharp", "by hand")


def test_a_curled_sheet_is_told(casing):
    """The picture bent by 8 px along a parabola, as a sheet that rises in its middle looks."""
    y, x = np.mgrid[:SIZE[1], :SIZE[0]].astype(np.float32)
    middle = casing.shot.px(np.zeros((1, 2)))[0]
    bend = 8.0 * (1 - ((x - middle[0]) / 400) ** 2)
    bent = cv2.remap(casing.pixels, x, y + bend.astype(np.float32), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    said("curled-sheet", lambda: find_reference(bent, CAMERA, (A4,)), "flat")


def test_a_view_from_far_aside_is_refused():
    """Beyond 50 degrees from straight above nothing is promised, found or marked."""
    drawn = draw_closeup(5, what="casing", kind="a4", tilt_deg=60.0)
    said("flat-view", lambda: marked_reference(drawn.pixels, CAMERA, A4, drawn.shot.px(drawn.corners, drawn.thick),
                                               click_px=2.0), "straight above", "lay it flat")


def painted(drawn, ring, colour):
    """The photo with one more flat thing of a colour on its floor, as sharp as the rest: drawn at four times the
    size and averaged."""
    mask = np.zeros((SIZE[1] * 4, SIZE[0] * 4), np.uint8)
    cv2.fillPoly(mask, [np.round((drawn.shot.px(ring) + 0.5) * 4 - 0.5).astype(np.int32)], 255)
    share = cv2.GaussianBlur(cv2.resize(mask, SIZE, interpolation=cv2.INTER_AREA), (0, 0), 1.0)[:, :, None] / 255.0
    return np.round(drawn.pixels * (1.0 - share) + np.array(colour) * share).astype(np.uint8)


def test_two_cards_are_asked_apart(pipe):
    second = painted(pipe, rounded(*CARD.sides_mm, 3.18) - [90.0, 60.0], (60, 90, 160))
    said("two-references", lambda: find_reference(second, CAMERA, (CARD,)), "card at", "take one away")


def test_a_printed_target_is_a_reference_too(pipe):
    """An open-standard marker warped into the photo by OpenCV, 80 mm wide on the floor; places on the floor come out
    where they were drawn."""
    marker = np.full((9 * 40, 9 * 40), 235, np.uint8)
    pattern = cv2.aruco.generateImageMarker(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_50), 3, 7 * 40)
    marker[40:-40, 40:-40] = np.where(pattern > 0, 235, 25)
    paper = 80.0 * 9 / 7 / 2 * np.array([(-1, 1), (1, 1), (1, -1), (-1, -1)]) - [0.0, 100.0]
    edge = np.array([(0, 0), (360, 0), (360, 360), (0, 360)], np.float32) - 0.5
    warp = cv2.getPerspectiveTransform(edge, pipe.shot.px(paper).astype(np.float32))
    laid = cv2.warpPerspective(marker, warp, SIZE, flags=cv2.INTER_AREA)
    share = cv2.warpPerspective(np.ones_like(marker, np.float32), warp, SIZE)[:, :, None]
    photo = cv2.GaussianBlur(np.round(pipe.pixels * (1 - share) + laid[:, :, None] * share).astype(np.uint8), (0, 0),
                             0.8)
    found = find_reference(photo, CAMERA, KNOWN, target_mm=80.0)
    assert found.view.reference.name == "target"
    middle = np.array([0.0, -100.0])
    seen = found.view.to_floor(pipe.shot.px(np.array([middle, middle + [100.0, 0.0], middle + [0.0, 100.0]])))
    assert np.hypot(*seen[0]) <= 0.5
    for place in seen[1:]:  # which way round the marker was named is not asked here, only how far off things are
        assert np.hypot(*(place - seen[0])) == pytest.approx(100.0, abs=0.8)


def test_a_sheet_of_another_shape_is_no_reference(casing):
    """The picture holds an A4 sheet: nothing in it is a Letter sheet or a card."""
    said("no-reference", lambda: find_reference(casing.pixels, CAMERA, (LETTER, CARD)))


def board_corners(name):
    picture = cv2.imread(str(PHOTOGRAPHS / f"left{name}.jpg"), cv2.IMREAD_GRAYSCALE)
    assert picture is not None, f"{PHOTOGRAPHS} is missing: install the Debian package opencv-doc"
    found, corners = cv2.findChessboardCorners(picture, (9, 6), None)
    assert found
    fine = cv2.cornerSubPix(picture, corners, (5, 5), (-1, -1),
                            (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, 40, 1e-3))
    return fine.reshape(6, 9, 2).astype(float)


@pytest.mark.photographs
@pytest.mark.parametrize("name", ["01", "02", "03", "04", "05", "06", "07", "08", "11", "12", "13", "14"])
def test_real_photographs_stay_within_the_stated_error(name):
    """Four corners of a board's middle as the reference, all others as what is traced: one square = 25 mm, 640 x
    480, a strong lens bend."""
    corners = board_corners(name)
    lens = Camera(name="lens", width_px=640, height_px=480, focal_px=480.0, focal_sd=0.15, k1_sd=0.3, k2_sd=0.1,
                  centre_sd=0.03)
    rows, columns = np.mgrid[:6, :9]
    floor = np.column_stack([(columns.ravel() - 4.0) * 25.0, (2.5 - rows.ravel()) * 25.0])
    quad = np.array([corners[4, 2], corners[4, 6], corners[1, 6], corners[1, 2]])
    square = Reference(name="a4", says="board", sides_mm=(100.0, 75.0), side_sd_mm=0.05, thick_mm=0.0)
    view = solve_view(seen_of_corners(quad, 0.2), quad, square, lens)
    off = np.hypot(*(view.to_floor(corners.reshape(-1, 2)) - floor).T)
    assert np.percentile(off / pm95_mm(view, floor), 95) <= 1.0
