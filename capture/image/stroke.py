"""A slow stroke of a finger along the foot of a wall, turned into points on the floor line under it.

In: upright pixels and the stroke's places, px of that picture. Out: points on the line, px. Method: the line of least
squares through the stroke, moved onto the edge that runs along it (`line_on_edge`), whole at first and then in pieces,
because a lens bends a long line a little. Not done: it does not know a skirting's top from its foot; of two edges the
steeper within a finger's error is taken, and the person sees where the points lie.
"""
from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from capture.errors import CaptureError
from capture.image.line_on_edge import WINDOWS_PX, on_edge
from capture.language.messages import lazy_gettext

Array = NDArray[np.float64]

#: How far a finger strays from the line it follows, and how short a stroke is no stroke, in shares of the long side.
_ASTRAY_SHARE, _LEAST_SHARE = 0.0075, 0.04
#: A stroke bends away from its line by no more than this share of its length.
_BENT_SHARE = 0.06
#: Pieces of a long line, one point each.
_PIECES = 3


def points_on_line(pixels: NDArray[np.uint8], stroke: Array) -> Array:
    """(3, 2) points on the floor line under a stroke (n, 2) in a picture (h, w, 3), in the stroke's order.

    Raises CaptureError: "short-stroke", "bent-stroke", "no-line" where no edge runs along the stroke.
    """
    long_side = max(pixels.shape[:2])
    rough = _straight(stroke)
    length = float(np.hypot(*(rough[1] - rough[0])))
    if length < _LEAST_SHARE * long_side:
        raise CaptureError("short-stroke", lazy_gettext(
            "The stroke is only {length:.0f} px long, too short to tell a line by; draw along more of the wall's "
            "foot, or tap two places on it.", length=length))
    if _bend(stroke, rough) > _BENT_SHARE * length:
        raise CaptureError("bent-stroke", lazy_gettext(
            "The stroke is not straight; draw along one wall at a time."))
    line = on_edge(pixels, rough, (max(_ASTRAY_SHARE * long_side, 4.0), *WINDOWS_PX))
    if line is None:
        raise CaptureError("no-line", lazy_gettext(
            "No edge of a floor is seen along this stroke; tap places on the wall's foot by eye instead."))
    return np.array([_middle(pixels, line, piece) for piece in range(_PIECES)])


def _middle(pixels: NDArray[np.uint8], line: Array, piece: int) -> Array:
    """The middle of one piece of a line, put onto the edge by that piece alone where it is seen well enough."""
    part = line[0] + np.array([[piece], [piece + 1.0]]) / _PIECES * (line[1] - line[0])
    own = on_edge(pixels, part, WINDOWS_PX[1:])
    return np.asarray(np.mean(part if own is None else own, axis=0))


def _straight(stroke: Array) -> Array:
    """(2, 2) the line of least squares through a stroke (n, 2), from its beginning to its end."""
    middle = np.mean(stroke, axis=0)
    way = np.linalg.svd(stroke - middle, full_matrices=False)[2][0]
    along = (stroke - middle) @ way
    low, high = float(along.min()), float(along.max())
    order = (low, high) if along[-1] >= along[0] else (high, low)
    return middle + np.array(order)[:, None] * way


def _bend(stroke: Array, line: Array) -> float:
    """How far a stroke strays from a line at most, px."""
    way = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    return float(np.max(np.abs((stroke - line[0]) @ np.array([-way[1], way[0]]))))
