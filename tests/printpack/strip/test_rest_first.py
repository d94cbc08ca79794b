"""A rest that is kept whole is parted off before the cut along that would rip it (common practice, no source)."""
from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from shapely.geometry import Polygon

from layout.plan import Cut, Offcut
from printpack.strip.rest_first import rest_first
from printpack.strip.steps import saw_steps
from printpack.words.in_place import InPlace
from tests.support.plans import RECTANGLE, job_of

#: A piece under a wall that runs flat across its right end, board frame, mm: the board's left end and its far edge
#: stay, a rip runs along it and a slanted line closes it; the rest begins a kerf behind its tip.
RING = ((0.0, 120.0), (374.8, 131.8), (444.0, 192.0), (0.0, 192.0))
BEYOND = ((1285.0, 192.0), (1285.0, 160.45), (374.8, 131.8), (444.0, 192.0))


def bay_piece():
    """(a plan, its first piece as that one)."""
    job = job_of(RECTANGLE)
    plan, first = job.plan, job.plan.rows[0].pieces[0]
    left, top = plan.frame.start_mm
    piece = replace(first, outline_mm=tuple((left + x, top - (y - 120.0)) for x, y in RING), from_mm=0.0, to_mm=444.0,
                    near_mm=120.0, far_mm=192.0, keeps=("left", "far"), leaves=("R",), takes="", cuts=(
                        Cut(kind="rip", kept="far", at=(72.0, 58.02)), Cut(kind="line", shape=BEYOND)))
    rest = Offcut(label="R", board=first.board, from_mm=447.0, to_mm=1285.0, near_mm=0.0, far_mm=192.0,
                  keeps=("right", "near", "far"), cut_by=piece.id, used_by="3.1")
    return replace(plan, offcuts=(rest,)), piece


def test_the_rest_comes_off_whole_in_the_first_step_and_the_piece_is_what_stays():
    """By shapely: the board sawn step by step."""
    plan, piece = bay_piece()
    steps = saw_steps(plan, piece, InPlace())
    assert [step.kind for step in steps] == ["length", "width", "shape"]
    wood = shapely.box(0.0, 0.0, 1285.0, 192.0)
    rest = shapely.box(447.0, 0.0, 1285.0, 192.0)
    for step in steps:
        off = shapely.union_all([Polygon(ring).buffer(0) for ring in step.off])
        assert Polygon(step.wood).buffer(0.5).contains(wood.intersection(shapely.box(0.0, 0.0, 444.0, 192.0)))
        if step.pencils:
            assert off.intersection(wood).buffer(1e-6).contains(rest)
        wood = wood.difference(off)
    assert [bool(step.pencils) for step in steps] == [True, False, False]
    assert wood.symmetric_difference(Polygon(RING)).area == pytest.approx(0.0, abs=40.0)  # the rip's hundredths


@pytest.mark.parametrize("change", ["no rip", "a crosscut", "no rest"])
def test_elsewhere_nothing_is_added(change):
    plan, piece = bay_piece()
    rip, line = piece.cuts
    cuts = {"no rip": (line,), "a crosscut": (Cut(kind="cross", kept="left", at=(300.0, 444.0)), rip), "no rest":
            piece.cuts}[change]
    piece = replace(piece, cuts=cuts, leaves=() if change == "no rest" else piece.leaves)
    assert rest_first(plan, piece) is piece
