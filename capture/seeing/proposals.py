"""Floor corners and floor lines proposed for one photo, each with how sure it is. Nothing here enters a floor: a person
confirms.

In: upright pixels, what is known of the lens, the network. Out: `Proposals`, in the same px. Method: the network says
roughly where corners are (`capture.seeing.segmentation`); straight runs of its floor line give lines
(`capture.seeing.floor_lines`), these and the picture's edges 'up' (`capture.seeing.vertical`). A corner is placed by a
second network and the lines that meet there (`capture.seeing.places`). How sure: the heat of both networks, put right
by a logistic regression (tests/bench/capture/run_look.py). A wide lens is straightened first where its bending is
known. Silence where the picture is no photo of a floor. Pure and without state, so that it can run in a process of its
own that may be dropped.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.camera import camera_to_px
from capture.image.edges import LONG_SIDE_PX, cut_patch, find_segments
from capture.language.messages import marked
from capture.seeing.floor_lines import FloorLine, find_floor_lines, joined_lines
from capture.seeing.places import CornerPlace, PlaceFinder
from capture.seeing.segmentation import USUAL_FOCAL, Seen, Segmenter
from capture.seeing.vertical import find_up, is_upright, tilt_and_roll

Array = NDArray[np.float64]
Kind = Literal["join", "near", "far"]

#: Peaks of the network's corner maps below this are not looked at.
_LEAST_HEAT = 0.08
#: Nearer to one another than this two peaks are one corner, cells.
_APART_CELLS = 4
#: A corner is looked for this far from where the network's map says, px of 1600.
FARTHEST_PX = 12.0
#: Proposals less sure than this are kept to ourselves.
LEAST_SURE = 0.25
#: Where no corner is surer than this, the picture may be upside down.
_CLEAR = 0.5
_UPSIDE_DOWN = marked("The photo seems to be upside down; turn it, then add it again.")
_NOTHING = marked("No floor corner and no floor line is seen in this photo; where there are some, mark them by hand.")
#: The spread of places over what they state, measured on the rooms for building.
_SD_TIMES = 1.2
#: Logistic regression of a corner's features (`corner_features`) and a line's (`line_features`), fitted by
#: tests/bench/capture/run_look.py. What else was tried (edges that meet, lines that cross or end there, floor below,
#: wall above; a line's length and whether an edge runs along it) told no more on rooms left out of the fit.
CORNER_WEIGHTS = (0.54, 1.81, 0.68)
LINE_WEIGHTS = (-0.5, 0.61, 0.47, 1.46)


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerSeen:
    """A floor corner: px, its standard deviation, how sure, whether it juts into the room, and how it is seen: two
    floor lines meet there ("join"), it ends the near line of a jump ("near"), or it is seen past a wall steep to the
    camera ("far").
    """

    x_px: float
    y_px: float
    sd_px: float
    sure: float
    convex: bool
    kind: Kind
    features: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LineSeen:
    """A wall's floor line as far as it is seen: two ends, px, leftmost first; how sure; the corners (numbers) it
    ends at, or None."""

    ends_px: tuple[tuple[float, float], tuple[float, float]]
    sure: float
    corners: tuple[int | None, int | None] = (None, None)
    features: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposals:
    """What was seen in one photo. tilt, roll: of the phone, rad; up: (x, y, z) in the camera frame. says: why
    nothing is proposed."""

    corners: tuple[CornerSeen, ...] = ()
    lines: tuple[LineSeen, ...] = ()
    tilt_rad: float = 0.0
    roll_rad: float = 0.0
    up: tuple[float, float, float] = (0.0, -1.0, 0.0)
    focal_px: float = 0.0
    size_px: tuple[int, int] = (0, 0)
    says: str = ""


def propose(pixels: NDArray[np.uint8], segmenter: Segmenter, finder: PlaceFinder, *, focal_px: float | None = None,
            k1: float = 0.0, least_sure: float = LEAST_SURE) -> Proposals:
    """What is seen in a picture (h, w, 3). focal_px: None takes a usual phone's; k1: its bending where known,
    OpenCV's model."""
    height, width = pixels.shape[:2]
    focal = focal_px or USUAL_FOCAL * max(width, height)
    blank = Proposals(focal_px=focal, size_px=(width, height))
    says = _unfit(pixels)
    if says:
        return replace(blank, says=says)
    zoom = min(1.0, LONG_SIDE_PX / max(width, height))
    small = _straightened(shrunk(pixels, zoom), focal * zoom, k1)
    del pixels  # where nobody else holds it, the network gets its memory
    seen = segmenter.look(small, focal * zoom)
    says = _no_floor(seen)
    if says:
        return replace(blank, says=says)
    found = _found(small, seen, finder, focal * zoom, least_sure)
    if all(corner.sure < _CLEAR for corner in found.corners) and _better_turned(small, seen, segmenter, focal * zoom):
        return replace(blank, says=_UPSIDE_DOWN)
    if not found.corners and not found.lines:
        return replace(blank, says=_NOTHING)
    return _in_picture(replace(found, focal_px=focal, size_px=(width, height)), zoom, k1)


