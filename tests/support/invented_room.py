"""An invented room and pictures of it: a pinhole camera projects its floor corners, so every mark's true place is
known.

The walls towards the camera are left out, so that all corners are seen. Camera model: x = f X/Z + cx, y = f Y/Z + cy,
Hartley & Zisserman, "Multiple View Geometry", 2nd ed., section 6.1 (from memory).
"""
from __future__ import annotations

import io
from functools import cache

import numpy as np
from numpy.typing import NDArray
from PIL import ExifTags, Image, ImageDraw

#: Floor corners, mm, anticlockwise; out of square on purpose.
CORNERS = {"A": (0.0, 0.0), "B": (4310.0, 0.0), "C": (4296.0, 3024.0), "D": (18.0, 2990.0)}
SIZE = (1600, 1200)
F35 = 24
#: Focal length of a 24 mm equivalent lens by the diagonal of the 36 x 24 mm frame.
FOCAL_PX = F35 * float(np.hypot(*SIZE)) / 43.267
#: Where the camera stands and what it looks at, mm; z up.
VIEWS = {"from the door": ((2600.0, -2900.0, 2700.0), (2100.0, 1500.0, 0.0)),
         "from the window": ((1500.0, 5900.0, 2600.0), (2200.0, 1500.0, 0.0))}


def place_px(point: NDArray[np.float64], view: str) -> tuple[float, float]:
    """Where a point (3,) in mm appears in the picture, px."""
    eye, target = (np.array(p) for p in VIEWS[view])
    forward = (target - eye) / np.linalg.norm(target - eye)
    right = np.cross(forward, (0.0, 0.0, 1.0))
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    x, y, z = (float(axis @ (np.asarray(point) - eye)) for axis in (right, down, forward))
    return FOCAL_PX * x / z + (SIZE[0] - 1) / 2, FOCAL_PX * y / z + (SIZE[1] - 1) / 2


def corner_px(name: str, view: str) -> tuple[float, float]:
    """Where a floor corner appears, px."""
    return place_px(np.array([*CORNERS[name], 0.0]), view)


def distance_mm(a: str, b: str) -> float:
    """True distance between two corners."""
    return float(np.hypot(*(np.array(CORNERS[b]) - CORNERS[a])))


@cache
def picture(view: str, *, exif: bool = True) -> bytes:
    """A JPEG of the room: floor with joints, the two far walls with a skirting."""
    image = Image.new("RGB", SIZE, (58, 62, 66))
    draw = ImageDraw.Draw(image)
    far = ("D", "C") if VIEWS[view][0][1] < 0 else ("B", "A")
    near = ("A", "B") if far[0] == "D" else ("C", "D")
    for a, b, tone in ((far[0], near[0], 206), (far[1], near[1], 196), (far[0], far[1], 222)):
        _wall(draw, a, b, view, tone)
    draw.polygon([corner_px(n, view) for n in "ABCD"], fill=(150, 138, 120))
    for k in range(1, 12):
        ends = [np.array([*(np.array(CORNERS[a]) + (np.array(CORNERS[b]) - CORNERS[a]) * k / 12), 0.0])
                for a, b in (("A", "B"), ("D", "C"))]
        draw.line([place_px(e, view) for e in ends], fill=(132, 120, 103), width=2)
    noise = np.random.default_rng(7).normal(0.0, 4.0, (SIZE[1], SIZE[0], 1))
    image = Image.fromarray(np.clip(np.asarray(image, dtype=float) + noise, 0, 255).astype(np.uint8))
    return _jpeg(image, exif)


def _wall(draw: ImageDraw.ImageDraw, a: str, b: str, view: str, tone: int) -> None:
    for low, high, colour in ((0.0, 2400.0, (tone, tone - 4, tone - 14)), (0.0, 90.0, (245, 243, 238))):
        ring = [np.array([*CORNERS[n], h]) for n, h in ((a, low), (b, low), (b, high), (a, high))]
        draw.polygon([place_px(p, view) for p in ring], fill=colour)


def _jpeg(image: Image.Image, exif: bool) -> bytes:
    target, tags = io.BytesIO(), Image.Exif()
    if exif:
        tags.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.FocalLengthIn35mmFilm] = F35
    image.save(target, "JPEG", quality=88, exif=tags)
    return target.getvalue()
