"""Lengths in words, and cuts in words."""
from __future__ import annotations

import re
from dataclasses import replace
from unicodedata import normalize

import pytest

from capture.tape import parse_length
from layout.plan import Cut, Offcut
from printpack.units import NO_BREAK, Units, how_many
from printpack.words.piece_outline import sawn_side
from printpack.words.cut_phrases import cut_words, runs_over
from tests.support.plans import RECTANGLE, job_of

METRIC, INCHES = Units("metric"), Units("imperial")
JOB = job_of(RECTANGLE)
PIECE = replace(JOB.plan.pieces[0], from_mm=200.0, to_mm=1285.0, near_mm=0.0, far_mm=192.0,
                keeps=("right", "near", "far"))


def said(cut: Cut, units: Units = METRIC) -> str:
    return cut_words(cut, JOB.plan, PIECE, units).replace(NO_BREAK, " ")


@pytest.mark.parametrize("mm", [1.2, 3.0, 412.0, 861.3, 1285.0, 4311.7])
def test_what_is_printed_can_be_typed_back(mm):
    """Whole mm, or 1/8 inch, 1/16 where it is a size: half a step at most."""
    assert abs(parse_length(METRIC.length(mm).replace(NO_BREAK, " ")) - mm) <= 0.5 + 1e-9
    for said, step in ((INCHES.length(mm), 25.4 / 8), (INCHES.fine(mm), 25.4 / 16), (INCHES.plain(mm), 25.4 / 16)):
        assert abs(parse_length(said.replace(NO_BREAK, " "), unit="in") - mm) <= step / 2 + 1e-6


@pytest.mark.parametrize("mm", [3.0, 5.0, 10.0, 25.4, 100.0, 365.0, 1139.8, 2438.4, 2441.6, 3060.0, 4311.7])
def test_a_large_figure_is_the_length_as_tapes_have_it(mm):
    """Unicode decomposes each sign for a fraction to the digits it stands for (NFKD, UAX 15): with the mark put back
    it is typed back as the same length."""
    figure = INCHES.figure(mm)
    spread = re.sub(r"(?<=\d)(?=[⅛¼⅜½⅝¾⅞])", " ", figure).replace(NO_BREAK, " ")
    typed = normalize("NFKD", spread).replace("\u2044", "/")
    assert ('"' in figure) == ("'" in figure) and "/8" not in figure and "/4" not in figure and "/2" not in figure
    assert parse_length(typed, unit="in") == parse_length(INCHES.length(mm).replace(NO_BREAK, " "), unit="in")
    assert METRIC.figure(mm) == METRIC.bare(mm)


@pytest.mark.parametrize(("mm", "words"), [
    (1139.825, '44 7/8"'), (8.0, '5/16"'), (10.0, '3/8"'), (13.0, '1/2"'), (2438.4, '96"'), (2441.575, "8' 0 1/8\""),
    (4311.7, "14' 1 3/4\""), (0.0, '0"'), (-25.4, '-1"')])
def test_inches_stand_alone_up_to_eight_feet(mm, words):
    """To 1/8, below 1/2 in. to 1/16; an inch is 25.4 mm exactly (international yard and pound agreement, 1959)."""
    assert INCHES.length(mm).replace(NO_BREAK, " ") == words


@pytest.mark.parametrize(("mm", "metric", "inches"), [(19.0, "19 mm", '3/4"'), (19.1, "19.5 mm", '13/16"'),
                                                      (23.0, "23 mm", '15/16"')])
def test_what_must_be_free_is_rounded_up(mm, metric, inches):
    """To half a millimetre, or 1/16 in. (19 mm are 0.748 in., 23 mm 0.906)."""
    assert METRIC.at_least(mm).replace(NO_BREAK, " ") == metric and INCHES.at_least(mm) == inches


@pytest.mark.parametrize(("mm", "metric", "inches"), [(3012.0, "3050 mm", "10' 0\""), (3000.0, "3000 mm", "10' 0\""),
                                                      (101.6, "150 mm", '4"')])
def test_what_is_cut_from_a_roll_is_rounded_up(mm, metric, inches):
    """To 50 mm, or 2 in. (3000 mm are 118.11 in., so 120)."""
    assert METRIC.roughly(mm).replace(NO_BREAK, " ") == metric
    assert INCHES.roughly(mm).replace(NO_BREAK, " ") == inches


def test_one_roll_and_two_rolls():
    assert [how_many(n, "rolls").replace(NO_BREAK, " ") for n in (0, 1, 2)] == ["0 rolls", "1 roll", "2 rolls"]


@pytest.mark.parametrize("mm", [0.04, 0.31, 1.0, 2.95, 3.2, 17.2])
def test_a_spread_is_never_rounded_down(mm):
    assert float(METRIC.spread(mm).replace(NO_BREAK, " ").split()[1]) >= mm - 1e-9
    assert parse_length(INCHES.spread(mm).replace(NO_BREAK, " ").removeprefix("± "), unit="in") >= mm - 1e-9


def test_areas():
    """1 m2 is 10.7639 sq ft (exact inch)."""
    assert METRIC.area(12.683e6, 0.012e6) == "12.68 ± 0.02 m²" and METRIC.area(12.683e6) == "12.68 m²"
    assert INCHES.area(1e6) == "10.8 sq ft"


