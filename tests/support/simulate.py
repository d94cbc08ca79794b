"""Invented rooms, cameras and readings with known truth, drawn from a seed: what the capture benches and tests measure
against.

Rooms: rectangle, L, alcove, chimney breast, bay, each a little out of square. Cameras stand inside the room at eye
height and see a corner only if it lies in the picture and no wall is in between. Readings carry Gaussian errors of the
stated sd.
"""
from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from capture.adjustment.least_squares import assess
from capture.camera import project
from capture.readings.state import State
from capture.adjustment.parameter_index import index_network
from capture.network import (
    PRINT_SD, SHEET_SD_MM, Camera, Mark, Network, Photo, SquareCorner, TapeLength, TargetMark, TargetSighting, WallLine)
from capture.adjustment.floor_prior import is_simple
from capture.readings.photo import Marks

#: Printed targets: how well their corners are found, and the shortest diagonal that is found at all, px; of the order
#: of the demo photos.
TARGET_SD_PX, _LEAST_TARGET_PX = 0.3, 16.0

#: Every corner of a drawn room is off its place by this much, one standard deviation along each axis, mm.
OUT_OF_SQUARE_MM = 15.0

SHAPES = ("rectangle", "L", "alcove", "chimney", "bay")


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Case:
    """One drawn survey: true corners (n, 2) in the network's outline order, true poses, and the readings taken."""

    shape: str
    corners: np.ndarray
    names: tuple[str, ...]
    rotations: np.ndarray
    shifts: np.ndarray
    focal_px: float
    bend: tuple[float, float]
    centres: np.ndarray
    sheets: np.ndarray
    network: Network


def draw_room(rng: np.random.Generator, shape: str) -> np.ndarray:
    """(n, 2) corners, anticlockwise, mm; every corner moved by some 15 mm so that nothing is square."""
    w, d = rng.uniform(2500, 6500), rng.uniform(2300, 5000)
    a, b, c = rng.uniform(0.25, 0.45), rng.uniform(0.55, 0.75), rng.uniform(300, 600)
    rings = {
        "rectangle": [(0, 0), (w, 0), (w, d), (0, d)],
        "L": [(0, 0), (w, 0), (w, d * a), (w * b, d * a), (w * b, d), (0, d)],
        "alcove": [(0, 0), (w, 0), (w, d), (w * b, d), (w * b, d + c), (w * a, d + c), (w * a, d), (0, d)],
        "chimney": [(0, 0), (w, 0), (w, d), (w * b, d), (w * b, d - c), (w * a, d - c), (w * a, d), (0, d)],
        "bay": [(0, 0), (w, 0), (w, d), (w * b, d), (w * b - c, d + c), (w * a + c * 0.6, d + c), (w * a, d), (0, d)],
    }
    ring = np.array(rings[shape], dtype=float) + rng.normal(0, OUT_OF_SQUARE_MM, (len(rings[shape]), 2))
    # A bay drawn too narrow for its slants crosses itself: not a room.
    return ring if is_simple(ring) else draw_room(rng, shape)


def draw_cross(rng: np.random.Generator) -> np.ndarray:
    """(12, 2) corners of a cross-shaped room, anticlockwise, mm, out of square by some 15 mm."""
    w, d, e, f = rng.uniform(2200, 3400), rng.uniform(2000, 3000), rng.uniform(700, 1500, 2), rng.uniform(700, 1500, 2)
    x0, x1, y0, y1 = 0.0, w, 0.0, d
    ring = [(x0 - e[0], y0), (x0, y0), (x0, y0 - f[0]), (x1, y0 - f[0]), (x1, y0), (x1 + e[1], y0),
            (x1 + e[1], y1), (x1, y1), (x1, y1 + f[1]), (x0, y1 + f[1]), (x0, y1), (x0 - e[0], y1)]
    return np.array(ring) + rng.normal(0, OUT_OF_SQUARE_MM, (12, 2))


def draw_case(rng: np.random.Generator, *, shape: str | None = None, **wishes) -> Case:
    """A survey of a drawn room; for the wishes see `survey_room`."""
    shape = shape or str(rng.choice(SHAPES))
    return survey_room(rng, draw_room(rng, shape), shape, **wishes)


