"""Where a camera stood over a flat rectangle of known size, and what each px of its picture is worth on the floor.

Floor frame: mm, the reference's middle at (0, 0), x along its long side, y across, z up from the floor. Photo px and
camera as in `capture.camera`. Unknowns: turn and move of the camera, log f, k1, k2 and the lens's centre, each with
what is known beforehand; and beside them what the reference may be off: its two sides, one px shift a side (paint,
shadow, thickness of ink), and at which height of a thick reference its visible edge lies: on sides turned away from the
camera the upper one, on others anywhere between. Observations: places on the four sides, each by its distance across
the side. Least squares, Gauss-Newton with Marquardt's damping. A flat thing seen from far off looks much the same
tilted the other way; if both fit, the difference of the two counts as doubt. Not done: rolling shutter, tangential
distortion, a floor that is not flat.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from capture.image.edge_profiles import Array, Bools
from capture.closeup.reference_objects import Reference
from capture.camera import camera_to_px, project_with_jacobian, px_to_rays, rotation_matrix
from capture.network import Camera

#: Rotation, shift, all parameters but turn and move, and which sides' rims are seen from aside.
State = tuple[Array, Array, Array, Bools]
#: Parameters of a view: turn (3), move (3), log f, k1, k2, centre x and y; then the reference's own.
VIEW, _SIZES, _SHIFTS, _HEIGHTS = 11, slice(11, 13), slice(13, 17), slice(17, 21)
_ALL = 21
#: An edge may lie beside where it is seen, px: all four sides alike (the stored picture spreads colour farther than
#: light, and not evenly), and each for itself (soft shadows, rounded rims); more for a card, which may have any colour
#: and has a rim to throw a shadow. No source; measured on drawn pictures with known edges.
_ALL_SIDES_PX, _ONE_SIDE_PX = {"sheet": 0.15, "card": 0.22}, {"sheet": 0.10, "card": 0.14}
#: By what the spreads of a view over a card are too narrow all the same, most where the camera is straight above and
#: its rims can hardly be told. Here and not in the spreads above, which also decide what fits. No source; measured on
#: 131 drawn cards (807 places traced: errors 1.15 times the spreads, 88 % of 95 % intervals held).
_CARD_WIDER = 1.2
#: A thing this thick has a rim to speak of; from an eye no farther than this from straight above a side, its rim may be
#: seen or not, mm.
_THICK_MM, _NEARLY_ABOVE_MM = 0.3, 60.0
#: No other rims make a fit of this misfit one that counts (`reference_detection` refuses from 9 on).
_HOPELESS = 12.0
#: Half width of a 95 % interval in standard deviations.
Z95 = 1.959963984540054


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Seen:
    """What was seen of a reference: places (n, 2) on its sides, the number (n,) of the side each belongs to (the first
    and third are long), unit vectors (n, 2) across it in the picture, and their spread (n,), px."""

    places_px: Array
    side: np.ndarray
    across: Array
    sd_px: Array


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class View:
    """A camera over a floor. cov: (11, 11) of turn, move, log f, k1, k2, centre. misfit: root mean square of whitened
    residuals.

    other: the view that tilts the other way, if it fits nearly as well.
    """

    reference: Reference
    rotation: Array
    shift_mm: Array
    focal_px: float
    bend: Array
    centre_px: Array
    cov: Array
    misfit: float
    cost: float
    residual_px: Array
    sides_mm: Array
    sides_cov: Array
    size_px: tuple[int, int]
    other: View | None = None

    @property
    def eye_mm(self) -> Array:
        """(3,) where the camera stood."""
        return -self.rotation.T @ self.shift_mm

    @property
    def tilt_rad(self) -> float:
        """How far from square the camera looks down on the reference."""
        up = self.eye_mm / float(np.linalg.norm(self.eye_mm))
        return float(np.arccos(np.clip(up[2], -1.0, 1.0)))

    def to_floor(self, px: Array, height_mm: float = 0.0) -> Array:
        """(k, 2) mm of (k, 2) px of things `height_mm` above the floor; nan where the picture does not see that
        plane."""
        rays = px_to_rays(px, np.full(len(px), self.focal_px), self.bend, self.centre_px) @ self.rotation
        eye = self.eye_mm
        with np.errstate(divide="ignore", invalid="ignore"):
            far = (height_mm - eye[2]) / rays[:, 2]
        far[~(far > 0)] = np.nan
        return eye[:2] + far[:, None] * rays[:, :2]

    def to_px(self, floor_mm: Array, height_mm: float = 0.0) -> Array:
        """(k, 2) px of (k, 2) places `height_mm` above the floor; inf where the camera cannot see."""
        body = floor_mm @ self.rotation[:, :2].T + self._lifted(height_mm)
        return camera_to_px(body, np.full(len(body), self.focal_px), self.bend, self.centre_px)

    def slopes(self, floor_mm: Array, height_mm: float = 0.0) -> tuple[Array, Array]:
        """(k, 2, 2) mm a px at places on a plane, and (k, 2, 11) mm by the view's parameters, px held."""
        count = len(floor_mm)
        _, by_point, by_pose, by_lens = project_with_jacobian(floor_mm, np.broadcast_to(self.rotation, (count, 3, 3)),
                                                              np.broadcast_to(self._lifted(height_mm), (count, 3)),
                                                              np.full(count, self.focal_px), self.bend, self.centre_px)
        by_px = np.linalg.inv(by_point)
        by_view = np.concatenate([by_pose, by_lens, np.broadcast_to(np.eye(2), (count, 2, 2))], axis=2)
        return np.asarray(by_px, dtype=np.float64), np.asarray(-by_px @ by_view, dtype=np.float64)

    def covariance(self, floor_mm: Array, height_mm: float = 0.0) -> Array:
        """(2k, 2k) covariance in mm2 that the view alone gives to places (k, 2): order x0 y0 x1 y1 ..."""
        _, by_view = self.slopes(floor_mm, height_mm)
        flat = by_view.reshape(-1, VIEW)
        cov = flat @ self.cov @ flat.T
        if self.other is not None:
            px = self.to_px(floor_mm, height_mm)
            apart = (self.other.to_floor(px, height_mm) - floor_mm).reshape(-1)
            cov = cov + 0.25 * np.outer(apart, apart)
        return cov

    def parallax_mm(self, floor_mm: Array, height_mm: float) -> Array:
        """(k, 2) how far things at places (k, 2) seem to lie if they stand `height_mm` above the floor and are taken
        to lie on it."""
        return self.to_floor(self.to_px(floor_mm, height_mm)) - floor_mm

    def _lifted(self, height_mm: float) -> Array:
        return self.shift_mm + height_mm * self.rotation[:, 2]


