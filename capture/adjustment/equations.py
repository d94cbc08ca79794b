"""Observation equations: residuals (observed - computed) and derivatives of the computed value, divided by each sd.

One line per scalar reading in the order of `indexed.py`. Derivatives are analytic.
A wall-line click is compared with the projected wall line at its nearest place, along the line's normal in the picture:
the place along the wall is eliminated there (its own derivative vanishes at the foot), so a click is one line.
Shapes are told for one floor; any axes before them are alternatives worked out together, much faster than one by one.
"""
from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from capture.camera import project_with_slopes, px_to_rays, turn_matrix
from capture.adjustment.parameter_index import LENS, POSE, Indexed, Ints
from capture.network import PRINT_SD, SHEET_SD_MM

Array = NDArray[np.float64]
#: Rotation, shift, focal length, bend and lens centre of the photo of each line.
Optics = tuple[Array, Array, Array, Array, Array]

#: How far off a mark counts whose point its camera cannot see, px along each axis.
_UNSEEN_PX = 3000.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class State:
    """Values of all parameters: points (n, 2) mm, rotations (m, 3, 3), shifts (m, 3) mm, lens centres (m, 2) px, log
    focal (c,), bend (c, 2) with k1 and k2, and the tape's own scale and hook error (2,), mm for the hook; (0,) where
    these are no unknowns."""

    points_mm: Array
    rotations: Array
    shifts_mm: Array
    centres_px: Array
    log_focal: Array
    bend: Array
    tape_error: Array

    def moved(self, step: Array) -> State:
        """The state after a step in all parameters (see `camera.project_with_slopes` for the pose step)."""
        many, m, c = step.shape[:-1], self.rotations.shape[-3], self.log_focal.shape[-1]
        n = 2 * self.points_mm.shape[-2]
        end = n + POSE * m + LENS * c
        pose, lens = (
            step[..., n : n + POSE * m].reshape(*many, m, POSE),
            step[..., n + POSE * m : end].reshape(*many, c, LENS),
        )
        turn = turn_matrix(pose[..., :3])
        return State(points_mm=self.points_mm + step[..., :n].reshape(*many, -1, 2), rotations=turn @ self.rotations,
                     shifts_mm=np.einsum("...ij,...j->...i", turn, self.shifts_mm) + pose[..., 3:6],
                     centres_px=self.centres_px + pose[..., 6:], log_focal=self.log_focal + lens[..., 0],
                     bend=self.bend + lens[..., 1:], tape_error=self.tape_error + step[..., end:])

    def eye_heights(self) -> Array:
        """(m,) height of each camera above the floor, mm; negative below it."""
        return -np.einsum("...i,...i->...", self.rotations[..., 2], self.shifts_mm)

    def seen_from_above(self) -> State:
        """The mirror image: a floor seen from below looks the same as its mirror image seen from above."""
        turned = self.rotations * np.array([1.0, -1.0, -1.0])
        return replace(self, points_mm=self.points_mm * np.array([1.0, -1.0]), rotations=turned)

    def in_gauge(self, origin: int, along: int) -> State:
        """The same floor turned and shifted: point `origin` at (0, 0), point `along` on +x."""
        base = self.points_mm[..., origin, :]
        dx, dy = np.moveaxis(self.points_mm[..., along, :] - base, -1, 0)
        size = np.hypot(dx, dy)
        whole = np.zeros((*size.shape, 3, 3))
        whole[..., 0, 0] = whole[..., 1, 1] = np.where(size > 0, dx / np.where(size > 0, size, 1.0), 1.0)
        whole[..., 0, 1] = dy / np.where(size > 0, size, 1.0)
        whole[..., 1, 0], whole[..., 2, 2] = -whole[..., 0, 1], 1.0
        back = np.swapaxes(whole, -1, -2)
        return replace(self, points_mm=(self.points_mm - base[..., None, :]) @ back[..., :2, :2],
                       rotations=self.rotations @ back[..., None, :, :], shifts_mm=self.shifts_mm
                       + np.einsum("...mij,...j->...mi", self.rotations[..., :2], base))


