"""Corners by the picture's edges alone, by each network alone and by all together, side by side.

A part of run_look.py. Edges alone find no corners in a whole photo here: they are asked beside each place that the
first network's map names, as a person's mark would ask them, so their row says what they know of the place.
"""
from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import cv2
import numpy as np

from capture.errors import CaptureError
from capture.image.snap import Point, snap_mark
from capture.seeing.places import PlaceFinder
from capture.seeing.proposals import FARTHEST_PX, peaks
from capture.seeing.segmentation import Segmenter

if TYPE_CHECKING:
    from tests.bench.capture.run_look import Looked

_HIT_PX, _CLEAR = 12.0, 0.5


def tell_ways(looked: Sequence[Looked], segmenter: Segmenter, finder: PlaceFinder) -> None:
    """A row for each way; the pictures are of the working size (up to 1600 px)."""
    ways: dict[str, list[list[tuple[float, Point]]]] = {}
    for one in looked:
        pixels = np.ascontiguousarray(cv2.imread(str(one.photo.path))[:, :, ::-1])
        tops = peaks(segmenter.look(pixels, one.photo.told_focal_px))
        alone = finder.place(pixels, [spot for spot, _, _ in tops], [], FARTHEST_PX)
        clear = [(heat, (float(x), float(y))) for (x, y), heat, _ in tops if heat >= _CLEAR]
        found = {"first network alone": clear,
                 "edges beside its corners": [(heat, at) for heat, spot in clear
                                              if (at := _by_edges(pixels, spot)) is not None],
                 "second network beside its corners": [(place.heat, (float(place.px[0]), float(place.px[1])))
                                                       for place, (_, heat, _) in zip(alone, tops) if heat >= _CLEAR],
                 "all": [(c.sure, (c.x_px, c.y_px)) for c in one.found.corners if c.sure >= _CLEAR]}
        for name, corners in found.items():
            ways.setdefault(name, []).append(corners)
    for name, photos in ways.items():
        off, false = _judged(looked, photos)
        print(f"corners, {name}: {len(off)}/{sum(len(one.photo.corners) for one in looked)}, "
              f"false {false / len(looked):.2f} a photo, "
              f"off median {np.median(off):.2f}, 90 % {np.percentile(off, 90):.2f} px")


def _by_edges(pixels: np.ndarray, spot: Point) -> Point | None:
    height, width = pixels.shape[:2]
    try:
        snap = snap_mark(pixels, (min(max(spot[0], 0.0), width - 1.0), min(max(spot[1], 0.0), height - 1.0)))
    except CaptureError:
        return None
    return snap.x_px, snap.y_px


def _judged(looked: Sequence[Looked], photos: Sequence[Sequence[tuple[float, Point]]]) -> tuple[list[float], int]:
    """Px of 1600 from the visible corner each place is (each corner once, the surest first), and how many are none."""
    hits, false = [], 0
    for one, corners in zip(looked, photos):
        free = dict(one.photo.corners)
        for _, place in sorted(corners, reverse=True):
            off = {n: float(np.hypot(*np.subtract(place, at))) * one.scale for n, at in free.items()}
            best = min(off, key=off.get, default=None)  # type: ignore[arg-type]
            if best is None or off[best] > _HIT_PX:
                false += 1
                continue
            hits.append(off[best])
            free.pop(best)
    return hits, false
