"""Close-ups of casings and pipes, measured: the picture's reference, the traced shape, and how both agree with the job
and the room.

What was found is handed back as data; `keep_in` writes it into the job, so that planning and printing need no picture.
Frames: the floor frame of one close-up is `capture.closeup.plane_pose`'s; a shape joined to its wall is in the *wall
frame*: away from the opening along the wall, and off the wall line into the room, mm, for either leg of a casing.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from capture.closeup.reference_objects import KNOWN, Reference, reference_named, target_reference
from capture.errors import CaptureError
from capture.closeup.reference_detection import Found, find_reference, marked_reference
from capture.closeup.pipe_sizes import SIZES, SizeMatch, match_size
from capture.closeup.accuracy import Promise, promise_of
from capture.closeup.pipe_circle import Ring, fit_ring
from capture.closeup.tracing import Click, Outline, trace
from capture.closeup.plane_pose import Z95
from capture.closeup.wall_line import WallLine, wall_line
from capture.language.messages import figure, gettext, lazy_gettext
from desk.checks.photos import OVER_EDGE_PX
from desk.convert import closeup_camera
from desk.jobfile.job import Job
from desk.jobfile.laying_entries import DoorEntry
from desk.jobfile.photo_entries import CloseupEntry, EdgeEntry
from desk.store.photos import photo_facts, photo_pixels
from desk.problem import JobFileError

Array = NDArray[np.float64]

#: A click on a full-size picture, px, one standard deviation, by a picture 4000 px wide; and what a typed casing width
#: is worth, mm.
_CLICK_SHARE, _TYPED_SD_MM = 0.0006, 1.0
#: The side of a printed floor target where the job does not say.
_TARGET_MM = 150.0
#: Sheets of the series one size smaller and larger, in proportion (ISO 216); half and twice for others.
_NEXT_SIZES = (0.5, 0.5**0.5, 2.0**0.5, 2.0)
#: A ring so many times, and so much, as wide as its pipe may be the collar: collars are 40 to 60 mm over pipes of 15 to
#: 28 (trade fact sheet of this project, section 6, common practice).
_COLLAR_TIMES, _COLLAR_MORE_MM = 1.4, 12.0
#: Two numbers of one length are told apart beyond this many standard deviations.
APART = 2.58


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """Two numbers for one thing, mm: by the photo, with its spread, and by the tape or the job; they agree or not."""

    what: str
    photo_mm: float
    pm95_mm: float
    other_mm: float
    other: str
    agree: bool


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Measured:
    """What one close-up tells. `fault`: why it tells nothing. leg_mm: (n, 2) a casing's footprint in the wall frame, if
    its wall and its door are known; offsets: (wall, mm, standard deviation) of a pipe's centre. asks: what the reader
    should look at. question: what must be answered before anything is measured: things of another size have the shape
    of what was found. collar_of: the pipe's diameter in the job, mm, where the ring may be the collar round it: that
    must be answered first too; size is None where the ring is the collar."""

    entry: CloseupEntry
    found: Found | None = None
    promise: Promise | None = None
    outline: Outline | None = None
    ring: Ring | None = None
    size: SizeMatch | None = None
    leg_mm: Array | None = None
    offsets: tuple[tuple[tuple[str, str], float, float], ...] = ()
    agreements: tuple[Agreement, ...] = ()
    asks: tuple[str, ...] = ()
    question: str = ""
    collar_of: float | None = None
    fault: str = ""

    @property
    def is_collar(self) -> bool:
        """Whether what was clicked round a pipe is its collar, as somebody said."""
        return self.entry.foot == "collar"


#: References found before, by all that finding them depends on: the page measures anew after every click.
Founds = dict[object, Found]


def measure_closeups(folder: Path, job: Job) -> tuple[Measured, ...]:
    """Every close-up of the job.

    A close-up that cannot be measured, or whose picture is not there, says why in its `fault`.
    """
    return tuple(measure_closeup(folder, job, entry) for entry in job.closeups)


def measure_closeup(folder: Path, job: Job, entry: CloseupEntry, *, before: Founds | None = None) -> Measured:
    """One close-up; see `measure_closeups`."""
    try:
        pixels = photo_pixels(folder, entry.file)
        _refuse_clicks_outside(pixels, entry)
        found = _found_once(folder, pixels, job, entry, {} if before is None else before)
        try:
            return _or_question(_measure(pixels, job, entry, found))
        except CaptureError as error:
            return Measured(entry=entry, found=found, fault=str(error))
    except (CaptureError, JobFileError) as error:
        return Measured(entry=entry, fault=str(error))


def _found_once(folder: Path, pixels: NDArray[np.uint8], job: Job, entry: CloseupEntry, before: Founds) -> Found:
    key = (entry.file, (folder / entry.file).stat().st_mtime_ns, entry.beside, entry.corners_px, entry.camera,
           entry.click_sd_px, job.cameras, job.targets)
    if key not in before:
        before[key] = _found(folder, pixels, job, entry)
    return before[key]


def _or_question(one: Measured) -> Measured:
    """The same; or, where nobody has said what lies there and no typed size bears it out, nothing but the question
    what it is."""
    assert one.found is not None, "what was measured rests on a reference"
    thing = one.found.view.reference
    if not thing.alike or one.entry.beside or any(_bears_out(agreement) for agreement in one.agreements):
        return one
    alike, size = str(thing.alike), " x ".join(figure(side, "g") for side in thing.sides_mm)
    return Measured(entry=one.entry, found=one.found, promise=one.promise, question=gettext(
        "Is what lies there really an ordinary {reference} ({size} mm)? {things} has the same shape, and every size "
        "would come out wrong by far; say what it is before anything is measured.", reference=thing.says, size=size,
        things=alike[0].upper() + alike[1:]))


def _may_be_collar(job: Job, entry: CloseupEntry, ring: Ring) -> float | None:
    """The pipe's diameter as the job has it, mm, where the ring that was clicked is so much wider that it may be the
    collar round it; else None."""
    of = next((pipe.diameter_mm for pipe in job.pipes if pipe.name == entry.of), None)
    if of is None or ring.diameter_mm < _COLLAR_TIMES * of or ring.diameter_mm < of + _COLLAR_MORE_MM:
        return None
    return of


def _bears_out(agreement: Agreement) -> bool:
    """Whether a typed length agrees with the photo, and would not if sheets of the next size lay there."""
    sd = agreement.pm95_mm / Z95
    return agreement.agree and all(abs(agreement.photo_mm * scale - agreement.other_mm) > 2 * APART
                                   * np.hypot(sd * scale, _TYPED_SD_MM) for scale in _NEXT_SIZES)


def _refuse_clicks_outside(pixels: NDArray[np.uint8], entry: CloseupEntry) -> None:
    """Raises CaptureError (mark-outside) for a click beyond the picture's edge."""
    height, width = pixels.shape[:2]
    clicks = [*entry.corners_px, *((click.x_px, click.y_px) for click in entry.outline), *entry.ring_px,
              *(spot for side in entry.sides_px for spot in side),
              *(spot for edge in entry.edges for spot in edge.points_px)]
    for x, y in clicks:
        if not (-OVER_EDGE_PX <= x <= width - 1 + OVER_EDGE_PX and -OVER_EDGE_PX <= y <= height - 1 + OVER_EDGE_PX):
            raise CaptureError("mark-outside", lazy_gettext(
                "A click at ({x:g}, {y:g}) is outside the picture ({width} x {height} px); click there again.", x=x,
                y=y, width=width, height=height))


