"""All arcs shifted together, so that a hair's breadth missing in many places is found in others.

With the arcs in the order they lie in, so many boards need so many arcs' ends to meet or pass a start: the shortest
starts with the ends that leave least, in order, which is the pairing that asks for the least shift. Each pair says how
far one place may be above another; so does every seam, on the side its joints are on now; and the rules bound every
place. Such differences have an answer if and only if lowering each place to what the others allow comes to rest above
the lower bounds (Bellman 1958, Ford 1956).
"""
from __future__ import annotations

from layout.search.core.circular_arcs import SLACK, Arcs, Contact, Lie, Stretch, joints_on
from layout.search.core.state import nearest

#: (run, other, most): the other's place is at most this far above the run's, pm.
Difference = tuple[int, int, int]


def shift(arcs: Arcs, lie: Lie, boards: int) -> Lie | None:
    """The arcs shifted so that so few boards do, in this order and on these sides of every seam; None if that cannot
    be."""
    ranges = [stretch for run in range(len(lie.places)) for stretch in [_range(arcs, lie, run)] if stretch is not None]
    differences = _meetings(arcs, lie, boards)
    if differences is None or len(ranges) < len(lie.places):
        return None
    for run, contacts in enumerate(arcs.contacts):
        for contact in contacts:
            if run < contact.other and not lie.whole[run] and not lie.whole[contact.other]:
                differences += _apart(arcs, lie, run, contact)
    places = _settle([hi for _, hi in ranges], differences)
    if places is None or any(place < lo for place, (lo, _) in zip(places, ranges)):
        return None
    shifted = Lie(places=places, whole=list(lie.whole))
    return shifted if _sound(arcs, shifted) else None


def _range(arcs: Arcs, lie: Lie, run: int) -> Stretch | None:
    """What the rules allow a run's place, in the stretch it is on."""
    place = lie.places[run]
    if lie.whole[run]:
        return arcs.single[run]
    return next((stretch for stretch in arcs.jointed[run] if stretch[0] <= place <= stretch[1]), None)


def _meetings(arcs: Arcs, lie: Lie, boards: int) -> list[Difference] | None:
    """Which ends must reach which starts; None if an arc would have to reach its own start or there are too few."""
    runs = range(len(lie.places))
    reach, saved = [], 0
    for run in runs:
        over = lie.places[run] + int(arcs.surplus[run]) >= arcs.shared or lie.whole[run]
        reach.append(int(arcs.surplus[run]) - (arcs.board if over else 0))
        saved += over
    pairs = int(arcs.alone.sum()) + len(lie.places) - saved - boards
    if pairs <= 0:
        return []
    if pairs > len(lie.places):
        return None
    starts = sorted(runs, key=lambda run: (lie.places[run], run))[:pairs]
    ends = sorted(runs, key=lambda run: (lie.places[run] + reach[run], run))[-pairs:]
    if any(start == end and reach[end] < 0 for start, end in zip(starts, ends)):
        return None
    return [(end, start, reach[end]) for start, end in zip(starts, ends) if start != end]


def _apart(arcs: Arcs, lie: Lie, run: int, contact: Contact) -> list[Difference]:
    """The stagger on a seam, with the joints on the sides they are on."""
    other, board = contact.other, arcs.board
    mine = joints_on(arcs, run, lie.places[run], contact)
    theirs = joints_on(arcs, other, lie.places[other], contact)
    if mine is None or theirs is None:
        return []
    if mine[0] < mine[1] or theirs[0] < theirs[1]:
        ahead = arcs.left[run] - arcs.left[other]
        turns = (lie.places[run] + ahead - lie.places[other]) // board * board
        return [(run, other, ahead - turns - contact.stagger), (other, run, board - contact.stagger + turns - ahead)]
    ahead = mine[0] - theirs[0] - lie.places[run] + lie.places[other]
    return [(run, other, ahead - contact.stagger) if mine[0] > theirs[0] else (other, run, -ahead - contact.stagger)]


def _settle(places: list[int], differences: list[Difference]) -> list[int] | None:
    """The greatest places no higher than the given ones that keep every difference; None if they sink without end."""
    for _ in range(len(places) + 1):
        moved = False
        for run, other, most in differences:
            if places[other] > places[run] + most:
                places[other], moved = places[run] + most, True
        if not moved:
            return places
    return None


def _sound(arcs: Arcs, lie: Lie) -> bool:
    """Whether every seam keeps its stagger, joints counted that came onto it by the shift."""
    return all(_keeps(arcs, lie, run, contact) for run, contacts in enumerate(arcs.contacts) for contact in contacts
               if not lie.whole[run] and not lie.whole[contact.other])


def _keeps(arcs: Arcs, lie: Lie, run: int, contact: Contact) -> bool:
    mine = joints_on(arcs, run, lie.places[run], contact)
    theirs = joints_on(arcs, contact.other, lie.places[contact.other], contact)
    if mine is None or theirs is None:
        return True
    return nearest(range(mine[0], mine[1] + 1, arcs.board),
                   range(theirs[0], theirs[1] + 1, arcs.board)) >= contact.stagger - 5 * SLACK
