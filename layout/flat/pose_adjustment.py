"""Where the rooms of a flat lie, from all doorways at once: least squares with the rooms' own uncertainty.

Readings: the corners of every room with the covariance of its survey; each door's distance from a corner of its wall
and its width; the wall's thickness in each doorway. Unknown: turn and shift of every room but the first, and of every
doorway its width and the thickness of its wall. Conditions of a doorway: the middle of the opening on one side faces
that on the other, a thickness away, and the two wall lines run opposite ways; the two widths, and the thickness that
was measured, are those of the one opening.

The mixed model A x + B v + w = 0 with v' Q^-1 v least (Mikhail & Ackermann, "Observations and Least Squares", 1976,
ch. 9, from memory), linearised anew at the adjusted readings. Data snooping: a reading's slip is its estimate in the
model with one unknown more, for that reading's error; divided by its sd it is Baarda's w. Lengths mm, angles radians;
a plan's (x, y) is x + iy.
"""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layout.region.joined_rooms import Passage, Placing, door_of
from layout.room import Room

Array = NDArray[np.float64]

#: A door is taped to this, mm (the tape's usual spread, as in the job).
TAPE_SD_MM = 2.0
#: How a wall is not as it is taken to be, one standard deviation each (estimates, no source; DIN 18202 allows 8 mm in
#: 3 m for angles and 10 mm in 4 m for flatness, and keeping such a limit takes about these): jambs are not square
#: through the wall, mm; its faces not straight from corner to corner, both together, mm; nor parallel, rad.
JAMB_SD_MM, FACE_SD_MM, PARALLEL_SD_RAD = 2.0, 3.0, 0.002
#: Of a reading that is left out.
_NO_READING_MM = 1e4
#: Readings of a doorway, in their order: what each room says of its door's place and width, the wall's thickness, and
#: how its jambs, faces and directions differ from what they are taken for, 0.
FROM, WIDTH, THICKNESS, JAMBS, FACES, PARALLEL, READINGS = 0, 2, 4, 5, 6, 7, 8
_CONDITIONS, _ROUNDS = 6, 12


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Poses:
    """Rooms where they lie best.

    placings: of every room. width_mm, thickness_mm: (d,) of every doorway, readings_mm: (d, READINGS) all its readings
    as adjusted, with their sds. cost: v' Q^-1 v; redundancy: degrees of freedom. slip_mm, slip_sd_mm: (d, READINGS)
    how far each reading is off what the others say, and the sd of that (inf where nothing else tells); angles in rad.
    """

    placings: Mapping[str, Placing]
    width_mm: Array
    width_sd_mm: Array
    thickness_mm: Array
    thickness_sd_mm: Array
    readings_mm: Array
    readings_sd_mm: Array
    cost: float
    redundancy: int
    slip_mm: Array
    slip_sd_mm: Array

    @property
    def w(self) -> Array:
        """(d, READINGS) Baarda's w of each reading; 0 for one that nothing checks."""
        return np.where(np.isfinite(self.slip_sd_mm), self.slip_mm / self.slip_sd_mm, 0.0)


def adjust_poses(rooms: Mapping[str, Room], passages: Sequence[Passage], near: Mapping[str, Placing], *,
                 covs: Mapping[str, Array] | None = None,
                 left_out: frozenset[tuple[int, int]] = frozenset()) -> Poses:
    """Adjust the rooms that doorways join; the first stays where it is.

    near: where the rooms lie roughly; covs: (2n, 2n) covariance of a room's outline, mm2, nothing for one taken as
    exact; left_out: (doorway, reading) of those that are not to count. Same arguments, same answer.
    """
    model = _Model(rooms, passages, covs or {}, left_out)
    unknown, adjusted = model.start(near), model.readings
    for _ in range(_ROUNDS):
        design, slopes, gap = model.linearised(unknown, adjusted)
        gap = gap + slopes @ (model.readings - adjusted)
        weight = np.asarray(np.linalg.inv(slopes @ model.spread @ slopes.T), dtype=np.float64)
        cofactor = np.asarray(np.linalg.inv(design.T @ weight @ design), dtype=np.float64)
        step = -cofactor @ (design.T @ weight @ gap)
        pull = -weight @ (design @ step + gap)
        unknown, adjusted = unknown + step, model.readings + model.spread @ slopes.T @ pull
        if np.abs(step).max(initial=0.0) < 1e-9:
            break
    across = weight - weight @ design @ cofactor @ design.T @ weight
    return _poses(model, unknown, adjusted, cofactor, slopes, pull, across)


