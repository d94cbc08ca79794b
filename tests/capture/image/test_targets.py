"""Printed floor targets: found in made photographs, and joined into the survey.

Truth is OpenCV's own markers and projectPoints on a known room and lens (`target_scene.py`).
"""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from capture.adjustment.least_squares import assess, free_columns, minimise
from capture.readings.state import State
from capture.adjustment.equations import equations
from capture.adjustment.parameter_index import index_network
from capture.network import Photo, TapeLength, TargetMark, TargetSighting
from capture.solve import solve_floor
from capture.image.targets import MOST_TARGETS, find_targets
from tests.support import target_scene as scene
from tests.support import simulate


def places_seen(seen_from, number, place, rng, sd=0.3, side=150.0) -> TargetSighting:
    """A sighting as the detector would make it, without making the picture."""
    px = seen_from.px(scene.corners(place, side)) + rng.normal(0, sd, (4, 2))
    return TargetSighting(number=number, corners_px=tuple(map(tuple, px.tolist())), sd_px=sd)


def both_ways(rng, *, side=150.0, moved=None, **wishes):
    """The two photos that share no corner, with sightings of all targets; `moved`: places of targets in the second
    photo."""
    later = scene.TARGETS | (moved or {})
    seen = [tuple(places_seen(v, n, p, rng, side=side) for n, p in t.items())
            for v, t in ((scene.NORTH, scene.TARGETS), (scene.SOUTH, later))]
    return scene.network_of({"north.jpg": (scene.NORTH, seen[0]), "south.jpg": (scene.SOUTH, seen[1])}, rng, **wishes)


@pytest.fixture(scope="module")
def pictures():
    rng = np.random.default_rng(11)
    floor = scene.floor_picture(list(scene.TARGETS.items()))
    return [(v, find_targets(scene.photograph(floor, v, rng))) for v in (scene.NORTH, scene.SOUTH)]


def test_corners_are_found_to_a_fraction_of_a_pixel(pictures):
    errors = []
    for seen_from, sightings in pictures:
        assert [s.number for s in sightings] == [0, 1, 2]
        for s in sightings:
            errors.append(np.array(s.corners_px) - seen_from.px(scene.corners(scene.TARGETS[s.number])))
            assert np.sqrt(np.mean(errors[-1] ** 2)) < 2.0 * s.sd_px
    assert np.sqrt(np.mean(np.square(errors))) < 0.3
    # No shift in common: half a pixel would be the wrong centre of the first pixel.
    assert np.abs(np.mean(errors, axis=(0, 1))).max() < 0.1


def test_doubles_and_strangers_are_no_targets():
    rng = np.random.default_rng(12)
    twice = [(4, (1300.0, 1500.0, 0.3)), (4, (2900.0, 1900.0, 2.1)), (MOST_TARGETS + 3, (2100.0, 1250.0, 4.0)),
             (7, (2050.0, 2000.0, 1.0))]
    assert [s.number for s in find_targets(scene.photograph(scene.floor_picture(twice), scene.NORTH, rng))] == [7]


def test_photos_that_share_no_corner_are_joined_by_their_targets(pictures):
    rng = np.random.default_rng(13)
    two = [(v, tuple(s for s in seen if s.number < 2)) for v, seen in pictures]
    net = scene.network_of(dict(zip(("north.jpg", "south.jpg"), two)), rng)
    seen = {photo: {m.point for m in net.marks if m.photo == photo} for photo in ("north.jpg", "south.jpg")}
    assert seen == {"north.jpg": {"A", "B"}, "south.jpg": {"C", "D"}}
    survey = solve_floor(net)
    assert not survey.suspects and not survey.notes
    for wall in survey.floor.walls():
        assert abs(wall.length_mm - scene.true_length(wall.a, wall.b)) < wall.pm95_mm < 80.0