def shrunk(pixels: NDArray[np.uint8], zoom: float) -> NDArray[np.uint8]:
    """The picture (h, w, 3) so many times as large; the same one where zoom is 1."""
    if zoom == 1.0:
        return pixels
    size = (round(pixels.shape[1] * zoom), round(pixels.shape[0] * zoom))
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)


def _straightened(pixels: NDArray[np.uint8], focal: float, k1: float) -> NDArray[np.uint8]:
    """The picture as a lens without bending would show it, of the same size."""
    if k1 == 0.0:
        return pixels
    height, width = pixels.shape[:2]
    matrix = np.array([[focal, 0.0, (width - 1) / 2], [0.0, focal, (height - 1) / 2], [0.0, 0.0, 1.0]])
    return np.asarray(cv2.undistort(pixels, matrix, np.array([k1, 0.0, 0.0, 0.0])), dtype=np.uint8)


def _unfit(pixels: NDArray[np.uint8]) -> str:
    """Why a picture cannot be looked at, or nothing."""
    height, width = pixels.shape[:2]
    if max(height, width) > 2.4 * min(height, width):
        return marked("This looks like a panorama, which bends straight walls; take ordinary photos instead.")
    if min(height, width) < 240:
        return marked("The picture is too small to see floor corners in; use the photo as the camera stored it.")
    if np.percentile(pixels[::8, ::8], 98) < 40:
        return marked("The photo is too dark to see where the floor ends; take it by daylight or with the lamps on.")
    return ""


def _no_floor(seen: Seen) -> str:
    """Why nothing is proposed where the network sees no floor of a room, or nothing."""
    floor = seen.floor > 0.5
    standing = (seen.wall + seen.skirting) > 0.5
    if floor.mean() < 0.03:
        return marked("No floor is seen in this photo; hold the phone lower, so that floor and walls are both in the "
                      "picture.")
    if standing.mean() < 0.02:
        return marked("No wall is seen in this photo; stand back, so that floor and walls are both in the picture.")
    rows = np.arange(len(floor))[:, None]
    if (rows * floor).sum() / floor.sum() < (rows * standing).sum() / standing.sum():
        return _UPSIDE_DOWN
    return ""


def _better_turned(small: NDArray[np.uint8], seen: Seen, segmenter: Segmenter, focal: float) -> bool:
    """Whether the picture shows clear corners with its top below and none as it is."""
    turned = segmenter.look(np.ascontiguousarray(small[::-1, ::-1]), focal)
    clear = [sum(heat >= _CLEAR for _, heat, _ in peaks(one)) for one in (seen, turned)]
    return clear[0] == 0 and clear[1] >= 2


def _found(small: NDArray[np.uint8], seen: Seen, finder: PlaceFinder, focal: float, least_sure: float) -> Proposals:
    """Corners and lines of a picture at its working size."""
    height, width = small.shape[:2]
    segments = find_segments(cut_patch(small, (width / 2, height / 2), float(max(width, height))))
    lines = find_floor_lines(small, seen)
    centre = np.array([(width - 1) / 2, (height - 1) / 2])
    up = find_up(segments, lines, focal, centre)
    lines = [line for line in lines if not is_upright(line, up, focal, centre)]
    tops = peaks(seen)
    places = finder.place(small, [spot for spot, _, _ in tops], lines, FARTHEST_PX)
    corners = [_corner(lines, peak, place) for peak, place in zip(tops, places)]
    kept = _told_apart([corner for corner in corners if corner.sure >= least_sure])
    strokes = [_stroke(line, kept) for line in joined_lines(lines)]
    tilt, roll = tilt_and_roll(up)
    return Proposals(corners=tuple(kept), lines=tuple(stroke for stroke in strokes if stroke.sure >= least_sure),
                     tilt_rad=tilt, roll_rad=roll, up=(float(up[0]), float(up[1]), float(up[2])))


def peaks(seen: Seen) -> list[tuple[Array, float, bool]]:
    """Places (px), heat and kind of the corner maps' maxima."""
    heat = np.maximum(seen.concave, seen.convex)
    size = 2 * _APART_CELLS + 1
    top = (heat == cv2.dilate(heat, np.ones((size, size), np.uint8))) & (heat >= _LEAST_HEAT)
    found = []
    for y, x in zip(*np.nonzero(top)):
        cell = np.array([x + _vertex(heat[y], int(x)), y + _vertex(heat[:, x], int(y))])
        found.append((seen.to_picture(cell), float(heat[y, x]), bool(seen.convex[y, x] > seen.concave[y, x])))
    return found


