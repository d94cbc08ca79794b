"""Readings in photos: marks of points, and clicks on the floor line of a wall.

A click is compared with the projected wall line at its nearest place, along the line's normal in the picture: the place
along the wall is eliminated there (its own derivative vanishes at the foot), so a click is one line.
"""
from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from math import log, sqrt
from typing import ClassVar, Self

import numpy as np

from capture.camera import project, project_with_jacobian, px_to_rays
from capture.network import Network
from capture.readings.findings import Contradicted, Finding, MarkOff
from capture.readings.geometry import floor_points
from capture.readings.indexed import Array, Indexed, Ints, Label, Names, Readings, floats, ints
from capture.readings.state import LENS, POSE, State

#: Rotation, shift, focal length, distortion and lens centre of the photo of each line.
Optics = tuple[Array, Array, Array, Array, Array]

#: Root of the chi-square quantile with 2 degrees of freedom at 0.999, a plain logarithm: a mark farther off is none
#: of that point.
CRITICAL_2D = sqrt(-2.0 * log(0.001))
#: A click farther off than this share of the picture's width was not a click gone astray; our own choice, no source.
_FAR_OFF = 0.05
#: Marks spread this many standard deviations across the line that suits them best are off it beyond doubt.
_BROAD = 20.0
#: How far off a mark counts whose point its camera cannot see, px along each axis.
_UNSEEN_PX = 3000.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Marks(Readings):
    """Points seen in photos, 2 lines each: a click is one reading, the four corners of a target in a photo are one
    together.

    photo, point (k,); px (k, 2); sd (k,); reading: the reading each mark belongs to (k,). Clicks come first.
    A mark whose point its camera cannot see has a large fixed residual and no derivative.
    """

    units: ClassVar[Mapping[str, str]] = {"mark": "px", "target": "px"}
    # 1 in 100 clicks is a slip, which may be anywhere in a picture of 1600 x 1200 px: our own guess, no source.
    slip_cost: ClassVar[float] = 32.0
    taken: ClassVar[bool] = True

    photo: Ints
    point: Ints
    px: Array
    sd: Array
    reading: Ints

    @classmethod
    def read(cls, network: Network, names: Names) -> Self:
        clicks, sheets = network.marks, network.target_marks
        corners = [(m, i) for m in sheets for i in range(4)]
        return cls(labels=(*(Label(kind="mark", names=(m.point,), photo=m.photo, sd=m.sd_px, where=m.where)
                             for m in clicks), *(Label(kind="target", names=(f"T{m.seen.number}",), photo=m.photo,
                                                       sd=m.seen.sd_px) for m in sheets)),
                   photo=ints([names.photo(m.photo, m.where) for m in clicks]
                              + [names.photo(m.photo, m.photo) for m, _ in corners]),
                   point=ints([names.point(m.point, m.where) for m in clicks]
                              + [len(names.names) + 4 * names.targets.index(m.seen.number) + i for m, i in corners]),
                   px=floats([(m.x_px, m.y_px) for m in clicks] + [m.seen.corners_px[i] for m, i in corners], 2),
                   sd=floats([m.sd_px for m in clicks] + [m.seen.sd_px for m, _ in corners]),
                   reading=ints([*range(len(clicks)), *(len(clicks) + k // 4 for k in range(len(corners)))]))

    @classmethod
    def points(cls, network: Network) -> Iterable[tuple[str, str]]:
        return ((m.point, m.where) for m in network.marks)

    def groups(self) -> Ints:
        return np.repeat(self.reading, 2)

    def tell_left_from_right(self) -> bool:
        """Whether a photo shows which way round points lie whichever one of its marks is wrong: a camera over the floor
        sees a triangle run round as it does, so that no mirror image of the floor fits three marks off a line."""
        return any(_is_broad(self.px[mine], self.sd[mine]) for photo in np.unique(self.photo)
                   for mine in [np.flatnonzero(self.photo == photo)])

    def without(self, k: int) -> Self:
        kept = np.flatnonzero(self.reading != k)
        return replace(self, labels=self.labels[:k] + self.labels[k + 1:], photo=self.photo[kept],
                       point=self.point[kept], px=self.px[kept], sd=self.sd[kept],
                       reading=self.reading[kept] - (self.reading[kept] > k))

    def finding(self, ix: Indexed, state: State, cov: Array, k: int) -> Finding:
        if self.labels[k].kind != "mark":
            return Contradicted()
        photo, count = int(self.photo[k]), len(ix.names)
        camera = ix.photo_camera[photo]
        seen = project(state.points_mm[:count], np.broadcast_to(state.rotations[photo], (count, 3, 3)),
                       np.broadcast_to(state.shifts_mm[photo], (count, 3)),
                       np.full(count, np.exp(state.log_focal[camera])),
                       np.broadcast_to(state.distortion[camera], (count, 2)), state.centres_px[photo])
        gap = np.hypot(*(seen - self.px[k]).T)
        mine, near = int(self.point[k]), int(np.argmin(gap))
        there = near != mine and gap[near] < max(4.0 * CRITICAL_2D * self.labels[k].sd, 10.0)
        off, width = float(gap[mine]), 2.0 * float(ix.photo_centre[photo][0])
        return MarkOff(off_px=off if np.isfinite(off) else None, at=ix.names[near] if there else "",
                       strange=not there and not off < _FAR_OFF * width and not self._checked_without(ix, photo))

    def _checked_without(self, ix: Indexed, photo: int) -> bool:
        """Whether a photo less one of its marks still has more lines than its pose has unknowns."""
        return 2 * (int(np.sum(self.photo == photo)) - 1) + int(np.sum(ix.of(WallClicks).photo == photo)) > 6

    def equations(self, ix: Indexed, state: State) -> tuple[Array, Array]:
        k = len(self.photo)
        jac = ix.blank(state, 2 * k)
        px, by_point, by_pose, by_lens = project_with_jacobian(state.points_mm[..., self.point, :],
                                                               *_optics(ix, state, self.photo))
        by_centre = np.tile(np.eye(2), (*px.shape[:-1], 1, 1))
        px = _where_unseen(px, self.px, by_point, by_pose, by_centre, by_lens)
        for axis in (0, 1):
            line = 2 * np.arange(k) + axis
            jac[..., line[:, None], 2 * self.point[:, None] + np.arange(2)] = by_point[..., axis, :]
            _place(ix, jac, line, self.photo, by_pose[..., axis, :], by_centre[..., axis, :], by_lens[..., axis, :])
        sd = np.repeat(self.sd, 2)
        return (self.px - px).reshape(*px.shape[:-2], 2 * k) / sd, jac / sd[:, None]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class WallClicks(Readings):
    """Clicks somewhere on the floor line of a wall: photo (k,), wall (k, 2) points, px (k, 2), sd (k,)."""

    units: ClassVar[Mapping[str, str]] = {"edge": "px"}
    slip_cost: ClassVar[float] = 21.0
    taken: ClassVar[bool] = True

    photo: Ints
    wall: Ints
    px: Array
    sd: Array

    @classmethod
    def read(cls, network: Network, names: Names) -> Self:
        clicks = [(line, px) for line in network.wall_lines for px in line.points_px]
        return cls(labels=tuple(Label(kind="edge", names=line.wall, photo=line.photo, sd=line.sd_px, where=line.where)
                                for line, _ in clicks),
                   photo=ints([names.photo(line.photo, line.where) for line, _ in clicks]),
                   wall=ints([[names.point(w, line.where) for w in line.wall] for line, _ in clicks], 2),
                   px=floats([px for _, px in clicks], 2), sd=floats([line.sd_px for line, _ in clicks]))

    def equations(self, ix: Indexed, state: State) -> tuple[Array, Array]:
        k = len(self.photo)
        jac = ix.blank(state, k)
        optics = _optics(ix, state, self.photo)
        start, end = state.points_mm[..., self.wall[:, 0], :], state.points_mm[..., self.wall[:, 1], :]
        share = self._nearest_share(optics, start, end)
        foot = start + share[..., None] * (end - start)
        px, by_point, by_pose, by_lens = project_with_jacobian(foot, *optics)
        by_centre = np.tile(np.eye(2), (*px.shape[:-1], 1, 1))
        px = _where_unseen(px, self.px, by_point, by_pose, by_centre, by_lens)
        along = np.einsum("...ij,...j->...i", by_point, end - start)
        normal = np.stack([-along[..., 1], along[..., 0]], axis=-1) / np.maximum(np.hypot(along[..., 0], along[..., 1]),
                                                                                 1e-12)[..., None]
        by_foot = np.einsum("...i,...ij->...j", normal, by_point)
        line = np.arange(k)
        for column, weight in ((0, 1.0 - share), (1, share)):
            jac[..., line[:, None], 2 * self.wall[:, column, None] + np.arange(2)] = weight[..., None] * by_foot
        _place(ix, jac, line, self.photo, *(np.einsum("...i,...ij->...j", normal, slope)
                                            for slope in (by_pose, by_centre, by_lens)))
        return np.sum(normal * (self.px - px), axis=-1) / self.sd, jac / self.sd[:, None]

    def _nearest_share(self, optics: Optics, start: Array, end: Array) -> Array:
        """Place along each wall line (0 at its first corner, 1 at its second) whose picture is nearest the click."""
        rotation, shift, focal, distortion, centre = optics
        place = floor_points(px_to_rays(self.px, focal, distortion, centre), rotation, shift)
        wall = end - start
        size = np.maximum(np.sum(wall**2, axis=-1), 1e-9)
        share = np.clip(np.sum((place - start) * wall, axis=-1) / size, -5.0, 6.0)
        # One step suffices: the residual across a line that is straight but for distortion hardly depends on the place
        # along it.
        px, by_point, _, _ = project_with_jacobian(start + share[..., None] * wall, *optics)
        along = np.einsum("...ij,...j->...i", by_point, wall)
        size = np.maximum(np.einsum("...i,...i->...", along, along), 1e-12)
        step = np.einsum("...i,...i->...", along, np.where(np.isfinite(px), self.px - px, 0.0)) / size
        return share + np.clip(step, -0.5, 0.5)


def _is_broad(px: Array, sd: Array) -> bool:
    """Whether marks (n, 2) lie far off a line, whichever one of them is left out."""
    if len(px) < 4:
        return False
    rest = [np.delete(px, k, axis=0) for k in range(len(px))]
    across = [np.linalg.svd(some - some.mean(axis=0), compute_uv=False)[1] for some in rest]
    return min(across) > _BROAD * float(sd.max())


def _optics(ix: Indexed, state: State, photo: Ints) -> Optics:
    camera = ix.photo_camera[photo]
    return (state.rotations[..., photo, :, :], state.shifts_mm[..., photo, :], np.exp(state.log_focal[..., camera]),
            state.distortion[..., camera, :], state.centres_px[..., photo, :])


def _place(ix: Indexed, jac: Array, line: Ints, photo: Ints, by_pose: Array, by_centre: Array, by_lens: Array) -> None:
    """Write the pose, lens centre and lens derivatives of each line into their columns."""
    pose = ix.point_columns + POSE * photo
    lens = ix.lens_column + LENS * ix.photo_camera[photo]
    jac[..., line[:, None], pose[:, None] + np.arange(6)] = by_pose
    jac[..., line[:, None], pose[:, None] + np.arange(6, POSE)] = by_centre
    jac[..., line[:, None], lens[:, None] + np.arange(LENS)] = by_lens


def _where_unseen(px: Array, observed_px: Array, *derivatives: Array) -> Array:
    """Pixels in which a point the camera cannot see is far from its mark by a fixed amount, with no derivative.

    A mark that names a corner behind its camera is then a wild reading like any other: it can be found and left out.
    """
    unseen = ~np.isfinite(px[..., 0])
    for derivative in derivatives:
        derivative[unseen] = 0.0
    return np.where(unseen[..., None], observed_px - _UNSEEN_PX, px)
