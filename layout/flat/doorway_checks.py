"""Whether the doorways of a flat agree: two widths of one opening, rings of rooms that close or do not, and which
distance is wrong where they do not.

Data snooping as in a room's survey (`capture.adjustment.data_snooping`): the reading with the largest w over its
critical value is doubted. One that alone explains what is wrong is left out; readings that would explain it equally
well are named together and all kept, with the uncertainty widened.
"""
from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from capture.adjustment.data_snooping import INSEPARABLE
from capture.adjustment.residuals import critical
from layout.flat.pose_adjustment import (
    FACE_SD_MM, FACES, FROM, JAMB_SD_MM, JAMBS, TAPE_SD_MM, THICKNESS, WIDTH, Poses, adjust_poses)
from layout.flat_plan import DoorwayDoubt, MeasuredDoorway, RingClosure
from layout.region.joined_rooms import Passage, Placing, door_of
from layout.room import Room

#: Readings doubted one after another at most, as in a survey.
_MOST = 4
#: Readings that a person may have got wrong.
_DOUBTED = (FROM, FROM + 1, THICKNESS)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class CheckedDoorways:
    """The rooms as all doorways place them, less readings left out, and what is to be said. closures: of the doorways
    that close a ring, by all readings; open_mm: how far each of these is open by what is kept."""

    poses: Poses
    doorways: tuple[MeasuredDoorway, ...]
    closures: tuple[RingClosure, ...]
    open_mm: tuple[float, ...]
    doubts: tuple[DoorwayDoubt, ...]


def check_doorways(rooms: Mapping[str, Room], passages: Sequence[Passage], near: Mapping[str, Placing],
                   closing: Sequence[Passage], covs: Mapping[str, NDArray[np.float64]]) -> CheckedDoorways:
    """Adjust rooms that doorways join and doubt what does not fit. near, covs: as `adjust_poses` takes them; closing:
    the doorways that close a ring."""
    adjusted = partial(adjust_poses, rooms, passages, near, covs=covs)
    left_out, doubts, whole = frozenset[tuple[int, int]](), list[tuple[int, int, bool]](), adjusted()
    poses = whole
    for _ in range(_MOST):
        likely = _likely(poses, passages, left_out)
        doubts += [(*one, len(likely) == 1) for one in likely]
        if len(likely) != 1:
            break
        left_out |= {likely[0]}
        poses = adjusted(left_out=left_out)
    wide = 1.0 if all(alone for *_, alone in doubts) else max(1.0, (poses.cost / max(poses.redundancy, 1)) ** 0.5)
    rings = [passages.index(passage) for passage in closing]
    return CheckedDoorways(
        poses=poses, doorways=tuple(_measured(rooms, passages, poses, k, wide) for k in range(len(passages))),
        closures=tuple(_closure(passages[k], whole, adjusted(left_out=_open(k)), k) for k in rings),
        open_mm=tuple(float(np.hypot(*_gap(passages[k], adjusted(left_out=left_out | _open(k)), k))) for k in rings),
        doubts=tuple(_doubt(rooms, passages[k], poses, k, reading, alone) for k, reading, alone in doubts))


def _likely(poses: Poses, passages: Sequence[Passage], left_out: frozenset[tuple[int, int]]) -> list[tuple[int, int]]:
    """The readings that may be the wrong one, likeliest first: none where all is well, one that stands alone, or all
    that explain it equally well."""
    tested = [(k, reading) for k, reading in _tested(passages) if np.isfinite(poses.slip_sd_mm[k, reading])]
    if not tested or max(abs(poses.w[one]) for one in tested) <= critical(1, len(tested)):
        return []
    kept = sorted((one for one in tested if one not in left_out), key=lambda one: -abs(poses.w[one]))
    if not kept or abs(poses.w[kept[0]]) <= critical(1, len(tested)):
        return []
    # Leaving a reading out lowers the sum of squares by its w squared.
    return [one for one in kept if poses.w[kept[0]] ** 2 - poses.w[one] ** 2 < INSEPARABLE]


