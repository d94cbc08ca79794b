"""Cuts as marks: they give the piece, and are measured from an end the stock has."""
from __future__ import annotations

import pytest
from shapely.geometry import Polygon, box

from layout.planning.cuts import cuts_for, keeps_of
from layout.room import Board

BOARD = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)


def test_a_whole_board_has_no_cut_and_keeps_everything():
    shape = box(0, 0, 1285, 192)
    assert cuts_for(shape, (0.0, 1285.0), BOARD) == ()
    assert keeps_of(shape, BOARD) == ("left", "right", "near", "far")


def test_a_row_end_piece_is_measured_from_its_left_end():
    (cut,) = cuts_for(box(0, 0, 861, 192), (0.0, 1285.0), BOARD)
    assert (cut.kind, cut.kept, cut.at) == ("cross", "left", (861.0, 861.0))
    assert keeps_of(box(0, 0, 861, 192), BOARD) == ("left", "near", "far")


def test_a_row_start_piece_is_measured_from_its_right_end():
    (cut,) = cuts_for(box(424, 0, 1285, 192), (0.0, 1285.0), BOARD)
    assert (cut.kind, cut.kept, cut.at) == ("cross", "right", (861.0, 861.0))


def test_an_offcut_is_measured_from_the_end_it_still_has():
    (cut,) = cuts_for(box(500, 0, 1285, 192), (424.0, 1285.0), BOARD)
    assert (cut.kept, cut.at) == ("right", (785.0, 785.0))
    assert cuts_for(box(424, 0, 1285, 192), (424.0, 1285.0), BOARD) == ()


def test_a_slice_of_a_middle_is_measured_from_its_left_sawn_end():
    (cut,) = cuts_for(box(300, 0, 700, 192), (300.0, 900.0), BOARD)
    assert (cut.kept, cut.at) == ("left", (400.0, 400.0))


def test_a_slanted_end_gives_two_marks():
    (cut,) = cuts_for(Polygon([(0, 0), (861, 0), (840, 192), (0, 192)]), (0.0, 1285.0), BOARD)
    assert (cut.kind, cut.kept) == ("cross", "left")
    assert cut.at == (pytest.approx(861.0), pytest.approx(840.0))


def test_a_first_row_is_ripped_from_its_far_edge_and_a_last_row_from_its_near_edge():
    (first,) = cuts_for(box(0, 92, 1285, 192), (0.0, 1285.0), BOARD)
    (last,) = cuts_for(Polygon([(0, 0), (1285, 0), (1285, 120), (0, 113)]), (0.0, 1285.0), BOARD)
    assert (first.kind, first.kept, first.at) == ("rip", "far", (100.0, 100.0))
    assert (last.kind, last.kept) == ("rip", "near")
    assert last.at == (pytest.approx(113.0), pytest.approx(120.0))


def test_a_chimney_corner_is_a_notch_whose_corners_a_person_can_mark():
    notched = box(0, 0, 1285, 192).difference(box(600, 0, 900, 80))
    (notch,) = cuts_for(notched, (0.0, 1285.0), BOARD)
    assert notch.kind == "notch"
    assert Polygon(notch.shape).symmetric_difference(box(600, 0, 900, 80)).area < 1e-9


def test_a_corner_cut_off_too_steeply_for_marks_on_both_edges_is_left_to_a_template():
    (notch,) = cuts_for(Polygon([(30, 0), (1285, 0), (1285, 192), (0, 192), (0, 50)]), (0.0, 1285.0), BOARD)
    assert notch.kind == "line"
    assert Polygon(notch.shape).equals(Polygon([(0, 0), (30, 0), (0, 50)]))
