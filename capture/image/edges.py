"""Straight edges in a small piece of a picture, followed outwards from a place and measured to a fraction of a pixel.

In: upright pixels. Here all is in px of a `Patch`: a piece cut out round a place and shrunk so that the whole picture
would be 1600 px long, (0, 0) the centre of its first pixel; edges in a 12-megapixel photo are no sharper than that.
Method: OpenCV's line segment detector (von Gioi et al., IPOL 2012) finds segments in lightness and in two colours. An
edge is then followed from a supposed meeting place on short cuts across it: its place along a cut is the centroid of
the slope between the colours on its two sides, and a straight line is fitted to these places, those far off left out.
Not done: lens correction (within 80 px a phone's lens bends a line by some 0.1 px), curved edges. Known awkward part:
where a dark gap lies under a skirting, the edge is taken at the top of the gap.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Long side of the picture at the size its edges are measured in, px. A smaller picture is left as it is.
LONG_SIDE_PX = 1600.0
#: Shorter segments are texture.
_SHORTEST_SEGMENT_PX = 10.0
#: Part of an edge that is measured, from the meeting place: nearer, the corner rounds it off; farther, the lens bends
#: it.
_NEAREST_PX, _FARTHEST_PX = 3.0, 80.0
#: An edge that cannot be followed this far is not trusted.
_SHORTEST_RAY_PX = 14.0
#: Cuts that tell what kind of edge it is: those nearest to the meeting place.
_TELLING = 25
#: Weakest change of colour that counts, of 255.
_WEAKEST = 5.0
#: Half the length of a cut, the half of its middle part that belongs to neither side, and how closely it is sampled.
_CUT_PX, _BLUR_PX, _STEP_PX = 5.0, 2.0, 0.5
#: How far a place may lie off the line and still belong to it.
_OFF_LINE_PX = 1.8
#: A step between the sides that is weaker than this share of what lies between them makes no edge but a stroke.
_LEAST_NET = 0.4
#: Half the cuts looked at to tell whether an edge is lost: a joint of the floor that ends at it hides some ten of them.
_LOST_AMONG = 10
#: Where it is looked whether an edge goes on beyond the meeting place, and the share of its strength that counts:
#: furniture in front of a white skirting may be little darker than the floor.
_BEYOND_PX, _GOES_ON = (6.0, 20.0), 0.2
#: Neighbouring cuts, one a px, share blur and noise: this many count as one.
_SHARED_CUTS = 3.0
#: From CIE L (0 to 100), a and b (about -100 to 100) to bytes, colour spread: paint and wood may be equally bright.
_LAB_TO_BYTE, _LAB_AT = np.array([2.55, 2.0, 2.0], dtype=np.float32), np.array([0.0, 128.0, 128.0], dtype=np.float32)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Patch:
    """A piece of a picture: (h, w, 3) float32 colours, where its first pixel lies in the picture, patch px to a
    picture px."""

    colours: NDArray[np.float32]
    corner_px: tuple[float, float]
    zoom: float

    def to_picture(self, places: Array) -> Array:
        """Places (..., 2) of the patch as px of the picture."""
        return (places + 0.5) / self.zoom - 0.5 + np.array(self.corner_px)

    def from_picture(self, places: Array) -> Array:
        """Px (..., 2) of the picture as places of the patch."""
        return (places - np.array(self.corner_px) + 0.5) * self.zoom - 0.5

    def holds(self, places: Array) -> Bools:
        """Which places (..., 2) lie inside."""
        height, width = self.colours.shape[:2]
        return np.all((places >= 0.0) & (places <= np.array([width - 1.0, height - 1.0])), axis=-1)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Ray:
    """An edge that runs out from a meeting place, px of the patch.

    foot: (2,) place on its line next to the meeting place; way: (2,) unit vector away from it; length_px: how far it
    was followed. var_px2: variance of the line across itself at the foot, from the scatter along it. colours: (2, 3) of
    its left and right side as seen along `way`. is_stroke: the sides are much alike and a thin line runs between them.
    goes_on: an edge continues it beyond.
    """

    foot: Array
    way: Array
    length_px: float
    var_px2: float
    colours: Array
    is_stroke: bool
    goes_on: bool


def cut_patch(pixels: NDArray[np.uint8], place_px: tuple[float, float], half_px: float) -> Patch:
    """The piece of a picture (h, w, 3) or (h, w) round a place in it, `half_px` to every side as far as the picture
    goes."""
    height, width = pixels.shape[:2]
    left, top = (max(0, int(np.floor(c - half_px))) for c in place_px)
    right, bottom = (min(size, int(np.ceil(c + half_px)) + 1) for c, size in zip(place_px, (width, height)))
    piece: NDArray[np.integer | np.floating] = pixels[top:bottom, left:right]
    zoom = min(1.0, LONG_SIDE_PX / max(height, width))
    if zoom < 1.0:
        piece = cv2.resize(piece, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_AREA)
    colours = piece if piece.ndim == 3 else np.repeat(piece[..., None], 3, axis=2)
    return Patch(colours=colours.astype(np.float32), corner_px=(float(left), float(top)), zoom=zoom)


def find_segments(patch: Patch) -> Array:
    """(n, 2, 2) straight segments of some length, by their two ends; one edge may be found more than once."""
    found = [cv2.createLineSegmentDetector(cv2.LSD_REFINE_STD).detect(channel)[0] for channel in _lab_bytes(patch)]
    ends = np.concatenate([np.empty((0, 2, 2)), *(lines.reshape(-1, 2, 2) for lines in found if lines is not None)])
    return ends[np.hypot(*(ends[:, 1] - ends[:, 0]).T) >= _SHORTEST_SEGMENT_PX]


def _lab_bytes(patch: Patch) -> Sequence[NDArray[np.uint8]]:
    """The three channels of L, a and b as bytes; worked out in place, since a whole photo is large."""
    lab = np.asarray(cv2.cvtColor(patch.colours / 255.0, cv2.COLOR_RGB2LAB), dtype=np.float32)
    lab *= _LAB_TO_BYTE
    lab += _LAB_AT
    np.clip(np.round(lab, out=lab), 0, 255, out=lab)
    return [np.asarray(channel, dtype=np.uint8) for channel in cv2.split(lab)]


def follow(patch: Patch, place: Array, way: Array) -> Ray | None:
    """The edge that runs out from near `place` (2,) along the unit vector `way` (2,), or None if there is no clear
    one."""
    rough = _measured(patch, place, way, off_px=2.0 * _OFF_LINE_PX)
    return rough and _measured(patch, rough.foot, rough.way, off_px=_OFF_LINE_PX)


def _measured(patch: Patch, place: Array, way: Array, *, off_px: float) -> Ray | None:
    """The edge that lies along `way`, up to `off_px` to either side."""
    across = np.array([way[1], -way[0]])
    far = np.arange(_NEAREST_PX, _FARTHEST_PX)
    cuts, inside = _cuts(patch, place + far[:, None] * way, across)
    change, is_stroke = _kind(cuts[inside][:_TELLING])
    if np.linalg.norm(change) < _WEAKEST:
        return None
    places, clear = (_stroke_places if is_stroke else _step_places)(cuts, change, off_px)
    clear &= inside & (np.abs(places) <= off_px)
    count = _unbroken(clear)
    used = np.flatnonzero(clear[:count])
    if count < _SHORTEST_RAY_PX or len(used) < _SHORTEST_RAY_PX / 2:
        return None
    offset, slope, var = _line(far[used], places[used])
    foot, turned = place + offset * across, (way + slope * across) / np.hypot(1.0, slope)
    return Ray(foot=foot, way=turned, length_px=float(far[count - 1]), var_px2=var,
               colours=_sides(np.mean(cuts[used], axis=0)), is_stroke=is_stroke,
               goes_on=_goes_on(patch, foot, turned, change))


def _offsets() -> Array:
    """(k,) places along a cut, from left to right of the way."""
    return np.arange(-_CUT_PX, _CUT_PX + _STEP_PX / 2, _STEP_PX)


def _cuts(patch: Patch, spots: Array, across: Array) -> tuple[Array, Bools]:
    """(m, k, 3) colours along cuts through the spots (m, 2), and which cuts lie inside the patch."""
    at = spots[:, None] + _offsets()[None, :, None] * across
    colours = cv2.remap(patch.colours, at[..., 0].astype(np.float32), at[..., 1].astype(np.float32), cv2.INTER_LINEAR,
                        borderMode=cv2.BORDER_REPLICATE)
    return colours.astype(float), np.all(patch.holds(at), axis=1)


def _sides(cuts: Array) -> Array:
    """(..., 2, 3) mean colours of either side of cuts (..., k, 3)."""
    t = _offsets()
    return np.stack([np.mean(cuts[..., t < -_BLUR_PX, :], axis=-2), np.mean(cuts[..., t > _BLUR_PX, :], axis=-2)],
                    axis=-2)


def _kind(cuts: Array) -> tuple[Array, bool]:
    """(3,) the change of colour the cuts have in common, and whether it is a stroke; no change if there are too few
    cuts.

    Across a step the two sides differ. Across a stroke, such as a joint of the floor or a gap under a skirting, they
    are much alike and the middle differs from both.
    """
    if len(cuts) < _SHORTEST_RAY_PX / 2:
        return np.zeros(3), False
    profile = np.median(cuts, axis=0)
    sides = _sides(profile)
    step = sides[1] - sides[0]
    if np.linalg.norm(step) >= _LEAST_NET * np.max(np.linalg.norm(profile - sides[0], axis=1)):
        return step, False
    middle = (profile - np.mean(sides, axis=0))[np.abs(_offsets()) <= _OFF_LINE_PX]
    return middle[np.argmax(np.linalg.norm(middle, axis=1))], True


def _step_places(cuts: Array, step: Array, off_px: float) -> tuple[Array, Bools]:
    """(m,) where along each cut the colour changes as `step` does, px from its middle, and where that is clear."""
    size = float(np.linalg.norm(step))
    slope = np.diff(cuts @ (step / size), axis=1)
    weight = slope - 0.15 * np.max(slope, axis=1, keepdims=True)
    sides = _sides(cuts)
    return _centroid(weight, (_offsets()[1:] + _offsets()[:-1]) / 2,
                     off_px), (sides[:, 1] - sides[:, 0]) @ (step / size) > 0.4 * size


def _stroke_places(cuts: Array, stroke: Array, off_px: float) -> tuple[Array, Bools]:
    """(m,) where along each cut the colour differs most from its sides, and where that is clear."""
    size = float(np.linalg.norm(stroke))
    out = (cuts - np.mean(_sides(cuts), axis=1, keepdims=True)) @ (stroke / size)
    return _centroid(out - 0.3 * size, _offsets(), off_px), np.max(out, axis=1) > 0.5 * size


def _centroid(weight: Array, at: Array, off_px: float) -> Array:
    """(m,) weighted mean of the places `at` (k,) for weights (m, k); what lies at the rim of the cut must not pull."""
    weight = np.maximum(weight, 0.0) * np.exp(-0.5 * (at / off_px) ** 2)
    return weight @ at / np.maximum(np.sum(weight, axis=1), 1e-9)


def _unbroken(clear: Bools) -> int:
    """How many cuts from the first one on until the edge is lost: fewer than half of the neighbours are clear."""
    width = 2 * _LOST_AMONG + 1
    share = np.convolve(np.pad(clear.astype(float), _LOST_AMONG, mode="edge"), np.full(width, 1 / width), mode="valid")
    lost = np.flatnonzero(share < 0.5)
    return int(lost[0]) if len(lost) else len(clear)


def _line(far: Array, places: Array) -> tuple[float, float, float]:
    """Offset at the meeting place, slope, and the offset's variance, px2; places far off the line are left out."""
    kept = np.ones(len(far), dtype=bool)
    for _ in range(3):
        slope, offset = np.polyfit(far[kept], places[kept], 1)
        off = places - (slope * far + offset)
        kept = np.abs(off) <= 3.0 * (1.4826 * float(np.median(np.abs(off[kept]))) + 0.05)
    count, middle = int(np.sum(kept)), float(np.mean(far[kept]))
    spread = float(np.sum((far[kept] - middle) ** 2))
    scatter = float(np.sum(off[kept] ** 2)) / max(count - 2, 1)
    return float(offset), float(slope), _SHARED_CUTS * scatter * (1.0 / count + middle ** 2 / spread)


def _goes_on(patch: Patch, foot: Array, way: Array, change: Array) -> bool:
    """Whether an edge of any colours continues the line beyond the meeting place."""
    behind = np.arange(*_BEYOND_PX)
    cuts, inside = _cuts(patch, foot - behind[:, None] * way, np.array([way[1], -way[0]]))
    if not np.any(inside):
        return False
    t = _offsets()
    right, left = (np.mean(cuts[:, (sign * t > 0.4) & (sign * t <= 3.0)], axis=1) for sign in (1.0, -1.0))
    step = np.median((right - left)[inside], axis=0)
    return bool(np.linalg.norm(step) >= _GOES_ON * np.linalg.norm(change))
