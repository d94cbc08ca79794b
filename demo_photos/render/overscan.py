"""The undistorted picture behind a distorted one: how large it must be and where each px comes from."""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from demo_photos.render.camera import View, undistort


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Overscan:
    """size_px: (width, height) of the undistorted picture; focal_px: its focal length; map_px: (h, w, 2), for every px
    of the distorted picture its place in the undistorted one, both with (0, 0) at the centre of the top-left px."""

    size_px: tuple[int, int]
    focal_px: float
    map_px: NDArray[np.float32]


def overscan(view: View, scale: float = 1.0) -> Overscan:
    """The overscan of a view; `scale` shrinks both pictures alike, for drafts.

    A renderer counts px from the corner of the first px, half a px off this house's convention: the middle of a film of
    width w lies at (w - 1) / 2 here.
    """
    width, height = (round(scale * n) for n in view.size_px)
    focal = scale * view.lens.focal_px
    columns, lines = (np.arange(n) - (n - 1) / 2 for n in (width, height))
    across, down = np.meshgrid(columns / focal, lines / focal)
    plane = undistort(np.stack([across, down], axis=-1), view.lens.k1)
    size = tuple(2 * int(np.ceil(focal * np.abs(plane[..., k]).max()) + 3) for k in (0, 1))
    middle = (np.array(size) - 1) / 2
    return Overscan(size_px=size, focal_px=focal, map_px=(focal * plane + middle).astype(np.float32))
