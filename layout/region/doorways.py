"""The floor inside door openings: how far the boards run into a doorway, and how far they pass under its frame.

Plan frame, mm. A door's reveal is the depth from the wall line to the middle of the threshold profile under the closed
leaf; the boards stop a gap short of it. A frame with a casing is undercut: boards reach 10 mm under it at both sides of
the opening and the gap is hidden beyond, so the saw goes gap + 10 mm deep (section 6 of the project's trade sheet).
Without a casing (metal frames are never cut) the gap is kept inside the opening.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from layout.plan import Doorway
from layout.room import Board, Door, Room, Settled, Underlay

TUCK_MM = 10.0
UNDERCUT_CLEARANCE_MM = 1.0
#: A shallower reveal is left to the threshold profile, mm.
LEAST_REVEAL_MM = 30.0
#: A free stretch of wall shorter than this beside an opening is taken as none, mm.
SAME_SPOT_MM = 1.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class OpenFloor:
    """The outline with the floor of its doorways (k, 2), the doors laid through, and those whose doorway leads
    nowhere free."""

    outline_mm: NDArray[np.float64]
    doors: tuple[Door, ...] = ()
    blocked: tuple[Door, ...] = ()


def open_floor(room: Room, gap_mm: float) -> OpenFloor:
    """The room's outline opened at every door whose reveal is worth laying, as far as that leaves it a plain ring."""
    opened = OpenFloor(outline_mm=np.asarray(room.outline_mm, dtype=np.float64))
    for door in sorted((door for door in room.doors if door.reveal_mm >= LEAST_REVEAL_MM), key=lambda door: door.name):
        tried = _with_doors(room, (*opened.doors, door), gap_mm)
        opened = (OpenFloor(outline_mm=tried, doors=(*opened.doors, door), blocked=opened.blocked)
                  if _is_plain(tried, opened.outline_mm) else OpenFloor(outline_mm=opened.outline_mm,
                                                                        doors=opened.doors,
                                                                        blocked=(*opened.blocked, door)))
    return opened


def opening_of(room: Room, door: Door, gap_mm: float) -> tuple[int, float, float]:
    """(index of the wall's first corner in the outline, where the floor of the opening begins and ends along it)."""
    i = next(i for i, name in enumerate(room.names) if {name, room.names[(i + 1) % len(room.names)]} == set(door.wall))
    length = float(np.hypot(*(room.outline_mm[(i + 1) % len(room.names)] - room.outline_mm[i])))
    lo = door.from_mm if room.names[i] == door.wall[0] else length - door.from_mm - door.width_mm
    side = gap_mm + TUCK_MM if door.casing is not None else 0.0
    lo, hi = lo - side, lo + door.width_mm + side
    return i, 0.0 if lo < SAME_SPOT_MM else lo, length if hi > length - SAME_SPOT_MM else hi


def _with_doors(room: Room, doors: tuple[Door, ...], gap_mm: float) -> NDArray[np.float64]:
    """The outline with four corners more at every door: in, out along the opening, and back."""
    by_wall: dict[int, list[tuple[float, float, float]]] = {}
    for door in doors:
        i, lo, hi = opening_of(room, door, gap_mm)
        by_wall.setdefault(i, []).append((lo, hi, door.reveal_mm))
    corners = np.asarray(room.outline_mm, dtype=np.float64)
    ring: list[NDArray[np.float64]] = []
    for i, corner in enumerate(corners):
        ring.append(corner)
        along = corners[(i + 1) % len(corners)] - corner
        along = along / np.hypot(*along)
        out = np.array([along[1], -along[0]])
        for lo, hi, deep in sorted(by_wall.get(i, [])):
            ring += [corner + lo * along, corner + lo * along + deep * out, corner + hi * along + deep * out,
                     corner + hi * along]
    return _without_doubles(np.array(ring))


def _without_doubles(ring: NDArray[np.float64]) -> NDArray[np.float64]:
    ahead = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    return ring[ahead >= SAME_SPOT_MM]


def _is_plain(ring: NDArray[np.float64], before: NDArray[np.float64]) -> bool:
    """Whether the opened ring is a simple one that only gained floor."""
    shape, old = Polygon(ring), Polygon(before)
    return bool(shape.is_valid and shape.area > old.area and old.difference(shape).area < SAME_SPOT_MM * old.length)


def undercut_mm(board: Board, underlay: Underlay | None) -> float:
    """Height of the saw cut in a frame over the bare floor: board, underlay and 1 mm to slide (trade sheet, section
    6)."""
    return board.thickness_mm + (underlay.thickness_mm if underlay is not None else 0.0) + UNDERCUT_CLEARANCE_MM


def doorways_of(room: Room, opened: OpenFloor, board: Board, wishes: Settled) -> tuple[Doorway, ...]:
    """Every doorway that is laid, with what its frame needs."""
    found = []
    for door in opened.doors:
        i, lo, hi = opening_of(room, door, wishes.gap_mm)
        start = np.asarray(room.outline_mm[i], dtype=np.float64)
        along = room.outline_mm[(i + 1) % len(room.names)] - start
        along = along / np.hypot(*along)
        out = np.array([along[1], -along[0]])
        ring = [start + lo * along, start + lo * along + door.reveal_mm * out,
                start + hi * along + door.reveal_mm * out, start + hi * along]
        framed = door.casing is not None
        found.append(Doorway(door=door.name, outline=tuple((float(x), float(y)) for x, y in ring),
                             depth_mm=door.reveal_mm, under_mm=TUCK_MM if framed else 0.0,
                             undercut_mm=undercut_mm(board, wishes.underlay) if framed else 0.0,
                             undercut_deep_mm=wishes.gap_mm + TUCK_MM if framed else 0.0))
    return tuple(found)