def test_what_is_claimed_of_the_corners_is_true():
    """150 drawn surveys with sheets printed as badly as they are trusted to be (0.3 mm, 1 % in common): the squared
    error of the corners over the claimed covariance has mean 5, the number of free coordinates, within three of its own
    sd (chi-square)."""
    rng, squares = np.random.default_rng(14), []
    truth = np.array(list(scene.ROOM.values()))
    for _ in range(150):
        side = 150.0 * (1 + rng.normal(0, 0.01))
        sheets = {n: scene.corners(p, side) + rng.normal(0, 0.3, (4, 2)) for n, p in scene.TARGETS.items()}
        ix = index_network(drawn(sheets, rng))
        fit = minimise(ix, true_state(np.concatenate([truth, *sheets.values()])), iterations=30)
        off = (fit.state.points_mm[:4] - true_state(truth).points_mm).ravel()[[2, 4, 5, 6, 7]]
        squares.append(off @ np.linalg.solve(assess(ix, fit.state).cov[np.ix_([2, 4, 5, 6, 7], [2, 4, 5, 6, 7])], off))
    assert abs(np.mean(squares) - 5.0) < 3.0 * np.sqrt(2 * 5 / 150)


def drawn(sheets, rng):
    """The two photos with sightings of sheets that lie at the given corners, sd 0.3 px; one tape length with its own
    error."""
    net, seen = scene.network_of({"north.jpg": (scene.NORTH, ()), "south.jpg": (scene.SOUTH, ())}, rng), []
    for name, seen_from in (("north.jpg", scene.NORTH), ("south.jpg", scene.SOUTH)):
        for number, corners in sheets.items():
            px = seen_from.px(corners) + rng.normal(0, 0.3, (4, 2))
            seen.append(TargetMark(photo=name, seen=TargetSighting(number=number,
                                                                   corners_px=tuple(map(tuple, px.tolist())),
                                                                   sd_px=0.3)))
    (tape,) = net.tapes
    return replace(net, target_marks=tuple(seen),
                   tapes=(replace(tape, length_mm=tape.length_mm + rng.normal(0, tape.sd_mm)),),
                   cameras=tuple(replace(c, focal_px=scene.FOCAL * (1 + rng.normal(0, c.focal_sd)),
                                         k1=scene.K1 + rng.normal(0, c.k1_sd), k2_sd=1e-6, centre_sd=0.0)
                                 for c in net.cameras))


def true_state(points) -> State:
    return State(points_mm=points, rotations=np.array([v.rotation for v in (scene.NORTH, scene.SOUTH)]),
                 distortion=np.array([[scene.K1, 0.0]]), tape_error=np.zeros(0),
                 centres_px=np.full((2, 2), [799.5, 599.5]),
                 shifts_mm=np.array([v.shift for v in (scene.NORTH, scene.SOUTH)]),
                 log_focal=np.log([scene.FOCAL])).in_gauge(0, 1)


def test_the_tape_rules_over_the_printed_size():
    """Sheets printed 1.5 % too large: the floor keeps the tape's size."""
    right, wrong = (solve_floor(both_ways(np.random.default_rng(2), side=side)) for side in (150.0, 152.25))
    for wall in wrong.floor.walls():
        assert abs(wall.length_mm - scene.true_length(wall.a, wall.b)) < wall.pm95_mm
    taped = [s.floor.length("A", "B").length_mm for s in (right, wrong)]
    assert abs(taped[1] - taped[0]) < 1.5


def test_a_printer_that_fits_to_page_is_told():
    survey = solve_floor(both_ways(np.random.default_rng(3), side=141.0, taped=(("A", "B"), ("A", "C"), ("B", "D"))))
    (suspect,) = survey.suspects
    assert suspect.kind == "sheet-size" and suspect.finding.how.value_mm == 150.0
    assert suspect.finding.how.expected_mm == pytest.approx(141.0, abs=2.0)


def test_a_sheet_moved_between_photos_is_named_and_left_out():
    moved = {1: (2960.0, 1900.0, 2.1)}
    survey = solve_floor(both_ways(np.random.default_rng(4), moved=moved,
                                   taped=(("A", "B"), ("B", "C"), ("A", "C"), ("B", "D"))))
    assert {s.names for s in survey.suspects} == {("T1",)} and survey.suspects[0].kind == "target"
    assert all(abs(w.length_mm - scene.true_length(w.a, w.b)) < w.pm95_mm for w in survey.floor.walls())


