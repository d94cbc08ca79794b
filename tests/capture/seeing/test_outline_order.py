"""The order of the corners from photos, against rooms whose order is known."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from capture.network import Network
from capture.seeing.outline_order import better_order, settled, with_corner
from capture.seeing.rough_floor import rough_floor
from tests.support.simulate import draw_case


def rough_of(network: Network):
    return lambda order: rough_floor(replace(network, outline=order))


def follows(order, names) -> bool:
    """Whether an order runs round the room as the names do, either way."""
    k = names.index(order[0])
    round_the_room = (*names[k:], *names[:k])
    return order in (round_the_room, (round_the_room[0], *round_the_room[:0:-1]))


def told(network: Network, names) -> tuple[str, ...]:
    """The order found where corners are named one after the other."""
    order: tuple[str, ...] = ()
    for name in names:
        marks = tuple(m for m in network.marks if m.point in {*order, name})
        order = with_corner(order, name, rough_of(replace(network, marks=marks)))
    return order


@pytest.mark.parametrize("seed", range(6))
def test_one_photo_that_shows_the_whole_room_tells_its_order_however_it_is_tapped(seed):
    """Corners in sight of a point in a polygon lie round it in the polygon's own order (the visibility polygon is
    star-shaped)."""
    rng = np.random.default_rng(seed)
    case = draw_case(rng, shape="rectangle", photos=1, see_through=True, mark_sd=1.0)
    while len({m.point for m in case.network.marks}) < 4:
        case = draw_case(rng, shape="rectangle", photos=1, see_through=True, mark_sd=1.0)
    names = list(case.names)
    rng.shuffle(names)
    assert follows(told(case.network, names), case.names)


def test_a_wrong_order_is_put_right_from_the_photos_in_most_rooms():
    """Two neighbours swapped in the list, in rooms of six corners seen from four places; a right order is left
    alone."""
    rng, found, alarms, drawn = np.random.default_rng(5), 0, 0, 0
    while drawn < 12:
        case = draw_case(rng, shape="L", photos=4, mark_sd=1.5)
        if {m.point for m in case.network.marks} < set(case.names):
            continue
        drawn += 1
        k = int(rng.integers(1, 5))
        swapped = (*case.names[:k], case.names[k + 1], case.names[k], *case.names[k + 2:])
        better = better_order(swapped, rough_of(case.network))
        found += better is not None and follows(better, case.names)
        alarms += better_order(case.names, rough_of(case.network)) is not None
    assert found >= 8 and alarms <= 1


def test_a_settled_order_is_not_moved_again():
    rng = np.random.default_rng(8)
    case = draw_case(rng, shape="L", photos=4)
    order = settled(case.names, rough_of(case.network))
    assert settled(order, rough_of(case.network)) == order
