"""A survey's sentences, against hand-made facts: every kind of finding and note has words, in both units."""
import dataclasses
from dataclasses import replace

import numpy as np
import pytest

from capture.adjustment.notes import AnotherFloor, BarePhoto, Disagreement, NoLeftOrRight, Note, RoughPoints, VagueLens
from capture.adjustment.survey import Reading, Survey
from capture.floor import exact_floor
from capture.readings.findings import Contradicted, Doubt, Finding, HardlyChecked, LengthOff, MarkOff, SizeOff
from capture.readings.table import KINDS, PRIORS, UNITS
from capture.slips import likely_slip
from capture.solve import solve_floor
from capture.words import in_words, named, note_words
from tests.capture.test_solve import box, tape

FLOOR = exact_floor(np.array([[0.0, 0.0], [4000.0, 0.0], [4000.0, 3000.0], [0.0, 3000.0]]), tuple("ABCD"))
#: Kinds whose findings always hold how far off they are; the others need words for a bare contradiction.
HOLDS_MORE = {"tape", "offset", "mark"}


def reading(kind="tape", names=("A", "B"), finding=None, photo="", value=4000.0):
    return Reading(kind=kind, names=names, photo=photo, value=value, residual=0.0, sd=2.0, w=9.0, redundancy=0.5,
                   suspect=True, where="", finding=finding)


def doubt(how, *, left_out=True, cost=0.0, residual=0.0):
    return Doubt(how=how, residual=residual, left_out=left_out, cost=cost)


def length(value, expected):
    return LengthOff(value_mm=value, sd_mm=2.0, expected_mm=expected, expected_sd_mm=2.0)


def says(*suspects, show="metric"):
    return [one.says for one in in_words(Survey(floor=FLOOR, suspects=suspects, readings=suspects), show).suspects]


@pytest.mark.parametrize("kind", sorted(set(UNITS) - PRIORS))
def test_every_kind_of_reading_has_a_name_and_a_sentence(kind):
    one = reading(kind=kind, names=("A", "B", "C"), photo="1.jpg",
                  finding=doubt(length(1.0, 2.0) if kind in HOLDS_MORE else Contradicted()))
    assert "A" in named(one) and "A" in says(one)[0] and says(one)[0].endswith("(it is left out of the floor shown)")


def test_every_kind_of_note_has_words_in_both_units():
    notes = [BarePhoto(photo="1.jpg"), Disagreement(sigma0=3.04), NoLeftOrRight(),
             AnotherFloor(corner="C", away_mm=254.0), RoughPoints(names=("P", "Q"), pm95_mm=25.4),
             VagueLens(camera="c", focal_sd=0.05)]
    assert {note.slug for note in notes} == {kind.slug for kind in Note.__subclasses__()}
    assert all(note_words(note, show) for note in notes for show in ("metric", "imperial"))
    assert "254 mm" in note_words(notes[3], "metric") and '10"' in note_words(notes[3], "imperial")
    with pytest.raises(TypeError):
        note_words(Note(), "metric")


@pytest.mark.parametrize(("value", "expected", "unit", "mistake"),
                         [(4100.0, 4000.0, "metric", "misread"), (3000.0, 4000.0, "metric", "misread"),
                          (4000.0, 4000.0 - 25.4, "imperial", "misread"), (5321.0, 3521.0, "metric", "swapped"),
                          (412.0, 4120.0, "metric", "cm-as-mm"), (4000.0, 400.0, "metric", "decimal"),
                          (4000.0, 4075.0, "metric", "case"), (1000.0, 2540.0, "metric", "inch-side"),
                          (2540.0, 1000.0, "metric", "inches-as-cm"), (4.0, 4000.0, "metric", "m-as-mm"),
                          (4000.0, 3937.0, "metric", None)])
def test_a_slip_is_known_by_what_it_changes(value, expected, unit, mistake):
    """Source of the mistakes: common practice, no source; the amounts are arithmetic."""
    slip = likely_slip(length(value, expected), unit)
    assert (slip and slip.mistake) == mistake


def test_another_pair_a_renamed_mark_and_a_printed_size_are_told():
    other = replace(length(4000.0, 3937.0), measures=("A", "C"))
    assert "it is what A-C should measure" in says(reading(finding=doubt(other)))[0]
    assert "that spot is corner C: rename" in says(reading(kind="mark", names=("B",), photo="1",
                                                           finding=doubt(MarkOff(off_px=90.0, at="C"))))[0]
    assert "out of this photo's sight" in says(reading(kind="mark", names=("B",), photo="1",
                                                       finding=doubt(MarkOff(off_px=None))))[0]
    assert "of another room" in says(reading(kind="mark", names=("B",), photo="1",
                                             finding=doubt(MarkOff(off_px=300.0, strange=True))))[0]
    assert "are 141 mm" in says(reading(kind="sheet-size", names=("T1",),
                                        finding=doubt(SizeOff(value_mm=150.0, expected_mm=141.2))))[0]


def test_of_readings_that_cannot_be_told_apart_the_usual_slip_is_named_first_by_the_reader_s_tape():
    metric = reading(names=("A", "B"), finding=doubt(length(4100.0, 4000.0), left_out=False, cost=5.0), value=4100.0)
    inches = reading(names=("C", "D"), finding=doubt(length(4000.0 + 304.8, 4000.0), left_out=False, cost=5.0),
                     value=4304.8)
    survey = Survey(floor=FLOOR, suspects=(metric, inches), readings=(metric, inches))
    assert [[one.names for one in in_words(survey, show).suspects] for show in ("metric", "imperial")] == [
        [("A", "B"), ("C", "D")], [("C", "D"), ("A", "B")]]


def test_of_two_that_cannot_be_told_apart_one_may_be_left_out_and_the_other_is_still_named():
    """Where both kept make no room (walls that cross), the likeliest is left out."""
    out = reading(names=("A", "B"), finding=doubt(length(4100.0, 4000.0)))
    other = reading(names=("C", "D"), finding=doubt(length(4000.0, 4100.0), left_out=False))
    assert "left out of the floor" in says(out, other)[0] and says(out, other)[1].startswith("C-D may be wrong instead")


def test_another_unit_words_the_same_floor_anew():
    """What is solved holds no sentence; the floor of the worded survey is the very same."""
    solved = solve_floor(box(tape("A", "C", 5100.0)))
    assert not solved.verdict and not solved.warnings and not any(r.says for r in solved.readings)
    metric, imperial = in_words(solved, "metric"), in_words(solved, "imperial")
    assert metric.floor is imperial.floor is solved.floor
    assert " mm" in metric.verdict and '"' in imperial.verdict and " mm" not in imperial.verdict


def test_findings_are_frozen_and_have_slugs_of_their_own():
    kinds = Finding.__subclasses__()
    assert len({kind.slug for kind in kinds}) == len({kind.__name__ for kind in kinds})
    with pytest.raises(dataclasses.FrozenInstanceError):
        HardlyChecked(hidden_mm=1.0).hidden_mm = 2.0


def test_kinds_of_reading_are_called_differently():
    called = [name for kind in KINDS if not kind.prior for name in kind.units]
    assert len(called) == len(set(called))
