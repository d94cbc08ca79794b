"""Render the pictures: ``python -m demo_photos.render.render [--draft DIR] [room-1.jpg ...]`` from the repository's
root.

An undistorted picture wide enough for the lens is rendered in linear light under sky and under sun, each denoised;
then `develop` bends it through the lens and makes a phone's JPEG of it.
"""
from __future__ import annotations

import argparse
import time
from pathlib import Path

import mitsuba as mi

mi.set_variant("llvm_ad_rgb")

import mitsuba_oidn as oidn  # noqa: E402
import numpy as np  # noqa: E402
from numpy.typing import NDArray  # noqa: E402

from demo_photos.render import develop  # noqa: E402
from demo_photos.render.camera import View, rotation  # noqa: E402
from demo_photos.render.overscan import Overscan, overscan  # noqa: E402
from demo_photos.render.scene import Textures, build  # noqa: E402
from demo_photos.render.truth import HOME  # noqa: E402
from demo_photos.render.views import VIEWS  # noqa: E402

AOVS = "albedo:albedo,normal:sh_normal,position:position"


def sensor(view: View, frame: Overscan, samples: int) -> mi.Sensor:
    """A pinhole camera of the view's focal length with a film as large as the overscan."""
    right, down, forward = rotation(view)
    to_world = np.eye(4)
    to_world[:3] = np.column_stack([-right, -down, forward, view.eye_mm])
    width, height = frame.size_px
    return mi.load_dict({"type": "perspective", "to_world": mi.ScalarTransform4f(to_world), "near_clip": 20.0,
                         "far_clip": 20000.0, "fov_axis": "x",
                         "fov": float(np.degrees(2 * np.arctan(width / 2 / frame.focal_px))),
                         "film": {"type": "hdrfilm", "width": width, "height": height, "pixel_format": "rgb",
                                  "rfilter": {"type": "box"}}, "sampler": {"type": "multijitter",
                                                                           "sample_count": samples}})


def linear_picture(view: View, pictures: Textures, frame: Overscan, samples: int) -> NDArray[np.float32]:
    """(h, w, 3) denoised linear light of the undistorted overscan picture."""
    total = 0.0
    for seed, lighting in enumerate(("sky", "sun")):
        scene, eye = build(view, pictures, lighting), sensor(view, frame, samples)
        noisy = np.array(mi.render(scene, sensor=eye, spp=samples, seed=seed), dtype=np.float32)
        guides = features(scene, eye)
        total = total + oidn.denoise(np.ascontiguousarray(noisy), np.ascontiguousarray(np.clip(guides["albedo"], 0, 1)),
                                     np.ascontiguousarray(guides["normal"]), hdr=True)
    return total


def features(scene: mi.Scene, eye: mi.Sensor, samples: int = 4) -> dict[str, NDArray[np.float32]]:
    """Albedo, normal and world position (mm) of every px, each (h, w, 3)."""
    integrator = mi.load_dict({"type": "aov", "aovs": AOVS})
    stack = np.array(mi.render(scene, sensor=eye, integrator=integrator, spp=samples), dtype=np.float32)
    first = stack.shape[2] - 9
    return {name: stack[:, :, first + 3 * k:first + 3 * k + 3]
            for k, name in enumerate(("albedo", "normal", "position"))}


def main() -> None:
    """Render the named pictures, or all."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="*", help="pictures to render; all if none is named")
    parser.add_argument("--draft", type=Path, metavar="DIR", help="half the size and few samples, into DIR instead")
    wanted = parser.parse_args()
    scale, samples, floor_step_mm = (0.5, 8, 2.0) if wanted.draft else (1.0, 16, 1.25)
    folder = wanted.draft or HOME / "photos"
    folder.mkdir(exist_ok=True)
    pictures = Textures(floor_step_mm)
    for number, view in enumerate(VIEWS):
        if wanted.files and view.file not in wanted.files:
            continue
        started = time.monotonic()
        frame = overscan(view, scale)
        light = linear_picture(view, pictures, frame, samples)
        develop.write_jpeg(folder / view.file, develop.develop(light, view, frame, number), view, number)
        print(f"{view.file}: {time.monotonic() - started:.0f} s")


if __name__ == "__main__":
    main()