def equations(ix: Indexed, state: State) -> tuple[Array, Array]:
    """Whitened residuals (l,) and whitened Jacobian of the computed values (l, columns).

    A mark whose point its camera cannot see has a large fixed residual and no slope.
    """
    kinds = ((_marks, ix.mark_photo), (_clicks, ix.click_photo), (_tapes, ix.tape_mm), (_offsets, ix.offset_mm),
             (_squares, ix.square_sd), (_on_walls, ix.on_sd), (_papers, ix.paper_mm), (_sheets, ix.target_numbers),
             (_sizes, ix.target_numbers), (_lenses, ix.lens_focal), (_centres, ix.photo_centre_sd),
             (_tape_errors, ix.tape_error_sd))
    parts = [lines(ix, state) for lines, readings in kinds if len(readings)] or [(np.zeros(0),
                                                                                  np.zeros((0, ix.columns)))]
    return np.concatenate([r for r, _ in parts], axis=-1), np.concatenate([j for _, j in parts], axis=-2)


def residuals(ix: Indexed, state: State) -> Array:
    """Whitened residuals (l,) only."""
    return equations(ix, state)[0]


def _optics(ix: Indexed, state: State, photo: Ints) -> Optics:
    camera = ix.photo_camera[photo]
    return (state.rotations[..., photo, :, :], state.shifts_mm[..., photo, :], np.exp(state.log_focal[..., camera]),
            state.bend[..., camera, :], state.centres_px[..., photo, :])


def _blank(state: State, lines: int, ix: Indexed) -> Array:
    return np.zeros((*state.points_mm.shape[:-2], lines, ix.columns))


def _place(ix: Indexed, jac: Array, line: Ints, photo: Ints, by_pose: Array, by_centre: Array, by_lens: Array) -> None:
    """Write the pose, lens centre and lens derivatives of each line into their columns."""
    pose = ix.point_columns + POSE * photo
    lens = ix.lens_column + LENS * ix.photo_camera[photo]
    jac[..., line[:, None], pose[:, None] + np.arange(6)] = by_pose
    jac[..., line[:, None], pose[:, None] + np.arange(6, POSE)] = by_centre
    jac[..., line[:, None], lens[:, None] + np.arange(LENS)] = by_lens


def _marks(ix: Indexed, state: State) -> tuple[Array, Array]:
    k = len(ix.mark_photo)
    jac = _blank(state, 2 * k, ix)
    px, by_point, by_pose, by_lens = project_with_slopes(state.points_mm[..., ix.mark_point, :],
                                                         *_optics(ix, state, ix.mark_photo))
    by_centre = np.tile(np.eye(2), (*px.shape[:-1], 1, 1))
    px = _where_unseen(px, ix.mark_px, by_point, by_pose, by_centre, by_lens)
    for axis in (0, 1):
        line = 2 * np.arange(k) + axis
        jac[..., line[:, None], 2 * ix.mark_point[:, None] + np.arange(2)] = by_point[..., axis, :]
        _place(ix, jac, line, ix.mark_photo, by_pose[..., axis, :], by_centre[..., axis, :], by_lens[..., axis, :])
    sd = np.repeat(ix.mark_sd, 2)
    return (ix.mark_px - px).reshape(*px.shape[:-2], 2 * k) / sd, jac / sd[:, None]


def _clicks(ix: Indexed, state: State) -> tuple[Array, Array]:
    k = len(ix.click_photo)
    jac = _blank(state, k, ix)
    optics = _optics(ix, state, ix.click_photo)
    start, end = state.points_mm[..., ix.click_wall[:, 0], :], state.points_mm[..., ix.click_wall[:, 1], :]
    share = _nearest_share(ix, state, optics, start, end)
    foot = start + share[..., None] * (end - start)
    px, by_point, by_pose, by_lens = project_with_slopes(foot, *optics)
    by_centre = np.tile(np.eye(2), (*px.shape[:-1], 1, 1))
    px = _where_unseen(px, ix.click_px, by_point, by_pose, by_centre, by_lens)
    along = np.einsum("...ij,...j->...i", by_point, end - start)
    normal = np.stack([-along[..., 1], along[..., 0]], axis=-1) / np.maximum(np.hypot(along[..., 0], along[..., 1]),
                                                                             1e-12)[..., None]
    by_foot = np.einsum("...i,...ij->...j", normal, by_point)
    line = np.arange(k)
    for column, weight in ((0, 1.0 - share), (1, share)):
        jac[..., line[:, None], 2 * ix.click_wall[:, column, None] + np.arange(2)] = weight[..., None] * by_foot
    _place(ix, jac, line, ix.click_photo, *(np.einsum("...i,...ij->...j", normal, slope)
                                            for slope in (by_pose, by_centre, by_lens)))
    return np.sum(normal * (ix.click_px - px), axis=-1) / ix.click_sd, jac / ix.click_sd[:, None]