def solve_view(seen: Seen, corners_px: Array, reference: Reference, camera: Camera, *,
               free_shape: bool = False) -> View:
    """The view of least squares. corners_px: (4, 2) rough corners in order round the reference, anticlockwise as the
    floor is seen from above, the first side a long one. free_shape: the short side is unknown, as when it is asked what
    shape a thing has.
    """
    model = _Model(seen, reference, camera, free_shape)
    fits = [model.settled(start) for start in model.starts(corners_px)]
    best, *others = sorted(fits, key=_cost)
    other = next((fit for fit in others if fit[1] < best[1] + 9.0 and _angle(fit[0][0], best[0][0]) > 0.01), None)
    view = model.view(*best)
    if other is None:
        return view
    return model.view(*best, other=model.view(*other))


def _cost(fit: tuple[State, float]) -> float:
    return fit[1]


def _angle(a: Array, b: Array) -> float:
    return float(np.linalg.norm(a - b))


def lens_oddness(view: View, camera: Camera) -> float:
    """Sum of squares, in standard deviations, of what a view says of its lens less what is known of the camera
    beforehand."""
    known, sd = _lens_known(camera)
    off = (np.array([np.log(view.focal_px), *view.bend, *view.centre_px]) - known) / sd
    return float(off @ off)


def _lens_known(camera: Camera) -> tuple[Array, Array]:
    """(5,) log f, k1, k2 and centre as known beforehand, and how well."""
    centre_sd = camera.centre_sd * max(camera.width_px, camera.height_px)
    known = [np.log(camera.focal_px), camera.k1, camera.k2, (camera.width_px - 1.0) / 2.0,
             (camera.height_px - 1.0) / 2.0]
    return np.array(known), np.array([camera.focal_sd, camera.k1_sd, camera.k2_sd, centre_sd, centre_sd])


