"""The list of what to measure: by counting, and by measuring what it names."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from capture.adjustment.measuring_plan import measuring_plan
from capture.network import Network, TapeLength, default_tape_sd_mm
from capture.seeing.rough_floor import rough_floor
from capture.solve import solve_floor

ROOMS = {"square": [(0, 0), (4000, 0), (4000, 3000), (0, 3000)],
         "L": [(0, 0), (5000, 0), (5000, 4000), (2500, 4000), (2500, 2000), (0, 2000)]}


def drawn(places) -> Network:
    names = tuple("ABCDEFGH"[:len(places)])
    return Network(outline=names, drawn=tuple(zip(names, places)))


def plan_of(network: Network):
    return measuring_plan(rough_floor(network).as_floor(), network)


def taped(network: Network, places, pairs) -> Network:
    at = dict(zip(network.outline, np.array(places, dtype=float)))
    tapes = []
    for a, b in pairs:
        mm = float(np.hypot(*(at[a] - at[b])))
        tapes.append(TapeLength(a=a, b=b, length_mm=round(mm), sd_mm=default_tape_sd_mm(mm)))
    return replace(network, tapes=tuple(tapes))


@pytest.mark.parametrize("room", ROOMS)
def test_it_fixes_the_floor_and_checks_it_with_few(room):
    """A plane figure of n points has 2n - 3 unknown lengths (any textbook of adjustment): fewer fix nothing, and one
    more at least is needed to check one."""
    places, network = ROOMS[room], drawn(ROOMS[room])
    pairs = plan_of(network)
    least = 2 * len(places) - 3
    assert least + 1 <= len(pairs) <= least + 4 and len(set(map(frozenset, pairs))) == len(pairs)
    survey = solve_floor(taped(network, places, pairs))
    assert max(wall.pm95_mm for wall in survey.floor.walls()) < 6.0
    assert min(reading.redundancy for reading in survey.readings if reading.kind == "tape") > 0.01


def test_what_was_measured_is_not_asked_for_again_and_the_count_hardly_changes():
    places, network = ROOMS["L"], drawn(ROOMS["L"])
    pairs = plan_of(network)
    for done in range(1, len(pairs)):
        left = plan_of(taped(network, places, pairs[:done]))
        assert not set(map(frozenset, left)) & set(map(frozenset, pairs[:done]))
        assert abs(done + len(left) - len(pairs)) <= 2


def test_no_tape_is_laid_through_a_wall():
    """From D to F of the L the tape would leave the room."""
    assert {"D", "F"} not in [set(pair) for pair in plan_of(drawn(ROOMS["L"]))]
