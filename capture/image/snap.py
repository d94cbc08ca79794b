"""A rough mark moved onto the foot of the corner beside it: where the edges between skirting and floor meet.

In: upright pixels and a mark, px of that picture, (0, 0) the centre of its top-left pixel. Out: a `Snap` in the same
px. Method: places near the mark where straight edges end together (`corner_candidates`). At the foot of a corner two
floor edges do, and often the upright edge between the two skirtings. Where an edge goes on beyond, something stands in
front of the wall and the corner is not there. Of two meeting places one above the other with the same edges the upper
is the top of the skirting. Places where colour changes are taken before places where only the light does, such as a
patch of sun. Not done: it does not know a floor from a picture of one. The corner of a box or a rug is a corner to it
if nothing better is near, so nothing is moved unasked, and never farther than the radius.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from capture.image.edges import Array, Patch, Ray, cut_patch
from capture.errors import CaptureError
from capture.image.corner_candidates import Meeting, find_meetings, is_coloured
from capture.language.messages import lazy_gettext

#: A mark is moved by no more than this share of the picture's long side: 40 px of 1600.
RADIUS_SHARE = 0.025
#: Half the piece that is looked at, in radii: the edges of a corner at the radius must be seen for some way.
_HALF_IN_RADII = 3.0
#: A crossing less sure than this is no better than a careful eye, patch px.
_WORST_SD_PX = 2.5
#: Another place counts as equally likely unless it is this much farther away: so many times, and so many patch px more.
_TIMES_FARTHER, _PX_FARTHER = 1.5, 4.0
#: A skirting is this high in a picture, patch px, and its foot lies within 40 degrees of straight below its top.
_SKIRTING_PX, _COS_BELOW = (14.0, 90.0), float(np.cos(np.radians(40.0)))
#: Two edges of one wall run the same way within 12 degrees.
_COS_SAME_WALL = float(np.cos(np.radians(12.0)))

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Snap:
    """Where edges meet near a mark, px. sd_px: standard deviation of the place in its worst direction.

    lines_px: the edges that end there, each from the meeting place to as far as it was followed.
    """

    x_px: float
    y_px: float
    sd_px: float
    lines_px: tuple[tuple[Point, Point], ...]


def refuse_outside(mark_px: Point, size_px: tuple[int, int]) -> None:
    """Raises CaptureError ("mark-outside") for a mark outside a picture of this width and height."""
    width, height = size_px
    if not (0.0 <= mark_px[0] <= width - 1.0 and 0.0 <= mark_px[1] <= height - 1.0):
        raise CaptureError("mark-outside", lazy_gettext(
            "The mark at {x:g}, {y:g} lies outside the picture ({width} x {height} px); mark it again.",
            x=mark_px[0], y=mark_px[1], width=width, height=height))


def snap_mark(pixels: NDArray[np.uint8], mark_px: Point) -> Snap:
    """The foot of the corner next to a mark in a picture (h, w, 3) or (h, w).

    Raises CaptureError, saying what to do instead: "no-crossing" where edges are missing, pass one another or cross too
    flat, "two-crossings" where nothing tells which of two is meant, "mark-outside".
    """
    height, width = pixels.shape[:2]
    refuse_outside(mark_px, (width, height))
    radius = RADIUS_SHARE * max(height, width)
    patch = cut_patch(pixels, mark_px, _HALF_IN_RADII * radius)
    mark = patch.from_picture(np.array(mark_px))
    return _as_snap(patch, _chosen(find_meetings(patch), mark, radius * patch.zoom))


def _chosen(seen: Sequence[Meeting], mark: Array, radius: float) -> Meeting:
    """The meeting place that is meant. Raises CaptureError if none is worth trusting."""
    near = sorted((m for m in seen if _far(m, mark) <= radius), key=lambda m: _far(m, mark))
    feet = [m for m in near if not _is_top(m, seen)]
    ends = [m for m in feet if m.is_end]
    sure = [m for m in ([m for m in ends if m.is_coloured] or ends) if m.sd_px <= _WORST_SD_PX]
    if not sure:
        raise _refusal(near, feet, ends)
    first, *others = sure
    # What stands over the foot that was found is the top of the same skirting, and no rival to it.
    rivals = [m for m in near if m is not first and not _is_foot_of(first, m)]
    if any(m.is_front and _far(m, mark) < _far(first, mark) for m in rivals):
        raise _hidden()
    unclear = any(_may_be_foot_of(lower, first) for lower in seen)
    if unclear or any(m.is_end and _much_nearer(m, first, mark) for m in rivals) or any(not _much_nearer(first, m, mark)
                                                                                        for m in others):
        raise CaptureError("two-crossings", lazy_gettext(
            "Two corners are about equally likely near this mark; move it closer to the one you mean and try again."))
    return first


def _far(meeting: Meeting, mark: Array) -> float:
    return float(np.hypot(*(meeting.place - mark)))


def _much_nearer(one: Meeting, other: Meeting, mark: Array) -> bool:
    return _far(other, mark) >= _TIMES_FARTHER * _far(one, mark) + _PX_FARTHER


def _is_top(upper: Meeting, seen: Sequence[Meeting]) -> bool:
    """Whether this is the top of a skirting whose foot is seen too."""
    return any(_is_foot_of(lower, upper) for lower in seen)


def _is_foot_of(lower: Meeting, upper: Meeting) -> bool:
    """Whether the lower place is the foot of the skirting the upper is the top of: the level edges again, each ending
    there as a change of colour or as a stroke. A patch of sun under a skirting has its edges in light alone.
    """
    return _stands_over(upper, [ray for ray in lower.rays if not ray.goes_on and (ray.is_stroke or is_coloured(ray))],
                        lower)


def _may_be_foot_of(lower: Meeting, upper: Meeting) -> bool:
    """Whether nothing tells that the lower place is not the foot: its edges may go on, and be light alone as the
    upper's are."""
    return _stands_over(upper, [ray for ray in lower.rays if is_coloured(ray) or not upper.is_coloured], lower)


