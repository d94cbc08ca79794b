"""Pieces laid between two pieces at hand find room in other boards before a new one is opened."""
from __future__ import annotations

import pytest

from layout.planning.pieces import Placement
from layout.replan.progress import Spare
from layout.replan.splice import _freed


def spare(label: str, from_mm: float, to_mm: float) -> Spare:
    return Spare(label=label, board=1, from_mm=from_mm, to_mm=to_mm, keeps=("left",))


def placement(board: int, lo: float, hi: float, s0: float = 0.0) -> Placement:
    return Placement(run=0, lo_mm=lo + s0, hi_mm=hi + s0, s0_mm=s0, board=board)


@pytest.mark.parametrize(("used_to", "key", "at"), [(700.0, 2, 703.0), (1000.0, 3, 0.0)])
def test_a_piece_takes_what_another_board_leaves(used_to, key, at):
    """Board of 1285: beside a piece up to 700 there is room for one of 400 after a saw cut of 3; up to 1000 there is
    none, and the piece takes a new board."""
    stocks = {1: spare("7L", 0.0, 300.0), 2: None}
    pieces = [placement(1, 0.0, 300.0), placement(2, 0.0, used_to), placement(1, 350.0, 750.0, s0=2000.0)]
    freed, left = _freed(pieces, stocks, 1285.0, 3.0)
    assert freed[2].board == key and freed[2].taken == (pytest.approx(at), pytest.approx(at + 400.0))
    assert (freed[2].lo_mm, freed[2].hi_mm) == (2350.0, 2750.0) and freed[:2] == pieces[:2]
    assert set(left) == {1, 2, key}


def test_no_strip_is_left_that_no_saw_holds_where_there_is_a_choice():
    """Two boards have room: one would leave 7 mm, the other 282."""
    stocks = {1: spare("7L", 0.0, 300.0), 2: None, 3: None}
    pieces = [placement(1, 0.0, 300.0), placement(2, 0.0, 872.0), placement(3, 0.0, 597.0), placement(1, 350.0, 750.0)]
    freed, _ = _freed(pieces, stocks, 1285.0, 3.0)
    assert freed[3].board == 3


def test_a_piece_with_a_factory_end_takes_a_new_board():
    stocks = {1: spare("7L", 300.0, 900.0), 2: None}
    pieces = [placement(1, 0.0, 200.0), placement(2, 0.0, 400.0)]
    freed, left = _freed(pieces, stocks, 1285.0, 3.0)
    assert freed[0].board == 3 and left[3] is None and 1 not in left
