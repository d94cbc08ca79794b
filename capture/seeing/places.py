"""The sub-pixel place of a floor corner, by a small network over pieces of the picture and by the floor lines that meet
there.

In: the picture at its working size, rough places, floor lines. Out: for each corner its place, covariance and how sure
the network is that one is there. Method: the network (tests/bench/seeing/place_net.py; ONNX, half precision, OpenCV on
the processor) says for each cell of 4 px where a corner and where the nearest foot of a wall lies, and how well it
knows. A line through the feet (Huber's weights, iterated; Huber, 1981), or the picture's edge along it where both agree
(`capture.image.line_on_edge`), tells the place across that line: least squares of all of these.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.image.line_on_edge import on_edge
from capture.seeing.floor_lines import FloorLine

Array = NDArray[np.float64]

#: Side of a piece and of the network's cells, px; pieces run at once.
_SIDE, _CELL, _BATCH = 64, 4, 32
#: Each corner is looked at so many px aside, as it is and mirrored.
_ASIDE = ((0, 0), (2, 0), (0, 2), (2, 2))
#: A piece is cut every so many px along a line; cells at a piece's rim are not asked.
_TILE_PX, _RIM = 40.0, 2
#: Pieces that show all within 40 px of a place; a corner there has these log odds at least, and no better one so near.
_ROUND = tuple((x, y) for x in (-24, 0, 24) for y in (-24, 0, 24))
_LEAST_NEAR, _APART_PX = -2.9, 8.0
#: A cell with a wall's foot says so this strongly.
_LEAST_FOOT = 0.15
#: A line tells of a corner this near to it and to its ends, px; feet belong to it this near, and this far along.
_BESIDE_PX, _BEYOND_PX, _FOOT_PX, _ALONG_PX = 7.0, 25.0, 4.0, 200.0
#: From a Laplace density's scale to its standard deviation.
_SD_OF_SCALE = 2.0**0.5
#: Neighbouring cells share what they see: the spread of a line through them is so much larger, and never less, px.
_SHARED, _LEAST_FOOT_SD = 5.0, 0.8
#: An edge is believed this near the feet, px, its piece as long as this, its place as good as this.
_AGREE_PX, _PIECE_PX, _EDGE_SD_PX = 2.5, 160.0, 0.45
#: A line that is farther off the corner than so many sd is of something else.
_GATE = 3.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class CornerPlace:
    """px (2,), cov_px2 (2, 2), how sure the network is that a corner is there."""

    px: Array
    cov_px2: Array
    heat: float

    @property
    def sd_px(self) -> float:
        """Standard deviation of one coordinate, the mean of both."""
        return float(np.sqrt(np.trace(self.cov_px2) / 2.0))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Feet:
    """Places (k, 2) px of walls' feet, the scale of their error (k,) px, how sure each is (k,)."""

    px: Array
    scale_px: Array
    sure: Array


