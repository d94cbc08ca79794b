"""Four-sided outlines in a picture: where a sheet or card may lie. Places in px, corners anticlockwise on the floor."""
from __future__ import annotations

from collections.abc import Iterator

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

#: Long side of the picture rectangles are looked for in, px, and the least share of it that one covers.
SMALL_PX, _LEAST_SHARE = 1000.0, 0.0015
#: Levels a channel, and the largest deviation of a rectangle's outline from four lines, as a share of its length.
_LEVELS, _OFF_LINES = 14, 0.02


def rectangles(pixels: NDArray[np.uint8]) -> Iterator[Array]:
    """(4, 2) rough corners of everything four-sided, px of the full picture, anticlockwise to the eye."""
    height, width = pixels.shape[:2]
    zoom = min(1.0, SMALL_PX / max(height, width))
    small = cv2.GaussianBlur(cv2.resize(pixels, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_AREA), (0, 0), 0.8)
    lab = cv2.cvtColor(small, cv2.COLOR_RGB2LAB)
    for channel in cv2.split(lab):
        low, high = np.percentile(channel, (1.0, 99.5))
        if high - low < 12:
            continue
        for level in np.linspace(low, high, _LEVELS + 2)[1:-1]:
            outlines, _ = cv2.findContours((channel > level).astype(np.uint8), cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
            for outline in outlines:
                quad = _four_sided(outline[:, 0].astype(float), _LEAST_SHARE * small.shape[0] * small.shape[1])
                if quad is not None:
                    yield anticlockwise((quad + 0.5) / zoom - 0.5)


def _four_sided(outline: Array, least_area: float) -> Array | None:
    """The crossings of four lines along an outline (n, 2), or None if it is not four-sided."""
    if len(outline) < 60:
        return None
    ring = outline.astype(np.float32).reshape(-1, 1, 2)
    area = cv2.contourArea(ring)
    if area < least_area or area < 0.95 * cv2.contourArea(cv2.convexHull(ring)):
        return None
    corners = cv2.approxPolyDP(ring, _OFF_LINES * cv2.arcLength(ring, True), True).reshape(-1, 2)
    if len(corners) != 4 or not cv2.isContourConvex(corners.reshape(-1, 1, 2)):
        return None
    at = sorted(int(np.argmin(np.hypot(*(outline - corner).T))) for corner in corners)
    found = (_line_of(outline, start, end) for start, end in zip(at, at[1:] + [at[0] + len(outline)]))
    lines = [line for line in found if line is not None]
    crossed = [place for k in range(4) if len(lines) == 4 and (place := _cross(lines[k - 1], lines[k])) is not None]
    return np.array(crossed) if len(crossed) == 4 else None


def _line_of(outline: Array, start: int, end: int) -> tuple[Array, Array] | None:
    """A line through the middle part of a stretch of an outline."""
    off = int(0.15 * (end - start))
    part = outline[np.arange(start + off, end - off) % len(outline)]
    if len(part) < 6:
        return None
    vx, vy, x, y = cv2.fitLine(part.astype(np.float32), cv2.DIST_HUBER, 0, 0.01, 0.01).ravel()
    return np.array([x, y], dtype=float), np.array([vx, vy], dtype=float)


def _cross(one: tuple[Array, Array], other: tuple[Array, Array]) -> Array | None:
    (p, a), (q, b) = one, other
    sine = a[0] * b[1] - a[1] * b[0]
    return None if abs(sine) < 0.1 else p + ((q - p)[0] * b[1] - (q - p)[1] * b[0]) / sine * a


def anticlockwise(quad: Array) -> Array:
    """The corners in order as the floor is seen from above; in a picture y runs down."""
    middle = quad.mean(axis=0)
    order = np.argsort(-np.arctan2(quad[:, 1] - middle[1], quad[:, 0] - middle[0]))
    return quad[order]


def quad_area(quad: Array) -> float:
    return float(cv2.contourArea(quad.astype(np.float32).reshape(-1, 1, 2)))


def distinct(quads: list[Array]) -> list[Array]:
    """Rectangles without those found before, at another level, largest first."""
    kept: list[Array] = []
    for quad in sorted(quads, key=quad_area, reverse=True):
        size = np.sqrt(quad_area(quad))
        if not any(apart(quad, other) < 0.04 * size for other in kept):
            kept.append(quad)
    return kept[:40]


def apart(one: Array, other: Array) -> float:
    """How far the corners of two rectangles are apart, at best."""
    return min(float(np.max(np.hypot(*(one - np.roll(other, k, axis=0)).T))) for k in range(4))
