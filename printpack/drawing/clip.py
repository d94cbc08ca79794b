"""Items cut to a window: what a tile of a large drawing shows.

Lines are cut exactly (Liang and Barsky 1984, from memory), filled polygons by the half-plane rule (Sutherland and
Hodgman 1974, from memory), outlines edge by edge. A circle that crosses the window becomes a 720-cornered outline.
Texts are kept whole or dropped: see `tiles`, which sees to it that every text stands whole on some sheet.
"""
from __future__ import annotations

from dataclasses import replace

from printpack.drawing.sheet import NONE, Box, Circle, Item, Line, Point, Poly, Text, circle_as_poly
from printpack.drawing.metrics import text_box

Edge = tuple[Point, Point]


def clipped(item: Item, window: Box) -> tuple[Item, ...]:
    """The parts of the item inside the window (left, top, right, bottom)."""
    if isinstance(item, Line):
        part = clip_line(item.start, item.end, window)
        return (replace(item, start=part[0], end=part[1]),) if part else ()
    if isinstance(item, Text):
        return (item,) if inside(text_box(item), window) else ()
    if isinstance(item, Circle):
        (x, y), r = item.centre, item.radius_mm
        whole = inside((x - r, y - r, x + r, y + r), window)
        return (item,) if whole else clipped(circle_as_poly(item, 720), window)
    return _clip_poly(item, window)


def inside(box: Box, window: Box, slack: float = 1e-6) -> bool:
    """Whether the box lies in the window."""
    return (box[0] >= window[0] - slack and box[1] >= window[1] - slack
            and box[2] <= window[2] + slack and box[3] <= window[3] + slack)


def clip_line(start: Point, end: Point, window: Box) -> Edge | None:
    """The part of a straight line inside the window, or None."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    first, last = 0.0, 1.0
    for p, q in ((-dx, start[0] - window[0]), (dx, window[2] - start[0]),
                 (-dy, start[1] - window[1]), (dy, window[3] - start[1])):
        if p == 0:
            if q < 0:
                return None
        elif p < 0:
            first = max(first, q / p)
        else:
            last = min(last, q / p)
    if first >= last:
        return None
    return ((start[0] + first * dx, start[1] + first * dy), (start[0] + last * dx, start[1] + last * dy))


def clip_ring(points: tuple[Point, ...], window: Box) -> tuple[Point, ...]:
    """A polygon cut to the window; empty if nothing is left."""
    for axis, bound, sign in ((0, window[0], 1.0), (0, window[2], -1.0), (1, window[1], 1.0), (1, window[3], -1.0)):
        points = _half_plane(points, axis, bound, sign)
    return points


def _half_plane(points: tuple[Point, ...], axis: int, bound: float, sign: float) -> tuple[Point, ...]:
    kept: list[Point] = []
    for here, there in zip(points, points[1:] + points[:1]):
        a, b = sign * (here[axis] - bound), sign * (there[axis] - bound)
        if a >= 0:
            kept.append(here)
        if (a > 0 > b) or (a < 0 < b):
            share = a / (a - b)
            kept.append((here[0] + share * (there[0] - here[0]), here[1] + share * (there[1] - here[1])))
    return tuple(kept)


def _clip_poly(item: Poly, window: Box) -> tuple[Item, ...]:
    xs, ys = [p[0] for p in item.points], [p[1] for p in item.points]
    if inside((min(xs), min(ys), max(xs), max(ys)), window):
        return (item,)
    parts: list[Item] = []
    if item.fill is not None:
        ring = clip_ring(item.points, window)
        if len(ring) >= 3:
            parts.append(replace(item, points=ring, pen=NONE, closed=True))
    if item.pen.width_mm > 0:
        parts += [replace(item, points=chain, fill=None, closed=False) for chain in _chains(item, window)]
    return tuple(parts)


def _chains(item: Poly, window: Box) -> list[tuple[Point, ...]]:
    """The outline's stretches inside the window, joined where they follow one another."""
    ring = item.points + item.points[:1] if item.closed else item.points
    chains: list[list[Point]] = []
    for start, end in zip(ring, ring[1:]):
        part = clip_line(start, end, window)
        if part is None:
            continue
        if chains and chains[-1][-1] == part[0]:
            chains[-1].append(part[1])
        else:
            chains.append(list(part))
    return [tuple(chain) for chain in chains]