def _where_unseen(px: Array, observed_px: Array, *slopes: Array) -> Array:
    """Pixels in which a point the camera cannot see is far from its mark by a fixed amount, with no slope.

    A mark that names a corner behind its camera is then a wild reading like any other: it can be found and left out.
    """
    unseen = ~np.isfinite(px[..., 0])
    for slope in slopes:
        slope[unseen] = 0.0
    return np.where(unseen[..., None], observed_px - _UNSEEN_PX, px)


def _nearest_share(ix: Indexed, state: State, optics: Optics, start: Array, end: Array) -> Array:
    """Place along each wall line (0 at its first corner, 1 at its second) whose picture is nearest the click."""
    rotation, shift, focal, bend, centre = optics
    place = floor_points(px_to_rays(ix.click_px, focal, bend, centre), rotation, shift)
    wall = end - start
    size = np.maximum(np.sum(wall**2, axis=-1), 1e-9)
    share = np.clip(np.sum((place - start) * wall, axis=-1) / size, -5.0, 6.0)
    # One step suffices: the residual across a line that is straight but for the lens's bend hardly depends on the place
    # along it.
    px, by_point, _, _ = project_with_slopes(start + share[..., None] * wall, *optics)
    along = np.einsum("...ij,...j->...i", by_point, wall)
    size = np.maximum(np.einsum("...i,...i->...", along, along), 1e-12)
    step = np.einsum("...i,...i->...", along, np.where(np.isfinite(px), ix.click_px - px, 0.0)) / size
    return share + np.clip(step, -0.5, 0.5)


def floor_points(rays: Array, rotation: Array, shift_mm: Array) -> Array:
    """(k, 2) floor points, mm, where camera-frame rays (k, 3) meet the floor of poses (k, 3, 3), (k, 3).

    A ray along or above the horizon gives a far point in its direction rather than one behind the camera.
    """
    back = np.einsum("...ji,...j->...i", rotation, rays)
    eye = -np.einsum("...ji,...j->...i", rotation, shift_mm)
    side = np.where(eye[..., 2] < 0, -1.0, 1.0)
    down = np.minimum(back[..., 2] * side, -1e-3) * side
    return eye[..., :2] - back[..., :2] * (eye[..., 2] / down)[..., None]


def _lengths(ix: Indexed, state: State, ends: Ints) -> tuple[Array, Array]:
    """Distances (k,) between pairs of points (k, 2) and their slopes (k, columns)."""
    k = len(ends)
    jac = _blank(state, k, ix)
    step = state.points_mm[..., ends[:, 1], :] - state.points_mm[..., ends[:, 0], :]
    length = np.hypot(step[..., 0], step[..., 1])
    unit = step / np.maximum(length, 1e-9)[..., None]
    for column, sign in ((0, -1.0), (1, 1.0)):
        jac[..., np.arange(k)[:, None], 2 * ends[:, column, None] + np.arange(2)] += sign * unit
    return length, jac


def _papers(ix: Indexed, state: State) -> tuple[Array, Array]:
    length, jac = _lengths(ix, state, ix.paper_ends)
    return (ix.paper_mm - length) / ix.paper_sd, jac / ix.paper_sd[:, None]


def _tapes(ix: Indexed, state: State) -> tuple[Array, Array]:
    length, jac = _lengths(ix, state, ix.tape_ends)
    read = _as_read(ix, state, length, jac)
    return (ix.tape_mm - read) / ix.tape_sd, jac / ix.tape_sd[:, None]


def _as_read(ix: Indexed, state: State, length: Array, jac: Array) -> Array:
    """(k,) true lengths as the tape reads them, with its own scale and hook; their slopes are put into (k, columns)
    `jac`."""
    if not state.tape_error.shape[-1]:
        return length
    scale, hook = state.tape_error[..., :1], state.tape_error[..., 1:]
    jac *= 1.0 + scale[..., None]
    jac[..., ix.tape_column], jac[..., ix.tape_column + 1] = length, 1.0
    return length * (1.0 + scale) + hook


