"""Bowed walls: drawn by hand with known shape; the distance from a chord against shapely, its interval against drawn
readings."""
import numpy as np
import pytest
from shapely import LineString, Point

from capture.adjustment.straightness import find_bows
from capture.floor import Floor, exact_floor
from capture.network import Network, TapeLength, WallOffset
from capture.solve import solve_floor
from capture.words import in_words

ROOM = {"A": (0.0, 0.0), "M": (2000.0, 9.0), "B": (4000.0, 0.0), "C": (4010.0, 3000.0), "D": (-5.0, 2990.0)}


def surveyed(rng=None, *, off=9.0, named=("A", "B"), near=None):
    """All walls, three diagonals, and M measured off a string from A to B."""
    at = {name: np.array(place) for name, place in ROOM.items()} | {"M": np.array([2000.0, off])}
    draw = (lambda sd: rng.normal(0, sd)) if rng else (lambda sd: 0.0)
    pairs = ["AM", "MB", "BC", "CD", "DA", "AC", "BD", "AB"]
    tapes = tuple(TapeLength(a=a, b=b, length_mm=float(np.hypot(*(at[a] - at[b]))) + draw(2.0), sd_mm=2.0)
                  for a, b in pairs)
    typed = off + draw(1.0)
    network = Network(outline=tuple(ROOM), tapes=tapes,
                      offsets=(WallOffset(point="M", wall=named, distance_mm=typed, sd_mm=1.0),))
    return solve_floor(network, near=near)


@pytest.mark.parametrize("off", [9.0, -14.0, 0.0])
@pytest.mark.parametrize("named", [("A", "B"), ("B", "A")])
def test_a_bow_is_found_on_its_side_whichever_way_the_wall_is_named(off, named):
    (bow,) = in_words(surveyed(off=off, named=named), "metric").bows
    assert (bow.a, bow.b, bow.points, bow.at) == ("A", "B", ("M",), "M")
    assert bow.off_mm == pytest.approx(off, abs=0.3)
    assert {9.0: "9 mm", -14.0: "away from the room", 0.0: "is straight as far as the readings tell"}[off] in bow.says


def test_distance_agrees_with_shapely_and_a_room_without_such_points_has_none():
    names = tuple(ROOM)
    floor = exact_floor(np.array(list(ROOM.values())), names)
    (bow,) = find_bows(floor)
    assert bow.off_mm == pytest.approx(LineString([ROOM["A"], ROOM["B"]]).distance(Point(ROOM["M"])))
    assert bow.pm95_mm == 0.0
    assert find_bows(exact_floor(np.array([ROOM[n] for n in "ABCD"]), tuple("ABCD"))) == ()


def test_the_claimed_interval_holds():
    exact = surveyed()  # where every draw begins: its minimum is the one next to it
    found = [surveyed(np.random.default_rng(seed), near=exact).bows[0] for seed in range(60)]
    misses = sum(abs(bow.off_mm - 9.0) > bow.pm95_mm for bow in found)
    # Sixty draws at 95 %: eight misses or more would come about once in a hundred (binomial).
    assert misses < 8 and np.mean([bow.pm95_mm for bow in found]) < 2.1


def test_the_bow_does_not_depend_on_the_gauge():
    floor = surveyed(np.random.default_rng(1)).floor
    spin = np.array([[0.6, -0.8], [0.8, 0.6]])
    whole = np.kron(np.eye(len(floor.names)), spin)
    turned = Floor(names=floor.names, points_mm=floor.points_mm @ spin.T + 77.0,
                   cov_mm2=whole @ floor.cov_mm2 @ whole.T, outline=floor.outline)
    (before,), (after,) = find_bows(floor), find_bows(turned)
    assert (after.off_mm, after.pm95_mm) == pytest.approx((before.off_mm, before.pm95_mm), abs=1e-6)
