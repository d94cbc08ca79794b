"""Photographs of a floor with printed targets, made from a known room and lens: pictures, true corners, marks.

The floor is a picture at 1 mm a pixel with OpenCV's own markers on white sheets; a photo looks along the rays of a lens
with one radial coefficient (solved here by fixed point) and averages 2 x 2 rays a pixel. True places come from
cv2.projectPoints.
"""
from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np

from capture.network import Camera, Mark, Network, Photo, TapeLength, TargetMark
from tests.support import simulate

SIZE, FOCAL, K1 = (1600, 1200), 1000.0, -0.03
CENTRE = np.array([(SIZE[0] - 1) / 2, (SIZE[1] - 1) / 2])
MATRIX = np.array([[FOCAL, 0, CENTRE[0]], [0, FOCAL, CENTRE[1]], [0, 0, 1]])
ROOM = {"A": (0.0, 0.0), "B": (4210.0, 12.0), "C": (4195.0, 3410.0), "D": (-20.0, 3385.0)}
#: number: (x, y, turn), mm and rad.
TARGETS = {0: (1300.0, 1500.0, 0.3), 1: (2900.0, 1900.0, 2.1), 2: (2100.0, 1250.0, 4.0)}
_MARGIN = 600


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class View:
    """Where a photo was taken from: rotation (3, 3) and shift (3,) as in `capture.camera`."""

    rotation: np.ndarray
    shift: np.ndarray

    def px(self, points) -> np.ndarray:
        """(k, 2) true px of floor points (k, 2), by OpenCV."""
        space = np.column_stack([np.reshape(points, (-1, 2)), np.zeros(len(np.reshape(points, (-1, 2))))])
        found, _ = cv2.projectPoints(space, cv2.Rodrigues(self.rotation)[0], self.shift, MATRIX,
                                     np.array([K1, 0, 0, 0]))
        return found.reshape(-1, 2)


def view(eye, target, roll=0.02) -> View:
    rotation, shift = simulate.look_at(np.array(eye, dtype=float), np.array([*target, 0.0]), roll)
    return View(rotation=rotation, shift=shift)


#: From the wall C-D towards A-B, and back: these two share no corner of the room.
NORTH, SOUTH = view((2000, 3300, 1500), (2100, 900)), view((2300, 100, 1550), (2050, 2500), -0.03)


def corners(place, side=150.0) -> np.ndarray:
    """(4, 2) floor corners of a target in the order of its print."""
    x, y, turn = place
    c, s = np.cos(turn), np.sin(turn)
    return np.array([x, y]) + np.array([(-1, 1), (1, 1), (1, -1), (-1, -1)]) * side / 2 @ np.array([[c, s], [-s, c]])


def floor_picture(sheets, side=150.0) -> np.ndarray:
    """(h, w) grey floor, 1 mm a pixel: pixel (0, 0) is at (-600, -600); `sheets` lists (number, place)."""
    height, width = 3400 + 2 * _MARGIN, 4200 + 2 * _MARGIN
    y, x = (np.arange(n, dtype=np.float32) for n in (height, width))
    y = y[:, None]
    floor = (115 + 20 * np.sin(x / 37) * np.sin(y / 61) + 12 * (np.floor(x / 190) % 2)).astype(np.uint8)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_50)
    cell = 40
    for number, place in sheets:
        sheet = np.full((9 * cell, 9 * cell), 235, dtype=np.uint8)
        sheet[cell:8 * cell, cell:8 * cell] = np.where(cv2.aruco.generateImageMarker(dictionary, number, 7 * cell) > 0,
                                                       235, 25)
        # The marker's outline runs along pixel edges of the sheet, half a pixel off their centres.
        ends = np.array([(cell, cell), (8 * cell, cell), (8 * cell, 8 * cell), (cell, 8 * cell)],
                        dtype=np.float32) - 0.5
        turn = cv2.getPerspectiveTransform(ends, (corners(place, side) + _MARGIN).astype(np.float32))
        cv2.warpPerspective(sheet, turn, (width, height), dst=floor, flags=cv2.INTER_AREA,
                            borderMode=cv2.BORDER_TRANSPARENT)
    return floor


