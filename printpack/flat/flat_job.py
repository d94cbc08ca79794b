"""What the booklet of a flat is made from. Types only."""
from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

from capture.language.messages import listed
from layout.flat_plan import FlatBars, Travel
from layout.plan import Ring
from layout.words.purchases import Line as Purchase
from printpack.job import PackJob


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FlatFloor:
    """A floor of a flat ready to print. folder: its name among files and in bars; title: as a person reads it; rooms:
    the titles of its rooms by their numbers, which their corners bear."""

    folder: str
    title: str
    rooms: Mapping[int, str]
    job: PackJob

    @property
    def numbered(self) -> str:
        """Its rooms with their numbers: "2 Kitchen and 3 Hall"."""
        return listed([f"{number} {title}" for number, title in sorted(self.rooms.items())])


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FlatPack:
    """A flat ready to print: its floors in the order of laying, each a job of its own; number, title and outline of the
    rooms that hang together, each group in a frame of its own, mm; what is said of order, doorways and boards; one
    shopping list; the offcuts that go from floor to floor, floors by their titles; and how bars of beading are sawn for
    all floors."""

    title: str
    show: str
    date: datetime.date
    floors: tuple[FlatFloor, ...]
    groups: tuple[tuple[tuple[int, str, Ring], ...], ...]
    order: str
    doorways: tuple[str, ...]
    boards: tuple[str, ...]
    shopping: tuple[Purchase, ...]
    travels: tuple[Travel, ...]
    bars: tuple[FlatBars, ...] = ()
