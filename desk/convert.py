"""One converter for each type the rooms take: the only place that knows both the job and them.

What a job leaves unsaid is decided here. Lens priors without EXIF: a 24 to 28 mm equivalent phone lens at 4:3 has a
focal length of 0.69 to 0.81 times the long side (arithmetic), but a picture that has lost its EXIF may be the
ultra-wide lens's (0.37 to 0.46 times) too, hence 25 %; EXIF is taken as a prior of 5 %, since makers' conventions
differ by 4 % (both from the project's print and desk fact sheet).
"""
from __future__ import annotations

import dataclasses
import datetime
import math
import string
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from capture.floor import Z95, Floor, Island, exact_floor
from capture.language.messages import gettext, listed, ngettext
from capture.network import Camera, Network, Photo, TapeError, TargetMark, TargetSighting
from capture.adjustment.survey import Survey
from desk.jobfile.job import Job
from desk.jobfile.laying_entries import DoorEntry, OwnPieceEntry
from desk.jobfile.photo_entries import CameraEntry, CloseupEntry, PhotoEntry
from desk.store.photos import PhotoFacts, Photos
from desk.problem import JobProblems, Problem
from desk.readings import readings_of, said
from layout.rules import RULES
from layout.room import (
    Beading, Board, Casing, Climate, Door, Elsewhere, OwnPiece, Pipe, Room, Rules, Underlay, Wishes)
from printpack.units import Units

if TYPE_CHECKING:
    from layout.plan import Plan
    from printpack.job import MarkedPhoto, PackJob

FOCAL_OF_LONG_SIDE = 0.75
FOCAL_SD_UNKNOWN = 0.25
FOCAL_SD_EXIF = 0.05
K1_SD_KNOWN_LENS = 0.02
K1_SD_UNKNOWN = 0.1
K2_SD_KNOWN_LENS, K2_SD_UNKNOWN = 0.01, 0.05
CENTRE_SD_KNOWN_LENS, CENTRE_SD_UNKNOWN = 0.005, 0.01
#: A focal length below this share of the long side (some 21 mm equivalent) is an ultra-wide lens: its bend is anybody's
#: guess.
ULTRA_WIDE = 0.6
THICKNESS_MM = 8.0
PACK = 8


#: Lengths to saw are whole multiples of this where the job shows inches, mm.
EIGHTH_MM = 25.4 / 8


def to_network(job: Job, photos: Photos) -> Network:
    """Everything the survey may use. Photos without marks or targets, and points named nowhere but in the outline,
    add nothing."""
    seen = _targets_seen(job, photos)
    used = [photo for photo in job.photos if photo.marks or photo.edges or photo.file in seen]
    cameras, camera_of = _to_cameras(job, used, photos)
    return Network(outline=job.outline, islands=tuple(Island(name=i.name, corners=i.corners) for i in job.islands),
                   cameras=cameras, photos=tuple(Photo(name=p.file, camera=camera_of[p.file],
                                                       size_px=_known_size(p, photos)) for p in used),
                   target_marks=tuple(TargetMark(photo=file, seen=sighting) for file, sightings in seen.items()
                                      for sighting in sightings), tape_error=None if job.tape_error is None
                   else TapeError(**said(scale_sd=job.tape_error.scale_sd, hook_sd_mm=job.tape_error.hook_sd_mm)),
                   straight=job.straight, drawn=job.sketch,
                   **readings_of(job) | said(target_size_mm=None if job.targets is None else job.targets.size_mm))


def _targets_seen(job: Job, photos: Photos) -> dict[str, Sequence[TargetSighting]]:
    """Printed targets by photo, where the job says they lie on the floor and at least one is seen."""
    if job.targets is None:
        return {}
    return {photo.file: facts.targets for photo in job.photos if (facts := photos.get(photo.file)) and facts.targets}


def to_given_floor(job: Job) -> Floor:
    """The floor of a job that gives it as coordinates; further points (`floor.points`, pipes with a place) follow
    its corners."""
    given = job.floor
    if given is None:
        raise ValueError("this job gives no floor as coordinates")
    names = job.outline or corner_names(len(given.outline_mm))
    floor = exact_floor(np.array(given.outline_mm), names, tuple(
        (hole_name(job, i), np.array(ring)) for i, ring in enumerate(given.holes_mm)))
    more = dict(given.points) | {pipe.name: pipe.at_mm for pipe in job.pipes if pipe.at_mm is not None}
    count = len(floor.names) + len(more)
    spread = "coordinates given, taken as exact" if given.sd_mm is None else ("coordinates given, each to "
                                                                              f"{given.sd_mm:g} mm")
    return dataclasses.replace(floor, names=floor.names + tuple(more),
                               cov_mm2=np.eye(2 * count) * (given.sd_mm or 0.0) ** 2, gauge=spread,
                               points_mm=np.concatenate([floor.points_mm,
                                                         np.array(list(more.values())).reshape(-1, 2)]))


