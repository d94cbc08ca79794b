"""The room as every way of laying sees it: what boards cover, with and without doorways, and the pipes' holes. Plan
frame, mm."""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from layout.region.inset import cover_parts, shrunken
from layout.region.doorways import OpenFloor, open_floor
from layout.frame import Frame
from layout.search.core.joint_preferences import Bore
from layout.room import Pipe, Room, Settled


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Site:
    """cover: its parts at the gap aimed for, largest first; walled: the same stopped at the wall lines; doorway_mm:
    depth of the deepest doorway.

    widest, least: what boards may cover at most, and must at least (the edge window).
    """

    cover: tuple[Polygon, ...]
    walled: tuple[Polygon, ...]
    widest: BaseGeometry
    least: BaseGeometry
    opened: OpenFloor
    pipes: tuple[Pipe, ...]
    gap_mm: float

    @property
    def doorway_mm(self) -> float:
        """How much the doorways can add to the floor's length."""
        return sum(sorted((door.reveal_mm for door in self.opened.doors), reverse=True)[:2])

    def walls_in(self, frame: Frame) -> tuple[float, float] | None:
        """Least and greatest t of the cover within the wall lines; None if no doorway reaches beyond them."""
        if not self.opened.doors:
            return None
        t = frame.to_row(np.concatenate([shapely.get_coordinates(part) for part in self.walled]))[:, 1]
        return float(t.min()), float(t.max())

    def within_walls(self, frame: Frame) -> list[Polygon]:
        """The cover within the wall lines in a row frame, if doorways reach beyond them."""
        return [frame.shape_to_row(part) for part in self.walled] if self.opened.doors else []

    def bores_in(self, frame: Frame) -> tuple[Bore, ...]:
        """The pipes' holes in a row frame."""
        if not self.pipes:
            return ()
        places = frame.to_row(np.array([pipe.centre_mm for pipe in self.pipes], dtype=np.float64)).tolist()
        return tuple(Bore(pipe=pipe.name, s_mm=s, t_mm=t, radius_mm=pipe.diameter_mm / 2 + self.gap_mm)
                     for pipe, (s, t) in zip(self.pipes, places))


def site_of(room: Room, wishes: Settled) -> Site:
    """The site of a checked room. Raises LayoutError (slug gap-eats-floor)."""
    opened = open_floor(room, wishes.gap_mm)
    walled = cover_parts(room.outline_mm, room.islands, wishes.aim_mm)
    cover = cover_parts(opened.outline_mm, room.islands, wishes.aim_mm) if opened.doors else walled
    widest, least = (shrunken(opened.outline_mm, room.islands, gap)
                     for gap in (wishes.gap_least_mm, wishes.gap_most_mm))
    return Site(cover=tuple(cover), walled=tuple(walled), widest=widest, least=least, opened=opened, pipes=room.pipes,
                gap_mm=wishes.gap_mm)
