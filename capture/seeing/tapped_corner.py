"""The floor corner that a rough tap means.

In: what was seen in the picture, where the finger was, the network that places corners. Out: one corner with how sure
it is, or a refusal: a mark moved to a wrong place is worse than one left where the finger was. Method: candidates are
the maxima of both networks within reach, each placed by `capture.seeing.places`. Which of them is meant, or none, is
told by a conditional logit (McFadden, 1974) of what both networks say there and of the distance from the tap, fitted
by tests/bench/capture/run_look.py. What else was tried (where edges meet, `capture.image.snap`, as candidates or as
votes) told no more on rooms left out of the fit, and as a last resort was wrong more often than right. Pure.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from capture.errors import CaptureError
from capture.image.edges import LONG_SIDE_PX
from capture.image.snap import RADIUS_SHARE, Point, refuse_outside
from capture.language.messages import lazy_gettext
from capture.seeing.floor_lines import FloorLine, find_floor_lines
from capture.seeing.places import CornerPlace, PlaceFinder
from capture.seeing.proposals import FARTHEST_PX, log_odds, peaks, shrunk
from capture.seeing.segmentation import USUAL_FOCAL, Seen, Segmenter

Array = NDArray[np.float64]

#: Weights of a candidate's features (`_features`). That of the distance is judgement, the others are fitted beside it:
#: the taps of the bench lie evenly over a disc and tell nothing of it (-0.9 to 0.6 by the fit), a finger's do not.
TAP_WEIGHTS = (2.17, 0.88, 1.25, -1.0)
#: A wrong place costs twice what a mark left alone does: no candidate less sure than this is taken.
LEAST_SURE = 2.0 / 3.0
#: Places nearer to one another than this are one, shares of the picture's long side.
_ONE_SHARE = 4.0 / 1600.0
#: A maximum of the first network this near one of the second is the same corner, px of the working size.
_AGAIN_PX = 8.0
#: A floor line tells of corners this near it, and is followed this far from a tap, px of the working size.
_BESIDE_PX, _ALONG_PX = 8.0, 240.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TapView:
    """A picture made ready for taps: its pixels at the working size, times smaller than given, what the first network
    sees in it, its floor lines."""

    pixels: NDArray[np.uint8]
    zoom: float
    size_px: tuple[int, int]
    seen: Seen
    lines: Sequence[FloorLine]

    @property
    def reach_px(self) -> float:
        """A tap moves no farther, px of the working size."""
        return RADIUS_SHARE * max(self.pixels.shape[:2])


@dataclass(frozen=True, slots=True, kw_only=True)
class TappedCorner:
    """A corner that a tap means, px of the picture; sd_px: of one coordinate; sure: probability that it is meant."""

    x_px: float
    y_px: float
    sd_px: float
    sure: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TapCandidate:
    """A corner within reach of a tap: place and features."""

    place: CornerPlace
    features: tuple[float, ...]


def view_for_taps(pixels: NDArray[np.uint8], segmenter: Segmenter, focal_px: float | None = None) -> TapView:
    """What taps in a picture (h, w, 3) need, once a picture. focal_px: None takes a usual phone's."""
    height, width = pixels.shape[:2]
    zoom = min(1.0, LONG_SIDE_PX / max(width, height))
    small = shrunk(pixels, zoom)
    seen = segmenter.look(small, (focal_px or USUAL_FOCAL * max(width, height)) * zoom)
    return TapView(pixels=small, zoom=zoom, size_px=(width, height), seen=seen, lines=find_floor_lines(small, seen))