def to_light(grey) -> np.ndarray:
    """Light in proportion, 0 to 1, of 8-bit greys: IEC 61966-2-1. A lens and a sensor mix light, not stored greys."""
    share = np.arange(256, dtype=np.float32) / 255
    light = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4).astype(np.float32)
    return light[grey]


def to_grey(light) -> np.ndarray:
    """Inverse of `to_light`, not rounded."""
    return 255 * np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.clip(light, 0, None) ** (1 / 2.4) - 0.055)


@cache
def _rays() -> tuple[np.ndarray, np.ndarray]:
    """(2h, 2w) each: where a ray through every half pixel meets the plane at depth 1, the lens's bend undone."""
    u, v = np.meshgrid(*(((np.arange(2 * n) + 0.5) / 2 - 0.5 - middle) / FOCAL for n, middle in zip(SIZE, CENTRE)))
    radius = np.hypot(u, v)
    straight = radius
    for _ in range(8):
        straight = radius / (1 + K1 * straight**2)
    return u * straight / radius, v * straight / radius


def photograph(floor, seen_from: View, rng, noise=3.0) -> np.ndarray:
    """(h, w, 3) picture of a floor picture."""
    width, height = SIZE
    u, v = _rays()
    turned, eye = seen_from.rotation, -seen_from.rotation.T @ seen_from.shift
    reach = -eye[2] / np.minimum(turned[0, 2] * u + turned[1, 2] * v + turned[2, 2], -1e-3)
    x, y = ((eye[i] + reach * (turned[0, i] * u + turned[1, i] * v + turned[2, i]) + _MARGIN).astype(np.float32)
            for i in (0, 1))
    light = cv2.remap(to_light(floor), x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=0.4)
    light = cv2.GaussianBlur(light.reshape(height, 2, width, 2).mean(axis=(1, 3)), (0, 0), 0.6)
    grey = to_grey(light) + rng.normal(0, noise, (height, width))
    return np.repeat(np.clip(grey, 0, 255).astype(np.uint8)[..., None], 3, axis=2)


def network_of(photos: dict[str, tuple[View, tuple]], rng, *, taped=(("A", "B"),), mark_sd=1.0, size=150.0) -> Network:
    """What a person and the detector tell: photos by name as (view, sightings); corners in the picture marked with
    noise."""
    marks = [Mark(photo=name, point=corner, x_px=float(x), y_px=float(y), sd_px=mark_sd)
             for name, (seen_from, _) in photos.items() for corner, (x, y) in marked(seen_from, rng, mark_sd).items()]
    return Network(outline=tuple(ROOM), cameras=(Camera(name="c", width_px=SIZE[0], height_px=SIZE[1], focal_px=1020.0,
                                                        focal_sd=0.03),), photos=tuple(Photo(name=name, camera="c")
                                                                                       for name in photos),
                   marks=tuple(marks), target_size_mm=size,
                   target_marks=tuple(TargetMark(photo=name, seen=one) for name, (_, seen) in photos.items()
                                      for one in seen), tapes=tuple(TapeLength(a=a, b=b, length_mm=true_length(a, b),
                                                                               sd_mm=1.5) for a, b in taped))


def marked(seen_from: View, rng, sd=1.0) -> dict[str, np.ndarray]:
    """Clicks on the room's corners that are in the picture and in front of the camera."""
    found = {}
    for name, place in ROOM.items():
        ahead = (seen_from.rotation @ np.array([*place, 0.0]) + seen_from.shift)[2] > 0
        (px,) = seen_from.px([place])
        if ahead and np.all((px > 5) & (px < np.array(SIZE) - 6)):
            found[name] = px + rng.normal(0, sd, 2)
    return found


def true_length(a: str, b: str) -> float:
    return float(np.hypot(*(np.array(ROOM[a]) - np.array(ROOM[b]))))
