"""A rough line moved onto the edge of the picture it runs along, to a part of a pixel.

In: pixels, two ends some px off. Out: the ends on the edge, or None where the picture has none there. Method: the
steepest change of colour across the line, looked for at many places along it (parabola through the peak of the
derivative of a Gaussian), and the line of least absolute deviations through those places (Huber's weights, iterated;
Huber, 1981), first in a wide window, then in a narrow one.
"""
from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

#: Places along the line and across it, px; how far to either side an edge is looked for, in turn.
_ALONG_PX, _ACROSS_PX, WINDOWS_PX = 3.0, 0.5, (4.0, 2.5, 2.0)
#: Blur across and the least change of colour that counts, grey levels a px.
_SIGMA_PX, _LEAST_SLOPE = 1.2, 1.5
#: Spread past which a place is an outlier, px, and the share of places that must have an edge.
_HUBER_PX, _LEAST_SHARE = 0.5, 0.35


def on_edge(pixels: NDArray[np.uint8], ends: Array, windows_px: Sequence[float] = WINDOWS_PX) -> Array | None:
    """ends (2, 2) px of a picture (h, w, 3), moved; None where edges are seen along too little of the line, or where it
    is longer than any in the picture.

    windows_px: how far to either side an edge is looked for, one time after the other.
    """
    for window in windows_px:
        moved = _moved(pixels, ends, window)
        if moved is None:
            return None
        ends = moved
    return ends


def _moved(pixels: NDArray[np.uint8], ends: Array, window: float) -> Array | None:
    length = float(np.hypot(*(ends[1] - ends[0])))
    if length > sum(pixels.shape[:2]):
        return None
    way = (ends[1] - ends[0]) / max(length, 1e-9)
    across = np.array([-way[1], way[0]])
    along = np.linspace(0.0, length, max(4, int(length / _ALONG_PX)))
    off, strength = _steepest(pixels, ends[0] + along[:, None] * way, across, window)
    seen = strength >= _LEAST_SLOPE
    if np.mean(seen) < _LEAST_SHARE:
        return None
    at, off, weight = along[seen], off[seen], np.minimum(strength[seen], 12.0)
    start, slope = _robust_line(at, off, weight)
    return np.stack([ends[0] + start * across, ends[1] + (start + slope * length) * across])


def _steepest(pixels: NDArray[np.uint8], spots: Array, across: Array, window: float) -> tuple[Array, Array]:
    """(k,) offset and strength of the steepest change of colour across the line at each spot."""
    reach = window + 4.0 * _SIGMA_PX
    offs = np.arange(-reach, reach + _ACROSS_PX / 2, _ACROSS_PX)
    places = (spots[:, None] + offs[None, :, None] * across).astype(np.float32)
    profile = cv2.remap(pixels, places[..., 0], places[..., 1], cv2.INTER_LINEAR,
                        borderMode=cv2.BORDER_REPLICATE).astype(float)
    slope = np.sqrt(np.sum(_derivative(profile) ** 2, axis=2))
    inside = np.abs(offs) <= window
    inner = slope[:, inside]
    best = np.argmax(inner, axis=1)
    first = int(np.argmax(inside))
    rows = np.arange(len(spots))
    low, mid, high = (slope[rows, first + best + k] for k in (-1, 0, 1))
    curve = low - 2.0 * mid + high
    shift = np.where(curve < -1e-9, 0.5 * (low - high) / np.where(curve < -1e-9, curve, -1.0), 0.0)
    return offs[first + best] + np.clip(shift, -1.0, 1.0) * _ACROSS_PX, mid


def _derivative(profile: Array) -> Array:
    """Derivative of a Gaussian along axis 1, a px."""
    sigma = _SIGMA_PX / _ACROSS_PX
    steps = np.arange(-round(3 * sigma), round(3 * sigma) + 1).astype(float)
    kernel = steps * np.exp(-0.5 * (steps / sigma) ** 2)
    kernel = kernel / (np.sum(kernel * steps) * _ACROSS_PX)
    flat = profile.transpose(0, 2, 1).reshape(-1, profile.shape[1])
    out = np.asarray(cv2.filter2D(flat, -1, kernel[None], borderType=cv2.BORDER_REPLICATE), dtype=float)
    return out.reshape(profile.shape[0], profile.shape[2], -1).transpose(0, 2, 1)


def _robust_line(at: Array, off: Array, weight: Array) -> tuple[float, float]:
    """Start and slope of off over at."""
    start, slope = float(np.median(off)), 0.0
    for _ in range(8):
        left = np.abs(off - start - slope * at)
        w = weight * np.minimum(1.0, _HUBER_PX / np.maximum(left, 1e-9))
        middle = np.average(at, weights=w)
        spread = np.average((at - middle) ** 2, weights=w)
        slope = float(np.average((at - middle) * off, weights=w) / max(spread, 1e-9))
        start = float(np.average(off, weights=w) - slope * middle)
    return start, slope