def corner_at_tap(view: TapView, tap_px: Point, finder: PlaceFinder) -> TappedCorner:
    """The corner that a tap means, px of the picture as it was given to `view_for_taps`.

    Raises CaptureError, saying what to do instead: "no-crossing" where nothing is surely a corner, "two-crossings"
    where one is but nothing tells which, "mark-outside".
    """
    width, height = view.size_px
    refuse_outside(tap_px, view.size_px)
    found = candidates_at_tap(view, tap_px, finder)
    sure = chances([one.features for one in found], TAP_WEIGHTS)
    if sure.sum() < LEAST_SURE:
        raise CaptureError("no-crossing", lazy_gettext(
            "Nothing near this mark is clearly a corner of the floor; place it by eye."))
    best = int(np.argmax(sure))
    if sure[best] < LEAST_SURE:
        raise CaptureError("two-crossings", lazy_gettext(
            "Two corners are about equally likely near this mark; move it closer to the one you mean and try again."))
    x, y = (found[best].place.px + 0.5) / view.zoom - 0.5
    return TappedCorner(x_px=float(np.clip(x, 0.0, width - 1.0)), y_px=float(np.clip(y, 0.0, height - 1.0)),
                        sd_px=found[best].place.sd_px / view.zoom, sure=float(sure[best]))


def chances(features: Sequence[Sequence[float]], weights: Sequence[float]) -> Array:
    """(k,) probabilities that each candidate is the one that is meant; what is missing to 1 is for none of them."""
    if not features:
        return np.zeros(0)
    odds = np.exp(np.asarray(features) @ np.asarray(weights))
    return np.asarray(odds / (1.0 + odds.sum()), dtype=float)


def candidates_at_tap(view: TapView, tap_px: Point, finder: PlaceFinder) -> list[TapCandidate]:
    """The corners within reach of a tap, each once."""
    tap = (np.array(tap_px) + 0.5) * view.zoom - 0.5
    spots = finder.near(view.pixels, tap, view.reach_px)
    mapped = [spot for spot, _, _ in sorted(peaks(view.seen), key=lambda peak: -peak[1])]
    spots += [spot for spot in mapped if np.hypot(*(spot - tap)) <= view.reach_px + FARTHEST_PX
              and all(np.hypot(*(spot - other)) > _AGAIN_PX for other in spots)]
    placed = finder.place(view.pixels, spots, _near(view.lines, tap, view.reach_px), FARTHEST_PX)
    kept: list[CornerPlace] = []
    for place in placed:
        off = [np.hypot(*(place.px - other.px)) for other in kept]
        if off and min(off) <= _ONE_SHARE * max(view.pixels.shape[:2]):
            same = int(np.argmin(off))
            kept[same] = replace(kept[same], heat=max(kept[same].heat, place.heat))
        else:
            kept.append(place)
    far = [float(np.hypot(*(place.px - tap))) / view.reach_px for place in kept]
    return [TapCandidate(place=place, features=_features(view.seen, place, share))
            for place, share in zip(kept, far) if share <= 1.0]


def _features(seen: Seen, place: CornerPlace, far: float) -> tuple[float, ...]:
    """What speaks for a candidate: 1, log odds of the heat of the network that sees the picture and of the one that
    sees the piece, distance from the tap in shares of the reach."""
    return 1.0, log_odds(_heat_at(seen, place.px)), log_odds(place.heat), far


def _heat_at(seen: Seen, px: Array) -> float:
    """The most that the first network's corner maps say within two cells."""
    x, y = (int(c) for c in np.round(seen.from_picture(px)))
    cells = np.s_[max(0, y - 2):max(0, y + 3), max(0, x - 2):max(0, x + 3)]
    return float(max(seen.concave[cells].max(initial=0.0), seen.convex[cells].max(initial=0.0)))


def _near(lines: Sequence[FloorLine], spot: Array, reach_px: float) -> list[FloorLine]:
    """The floor lines that pass within reach of a place, as far as they tell of corners there."""
    found = []
    for line in lines:
        along = float(line.along(spot[None])[0])
        low, high = max(0.0, along - _ALONG_PX), min(line.length_px, along + _ALONG_PX)
        if abs(line.off(spot[None])[0]) <= reach_px + _BESIDE_PX and high - low > 1.0:
            found.append(replace(line, ends=line.ends[0] + np.array([[low], [high]]) * line.way))
    return found
