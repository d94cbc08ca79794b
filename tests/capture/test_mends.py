"""What would put a doubted reading right: offered where the survey says what it probably should have been, and then the
survey is sound. The truth is a drawn floor, known to the test alone."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from capture.adjustment.notes import NoLeftOrRight, RoughPoints
from capture.adjustment.survey import Reading
from capture.mends import (
    DropPhoto, Flip, LeaveOut, OtherPair, OtherPoint, SwapPoints, UseLength, mends_of, mends_of_note)
from capture.network import Network, TapeLength
from capture.readings.findings import Doubt, Finding, LengthOff, MarkOff
from capture.solve import solve_floor

PLACES = {"A": (0.0, 0.0), "B": (4300.0, 0.0), "C": (4300.0, 3100.0), "D": (2500.0, 3100.0), "E": (2500.0, 4700.0),
          "F": (0.0, 4700.0)}


def taped(a: str, b: str, off: float = 0.0) -> TapeLength:
    return TapeLength(a=a, b=b, sd_mm=2.0, where=f"tape[{a}{b}]",
                      length_mm=round(float(np.hypot(*np.subtract(PLACES[a], PLACES[b])))) + off)


def network(wrong: dict[tuple[str, str], float]) -> Network:
    names = "ABCDEF"
    pairs = [(a, b) for i, a in enumerate(names) for b in names[i + 1:]]
    return Network(outline=tuple(names), tapes=tuple(taped(a, b, wrong.get((a, b), 0.0)) for a, b in pairs))


@pytest.mark.parametrize("slip", [100.0, -100.0, 1000.0])
def test_a_length_misread_by_a_mark_of_the_tape_is_offered_as_it_is(slip):
    survey = solve_floor(network({("B", "E"): slip}))
    reading = survey.suspects[0]
    first, *_, last = mends_of(reading, survey.suspects, "metric")
    assert isinstance(first, UseLength) and isinstance(last, LeaveOut)
    assert first.mm == pytest.approx(taped("B", "E").length_mm)
    mended = replace(network({}), tapes=tuple(
        replace(tape, length_mm=first.mm) if tape.where == first.where else tape
        for tape in network({("B", "E"): slip}).tapes))
    assert not solve_floor(mended).suspects


def test_a_sound_reading_is_offered_nothing():
    survey = solve_floor(network({}))
    assert all(mends_of(reading, survey.suspects, "metric") == () for reading in survey.readings)


def doubted(names: tuple[str, ...], how: Finding, *, photo: str = "", kind: str = "mark") -> Reading:
    return Reading(kind=kind, names=names, photo=photo, value=0.0, residual=50.0, sd=2.0, w=9.0, redundancy=0.5,
                   suspect=True, where=f"{photo}/{names[0]}", finding=Doubt(how=how, residual=50.0, left_out=True))


def test_two_marks_at_each_other_s_corner_are_swapped_and_one_alone_is_renamed():
    e = doubted(("E",), MarkOff(off_px=200.0, at="F"), photo="2")
    f = doubted(("F",), MarkOff(off_px=210.0, at="E"), photo="2")
    elsewhere = replace(f, photo="3", where="3/F")
    assert mends_of(e, (e, f), "metric")[0] == SwapPoints(where="2/E", other="2/F", points=("E", "F"))
    assert mends_of(e, (e, elsewhere), "metric")[0] == OtherPoint(where="2/E", point="F")
    assert mends_of(doubted(("E",), MarkOff(off_px=9.0), photo="2"), (), "metric") == (LeaveOut(where="2/E"),)


def test_marks_of_one_photo_of_which_one_is_wrong_offer_to_do_without_the_photo_first():
    """Whichever it is, the rest agrees without the photo (`test_mishaps` solves such surveys)."""
    twins = [replace(doubted((name,), MarkOff(off_px=90.0), photo="2"),
                     finding=Doubt(how=MarkOff(off_px=90.0), residual=50.0, left_out=False)) for name in "EF"]
    assert mends_of(twins[0], twins, "metric") == (DropPhoto(where="2"), LeaveOut(where="2/E"))
    other = replace(twins[1], photo="3")
    assert mends_of(twins[0], (twins[0], other), "metric") == (LeaveOut(where="2/E"),)


def test_a_mark_far_off_in_a_photo_that_nothing_else_checks_offers_to_do_without_the_photo():
    alone = doubted(("E",), MarkOff(off_px=400.0, strange=True), photo="2")
    assert mends_of(alone, (alone,), "metric") == (DropPhoto(where="2"), LeaveOut(where="2/E"))


def test_what_likely_happened_is_weighed_one_slip_against_another():
    """Bayes by hand: 2 mm sd everywhere. A length 99 mm short could be 10 cm misread (1 mm off) or another pair (1 mm
    off): a certain pair is rarer, unless it is the one wall that has no length. Shares: our own guess."""
    off = LengthOff(value_mm=3791.0, sd_mm=2.0, expected_mm=3890.0, expected_sd_mm=2.0, measures=("H", "A"),
                    pair_gap_mm=1.0, pair_sd_mm=2.0)
    tape = doubted(("H", "D"), off, kind="tape")
    assert mends_of(tape, (), "metric")[0] == UseLength(where=tape.where, mm=3891.0)
    wanted = replace(tape, finding=replace(tape.finding, how=replace(off, pair_wanted=True)))
    assert mends_of(wanted, (), "metric")[0] == OtherPair(where=tape.where, between=("H", "A"))
    # Far from every usual slip, a pair that fits is believed however rare.
    odd = replace(tape, finding=replace(tape.finding, how=replace(off, value_mm=3853.0)))
    assert mends_of(odd, (), "metric")[0] == OtherPair(where=tape.where, between=("H", "A"))


def test_a_length_that_fits_another_pair_is_offered_to_it():
    off = LengthOff(value_mm=3817.0, sd_mm=2.0, expected_mm=2201.0, expected_sd_mm=2.0, measures=("A", "D"))
    assert mends_of(doubted(("A", "C"), off, kind="tape"), (), "metric")[0] == OtherPair(where="/A",
                                                                                        between=("A", "D"))


def test_a_room_named_clockwise_is_flipped_and_is_then_the_room_itself():
    """By tape alone the corners are taken as anticlockwise: named the other way round, the floor is a mirror image."""
    told = replace(network({}), outline=tuple("AFEDCB"))
    before = solve_floor(told)
    note = next(note for note in before.notes if isinstance(note, NoLeftOrRight))
    flip, = mends_of_note(note, told.outline)
    assert isinstance(flip, Flip) and flip.outline == tuple("ABCDEF") and flip.where == "outline"
    after = solve_floor(replace(told, outline=flip.outline))
    assert turn_of(before.floor.at) == -turn_of(after.floor.at) and turn_of(after.floor.at) == turn_of(PLACES.get)
    assert mends_of_note(RoughPoints(names=("P1",), pm95_mm=40.0), told.outline) == ()


def turn_of(place) -> float:
    """Which way A, B, C turn: 1 to the left, -1 to the right."""
    a, b, c = (np.array(place(name)) for name in "ABC")
    return float(np.sign((b - a)[0] * (c - b)[1] - (b - a)[1] * (c - b)[0]))
