"""The demo's photos as pixels, the networks that see their corners, and the renderer's truth."""
from __future__ import annotations

import json
from functools import cache
from importlib import resources
from pathlib import Path

import cv2
import numpy as np

from capture.seeing.places import PlaceFinder
from capture.seeing.segmentation import Segmenter

DEMO = Path(__file__).parents[2] / "demo_photos"
TRUTH = json.loads((DEMO / "truth.json").read_text())


@cache
def segmenter() -> Segmenter:
    return Segmenter((resources.files("desk") / "floor_corners.onnx").read_bytes())


@cache
def finder() -> PlaceFinder:
    return PlaceFinder((resources.files("desk") / "corner_places.onnx").read_bytes())


@cache
def pixels(file: str) -> np.ndarray:
    return np.ascontiguousarray(cv2.imread(str(DEMO / file))[:, :, ::-1])
