"""The survey solved again from where the last one ended: after a dragged mark or one more length the floor is nearly
the same.

Only a floor that was the only one to fit may be begun from, and only while it still fits; else the whole search is made
again.
"""
from __future__ import annotations

from dataclasses import replace

import numpy as np

from capture.adjustment.least_squares import minimise
from capture.readings.state import State
from capture.readings.indexed import Indexed
from capture.initial.selection import Start, is_believable, is_sound_but_for_one
from capture.adjustment.survey import Solved


def solved_at(ix: Indexed, state: State, *, only: bool) -> Solved:
    """What to keep of a minimum for the next solve."""
    return Solved(made_of=_made_of(ix), state=state, only=only)


def _made_of(ix: Indexed) -> tuple[object, ...]:
    """Names of points and photos, numbers of targets and of lenses: while these stay, a state has the same
    parameters."""
    return ix.names, ix.photo_names, tuple(ix.target_numbers.tolist()), len(ix.lens_focal)


def state_near(ix: Indexed, before: Solved) -> State | None:
    """Where the last solve ended, as a start for this network; None if it had other parameters, or another floor
    fitted as well."""
    if _made_of(ix) != before.made_of or not before.only:
        return None
    return replace(before.state, tape_error=np.zeros(len(ix.tape_error_sd))).in_gauge(0, 1)


def begin_again(ix: Indexed, before: Solved) -> Start | None:
    """The minimum next to the last one; None where the search has to be made.

    The last floor must have had the same points, photos, targets and lenses. One wrong reading is no reason to search:
    the floor is then the one that all others agree on.
    """
    state = state_near(ix, before)
    if state is None:
        return None
    fit = minimise(ix, state)
    if is_believable(ix, fit):
        return Start(fit=fit, rival=None)
    bent = minimise(ix, state, robust=True)
    fit = replace(minimise(ix, bent.state), robust_state=bent.state)
    return Start(fit=fit, rival=None) if is_sound_but_for_one(ix, fit) else None