class _Model:
    """The equations of one picture of one reference. x of a state holds all parameters but turn and move."""

    def __init__(self, seen: Seen, reference: Reference, camera: Camera, free_shape: bool) -> None:
        self.seen, self.reference, self.camera, self.free_shape = seen, reference, camera, free_shape
        self.redundancy = max(len(seen.side) - 6, 1)
        self.prior, self.sd = np.zeros(_ALL), np.full(_ALL, np.inf)
        self.prior[6:11], self.sd[6:11] = _lens_known(camera)
        self.sd[_SIZES] = reference.side_sd_mm
        if free_shape:
            self.sd[12] = 0.5 * reference.sides_mm[1]
        kind = "card" if reference.radius_mm else "sheet"
        shifts = _ONE_SIDE_PX[kind] ** 2 * np.eye(4) + _ALL_SIDES_PX[kind] ** 2
        self.shift_root = np.asarray(np.linalg.inv(np.linalg.cholesky(shifts)), dtype=np.float64)
        half = np.array(reference.sides_mm) / 2
        # Anticlockwise from above: bottom (long), right, top (long), left.
        self.out = np.array([[0.0, -1.0], [1.0, 0.0], [0.0, 1.0], [-1.0, 0.0]])
        self.half = np.array([half[1], half[0], half[1], half[0]])
        self.size_of = np.array([1, 0, 1, 0])

    def starts(self, corners_px: Array) -> list[State]:
        """The pose the four corners give with the lens as known beforehand, and the one tilted the other way about
        the line of sight."""
        w, h = np.array(self.reference.sides_mm) / 2
        corners = np.array([[-w, -h], [w, -h], [w, h], [-w, h]])
        flat = px_to_rays(corners_px, np.full(4, np.exp(self.prior[6])), self.prior[7:9], self.prior[9:11])[:, :2]
        rotation, shift = _pose_of(_homography(corners, flat))
        sight = shift / np.linalg.norm(shift)
        normal = rotation[:, 2]
        mirrored = 2.0 * (normal @ sight) * sight - normal
        axis = np.cross(normal, mirrored)
        angle = np.arctan2(np.linalg.norm(axis), normal @ mirrored)
        turn = rotation_matrix(axis / max(float(np.linalg.norm(axis)), 1e-12) * angle)
        x = self.prior.copy()
        rims = self._beyond(rotation, shift) > 0
        x[_HEIGHTS], _ = self._heights(rims)
        return [(rotation, shift, x, rims), (turn @ rotation, shift, x.copy(), rims)]

    def settled(self, start: State) -> tuple[State, float]:
        """The minimum reached from a start, or from it with other rims seen: which are, is all or nothing, and a
        first pose may have it wrong."""
        best = self.minimise(start)
        worth_it = self.reference.thick_mm >= _THICK_MM and best[1] <= _HOPELESS**2 * self.redundancy
        for _ in range(4 if worth_it else 0):
            rotation, shift, x, rims = best[0]
            unsure = np.flatnonzero(np.abs(self._beyond(rotation, shift)) <= _NEARLY_ABOVE_MM)
            tried = [self.minimise((rotation, shift, x, rims ^ (np.arange(4) == side))) for side in unsure]
            better = min(tried, key=_cost, default=best)
            if better[1] >= best[1] - 1e-3:
                break
            best = better
        return best

    def _beyond(self, rotation: Array, shift: Array) -> Array:
        """(4,) how far beyond each side the camera stands: from there its rim is seen."""
        eye = -rotation.T @ shift
        return np.asarray(self.out @ eye[:2] - self.half, dtype=np.float64)

    def _heights(self, rims: Bools) -> tuple[Array, Array]:
        """(4,) at which height the visible edge of each side lies, and how sure that is: the rim itself is worth a
        tenth of a mm."""
        thick = self.reference.thick_mm
        # A rim turned to the camera is nearly as light as the face above it, so the edge is seen near its foot.
        return np.where(rims, thick / 4, thick), np.where(rims, max(thick / 5, 1e-3), max(thick / 40, 1e-3))

    def equations(self, rotation: Array, shift: Array, x: Array, rims: Bools) -> tuple[Array, Array]:
        """Whitened residuals (observed - computed) and Jacobian (of the computed) at a state, priors below the
        observations."""
        seen, side = self.seen, self.seen.side
        height, height_sd = self._heights(rims)
        lifted = shift + x[_HEIGHTS][side, None] * rotation[:, 2]
        count, focal, bend, centre = len(side), np.exp(x[6]), x[7:9], x[9:11]
        half = self.half + x[_SIZES][self.size_of] / 2
        foot = self._feet(rotation, lifted, x, half)
        px, by_point, by_pose, by_lens = project_with_jacobian(
            foot, np.broadcast_to(rotation, (count, 3, 3)), lifted, np.full(count, focal), bend, centre)
        weight = 1.0 / seen.sd_px
        residual = np.einsum("ki,ki->k", seen.across, seen.places_px - px) - x[_SHIFTS][side]
        jac = np.zeros((count, _ALL))
        jac[:, :6] = np.einsum("ki,kij->kj", seen.across, by_pose)
        jac[:, 6:9] = np.einsum("ki,kij->kj", seen.across, by_lens)
        jac[:, 9:11] = seen.across
        jac[np.arange(count), 11 + self.size_of[side]] = np.einsum("ki,kij,kj->k", seen.across, by_point,
                                                                   self.out[side]) / 2
        jac[np.arange(count), 13 + side] = 1.0
        jac[np.arange(count), 17 + side] = np.einsum("ki,kij,j->k", seen.across, by_pose[:, :, 3:], rotation[:, 2])
        sd, prior = self.sd.copy(), self.prior.copy()
        sd[_HEIGHTS], prior[_HEIGHTS] = height_sd, height
        known = np.flatnonzero(np.isfinite(sd))
        below = np.zeros((len(known), _ALL))
        below[np.arange(len(known)), known] = 1.0 / sd[known]
        shifts = np.zeros((4, _ALL))
        shifts[:, _SHIFTS] = self.shift_root
        return (np.concatenate([residual * weight, (prior - x)[known] / sd[known], -self.shift_root @ x[_SHIFTS]]),
                np.concatenate([jac * weight[:, None], below, shifts]))

    def _feet(self, rotation: Array, lifted: Array, x: Array, half: Array) -> Array:
        """(n, 2) the places on the reference's sides nearest to what was seen."""
        side = self.seen.side
        rays = px_to_rays(self.seen.places_px, np.full(len(side), np.exp(x[6])), x[7:9], x[9:11]) @ rotation
        eye = -lifted @ rotation
        far = -eye[:, 2] / np.where(np.abs(rays[:, 2]) < 1e-9, -1e-9, rays[:, 2])
        at = eye[:, :2] + far[:, None] * rays[:, :2]
        out = self.out[side]
        return at - (np.einsum("ki,ki->k", at, out) - half[side])[:, None] * out

    def minimise(self, start: State, iterations: int = 40) -> tuple[State, float]:
        """The minimum reached from a start, and its cost."""
        state, damping = start, 1e-4
        residual, jac = self.equations(*state)
        cost = float(residual @ residual) if np.all(np.isfinite(residual)) else np.inf
        if not np.isfinite(cost):
            return state, np.inf
        for _ in range(iterations):
            normal = jac.T @ jac
            damped = normal + damping * np.diag(np.diag(normal)) + 1e-12 * np.eye(_ALL)
            step = np.asarray(np.linalg.solve(damped, jac.T @ residual), dtype=np.float64)
            moved = _moved(state, step)
            new_residual, new_jac = self.equations(*moved)
            new_cost = float(new_residual @ new_residual) if np.all(np.isfinite(new_residual)) else np.inf
            if np.isfinite(new_cost) and new_cost <= cost:
                done = cost - new_cost < 1e-7 * (1.0 + cost)
                state, residual, jac, cost, damping = moved, new_residual, new_jac, new_cost, max(damping / 8, 1e-12)
                if done:
                    break
            else:
                damping *= 6.0
                if damping > 1e8:
                    break
        return state, cost

    def view(self, state: State, cost: float, other: View | None = None) -> View:
        """The view at a minimum. If it fits worse than the spreads allow, all of them are widened, and a card's
        always."""
        rotation, shift, x, _ = state
        residual, jac = self.equations(*state)
        count = len(self.seen.side)
        misfit = float(np.sqrt(cost / self.redundancy)) if np.isfinite(cost) else np.inf
        wider = _CARD_WIDER if self.reference.radius_mm else 1.0
        cov = (
            np.asarray(np.linalg.inv(jac.T @ jac + 1e-14 * np.eye(_ALL)), dtype=np.float64)
            * max(1.0, misfit**2)
            * wider**2
        )
        return View(reference=self.reference, rotation=rotation, shift_mm=shift, focal_px=float(np.exp(x[6])),
                    bend=x[7:9].copy(), centre_px=x[9:11].copy(), cov=cov[:VIEW, :VIEW], misfit=misfit, cost=cost,
                    residual_px=residual[:count] * self.seen.sd_px, sides_mm=np.array(self.reference.sides_mm)
                    + x[_SIZES], sides_cov=cov[_SIZES, _SIZES], size_px=(self.camera.width_px, self.camera.height_px),
                    other=other)


