"""A rest that is kept whole is parted off before the cut along that would rip it (common practice, no source)."""
from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from shapely.geometry import Polygon

from layout.plan import Cut
from printpack.strip.rest_first import rest_first
from printpack.strip.steps import saw_steps
from printpack.words.in_place import InPlace
from tests.support.plans import BAY_PIECE, bay_piece


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
    assert wood.symmetric_difference(Polygon(BAY_PIECE)).area == pytest.approx(0.0, abs=40.0)  # the rip's hundredths


@pytest.mark.parametrize("change", ["no rip", "a crosscut", "no rest"])
def test_elsewhere_nothing_is_added(change):
    plan, piece = bay_piece()
    rip, line = piece.cuts
    cuts = {"no rip": (line,), "a crosscut": (Cut(kind="cross", kept="left", at=(300.0, 444.0)), rip), "no rest":
            piece.cuts}[change]
    piece = replace(piece, cuts=cuts, leaves=() if change == "no rest" else piece.leaves)
    assert rest_first(plan, piece) is piece