def _found(folder: Path, pixels: NDArray[np.uint8], job: Job, entry: CloseupEntry) -> Found:
    """The reference of a close-up, marked by hand or found."""
    camera = closeup_camera(job, entry, photo_facts(folder, entry.file))
    target_mm = (job.targets and job.targets.size_mm) or _TARGET_MM
    if entry.corners_px:
        thing = _reference(entry.beside or "a4", target_mm)
        return marked_reference(pixels, camera, thing, np.array(entry.corners_px), click_px=_click_px(pixels, entry))
    if entry.beside == "target":
        return find_reference(pixels, camera, (), target_mm=target_mm)
    things = (reference_named(entry.beside),) if entry.beside else KNOWN
    return find_reference(pixels, camera, things, target_mm=0.0 if entry.beside else target_mm)


def _reference(name: str, target_mm: float) -> Reference:
    return target_reference(target_mm) if name == "target" else reference_named(name)


def _click_px(pixels: NDArray[np.uint8], entry: CloseupEntry) -> float:
    return entry.click_sd_px or max(1.0, _CLICK_SHARE * max(pixels.shape[:2]))


def _measure(pixels: NDArray[np.uint8], job: Job, entry: CloseupEntry, found: Found) -> Measured:
    """What was clicked, traced and joined to the room."""
    view, click_px = found.view, _click_px(pixels, entry)
    walls = [(edge, wall_line(view, np.array(edge.points_px), edge.sd_px or click_px)) for edge in entry.edges
             if len(edge.points_px) >= 2]
    promise = promise_of(view)
    ground = np.median([side.outside for side in found.sides], axis=0) if found.sides else None
    asks = [*_nobody_words(job, entry), *found.asks, *promise.asks]
    outline = ring = size = leg = None
    collar_of: float | None = None
    offsets: list[tuple[tuple[str, str], float, float]] = []
    agreements: list[Agreement] = []
    if entry.outline:
        clicks = [Click(x_px=c.x_px, y_px=c.y_px, on_arc=c.on_arc) for c in entry.outline]
        outline = trace(pixels, view, clicks, closed=entry.closed, height_mm=entry.height_mm, click_px=click_px,
                        ground=ground)
        leg, more = _leg(job, entry, outline, walls)
        asks += [*promise.beyond(outline.corners_mm), *more]
        agreements += _casing_agreements(_door(job, entry), leg, outline)
    if entry.ring_px:
        ring = fit_ring(pixels, view, np.array(entry.ring_px), sides_px=[np.array(side) for side in entry.sides_px],
                        height_mm=entry.height_mm, click_px=click_px)
        collar_of = None if entry.foot else _may_be_collar(job, entry, ring)
        if entry.foot != "collar" and collar_of is None:
            size = match_size(ring.diameter_mm, ring.diameter_sd_mm, SIZES[job.show])
        asks += promise.beyond(ring.centre_mm[None])
        offsets = [(edge.wall, *line.distance(view, ring.centre_mm, ring.cov[:2, :2])) for edge, line in walls]
        agreements += _pipe_agreements(job, entry, ring, offsets)
    asks += _parallax_words(entry, found, outline, ring)
    return Measured(entry=entry, found=found, promise=promise, outline=outline, ring=ring, size=size, leg_mm=leg,
                    offsets=tuple(offsets), collar_of=collar_of, agreements=tuple(agreements), asks=tuple(asks))


