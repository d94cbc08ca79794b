"""A drawing settles what readings leave open, and is no reading."""
from __future__ import annotations

from dataclasses import replace

import numpy as np

from capture.adjustment.notes import NoLeftOrRight
from capture.network import Network, TapeLength
from capture.solve import solve_floor

#: A room without any sense of left and right but for its slanted wall.
PLACES = {"A": (0, 0), "B": (4000, 0), "C": (3000, 3000), "D": (0, 3000)}


def network(drawn) -> Network:
    at = {name: np.array(place, dtype=float) for name, place in PLACES.items()}
    tapes = tuple(TapeLength(a=a, b=b, length_mm=float(np.hypot(*(at[a] - at[b]))), sd_mm=1.5)
                  for a, b in ("AB", "BC", "CD", "DA", "AC", "BD"))
    return Network(outline=tuple("ABCD"), tapes=tapes, drawn=drawn)


def test_tape_alone_is_turned_as_drawn_and_no_question_is_left():
    """Drawn clockwise the same lengths are the mirror image: C lies right of A to B."""
    for flip in (1, -1):
        drawn = tuple((name, (x, flip * y + 100)) for name, (x, y) in PLACES.items())
        survey = solve_floor(network(drawn))
        assert not any(isinstance(note, NoLeftOrRight) for note in survey.notes)
        corner = dict(zip(survey.floor.outline, survey.floor.ring()))
        (x, y), (u, v) = corner["B"] - corner["A"], corner["C"] - corner["A"]
        assert (x * v - y * u) * flip > 0
    undrawn = solve_floor(network(()))
    assert any(isinstance(note, NoLeftOrRight) for note in undrawn.notes)


def test_a_drawing_moves_no_corner():
    """However badly it is drawn, the floor is that of the readings."""
    drawn = tuple((name, (x + 900 * k, 2 * y)) for k, (name, (x, y)) in enumerate(PLACES.items()))
    with_it, without = solve_floor(network(drawn)), solve_floor(network(()))
    assert np.allclose(with_it.floor.ring(tuple("ABCD")), without.floor.ring(tuple("ABCD")), atol=1e-6)
    assert replace(network(drawn), drawn=()) == network(())
