"""One mishap in a drawn survey is said as that mishap, and the change offered makes the survey what it was drawn as.
The truth is known to the drawing alone.

Why a change of letters or of order may be believed before any reading is doubted: it is an alternative hypothesis with
no more unknowns, tested as a whole by chi-square (Baarda, A testing procedure for use in geodetic networks, 1968;
several alternatives against one another: Teunissen, Testing Theory, 2006, ch. 4, from memory).
"""
from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon

from capture.errors import CaptureError
from capture.mends import KeepOne, OtherOrder, Rename, SwapPoints, mends_of, mends_of_mishap
from capture.mishaps.errors import MishapError
from capture.readings.findings import Doubt, LettersMixed
from capture.solve import solve_floor
from capture.words import in_words, mend_words
from tests.bench.capture import run_mishaps as bench
from tests.support import simulate


@cache
def drawn(kind, seed):
    """A survey with a mishap, the same object each time."""
    return bench.draw(kind, seed)


@cache
def answer_of(kind, seed):
    """The survey, or the error, that a mishap is answered with."""
    try:
        return solve_floor(drawn(kind, seed).told)
    except CaptureError as error:
        return error


@pytest.mark.parametrize("kind, seed", [("letters", 70000), ("letters", 70001), ("backwards", 71000),
                                        ("order", 70000), ("two letters", 70001), ("pair", 302),
                                        ("pair", 304), ("pair", 95004), ("elsewhere", 301), ("elsewhere", 304)])
def test_the_first_change_offered_makes_the_survey_what_it_was_drawn_as(kind, seed):
    assert bench.is_named_first(drawn(kind, seed), answer_of(kind, seed))


def test_two_letters_swapped_are_told_of_both_marks_with_the_floor_as_it_was_meant():
    mishap = drawn("letters", 70000)
    survey = in_words(answer_of("letters", 70000), "metric")
    doubted = [reading for reading in survey.suspects if isinstance(reading.finding, Doubt)]
    assert {reading.where for reading in doubted} == set(mishap.spoilt)
    assert {(r.where, *r.names) for r in doubted} <= {(m.where, m.point) for m in mishap.told.marks}
    assert all(isinstance(reading.finding.how, LettersMixed) for reading in doubted)
    assert "have each other's letter" in survey.suspects[0].says and survey.standing.trust == "suspect"
    first, *_ = mends_of(survey.suspects[0], survey.suspects, "metric")
    assert isinstance(first, SwapPoints) and mend_words(first, "metric").startswith("Swap ")
    sound = solve_floor(mishap.drawn)
    assert simulate.aligned_rms_mm(survey.floor.ring(mishap.case.names), sound.floor.ring(mishap.case.names)) < 0.1


def test_letters_the_wrong_way_round_are_all_renamed_at_once():
    mishap = drawn("backwards", 71000)
    survey = in_words(answer_of("backwards", 71000), "metric")
    first, *_ = mends_of(survey.suspects[0], survey.suspects, "metric")
    assert isinstance(first, Rename) and {where for where, _ in first.letters} == set(mishap.spoilt)
    assert "the wrong way round" in survey.suspects[0].says


def test_an_order_that_crosses_names_the_walls_and_the_letters():
    mishap, error = drawn("order", 70000), answer_of("order", 70000)
    assert isinstance(error, MishapError)
    (mend,) = mends_of_mishap(error.mishap)
    assert error.slug == "order-mixed" and isinstance(mend, OtherOrder)
    for wall in error.mishap.crossing:
        assert "-".join(wall) in str(error)
    assert solve_floor(replace(mishap.told, outline=mend.outline)).floor


def test_one_corner_under_two_letters_offers_to_keep_either():
    mishap, error = drawn("two letters", 70001), answer_of("two letters", 70001)
    assert isinstance(error, MishapError)
    mends = mends_of_mishap(error.mishap)
    assert all(isinstance(mend, KeepOne) for mend in mends)
    assert {(mend.kept, mend.dropped) for mend in mends} == {mishap.spoilt, mishap.spoilt[::-1]}


def test_feet_typed_as_metres_are_called_that():
    """One foot is 0.3048 m exactly (international yard and pound agreement, 1959)."""
    case = simulate.draw_determined(np.random.default_rng(3), photos=3, shape="L", diagonals=3, see_through=True)
    tapes = list(case.network.tapes)
    tapes[0] = replace(tapes[0], length_mm=tapes[0].length_mm / 0.3048)
    survey = in_words(solve_floor(replace(case.network, tapes=tuple(tapes))), "metric")
    assert survey.suspects[0].names == (tapes[0].a, tapes[0].b)
    assert "feet were probably typed as metres" in survey.suspects[0].says
    first, *_ = mends_of(survey.suspects[0], survey.suspects, "metric")
    assert first.mm == pytest.approx(case.network.tapes[0].length_mm, abs=0.06)


@pytest.mark.parametrize("seed", range(5))
def test_a_sound_survey_is_no_mishap(seed):
    case = simulate.draw_determined(np.random.default_rng(seed), photos=2, diagonals=2)
    assert not [r for r in solve_floor(case.network).readings if isinstance(r.finding, Doubt)
                and isinstance(r.finding.how, LettersMixed)]


def test_a_search_ends_within_its_work_and_the_same_readings_get_the_same_answer():
    """Four clicks and a length wrong: nothing explains that. What comes out depends on the work allowed alone."""
    rng = np.random.default_rng(2)
    case = simulate.draw_determined(rng, photos=2, shape="rectangle", diagonals=1)
    marks = list(case.network.marks)
    for k in rng.choice(len(marks), 4, replace=False):
        marks[k] = replace(marks[k], x_px=marks[k].x_px + 200.0)
    wrong = replace(case.network, marks=tuple(marks))

    def told(work):
        try:
            return solve_floor(wrong, work=work).floor.points_mm.tolist()
        except CaptureError as error:
            return str(error)
    assert told(1.0) == told(1.0)


def test_an_order_whose_walls_do_not_cross_is_told_by_a_corner_seen_through_a_wall():
    """Two corners of an L are swapped: the ring is simple all the same, and a camera at its true place would see a
    corner through a wall (both said by Shapely)."""
    mishap = bench.draw("order", 19)
    spots = dict(zip(mishap.case.names, mishap.case.corners))
    assert Polygon([spots[name] for name in mishap.told.outline]).is_valid
    with pytest.raises(MishapError) as refused:
        solve_floor(mishap.told)
    seen = refused.value.mishap.through
    eye = -mishap.case.rotations[int(seen.photo)].T @ mishap.case.shifts[int(seen.photo)]
    sight = LineString([eye[:2], spots[seen.corner]])
    assert sight.crosses(LineString([spots[name] for name in seen.wall]))
    assert seen.corner in str(refused.value) and "-".join(seen.wall) in str(refused.value)
    assert bench.is_named_first(mishap, refused.value)
