"""The survey as a whole, on drawn rooms with known truth (tests/support/simulate.py) and on small hand-made ones."""
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.optimize import least_squares

from capture.adjustment.least_squares import assess, minimise
from capture.adjustment.notes import AnotherFloor, NoLeftOrRight, RoughPoints
from capture.readings.findings import HardlyChecked
from capture.adjustment.network_design import best_check, corner_sd_mm, open_pairs
from capture.initial.warm_start import solved_at
from capture.initial.photo_registration import sketch_photos
from capture.readings.state import State
from capture.adjustment.equations import equations, residuals
from capture.errors import CaptureError
from capture.adjustment.parameter_index import index_network
from capture.network import Network, OnWall, Photo, SquareCorner, TapeLength, WallOffset, default_tape_sd_mm
from capture.adjustment.residuals import smallest_slip
from capture.solve import solve_floor
from capture.words import in_words
from capture.readings.tape import Tapes
from capture.initial.selection import find_start
from tests.support import simulate


def tape(a, b, mm, sd=2.0, where=""):
    return TapeLength(a=a, b=b, length_mm=mm, sd_mm=sd, where=where)


def box(*extra, outline="ABCD", **changes):
    """A 4 x 3 m room by its walls and both diagonals."""
    tapes = (tape("A", "B", 4000), tape("B", "C", 3000), tape("C", "D", 4000), tape("D", "A", 3000),
             tape("A", "C", 5000), tape("B", "D", 5000))
    return Network(outline=tuple(outline), tapes=tapes + extra, **changes)


def cases(count, **wishes):
    """Drawn surveys, every shape of room in turn."""
    shapes = simulate.SHAPES
    return [simulate.draw_determined(np.random.default_rng(seed), **({"shape": shapes[seed % len(shapes)]} | wishes))
            for seed in range(count)]


@cache
def true_start():
    """A survey to put the true floor into, for a solve that begins there."""
    return solve_floor(box())


def solved_from_truth(case):
    """The survey whose search is spared: what is asked of its minimum does not depend on how it was come to
    (`test_again.py`)."""
    return solve_floor(case.network, near=replace(true_start(),
                                                  solved=solved_at(index_network(case.network),
                                                                   simulate.truth_state(case), only=True)))


@pytest.fixture(scope="module")
def surveyed():
    """Forty drawn surveys with two photos each, solved once from the truth: (case, survey)."""
    return [(case, solved_from_truth(case)) for case in cases(40, photos=2, see_through=True)]


def test_minimum_agrees_with_scipy():
    """Second method: scipy.optimize.least_squares with numeric derivatives, from the truth, must reach the same
    minimum."""
    for case in cases(4, photos=2, see_through=True):
        ix = index_network(case.network)
        state = simulate.truth_state(case)
        fit = minimise(ix, state)
        free = np.setdiff1d(np.arange(ix.columns), [0, 1, 3])

        def spread(x, ix=ix, state=state, free=free):
            step = np.zeros(ix.columns)
            step[free] = x
            return residuals(ix, state.moved(step))

        other = least_squares(spread, np.zeros(len(free)), x_scale="jac", method="trf", xtol=1e-14, ftol=1e-14,
                              gtol=1e-12)
        assert fit.cost == pytest.approx(2 * other.cost, rel=1e-6)


def test_start_values_are_found_for_ordinary_rooms(surveyed):
    """Searched from nothing, every floor is near the truth, and the very minimum that lies next to it: of each shape
    the two floors with the fewest readings to spare, which are the hardest to find."""
    hardest = sorted(surveyed, key=lambda one: one[1].redundancy)
    for case, survey in (one for shape in simulate.SHAPES for one in [e for e in hardest if e[0].shape == shape][:2]):
        found = find_start(index_network(case.network)).fit.state.points_mm[:len(case.names)]
        assert simulate.aligned_rms_mm(found, case.corners) < 40.0
        assert simulate.aligned_rms_mm(found, survey.floor.ring(case.names)) < 1.0


def test_redundancy_numbers_sum_to_the_degrees_of_freedom():
    survey = solve_floor(cases(1, photos=3, see_through=True)[0].network)
    total = sum(r.redundancy * (2 if r.kind == "mark" else 1) for r in survey.readings)
    assert total == pytest.approx(survey.redundancy, abs=1e-6)


def test_lengths_do_not_depend_on_which_corner_is_named_first():
    case = cases(3, photos=2, see_through=True)[2]
    turned = replace(case.network, outline=case.network.outline[2:] + case.network.outline[:2])
    one, other = solve_floor(case.network).floor, solve_floor(turned).floor
    for wall in one.walls():
        same = other.length(wall.a, wall.b)
        assert (same.length_mm, same.pm95_mm) == pytest.approx((wall.length_mm, wall.pm95_mm), rel=1e-5)