def survey_room(rng: np.random.Generator, ring: np.ndarray, shape: str, *, photos: int, mark_sd: float = 2.0,
                tape_sd: float = 2.0, diagonals: int = 2, squares: bool = False, walls_left_out: int = 0,
                see_through: bool = False, focal_sd: float = 0.03, roll_sd: float = 0.05, lines: bool = True,
                targets: int = 0) -> Case:
    """A survey of a room with `photos` pictures (1600 x 1200, 26 mm equivalent), all walls taped but some, and
    diagonals.

    lines: also two clicks on each wall that shows at one end; targets: so many printed squares, laid where most photos
    see them.
    """
    names = tuple("ABCDEFGHIJKLMNOP"[:len(ring)])
    focal, k1 = 1201.9 * float(np.exp(rng.normal(0, focal_sd))), float(rng.normal(0, 0.02))
    bend = (k1, float(rng.normal(0, 0.01)))
    poses, marks, wall_lines = [], [], []
    centres = np.array([799.5, 599.5]) + rng.normal(0, 0.005 * 1600, (photos, 2))
    for number in range(photos):
        lens = (focal, bend, centres[number])
        pose = _draw_pose(rng, ring, lens, see_through, roll_sd)
        poses.append(pose)
        px, seen = _seen(ring, *pose, lens, see_through)
        for i in np.flatnonzero(seen):
            x, y = px[i] + rng.normal(0, mark_sd, 2)
            marks.append(Mark(photo=f"{number}", point=names[i], x_px=float(x), y_px=float(y), sd_px=mark_sd,
                              where=f"photos[{number}]"))
        if lines:
            wall_lines += _draw_lines(rng, ring, names, seen, pose, lens, mark_sd, str(number), see_through)
    lenses = [(focal, bend, centre) for centre in centres]
    sheets, target_marks = _lay_targets(rng, ring, poses, lenses, targets)
    network = Network(outline=names, cameras=(Camera(name="c", width_px=1600, height_px=1200, focal_px=1201.9,
                                                     focal_sd=focal_sd, k1=0.0, k1_sd=0.02, k2_sd=0.01),)
                      if photos else (), photos=tuple(Photo(name=str(k), camera="c") for k in range(photos)),
                      marks=tuple(marks), wall_lines=tuple(wall_lines), target_marks=target_marks,
                      tapes=_draw_tapes(rng, ring, names, tape_sd, diagonals, walls_left_out),
                      squares=tuple(_believed_square(ring, names, k) for k in (1, 2)) if squares else ())
    return Case(shape=shape, corners=ring, names=names, rotations=np.array([p[0] for p in poses]).reshape(-1, 3, 3),
                shifts=np.array([p[1] for p in poses]).reshape(-1, 3), focal_px=focal, bend=bend, centres=centres,
                sheets=sheets, network=network)


def _believed_square(ring, names, k) -> SquareCorner:
    """The belief that a corner drawn square is square, as far as that is true of rooms drawn here: some half degree
    for walls of 3 m."""
    before, after = (np.hypot(*(ring[j % len(ring)] - ring[k])) for j in (k - 1, k + 1))
    return SquareCorner(corner=names[k], sd_rad=float(OUT_OF_SQUARE_MM * np.sqrt(2.0)
                                                      * np.hypot(1.0 / before, 1.0 / after)))


def draw_determined(rng: np.random.Generator, **wishes) -> Case:
    """Cases drawn until one fixes its floor to better than 40 mm (judged at the truth)."""
    while True:
        case = draw_case(rng, **wishes)
        if is_determined(case):
            return case


def is_determined(case: Case, sd_mm: float = 40.0) -> bool:
    """Whether the readings fix every point of the floor, by the covariance at the truth."""
    ix = index_network(case.network)
    if len(ix.names) > len(case.corners) or (len(ix.photo_names)
                                             and np.bincount(ix.of(Marks).photo[:len(case.network.marks)],
                                                             minlength=len(ix.photo_names)).min() < 2):
        return False
    precision = assess(ix, truth_state(case))
    loose = precision.loose[:ix.point_columns]
    return not (loose.size and np.abs(loose).max()
                > 1e-6) and np.sqrt(np.diag(precision.cov)[:ix.point_columns].max()) < sd_mm


def truth_state(case: Case) -> State:
    """The truth as a state of the adjustment, in its gauge."""
    cameras = len(case.network.cameras)
    return State(points_mm=np.vstack([case.corners, case.sheets.reshape(-1, 2)]), rotations=case.rotations,
                 shifts_mm=case.shifts, centres_px=case.centres, log_focal=np.full(cameras, np.log(case.focal_px)),
                 distortion=np.tile(case.bend, (cameras, 1)),
                 tape_error=np.zeros(2 if case.network.tape_error else 0)).in_gauge(0, 1)


