"""Drawn rooms as a phone would show them, in numpy: a picture, what its pixels show, its corners. Used by tests and
the bench."""
from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.bench.seeing import caster
from tests.bench.seeing.rooms import Rng, Scene, stacked


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Drawn:
    """pixels (h, w, 3) sRGB; kinds (h, w) as in `caster`; corners (k, 2) px, proud (k,) convex or not, number (k,)
    in the outline."""

    pixels: NDArray[np.uint8]
    kinds: NDArray[np.uint8]
    corners: NDArray[np.float64]
    proud: NDArray[np.bool_]
    number: NDArray[np.int64]


def plane(size: tuple[int, int], dx: float = 0.0, dy: float = 0.0) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """(n,) u and v, long sides from the middle, of every px of a picture (width, height), moved by (dx, dy) px."""
    width, height = size
    x, y = np.meshgrid(np.arange(width) - (width - 1) / 2 + dx, np.arange(height) - (height - 1) / 2 + dy)
    return (x.ravel() / max(size)).astype(np.float32), (y.ravel() / max(size)).astype(np.float32)


def draw(scene: Scene, size: tuple[int, int], rng: Rng, samples: int = 2, quality: int = 88) -> Drawn:
    """One scene as a picture of (width, height)."""
    stack = stacked([scene])
    lights = []
    for k in range(samples):
        dx, dy = ((k + 0.5) / samples - 0.5, ((k * 0.618) % 1.0) - 0.5) if samples > 1 else (0.0, 0.0)
        colours, _ = caster.cast(stack, np, caster.pixel_rays(stack, np, *(c[None] for c in plane(size, dx, dy))))
        lights.append(np.stack(colours, axis=-1)[0])
    _, kinds = caster.cast(stack, np, caster.pixel_rays(stack, np, *(c[None] for c in plane(size))))
    light = np.mean(lights, axis=0).reshape(size[1], size[0], 3)
    u, v, seen = (a[0] for a in caster.corner_sights(stack, np))
    px = np.stack([u, v], axis=1) * max(size) + (np.array(size) - 1) / 2
    within = (seen > 0) & np.all((px > 1) & (px < np.array(size) - 2), axis=1)
    return Drawn(pixels=developed(light, scene["phone"], rng, quality),
                 kinds=kinds[0].reshape(size[1], size[0]).astype(np.uint8), corners=px[within].astype(float),
                 proud=seen[within] > 1.5, number=np.flatnonzero(within))


def developed(light: NDArray[np.float32], phone: NDArray[np.float32], rng: Rng, quality: int) -> NDArray[np.uint8]:
    """Linear light as a phone stores it: exposure, white balance, fall-off, blur, noise, tone, JPEG."""
    stops, red, blue, contrast, fall, blur, noise, _ = (float(v) for v in phone)
    height, width = light.shape[:2]
    scale = max(width, height) / 768
    u, v = (c.reshape(height, width, 1) for c in plane((width, height)))
    light = light * (1 + 2 * (u * u + v * v)) ** -fall * np.array([red, 1.0, blue], np.float32)
    light = light * (0.2 / float(np.exp(np.mean(np.log(light.mean(axis=2) + 1e-3)))) * 2 ** stops)
    if blur > 0.05:
        light = cv2.GaussianBlur(light.astype(np.float32), (0, 0), max(0.3, blur * min(scale, 1.5)))
    light = light + rng.normal(0, 1, light.shape) * noise * np.sqrt(np.clip(light, 0, 1) + 0.02)
    light = np.clip(light, 0, None)
    light = np.where(light > 0.6, 0.6 + 0.4 * (1 - np.exp(-(light - 0.6) / 0.5)), light)
    srgb = np.where(light < 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-6) ** (1 / 2.4) - 0.055)
    srgb = np.clip(0.5 + (srgb - 0.5) * contrast, 0, 1)
    _, packed = cv2.imencode(".jpg", np.round(255 * srgb).astype(np.uint8)[:, :, ::-1],
                             [cv2.IMWRITE_JPEG_QUALITY, quality])
    picture = cv2.imdecode(packed, cv2.IMREAD_COLOR)
    assert picture is not None
    return np.ascontiguousarray(picture[:, :, ::-1])
