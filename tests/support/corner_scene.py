"""Drawn pictures of one room corner with a skirting, its foot known to a fraction of a pixel.

The camera is OpenCV's (cv2.projectPoints), so the true place does not come from the code under test. Faces are painted
from the floor up at four times the size in a window round the foot (the rest of the picture stays grey), and shrunk;
then blur, noise and JPEG as a phone makes them. Drawn pictures are cleaner than life.
"""
from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

SIZE = (1600, 1200)
FOCAL_PX = 1216.0
_FINER, _WINDOW_PX = 4, 220
_SHIFT = 4  # fractional bits of OpenCV's drawing
#: What may stand in the corner, and its upright edge towards the room, mm.
_BOX = [(320, -20, 0), (320, 260, 0), (320, 260, 420), (320, -20, 420)]
BOX_EDGE = [(320.0, 260.0, 420.0), (320.0, 260.0, 0.0)]
Colour = tuple[float, float, float]
WHITE, WOOD, GREY_FLOOR, PALE_WALL, DARK_WALL = (
    (228, 227, 222),
    (165, 130, 92),
    (122, 122, 120),
    (190, 196, 188),
    (74, 92, 118),
)


@dataclass(frozen=True, kw_only=True)
class Corner:
    """One corner at the origin, mm; z up. `outer`: it stands out into the room, as a chimney breast's does."""

    outer: bool = False
    floor: str = "boards"  # or "plain", "tiles"
    floor_colour: Colour = WOOD
    wall_colour: Colour = PALE_WALL
    skirting_colour: Colour = WHITE
    skirting_mm: float = 100.0
    eye_mm: tuple[float, float, float] = (2400.0, 1900.0, 1550.0)
    look_mm: tuple[float, float, float] = (300.0, 500.0, 0.0)
    lit: tuple[float, float] = (1.0, 0.86)  # brightness of the two walls
    turn_deg: float = 90.0  # boards' direction from x
    blur_px: float = 0.8
    noise: float = 2.0
    box: bool = False  # something stands in the corner and hides it
    seed: int = 1


def view(corner: Corner) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Rotation vector, shift and camera matrix for cv2.projectPoints."""
    eye, look = np.array(corner.eye_mm), np.array(corner.look_mm)
    forward = (look - eye) / np.linalg.norm(look - eye)
    right = np.cross(forward, (0.0, 0.0, 1.0))
    right /= np.linalg.norm(right)
    rotation = np.array([right, np.cross(forward, right), forward])
    matrix = np.array([[FOCAL_PX, 0, (SIZE[0] - 1) / 2], [0, FOCAL_PX, (SIZE[1] - 1) / 2], [0, 0, 1]])
    return cv2.Rodrigues(rotation)[0], -rotation @ eye, matrix


def place_px(corner: Corner, points_mm) -> NDArray[np.float64]:
    """(n, 2) px of points (n, 3)."""
    turn, shift, matrix = view(corner)
    return cv2.projectPoints(np.array(points_mm, dtype=float).reshape(-1, 1, 3), turn, shift, matrix,
                             None)[0].reshape(-1, 2)


def foot_px(corner: Corner) -> tuple[float, float]:
    """True place of the corner's foot."""
    x, y = place_px(corner, [(0.0, 0.0, 0.0)])[0]
    return float(x), float(y)


def picture(corner: Corner) -> NDArray[np.uint8]:
    """(1200, 1600, 3) RGB."""
    rng = np.random.default_rng(corner.seed)
    canvas = np.full((2 * _WINDOW_PX * _FINER, 2 * _WINDOW_PX * _FINER, 3), 128.0, dtype=np.float32)
    _floor(canvas, corner, rng)
    for way, lit in sorted(_faces(corner), key=lambda face: -_distance(corner, face[0])):
        _wall(canvas, corner, way, lit)
    if corner.box:
        _face(canvas, corner, _BOX, (120, 96, 70))
    small = cv2.resize(canvas, (2 * _WINDOW_PX, 2 * _WINDOW_PX), interpolation=cv2.INTER_AREA)
    soft = cv2.GaussianBlur(small, (0, 0), corner.blur_px)
    noisy = np.clip(soft + rng.normal(0.0, corner.noise, soft.shape), 0, 255).astype(np.uint8)
    _, packed = cv2.imencode(".jpg", noisy[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, 88])
    whole = np.full((SIZE[1] + 2 * _WINDOW_PX, SIZE[0] + 2 * _WINDOW_PX, 3), 128, dtype=np.uint8)
    left, top = (int(c) for c in _window(corner) + _WINDOW_PX)
    whole[top:top + 2 * _WINDOW_PX, left:left + 2 * _WINDOW_PX] = cv2.imdecode(packed, cv2.IMREAD_COLOR)[:, :, ::-1]
    return np.ascontiguousarray(whole[_WINDOW_PX:-_WINDOW_PX, _WINDOW_PX:-_WINDOW_PX])