def _vertex(values: NDArray[np.float32], at: int) -> float:
    """Where beside a maximum the parabola through it and its neighbours is highest, cells."""
    if not 0 < at < len(values) - 1:
        return 0.0
    low, mid, high = (float(np.log(max(v, 1e-6))) for v in values[at - 1:at + 2])
    curve = low - 2.0 * mid + high
    return float(np.clip(0.5 * (low - high) / curve, -0.5, 0.5)) if curve < -1e-6 else 0.0


def _corner(lines: Sequence[FloorLine], peak: tuple[Array, float, bool], place: CornerPlace) -> CornerSeen:
    """A corner at a peak."""
    rough, heat, convex = peak
    features = corner_features(heat, place.heat)
    kind: Kind = "join" if _lines_at(rough, lines) >= 2 or not convex else "near"
    return CornerSeen(x_px=float(place.px[0]), y_px=float(place.px[1]), sd_px=_SD_TIMES * place.sd_px,
                      sure=sureness(features, CORNER_WEIGHTS), convex=convex, kind=kind, features=features)


def _lines_at(rough: Array, lines: Sequence[FloorLine]) -> int:
    """How many floor lines pass or end near a place."""
    return sum(bool(abs(line.off(rough[None])[0]) <= FARTHEST_PX
                    and -40.0 <= line.along(rough[None])[0] <= line.length_px + 40.0) for line in lines)


def corner_features(heat: float, near: float) -> tuple[float, ...]:
    """What speaks for a corner: 1, log odds of the heat of the network that sees the picture and of the one that sees
    the piece."""
    return 1.0, log_odds(heat), log_odds(near)


def line_features(line: FloorLine, sure: float) -> tuple[float, ...]:
    """What speaks for a line: 1, log odds of its support and of the support where it is weakest, how sure the surer of
    the corners at its ends is (0 where there is none)."""
    return 1.0, log_odds(line.support), log_odds(line.weakest), sure


def log_odds(share: float) -> float:
    """Of a probability, held within 0.001 and 0.999."""
    share = float(np.clip(share, 1e-3, 1.0 - 1e-3))
    return float(np.log(share / (1.0 - share)))


def sureness(features: Sequence[float], weights: Sequence[float]) -> float:
    """Probability by logistic regression."""
    return float(1.0 / (1.0 + np.exp(-np.dot(features, weights))))


def _told_apart(corners: Sequence[CornerSeen]) -> list[CornerSeen]:
    """The surest of those that lie on one spot, from left to right."""
    kept: list[CornerSeen] = []
    for corner in sorted(corners, key=lambda c: -c.sure):
        if all(np.hypot(corner.x_px - other.x_px, corner.y_px - other.y_px) > 8.0 for other in kept):
            kept.append(corner)
    return sorted(kept, key=lambda c: c.x_px)


def _stroke(line: FloorLine, corners: Sequence[CornerSeen]) -> LineSeen:
    """A floor line with the corners at its ends; it is drawn to them."""
    places = np.array([[c.x_px, c.y_px] for c in corners]).reshape(-1, 2)
    near = np.abs(line.off(places)) <= 8.0
    along = line.along(places)
    ends, numbers = line.ends.copy(), []
    for k, at in enumerate((0.0, line.length_px)):
        off = np.where(near, np.abs(along - at), np.inf)
        number = int(np.argmin(off)) if len(off) and off.min() <= 60.0 else None
        numbers.append(number)
        if number is not None:
            ends[k] = places[number]
    features = line_features(line, max((corners[n].sure for n in numbers if n is not None), default=0.0))
    (ax, ay), (bx, by) = ends
    return LineSeen(ends_px=((float(ax), float(ay)), (float(bx), float(by))), sure=sureness(features, LINE_WEIGHTS),
                    corners=(numbers[0], numbers[1]), features=features)


def _in_picture(found: Proposals, zoom: float, k1: float) -> Proposals:
    """Proposals in px of the picture as it was given."""
    width, height = found.size_px

    def moved(x: float, y: float) -> tuple[float, float]:
        px = (np.array([[x, y]]) + 0.5) / zoom - 0.5
        if k1:
            centre = np.array([(width - 1) / 2, (height - 1) / 2])
            body = np.concatenate([(px - centre) / found.focal_px, np.ones((1, 1))], axis=1)
            px = camera_to_px(body, np.array([found.focal_px]), np.array([[k1, 0.0]]), centre)
        return float(px[0, 0]), float(px[0, 1])

    corners = []
    for corner in found.corners:
        x, y = moved(corner.x_px, corner.y_px)
        corners.append(replace(corner, x_px=x, y_px=y, sd_px=corner.sd_px / zoom))
    lines = tuple(replace(line, ends_px=(moved(*line.ends_px[0]), moved(*line.ends_px[1]))) for line in found.lines)
    return replace(found, corners=tuple(corners), lines=lines)
