"""The invented back bedroom, as it would be measured with a perfect tape.

Frame: mm; x right, y up in plan, z up from the subfloor. The outline runs anticlockwise on the floor at the
skirting's face: corner A is the south-west corner and the origin, wall A-B lies along +x. D, E, F, G are the
corners of a chimney breast on the north wall. Everything here is made up.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Point = tuple[float, float]

CORNERS: dict[str, Point] = {
    "A": (0.0, 0.0), "B": (4311.0, 0.0), "C": (4269.6, 3385.7), "D": (2466.7, 3376.3),
    "E": (2465.1, 3024.3), "F": (1251.2, 3012.7), "G": (1250.6, 3358.7), "H": (19.8, 3344.7),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Skirting:
    """Skirting board: it stands `thickness_mm` off the plaster, so the plaster lies that far outside the outline."""

    height_mm: float = 100.0
    thickness_mm: float = 15.0
    chamfer_mm: float = 7.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Door:
    """An opening in the wall between two corners, seen at floor level.

    from_mm: along the wall line from its first corner to the opening; width_mm: between the linings;
    reveal_mm: from the wall line to the far side. The casing stands `casing_proud_mm` out from the wall line, that is
    from the skirting's face, so it is `casing_proud_mm` plus the skirting's thickness deep in all.
    """

    name: str
    wall: tuple[str, str]
    from_mm: float
    width_mm: float
    height_mm: float
    reveal_mm: float
    casing_width_mm: float
    casing_proud_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """A window opening: along the wall from its first corner, sill and head above the floor, depth of the reveal."""

    wall: tuple[str, str]
    from_mm: float
    width_mm: float
    sill_mm: float
    head_mm: float
    reveal_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Pipe:
    """A copper tail: its centre by the distance along a wall line and square off it, and its outside diameter."""

    name: str
    wall: tuple[str, str]
    along_mm: float
    off_mm: float
    diameter_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Radiator:
    """A panel radiator: along the wall from its first corner, square off the wall line, bottom and top."""

    wall: tuple[str, str]
    from_mm: float
    to_mm: float
    near_mm: float
    far_mm: float
    bottom_mm: float
    top_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Prop:
    """Something round that stands about: what it is, its centre, radius and height."""

    what: str
    centre: Point
    radius_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Slab:
    """A flat box lying about: centre, (length, width, height), mm, and its turn anticlockwise from plan x."""

    what: str
    centre: Point
    size_mm: tuple[float, float, float]
    turn_deg: float
    bottom_mm: float = 0.0


CEILING_MM = 2440.0
SKIRTING = Skirting()
DOOR = Door(name="D1", wall=("A", "B"), from_mm=538.0, width_mm=762.0, height_mm=1981.0, reveal_mm=110.0,
            casing_width_mm=57.0, casing_proud_mm=15.0)
WINDOW = Window(wall=("B", "C"), from_mm=1060.0, width_mm=1240.0, sill_mm=870.0, head_mm=2080.0, reveal_mm=190.0)
RADIATOR = Radiator(wall=("B", "C"), from_mm=1195.0, to_mm=2195.0, near_mm=22.0, far_mm=98.0,
                    bottom_mm=150.0, top_mm=750.0)
PIPES = (
    Pipe(name="P1", wall=("B", "C"), along_mm=1151.0, off_mm=61.0, diameter_mm=15.0),
    Pipe(name="P2", wall=("B", "C"), along_mm=2238.0, off_mm=58.5, diameter_mm=15.0),
)

PROPS = (
    Prop(what="bucket", centre=(2318.0, 2722.0), radius_mm=150.0, height_mm=305.0),
    Prop(what="dust sheet", centre=(520.0, 1830.0), radius_mm=480.0, height_mm=80.0),
    Prop(what="paint tin", centre=(3390.0, 3105.0), radius_mm=82.0, height_mm=190.0),
)
SLABS = (
    Slab(what="carton", centre=(2830.0, 520.0), size_mm=(1300.0, 204.0, 68.0), turn_deg=2.5),
    Slab(what="carton", centre=(2850.0, 525.0), size_mm=(1300.0, 204.0, 68.0), turn_deg=-1.0, bottom_mm=68.0),
)
SHEET = Slab(what="A4 sheet", centre=(1560.0, 175.0), size_mm=(297.0, 210.0, 0.2), turn_deg=5.0)
CARD = Slab(what="blank ID-1 card", centre=(4175.0, 1085.0), size_mm=(85.60, 53.98, 0.76), turn_deg=72.0)

#: The casing's cross-section from its outer to its inner edge: (along the wall, out from the skirting's face), mm.
CASING_PROFILE: tuple[Point, ...] = (
    (0.0, -15.0), (0.0, 13.0), (0.6, 14.4), (2.0, 15.0), (11.0, 15.0), (12.4, 14.4), (13.0, 13.0), (13.0, 10.5),
    (15.0, 9.6), (18.0, 8.9), (22.0, 8.4), (27.0, 7.6), (33.0, 6.4), (39.0, 4.8), (45.0, 2.9), (50.0, 1.4),
    (54.0, 0.6), (56.2, -0.4), (57.0, -2.2), (57.0, -15.0),
)


def corner(name: str) -> NDArray[np.float64]:
    """(2,) place of a floor corner, mm."""
    return np.array(CORNERS[name])


def outline() -> NDArray[np.float64]:
    """(8, 2) floor corners, anticlockwise, mm."""
    return np.array(list(CORNERS.values()))


def wall_frame(wall: tuple[str, str]) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], float]:
    """(start, along, inward, length) of a wall line: its first corner, unit vectors along it and into the room, mm."""
    start, end = corner(wall[0]), corner(wall[1])
    length = float(np.hypot(*(end - start)))
    along = (end - start) / length
    return start, along, np.array([-along[1], along[0]]), length


def at_wall(wall: tuple[str, str], along_mm: float, off_mm: float = 0.0) -> NDArray[np.float64]:
    """(2,) plan point `along_mm` from the wall's first corner and `off_mm` into the room."""
    start, along, inward, _ = wall_frame(wall)
    return start + along_mm * along + off_mm * inward


