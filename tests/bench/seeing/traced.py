"""Rooms drawn by the path tracer `tracer.cu`: scenes packed for it, its library built and called.

On a GPU (nvcc, results as torch tensors) for training; on a processor (g++) for the bench, some seconds a picture.
"""
from __future__ import annotations

import ctypes
import subprocess
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.bench.seeing.lights import LAMPS
from tests.bench.seeing.rooms import _AWAY, BOXES, DECALS, RUGS, TINS, WALLS, Scene

SOURCE = Path(__file__).with_name("tracer.cu")
_FIELDS = (("walls", (WALLS, 4)), ("back", (WALLS, 2)), ("hollow", (WALLS, 2)), ("paint", (WALLS, 3)), ("paper", (4,)),
           ("skirting", (5,)), ("skirting_colour", (3,)), ("ceiling", ()), ("floor", (16,)), ("decals", (DECALS, 10)),
           ("boxes", (BOXES, 12)), ("tins", (TINS, 8)), ("rugs", (RUGS, 14)), ("beyond", (7,)), ("lamps", (LAMPS, 14)),
           ("fill", (3,)), ("sun", (12,)), ("eye", (3,)), ("rotation", (3, 3)), ("lens", (2,)))


def packed(scene: Scene) -> NDArray[np.float32]:
    """One lighted scene as tracer.cu's struct Scene."""
    used = {name: scene[name][keep] for name, keep in (
        ("walls", scene["walls"][:, 0] < _AWAY), ("boxes", scene["boxes"][:, 0] < _AWAY),
        ("decals", scene["decals"][:, 0] >= 0), ("rugs", scene["rugs"][:, 0] < _AWAY),
        ("tins", scene["tins"][:, 0] > -_AWAY), ("lamps", scene["lamps"][:, 13] > 0))}
    counts = [len(used[name]) for name in ("walls", "boxes", "decals", "rugs", "tins", "lamps")]
    values = scene | used | {"back": behind(used["walls"], float(scene["skirting"][1]))}
    parts = [np.array([*counts, scene["grain"], scene["seed"]], np.float32)]
    for name, shape in _FIELDS:
        block = np.zeros(shape, np.float32)
        if shape and len(values[name]) < shape[0]:
            block[:len(values[name])] = values[name]
        else:
            block[...] = np.asarray(values[name], np.float32)
        parts.append(block.ravel())
    return np.concatenate(parts)


def behind(walls: NDArray[np.float32], thick: float) -> NDArray[np.float64]:
    """(k, 2) corners of the plaster behind the skirting: each wall moved out by its thickness, mitred."""
    corners = []
    for prior, wall in zip(np.roll(walls, 1, axis=0), walls):
        rows, sides = [], []
        for w in (prior, wall):
            u = (w[2:] - w[:2]) / np.hypot(*(w[2:] - w[:2]))
            n = np.array([u[1], -u[0]])
            rows.append(n)
            sides.append(n @ (w[:2] + thick * n))
        corners.append(np.linalg.solve(np.array(rows, float), np.array(sides, float)))
    return np.array(corners)


@cache
def library(device: str) -> Any:
    """The tracer, built for "cuda" or "cpu"."""
    built = Path("/tmp") / f"room-tracer-{device}-{SOURCE.stat().st_mtime_ns}.so"
    if not built.exists():
        how = (["nvcc", "-O3", "-arch=native", "--use_fast_math", "-Xcompiler", "-fPIC"] if device == "cuda" else
               ["g++", "-O2", "-x", "c++", "-fopenmp", "-ffast-math", "-fPIC"])
        subprocess.run([*how, "-shared", str(SOURCE), "-o", str(built)], check=True)
    found = ctypes.CDLL(str(built))
    assert found.scene_floats() == 8 + sum(int(np.prod(shape)) for _, shape in _FIELDS)
    found.photograph.argtypes = [ctypes.c_void_p] * 3 + [ctypes.c_int] * 3 + [ctypes.c_void_p]
    found.draw_windows.argtypes = [ctypes.c_void_p] * 3 + [ctypes.c_int] * 3 + [ctypes.c_void_p]
    found.draw.argtypes = [ctypes.c_void_p] * 3 + [ctypes.c_int] * 4 + [ctypes.c_void_p]
    return found


def draw_on_cpu(scene: Scene, size: tuple[int, int], samples: int = 16) -> tuple[NDArray[np.float32],
                                                                                 NDArray[np.uint8]]:
    """Linear light (h, w, 3) and kinds (h/2, w/2) of one lighted scene. samples: a power of two."""
    width, height = size
    data = np.ascontiguousarray(packed(scene))
    light, kinds = np.empty((height, width, 3), np.float32), np.empty((height // 2, width // 2), np.uint8)
    library("cpu").draw(data.ctypes.data, light.ctypes.data, kinds.ctypes.data, 1, width, height, samples, None)
    return light, kinds


def draw_on_gpu(packs: Any, size: tuple[int, int], samples: int) -> tuple[Any, Any]:
    """Linear light (B, 3, h, w) half precision and kinds (B, h/2, w/2) bytes of packed scenes (B, n) on the GPU."""
    import torch
    width, height = size
    light = torch.empty(len(packs), 3, height, width, dtype=torch.half, device=packs.device)
    kinds = torch.empty(len(packs), height // 2, width // 2, dtype=torch.uint8, device=packs.device)
    wrong = library("cuda").draw(packs.data_ptr(), light.data_ptr(), kinds.data_ptr(), len(packs), width, height,
                                 samples, torch.cuda.current_stream().cuda_stream)
    if wrong:
        raise RuntimeError(f"CUDA error {wrong}")
    return light, kinds


def draw_windows(packs: Any, windows: Any, side: int, samples: int) -> Any:
    """Linear light (n, 3, side, side) of windows (n, 4): u, v of the middle and px to a long side, number of the packed
    scene. Half precision on a GPU, else floats."""
    import torch
    gpu = packs.is_cuda
    light = torch.empty(len(windows), 3, side, side, dtype=torch.half if gpu else torch.float32, device=packs.device)
    wrong = library("cuda" if gpu else "cpu").draw_windows(
        packs.contiguous().data_ptr(), windows.contiguous().data_ptr(), light.data_ptr(), len(windows), side, samples,
        torch.cuda.current_stream().cuda_stream if gpu else None)
    if wrong:
        raise RuntimeError(f"CUDA error {wrong}")
    return light


def photograph(light: Any, phones: Any) -> Any:
    """Light (B, 3, h, w) as phones (B, 58) store it: (B, 5, h, w), channels last; bf16 from half on a GPU, else
    floats."""
    import torch
    count, _, height, width = light.shape
    gpu = light.is_cuda
    out = torch.empty(count, height, width, 5, dtype=torch.bfloat16 if gpu else torch.float32, device=light.device)
    wrong = library("cuda" if gpu else "cpu").photograph(
        light.contiguous().data_ptr(), phones.contiguous().data_ptr(), out.data_ptr(), count, width, height,
        torch.cuda.current_stream().cuda_stream if gpu else None)
    if wrong:
        raise RuntimeError(f"CUDA error {wrong}")
    return out.permute(0, 3, 1, 2)
