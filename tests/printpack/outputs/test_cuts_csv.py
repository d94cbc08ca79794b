"""The cut list names the cuts that the row's picture draws, in its order."""
from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest

from layout.planning.planner import EFFORTS, plan_floor
from layout.room import Board, Room, Wishes
from printpack.outputs.cuts_csv import cuts_csv
from printpack.strip.steps import saw_steps
from printpack.words.in_place import InPlace
from printpack.words.piece_outline import is_sliver
from tests.support.plans import BREAST, bay_piece, floor_of

#: A room with walls that run flat across the ends of its rows, mm.
BAY = ((0, 0), (3600, 0), (3600, 3200), (2700, 3205), (2400, 3600), (1200, 3610), (900, 3200), (0, 3190))
#: Which step a cut's line belongs to; a rip that runs out between the ends is drawn with what is cut out.
STEP = {"cross": ("length",), "rip": ("width", "shape"), "notch": ("shape",), "line": ("shape",), "hole": ("holes",)}


def lines_of(plan):
    """The lines of the table by piece."""
    pieces = {}
    for line in csv.DictReader(io.StringIO(cuts_csv(plan, {}))):
        pieces.setdefault(line["piece"], []).append(line)
    return pieces


def planned(ring):
    floor = floor_of(ring)
    return plan_floor(Room(names=floor.outline, outline_mm=floor.points_mm),
                      Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8), Wishes(),
                      moves=EFFORTS["preview"])


@pytest.mark.parametrize("ring", [BREAST, BAY], ids=["breast", "bay"])
def test_the_table_lists_what_the_picture_draws_in_its_order(ring):
    """Against the steps of the picture: each line of the table stands in a step at or after the line's before it, and
    each straight line the picture draws is a line of the table. A cut too thin to be sawn has no step."""
    plan = planned(ring)
    lines = lines_of(plan)
    for piece in plan.pieces:
        steps = [step.kind for step in saw_steps(plan, piece, InPlace()) if step.kind != "fit"]
        thin = sum(is_sliver(cut) for cut in piece.cuts)
        listed = [line["cut"] for line in lines[piece.id] if line["cut"] != "none"]
        at = 0
        for kind in listed[:len(listed) - thin]:
            at = next(k for k in range(at, len(steps)) if steps[k] in STEP[kind])
        drawn = sum(len(step.lines) + len(step.bores) for step in saw_steps(plan, piece, InPlace()))
        assert drawn == len(listed) - thin, piece.id


def test_a_board_parted_for_its_rest_is_parted_first():
    """The table says the square cut at the piece's tip, from the end that stays, before the cut along; what a cut-out
    takes lies on the wood that leaves."""
    plan, piece = bay_piece()
    row = plan.rows[0]
    run = row.runs[0]
    plan = replace(plan, rows=(replace(row, runs=(replace(run, pieces=(piece,)),)),))
    lines = lines_of(plan)[piece.id]
    assert [line["cut"] for line in lines] == ["cross", "rip", "line"]
    assert (lines[0]["kept"], lines[0]["at_first_mm"], lines[0]["at_second_mm"]) == ("left", "444.000", "444.000")
    assert max(float(pair.split()[0]) for pair in lines[2]["shape_mm"].split("; ")) == pytest.approx(444.0)
