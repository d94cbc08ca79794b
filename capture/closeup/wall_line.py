"""A wall's floor line in a close-up, and where things lie by it. Floor frame of `plane_pose`, mm.

The room is where the reference lies. Walked with the room on the left, a wall runs onwards; facing it from the room
that is from right to left.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from capture.image.edge_profiles import Array
from capture.errors import CaptureError
from capture.closeup.plane_pose import View
from capture.language.messages import lazy_gettext

#: The farthest a reference may lie on the wall side of a line before the clicks must be wrong, mm.
_BEHIND_MM = 0.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class WallLine:
    """A floor line: a place on it (2,), the unit vector (2,) onwards, the clicks (k, 2) it was fitted to and the
    spread of one, mm."""

    at_mm: Array
    onwards: Array
    clicks_mm: Array
    click_sd_mm: float

    def frame(self, places_mm: Array) -> tuple[Array, Array]:
        """(k,) along the wall and (k,) off it into the room, of places (k, 2)."""
        off = places_mm - self.at_mm
        return off @ self.onwards, off @ np.array([-self.onwards[1], self.onwards[0]])

    def distance(self, view: View, place_mm: Array, cov_mm2: Array) -> tuple[float, float]:
        """(mm, standard deviation) of a place off the line. cov_mm2: (2, 2) of the place; what the view does to both
        alike is taken as independent, which is on the safe side."""
        (along,), (off,) = self.frame(place_mm[None])
        inward = np.array([-self.onwards[1], self.onwards[0]])
        at = self.frame(self.clicks_mm)[0]
        spread = float(np.sum((at - at.mean()) ** 2))
        line_var = self.click_sd_mm**2 * (1.0 / len(at) + (along - at.mean()) ** 2 / max(spread, 1e-9))
        line_var += float(np.mean([inward @ block @ inward for block in _blocks(view.covariance(self.clicks_mm))]))
        return float(off), float(np.sqrt(line_var + inward @ cov_mm2 @ inward))


def wall_line(view: View, clicks_px: Array, click_px: float) -> WallLine:
    """The floor line through two or more clicks. Raises CaptureError (slug bad-wall-clicks)."""
    floor = view.to_floor(clicks_px)
    span = float(np.max(np.hypot(*(floor - floor[0]).T))) if np.all(np.isfinite(floor)) else 0.0
    if span < 20.0:
        raise CaptureError("bad-wall-clicks", lazy_gettext(
            "Two clicks on a wall's floor line lie less than 20 mm apart, or above the horizon; click two places "
            "far apart where the skirting meets the floor."))
    middle = floor.mean(axis=0)
    way = np.linalg.svd(floor - middle)[2][0]
    inward = np.array([-way[1], way[0]])
    # The reference's middle, the frame's origin, lies in the room.
    onwards = way if -middle @ inward > _BEHIND_MM else -way
    by_px, _ = view.slopes(middle[None])
    return WallLine(at_mm=middle, onwards=onwards, clicks_mm=floor,
                    click_sd_mm=click_px * float(np.linalg.norm(by_px[0], 2)))


def _blocks(cov: Array) -> list[Array]:
    return [cov[2 * k:2 * k + 2, 2 * k:2 * k + 2] for k in range(len(cov) // 2)]
