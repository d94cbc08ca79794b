"""Does the renderer agree with truth.json? ``python -m demo_photos.render.check`` from the repository's root.

For every point truth.json calls visible, the world position the renderer saw (its position picture bent through the
lens like the photo) is read around the true px and compared, in px, with the place it is seen at. A corner must lie
where floor px end: both a floor px and another are sought next to it. A ray from the camera to the point, nudged off
its walls, must reach it; to a hidden one it must not. Of every floor target the same is told for its corners, and how
much of its square shows black where black is printed and white where white is.
"""
from __future__ import annotations

import json

import cv2
import mitsuba as mi

mi.set_variant("llvm_ad_rgb")

import numpy as np  # noqa: E402
from numpy.typing import NDArray  # noqa: E402

from capture.image.targets import CELLS, target_cells  # noqa: E402
from demo_photos.render.camera import View, project  # noqa: E402
from demo_photos.render.overscan import overscan  # noqa: E402
from demo_photos.render.render import features, sensor  # noqa: E402
from demo_photos.render.scene import Textures, build  # noqa: E402
from demo_photos.render.sight import aim_at  # noqa: E402
from demo_photos.render.targets import INK, LAID, PAPER, Laid, corners_mm  # noqa: E402
from demo_photos.render.truth import HOME  # noqa: E402
from demo_photos.render.views import VIEWS  # noqa: E402
from printpack.fullsize.target_sheets import SIDE_OF_SQUARE_MM  # noqa: E402


def seen_pictures(view: View, scene: mi.Scene) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """World position, mm, and albedo that each px of the photo shows, each (h, w, 3)."""
    frame = overscan(view)
    flat = features(scene, sensor(view, frame, 16), samples=16)
    return tuple(cv2.remap(flat[name], frame.map_px[..., 0], frame.map_px[..., 1], cv2.INTER_LINEAR)
                 for name in ("position", "albedo"))


def floor_error_px(view: View, positions: NDArray[np.float32], px: list[float]) -> float:
    """How far, in px, the floor seen within 3 px of a place projects from where it was seen (median over the floor
    px)."""
    x, y = (round(c) for c in px)
    around = [(i, j) for j in range(y - 3, y + 4) for i in range(x - 3, x + 4)
              if 0 <= i < view.size_px[0] and 0 <= j < view.size_px[1] and abs(positions[j, i, 2]) < 0.5]
    if not around:
        return float("nan")
    found = project(view, np.array([positions[j, i] for i, j in around], dtype=float))
    return float(np.median(np.hypot(*(found - np.array(around)).T)))


def print_share(laid: Laid, positions: NDArray[np.float32], albedo: NDArray[np.float32]) -> tuple[int, float]:
    """How many px lie well inside a cell of a target's square, and the share of them as dark or light as is printed
    there."""
    corners, cell_mm = corners_mm(laid), SIDE_OF_SQUARE_MM / CELLS
    across, down = ((corners[k] - corners[0]) / SIDE_OF_SQUARE_MM / cell_mm for k in (1, 3))
    off = positions[..., :2] - corners[0]
    place = np.stack([off @ down, off @ across], axis=-1)
    clear = np.all((place > 0) & (place < CELLS) & (np.abs(place % 1 - 0.5) < 0.3),
                   axis=-1) & (np.abs(positions[..., 2]) < 0.5)
    row, column = place[clear].astype(int).T
    right = (albedo[clear].mean(axis=1) < (INK + PAPER) / 2) == target_cells(laid.number)[row, column]
    return len(right), float(right.mean())


def gap_px(positions: NDArray[np.float32], px: list[float]) -> tuple[float, float]:
    """Distance in px from a corner's true place to the nearest px that shows floor, and to the nearest that does
    not."""
    x, y = (round(c) for c in px)
    rows, columns = np.mgrid[y - 6:y + 7, x - 6:x + 7]
    far = np.hypot(columns - px[0], rows - px[1])
    floor = np.abs(positions[rows, columns, 2]) < 0.5
    return float(far[floor].min(initial=np.inf)), float(far[~floor].min(initial=np.inf))


def reaches(view: View, scene: mi.Scene, aim: NDArray[np.float64]) -> bool:
    """Whether a ray from the camera arrives within 12 mm of the aim."""
    eye = np.array(view.eye_mm)
    far = float(np.linalg.norm(aim - eye))
    hit = scene.ray_intersect(mi.Ray3f(mi.Point3f(*map(float, eye)), mi.Vector3f(*map(float, (aim - eye) / far))))
    return bool(hit.t[0] > far - 12.0)


def main() -> None:
    """Print the worst disagreement of every picture."""
    told = json.loads((HOME / "truth.json").read_text(encoding="utf-8"))
    by_file = {photo["file"].split("/")[1]: photo for photo in told["photos"] + told["closeups"]}
    pictures = Textures(60.0)
    for view in VIEWS:
        photo, scene = by_file[view.file], build(view, pictures, "sun")
        positions, albedo = seen_pictures(view, scene)
        wanted = photo.get("points") or _closeup_points(photo)
        worst = {name: round(floor_error_px(view, positions, px), 3) for name, px in wanted.items()}
        print(view.file, "px:", worst)
        for laid in (laid for laid in LAID if str(laid.number) in photo.get("targets", {})):
            worst_px = max(floor_error_px(view, positions, px) for px in photo["targets"][str(laid.number)])
            print("  T{}: corners {:.3f} px; of {} px {:.2%} as printed".format(laid.number, worst_px,
                                                                                *print_share(laid, positions, albedo)))
        for name, px in photo.get("points", {}).items():
            print("  {}: floor {:.2f} px away, something else {:.2f} px".format(name, *gap_px(positions, px)))
        for name, state in [(n, True) for n in photo.get("points", ())] + [(n, False) for n in photo.get("hidden", ())]:
            if reaches(view, scene, aim_at(name, view)) != state:
                print(f"  {name} is {'hidden' if state else 'seen'} for the renderer")


def _closeup_points(photo: dict) -> dict[str, list[float]]:
    """A close-up's floor points: the sheet's corners and the traced outline or the pipe's circle."""
    ring = photo["outline"]["px"] if "outline" in photo else photo["circle"]["ring_px"]
    return {f"sheet{k}": px for k, px in enumerate(photo["beside"]["px"])} | {f"ring{k}": px
                                                                              for k, px in enumerate(ring)}


if __name__ == "__main__":
    main()
