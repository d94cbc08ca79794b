"""From the room to the floor and to what boards will cover: the floor less the gap at every wall and island.

Plan frame, mm. The outline is moved inwards and every island outwards by the gap, with mitred corners (a corner cut off
where it would reach further than five gaps), so straight walls give straight board edges. The cover may fall into
parts.
"""
from __future__ import annotations

from math import acos, degrees

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from capture.language.messages import Message, lazy_gettext
from layout import plan as planned
from layout.errors import LayoutError
from layout.room import Room

#: A part of the cover smaller than this cannot take a piece of board, mm2.
LEAST_PART_MM2 = 100.0
#: Corners nearer than this are one corner; a corner sharper than this is a needle (common practice).
SAME_SPOT_MM, NEEDLE_DEG = 1.0, 1.0
#: Islands that share no more than this touch, mm2.
OVERLAP_MM2 = 1.0
MITRE_LIMIT = 5.0


def floor_shape(room: Room) -> BaseGeometry:
    """The floor wall to wall less its islands, checked. Raises LayoutError (slug bad-outline, needle, bad-island)."""
    outline = _ring(room.outline_mm, room.names, lazy_gettext("outline"), "outline")
    if not outline.exterior.is_ccw:
        raise LayoutError("bad-outline", lazy_gettext(
            "The outline runs clockwise; list its corners anticlockwise, seen from above."), where="outline")
    floor: BaseGeometry = outline
    for name, ring in room.islands:
        island = _ring(ring, tuple(f"{name}{i + 1}" for i in range(len(ring))),
                       lazy_gettext("island {name}", name=name), f"island {name}")
        if island.difference(outline.buffer(SAME_SPOT_MM)).area > 1.0:
            raise LayoutError("bad-island", lazy_gettext(
                "Island {name} reaches outside the floor; check its corners.", name=name), where=f"islands.{name}")
        if outline.intersection(island).area - floor.intersection(island).area > OVERLAP_MM2:
            raise LayoutError("bad-island", lazy_gettext(
                "Island {name} overlaps another island; make them one.", name=name), where=f"islands.{name}")
        floor = floor.difference(island)
    return floor


def cover_parts(outline_mm: NDArray[np.float64], islands: tuple[tuple[str, NDArray[np.float64]], ...],
                gap_mm: float) -> list[Polygon]:
    """What boards cover, largest part first, outlines anticlockwise. Raises LayoutError (slug gap-eats-floor)."""
    shape = shrunken(outline_mm, islands, gap_mm)
    parts = [orient(_tidy(part)) for part in polygons_of(shape) if part.area > LEAST_PART_MM2]
    if not parts:
        least = 2 * shapely.maximum_inscribed_circle(Polygon(outline_mm)).length
        raise LayoutError("gap-eats-floor", lazy_gettext(
            "A gap of {gap:g} mm at every wall leaves nothing to cover in a floor only {least:.0f} mm wide; make "
            "the gap smaller or check the outline.", gap=gap_mm, least=least), where="flooring.gap")
    return sorted(parts, key=lambda part: (-part.area, part.bounds))


def shrunken(outline_mm: NDArray[np.float64], islands: tuple[tuple[str, NDArray[np.float64]], ...],
             gap_mm: float) -> BaseGeometry:
    """The floor less a gap at every wall and island, corners mitred."""
    shape: BaseGeometry = Polygon(outline_mm).buffer(-gap_mm, join_style="mitre", mitre_limit=MITRE_LIMIT)
    for _, ring in islands:
        shape = shape.difference(Polygon(ring).buffer(gap_mm, join_style="mitre", mitre_limit=MITRE_LIMIT))
    return shape


def lost_alcoves(floor: BaseGeometry, cover: list[Polygon], gap_mm: float) -> list[Polygon]:
    """Parts of the floor further from the cover than the gap can explain: alcoves too narrow for boards."""
    reached = shapely.union_all(cover).buffer(gap_mm * 2.5 + 1.0)
    return [part for part in polygons_of(floor.difference(reached)) if part.area > LEAST_PART_MM2]


def polygons_of(shape: BaseGeometry) -> list[Polygon]:
    """The polygons in a shape, dropping the points and lines that clipping leaves behind."""
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    if isinstance(shape, MultiPolygon) or hasattr(shape, "geoms"):
        return [polygon for part in shape.geoms for polygon in polygons_of(part)]
    return []


def to_polygon(shape: Polygon) -> planned.Polygon:
    """A plan polygon: outline anticlockwise, holes clockwise, first corner not repeated."""
    shape = orient(shape)
    rings = [tuple((float(x), float(y)) for x, y in ring.coords[:-1]) for ring in (shape.exterior, *shape.interiors)]
    return planned.Polygon(outline=rings[0], holes=tuple(rings[1:]))


def _tidy(part: Polygon) -> Polygon:
    """The part without corners that lie on a straight line (clipping leaves some)."""
    simple = part.simplify(1e-9)
    return simple if isinstance(simple, Polygon) and simple.is_valid else part


def _ring(ring: NDArray[np.float64], names: tuple[str, ...], what: Message, where: str) -> Polygon:
    corners = np.asarray(ring, dtype=np.float64)
    if corners.ndim != 2 or len(corners) < 3:
        raise LayoutError("bad-outline", lazy_gettext(
            "The {what} has {count} corners; a floor needs at least three.", what=what, count=len(corners)),
                          where=where)
    if not np.isfinite(corners).all():
        raise LayoutError("bad-outline", lazy_gettext(
            "The {what} has a corner whose place is not a number; solve the floor again.", what=what), where=where)
    ahead = np.roll(corners, -1, axis=0) - corners
    lengths = np.hypot(ahead[:, 0], ahead[:, 1])
    for i in np.flatnonzero(lengths < SAME_SPOT_MM):
        raise LayoutError("bad-outline", lazy_gettext(
            "Corners {a} and {b} of the {what} lie on the same spot; drop one of them.",
            a=names[i], b=names[(i + 1) % len(names)], what=what), where=where)
    shape = Polygon(corners)
    if not shape.is_valid:
        raise LayoutError("bad-outline", lazy_gettext(
            "The {what} crosses itself ({why}); list its corners in order round the room.", what=what,
            why=shapely.is_valid_reason(shape)), where=where)
    _refuse_needles(ahead / lengths[:, None], names, what, where)
    return shape


def _refuse_needles(steps: NDArray[np.float64], names: tuple[str, ...], what: Message, where: str) -> None:
    for i, name in enumerate(names):
        between = degrees(acos(float(np.clip(-steps[i - 1] @ steps[i], -1.0, 1.0))))
        if between < NEEDLE_DEG:
            raise LayoutError("needle", lazy_gettext(
                "The {what} folds back on itself at {name}: the two walls there meet at {between:.1f} degrees; "
                "check the corners next to it.", what=what, name=name, between=between), where=name)
