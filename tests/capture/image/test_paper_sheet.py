"""A sheet of plain paper on the floor, its corners marked. Size and tolerance: ISO 216 (A4 297 x 210 mm, 2 mm either
way)."""
from dataclasses import replace

import numpy as np
import pytest

from capture.camera import project
from capture.network import Mark, PaperSheet
from capture.solve import solve_floor
from tests.support import simulate

NAMES = ("S1", "S2", "S3", "S4")


def with_paper(seed, *, sides=(297.0, 210.0), order=(0, 1, 2, 3), tapes=None):
    """A drawn survey with an A4 sheet in the middle of the room, marked where it is in a picture."""
    case = simulate.draw_determined(np.random.default_rng(seed), photos=3, shape="rectangle", diagonals=1,
                                    see_through=True)
    rng, middle = np.random.default_rng(seed + 100), case.corners.mean(axis=0)
    turn = np.exp(1j * rng.uniform(0, 6.28)) * (np.array([-1 - 1j * 210 / 297, 1 - 1j * 210 / 297, 1 + 1j * 210 / 297,
                                                          -1 + 1j * 210 / 297]) * 148.5)
    corners = middle + np.column_stack([turn.real, turn.imag])
    marks = list(case.network.marks)
    for k in range(3):
        px = project(corners, np.tile(case.rotations[k], (4, 1, 1)), np.tile(case.shifts[k], (4, 1)),
                     np.full(4, case.focal_px), np.tile(case.bend, (4, 1)), case.centres[k])
        marks += [Mark(photo=str(k), point=name, x_px=float(x), y_px=float(y), sd_px=1.0)
                  for name, (x, y) in zip(NAMES, px + rng.normal(0, 1.0, px.shape)) if 0 < x < 1599 and 0 < y < 1199]
    paper = PaperSheet(corners=tuple(NAMES[i] for i in order), sides_mm=sides, where="papers[0]")
    network = replace(case.network, marks=tuple(marks), papers=(paper,),
                      tapes=case.network.tapes if tapes is None else tapes)
    return case, network


@pytest.mark.parametrize("seed", [2, 4, 6, 7])
def test_paper_alone_gives_the_floor_its_size_but_weakly(seed):
    case, network = with_paper(seed, tapes=())
    survey = solve_floor(network)
    at = dict(zip(case.names, case.corners))
    for wall in survey.floor.walls():
        assert abs(wall.length_mm - np.hypot(*(at[wall.a] - at[wall.b]))) <= 1.5 * wall.pm95_mm
        # A side is 297 mm to 1 mm: no length can be surer than a share of that.
        assert wall.pm95_mm > 0.002 * wall.length_mm


def test_the_tape_rules_over_a_sheet_of_another_size():
    """Letter given as A4: the floor hardly moves, and the sheet is what is doubted."""
    case, network = with_paper(3, sides=(279.4, 215.9))
    survey, plain = solve_floor(network), solve_floor(case.network)
    assert [s.kind for s in survey.suspects][:1] == ["paper"]
    for one, other in zip(survey.floor.walls(), plain.floor.walls()):
        assert abs(one.length_mm - other.length_mm) <= other.pm95_mm


def test_paper_joins_the_photos():
    """The same survey is surer with the sheet than without."""
    case, network = with_paper(3)
    survey, plain = solve_floor(network), solve_floor(case.network)
    assert not survey.suspects
    assert sum(w.pm95_mm for w in survey.floor.walls()) < sum(w.pm95_mm for w in plain.floor.walls())
    (sheet,) = (r for r in survey.readings if r.kind == "paper")
    assert sheet.redundancy > 0.05
    assert survey.floor.length("S1", "S2").length_mm == pytest.approx(297.0, abs=3.0)