class _Model:
    """Readings as one vector, the rooms' corners first, and their covariance; unknowns as one vector, poses first."""

    def __init__(self, rooms: Mapping[str, Room], passages: Sequence[Passage], covs: Mapping[str, Array],
                 left_out: frozenset[tuple[int, int]]) -> None:
        self.names = tuple(rooms)
        sizes = [2 * len(room.names) for room in rooms.values()]
        self.corner = dict(zip(rooms, np.concatenate([[0], np.cumsum(sizes)]).tolist()))
        self.first = sum(sizes)
        self.sides = [[_side(rooms[name], passage.doors[k], name) for k, name in enumerate(passage.rooms)]
                      for passage in passages]
        self.passages = passages
        sds = np.array([[TAPE_SD_MM] * THICKNESS + [passage.thickness_sd_mm, JAMB_SD_MM, FACE_SD_MM, PARALLEL_SD_RAD]
                        for passage in passages]).reshape(-1, READINGS)
        for doorway, reading in left_out:
            sds[doorway, reading] = _NO_READING_MM
        self.spread = np.zeros((self.first + sds.size,) * 2)
        for name, size in zip(rooms, sizes):
            at = self.corner[name]
            self.spread[at:at + size, at:at + size] = covs.get(name, np.zeros((size, size)))
        self.spread[range(self.first, len(self.spread)), range(self.first, len(self.spread))] = sds.ravel() ** 2
        told = [[*(side.from_mm for side in both), *(side.width_mm for side in both), passage.thickness_mm, 0.0, 0.0,
                 0.0] for both, passage in zip(self.sides, passages)]
        self.readings = np.concatenate([*(np.ravel(room.outline_mm) for room in rooms.values()), np.ravel(told)])

    def start(self, near: Mapping[str, Placing]) -> Array:
        """The unknowns as they are roughly."""
        first = near[self.names[0]]
        poses = [[near[name].heading_rad, *near[name].shift_mm.tolist()] for name in self.names[1:]]
        if first.heading_rad or np.any(first.shift_mm):
            raise ValueError("the first room is not where it is to stay")
        openings = [[sum(side.width_mm for side in both) / 2.0, passage.thickness_mm]
                    for both, passage in zip(self.sides, self.passages)]
        return np.concatenate([np.ravel(poses), np.ravel(openings)])

    def pose(self, unknown: Array, name: str) -> tuple[float, complex]:
        """(turn, shift) of a room."""
        k = 3 * self.names.index(name) - 3
        return (0.0, 0j) if k < 0 else (float(unknown[k]), complex(unknown[k + 1], unknown[k + 2]))

    def opening(self, doorway: int) -> int:
        """Where the unknown width of a doorway stands; its thickness is the next."""
        return 3 * len(self.names) - 3 + 2 * doorway

    def linearised(self, unknown: Array, readings: Array) -> tuple[Array, Array, Array]:
        """(A, B, the conditions' values) at these unknowns and readings."""
        design = np.zeros((_CONDITIONS * len(self.passages), len(unknown)))
        slopes = np.zeros((len(design), len(readings)))
        gap = np.zeros(len(design))
        for number, passage in enumerate(self.passages):
            lines, own = _CONDITIONS * number, self.first + READINGS * number
            ports = [self._port(unknown, readings, number, k) for k in (0, 1)]
            here, there = ports
            reach, along = there.middle - here.middle, np.exp(1j * here.heading)
            width, thick = self.opening(number), self.opening(number) + 1
            gap[lines:lines + 3] = (_dot(along, reach) + readings[own + JAMBS],
                                    _dot(-1j * along, reach) - unknown[thick] + readings[own + FACES],
                                    _turn(there.heading - here.heading - np.pi) + readings[own + PARALLEL])
            for k, (port, sign) in enumerate(zip(ports, (-1.0, 1.0))):
                # What this side's moves do to where the far middle lies, seen along the near wall and off it.
                moves = np.stack([np.array([_dot(axis, sign * move) for move in port.moves])
                                  for axis in (along, -1j * along)])
                if k == 0:
                    moves += np.outer([_dot(1j * along, reach), _dot(along, reach)], port.turns)
                rows = np.vstack([moves, sign * port.turns])
                slopes[lines:lines + 3, port.columns] += rows[:, :5]
                design[lines:lines + 3, width] += rows[:, 5]
                at = 3 * self.names.index(passage.rooms[k]) - 3
                if at >= 0:
                    design[lines:lines + 3, at:at + 3] += rows[:, 6:]
            slopes[range(lines, lines + 3), range(own + JAMBS, own + READINGS)] = 1.0
            design[lines + 1, thick] = -1.0
            design[[lines + 3, lines + 4, lines + 5], [width, width, thick]] = -1.0
            slopes[range(lines + 3, lines + 6), range(own + WIDTH, own + JAMBS)] = 1.0
            gap[lines + 3:lines + 6] = readings[own + WIDTH:own + JAMBS] - unknown[[width, width, thick]]
        return design, slopes, gap

    def _port(self, unknown: Array, readings: Array, number: int, k: int) -> _Port:
        name, side = self.passages[number].rooms[k], self.sides[number][k]
        turn, shift = self.pose(unknown, name)
        at = [self.corner[name] + 2 * corner for corner in (side.near, side.far)]
        reading = self.first + READINGS * number + FROM + k
        near, far = (complex(*readings[column:column + 2]) for column in at)
        long = abs(far - near)
        way = (far - near) / long
        deep = readings[reading] + unknown[self.opening(number)] / 2.0
        twist = np.exp(1j * turn)
        middle = near + deep * way
        share = deep / long
        # The near corner takes the opening with it along the wall, and across by how near it lies; the far one across
        # only; both turn the wall.
        moves = [_dot(way, axis) * way + (1.0 - share) * _dot(1j * way, axis) * 1j * way for axis in (1.0, 1j)]
        moves += [share * _dot(1j * way, axis) * 1j * way for axis in (1.0, 1j)]
        moves += [way, way / 2.0]
        turns = [_dot(1j * way, axis) / long * sign for sign in (-1.0, 1.0) for axis in (1.0, 1j)]
        return _Port(middle=twist * middle + shift, heading=turn + float(np.angle(way * side.sense)),
                     columns=[at[0], at[0] + 1, at[1], at[1] + 1, reading],
                     moves=np.array([*(twist * move for move in moves), 1j * twist * middle, 1.0, 1j]),
                     turns=np.array([*turns, 0.0, 0.0, 1.0, 0.0, 0.0]))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Side:
    """A door as a room tells it: numbers of the corner it is taped from and of its wall's other one; sense: 1 where the
    outline runs that way, -1 where it runs back."""

    near: int
    far: int
    sense: int
    from_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Port:
    """An opening on a room's side, in the house: its middle, and the way the outline runs there. columns: of the
    readings near x, near y, far x, far y, distance; moves, turns: (9,) what these, the width, and the room's turn and
    shift do to middle and heading."""

    middle: complex
    heading: float
    columns: list[int]
    moves: NDArray[np.complex128]
    turns: Array


