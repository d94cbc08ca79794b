"""What was seen in photos, in sentences for people and as data for programs."""
from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from capture.language.messages import gettext, led, listed, ngettext, worded
from capture.seeing.contradictions import Contradiction
from capture.seeing.known_letters import NEW
from capture.seeing.proposals import CornerSeen, Proposals
from desk.actions.look import Looked, PhotoLooked

#: A corner so sure is offered without a question mark.
_SURE = 0.8


def look_answer(looked: Looked) -> dict[str, Any]:
    """The `look --json` object: angles in degrees, places in px of the upright picture."""
    return {"format": "tapegroove-look", "version": 1,
            "photos": [_photo(one, points) for one, points in zip(looked.photos, looked.letters.points)],
            "outline": list(looked.letters.outline) if looked.letters.outline else None,
            "apart": [looked.photos[k].file for k in looked.letters.apart]}


def show_seen(found: Proposals, letters: Sequence[str | None],
              against: Sequence[Contradiction]) -> dict[str, Any]:
    """What the page shows of one photo: px of the upright picture, and sentences. `fresh`: a corner of the room that
    nobody has named yet."""
    return {"corners": [{"x": round(corner.x_px, 2), "y": round(corner.y_px, 2), "sd": round(corner.sd_px, 2),
                         "sure": corner.sure >= _SURE, "point": None if point == NEW else point,
                         "fresh": point == NEW}
                        for corner, point in zip(found.corners, letters)],
            "lines": [[list(end) for end in line.ends_px] for line in found.lines if line.sure >= _SURE],
            "says": worded(found.says), "against": [say_contradiction(one) for one in against]}


def say_contradiction(one: Contradiction) -> str:
    """A contradiction in the marks, and what to look at."""
    names, photos = [*one.points], [number + 1 for number in one.photos]
    match one.what:
        case "mirrored":
            return gettext(
                "{names} run the other way round in photo {other} than in photo {photo}, as in a mirror; "
                "letters of one of the two photos are swapped from left to right.", names=listed(names),
                other=photos[1], photo=photos[0])
        case "crossing":
            return gettext(
                "In photo {photo} wall {a} to {b} crosses wall {c} to {d}; look at their "
                "letters here, and at the order of the corners.", photo=photos[0], a=names[0],
                b=names[1], c=names[2], d=names[3])
        case "one-corner":
            return gettext(
                "In photo {photo} {a} and {b} lie on one spot; take one of them off.",
                photo=photos[0], a=names[0], b=names[1])
        case "unseen-wall":
            return gettext(
                "Wall {a} to {b} was taped, but no photo shows it from end to end; check the two "
                "letters of that length.", a=names[0], b=names[1])


def say_look(looked: Looked) -> str:
    """What each photo shows, and what to do with it."""
    if not looked.photos:
        return gettext(
            "The job has no photos yet. Put them into its folder photos and list them in job.json, or add them on "
            "the page.\n")
    lines, unsure = [], gettext("not sure")
    for one, points in zip(looked.photos, looked.letters.points):
        lines.append(one.fault or led(one.file, _summary(one)))
        lines += [
            f"  {point or '?'}: {corner.x_px:.1f}, {corner.y_px:.1f}" + ("" if corner.sure >= _SURE else f" ({unsure})")
            for corner, point in zip(one.found.corners, points)]
    lines += [gettext(
        "{file} shares no three corners with another photo; perhaps it is of another room.",
        file=looked.photos[k].file)
              for k in looked.letters.apart]
    if looked.letters.outline:
        lines.append(gettext("Round the room: {outline}.", outline=', '.join(looked.letters.outline)))
    if any(one.found.corners for one in looked.photos):
        lines.append(gettext("These are proposals: check each before you use it. Nothing in the job was changed."))
    return "\n".join(lines) + "\n"


def _summary(one: PhotoLooked) -> str:
    if one.found.says:
        return worded(one.found.says)
    corners, lines = len(one.found.corners), len(one.found.lines)
    return gettext(
        "{corners} and {lines} seen",
        corners=ngettext("{count} floor corner", "{count} floor corners", corners) if corners
        else gettext("no floor corners"),
        lines=ngettext("{count} floor line", "{count} floor lines", lines) if lines else gettext("no floor lines"))


def _photo(one: PhotoLooked, points: tuple[str | None, ...]) -> dict[str, Any]:
    found = one.found
    return {"file": one.file, "tilt": math.degrees(found.tilt_rad), "roll": math.degrees(found.roll_rad),
            "seconds": one.seconds, "corners": [_corner(corner, point) for corner, point in zip(found.corners, points)],
            "lines": [{"points": [list(end) for end in line.ends_px], "sure": line.sure,
                       "wall": _wall(line.corners, points)} for line in found.lines],
            "says": one.fault or worded(found.says)}


def _corner(corner: CornerSeen, point: str | None) -> dict[str, Any]:
    return {"x": corner.x_px, "y": corner.y_px, "sd": corner.sd_px, "kind": corner.kind, "convex": corner.convex,
            "sure": corner.sure, "point": point}


def _wall(corners: tuple[int | None, int | None], points: tuple[str | None, ...]) -> list[str] | None:
    one, other = (points[k] if k is not None else None for k in corners)
    return [one, other] if one and other else None
