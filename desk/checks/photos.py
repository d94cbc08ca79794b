"""What can be told to be wrong with a job's photos, marks and lenses without solving it."""
from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from math import floor

from capture.language.messages import gettext, listed
from desk.convert import no_size, photo_size
from desk.jobfile.job import Job
from desk.jobfile.photo_entries import PhotoEntry
from desk.store.photos import PhotoFacts, Photos
from desk.problem import Problem

#: A mark may stand this far over the edge of its picture, px: half a pixel is the edge, the rest is a careless click.
OVER_EDGE_PX = 0.5
#: Marks nearer than this, px, are on one spot: nobody clicks finer.
_SAME_SPOT_PX = 0.5


def photo_problems(job: Job, photos: Photos) -> Iterator[Problem]:
    """Everything wrong with the photos of a job; a floor given as coordinates needs none but close-ups."""
    yield from _closeups(job, photos)
    if job.floor is not None:
        return
    yield from _twice(job)
    for photo in job.photos:
        facts = photos.get(photo.file, PhotoFacts(file=photo.file))
        yield from _picture(photo, facts)
        yield from _marks(photo, photos)
        yield from _focal(job, photo, facts)
    yield from _one_camera_two_sizes(job, photos)
    yield from _no_targets(job, photos)


def _stop(slug: str, where: str, says: str, stage: str = "survey") -> Problem:
    return Problem(slug=slug, where=where, says=says, stage=stage)


def _note(slug: str, where: str, says: str) -> Problem:
    return Problem(slug=slug, where=where, says=says, severity="note", stage="survey")


def _used(photo: PhotoEntry) -> bool:
    return bool(photo.marks or photo.edges)


def _twice(job: Job) -> Iterator[Problem]:
    for file, times in Counter(photo.file for photo in job.photos).items():
        if times > 1:
            yield _stop("double-photo", "photos", gettext(
                "The picture {file} is listed {times} times; put all its marks into one entry.", file=file,
                times=times))


def _picture(photo: PhotoEntry, facts: PhotoFacts) -> Iterator[Problem]:
    """A picture that cannot be opened, or has another size than the job says."""
    if facts.fault and _used(photo) and photo.size is None:
        yield _stop("missing-photo" if facts.missing else "unreadable-photo", photo.where,
                    f"{photo.where}: {facts.fault}", stage="read")
    elif facts.fault:
        use = gettext("its marks are used with the size the job gives") if _used(photo) else gettext(
            "it has no marks, so it is not used")
        yield _note("missing-photo" if facts.missing else "unreadable-photo", photo.where, gettext(
            "{where}: {why}. Until then {use}.", where=photo.where, why=facts.fault.rstrip("."), use=use))
    elif facts.size is None and _used(photo) and photo.size is None:
        yield _stop("no-photo-size", photo.where, no_size(photo.file), stage="read")
    elif facts.size and photo.size and facts.size != photo.size:
        yield _stop("size-differs", photo.where, gettext(
            "The job says {file} is {width} x {height} px, but the picture is {seen_width} x {seen_height} px when "
            "upright; its marks may belong to another picture: put that one back, or mark this one.",
            file=photo.file, width=photo.size[0], height=photo.size[1], seen_width=facts.size[0],
            seen_height=facts.size[1]))


def _closeups(job: Job, photos: Photos) -> Iterator[Problem]:
    """Close-ups whose picture cannot be opened: what was measured in them before stays in the job."""
    for closeup in job.closeups:
        facts = photos.get(closeup.file, PhotoFacts(file=closeup.file))
        if facts.fault:
            yield _note("missing-photo" if facts.missing else "unreadable-photo", closeup.where, gettext(
                "{where}: {why}. Until then nothing more can be measured in it.", where=closeup.where,
                why=facts.fault.rstrip(".")))