def _side(room: Room, name: str, where: str) -> _Side:
    door = door_of(room, name, where)
    near, far = (room.names.index(corner) for corner in door.wall)
    return _Side(near=near, far=far, sense=1 if (near + 1) % len(room.names) == far else -1, from_mm=door.from_mm,
                 width_mm=door.width_mm)


def _poses(model: _Model, unknown: Array, adjusted: Array, cofactor: Array, slopes: Array, pull: Array,
           across: Array) -> Poses:
    """What the minimum tells. pull: (conditions,) the correlates; across: their cofactors."""
    of_doorways = slopes[:, model.first:]
    checked = np.einsum("ci,cd,di->i", of_doorways, across, of_doorways)
    own = np.diagonal(model.spread)[model.first:]
    told = checked * own > 1e-6
    slip = np.divide(of_doorways.T @ pull, checked, out=np.zeros(len(own)), where=told)
    slip_sd = np.sqrt(np.divide(1.0, checked, out=np.full(len(own), np.inf), where=told))
    rest = np.sqrt(np.maximum(own - own * checked * own, 0.0)).reshape(-1, READINGS)
    openings = slice(model.opening(0), len(unknown))
    sds = np.sqrt(np.diagonal(cofactor)[openings]).reshape(-1, 2)
    width, thickness = unknown[openings].reshape(-1, 2).T
    readings = adjusted[model.first:].reshape(-1, READINGS)
    placings = {}
    for name in model.names:
        turn, shift = model.pose(unknown, name)
        placings[name] = Placing(heading_rad=turn, shift_mm=np.array([shift.real, shift.imag]))
    return Poses(placings=placings, width_mm=width, width_sd_mm=sds[:, 0], thickness_mm=thickness,
                 thickness_sd_mm=sds[:, 1], readings_mm=readings, readings_sd_mm=rest,
                 cost=float(pull @ slopes @ model.spread @ slopes.T @ pull), redundancy=len(slopes) - len(unknown),
                 slip_mm=slip.reshape(-1, READINGS), slip_sd_mm=slip_sd.reshape(-1, READINGS))


def _dot(a: complex, b: complex) -> float:
    return a.real * b.real + a.imag * b.imag


def _turn(angle: float) -> float:
    """The same turn between -pi and pi."""
    return float((angle + np.pi) % (2.0 * np.pi) - np.pi)
