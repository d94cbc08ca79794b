"""Figures that say how sure something is, or what a lens is: refused where no tape, hand or lens is like that
(common practice, no source)."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from capture.language.messages import gettext, marked, worded
from desk.convert import photo_size
from desk.jobfile.job import Job
from desk.store.photos import Photos
from desk.problem import Problem

#: A picture of more px than this is not decoded (`capture.image.photo`), so no job is made of one.
MOST_PIXELS = 120_000_000
#: Focal length over the long side of the picture: from a fish-eye to a long telephoto lens.
FOCAL_OF_LONG_SIDE = (0.1, 50.0)


@dataclass(frozen=True, slots=True)
class _Range:
    least: float
    most: float
    unit: str


_PX = _Range(0.01, 500.0, "px")
_MM = _Range(0.01, 1000.0, "mm")
_FOCAL = _Range(1e-4, 1.0, marked("of the focal length"))
_K1 = _Range(1e-5, 2.0, marked("(a lens distortion)"))
_DEGREES = _Range(0.01, 45.0, marked("degrees"))
_SHARE = _Range(1e-6, 0.1, marked("of a length"))


def spread_problems(job: Job, photos: Photos) -> Iterator[Problem]:
    """Spreads, focal lengths and sizes of pictures far from anything that is used on a floor."""
    for where, value, sane in _spreads(job):
        if value is not None and not sane.least <= value <= sane.most:
            yield _stop("absurd-spread", where, gettext(
                "{where} is {value:g}, but a spread here is {least:g} to {most:g} {unit}; leave it out to have the "
                "usual one.", where=where, value=value, least=sane.least, most=sane.most, unit=worded(sane.unit)))
    yield from _sizes(job)
    yield from _focals(job, photos)


def _spreads(job: Job) -> Iterator[tuple[str, float | None, _Range]]:
    for camera in job.cameras:
        yield f"{camera.where}.focal_sd", camera.focal_sd, _FOCAL
        yield f"{camera.where}.k1_sd", camera.k1_sd, _K1
    for photo in job.photos:
        yield from ((f"{mark.where}.sd", mark.sd_px, _PX) for mark in photo.marks)
        yield from ((f"{edge.where}.sd", edge.sd_px, _PX) for edge in photo.edges)
    yield from ((f"{closeup.where}.click_sd", closeup.click_sd_px, _PX) for closeup in job.closeups)
    yield from ((f"{tape.where}.sd", tape.sd_mm, _MM) for tape in job.tapes)
    yield from ((f"{offset.where}.sd", offset.sd_mm, _MM) for offset in job.offsets)
    yield from ((f"{on.where}.sd", on.sd_mm, _MM) for on in job.on_wall)
    yield "square_sd", job.square_sd_deg, _DEGREES
    if job.tape_error is not None:
        yield "tape_error.scale_sd", job.tape_error.scale_sd, _SHARE
        yield "tape_error.hook_sd", job.tape_error.hook_sd_mm, _MM
    if job.floor is not None:
        yield "floor.sd", job.floor.sd_mm, _MM


def _sizes(job: Job) -> Iterator[Problem]:
    for photo in job.photos:
        if photo.size is not None and photo.size[0] * photo.size[1] > MOST_PIXELS:
            yield _stop("photo-too-large", f"{photo.where}.size", gettext(
                "{where}.size is {width} x {height} px, but a picture may have {most} megapixels; write the "
                "width and height of the picture as the camera saved it.", where=photo.where, width=photo.size[0],
                height=photo.size[1], most=MOST_PIXELS // 1_000_000))


def _focals(job: Job, photos: Photos) -> Iterator[Problem]:
    """A focal length that is none for the pictures its camera took."""
    told = {camera.name: camera for camera in job.cameras if camera.focal_px is not None}
    for photo in job.photos:
        camera, size = told.pop(photo.camera, None), photo_size(photo, photos)
        if camera is None or camera.focal_px is None or size is None:
            continue
        least, most = (round(share * max(size), 1) for share in FOCAL_OF_LONG_SIDE)
        if not least <= camera.focal_px <= most:
            yield _stop("absurd-focal", f"{camera.where}.focal_px", gettext(
                "{where}.focal_px is {focal:g}, but a lens for a picture {size} px long has {least:g} to {most:g} "
                "px; a phone has about {usual:.0f}: correct it, or leave it out.", where=camera.where,
                focal=camera.focal_px, size=max(size), least=least, most=most, usual=0.75 * max(size)))


def _stop(slug: str, where: str, says: str) -> Problem:
    return Problem(slug=slug, where=where, says=says, stage="survey")
