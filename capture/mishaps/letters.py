"""Letters of one photo that are not where they belong: two swapped, all the wrong way round, each one corner on.

A rough floor (from lengths alone, or from the other photos) tells how well each photo stands on it with each lettering:
where all photos but one stand well as told and that one with other letters only, the change is adjusted and judged.
"""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Literal

import numpy as np

from capture.adjustment.parameter_index import index_network
from capture.mishaps.standing import Places, Stand, clicks_of, state_of, stood, stood_as_told
from capture.mishaps.trial import Explained, carried, tried
from capture.network import Network
from capture.readings.indexed import Indexed
from capture.readings.photo import Marks
from capture.readings.findings import LettersMixed

#: Changes adjusted at most.
_ADJUSTED = 6
#: A change whose photos are off by more than this in all, px2, is none; after one that explains all, only those that
#: stand nearly as well are tried.
_HOPELESS, _NEAR = 3000.0, 4.0
#: A photo farther off than this as told, root mean square in a picture 1600 px wide, is as bad as any.
_CAP_PX = 150.0
#: A change whose photo still is so far off is none.
_FAR_PX = 60.0

Way = Literal["swapped", "mirrored", "shifted"]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Change:
    """Other letters for the marks of one photo, all photos stood, and how far off they are in all, px2."""

    way: Way
    photo: int
    lettering: list[tuple[int, int]]
    places: Places
    stands: dict[int, Stand]
    against: float


def letters_mixed(network: Network, ix: Indexed, floors: list[Places]) -> list[Explained]:
    """Changes of letters in one photo with which all readings agree, the best first."""
    changes = sorted((change for places in floors for change in _changes(ix, places)), key=lambda one: one.against)
    found: dict[tuple[tuple[str, str, str], ...], Explained] = {}
    enough = _HOPELESS
    for change in changes[:_ADJUSTED]:
        mishap = _mishap(ix, change)
        if change.against > enough or mishap.renamed in found:
            continue
        explained = _adjusted(network, ix, change, mishap)
        if explained is not None:
            found[mishap.renamed] = explained
            enough = min(enough, _NEAR * change.against + _FAR_PX**2)
    return sorted(found.values(), key=lambda one: one.against)


def _mishap(ix: Indexed, change: _Change) -> LettersMixed:
    marks = ix.of(Marks)
    renamed = tuple((marks.labels[mark].where, ix.names[int(marks.point[mark])], ix.names[point])
                    for mark, point in change.lettering if marks.point[mark] != point)
    return LettersMixed(photo=ix.photo_names[change.photo], way=change.way, renamed=renamed)


def _adjusted(network: Network, ix: Indexed, change: _Change, mishap: LettersMixed) -> Explained | None:
    meant = {mark: ix.names[point] for mark, point in change.lettering}
    mended = replace(network, marks=tuple(replace(m, point=meant.get(k, m.point))
                                          for k, m in enumerate(network.marks)))
    state = state_of(ix, change.places, change.stands, unsure=frozenset([change.photo]))
    other = index_network(mended)
    start = None if state is None else carried(ix, state, other)
    return None if start is None else tried(mishap, mended, other, start)


def _changes(ix: Indexed, places: Places) -> Iterator[_Change]:
    """Every change on one rough floor that makes its photo stand, where all others stand as told."""
    stands = stood_as_told(ix, places)
    unit = float(np.max(ix.photo_centre)) / 800.0
    offs = {photo: min(stands[photo].off_px / unit if photo in stands else _CAP_PX, _CAP_PX)
            for photo in range(len(ix.photo_names))}
    for photo in offs:
        others = {other: stand for other, stand in stands.items() if other != photo}
        if len(others) < len(offs) - 1:
            continue
        rest = sum(offs[other] ** 2 for other in others)
        for way, lettering in _letterings(ix, clicks_of(ix, photo)):
            stand = stood(ix, photo, lettering, places)
            if stand is not None and stand.off_px / unit < min(_FAR_PX, offs[photo]):
                yield _Change(way=way, photo=photo, lettering=lettering, places=places,
                              stands={**others, photo: stand}, against=rest + (stand.off_px / unit) ** 2)


def _letterings(ix: Indexed, clicks: list[tuple[int, int]]) -> Iterator[tuple[Way, list[tuple[int, int]]]]:
    """Every likely other lettering of the marks of a photo, as (mark, point)."""
    if len(clicks) < 3:
        return
    for i, j in combinations(range(len(clicks)), 2):
        swapped = list(clicks)
        swapped[i], swapped[j] = (clicks[i][0], clicks[j][1]), (clicks[j][0], clicks[i][1])
        yield "swapped", swapped
    size = len(ix.outline)
    corners = sorted(point for _, point in clicks if point < size)
    if len(corners) >= 4:
        mirrored = dict(zip(corners, reversed(corners)))
        yield "mirrored", [(mark, mirrored.get(point, point)) for mark, point in clicks]
    for step in (1, -1):
        yield "shifted", [(mark, (point + step) % size if point < size else point) for mark, point in clicks]
