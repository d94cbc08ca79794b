"""A square end on a rest that a slanted saw line left: what comes off is drawn as the wedge it is."""
from __future__ import annotations

from dataclasses import replace

import pytest
from shapely.geometry import Polygon

from layout.plan import Cut
from printpack.strip.steps import saw_steps
from printpack.words.in_place import InPlace
from tests.support.plans import SLANTED, plan_of


@pytest.mark.parametrize("shorter_mm", [0.0, 0.3])
def test_the_wedge_comes_off_though_the_piece_is_shorter_by_a_hair(shorter_mm):
    """Its area by hand: half of the slant over the board's width, and the hair."""
    plan = plan_of(SLANTED)
    offcut, user = plan.offcuts[1], plan.rows[4].pieces[0]
    near, far = next(piece for piece in plan.pieces if piece.id == offcut.cut_by).cuts[0].at
    long = offcut.to_mm - offcut.from_mm - shorter_mm
    piece = replace(user, board=offcut.board, takes=offcut.label, from_mm=offcut.to_mm - long, to_mm=offcut.to_mm,
                    cuts=(Cut(kind="cross", kept="right", at=(long, long)),), leaves=())
    plan = replace(plan, offcuts=tuple(replace(one, used_by=piece.id) if one is offcut else one
                                       for one in plan.offcuts))
    step, = saw_steps(plan, piece, InPlace())
    wedge = (far - near) / 2 * plan.board.width_mm
    assert wedge > 2000.0
    assert Polygon(step.off[0]).area == pytest.approx(wedge + shorter_mm * plan.board.width_mm, rel=0.03)
