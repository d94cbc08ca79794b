"""Rough taps beside visible corners, and elsewhere on the floor: what they are moved to, beside the truth.

A part of run_look.py. Taps lie anywhere within 40 px of a corner that is in sight, in a picture 1600 px long; others
lie farther than 50 px from any. A tap is wrong if it is moved to a place farther than 12 px from its corner.
"""
from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
from scipy.optimize import minimize

from capture.errors import CaptureError
from capture.image.snap import Point, snap_mark
from capture.seeing.places import PlaceFinder
from capture.seeing.segmentation import Segmenter
from capture.seeing.tapped_corner import (
    TAP_WEIGHTS, TapCandidate, TapView, candidates_at_tap, corner_at_tap, view_for_taps)

if TYPE_CHECKING:
    from tests.bench.capture.run_look import Looked, Photo

_TAPS, _ELSEWHERE, _REACH_PX = 2, 2, 40.0


@dataclass(frozen=True, kw_only=True)
class Tap:
    """Where a tap's corner is (None: there is none), px of its photo, times 1600; where each way of moving it puts it;
    the candidates and their places, px of the photo."""

    truth: Point | None
    scale: float
    moved: dict[str, Point | None]
    candidates: list[TapCandidate]
    places: list[Point]

    def off(self, place: Point) -> float:
        """Px of 1600 from the corner."""
        return float("inf") if self.truth is None else float(np.hypot(*np.subtract(place, self.truth))) * self.scale


def tap_all(looked: Sequence[Looked], segmenter: Segmenter, finder: PlaceFinder, seed: int = 7) -> list[Tap]:
    rng = np.random.default_rng(seed)
    taps = []
    for one in looked:
        pixels = np.ascontiguousarray(cv2.imread(str(one.photo.path))[:, :, ::-1])
        view = view_for_taps(pixels, segmenter, one.photo.told_focal_px)
        taps += [_tapped(one, pixels, view, finder, tap, truth) for tap, truth in _taps(rng, one.photo, one.scale)]
    return taps


def _taps(rng: np.random.Generator, photo: Photo, scale: float) -> Iterator[tuple[Point, Point | None]]:
    """Taps and their corners."""
    size, corners = np.array(photo.size), np.array(list(photo.corners.values())).reshape(-1, 2)
    for x, y in photo.corners.values():
        for _ in range(_TAPS):
            turn, far = rng.uniform(0, 2 * np.pi), _REACH_PX * np.sqrt(rng.uniform()) / scale
            tap = np.clip([x + far * np.cos(turn), y + far * np.sin(turn)], 0, size - 1)
            yield (float(tap[0]), float(tap[1])), (x, y)
    spots = rng.uniform([0.0, 0.45 * size[1]], size - 1.0, (50, 2))
    far_off = np.min(np.hypot(*(spots[:, None] - corners[None]).transpose(2, 0, 1)), axis=1, initial=np.inf)
    yield from (((float(x), float(y)), None) for x, y in spots[far_off * scale > _REACH_PX + 10.0][:_ELSEWHERE])


def _tapped(one: Looked, pixels: np.ndarray, view: TapView, finder: PlaceFinder, tap: Point,
            truth: Point | None) -> Tap:
    near = [(float(np.hypot(c.x_px - tap[0], c.y_px - tap[1])), (c.x_px, c.y_px)) for c in one.found.corners
            if c.sure >= 0.5]
    proposed = min((pair for pair in near if pair[0] * one.scale <= 55), default=(0.0, None))[1]
    snap = _try(lambda: snap_mark(pixels, tap))
    candidates = candidates_at_tap(view, tap, finder)
    places = [(place.px + 0.5) / view.zoom - 0.5 for place in (c.place for c in candidates)]
    return Tap(truth=truth, scale=one.scale, candidates=candidates, places=[(float(x), float(y)) for x, y in places],
               moved={"snap alone": snap, "proposal, else snap": proposed or snap,
                      "both networks": _try(lambda: corner_at_tap(view, tap, finder))})


def _try(find: Callable[[], object]) -> Point | None:
    try:
        found = find()
    except CaptureError:
        return None
    return found.x_px, found.y_px  # type: ignore[attr-defined]


def tell_taps(taps: Sequence[Tap]) -> None:
    """One row for each way of moving a tap."""
    meant, elsewhere = ([t for t in taps if (t.truth is not None) == known] for known in (True, False))
    for name in taps[0].moved:
        off = np.array([np.inf if (place := t.moved[name]) is None else t.off(place) for t in meant])
        wrong = [t.moved[name] is not None for t in meant] & (off > 12)
        print(f"rough taps, {name}: within 4 px {100 * np.mean(off <= 4):.0f} %, 4 to 12 px "
              f"{100 * np.mean((off > 4) & (off <= 12)):.0f} %, wrong {100 * np.mean(wrong):.1f} % of {len(meant)}; "
              f"moved where no corner is: {sum(t.moved[name] is not None for t in elsewhere)} of {len(elsewhere)}")


def fitted_taps(taps: Sequence[Tap], ridge: float = 0.3) -> np.ndarray:
    """Weights of a conditional logit: which candidate is the tap's corner (within 6 px), or none. The last weight, that
    of the distance, is held."""
    known = [(np.array([c.features for c in t.candidates]), _right(t)) for t in taps if t.candidates]
    held = ridge * np.array([0.0, 1.0, 1.0])

    def loss(w: np.ndarray) -> float:
        told = [np.append(x @ np.append(w, TAP_WEIGHTS[-1]), 0.0) for x, _ in known]
        return sum(np.logaddexp.reduce(t) - t[right] for t, (_, right) in zip(told, known)) + 0.5 * w @ (held * w)

    return np.append(minimize(loss, np.zeros(3), method="BFGS").x, TAP_WEIGHTS[-1])


def _right(tap: Tap) -> int:
    """The number of the candidate nearest to the corner, -1 (the last: none) where that is farther than 6 px."""
    off = [tap.off(place) for place in tap.places]
    return int(np.argmin(off)) if min(off) <= 6.0 else -1