def _stands_over(upper: Meeting, rays: Sequence[Ray], lower: Meeting) -> bool:
    """Whether the upper place is a skirting's height above the lower and has each of its level edges among the rays
    there."""
    drop = lower.place - upper.place
    height = float(np.hypot(*drop))
    if not (_SKIRTING_PX[0] <= height <= _SKIRTING_PX[1] and drop[1] > _COS_BELOW * height):
        return False
    return all(any(ray.way @ other.way > _COS_SAME_WALL for other in rays) for ray in upper.level)


def _refusal(near: Sequence[Meeting], feet: Sequence[Meeting], ends: Sequence[Meeting]) -> CaptureError:
    """Why nothing near the mark can be trusted, and what to do."""
    if not near:
        return CaptureError("no-crossing", lazy_gettext(
            "No edges meet clearly near this mark: the picture may be dull or blurred there, or only one wall be "
            "seen; place it by eye."))
    if not feet:
        return CaptureError("no-crossing", lazy_gettext(
            "Only the top of a skirting is seen near this mark; move it down to the foot of the corner and try "
            "again."))
    if not ends:
        return _hidden()
    return CaptureError("no-crossing", lazy_gettext(
        "The edges near this mark cross at so flat an angle that your eye is surer; place it by eye."))


def _hidden() -> CaptureError:
    return CaptureError("no-crossing", lazy_gettext(
        "An edge near this mark runs on past the others, so the corner itself may be hidden; place it by eye, or "
        "mark the wall lines instead."))


def _as_snap(patch: Patch, meeting: Meeting) -> Snap:
    ends = np.array([[meeting.place, meeting.place + ray.length_px * ray.way] for ray in meeting.ending])
    (x, y), lines = patch.to_picture(meeting.place), patch.to_picture(ends)
    return Snap(x_px=float(x), y_px=float(y), sd_px=meeting.sd_px / patch.zoom,
                lines_px=tuple(((float(a[0]), float(a[1])), (float(b[0]), float(b[1]))) for a, b in lines))