def across(points: Array, ends: Ints) -> tuple[Array, Array]:
    """Signed distance of points from lines (left of a -> b positive), (k,), and derivatives (k, 3, 2) by point, a,
    b."""
    p, a, b = (points[..., ends[:, i], :] for i in range(3))
    wall = b - a
    length = np.maximum(np.hypot(wall[..., 0], wall[..., 1]), 1e-9)
    unit = wall / length[..., None]
    left = np.stack([-unit[..., 1], unit[..., 0]], axis=-1)
    share = np.sum((p - a) * unit, axis=-1) / length
    slopes = np.stack([left, -(1.0 - share)[..., None] * left, -share[..., None] * left], axis=-2)
    return np.sum((p - a) * left, axis=-1), slopes


def _offsets(ix: Indexed, state: State) -> tuple[Array, Array]:
    distance, slopes = across(state.points_mm, ix.offset_ends)
    turning = np.where(ring_area_mm2(state.points_mm[..., ix.outline, :]) < 0, -1.0, 1.0)[..., None]
    # A typed offset has no sign: off a wall of the outline it is into the room, off any other line it is where the
    # point lies.
    side = np.where(ix.offset_side != 0, ix.offset_side * turning, np.where(distance < 0, -1.0, 1.0))
    jac = _three_points(ix, ix.offset_ends, slopes * side[..., None, None])
    read = _as_read(ix, state, side * distance, jac)
    return (ix.offset_mm - read) / ix.offset_sd, jac / ix.offset_sd[:, None]


def _on_walls(ix: Indexed, state: State) -> tuple[Array, Array]:
    distance, slopes = across(state.points_mm, ix.on_ends)
    return -distance / ix.on_sd, _three_points(ix, ix.on_ends, slopes) / ix.on_sd[:, None]


def _squares(ix: Indexed, state: State) -> tuple[Array, Array]:
    before, corner, after = (state.points_mm[..., ix.square_ends[:, i], :] for i in range(3))
    back, ahead = before - corner, after - corner
    angle = np.arctan2(ahead[..., 0] * back[..., 1] - ahead[..., 1] * back[..., 0], np.sum(ahead * back, axis=-1))
    by_back = np.stack([-back[..., 1], back[..., 0]], axis=-1) / np.maximum(np.sum(back**2, axis=-1), 1e-9)[..., None]
    by_ahead = (
        np.stack([ahead[..., 1], -ahead[..., 0]], axis=-1) / np.maximum(np.sum(ahead**2, axis=-1), 1e-9)[..., None]
    )
    slopes = np.stack([by_back, -by_back - by_ahead, by_ahead], axis=-2)
    target = np.where(angle >= 0, np.pi / 2, -np.pi / 2)
    return (target - angle) / ix.square_sd, _three_points(ix, ix.square_ends, slopes) / ix.square_sd[:, None]


def _three_points(ix: Indexed, ends: Ints, slopes: Array) -> Array:
    """Jacobian lines that touch three points each."""
    jac = np.zeros((*slopes.shape[:-2], ix.columns))
    line = np.arange(len(ends))[:, None]
    for i in range(3):
        jac[..., line, 2 * ends[:, i, None] + np.arange(2)] += slopes[..., i, :]
    return jac


def _diagonals(ix: Indexed, state: State) -> tuple[Array, Array, Array, Array]:
    """Diagonals p, q (t, 2) of the targets and their lengths (t,), mm."""
    a, b, c, d = (state.points_mm[..., ix.target_points[:, i], :] for i in range(4))
    p, q = c - a, d - b
    return p, q, np.maximum(np.hypot(p[..., 0], p[..., 1]), 1e-6), np.maximum(np.hypot(q[..., 0], q[..., 1]), 1e-6)


def _by_corners(ix: Indexed, by_p: Array, by_q: Array) -> Array:
    """Jacobian lines (t, columns) of values that depend on the diagonals of a target alone."""
    jac = np.zeros((*by_p.shape[:-1], ix.columns))
    line = np.arange(len(ix.target_numbers))[:, None]
    for corner, slope in enumerate((-by_p, -by_q, by_p, by_q)):
        jac[..., line, 2 * ix.target_points[:, corner, None] + np.arange(2)] = slope
    return jac


