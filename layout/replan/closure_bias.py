"""How much longer than planned the rows still to come may close, from those that are down.

A row is closed by a piece measured in its place, so it tells how far its side walls stand from where the plan has them.
Over the depth of the floor that is a line, for walls a few millimetres off, and a bow. Both are fitted to the rows that
are down by least squares, with what is known before any row (`floor_estimation` gives a wall's bow): with few rows told
that says little, as it should.
"""
from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from layout.replan.floor_estimation import BOW_SD_MM
from layout.plan import Plan
from layout.replan.progress import Progress

#: A piece that came out further off was cut for another reason than its wall, mm.
OTHER_REASON_MM = 25.0
#: How well a plan knows from wall to wall before any row, where the walls begin and end, mm (common practice, no
#: source).
ENDS_SD_MM = 4.0
#: Saw, tape and spacer of a row, and rows of which no word is said because they are a millimetre or two off, mm.
ROW_SD_MM = 2.0


def closing_reserve(plan: Plan, now: Progress) -> float:
    """Wood to leave in every board that two pieces share, mm: by how much the rows still to come are expected to close
    longer than planned, in the mean; never negative. A run that is down without a word came out as planned; of the row
    begun only a place that was measured tells."""
    offs_by_row = [(row, sum(map(now.place_off_mm, run.pieces))) for row in range(now.held)
                   for run in plan.rows[row].runs if row < now.down or any(piece.id in now.places
                                                                           for piece in run.pieces)]
    told = [(_middle(plan, row), off) for row, off in offs_by_row if abs(off) <= OTHER_REASON_MM]
    ahead = np.array([_middle(plan, row) for row in range(now.down, len(plan.rows))])
    if not told or not len(ahead):
        return 0.0
    places, offs = np.array(told).T
    prior = np.diag([1.0 / ENDS_SD_MM, 1.0 / ENDS_SD_MM, 1.0 / (BOW_SD_MM * 2.0 ** 0.5)])
    fitted = np.linalg.lstsq(np.vstack([_shape(places) / ROW_SD_MM, prior]),
                             np.concatenate([offs / ROW_SD_MM, np.zeros(3)]), rcond=None)[0]
    return max(0.0, float((_shape(ahead) @ fitted).mean()))


def _middle(plan: Plan, row: int) -> float:
    """Where a row lies in the depth of the floor, 0 to 1."""
    return (plan.rows[row].near_mm + plan.rows[row].far_mm) / 2 / plan.rows[-1].far_mm


def _shape(x: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n, 3) what a place takes of the off at the floor's beginning, at its end, and of a parabola's rise half way."""
    return np.stack([1.0 - x, x, 4.0 * x * (1.0 - x)], axis=1)