def test_residual_spread_is_what_was_put_in(surveyed):
    """Truth plus noise of the stated size: the variance factor has mean 1 (chi-square over its degrees of freedom)."""
    sums = np.array([(s.sigma0**2 * s.redundancy, s.redundancy) for _, s in surveyed])
    total, freedom = sums.sum(axis=0)
    assert total == pytest.approx(freedom, abs=3.5 * np.sqrt(2 * freedom))


def test_ninety_five_per_cent_intervals_hold_the_truth(surveyed):
    held = []
    for case, survey in surveyed:
        floor = survey.floor
        at = dict(zip(case.names, case.corners))
        held += [abs(w.length_mm - np.hypot(*(at[w.a] - at[w.b]))) <= w.pm95_mm for w in floor.walls()]
        area, pm = floor.area()
        held.append(abs(area - simulate_area(case.corners)) <= pm)
    # Walls of one room are not independent, so the bounds are wider than a binomial's.
    assert 0.90 <= np.mean(held) <= 0.99


def simulate_area(ring):
    x, y = ring.T
    return 0.5 * abs(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


@cache
def well_taped():
    """Six surveys with every diagonal, and what they are without a slip."""
    return [(case, solved_from_truth(case)) for case in cases(6, photos=3, shape="L", diagonals=3, see_through=True)]


def best_checked(survey, kind):
    """Place in its list of the reading of a kind that the others check best, and its redundancy."""
    found = [r.redundancy for r in survey.readings if r.kind == kind]
    return int(np.argmax(found)), max(found)


@pytest.mark.parametrize("slip, word", [(100.0, "10 cm"), (-1000.0, "1 m")])
def test_a_slip_of_the_tape_is_named_with_what_it_should_have_been(slip, word):
    """The best-checked tape of each survey (redundancy 0.08 or more) is misread: it is always among the doubted; where
    it stands alone, the slip is named, the reading left out, and the floor as good as without the slip."""
    first = tried = 0
    for case, clean in well_taped()[:4]:
        tapes, (k, redundancy) = list(case.network.tapes), best_checked(clean, "tape")
        if redundancy < 0.08:
            continue
        tapes[k] = replace(tapes[k], length_mm=tapes[k].length_mm + slip)
        survey = in_words(solve_floor(replace(case.network, tapes=tuple(tapes))), "metric")
        names, tried = [s.names for s in survey.suspects], tried + 1
        assert (tapes[k].a, tapes[k].b) in names
        if names[0] == (tapes[k].a, tapes[k].b):
            first += 1
            assert "nothing tells which" in survey.suspects[0].says or word in survey.suspects[0].says
        if len(names) == 1:
            assert survey.suspects[0].finding.left_out
            assert abs(survey.suspects[0].residual) == pytest.approx(abs(slip), abs=30.0)
            assert simulate.aligned_rms_mm(survey.floor.ring(case.names), case.corners) < 25.0
    # Two lengths in nearly one line can be confused; the commoner is that the right one comes first.
    assert tried >= 3 and first > tried / 2


def test_a_mark_on_the_wrong_corner_is_named():
    """The best-checked mark of each survey (redundancy 0.4 or more) is put on another corner of its photo."""
    first = tried = 0
    for case, clean in well_taped():
        marks, (k, redundancy) = list(case.network.marks), best_checked(clean, "mark")
        if redundancy < 0.4:
            continue
        other = next(m for m in marks if m.photo == marks[k].photo and m.point != marks[k].point)
        marks[k] = replace(marks[k], x_px=other.x_px + 3.0, y_px=other.y_px)
        worst = solve_floor(replace(case.network, marks=tuple(marks))).suspects[0]
        tried += 1
        first += worst.kind == "mark" and worst.names == (marks[k].point,) and worst.finding.how.at == other.point
    # Two lengths in nearly one line can be confused; the commoner is that the right one comes first.
    assert tried >= 3 and first > tried / 2


def test_clean_surveys_raise_few_alarms(surveyed):
    """Some 25 readings a survey, each tested at 0.1 %: about one survey in forty alarms; six would be beyond 99.9 %."""
    assert sum(bool(survey.suspects) for _, survey in surveyed) <= 5


def test_advice_keeps_its_promise():
    """Taking the advised length shrinks the expected error by the gain that was told."""
    case = simulate.draw_determined(np.random.default_rng(21), photos=2, shape="L", diagonals=1, see_through=True)
    survey = solve_floor(case.network)
    best = survey.advice[0]
    at = dict(zip(case.names, case.corners))
    extra = tape(best.a, best.b, float(np.hypot(*(at[best.a] - at[best.b]))), sd=1.5)
    after = solve_floor(replace(case.network, tapes=(*case.network.tapes, extra)))
    assert corner_sd_mm(survey.floor) - corner_sd_mm(after.floor) == pytest.approx(best.gain_mm,
                                                                                   abs=0.25 * best.gain_mm + 0.05)


def test_tape_alone_says_that_left_and_right_are_assumed():
    survey = solve_floor(box())
    assert survey.floor.outline == ("A", "B", "C", "D") and survey.floor.area()[0] == pytest.approx(12e6, rel=1e-6)
    assert NoLeftOrRight() in survey.notes
    assert [w.pm95_mm for w in survey.floor.walls()] == pytest.approx([1.96 * 2.0 * np.sqrt(1 - r)
                                                                       for r in (.16, .09, .16, .09)], abs=0.02)


def test_pipe_by_two_offsets_lies_inside_the_room():
    offsets = (WallOffset(point="P1", wall=("B", "C"), distance_mm=60.0, sd_mm=2.0),
               WallOffset(point="P1", wall=("A", "B"), distance_mm=900.0, sd_mm=2.0))
    floor = solve_floor(box(offsets=offsets)).floor
    assert tuple(floor.at("P1")) == pytest.approx((3940.0, 900.0), abs=1e-3)


def test_point_on_a_wall():
    net = box(tape("A", "J", 1500.0), on_walls=(OnWall(point="J", wall=("A", "B")),))
    x, y = solve_floor(net).floor.at("J")
    assert (x, y) == pytest.approx((1500.0, 0.0), abs=0.01) or (abs(y) < 0.01 and x == pytest.approx(1500.0, abs=0.1))


def test_square_corners_replace_a_diagonal():
    tapes = (tape("A", "B", 4000), tape("B", "C", 3000), tape("C", "D", 4000), tape("D", "A", 3000))
    survey = solve_floor(Network(outline=tuple("ABCD"), tapes=tapes,
                                 squares=(SquareCorner(corner="B", sd_rad=np.radians(0.5)),)))
    assert survey.floor.area()[0] == pytest.approx(12e6, rel=1e-4)


LOOSE = [(Network(outline=tuple("ABCD")), "no-scale", "tape length"),
         (Network(outline=("A", "B")), "too-few-corners", "at least 3"),
         (Network(outline=tuple("ABCD"), tapes=box().tapes[:4]), "loose-floor", "measure"),
         (Network(outline=tuple("ABCD"), tapes=(tape("A", "B", 4000), tape("B", "C", 3000), tape("A", "C", 5000))),
          "unmeasured-point", "corner D"), (box(tape("A", "Z9", 100.0)), "loose-floor", "Z9"),
         (box(squares=(SquareCorner(corner="P", sd_rad=0.01),)), "not-a-corner", "'P'"),]


@pytest.mark.parametrize("network, slug, word", LOOSE)
def test_floors_that_are_not_fixed_name_the_corner_and_a_way_out(network, slug, word):
    with pytest.raises(CaptureError) as caught:
        solve_floor(network)
    assert caught.value.slug == slug and word in str(caught.value) and str(caught.value).count("\n") == 0


def test_two_photos_without_any_length_have_no_size():
    case = cases(1, photos=2, see_through=True)[0]
    with pytest.raises(CaptureError) as caught:
        solve_floor(replace(case.network, tapes=()))
    assert caught.value.slug == "no-scale"


def test_a_photo_of_another_room_is_named():
    one = simulate.draw_determined(np.random.default_rng(1), photos=1, shape="chimney", diagonals=3, see_through=True)
    drawn = (simulate.draw_determined(np.random.default_rng(seed), photos=1, shape="chimney", diagonals=3,
                                      see_through=True) for seed in range(2, 40))
    other = next(case for case in drawn if len(case.network.marks) >= 6)
    foreign = tuple(replace(m, photo="1") for m in other.network.marks)
    net = replace(one.network, photos=(Photo(name="0", camera="c"), Photo(name="1", camera="c")),
                  marks=one.network.marks + foreign, wall_lines=())
    with pytest.raises(CaptureError, match="^1 does not fit the other photos and lengths") as refused:
        solve_floor(net)
    assert refused.value.slug == "strange-photo"


def test_impossible_wall_lengths_are_told():
    net = Network(outline=tuple("ABC"), tapes=(tape("A", "B", 4000), tape("B", "C", 900), tape("C", "A", 1000)))
    try:
        survey = solve_floor(net)
    except CaptureError as fault:
        assert "\n" not in str(fault)
    else:
        assert survey.suspects and survey.notes


def test_assessment_of_a_loose_floor_finds_the_direction():
    ix = index_network(Network(outline=tuple("ABCD"), tapes=box().tapes[:4]))
    points = np.array([[0, 0], [4000, 0], [4000, 3000], [0, 3000]], float)
    state = State(points_mm=points, rotations=np.zeros((0, 3, 3)), shifts_mm=np.zeros((0, 3)),
                  centres_px=np.zeros((0, 2)), log_focal=np.zeros(0), distortion=np.zeros((0, 2)),
                  tape_error=np.zeros(0))
    assert assess(ix, state).loose.shape == (8, 1)


BREAST = np.array([[0, 0], [4000, 0], [4000, 3000], [2600, 3000], [2600, 2650], [1400, 2650], [1400, 3000], [0, 3000]],
                  float)


def taped(ring, across, **changes):
    """A room by all its walls and some lengths across, exact to the mm."""
    names = "ABCDEFGHIJ"[:len(ring)]
    pairs = [(i, (i + 1) % len(ring)) for i in range(len(ring))] + across
    tapes = tuple(tape(names[i], names[j], float(np.hypot(*(ring[i] - ring[j])))) for i, j in pairs)
    return Network(outline=tuple(names), tapes=tapes, **changes)


def test_walls_in_one_line_do_not_cross():
    """The two walls beside a straight chimney breast lie on one line with a gap between them."""
    from_two = [(i, j) for i in (0, 1) for j in range(i + 2, 8) if (i, j) != (0, 7)]
    survey = solve_floor(taped(BREAST, from_two))
    assert simulate.aligned_rms_mm(survey.floor.ring(tuple("ABCDEFGH")), BREAST) < 0.01


@pytest.mark.parametrize("shape", ["rectangle", "L"])
def test_walls_and_square_corners_are_enough_for_rooms_with_one_shape(shape):
    ring = {"rectangle": BREAST[[0, 1, 2, 7]],
            "L": np.array([[0, 0], [5000, 0], [5000, 1500], [2000, 1500], [2000, 4000], [0, 4000]], float)}[shape]
    names = "ABCDEF"[:len(ring)]
    squares = tuple(SquareCorner(corner=n, sd_rad=np.radians(0.5)) for n in names)
    survey = solve_floor(taped(ring, [], squares=squares))
    assert simulate.aligned_rms_mm(survey.floor.ring(tuple(names)), ring) < 1.0


def test_a_breast_and_an_alcove_that_fit_alike_are_told():
    squares = tuple(SquareCorner(corner=n, sd_rad=np.radians(0.5)) for n in "ABCDEFGH")
    survey = solve_floor(taped(BREAST, [], squares=squares))
    assert [note for note in survey.notes if isinstance(note, AnotherFloor)] and survey.standing.trust == "ambiguous"


def test_a_length_whose_slip_would_not_show_is_told_with_its_size():
    """Baarda's smallest detectable slip, sd x 4.1321 / sqrt(r) (trade fact sheet 10.8): 16.5 mm for r = 0.25 and sd
    2 mm."""
    readings = solve_floor(box()).readings
    diagonal = next(r for r in readings if r.names == ("A", "C"))
    assert smallest_slip(diagonal) == pytest.approx(16.5, abs=0.1) and diagonal.finding is None
    held = solve_floor(box(tape("A", "J", 1500.0), on_walls=(OnWall(point="J", wall=("A", "B")),)))
    assert isinstance(next(r for r in held.readings if "J" in r.names and r.kind == "tape").finding, HardlyChecked)


def test_a_length_hardly_checked_names_one_that_would_check_it():
    """The oracle is the survey solved anew with that length in it: the redundancy promised is the one it then has,
    and no other length gives more."""
    case = simulate.draw_determined(np.random.default_rng(5), photos=3, shape="chimney", diagonals=2)
    survey, taken = solve_floor(case.network), {frozenset((t.a, t.b)) for t in case.network.tapes}
    told = {r.names: r for r in survey.readings if isinstance(r.finding, HardlyChecked)}
    assert told[("C", "D")].finding.check == ("C", "E")
    assert told[("A", "B")].finding.check is None, "no single length checks it"

    def redundancy_with(*pair):
        length = float(np.hypot(*(survey.floor.at(pair[0]) - survey.floor.at(pair[1]))))
        more = TapeLength(a=pair[0], b=pair[1], length_mm=length, sd_mm=default_tape_sd_mm(length))
        again = solve_floor(replace(case.network, tapes=(*case.network.tapes, more)), near=survey)
        return next(r.redundancy for r in again.readings if r.kind == "tape" and r.names == ("C", "D"))

    best = best_check(survey.floor, open_pairs(survey.floor, case.network), "C", "D", told[("C", "D")].sd)
    assert best[:2] == ("C", "E") and redundancy_with("C", "E") == pytest.approx(best[2], abs=1e-3)
    others = [pair for pair in (("B", "D"), ("C", "H"), ("B", "H"), ("D", "H")) if frozenset(pair) not in taken]
    assert len(others) >= 3 and max(redundancy_with(*pair) for pair in others) < best[2]


def test_a_corner_held_by_a_hair_is_refused_not_promised():
    """D lies almost on the line A-C, so A-D and C-D hardly fix it sideways."""
    ring = np.array([[0, 0], [4000, 0], [4000, 3000], [2000, 1501]], float)
    net = Network(outline=tuple("ABCD"), tapes=(tape("A", "B", 4000), tape("B", "C", 3000), tape("A", "C", 5000),
                                                tape("C", "D", float(np.hypot(*(ring[2] - ring[3])))),
                                                tape("D", "A", float(np.hypot(*ring[3])))))
    with pytest.raises(CaptureError) as caught:
        solve_floor(net)
    assert caught.value.slug in ("loose-floor", "crossed-outline")


def test_a_reading_left_out_is_judged_by_what_the_others_predict():
    case = cases(1, photos=3, shape="L", diagonals=3, see_through=True)[0]
    ix = index_network(case.network)
    state = minimise(ix, simulate.truth_state(case)).state
    weights = np.ones(len(residuals(ix, state)))
    line = ix.lines_of(Tapes).start
    weights[line] = 0.0
    fit = minimise(ix, state, line_weights=weights)
    precision = assess(ix, fit.state, line_weights=weights)
    slope = equations(ix, fit.state)[1][line]
    assert precision.residual_cov[line, line] == pytest.approx(1.0 + slope @ precision.cov @ slope, rel=1e-9)
    assert precision.residual_cov[line, line] > 1.0


def test_a_mark_that_names_a_corner_behind_the_camera_is_found():
    """Each of the first three drawn rooms with such a corner takes seconds."""
    named = []
    for case in cases(5, photos=3, shape="chimney", diagonals=3):
        depth = np.einsum("pj,kj->pk", case.rotations[:, 2, :2], case.corners) + case.shifts[:, 2:]
        marks = list(case.network.marks)
        pick = next(((i, int(np.flatnonzero(depth[int(m.photo)] < -300)[0])) for i, m in enumerate(marks)
                     if (depth[int(m.photo)] < -300).any() and sum(n.photo == m.photo for n in marks) >= 4), None)
        if pick is None:
            continue
        marks[pick[0]] = replace(marks[pick[0]], point=case.names[pick[1]])
        survey = solve_floor(replace(case.network, marks=tuple(marks)))
        named.append(any(s.kind == "mark" and s.names == (case.names[pick[1]],) for s in survey.suspects))
    assert named == [True] * 3


def test_many_photos_cost_in_proportion():
    """Sketches are kept in one beam, so that ten photos do not mean two to the tenth of them."""
    case = simulate.draw_determined(np.random.default_rng(3), photos=10, shape="rectangle", diagonals=2)
    sketches = sketch_photos(index_network(case.network), first_trials=4, limit=24, square_weight=1.0)
    assert 0 < len(sketches) <= 24 and all(len(s.poses) == 10 for s in sketches)


def test_a_point_put_by_eye_is_named_as_too_rough_to_cut_for_and_a_taped_one_is_not():
    def off(name, wall, mm, sd):
        return WallOffset(point=name, wall=wall, distance_mm=mm, sd_mm=sd)
    taped = off("P1", ("A", "B"), 300.0, 2.0), off("P1", ("D", "A"), 400.0, 2.0)
    by_eye = off("P2", ("A", "B"), 900.0, 100.0), off("P2", ("D", "A"), 1200.0, 50.0)
    assert not [note for note in solve_floor(box(offsets=taped)).notes if isinstance(note, RoughPoints)]
    (rough,) = [note for note in solve_floor(box(offsets=taped + by_eye)).notes if isinstance(note, RoughPoints)]
    assert rough.names == ("P2",) and rough.pm95_mm == pytest.approx(196.0, abs=0.1)  # 1.96 sd of the rougher distance
