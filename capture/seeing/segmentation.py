"""What each part of a photo shows, by a small network: floor, skirting, wall or something else; floor corners; floor
lines.

In: upright pixels and the focal length. Out: a `Seen`, maps at a quarter of the usual 1600 px. The network
(tests/bench/seeing) was trained on rooms drawn by a script, never on a photo of a real room. It says roughly where; the
exact place comes from the picture's edges. Weights are handed in as bytes (ONNX, half precision) and run by OpenCV on
the processor.
"""
from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Map = NDArray[np.float32]

#: Long side of the network's input, px; the picture's sides are rounded to what its five halvings ask for.
_LONG_PX, _MULTIPLE = 768, 32
#: A phone's usual main lens, long sides: 26 mm equivalent by the diagonal of 4 : 3.
USUAL_FOCAL = 0.75


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Seen:
    """Probabilities (h, w) by cell: floor, skirting, wall, other (add up to 1), concave and convex corner, floor
    line along a wall."""

    floor: Map
    skirting: Map
    wall: Map
    other: Map
    concave: Map
    convex: Map
    line: Map
    size_px: tuple[int, int]

    def to_picture(self, cells: Array) -> Array:
        """Px (..., 2) of cells (..., 2), both (x, y) with (0, 0) a centre."""
        return (cells + 0.5) * self._px_a_cell - 0.5

    def from_picture(self, px: Array) -> Array:
        """Cells (..., 2) of px (..., 2)."""
        return (px + 0.5) / self._px_a_cell - 0.5

    def at(self, values: Map, px: Array) -> Array:
        """(k,) values of a map at px (k, 2), between cells; the rim's value outside."""
        cells = self.from_picture(px).astype(np.float32)
        return cv2.remap(values, cells[:, None, 0], cells[:, None, 1], cv2.INTER_LINEAR,
                         borderMode=cv2.BORDER_REPLICATE)[:, 0].astype(float)

    @property
    def _px_a_cell(self) -> Array:
        height, width = self.floor.shape
        return np.array(self.size_px) / (width, height)


class Segmenter:
    """The network, loaded once. Not to be shared by threads."""

    def __init__(self, weights: bytes) -> None:
        """weights: an ONNX file's bytes."""
        self._net = cv2.dnn.readNetFromONNX(np.frombuffer(weights, dtype=np.uint8))

    def look(self, pixels: NDArray[np.uint8], focal_px: float | None = None) -> Seen:
        """What a picture (h, w, 3) shows. focal_px: of this picture; a usual phone's where None."""
        height, width = pixels.shape[:2]
        long_px = max(height, width)
        small = cv2.resize(pixels, _input_size(width, height), interpolation=cv2.INTER_AREA)
        x, y = np.meshgrid(*((np.arange(n) + 0.5) / n - 0.5 for n in small.shape[1::-1]))
        focal = (focal_px or USUAL_FOCAL * long_px) / long_px
        rays = np.stack([x * width / long_px / focal, y * height / long_px / focal])
        self._net.setInput(np.concatenate([small.transpose(2, 0, 1) / 255.0 - 0.5, rays])[None].astype(np.float32))
        out = self._net.forward()[0]
        kinds = np.exp(out[:4] - out[:4].max(axis=0))
        kinds /= kinds.sum(axis=0)
        concave, convex, line = 1.0 / (1.0 + np.exp(-np.clip(out[4:7], -30.0, 30.0)))
        return Seen(floor=kinds[0], skirting=kinds[1], wall=kinds[2], other=kinds[3], concave=concave, convex=convex,
                    line=line, size_px=(width, height))


def _input_size(width: int, height: int) -> tuple[int, int]:
    """(width, height) of the network's input."""
    scale = _LONG_PX / max(width, height)
    across, down = (max(_MULTIPLE, round(n * scale / _MULTIPLE) * _MULTIPLE) for n in (width, height))
    return across, down
