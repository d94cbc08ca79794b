"""One step of light on a band of cuts across a supposed edge, by least squares: for weak edges, and edges of things
that shade by themselves.

In: upright pixels, places in px and cuts as in `edge_profiles`. Model: the near side's light and the far side's, each
changing evenly across the edge and along it, and between them a step blurred by a normal curve; in all three channels,
at one distance for the whole band. Distances and blurs are tried out, the light is solved for. What a shadow can do,
which is the floor's own colour made darker, counts less than the rest. The spread comes from how fast the sum of
squares rises to both sides, so a faint or confused edge says so by itself.
"""
from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from capture.image.edge_profiles import STEP_PX, Array, light_on

#: Distances that are tried first lie so far apart, px.
_ROUGH_PX = 0.5
#: Blurs that are tried, one standard deviation, px: from a sharp picture to one hardly good enough.
BLURS_PX = (0.7, 0.85, 1.0, 1.2, 1.45, 1.75, 2.1, 2.5)
#: What a change along the floor's own colour weighs beside any other change.
_SHADOW_WEIGHT = 0.35
#: Noise of a stored picture is alike over so many px each way.
_NOISE_PX = 1.6


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Step:
    """off_px: how far beyond the spots the step lies; sd_px: of noise alone; change: (3,) light of the far side less
    that of the near."""

    off_px: float
    sd_px: float
    change: Array


def find_steps(pixels: NDArray[np.uint8], bands: list[tuple[Array, Array]], reach_px: float) -> list[Step | None]:
    """The step on each band of cuts, (spots (m, 2), unit vectors across (m, 2)), one blur for all; None where there is
    none within reach.

    A step far from the middle of its cuts is seen a little nearer to it than it is, so each is looked at again with
    cuts about it.
    """
    looks = [_Look(pixels, spots, ways, reach_px, np.arange(1.0 - reach_px, reach_px - 0.9, _ROUGH_PX))
             for spots, ways in bands]
    costs = np.array([[look.costs(blur) for blur in BLURS_PX] for look in looks])
    noise = np.array([look.noise(cost.min()) for look, cost in zip(looks, costs)])
    best = int(np.argmin(np.sum(costs.min(axis=2) / noise[:, None], axis=0)))
    found: list[Step | None] = []
    for (spots, ways), look, cost in zip(bands, looks, costs[:, best]):
        rough = look.step(cost)
        if rough is None:
            found.append(None)
            continue
        again = _Look(pixels, spots + rough.off_px * ways, ways, reach_px, np.arange(-1.5, 1.6, STEP_PX))
        fine = again.step(again.costs(BLURS_PX[best]))
        found.append(None if fine is None else replace(fine, off_px=rough.off_px + fine.off_px))
    return found


class _Look:
    """One band, looked at. tried: (e,) the distances to try, evenly spaced, px."""

    def __init__(self, pixels: NDArray[np.uint8], spots: Array, ways: Array, reach_px: float, tried: Array) -> None:
        self.tried, self.at = tried, np.arange(-reach_px, reach_px + STEP_PX / 2, STEP_PX)
        light, _ = light_on(pixels, spots[:, None] + self.at[None, :, None] * ways[:, None])
        ground = np.median(light[:, self.at > reach_px / 2], axis=(0, 1))
        own = ground / max(float(np.linalg.norm(ground)), 1e-9)
        seen = light @ (np.eye(3) - (1.0 - _SHADOW_WEIGHT) * np.outer(own, own))
        along = np.linspace(-1.0, 1.0, len(spots))
        self.light, self.count = light, len(spots)
        # Cuts lie evenly, so what changes along the band and what does not are solved for apart.
        self.flat = seen.mean(axis=0) * np.sqrt(len(spots))
        self.tilted = np.einsum("m,msc->sc", along, seen) / np.linalg.norm(along)
        self.whole = float(np.sum(seen**2))
        apart = float(np.median(np.hypot(*np.diff(spots, axis=0).T)))
        self.alike = (_NOISE_PX / STEP_PX) * max(1.0, _NOISE_PX / max(apart, 1e-3))

    def costs(self, blur: float) -> Array:
        """(e,) sums of squares left with the step at each distance tried."""
        share = self.at / self.at[-1]
        far = ndtr((self.at[None] - self.tried[:, None]) / blur)
        near = 1.0 - far
        both = np.stack([near, near * share, far, far * share], axis=2)
        return np.asarray(self.whole - _explained(both, self.flat) - _explained(both[..., ::2], self.tilted),
                          dtype=np.float64)

    def noise(self, cost: float) -> float:
        """Variance of one sample about the best fit."""
        return max(cost, 1e-9) / (3 * self.count * len(self.at))

    def step(self, cost: Array) -> Step | None:
        """The distance of least squares, by a parabola through the least three, and its spread."""
        k = int(np.argmin(cost))
        if not 0 < k < len(cost) - 1:
            return None
        bend = cost[k - 1] - 2 * cost[k] + cost[k + 1]
        if bend <= 0:
            return None
        apart = self.tried[1] - self.tried[0]
        off = self.tried[k] + 0.5 * apart * (cost[k - 1] - cost[k + 1]) / bend
        rise = bend / apart**2 / 2
        sd = float(np.sqrt(self.noise(cost[k]) * self.alike / rise))
        middle = self.light.mean(axis=0)
        change = middle[self.at > off + 1].mean(axis=0) - middle[self.at < off - 1].mean(axis=0)
        return Step(off_px=float(off), sd_px=sd, change=change)


def _explained(columns: Array, seen: Array) -> Array:
    """(e,) sums of squares of `seen` (s, c) that each set of columns (e, s, p) explains."""
    normal = np.einsum("esp,esq->epq", columns, columns) + 1e-9 * np.eye(columns.shape[2])
    known = np.einsum("esp,sc->epc", columns, seen)
    return np.asarray(np.einsum("epc,epc->e", known, np.linalg.solve(normal, known)), dtype=np.float64)