def test_straight_cuts_name_the_end_they_are_measured_from():
    assert said(Cut(kind="cross", kept="right", at=(861.0, 861.2))) == "Saw across 861 mm from its right end"
    assert said(Cut(kind="cross", kept="left",
                    at=(861.0, 870.0))) == "Saw across, from its left end: wall edge 861 mm, your edge 870 mm"
    assert said(Cut(kind="rip", kept="near",
                    at=(113.0, 118.0))) == "Saw along, from the wall edge: left 113 mm, right 118 mm"
    assert said(Cut(kind="cross", kept="right", at=(412.0, 412.0)),
                INCHES) == 'Saw across 16 1/4" from its right end'


@pytest.mark.parametrize(("kept", "tip", "words"),
                         [("far", (300.0, 192.0), "your edge stays"),
                          ("near", (300.0, 0.0), "the wall edge stays")])
def test_a_triangle_is_sawn_along_its_long_side(kept, tip, words):
    """The middle of its saw line is as far from one edge as from the other: only the side that is kept tells which
    side is sawn."""
    corners = ((0.0, 5.0), (0.0, 192.0), tip) if kept == "far" else ((0.0, 0.0), (0.0, 187.0), tip)
    rip = Cut(kind="rip", kept=kept, at=(187.0, 0.0))
    near, far = min(t for _, t in corners), max(t for _, t in corners)
    piece = replace(PIECE, outline_mm=tuple(JOB.plan.to_plan(*corner) for corner in corners), from_mm=0.0, to_mm=300.0,
                    near_mm=near, far_mm=far, keeps=("left", kept), cuts=(rip,))
    assert words in cut_words(rip, JOB.plan, piece, METRIC).replace(NO_BREAK, " ")


def test_a_slanted_end_that_makes_a_triangle_is_the_piece_s_own_end():
    """A crosscut from the near edge's left end to the far edge's right one: the wood lies left of it, or right of
    it."""
    cut = Cut(kind="cross", kept="left", at=(0.0, 150.0))
    for corners, side in ((((0.0, 0.0), (0.0, 192.0), (150.0, 192.0)), "right"),
                          (((0.0, 0.0), (150.0, 0.0), (150.0, 192.0)), "left")):
        piece = replace(PIECE, outline_mm=tuple(JOB.plan.to_plan(*corner) for corner in corners), from_mm=0.0,
                        to_mm=150.0, near_mm=0.0, far_mm=192.0, takes="", cuts=(cut,))
        assert sawn_side(JOB.plan, piece, cut) == side


def test_an_offcut_used_up_to_its_sawn_end_is_ripped_like_any_board():
    """The offcut's own end was sawn square before, so nothing is set out corner by corner; a slanted one is not such
    an end."""
    before = next(piece for piece in JOB.plan.pieces if piece.id != PIECE.id)
    offcut = Offcut(label="9R", board=before.board, from_mm=200.0, to_mm=1285.0, near_mm=0.0, far_mm=192.0,
                    keeps=("right", "near", "far"), cut_by=before.id, used_by=PIECE.id)
    rip = Cut(kind="rip", kept="near", at=(144.0, 144.0))
    piece = replace(PIECE, takes="9R", cuts=(rip,))
    for end_mm, words in (((197.0, 197.0), "Saw along 144 mm from the wall edge"),
                          ((150.0, 197.0), "Saw along, the wall edge stays")):
        cutter = replace(before, cuts=(Cut(kind="cross", kept="left", at=end_mm),))
        rows = tuple(replace(row,
                             runs=tuple(replace(run, pieces=tuple(cutter if one.id == before.id else one
                                                                  for one in run.pieces)) for run in row.runs))
                     for row in JOB.plan.rows)
        assert (
            cut_words(rip, replace(JOB.plan, rows=rows, offcuts=(offcut,)), piece, METRIC)
            .replace(NO_BREAK, " ")
            .startswith(words)
        )


def test_a_notch_is_set_out_from_a_factory_end():
    notch = Cut(kind="notch", shape=((985.0, 132.0), (1185.0, 132.0), (1185.0, 192.0), (985.0, 192.0)))
    assert said(notch) == "Notch 100 to 300 mm from its right end, 60 mm deep at your edge"


def test_a_slanting_notch_is_left_to_the_picture():
    """A piece whose far right corner is sawn off: 1085 long at its near edge, 785 at its far edge from 100 in."""
    ring = ((0.0, 0.0), (1085.0, 0.0), (1085.0, -92.0), (785.0, -192.0), (0.0, -192.0))
    piece = replace(PIECE, outline_mm=tuple((x + JOB.plan.start_mm[0], y + JOB.plan.start_mm[1])
                                            for x, y in reversed(ring)))
    cut = Cut(kind="notch", shape=((985.0, 192.0), (1285.0, 92.0), (1285.0, 192.0)))
    assert cut_words(cut, JOB.plan, piece, METRIC).replace(NO_BREAK, " ") == \
        "Slanted cut-out at its right end and your edge"


def test_a_sliver_is_left_to_the_gap():
    assert "sliver" in said(Cut(kind="notch", shape=((985.0, 191.5), (1285.0, 191.5), (1285.0, 192.0), (985.0, 192.0))))


def test_a_hole_is_set_out_to_its_centre():
    hole = Cut(kind="hole", centre=(1185.0, 60.0), diameter=35.0, pipe="P1")
    assert said(hole) == "Hole 35 mm across for pipe P1, centre 100 mm from its right end, 60 mm from the wall edge"
    at_joint = replace(hole, centre=(1285.0, 60.0))
    assert runs_over(at_joint, PIECE) and "Half hole" in said(at_joint) and "on its right end" in said(at_joint)
    assert "10 mm beyond its right end" in said(replace(hole, centre=(1295.0, 60.0)))