def _window(corner: Corner) -> NDArray[np.float64]:
    """Top left pixel of the window that is drawn; the foot must lie in the picture."""
    return np.floor(foot_px(corner)) - _WINDOW_PX


def _faces(corner: Corner) -> list[tuple[tuple[float, float], float]]:
    """Directions in which the visible walls run from the corner, with their light."""
    sign = -1.0 if corner.outer else 1.0
    along_x, along_y = ((sign, 0.0), corner.lit[0]), ((0.0, sign), corner.lit[1])
    if not corner.outer:
        return [along_x, along_y]
    return [face for face, faces_eye in ((along_x, corner.eye_mm[1] > 0), (along_y, corner.eye_mm[0] > 0)) if faces_eye]


def _distance(corner: Corner, way: tuple[float, float]) -> float:
    return float(np.hypot(corner.eye_mm[0] - 500 * way[0], corner.eye_mm[1] - 500 * way[1]))


def _wall(canvas, corner: Corner, way: tuple[float, float], lit: float) -> None:
    far = 1800.0
    x, y = way[0] * far, way[1] * far
    top = corner.skirting_mm
    for low, high, colour in ((top, 1500.0, corner.wall_colour), (0.0, top, corner.skirting_colour),
                              (top - 9.0, top, tuple(min(255.0, 1.06 * c) for c in corner.skirting_colour))):
        _face(canvas, corner, [(0, 0, low), (x, y, low), (x, y, high), (0, 0, high)], tuple(lit * c for c in colour))
    # Where wood meets floor it is a little dark.
    _face(canvas, corner, [(0, 0, 0), (x, y, 0), (x, y, 1.5), (0, 0, 1.5)],
          tuple(0.45 * lit * c for c in corner.skirting_colour))


def _floor(canvas, corner: Corner, rng: np.random.Generator) -> None:
    reach = 2600.0
    _face(canvas, corner, [(-reach, -reach, 0), (reach, -reach, 0), (reach, reach, 0), (-reach, reach, 0)],
          corner.floor_colour)
    if corner.floor == "plain":
        return
    across = [np.radians(corner.turn_deg)] + ([np.radians(corner.turn_deg + 90.0)] if corner.floor == "tiles" else [])
    pitch, gap = (300.0, 4.0) if corner.floor == "tiles" else (145.0, 2.0)
    for angle in across:
        u, v = np.array([np.cos(angle), np.sin(angle), 0.0]), np.array([-np.sin(angle), np.cos(angle), 0.0])
        for k in range(-12, 13):
            near = k * pitch + 37.0
            if corner.floor == "boards":
                tone = 1.0 + rng.uniform(-0.06, 0.06)
                _strip(canvas, corner, u, v, near, near + pitch, tuple(tone * c for c in corner.floor_colour))
            _strip(canvas, corner, u, v, near, near + gap, tuple(0.4 * c for c in corner.floor_colour))


def _strip(canvas, corner: Corner, u, v, near: float, far: float, colour: Colour) -> None:
    reach = 2600.0
    _face(canvas, corner, [near * v - reach * u, near * v + reach * u, far * v + reach * u, far * v - reach * u],
          colour)


def _face(canvas, corner: Corner, ring_mm, colour: Colour) -> None:
    """A flat shape filled; what lies behind the camera is cut off first."""
    turn, shift, matrix = view(corner)
    seen = np.array(ring_mm, dtype=float) @ cv2.Rodrigues(turn)[0].T + np.ravel(shift)
    ring = []
    for a, b in zip(seen, np.roll(seen, -1, axis=0)):
        if a[2] >= 50.0:
            ring.append(a)
        if (a[2] - 50.0) * (b[2] - 50.0) < 0:
            ring.append(a + (50.0 - a[2]) / (b[2] - a[2]) * (b - a))
    if len(ring) < 3:
        return
    px = np.array(ring) @ matrix.T
    at = (px[:, :2] / px[:, 2:] - _window(corner) + 0.5) * _FINER - 0.5
    cv2.fillPoly(canvas, [np.round(np.clip(at, -1e5, 1e5) * 2 ** _SHIFT).astype(np.int32)], colour, cv2.LINE_8, _SHIFT)
