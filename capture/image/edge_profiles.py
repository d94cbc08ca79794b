"""Where light changes on short cuts across a supposed edge, to a fraction of a pixel.

In: upright pixels and places in px of that picture, (0, 0) the centre of its top-left pixel. A blurred edge is
symmetric in light alone, so stored values are turned into light first: on stored greys a bright sheet looks 0.2 to 0.4
px too large on every side. Method: the place on a cut is the centroid of the slope between the two sides. What the two
sides are is the median over all cuts, so both may have any colours, as long as they differ. A thing on a floor throws a
thin shadow, which is the floor again made darker: where the colours allow it, light is taken square to the floor's own
colour, so that floor and shadow are one. Not done: strokes, such as a joint between two boards (`edges` knows those).
"""
from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Light in proportion, 0 to 255, of stored values: the sRGB curve undone (IEC 61966-2-1).
_STORED = np.arange(256) / 255.0
LIGHT = (255.0 * np.where(_STORED <= 0.04045, _STORED / 12.92, ((_STORED + 0.055) / 1.055) ** 2.4)).astype(np.float32)
#: How closely a cut is sampled, px, and the share of the steepest slope below which a slope is noise.
STEP_PX, _NOISE_SHARE = 0.25, 0.15
#: The weakest change of light that counts, of 255, and the share of the usual change a cut must show.
_FAINTEST, _LEAST_SHARE = 3.0, 0.4
#: The share of the whole change that must be left square to the ground's colour for that to be used.
_LEAST_SQUARE = 0.15


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Changes:
    """off_px: (m,) how far from each spot the light changes, along its cut; spread_px: (m,) how blurred the change is
    (one standard deviation); clear: (m,) whether it is clear there; outside: (3,) light of the far side; change: (3,)
    that less light of the near side."""

    off_px: Array
    spread_px: Array
    clear: Bools
    change: Array
    outside: Array


def changes_across(pixels: NDArray[np.uint8], spots: Array, ways: Array, reach_px: float, *,
                   ground: Array | None = None) -> Changes:
    """The change of light on each cut from -reach to +reach through the spots (m, 2) along unit vectors (m, 2).

    ground: (3,) light of the floor; the colour of the far side if it is not given.
    """
    steps = np.arange(-reach_px, reach_px + STEP_PX / 2, STEP_PX)
    at = spots[:, None] + steps[None, :, None] * ways[:, None]
    cuts, inside = light_on(pixels, at)
    far, near = (np.mean(cuts[:, which], axis=1) for which in (steps > reach_px / 2, steps < -reach_px / 2))
    sound = inside if np.any(inside) else np.ones_like(inside)
    outside = np.median(far[sound], axis=0)
    change = outside - np.median(near[sound], axis=0)
    towards = _square_to(change, outside if ground is None else ground)
    size = float(np.linalg.norm(towards))
    if size < _FAINTEST:
        nothing = np.zeros(len(spots))
        return Changes(off_px=nothing, spread_px=nothing, clear=np.zeros(len(spots), dtype=bool), change=change,
                       outside=outside)
    off, spread = _centroids(np.diff(cuts @ (towards / size), axis=1), (steps[1:] + steps[:-1]) / 2)
    clear = inside & ((far - near) @ (towards / size) > _LEAST_SHARE * size)
    return Changes(off_px=off, spread_px=spread, change=change, outside=outside, clear=clear)


def _square_to(change: Array, ground: Array) -> Array:
    """(3,) the part of a change that a shadow on the ground cannot make; the whole change where too little of it is
    left."""
    own = ground / max(float(np.linalg.norm(ground)), 1e-9)
    rest = change - (change @ own) * own
    return rest if np.linalg.norm(rest) >= max(_LEAST_SQUARE * float(np.linalg.norm(change)), _FAINTEST) else change


def light_on(pixels: NDArray[np.uint8], at: Array) -> tuple[Array, Bools]:
    """(m, k, 3) light at places (m, k, 2), and which cuts (m,) lie wholly inside the picture."""
    height, width = pixels.shape[:2]
    low = np.clip(np.floor(at.min(axis=(0, 1))) - 2, 0, (width - 1, height - 1)).astype(int)
    high = np.clip(np.ceil(at.max(axis=(0, 1))) + 3, 1, (width, height)).astype(int)
    piece = LIGHT[pixels[low[1]:high[1], low[0]:high[0]]]
    if piece.ndim == 2:
        piece = np.repeat(piece[..., None], 3, axis=2)
    moved = (at - low).astype(np.float32)
    cuts = cv2.remap(piece, moved[..., 0], moved[..., 1], cv2.INTER_LINEAR,
                     borderMode=cv2.BORDER_REPLICATE).astype(float)
    return cuts, np.all((at >= 0.0) & (at <= np.array([width - 1.0, height - 1.0])), axis=(1, 2))


def _centroids(slope: Array, at: Array) -> tuple[Array, Array]:
    """(m,) mean place and (m,) spread of the slopes (m, k) over the places (k,), noise left out."""
    weight = np.maximum(slope - _NOISE_SHARE * np.max(slope, axis=1, keepdims=True), 0.0)
    weight /= np.maximum(np.sum(weight, axis=1, keepdims=True), 1e-9)
    mean = weight @ at
    return mean, np.sqrt(np.maximum(weight @ at**2 - mean**2, 0.0))
