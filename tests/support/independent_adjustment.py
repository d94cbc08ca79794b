"""An adjustment of a drawn survey by another road: SciPy's trust region on a camera model written anew, from the truth.

Written from the description of the readings alone; of capture it uses nothing but the network's fields. Camera: pinhole
with two radial coefficients (the usual model of photogrammetry; Kraus, Photogrammetry, 2007, ch. 3, from memory);
derivatives are SciPy's finite differences. Only marks, clicks on wall lines and tapes are known here: what drawn
surveys without targets and beliefs hold.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation
from scipy.stats import chi2

from capture.network import Network
from tests.support.simulate import Case


@dataclass(frozen=True, slots=True, kw_only=True)
class Adjusted:
    """Sum of squared standardised residuals at the minimum, the degrees of freedom, and, where a point Z was added,
    how well its place against the corner it doubles is known: the larger standard deviation, mm."""

    cost: float
    freedom: int
    apart_sd_mm: float = 0.0

    def passes(self, alpha: float = 0.001) -> bool:
        """Whether chi-square does not reject the model."""
        return self.cost <= float(chi2.ppf(1.0 - alpha, max(self.freedom, 1)))


def adjust(network: Network, case: Case, *, quick: bool = False) -> Adjusted:
    """The minimum next to the truth. quick: with few steps, where only a bound matters."""
    points = sorted({m.point for m in network.marks} | {p for t in network.tapes for p in (t.a, t.b)}
                    | {p for w in network.wall_lines for p in w.wall})
    photos = [p.name for p in network.photos]
    model = _Model(network, points, photos, case)
    found = least_squares(model.residuals, model.start(), x_scale=model.scale(), loss="linear", method="trf",
                          max_nfev=8 if quick else 30)
    free = len(found.fun) - (len(found.x) - 3)
    return Adjusted(cost=float(2 * found.cost), freedom=free, apart_sd_mm=model.apart(found.jac))


class _Model:
    """Unknowns: points, then of each photo a rotation vector, a shift and a centre, then log f, k1, k2."""

    def __init__(self, network: Network, points: list[str], photos: list[str], case: Case) -> None:
        self.case, self.points, self.photos = case, points, photos
        self.doubled = network.outline[network.outline.index("Z") - 1] if "Z" in network.outline else ""
        self.mark = [(photos.index(m.photo), points.index(m.point), m.sd_px) for m in network.marks]
        self.mark_px = np.array([(m.x_px, m.y_px) for m in network.marks]).reshape(-1, 2)
        lines = [(photos.index(w.photo), points.index(w.wall[0]), points.index(w.wall[1]), w.sd_px, px)
                 for w in network.wall_lines for px in w.points_px]
        self.line = np.array([one[:3] for one in lines], dtype=int).reshape(-1, 3)
        self.line_sd = np.array([one[3] for one in lines])
        self.line_px = np.array([one[4] for one in lines]).reshape(-1, 2)
        self.tape = np.array([(points.index(t.a), points.index(t.b)) for t in network.tapes], dtype=int).reshape(-1, 2)
        self.tape_mm = np.array([t.length_mm for t in network.tapes])
        self.tape_sd = np.array([t.sd_mm for t in network.tapes])
        self.camera = network.cameras[0]
        self.middle = np.array([(self.camera.width_px - 1) / 2, (self.camera.height_px - 1) / 2])

    def start(self) -> np.ndarray:
        case = self.case
        spots = [case.corners[case.names.index(self.doubled if name == "Z" else name)] for name in self.points]
        poses = []
        for name in self.photos:
            k = int(name)
            poses.append(np.concatenate([Rotation.from_matrix(case.rotations[k]).as_rotvec(), case.shifts[k],
                                         case.centres[k]]))
        return np.concatenate([np.ravel(spots), *poses, [np.log(case.focal_px), *case.bend]])

    def apart(self, jac: np.ndarray) -> float:
        """See `Adjusted.apart_sd_mm`; the free shift and turn of all drop out of a difference of two points."""
        if "Z" not in self.points:
            return 0.0
        cov = np.linalg.pinv(jac.T @ jac, rcond=1e-12)
        pick = np.zeros((2, jac.shape[1]))
        for name, sign in (("Z", 1.0), (self.doubled, -1.0)):
            k = 2 * self.points.index(name)
            pick[0, k], pick[1, k + 1] = sign, sign
        return float(np.sqrt(np.linalg.eigvalsh(pick @ cov @ pick.T)[-1]))

    def scale(self) -> np.ndarray:
        return np.concatenate([np.full(2 * len(self.points), 100.0),
                               *[np.array([0.05] * 3 + [100.0] * 3 + [8.0] * 2)] * len(self.photos),
                               [0.03, 0.02, 0.01]])

    def residuals(self, x: np.ndarray) -> np.ndarray:
        n = 2 * len(self.points)
        spots, poses, lens = x[:n].reshape(-1, 2), x[n:n + 8 * len(self.photos)].reshape(-1, 8), x[-3:]
        matrices = Rotation.from_rotvec(poses[:, :3]).as_matrix()

        def seen(photo: np.ndarray, at: np.ndarray) -> np.ndarray:
            flat = np.column_stack([at, np.zeros(len(at))])
            body = np.einsum("kij,kj->ki", matrices[photo], flat) + poses[photo, 3:6]
            depth = np.where(body[:, 2] > 1.0, body[:, 2], 1.0)
            plane = body[:, :2] / depth[:, None]
            plane = np.where((body[:, 2] > 1.0)[:, None], plane, 50.0)
            r2 = np.minimum(np.sum(plane**2, axis=1), 4.0)
            return np.exp(lens[0]) * plane * (1 + lens[1] * r2 + lens[2] * r2**2)[:, None] + poses[photo, 6:]

        mark = np.array(self.mark).reshape(-1, 3)
        gap = (self.mark_px - seen(mark[:, 0].astype(int), spots[mark[:, 1].astype(int)])) / mark[:, 2:]
        length = np.hypot(*(spots[self.tape[:, 0]] - spots[self.tape[:, 1]]).T)
        camera = self.camera
        prior = np.concatenate([[(lens[0] - np.log(camera.focal_px)) / camera.focal_sd,
                                 (lens[1] - camera.k1) / camera.k1_sd, (lens[2] - camera.k2) / camera.k2_sd],
                                ((poses[:, 6:] - self.middle) / (camera.centre_sd * camera.width_px)).ravel()])
        return np.concatenate([gap.ravel(), self._across(seen, spots), (self.tape_mm - length) / self.tape_sd, prior])

    def _across(self, seen, spots: np.ndarray) -> np.ndarray:
        """Clicks off their wall's line in the picture: nearest of the line drawn as a fine chain."""
        if not len(self.line):
            return np.zeros(0)
        share = np.linspace(-0.05, 1.05, 12)
        a, b = spots[self.line[:, 1]], spots[self.line[:, 2]]
        chain = a[:, None] + share[:, None] * (b - a)[:, None]
        px = seen(np.repeat(self.line[:, 0], len(share)), chain.reshape(-1, 2)).reshape(len(a), len(share), 2)
        step, off = np.diff(px, axis=1), self.line_px[:, None] - px[:, :-1]
        size = np.maximum(np.sum(step**2, axis=2), 1e-9)
        along = np.clip(np.sum(step * off, axis=2) / size, 0.0, 1.0)
        gap = off - along[..., None] * step
        best = np.argmin(np.sum(gap**2, axis=2), axis=1)
        line = np.arange(len(a))
        way = step[line, best]
        normal = np.column_stack([-way[:, 1], way[:, 0]]) / np.maximum(np.hypot(*way.T), 1e-9)[:, None]
        return np.sum(normal * off[line, best], axis=1) / self.line_sd