def corner_names(count: int) -> tuple[str, ...]:
    """A, B, ... Z, AA, AB, ... for the corners of a floor given as coordinates."""
    letters = string.ascii_uppercase
    return tuple(letters[i] if i < 26 else letters[i // 26 - 1] + letters[i % 26] for i in range(count))


def hole_name(job: Job, number: int) -> str:
    """The name of a hole of a given floor: that of the island listed at the same place, or a numbered one."""
    return job.islands[number].name if number < len(job.islands) else f"island {number + 1} "


def to_room(job: Job, survey: Survey) -> Room:
    """The surveyed room with its pipes and doors.

    Raises JobProblems for a pipe that has no place and for doors that reach past the end of their wall.
    """
    floor = survey.floor
    misfits = [problem for door in job.doors for problem in past_end(floor, door)]
    if misfits:
        raise JobProblems(misfits)
    room = Room(names=floor.outline, outline_mm=floor.ring(),
                islands=tuple((island.name, floor.ring(island.corners)) for island in floor.islands),
                pipes=tuple(Pipe(name=p.name, centre_mm=p.at_mm or _place_of(floor, p.name, p.where),
                                 diameter_mm=p.diameter_mm) for p in job.pipes),
                doors=tuple(Door(name=d.name, wall=d.wall, from_mm=d.from_mm, width_mm=d.width_mm,
                                 reveal_mm=d.reveal_mm, legs=d.legs, traced_pm_mm=d.legs_pm_mm,
                                 next_floor_mm=d.next_floor_mm,
                                 casing=Casing(width_mm=d.casing_mm[0], thickness_mm=d.casing_mm[1]) if d.casing_mm
                                 and not d.scribe else None) for d in job.doors),
                length_sd_mm=max(wall.pm95_mm for wall in floor.walls()) / Z95)
    scribed = frozenset(door.name for door in job.doors if door.scribe and door.legs)
    if not scribed:
        return room
    from layout.region.casings import with_casings
    return with_casings(room, scribed)


def to_board(job: Job) -> Board:
    """The board as bought. Raises JobProblems if the job names none, showing what to add."""
    board = job.flooring.board
    if board is None:
        raise JobProblems([no_board()])
    thick = board.thickness_mm or THICKNESS_MM
    if board.lengths:
        return Board(length_mm=max(length for length, _ in board.lengths), width_mm=board.width_mm, thickness_mm=thick,
                     pack=sum(count for _, count in board.lengths), mix=tuple(sorted(board.lengths)))
    return Board(length_mm=board.length_mm, width_mm=board.width_mm, thickness_mm=thick, pack=board.pack or PACK)


def to_wishes(job: Job) -> Wishes:
    """How the floor is to be laid, with the usual values where the job says nothing."""
    wish, under, climate = job.flooring, job.flooring.underlay, job.flooring.climate
    wishes = Wishes(rules=_to_rules(job), direction_rad=None if wish.direction_deg is None
                    else math.radians(wish.direction_deg), along=wish.along, start=wish.start,
                    first_row_mm=wish.first_row_mm, pattern=wish.pattern, lay=wish.lay,
                    underlay=None if under is None else Underlay(thickness_mm=under.thickness_mm,
                                                                 roll_length_mm=under.roll.roll_length_mm,
                                                                 roll_width_mm=under.roll.roll_width_mm),
                    climate=None if climate is None else Climate(low=climate.low, high=climate.high, laid=climate.laid),
                    subfloor=wish.subfloor, stock=tuple(_to_own_piece(piece) for piece in wish.stock
                                                        if can_be_sought(piece)),
                    beading=Beading(**said(bar_mm=wish.beading.bar_mm, width_mm=wish.beading.width_mm))
                    if wish.beading else Beading(), gap_least_mm=wish.gap_least_mm, gap_most_mm=wish.gap_most_mm,
                    gap_usual=wish.gap_mm is None and not wish.gap_auto, light=wish.light,
                    step_mm=EIGHTH_MM if job.show == "imperial" else 1.0,
                    **said(gap_mm=wish.gap_mm, kerf_mm=wish.kerf_mm, longest_mm=wish.longest_mm))
    return dataclasses.replace(wishes, gap_mm=None) if wish.gap_auto else wishes


def can_be_sought(piece: OwnPieceEntry | OwnPiece) -> bool:
    """Whether a floor planned alone may use a piece at hand: not one of another floor that has no factory end left,
    which only the flat's plan has a place for."""
    return bool(piece.keeps) or piece.came_from is None


def _to_own_piece(piece: OwnPieceEntry) -> OwnPiece:
    came = piece.came_from
    return OwnPiece(length_mm=piece.length_mm, keeps=piece.keeps, label=piece.label,
                    came_from=None if came is None else Elsewhere(floor=came.floor, piece=came.piece))


def _to_rules(job: Job) -> Rules:
    """The job's rules; those it leaves out are the usual ones, but never more than half a short or narrow board can
    keep."""
    board, asked = job.flooring.board, {name: getattr(job.flooring.rules, f"{name}_mm") for name in RULES}
    usual = {name: mm for name, _, mm in Rules().each()}
    if board is not None:
        sides = {"length": board.length_mm, "width": board.width_mm,
                 "shortest": min((length for length, _ in board.lengths), default=board.length_mm / 2)}
        usual = {name: min(usual[name], rule.usual_share * sides[rule.usual_side]) for name, rule in RULES.items()}
    return Rules(**{f"{name}_mm": usual[name] if asked[name] is None else asked[name] for name in RULES})


def to_pack_job(job: Job, survey: Survey, plan: Plan, *, date: datetime.date,
                photos: tuple[MarkedPhoto, ...] = ()) -> PackJob:
    """The job as it is printed. `date` is printed when the job holds none, so that a pack made again is the same
    pack."""
    from printpack.job import PackJob
    under = job.flooring.underlay
    more = tuple(advice.says for advice in survey.advice[:1]) if survey.suspects else ()
    return PackJob(title=job.title or "Floor", show=job.show, date=job.date or date, floor=survey.floor, plan=plan,
                   room=to_room(job, survey), survey_notes=survey_doubts(survey) + more,
                   underlay_mm=under.thickness_mm if under else 0.0, underlay_width_mm=under.roll.roll_width_mm
                   if under else 0.0, subfloor=job.flooring.subfloor, paper_scale=to_paper_scale(job), photos=photos)


def to_paper_scale(job: Job) -> tuple[float, float]:
    """What undoes the printer's error (across, down); 1 where nobody measured. Raises PrintError (printer-scale)."""
    if job.rulers is None:
        return 1.0, 1.0
    from printpack.words.printer_scale import scale_from_rulers
    return scale_from_rulers(job.rulers.across_mm, job.rulers.down_mm, show=job.show)


def survey_doubts(survey: Survey) -> tuple[str, ...]:
    """Everything a plan made from this survey must pass on: readings that look wrong, then the warnings; each once."""
    return tuple(dict.fromkeys([reading.says for reading in survey.suspects if reading.says] + list(survey.warnings)))


def put_by_hand(job: Job) -> tuple[str, ...]:
    """A sentence about the pipes and bare parts whose place only a hand on the plan tells, in part at least; none if
    there are none."""
    rough = {offset.point: offset.sd_mm or 0.0 for offset in job.offsets if offset.by_hand}
    things: list[tuple[str, tuple[str, ...]]] = [(island.name, island.corners) for island in job.islands]
    things = [*((gettext("pipe {name}", name=pipe.name), (pipe.name,)) for pipe in job.pipes), *things]
    names = [name for name, points in things if not rough.keys().isdisjoint(points)]
    if not names:
        return ()
    told = listed(names)
    return (ngettext(
        "{names} was put on the plan by hand, sure to about {spread} only: type the distances off two walls, as the "
        "tape says them, before you drill or saw there.",
        "{names} were put on the plan by hand, sure to about {spread} only: type the distances off two walls, as the "
        "tape says them, before you drill or saw there.", len(names), names=told[0].upper() + told[1:],
        spread=Units(job.show).spread(2.0 * max(rough.values()))),)


def no_board(severity: str = "stop") -> Problem:
    """The job names no board."""
    return Problem(slug="no-board", where="flooring.board", stage="plan", severity=severity, says=gettext(
        'The job does not say which boards are to be laid; add their size in mm, such as '
        '"flooring": {"board": {"length": 1285, "width": 192, "thickness": 8, "pack": 8}}.'))


def photo_size(entry: PhotoEntry, photos: Photos) -> tuple[int, int] | None:
    """Upright size of a photo, px: its picture's if that can be read, else what the job says, else None."""
    facts = photos.get(entry.file)
    return (facts.size if facts else None) or entry.size


def _place_of(floor: Floor, name: str, where: str) -> tuple[float, float]:
    try:
        x, y = floor.at(name)
    except KeyError:
        raise JobProblems([Problem(slug="no-pipe-place", where=where, stage="plan", name=name,
                                   says=no_pipe_place(name))]) from None
    return float(x), float(y)


def no_pipe_place(name: str) -> str:
    """The sentence for a pipe nobody has placed."""
    return gettext(
        "Nothing tells where pipe {name} stands; tape it square off two walls, or give its centre in the plan as "
        '"at": [x, y].', name=name)


def past_end(floor: Floor, door: DoorEntry) -> Iterator[Problem]:
    """A door that ends beyond its wall by more than the wall's own doubt and a millimetre of reading."""
    wall, end = floor.length(*door.wall), door.from_mm + door.width_mm
    if end > wall.length_mm + wall.pm95_mm + 1.0:
        yield Problem(
            slug="door-past-wall",
            where=door.where,
            stage="plan",
            says=gettext(
                "Door {door} ends {end:.0f} mm from corner {a}, but the wall {a}-{b} is only {length:.0f} mm long; "
                "measure the door again from {a}, or name the other corner first.", door=door.name, end=end,
                a=door.wall[0], b=door.wall[1], length=wall.length_mm),
        )


#: Name, long and short side of the picture, px, and the focal length that EXIF tells.
_LensKey = tuple[str, int, int, float | None]


def _to_cameras(job: Job, used: list[PhotoEntry], photos: Photos) -> tuple[tuple[Camera, ...], dict[str, str]]:
    """The lenses behind the photos, and the lens of each photo by file.

    Photos share a lens if they name the same camera (or none), are of one size (upright or on its side) and, where the
    job does not give the focal length itself, tell the same one in EXIF.
    """
    entries = {entry.name: entry for entry in job.cameras}
    cameras: dict[_LensKey, Camera] = {}
    camera_of: dict[str, str] = {}
    full_sides: dict[str, int] = {}
    for photo in used:
        size, entry = _known_size(photo, photos), entries.get(photo.camera)
        # A focal length in px belongs to one size of picture: the first that names the camera.
        same_frame = full_sides.setdefault(photo.camera, max(size)) == max(size)
        told, prior = _lens(entry if same_frame else None, size, photos.get(photo.file))
        key = (photo.camera, max(size), min(size), told)
        if key not in cameras:
            cameras[key] = Camera(name=_camera_name(photo, cameras), width_px=size[0], height_px=size[1], **prior)
        camera_of[photo.file] = cameras[key].name
    return tuple(cameras.values()), camera_of


def _known_size(photo: PhotoEntry, photos: Photos) -> tuple[int, int]:
    size = photo_size(photo, photos)
    if size is None:
        raise JobProblems([Problem(slug="no-photo-size", where=photo.where, stage="survey", says=no_size(photo.file))])
    return size


def _lens(
    entry: CameraEntry | None, size: tuple[int, int], facts: PhotoFacts | None
) -> tuple[float | None, dict[str, float]]:
    """What tells lenses apart, and focal length and distortion with their spreads: the job's, EXIF's or the usual
    phone's."""
    focal_px, focal_sd, known = FOCAL_OF_LONG_SIDE * max(size), FOCAL_SD_UNKNOWN, False
    exif = facts.focal_px if facts else None
    given = entry.focal_px if entry else None
    if told := given or exif:
        focal_px, focal_sd = told, FOCAL_SD_EXIF
        known = focal_px >= ULTRA_WIDE * max(size)
    prior = {"focal_px": focal_px, "focal_sd": focal_sd, "k1": 0.0,
             "k1_sd": K1_SD_KNOWN_LENS if known else K1_SD_UNKNOWN, "k2_sd": K2_SD_KNOWN_LENS
             if known else K2_SD_UNKNOWN, "centre_sd": CENTRE_SD_KNOWN_LENS if known else CENTRE_SD_UNKNOWN}
    if entry:
        prior |= said(focal_sd=entry.focal_sd, k1=entry.k1, k1_sd=entry.k1_sd)
    return (None if given or not exif else round(exif, 1)), prior


def closeup_camera(job: Job, entry: CloseupEntry, facts: PhotoFacts) -> Camera:
    """The lens of a close-up: as the job gives it for pictures of this size, else as EXIF or a usual phone has it."""
    size = facts.size or (1, 1)
    given = next((camera for camera in job.cameras if camera.name == entry.camera), None)
    frames = [max(known) for photo in job.photos if photo.camera == entry.camera and (known := photo.size)]
    # A focal length in px belongs to one size of picture.
    _, prior = _lens(given if max(size) in frames or not frames else None, size, facts)
    return Camera(name=entry.file, width_px=size[0], height_px=size[1], **prior)


def _camera_name(photo: PhotoEntry, cameras: dict[_LensKey, Camera]) -> str:
    """The job's name for the lens; a second lens under that name, or one without a name, is called after its first
    photo."""
    taken = {camera.name for camera in cameras.values()}
    return photo.camera if photo.camera and photo.camera not in taken else f"camera of {photo.file}"


def no_size(file: str) -> str:
    """The sentence for a photo whose size nothing tells."""
    return gettext(
        "The picture {file} cannot be opened, so the size of its frame is not known; put the picture back, or give "
        '"size": [width, height].', file=file)
