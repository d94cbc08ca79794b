"""From linear light to a phone's JPEG: lens, vignetting, white balance, exposure, noise, tone, EXIF."""
from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from demo_photos.render.camera import View
from demo_photos.render.overscan import Overscan

#: Exposure in stops and gains of red and blue, picture by picture, set by eye.
LOOK: dict[str, tuple[float, float, float]] = {"room-2.jpg": (0.05, 1.01, 0.95), "room-3.jpg": (-0.12, 1.0, 1.02),
                                             "room-4.jpg": (0.1, 1.01, 0.96), "closeup-casing.jpg": (0.1, 1.02, 0.97)}
MIDDLE_GREY = 0.235
#: Light beyond this many times the median is white anyhow; cutting it first keeps cubic resampling from ringing.
HIGHLIGHT = 7.0


def develop(light: NDArray[np.float32], view: View, frame: Overscan, seed: int) -> NDArray[np.uint8]:
    """(h, w, 3) 8-bit sRGB of the upright picture."""
    light = np.minimum(light, HIGHLIGHT * np.median(light))
    seen = cv2.remap(light, frame.map_px[..., 0], frame.map_px[..., 1], cv2.INTER_CUBIC,
                     borderMode=cv2.BORDER_REPLICATE)
    stops, red, blue = LOOK.get(view.file, (0.0, 1.0, 1.0))
    level = MIDDLE_GREY / float(np.exp(np.mean(np.log(np.clip(seen.mean(axis=2), 1e-3, None)))))
    seen = np.clip(seen, 0, None) * _fall_off(seen.shape, view)[..., None] * level * 2.0 ** stops
    seen = seen * _balance(seen) * np.array([red, 1.0, blue], np.float32)
    rng = np.random.default_rng(seed + 5)
    grain = cv2.GaussianBlur(rng.normal(0, 1, seen.shape).astype(np.float32), (0, 0), 0.6)
    seen = seen + grain * np.sqrt(np.clip(seen, 0, 1) * 2.2e-4 + 4e-6)
    return np.round(255 * _tone(np.clip(seen, 0, None))).astype(np.uint8)


def write_jpeg(path: Path, picture: NDArray[np.uint8], view: View, number: int) -> None:
    """Store the picture as the phone held it, with the EXIF a phone writes; no place, invented maker."""
    turns = {1: 0, 3: 2, 6: 1, 8: 3}[view.orientation]
    stored = Image.fromarray(np.rot90(picture, turns))
    exif = Image.Exif()
    exif[0x0112], exif[0x010F], exif[0x0110] = view.orientation, "Invented Maker", "Demo Phone One"
    taken = f"2024:03:16 10:{12 + 2 * number:02d}:{7 * number + 5:02d}"
    exif[0x0132] = taken
    detail = exif.get_ifd(0x8769)
    detail[0x9003], detail[0x920A], detail[0xA405] = taken, 5.4, 26
    detail[0xA002], detail[0xA003] = stored.size
    stored.save(path, quality=86, subsampling=0, exif=exif, optimize=True)


def _fall_off(shape: tuple[int, ...], view: View) -> NDArray[np.float32]:
    """Light lost towards the corners, a share of the natural cos^4."""
    height, width = shape[:2]
    focal = view.lens.focal_px * width / view.size_px[0]
    y, x = np.mgrid[:height, :width]
    r2 = ((x - (width - 1) / 2) ** 2 + (y - (height - 1) / 2) ** 2) / focal ** 2
    return ((1 + r2) ** -0.8).astype(np.float32)


def _balance(seen: NDArray[np.float32]) -> NDArray[np.float32]:
    """(3,) gains that bring the picture's mean half-way to a slightly warm grey, as a phone does."""
    mean = np.clip(seen, 0, 1).reshape(-1, 3).mean(axis=0)
    wanted = mean[1] * np.array([1.10, 1.0, 0.86])
    return np.sqrt(wanted / mean).astype(np.float32)


def _tone(linear: NDArray[np.float32]) -> NDArray[np.float32]:
    """Filmic shoulder above two thirds, then the sRGB curve (IEC 61966-2-1)."""
    knee = 0.60
    over = np.clip(linear - knee, 0, None)
    soft = np.where(linear > knee, knee + (1 - knee) * (1 - np.exp(-over / (1 - knee) / 1.25)), linear)
    low, high = 12.92 * soft, 1.055 * np.clip(soft, 1e-6, None) ** (1 / 2.4) - 0.055
    return np.clip(np.where(soft <= 0.0031308, low, high), 0, 1)