def _nobody_words(job: Job, entry: CloseupEntry) -> list[str]:
    """That what the close-up is said to be of is not in the job: nothing would come of it."""
    names = [*(door.name for door in job.doors), *(pipe.name for pipe in job.pipes)]
    if not entry.of or entry.of in names:
        return []
    return [gettext(
        "The job has no door or pipe {name}; it has {known}: nothing measured here is used until it is said which of "
        "them the photo shows.", name=entry.of, known=", ".join(names) or gettext("none"))]


def _door(job: Job, entry: CloseupEntry) -> DoorEntry | None:
    return next((door for door in job.doors if door.name == entry.of), None)


def _leg(
    job: Job, entry: CloseupEntry, outline: Outline, walls: Sequence[tuple[EdgeEntry, WallLine]]
) -> tuple[Array | None, tuple[str, ...]]:
    """The footprint in the wall frame, anticlockwise or not as it was clicked; or None, with what is lacking for it."""
    door = _door(job, entry)
    if door is None:
        return None, ()
    line = next((line for edge, line in walls if set(edge.wall) == set(door.wall)), None)
    if line is None:
        return None, (gettext(
            "To print the casing's template, click two places on the floor line of wall {a}-{b} in the "
            "photo too.", a=door.wall[0], b=door.wall[1]),)
    if not entry.leg:
        return None, (gettext(
            "Which leg of {name} is it, as you face the door from inside the room: the left one or the right one?",
            name=door.name),)
    if len(outline.line_mm) < 3:
        return None, (gettext(
            "Two corners are a line and no shape: click every corner of the casing, from the wall round to the "
            "opening."),)
    along, off = line.frame(outline.line_mm)
    # Facing the wall, its way with the room on the left runs from right to left: away from the opening is onwards for
    # the left leg.
    away = along if entry.leg == "left" else -along
    return np.column_stack([away - np.min(away), off]), ()


def _casing_agreements(door: DoorEntry | None, leg: Array | None, outline: Outline) -> list[Agreement]:
    """The casing's traced size beside the typed one."""
    if door is None or leg is None or door.casing_mm is None:
        return []
    pm = float(np.median(outline.pm95_mm()))
    sizes = ((gettext("width"), float(np.ptp(leg[:, 0])), door.casing_mm[0]),
             (gettext("thickness"), float(np.max(leg[:, 1])), door.casing_mm[1]))
    # A size is the difference of two places, each known to `pm`.
    return [_agreement(gettext("{what} of the casing of {door}", what=what, door=door.name), photo,
                       pm / Z95 * 2.0**0.5, typed, gettext("the job"), _TYPED_SD_MM) for what, photo, typed in sizes]