def _moved(state: State, step: Array) -> State:
    rotation, shift, x, rims = state
    turn = rotation_matrix(step[:3])
    new = x.copy()
    # A trial step of the focal length beyond a factor of two means nothing, and must not overflow.
    new[6:] += np.clip(step[6:], -np.array([0.7, *np.full(_ALL - 7, 1e3)]), np.array([0.7, *np.full(_ALL - 7, 1e3)]))
    return turn @ rotation, turn @ shift + step[3:6], new, rims


def _homography(floor: Array, flat: Array) -> Array:
    """(3, 3) from floor to the camera's plane z = 1 by four points (direct linear transform: Hartley & Zisserman,
    ch. 4, from memory)."""
    scale = float(np.max(np.abs(floor)))
    lines = []
    for (x, y), (u, v) in zip(floor / scale, flat):
        lines += [[x, y, 1, 0, 0, 0, -u * x, -u * y, -u], [0, 0, 0, x, y, 1, -v * x, -v * y, -v]]
    h = np.linalg.svd(np.array(lines))[2][-1].reshape(3, 3)
    return h @ np.diag([1 / scale, 1 / scale, 1.0])


def _pose_of(h: Array) -> tuple[Array, Array]:
    """Rotation and shift of the camera nearest to a homography of the floor: its first two columns made square
    (Zhang 2000, from memory)."""
    h = h / np.sqrt(np.linalg.norm(h[:, 0]) * np.linalg.norm(h[:, 1]))
    h = h if h[2, 2] > 0 else -h
    left, _, right = np.linalg.svd(h[:, :2], full_matrices=False)
    flat = left @ right
    return np.column_stack([flat, np.cross(flat[:, 0], flat[:, 1])]), h[:, 2]