def pipe_centre(pipe: Pipe) -> NDArray[np.float64]:
    """(2,) centre of a pipe where it meets the floor, mm."""
    return at_wall(pipe.wall, pipe.along_mm, pipe.off_mm)


def walls() -> tuple[tuple[str, str], ...]:
    """The walls in order round the room, as pairs of corner names."""
    names = list(CORNERS)
    return tuple(zip(names, names[1:] + names[:1]))


def offset_outline(out_mm: float) -> NDArray[np.float64]:
    """(8, 2) outline moved `out_mm` outwards (inwards if negative), corners mitred."""
    names = list(CORNERS)
    moved = []
    for before, here, after in zip(names[-1:] + names[:-1], names, names[1:] + names[:1]):
        _, along_1, inward_1, _ = wall_frame((before, here))
        _, along_2, inward_2, _ = wall_frame((here, after))
        crossing = np.stack([along_1, -along_2], axis=1)
        step = np.linalg.solve(crossing, out_mm * (inward_1 - inward_2))
        moved.append(corner(here) - out_mm * inward_1 + step[0] * along_1)
    return np.array(moved)


def casing_footprint(side: str) -> NDArray[np.float64]:
    """(k, 2) outline of a leg of the casing on the floor, in plan, mm; side "first" is nearer the wall's first
    corner."""
    width = DOOR.casing_width_mm
    if side == "first":
        along = [DOOR.from_mm - width + s for s, _ in CASING_PROFILE]
    else:
        along = [DOOR.from_mm + DOOR.width_mm + width - s for s, _ in CASING_PROFILE]
    return np.array([at_wall(DOOR.wall, s, off) for s, (_, off) in zip(along, CASING_PROFILE)])

def slab_footprint(slab: Slab) -> NDArray[np.float64]:
    """(4, 2) corners of a slab in plan, anticlockwise, mm."""
    half = np.array(slab.size_mm[:2]) / 2
    turn = np.radians(slab.turn_deg)
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    return np.array(slab.centre) + (np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * half) @ spin.T


def floor_points() -> dict[str, NDArray[np.float64]]:
    """(2,) plan place of every named floor point: corners, J1 (skirting meets the casing's far leg), pipe centres."""
    places = {name: np.array(xy) for name, xy in CORNERS.items()}
    places["J1"] = at_wall(DOOR.wall, DOOR.from_mm + DOOR.width_mm + DOOR.casing_width_mm)
    return places | {p.name: pipe_centre(p) for p in PIPES}