class PlaceFinder:
    """The network, loaded once. Not to be shared by threads."""

    def __init__(self, weights: bytes) -> None:
        """weights: an ONNX file's bytes."""
        self._net = cv2.dnn.readNetFromONNX(np.frombuffer(weights, dtype=np.uint8))

    def place(self, pixels: NDArray[np.uint8], rough: Sequence[Array], lines: Sequence[FloorLine],
              farthest_px: float) -> list[CornerPlace]:
        """The corner next to each rough place (2,) of a picture (h, w, 3), not farther than `farthest_px`."""
        if not rough:
            return []
        padded = _padded(pixels)
        alone = [self._corner(padded, spot, farthest_px) for spot in rough]
        feet = self._feet(padded, [place.px for place in alone], lines)
        return [_with_lines(pixels, place, lines, feet) for place in alone]

    def near(self, pixels: NDArray[np.uint8], spot: Array, reach_px: float) -> list[Array]:
        """Rough places (2,) of corners round a place of a picture (h, w, 3), likeliest first; reach_px: up to 40."""
        padded = _padded(pixels)
        starts = np.array([_start(padded, spot + step) for step in _ROUND])
        out = self._run(padded, starts)
        px = (starts[:, :, None, None] + _middles() + out[:, 1:3]).transpose(0, 2, 3, 1)
        logit = _without_rim(out[:, 0], -np.inf)
        asked = (logit > _LEAST_NEAR) & (np.hypot(*(px - spot).transpose(3, 0, 1, 2)) <= reach_px)
        found: list[Array] = []
        for place in px[asked][np.argsort(-logit[asked])]:
            if all(np.hypot(*(place - other)) > _APART_PX for other in found):
                found.append(place)
        return found

    def _run(self, padded: NDArray[np.uint8], starts: NDArray[np.int64], mirrored: bool = False) -> Array:
        """(k, 9, 16, 16) of the pieces that start at px (k, 2) of the picture."""
        pieces = np.array([padded[y + _SIDE:y + 2 * _SIDE, x + _SIDE:x + 2 * _SIDE] for x, y in starts])
        pieces = pieces[:, :, ::-1] if mirrored else pieces
        out = []
        for k in range(0, len(pieces), _BATCH):
            self._net.setInput((pieces[k:k + _BATCH].transpose(0, 3, 1, 2) / 255.0 - 0.5).astype(np.float32))
            out.append(self._net.forward().astype(float))
        whole = np.concatenate(out)
        if mirrored:
            whole = whole[..., ::-1].copy()
            whole[:, [1, 6]] *= -1.0
        return whole

    def _corner(self, padded: NDArray[np.uint8], rough: Array, farthest_px: float) -> CornerPlace:
        """The corner by the network alone: the median of several looks."""
        starts = _start(padded, rough) - 1 + np.array(_ASIDE)
        looks = np.concatenate([self._run(padded, starts), self._run(padded, starts, mirrored=True)])
        starts = np.concatenate([starts, starts])
        px = starts[:, :, None, None] + _middles() + looks[:, 1:3]
        heat = 1.0 / (1.0 + np.exp(-looks[:, 0]))
        heat = np.where(np.hypot(*(px - rough[:, None, None]).swapaxes(0, 1)) <= farthest_px, heat, 0.0)
        best = heat.reshape(len(heat), -1).argmax(axis=1)
        told = np.concatenate([px, looks[:, 3:5], heat[:, None]], axis=1).reshape(len(heat), 5, -1)
        x, y, log_x, log_y, sure = np.median(told[np.arange(len(heat)), :, best], axis=0)
        if sure <= 0.0:
            return CornerPlace(px=rough, cov_px2=np.eye(2) * farthest_px**2 / 4.0, heat=0.0)
        return CornerPlace(px=np.array([x, y]), heat=float(sure),
                           cov_px2=np.diag((_SD_OF_SCALE * np.exp([log_x, log_y])) ** 2))

    def _feet(self, padded: NDArray[np.uint8], corners: Sequence[Array], lines: Sequence[FloorLine]) -> _Feet:
        """Feet of walls round corners and along lines."""
        spots = list(corners)
        for line in lines:
            count = max(1, int(line.length_px / _TILE_PX))
            spots += [line.ends[0] + (k + 0.5) / count * line.length_px * line.way for k in range(count)]
        starts = np.array([_start(padded, spot) for spot in spots])
        out = self._run(padded, starts)
        px = starts[:, :, None, None] + _middles() + out[:, 6:8]
        sure = 1.0 / (1.0 + np.exp(-out[:, 5]))
        asked = _without_rim((sure > _LEAST_FOOT) & (np.hypot(out[:, 6], out[:, 7]) < _CELL), False)
        return _Feet(px=px.transpose(0, 2, 3, 1)[asked], scale_px=np.exp(out[:, 8][asked]), sure=sure[asked])