def _sheets(ix: Indexed, state: State) -> tuple[Array, Array]:
    """Every target is a square: its diagonals halve one another (2 lines), are equally long and square to one another.

    Written so that the mirror image of a square is one too. Each line is scaled to move as far as one corner that is
    off.
    """
    p, q, long_p, long_q = _diagonals(ix, state)
    count, total = len(ix.target_numbers), long_p + long_q
    unit_p, unit_q = p / long_p[..., None], q / long_q[..., None]
    slant = np.sum(p * q, axis=-1) / total
    many = slant.shape[:-1]
    jac = np.zeros((*many, count, 4, ix.columns))
    for corner, sign in enumerate((0.5, -0.5, 0.5, -0.5)):
        for axis in (0, 1):
            jac[..., np.arange(count), axis, 2 * ix.target_points[:, corner] + axis] = sign
    jac[..., 2, :] = _by_corners(ix, unit_p / 2, -unit_q / 2)
    jac[..., 3, :] = _by_corners(ix, (q - slant[..., None] * unit_p) / total[..., None],
                                 (p - slant[..., None] * unit_q) / total[..., None])
    middle = np.einsum("...tci,c->...ti", state.points_mm[..., ix.target_points, :], np.array([0.5, -0.5, 0.5, -0.5]))
    computed = np.concatenate([middle, ((long_p - long_q) / 2)[..., None], slant[..., None]], axis=-1)
    return -computed.reshape(*many, 4 * count) / SHEET_SD_MM, jac.reshape(*many, 4 * count, ix.columns) / SHEET_SD_MM


def _sizes(ix: Indexed, state: State) -> tuple[Array, Array]:
    """The first target is as large as printed, but for the printer's scale; all others are as large as the first."""
    p, q, long_p, long_q = _diagonals(ix, state)
    side = (long_p + long_q) / np.sqrt(8.0)
    jac = _by_corners(ix, p / long_p[..., None] / np.sqrt(8.0), q / long_q[..., None] / np.sqrt(8.0))
    jac[..., 1:, :] -= jac[..., :1, :]
    gap = np.concatenate([ix.target_mm - side[..., :1], side[..., :1] - side[..., 1:]], axis=-1)
    sd = np.concatenate([[PRINT_SD * ix.target_mm], np.full(side.shape[-1] - 1, SHEET_SD_MM)])
    return gap / sd, jac / sd[:, None]


def _lenses(ix: Indexed, state: State) -> tuple[Array, Array]:
    """What is known of each lens beforehand, as readings of log f (its sd is the relative sd), k1 and k2."""
    sd = np.column_stack([ix.lens_focal_sd, ix.lens_bend_sd]).ravel()
    gap = np.concatenate([(np.log(ix.lens_focal) - state.log_focal)[..., None], ix.lens_bend - state.bend], axis=-1)
    return gap.reshape(*gap.shape[:-2], len(sd)) / sd, _prior_slopes(ix, state, ix.lens_column, sd)


def _centres(ix: Indexed, state: State) -> tuple[Array, Array]:
    """Each lens's axis passes through the middle of its picture, give or take."""
    sd = np.repeat(ix.photo_centre_sd, 2)
    jac = _blank(state, len(sd), ix)
    axes = np.arange(len(sd))
    jac[..., axes, ix.point_columns + POSE * (axes // 2) + 6 + axes % 2] = 1.0 / sd
    gap = ix.photo_centre - state.centres_px
    return gap.reshape(*gap.shape[:-2], len(sd)) / sd, jac


def _tape_errors(ix: Indexed, state: State) -> tuple[Array, Array]:
    """The tape is right by itself, give or take: readings 0 of its scale and hook error."""
    return -state.tape_error / ix.tape_error_sd, _prior_slopes(ix, state, ix.tape_column, ix.tape_error_sd)


def _prior_slopes(ix: Indexed, state: State, first: int, sd: Array) -> Array:
    jac = _blank(state, len(sd), ix)
    jac[..., np.arange(len(sd)), first + np.arange(len(sd))] = 1.0 / sd
    return jac


def ring_area_mm2(ring: Array) -> Array:
    """Signed area of a (k, 2) ring, anticlockwise positive."""
    ahead = np.roll(ring, -1, axis=-2)
    return 0.5 * np.sum(ring[..., 0] * ahead[..., 1] - ahead[..., 0] * ring[..., 1], axis=-1)