def aligned_rms_mm(found: np.ndarray, truth: np.ndarray) -> float:
    """Root mean square corner distance after the best turn and shift (no scaling, no mirror); Kabsch 1976."""
    a, b = found - found.mean(axis=0), truth - truth.mean(axis=0)
    angle = np.arctan2(np.sum(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]), np.sum(a * b))
    spin = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return float(np.sqrt(np.mean(np.sum((a @ spin.T - b) ** 2, axis=1))))


def _draw_pose(rng, ring, lens, see_through, roll_sd) -> tuple[np.ndarray, np.ndarray]:
    """A camera inside the room that sees at least three corners (two if none of many tries does better)."""
    best, most = None, -1
    for _ in range(60):
        eye = np.array([*_inside_point(rng, ring), rng.uniform(1350, 1700)])
        target = np.append(ring.mean(axis=0) + rng.normal(0, 900, 2), 0.0)
        pose = look_at(eye, target, float(rng.normal(0, roll_sd)))
        count = int(np.sum(_seen(ring, *pose, lens, see_through)[1]))
        if count > most:
            best, most = pose, count
        if count >= 4 or (count >= 3 and rng.uniform() < 0.3):
            return pose
    return best


def look_at(eye: np.ndarray, target: np.ndarray, roll_rad: float) -> tuple[np.ndarray, np.ndarray]:
    """(3, 3) rotation and (3,) shift of a camera at `eye` looking at `target` (plan x, y up z), rolled."""
    ahead = (target - eye) / np.linalg.norm(target - eye)
    right = np.cross(ahead, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    down = np.cross(ahead, right)
    c, s = np.cos(roll_rad), np.sin(roll_rad)
    rotation = np.stack([c * right + s * down, -s * right + c * down, ahead])
    return rotation, -rotation @ eye


def _inside_point(rng, ring) -> np.ndarray:
    """A point near a wall inside the room."""
    while True:
        point = rng.uniform(ring.min(axis=0), ring.max(axis=0))
        if _inside(ring, point):
            away = (point - ring.mean(axis=0)) / (np.ptp(ring, axis=0) / 2)
            if np.max(np.abs(away)) > 0.6:
                return point


def _seen(ring, rotation, shift, lens, see_through) -> tuple[np.ndarray, np.ndarray]:
    count = len(ring)
    px = project(ring, np.tile(rotation, (count, 1, 1)), np.tile(shift, (count, 1)), np.full(count, lens[0]),
                 np.tile(lens[1], (count, 1)), lens[2])
    inside = np.all(np.isfinite(px), axis=1) & np.all((px > 0) & (px < [1599, 1199]), axis=1)
    eye = (-rotation.T @ shift)[:2]
    clear = np.array([see_through or _clear(ring, eye, i) for i in range(count)])
    return px, inside & clear


def _draw_lines(rng, ring, names, seen, pose, lens, sd, photo, see_through) -> list[WallLine]:
    """Two clicks on the line of each wall that shows at just one of its corners."""
    lines = []
    for i in range(len(ring)):
        j = (i + 1) % len(ring)
        if seen[i] != seen[j]:
            near, far = (ring[i], ring[j]) if seen[i] else (ring[j], ring[i])
            spots = np.array([near + share * (far - near) for share in (0.2, 0.35)])
            px, shown = _seen(spots, *pose, lens, True)
            eye = (-pose[0].T @ pose[1])[:2]
            if shown.all() and (see_through or all(_clear_spot(ring, eye, s, i) for s in spots)):
                clicks = px + rng.normal(0, sd, px.shape)
                lines.append(WallLine(photo=photo, wall=(names[i], names[j]),
                                      points_px=tuple(map(tuple, clicks.tolist())), sd_px=sd))
    return lines


def _lay_targets(rng, ring, poses, lenses, count) -> tuple[np.ndarray, tuple[TargetMark, ...]]:
    """Corners (t, 4, 2) of the targets that at least one photo sees, and their sightings."""
    printed = float(np.exp(rng.normal(0, PRINT_SD))) if count else 1.0
    marks, sheets = [], []
    for _ in range(count):
        tries = [target_at(rng, ring, 150.0 * printed) for _ in range(40)]
        seen = [[k for k, (pose, lens) in enumerate(zip(poses, lenses))
                 if target_seen(ring, sheet, pose, lens) is not None] for sheet in tries]
        best = max(range(len(tries)), key=lambda i: len(seen[i]))
        sheet = tries[best] + rng.normal(0, SHEET_SD_MM / 2, (4, 2))
        sightings = [(k, target_seen(ring, sheet, poses[k], lenses[k])) for k in seen[best]]
        for k, px in sightings:
            if px is not None:
                spots = px + rng.normal(0, TARGET_SD_PX, (4, 2))
                marks.append(TargetMark(photo=str(k),
                                        seen=TargetSighting(number=len(sheets),
                                                            corners_px=tuple(map(tuple, spots.tolist())),
                                                            sd_px=TARGET_SD_PX)))
        if any(px is not None for _, px in sightings):
            sheets.append(sheet)
    return np.array(sheets).reshape(-1, 4, 2), tuple(marks)


def target_at(rng, ring, side) -> np.ndarray:
    """(4, 2) corners of a printed square somewhere on the floor, clockwise seen from above."""
    while True:
        middle = rng.uniform(ring.min(axis=0), ring.max(axis=0))
        turn = np.exp(1j * rng.uniform(0, 2 * np.pi))
        corners = side / 2 * turn * np.array([-1 + 1j, 1 + 1j, 1 - 1j, -1 - 1j]) + complex(*middle)
        spots = np.column_stack([corners.real, corners.imag])
        if all(_inside(ring, middle + 2.0 * (spot - middle)) for spot in spots):
            return spots


def target_seen(ring, sheet, pose, lens) -> np.ndarray | None:
    """(4, 2) px of a target that a photo shows large enough to be found."""
    px, shown = _seen(sheet, *pose, lens, True)
    eye = (-pose[0].T @ pose[1])[:2]
    if not shown.all() or not all(_clear_spot(ring, eye, spot, -1) for spot in sheet):
        return None
    diagonals = np.hypot(*(px[[2, 3]] - px[[0, 1]]).T)
    return px if diagonals.min() >= _LEAST_TARGET_PX else None


def _draw_tapes(rng, ring, names, sd, diagonals, left_out) -> tuple[TapeLength, ...]:
    count = len(ring)
    walls = [(i, (i + 1) % count) for i in range(count)]
    for _ in range(left_out):
        walls.pop(int(rng.integers(len(walls))))
    across = [(i, j) for i, j in combinations(range(count), 2) if (j - i) % count not in (1, count - 1)
              and in_sight(ring, i, j)]
    rng.shuffle(across)
    return tuple(TapeLength(a=names[i], b=names[j], sd_mm=sd, where=f"tape[{n}]",
                            length_mm=float(np.hypot(*(ring[i] - ring[j])) + rng.normal(0, sd)))
                 for n, (i, j) in enumerate(walls + across[:diagonals]))


def _cross(p, q, a, b) -> bool:
    def side(o, d, z):
        return (d[0] - o[0]) * (z[1] - o[1]) - (d[1] - o[1]) * (z[0] - o[0])
    return side(p, q, a) * side(p, q, b) < 0 and side(a, b, p) * side(a, b, q) < 0


def _clear(ring, eye, corner) -> bool:
    count = len(ring)
    return not any(_cross(eye, ring[corner], ring[k], ring[(k + 1) % count]) for k in range(count)
                   if corner not in (k, (k + 1) % count))


def _clear_spot(ring, eye, spot, wall) -> bool:
    count = len(ring)
    return not any(_cross(eye, spot, ring[k], ring[(k + 1) % count]) for k in range(count) if k != wall)


def in_sight(ring, i, j) -> bool:
    count = len(ring)
    blocked = any(_cross(ring[i], ring[j], ring[k], ring[(k + 1) % count]) for k in range(count)
                  if not {i, j} & {k, (k + 1) % count})
    return not blocked and _inside(ring, (ring[i] + ring[j]) / 2)


def _inside(ring, point) -> bool:
    ahead = np.roll(ring, -1, axis=0)
    spans = (ring[:, 1] > point[1]) != (ahead[:, 1] > point[1])
    with np.errstate(divide="ignore", invalid="ignore"):
        x = ring[:, 0] + (point[1] - ring[:, 1]) * (ahead[:, 0] - ring[:, 0]) / (ahead[:, 1] - ring[:, 1])
    return bool(np.sum(spans & (point[0] < x)) % 2)
