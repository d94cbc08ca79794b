"""The order of the corners from photos, against rooms whose order is known."""
from __future__ import annotations

from dataclasses import replace

import numpy as np

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


def drawn_rooms(seed: int, count: int):
    """L-shaped rooms whose six corners are all seen from five places."""
    rng, found = np.random.default_rng(seed), []
    for _ in range(60):
        case = draw_case(rng, shape="L", photos=5, mark_sd=1.5)
        if {m.point for m in case.network.marks} >= set(case.names):
            found.append(case)
    assert len(found) >= count
    return rng, found[:count]


def test_corners_named_in_any_order_are_listed_as_the_walls_run_in_most_rooms():
    """What is in sight of a point in a polygon lies round it in the polygon's own order (the visibility polygon is
    star-shaped); photos that share too little leave some rooms open."""
    rng, rooms = drawn_rooms(1, 6)
    found = 0
    for case in rooms:
        names = list(case.names)
        rng.shuffle(names)
        found += follows(settled(told(case.network, names), rough_of(case.network)), case.names)
    print("listed right:", found, "of", len(rooms))
    assert found >= 4


def test_a_wrong_order_is_put_right_from_the_photos_in_most_rooms_and_a_right_one_left_alone():
    """Two neighbours swapped in the list."""
    rng, rooms = drawn_rooms(5, 6)
    found = alarms = 0
    for case in rooms:
        k = int(rng.integers(1, 5))
        swapped = (*case.names[:k], case.names[k + 1], case.names[k], *case.names[k + 2:])
        better = better_order(swapped, rough_of(case.network))
        found += better is not None and follows(better, case.names)
        alarms += better_order(case.names, rough_of(case.network)) is not None
    print("put right:", found, "false alarms:", alarms, "of", len(rooms))
    assert found >= 4 and alarms <= 1


def test_a_settled_order_is_not_moved_again():
    rng = np.random.default_rng(8)
    case = draw_case(rng, shape="L", photos=4)
    order = settled(case.names, rough_of(case.network))
    assert settled(order, rough_of(case.network)) == order