def _padded(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    return np.asarray(cv2.copyMakeBorder(pixels, _SIDE, _SIDE, _SIDE, _SIDE, cv2.BORDER_REPLICATE), np.uint8)


def _without_rim(cells: NDArray[Any], blank: float) -> NDArray[Any]:
    """The same cells (k, 16, 16), blank at the rim of each piece."""
    inner = np.s_[:, _RIM:-_RIM, _RIM:-_RIM]
    out = np.full_like(cells, blank)
    out[inner] = cells[inner]
    return out


def _start(padded: NDArray[np.uint8], spot: Array) -> NDArray[np.int64]:
    """(2,) px of the picture at which a piece round a spot starts; the piece stays within the padding."""
    size = np.array(padded.shape[1::-1]) - 2 * _SIDE
    return np.clip(np.floor(spot + 0.5).astype(np.int64) - _SIDE // 2, 2 - _SIDE, size - 4)


def _middles() -> Array:
    """(2, 16, 16) x and y of the cells' middles, px of a piece."""
    middle = np.arange(_SIDE // _CELL) * _CELL + (_CELL - 1) / 2.0
    return np.stack(np.meshgrid(middle, middle))


def _with_lines(pixels: NDArray[np.uint8], place: CornerPlace, lines: Sequence[FloorLine], feet: _Feet) -> CornerPlace:
    """The place by the network and by every line that passes it, least squares."""
    weight = np.linalg.inv(place.cov_px2)
    pull = weight @ place.px
    for line in lines:
        told = _across(pixels, place.px, line, feet)
        if told is None:
            continue
        normal, offset, sd = told
        off_sd = float(np.hypot(sd, np.sqrt(normal @ place.cov_px2 @ normal)))
        if abs(normal @ place.px - offset) < _GATE * off_sd:
            weight = weight + np.outer(normal, normal) / sd**2
            pull = pull + normal * offset / sd**2
    cov = np.linalg.inv(weight)
    return CornerPlace(px=cov @ pull, cov_px2=cov, heat=place.heat)


def _across(pixels: NDArray[np.uint8], spot: Array, line: FloorLine, feet: _Feet) -> tuple[Array, float, float] | None:
    """Unit normal, n . px and its sd of a floor line next to a spot; None where it passes elsewhere."""
    along = float(line.along(spot[None])[0])
    if abs(line.off(spot[None])[0]) >= _BESIDE_PX or not -_BEYOND_PX < along < line.length_px + _BEYOND_PX:
        return None
    by_feet, by_edge = _through_feet(line, along, feet), _by_edge(pixels, line, along)
    if by_feet is None or by_edge is None:
        return by_edge if by_feet is None else by_feet
    normal, offset, _ = by_edge
    agrees = abs(offset * np.sign(normal @ by_feet[0]) - by_feet[1]) < _AGREE_PX
    return by_edge if agrees else by_feet


def _through_feet(line: FloorLine, at: float, feet: _Feet) -> tuple[Array, float, float] | None:
    """The line through the feet near a place along it."""
    along, off = line.along(feet.px) - at, line.off(feet.px)
    mine = (np.abs(off) < _FOOT_PX) & (np.abs(along) < _ALONG_PX)
    mine &= (along + at > -_BEYOND_PX) & (along + at < line.length_px + _BEYOND_PX)
    if np.sum(mine) < 12:
        return None
    x, y, scale = along[mine], off[mine], feet.scale_px[mine]
    design = np.stack([np.ones_like(x), x], axis=1)
    fit = np.array([np.median(y), 0.0])
    for _ in range(6):
        far = np.abs(y - design @ fit) / (_SD_OF_SCALE * scale)
        weight = feet.sure[mine] / scale**2 * np.minimum(1.0, 1.0 / np.maximum(far, 1e-6))
        normal_matrix = (design * weight[:, None]).T @ design + np.diag([0.0, 1e-9])
        fit = np.linalg.solve(normal_matrix, design.T @ (weight * y))
    sd = float(np.hypot(_SHARED * np.sqrt(np.linalg.inv(normal_matrix)[0, 0]), _LEAST_FOOT_SD))
    left = np.array([-line.way[1], line.way[0]])
    return _line_of(line.ends[0] + at * line.way + fit[0] * left, line.way + fit[1] * left, sd)


def _by_edge(pixels: NDArray[np.uint8], line: FloorLine, at: float) -> tuple[Array, float, float] | None:
    """The picture's edge along the piece of a line next to a place along it."""
    low, high = max(at + 3.0, 0.0), min(line.length_px, at + _PIECE_PX)
    if at > line.length_px / 2.0:
        low, high = max(0.0, at - _PIECE_PX), min(line.length_px, at - 3.0)
    if high - low < 20.0:
        low, high = 0.0, line.length_px
    edge = on_edge(pixels, line.ends[0] + np.array([[low], [high]]) * line.way, (2.0, 1.5))
    return None if edge is None else _line_of(edge[0], edge[1] - edge[0], _EDGE_SD_PX)


def _line_of(place: Array, way: Array, sd: float) -> tuple[Array, float, float]:
    way = way / np.hypot(*way)
    normal = np.array([-way[1], way[0]])
    return normal, float(normal @ place), sd