def _pipe_agreements(job: Job, entry: CloseupEntry, ring: Ring,
                     offsets: Sequence[tuple[tuple[str, str], float, float]]) -> list[Agreement]:
    """The pipe's diameter and its distances off walls beside those in the job."""
    found = [_agreement(gettext("diameter of {pipe}", pipe=pipe.name), ring.diameter_mm, ring.diameter_sd_mm,
                        pipe.diameter_mm, gettext("the job"), 0.15)
             for pipe in job.pipes if pipe.name == entry.of and entry.foot != "collar"
             and (entry.foot or _may_be_collar(job, entry, ring) is None)]
    for wall, mm, sd in offsets:
        what = gettext("{thing} off wall {a}-{b}", thing=entry.of, a=wall[0], b=wall[1])
        found += [_agreement(what, mm, sd, tape.length_mm, gettext("the tape"), tape.sd_mm or 1.5)
                  for tape in job.offsets if tape.point == entry.of and set(tape.wall) == set(wall)]
    return found


def _agreement(what: str, photo: float, sd: float, other: float, who: str, other_sd: float) -> Agreement:
    return Agreement(what=what, photo_mm=photo, pm95_mm=Z95 * sd, other_mm=other, other=who,
                     agree=abs(photo - other) <= APART * float(np.hypot(sd, other_sd)))


def _parallax_words(entry: CloseupEntry, found: Found, outline: Outline | None, ring: Ring | None) -> list[str]:
    """How far a thing would seem to lie if it stood above the floor; nothing where its height was typed."""
    if entry.height_mm or (outline is None and ring is None):
        return []
    at = outline.corners_mm if outline is not None else ring.centre_mm[None] if ring is not None else np.empty((0, 2))
    shift = float(np.max(np.hypot(*found.view.parallax_mm(at, 10.0).T)))
    return (
        [
            gettext(
        "All this is at the floor: whatever was clicked 10 mm above it would be {shift:.1f} mm out of place; trace "
        "where it meets the floor, or say how high above the floor it is.", shift=shift)
        ]
        if shift >= 0.5
        else []
    )


def keep_in(job: Job, measured: Sequence[Measured]) -> dict[str, object]:
    """The job's tree with what the close-ups tell: casings' legs, pipes' diameters where the size is sure, and a pipe's
    distances off walls that nobody taped. What a person typed is never changed, but for a pipe's diameter that is a
    standard size."""
    tree = job.tree()
    for one in measured:
        if one.leg_mm is not None and one.outline is not None:
            _keep_leg(tree, one, float(np.median(one.outline.pm95_mm())))
        if one.ring is not None and one.collar_of is None:
            _keep_pipe(tree, job, one)
    return tree


def _keep_leg(tree: dict[str, object], one: Measured, pm_mm: float) -> None:
    ring = [[round(float(u), 2), round(float(t), 2)] for u, t in (one.leg_mm if one.leg_mm is not None else ())]
    doors = tree.get("doors")
    for door in doors if isinstance(doors, list) else []:
        if door.get("name") == one.entry.of:
            width, thick = (float(v) for v in np.ptp(np.array(ring), axis=0))
            casing = door.setdefault("casing", {"width": round(width, 1), "thickness": round(thick, 1)})
            legs = casing.setdefault("legs", {})
            legs[one.entry.leg] = ring
            if one.entry.mirror:
                legs["left" if one.entry.leg == "right" else "right"] = ring
            casing["pm"] = round(pm_mm, 2)


def _keep_pipe(tree: dict[str, object], job: Job, one: Measured) -> None:
    pipes = tree.get("pipes")
    for pipe in pipes if isinstance(pipes, list) else []:
        if pipe.get("name") == one.entry.of and one.size is not None and one.size.sure:
            pipe["diameter"] = one.size.best.diameter_mm
    taped = {frozenset(tape.wall) for tape in job.offsets if tape.point == one.entry.of}
    tape = tree.setdefault("tape", [])
    for wall, mm, sd in one.offsets:
        if frozenset(wall) not in taped and isinstance(tape, list):
            tape.append({"point": one.entry.of, "wall": list(wall), "mm": round(mm, 1), "sd": round(max(sd, 0.5), 2)})
