"""The likely mishaps of a survey that makes no room, tried one after the other: what keeps all readings first."""
from __future__ import annotations

from dataclasses import replace

import numpy as np

from capture.adjustment.batch import minimise_all
from capture.adjustment.least_squares import Fit
from capture.adjustment.parameter_index import index_network
from capture.initial.selection import promising_floors
from capture.initial.traverses import sketch_turns
from capture.mishaps.letters import letters_mixed
from capture.mishaps.outline import one_corner, order_mixed
from capture.mishaps.standing import Places, state_of
from capture.mishaps.trial import Explained
from capture.network import Network
from capture.readings.indexed import Indexed
from capture.readings.state import State

#: Floors on which photos are stood with other letters: from wall lengths, from the minima found.
_FROM_LENGTHS, _FROM_FITS = 4, 2


def likely_mishap(network: Network, ix: Indexed, fits: list[Fit]) -> Explained | None:
    """The likeliest mishap that makes all readings agree; None where none does.

    Each is a model of as many unknowns as the survey as told (or fewer), and must pass chi-square at 0.001: nothing is
    left out to make it pass, so that it is tried before any reading is doubted.
    """
    found = one_corner(network, ix, fits) or order_mixed(network, ix, fits)
    if not found and ix.photo_names:
        found = letters_mixed(network, ix, _floors(network, ix, fits))
    return found[0] if found else None


def _floors(network: Network, ix: Indexed, fits: list[Fit]) -> list[Places]:
    """Rough floors that no photo has bent, and those it may have."""
    return _floors_of_lengths(network) + [_places(ix, state) for state in promising_floors(ix, fits, _FROM_FITS)]


def _floors_of_lengths(network: Network) -> list[Places]:
    """Outlines from turns, each brought to the minimum of the lengths alone; by number of the corner."""
    taped = replace(network, cameras=(), photos=(), marks=(), wall_lines=(), target_marks=(), papers=(), squares=())
    if not taped.tapes:
        return []
    bare = index_network(taped)
    corners = len(network.outline)
    states = [state for sketch in sketch_turns(bare, keep=_FROM_LENGTHS)
              if (state := state_of(bare, sketch.places, {})) is not None]
    fits = minimise_all(bare, states, iterations=15) if states else []
    ends = [fit.state if np.isfinite(fit.cost) else state for fit, state in zip(fits, states)]
    return [{k: complex(x, y) for k, (x, y) in enumerate(state.points_mm[:corners].tolist())} for state in ends]


def _places(ix: Indexed, state: State) -> Places:
    return {k: complex(x, y) for k, (x, y) in enumerate(state.points_mm[:len(ix.names)].tolist())}
