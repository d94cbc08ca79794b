"""A picture with one edge at a known place, and strokes of a finger along it."""
from __future__ import annotations

import numpy as np


def drawn(bow: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """A bright wall over a dark floor, (900, 1200, 3); the edge's y at each x."""
    x = np.arange(1200)
    edge = 420.4 + 0.12 * (x - 600) + bow * (1 - ((x - 600) / 600) ** 2)
    y = np.mgrid[:900, :1200][0]
    grey = 150 - 60 / (1 + np.exp(-(y - edge) / 0.7)) + np.random.default_rng(1).normal(0, 2, (900, 1200))
    return np.repeat(np.clip(grey, 0, 255).astype(np.uint8)[..., None], 3, axis=2), edge


def finger(edge: np.ndarray, seed: int) -> np.ndarray:
    """A stroke that wavers by some px about an edge from x = 200 to 1000."""
    rng = np.random.default_rng(seed)
    x = np.linspace(200, 1000, 60)
    return np.stack([x, np.interp(x, np.arange(1200), edge) + 3 * np.sin(x / 90 + seed) + rng.normal(0, 1, 60)], axis=1)
