"""Printed floor targets found in a photo: which one, and its four corners to a fraction of a pixel. Door for other
rooms.

In: (h, w, 3) upright pixels. Out: px of that picture, (0, 0) the centre of its top-left pixel; corners in the order of
the printed square (top left, top right, bottom right, bottom left as its name is read), clockwise seen from above.
Method: OpenCV's aruco detector, dictionary DICT_5X5_50 (an open standard), finds and names the squares. Their corners
are then measured here: along each side the place where black turns white is taken on many short cuts across it
(centroid of the slope of light), a line is fitted, and neighbouring lines are crossed. The scatter about the lines
gives the standard deviation. Not done: lens correction (a side of some 100 px is straight to 0.05 px in a phone's
picture), sheets that do not lie flat.
"""
from __future__ import annotations

from collections import Counter

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.network import TargetSighting

Array = NDArray[np.float64]

_DICTIONARY = cv2.aruco.DICT_5X5_50
#: Targets are numbered from 0; a number from here on is a pattern misread.
MOST_TARGETS = 20
#: Cells along a side, the black border included.
CELLS = 7
#: What remains of blur, ink spread and lens bend when the scatter along the sides is nil, px.
_LEAST_SD_PX = 0.2
#: A side whose edge wanders more than this about its line is no straight printed edge, px.
_WORST_SCATTER_PX = 1.0
#: Share of a side left out at either end, where the corner rounds it off.
_OFF_ENDS = 0.12
_STEP_PX = 0.25
#: The least steepness of an edge that is told from noise, in parts of 255 of light a step.
_FAINTEST = 0.5
#: Light in proportion, 0 to 255, of stored greys: the sRGB curve undone (IEC 61966-2-1). A blurred edge is symmetric in
#: light alone; on the stored greys black squares look 0.2 to 0.4 px too small on every side.
_GREY = np.arange(256) / 255.0
_LIGHT = (255.0 * np.where(_GREY <= 0.04045, _GREY / 12.92, ((_GREY + 0.055) / 1.055) ** 2.4)).astype(np.float32)


def target_cells(number: int) -> NDArray[np.bool_]:
    """(7, 7) cells of a target as printed, border included, True where black; row 0 at the top."""
    return cv2.aruco.generateImageMarker(cv2.aruco.getPredefinedDictionary(_DICTIONARY), number, CELLS) == 0


def find_targets(pixels: NDArray[np.uint8]) -> tuple[TargetSighting, ...]:
    """Every target seen clearly, by number. A number seen twice in one photo is left out: nothing tells which is
    meant."""
    grey = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    found, numbers, _ = _detector().detectMarkers(grey)
    seen = [(int(n), quad.reshape(4, 2).astype(float)) for n, quad in zip(np.ravel(numbers),
                                                                          found)] if len(found) else []
    if not seen:
        return ()
    times, light = Counter(number for number, _ in seen), _LIGHT[grey]
    sightings = (_sighting(light, number, quad) for number, quad in seen if number < MOST_TARGETS
                 and times[number] == 1)
    return tuple(sorted((s for s in sightings if s is not None), key=lambda s: s.number))


def _detector() -> cv2.aruco.ArucoDetector:
    """The detector with little tolerance for misread cells: a false target would bend the floor, a missed one only
    helps less."""
    wishes = cv2.aruco.DetectorParameters()
    wishes.errorCorrectionRate = 0.3
    wishes.maxErroneousBitsInBorderRate = 0.2
    wishes.minMarkerPerimeterRate = 0.012
    wishes.adaptiveThreshWinSizeMax = 43
    return cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(_DICTIONARY), wishes)


def _sighting(light: NDArray[np.float32], number: int, quad: Array) -> TargetSighting | None:
    """The corners measured, twice over so that the cuts lie square to the true sides; None if the sides are not
    clear."""
    rough, spread = quad, 0.0
    for _ in range(2):
        sides = [side for k in range(4) if (side := _side(light, rough, k)) is not None]
        if len(sides) < 4:
            return None
        crossed = [corner for k in range(4) if (corner := _crossing(sides[k - 1], sides[k])) is not None]
        if len(crossed) < 4:
            return None
        rough = np.array([place for place, _ in crossed])
        spread = max(sd for _, sd in crossed)
    if np.max(np.hypot(*(rough - quad).T)) > 2.0 + np.max(_cell_px(quad)):
        return None
    places = tuple((float(x), float(y)) for x, y in rough)
    return TargetSighting(number=number, corners_px=places, sd_px=float(np.hypot(_LEAST_SD_PX, spread)))