def test_targets_have_no_names_among_the_corners():
    """A person may call a corner T0; nothing said to people lists a target's corners as points."""
    net = both_ways(np.random.default_rng(5))
    call = {"A": "T0", "B": "T1", "C": "C", "D": "D"}
    renamed = replace(net, outline=tuple(call.values()),
                      marks=tuple(replace(m, point=call[m.point]) for m in net.marks),
                      tapes=(TapeLength(a="T0", b="T1", length_mm=net.tapes[0].length_mm, sd_mm=1.5),))
    one, other = solve_floor(net), solve_floor(renamed)
    assert other.floor.names == ("T0", "T1", "C", "D") and np.allclose(one.floor.points_mm, other.floor.points_mm,
                                                                       atol=1e-6)
    assert {n for a in one.advice for n in (a.a, a.b)} <= set("ABCD")


def test_derivatives_and_redundancy():
    net = both_ways(np.random.default_rng(6))
    ix = index_network(net)
    points = np.concatenate([np.array(list(scene.ROOM.values())), *(scene.corners(p) for p in scene.TARGETS.values())])
    state = true_state(points).moved(np.random.default_rng(0).normal(0, 1e-4, ix.columns))
    residual, jac = equations(ix, state)
    for column in range(ix.columns):
        step = np.zeros(ix.columns)
        step[column] = 1e-4 if column < ix.point_columns else 1e-7
        ahead, back = (equations(ix, state.moved(sign * step))[0] for sign in (1, -1))
        assert np.allclose((back - ahead) / (2 * step[column]), jac[:, column], atol=1e-5 * np.abs(jac).max() + 1e-4)
    assert np.trace(np.eye(len(residual)) - assess(ix, state).hat) == pytest.approx(len(residual)
                                                                                    - len(free_columns(ix)))


def test_the_shape_of_a_square_does_not_depend_on_its_place_turn_size_or_side():
    net = both_ways(np.random.default_rng(6))
    ix = index_network(net)
    lines = slice(-7 - 15, -7 - 3)
    for turn, size, mirror in ((0.0, 150.0, 1.0), (1.2, 90.0, 1.0), (4.0, 200.0, -1.0)):
        points = np.concatenate([np.array(list(scene.ROOM.values())),
                                 *(scene.corners((x, y, a + turn), size) for x, y, a in scene.TARGETS.values())])
        assert np.allclose(equations(ix, replace(true_state(points), points_mm=points * [1.0, mirror]))[0][lines], 0.0,
                           atol=1e-9)


def test_without_targets_nothing_changes():
    """A target nobody else sees, in a photo nobody marked, and the size of targets that are not there: the very same
    floor."""
    case = simulate.draw_determined(np.random.default_rng(21), photos=2, diagonals=2, see_through=True)
    plain = solve_floor(case.network)
    lonely = TargetMark(photo="9", seen=places_seen(scene.NORTH, 0, scene.TARGETS[0], np.random.default_rng(0)))
    more = solve_floor(replace(case.network, target_size_mm=97.0,
                               photos=(*case.network.photos, Photo(name="9", camera="c")), target_marks=(lonely,)))
    assert np.array_equal(plain.floor.points_mm, more.floor.points_mm) and np.array_equal(plain.floor.cov_mm2,
                                                                                          more.floor.cov_mm2)
    assert plain.readings == more.readings and plain.notes == more.notes


def test_a_photo_nobody_marked_links_two_others_by_the_targets_it_sees():
    rng = np.random.default_rng(1)
    between = scene.view((3600, 1500, 1500), (1900, 1600))
    seen = {"north.jpg": (scene.NORTH, (0, 1)), "between.jpg": (between, (0, 1, 2)), "south.jpg": (scene.SOUTH, (2,))}
    net = scene.network_of({name: (v, tuple(places_seen(v, n, scene.TARGETS[n], rng) for n in numbers))
                            for name, (v, numbers) in seen.items()}, rng)
    survey = solve_floor(replace(net, marks=tuple(m for m in net.marks if m.photo != "between.jpg")))
    assert {p.photo for p in survey.photos} == set(seen) and not survey.notes
    assert all(abs(w.length_mm - scene.true_length(w.a, w.b)) < w.pm95_mm for w in survey.floor.walls())
