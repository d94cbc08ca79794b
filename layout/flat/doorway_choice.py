"""Whether boards run through a doorway or end at a profile in it.

What the house file says is done. Where it says nothing, boards run through as long as the floor so joined stays within
the longest run that needs no profile, along the rows and across them (8 to 10 m usual, section 2 of the project's trade
sheet; `Wishes.longest_mm`). The same sheet says that many makers ask for a profile in every doorway: their leaflet
decides, and whoever tells of the choice says so. Boards of two kinds never run through; nor do rooms that already are
one floor a second time, since the joined floor would be a ring.
"""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from layout.flat_plan import PassageChoice, PassageRule
from layout.region.joined_rooms import House, Passage
from layout.room import Room


def choose_passages(rooms: Mapping[str, Room], house: House, passages: Sequence[tuple[Passage, bool | None]], *,
                    heading_rad: float, longest_mm: Mapping[str, float],
                    boards: Mapping[str, object]) -> tuple[PassageChoice, ...]:
    """How every doorway is laid. passages: each with what was asked for (None: nothing); heading_rad: of the rows, in
    the house's frame; longest_mm, boards: of each room. What was asked for is settled first, then the rest in turn."""
    group = {name: frozenset([name]) for name in rooms}
    found: dict[int, PassageChoice] = {}
    for k in sorted(range(len(passages)), key=lambda k: passages[k][1] is None):
        passage, asked = passages[k]
        joined = frozenset.union(*(group[name] for name in passage.rooms))
        extent = _extent(rooms, house, sorted(joined), heading_rad)
        longest = min(longest_mm[name] for name in joined)
        rule: PassageRule = "longest-run" if asked is None else "asked"
        through = extent <= longest if asked is None else asked
        if through and group[passage.rooms[0]] == group[passage.rooms[1]]:
            rule, through = "second-opening", False
        elif through and len({boards[name] for name in joined}) > 1:
            rule, through = "other-boards", False
        if through:
            group |= dict.fromkeys(joined, joined)
        found[k] = PassageChoice(rooms=passage.rooms, doors=passage.doors, through=through, rule=rule,
                                 extent_mm=extent if rule == "longest-run" else 0.0,
                                 longest_mm=longest if rule == "longest-run" else 0.0)
    return tuple(found[k] for k in range(len(passages)))


def as_chosen(passages: Sequence[Passage], choices: Sequence[PassageChoice]) -> tuple[Passage, ...]:
    """The passages as they are laid."""
    return tuple(replace(passage, through=choice.through) for passage, choice in zip(passages, choices))


def _extent(rooms: Mapping[str, Room], house: House, names: Sequence[str], heading_rad: float) -> float:
    """How far rooms reach together along the rows or across them, whichever is more, mm."""
    corners = np.concatenate([house.placings[name].place(rooms[name].outline_mm) for name in names])
    cos, sin = np.cos(heading_rad), np.sin(heading_rad)
    return float(np.ptp(corners @ np.array([[cos, -sin], [sin, cos]]), axis=0).max())
