"""What was seen in photos, in sentences for people and as data for programs."""
from __future__ import annotations

import math
from typing import Any

from capture.seeing.proposals import CornerSeen
from desk.actions.look import Looked, PhotoLooked

#: A corner so sure is offered without a question mark.
_SURE = 0.8


def look_answer(looked: Looked) -> dict[str, Any]:
    """The `look --json` object: angles in degrees, places in px of the upright picture."""
    return {"format": "tapegroove-look", "version": 1,
            "photos": [_photo(one, points) for one, points in zip(looked.photos, looked.letters.points)],
            "outline": list(looked.letters.outline) if looked.letters.outline else None,
            "apart": [looked.photos[k].file for k in looked.letters.apart]}


def say_look(looked: Looked) -> str:
    """What each photo shows, and what to do with it."""
    if not looked.photos:
        return ("The job has no photos yet. Put them into its folder photos and list them in job.json, or add them on "
                "the page.\n")
    lines = []
    for one, points in zip(looked.photos, looked.letters.points):
        lines.append(f"{one.file}: {_summary(one)}")
        lines += [
            f"  {point or '?'}: {corner.x_px:.1f}, {corner.y_px:.1f}{'' if corner.sure >= _SURE else ' (not sure)'}"
            for corner, point in zip(one.found.corners, points)]
    lines += [f"{looked.photos[k].file} shares no three corners with another photo; perhaps it is of another room."
              for k in looked.letters.apart]
    if looked.letters.outline:
        lines.append(f"Round the room: {', '.join(looked.letters.outline)}.")
    if any(one.found.corners for one in looked.photos):
        lines.append("These are proposals: check each before you use it. Nothing in the job was changed.")
    return "\n".join(lines) + "\n"


def _summary(one: PhotoLooked) -> str:
    if one.fault or one.found.says:
        return one.fault.removeprefix(f"{one.file}: ") or one.found.says
    corners, lines = len(one.found.corners), len(one.found.lines)
    return f"{_count(corners, 'floor corner')} and {_count(lines, 'floor line')} seen"


def _count(number: int, what: str) -> str:
    return f"{number or 'no'} {what}{'' if number == 1 else 's'}"


def _photo(one: PhotoLooked, points: tuple[str | None, ...]) -> dict[str, Any]:
    found = one.found
    return {"file": one.file, "tilt": math.degrees(found.tilt_rad), "roll": math.degrees(found.roll_rad),
            "seconds": one.seconds, "corners": [_corner(corner, point) for corner, point in zip(found.corners, points)],
            "lines": [{"points": [list(end) for end in line.ends_px], "sure": line.sure,
                       "wall": _wall(line.corners, points)} for line in found.lines], "says": one.fault or found.says}


def _corner(corner: CornerSeen, point: str | None) -> dict[str, Any]:
    return {"x": corner.x_px, "y": corner.y_px, "sd": corner.sd_px, "kind": corner.kind, "convex": corner.convex,
            "sure": corner.sure, "point": point}


def _wall(corners: tuple[int | None, int | None], points: tuple[str | None, ...]) -> list[str] | None:
    one, other = (points[k] if k is not None else None for k in corners)
    return [one, other] if one and other else None