def _tested(passages: Sequence[Passage]) -> Iterator[tuple[int, int]]:
    """Readings that a person took: not a thickness that nobody measured."""
    for k, passage in enumerate(passages):
        yield from ((k, reading) for reading in _DOUBTED if reading != THICKNESS or passage.thickness_by != "rooms")


def _open(k: int) -> frozenset[tuple[int, int]]:
    """What is left out where a doorway is not to hold its rooms together."""
    return frozenset([(k, JAMBS), (k, FACES)])


def _gap(passage: Passage, poses: Poses, k: int) -> NDArray[np.float64]:
    """(2,) how far a doorway's far side lies off along the wall and off it; a wall that nobody measured is as thick as
    it comes to."""
    return -poses.readings_mm[k, [JAMBS, FACES]] * [1.0, passage.thickness_by != "rooms"]


def _closure(passage: Passage, whole: Poses, without: Poses, k: int) -> RingClosure:
    """The far room's side seen from the near one, by the other doorways; what holds them together cost so much."""
    along, across = _gap(passage, without, k)
    sds = np.hypot(without.readings_sd_mm[k, [JAMBS, FACES]], [JAMB_SD_MM, FACE_SD_MM])
    score = max(whole.cost - without.cost, 0.0) ** 0.5 / critical(2)
    # As far off in this direction as the critical value; what is hardly off has no direction, so the worst is told.
    most = off / score if (off := float(np.hypot(along, across))) > 1.0 else (
        critical(2) * float(max(sds * [1.0, passage.thickness_by != "rooms"])))
    return RingClosure(rooms=passage.rooms, doors=passage.doors, along_mm=float(along), along_sd_mm=float(sds[0]),
                       across_mm=float(across), across_sd_mm=float(sds[1]), score=float(score), most_mm=float(most))


def _measured(rooms: Mapping[str, Room], passages: Sequence[Passage], poses: Poses, k: int,
              wide: float) -> MeasuredDoorway:
    """A doorway as adjusted. wide: how much wider the uncertainty is for readings that do not fit."""
    passage = passages[k]
    first, second = (door_of(rooms[room], door, room).width_mm for room, door in zip(passage.rooms, passage.doors))
    most = critical(1) * TAPE_SD_MM * 2 ** 0.5
    apart = abs(first - second) / 2.0 if abs(first - second) > most else 0.0
    return MeasuredDoorway(
        rooms=passage.rooms, doors=passage.doors, widths_mm=(first, second), most_apart_mm=most,
        width_mm=float(poses.width_mm[k]), width_sd_mm=max(float(poses.width_sd_mm[k]), apart),
        from_mm=(float(poses.readings_mm[k, FROM]), float(poses.readings_mm[k, FROM + 1])),
        thickness_mm=float(poses.thickness_mm[k]), thickness_sd_mm=float(poses.thickness_sd_mm[k]) * wide,
        thickness_by=passage.thickness_by)


def _doubt(rooms: Mapping[str, Room], passage: Passage, poses: Poses, k: int, reading: int,
           alone: bool) -> DoorwayDoubt:
    """What a doubted reading says, and what the others make of it. One that is left out is as the others have it; of
    one that is kept this is told by its slip."""
    side = reading - FROM if reading < WIDTH else 0
    door = door_of(rooms[passage.rooms[side]], passage.doors[side], passage.rooms[side])
    told = passage.thickness_mm if reading == THICKNESS else door.from_mm
    own = passage.thickness_sd_mm if reading == THICKNESS else TAPE_SD_MM
    should, sd = ((poses.readings_mm[k, reading], poses.readings_sd_mm[k, reading]) if alone else
                  (told + poses.slip_mm[k, reading], max(poses.slip_sd_mm[k, reading] ** 2 - own ** 2, 0.0) ** 0.5))
    return DoorwayDoubt(rooms=passage.rooms, reading="thickness" if reading == THICKNESS else "from",
                        room=passage.rooms[side], door=door.name, corner="" if reading == THICKNESS else door.wall[0],
                        told_mm=told, should_mm=float(should), should_sd_mm=float(sd), left_out=alone)