def _marks(photo: PhotoEntry, photos: Photos) -> Iterator[Problem]:
    """Clicks outside the frame, and the same corner clicked twice in one picture."""
    size = photo_size(photo, photos)
    clicks = [(gettext("Corner {point}", point=m.point), m.x_px, m.y_px, m.where) for m in photo.marks]
    clicks += [(gettext(
        "A click on wall {a}-{b}", a=e.wall[0], b=e.wall[1]), x, y, f"{e.where}.points[{i}]")
               for e in photo.edges for i, (x, y) in enumerate(e.points_px)]
    for what, x, y, where in clicks:
        if size and not (-OVER_EDGE_PX <= x <= size[0] - 1 + OVER_EDGE_PX
                         and -OVER_EDGE_PX <= y <= size[1] - 1 + OVER_EDGE_PX):
            yield _stop("mark-outside", where, gettext(
                "{what} is marked at ({x:g}, {y:g}) in {file}, outside the picture ({width} x {height} px); mark "
                "it again.", what=what, x=x, y=y, file=photo.file, width=size[0], height=size[1]))
    for alike in _at_one_place(photo):
        yield _stop("marks-alike", photo.where, gettext(
            "The corners {alike} are marked at the same place in {file}; put each where it is, or take the wrong "
            "ones out.", alike=listed(alike), file=photo.file))
    for name, times in Counter(mark.point for mark in photo.marks).items():
        if times > 1:
            yield _note("marked-twice", photo.where, gettext(
                "Corner {name} is marked {times} times in {file}; all of them count, so remove the ones that are "
                "wrong.", name=name, times=times, file=photo.file))


def _at_one_place(photo: PhotoEntry) -> list[list[str]]:
    """Names of corners marked on one spot, group by group: two places on one floor never fall on one spot of a
    picture."""
    spots: dict[tuple[int, int], list[tuple[float, float, list[str]]]] = {}
    found: list[list[str]] = []
    for mark in photo.marks:
        # Whatever is near lies in this square of a net or in one beside it.
        column, row = floor(mark.x_px / _SAME_SPOT_PX), floor(mark.y_px / _SAME_SPOT_PX)
        beside = (spot for i in (-1, 0, 1) for j in (-1, 0, 1) for spot in spots.get((column + i, row + j), ()))
        near = next((names for x, y, names in beside if max(abs(x - mark.x_px), abs(y - mark.y_px)) <= _SAME_SPOT_PX),
                    None)
        if near is None:
            found.append([mark.point])
            spots.setdefault((column, row), []).append((mark.x_px, mark.y_px, found[-1]))
        elif mark.point not in near:
            near.append(mark.point)
    return [names for names in found if len(names) > 1]


def _focal(job: Job, photo: PhotoEntry, facts: PhotoFacts) -> Iterator[Problem]:
    given = any(c.name == photo.camera and c.focal_px for c in job.cameras)
    if (_used(photo) or facts.targets) and facts.size and not facts.focal_px and not given:
        yield _note("no-focal-length", photo.where, gettext(
            "{file} does not tell its focal length, as pictures sent by a messenger often do not; a usual phone "
            "lens is assumed and fitted, so send the original file if you can, or tape one length more.",
            file=photo.file))


def _no_targets(job: Job, photos: Photos) -> Iterator[Problem]:
    """Targets that are said to lie on the floor and show in no picture."""
    if job.targets and job.photos and not any(facts.targets for facts in photos.values()):
        yield _note("no-targets", "targets", gettext(
            "The job says that printed targets lie on the floor, but none is seen clearly in its pictures; go "
            'nearer, keep the whole sheet in the picture with its white edge, or take "targets" out of the job.'))


def _one_camera_two_sizes(job: Job, photos: Photos) -> Iterator[Problem]:
    """Pictures of one named camera that are not of one frame, turned or not."""
    frames: dict[str, tuple[tuple[int, ...], str]] = {}
    for photo in job.photos:
        size = photo_size(photo, photos)
        if not photo.camera or size is None:
            continue
        frame, first = frames.setdefault(photo.camera, (tuple(sorted(size)), photo.file))
        if frame != tuple(sorted(size)):
            yield _note("camera-sizes", photo.where, gettext(
                "{file} and {first} are said to be of camera {camera} but differ in size, so each is fitted with a "
                "lens of its own; use pictures as the camera saved them.", file=photo.file, first=first,
                camera=photo.camera))