def _cell_px(quad: Array) -> Array:
    """(4,) width of a cell square to each side, px: the quad's size across that side over the number of cells."""
    ahead = np.roll(quad, -1, axis=0) - quad
    length = np.maximum(np.hypot(*ahead.T), 1e-6)
    opposite = (np.roll(quad, -2, axis=0) + np.roll(quad, -3, axis=0)) / 2 - quad
    return np.abs(ahead[:, 0] * opposite[:, 1] - ahead[:, 1] * opposite[:, 0]) / length / CELLS


def _side(light: NDArray[np.float32], quad: Array, k: int) -> tuple[Array, Array, float] | None:
    """The line of side k: a place on it, its unit direction, and its standard deviation across at the side's ends,
    px."""
    start, end = quad[k], quad[(k + 1) % 4]
    length = float(np.hypot(*(end - start)))
    along = (end - start) / max(length, 1e-6)
    outward = np.array([along[1], -along[0]])
    shares = np.linspace(_OFF_ENDS, 1.0 - _OFF_ENDS, int(np.clip(length, 8, 200)))
    reach = float(np.clip(0.7 * _cell_px(quad)[k], 2.0, 6.0))
    spots = start + shares[:, None] * (end - start)
    across, clear = _edge_places(light, spots, outward, reach)
    if np.sum(clear) < max(5, 0.6 * len(shares)):
        return None
    return _line(spots[clear] + across[clear, None] * outward, along, outward)


def _edge_places(
    light: NDArray[np.float32], spots: Array, outward: Array, reach: float
) -> tuple[Array, NDArray[np.bool_]]:
    """(m,) signed distance from each spot to where black turns white going outward, px, and where that is clear."""
    steps = np.arange(-reach, reach + _STEP_PX / 2, _STEP_PX)
    at = spots[:, None] + steps[None, :, None] * outward
    values = cv2.remap(light, at[..., 0].astype(np.float32), at[..., 1].astype(np.float32), cv2.INTER_LINEAR,
                       borderMode=cv2.BORDER_REPLICATE)
    slope = np.diff(values, axis=1).astype(float)
    rise = np.maximum(slope - 0.15 * np.max(slope, axis=1, keepdims=True), 0.0)
    total = np.sum(rise, axis=1)
    middle = (steps[1:] + steps[:-1]) / 2
    return rise @ middle / np.maximum(total, 1e-9), np.max(slope, axis=1) > _FAINTEST


def _line(places: Array, along: Array, outward: Array) -> tuple[Array, Array, float] | None:
    """Straight line through edge places, those far off it left out; None if they wander too much."""
    u, v = (places - places[0]) @ along, (places - places[0]) @ outward
    kept = np.ones(len(u), dtype=bool)
    for _ in range(3):
        slope, height = np.polyfit(u[kept], v[kept], 1)
        off = v - (slope * u + height)
        scatter = 1.4826 * float(np.median(np.abs(off[kept]))) + 0.02
        kept = np.abs(off) <= 3.0 * scatter
    if scatter > _WORST_SCATTER_PX or np.sum(kept) < 5:
        return None
    middle = float(np.mean(u[kept]))
    way = along + slope * outward
    # The sd of a line at its ends is twice that of its middle; neighbouring cuts share pixels, so only half of them
    # count.
    end_sd = 2.0 * float(np.std(off[kept])) / np.sqrt(0.5 * np.sum(kept))
    return places[0] + middle * along + (slope * middle + height) * outward, way / np.hypot(*way), end_sd


def _crossing(one: tuple[Array, Array, float], other: tuple[Array, Array, float]) -> tuple[Array, float] | None:
    """Where two lines cross, and the larger standard deviation of that place; None for lines that are nearly
    parallel."""
    (p, a, sd_a), (q, b, sd_b) = one, other
    sine = float(a[0] * b[1] - a[1] * b[0])
    if abs(sine) < 0.05:
        return None
    gap = q - p
    share = (gap[0] * b[1] - gap[1] * b[0]) / sine
    return p + share * a, float(np.hypot(sd_a, sd_b)) / abs(sine) / np.sqrt(2.0)
