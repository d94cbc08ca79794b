"""The room a revision of the kept plan was made for, its letter and the boards bought, as they stand under
`plan.day`: written and read back."""
from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from capture.language.messages import lazy_gettext
from layout.plan import Ring
from layout.planfile.reader import Reader, damaged, members_in, number_in, point_in, ring_in, shown, text_in
from layout.room import Pipe, Room

FIRST_LETTER = "A"
#: A letter stands in the name of a file and on every page: nothing but letters.
_LETTER = re.compile(r"[A-Z]{1,3}")
MOST_BOARDS = 100_000


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Revision:
    """What a revision adds to a plan: its letter, the boards bought (None: not told), and the room it was made for."""

    letter: str
    bought: int | None
    room: Room


def revision_tree(letter: str, bought: int, room: Room) -> dict[str, Any]:
    """A revision as it stands in job.json."""
    return {"letter": letter, "bought": bought, "outline": np.asarray(room.outline_mm).tolist(),
            "islands": [[name, np.asarray(ring).tolist()] for name, ring in room.islands],
            "pipes": [[pipe.name, list(map(float, pipe.centre_mm)), pipe.diameter_mm] for pipe in room.pipes]}


def read_revision(plan: dict[str, Any], surveyed: Room) -> Revision:
    """The revision under a kept plan's `day`; the surveyed room where there is none. Raises LayoutError
    (damaged-plan), naming the key."""
    if plan.get("day") is None:
        return Revision(letter=FIRST_LETTER, bought=None, room=surveyed)
    told = Reader(plan["day"], "plan.day")
    letter = told.text("letter")
    if not _LETTER.fullmatch(letter):
        raise damaged("plan.day.letter", lazy_gettext(
            "is {value}, but a revision has a letter such as B", value=shown(letter)))
    bought = told.whole("bought") if "bought" in told.data else None
    if bought is not None and not 0 <= bought <= MOST_BOARDS:
        raise damaged("plan.day.bought", lazy_gettext(
            "is {value}, but it must be how many boards were bought", value=bought))
    return Revision(letter=letter, bought=bought, room=_room(told, surveyed) if "outline" in told.data else surveyed)


def _room(told: Reader, surveyed: Room) -> Room:
    """The surveyed room as the revision moved it and added to it."""
    outline = told.ring("outline")
    if len(outline) != len(surveyed.names):
        raise damaged("plan.day.outline", lazy_gettext(
            "has {corners} corners, but the room has {others}", corners=len(outline), others=len(surveyed.names)))
    islands = tuple((text_in(*name), _ring(*ring))
                    for name, ring in (_several(*item, 2) for item in told.items("islands")))
    pipes = tuple(Pipe(name=text_in(*name), centre_mm=point_in(*at), diameter_mm=_diameter(*across))
                  for name, at, across in (_several(*item, 3) for item in told.items("pipes")))
    return replace(surveyed, outline_mm=np.array(outline, dtype=np.float64), pipes=pipes,
                   islands=tuple((name, np.array(ring, dtype=np.float64)) for name, ring in islands))


def _ring(value: object, where: str) -> Ring:
    ring = ring_in(value, where)
    if len(ring) < 3:
        raise damaged(where, lazy_gettext("has {corners} corners, but an island needs 3", corners=len(ring)))
    return ring


def _several(value: object, where: str, count: int) -> list[tuple[object, str]]:
    members = members_in(value, where)
    if len(members) != count:
        raise damaged(where, lazy_gettext("is {value}, not a list of {number}", value=shown(value), number=count))
    return members


def _diameter(value: object, where: str) -> float:
    across = number_in(value, where)
    if not 0.0 < across <= 500.0:
        raise damaged(where, lazy_gettext(
            "is {value}, but a pipe is above 0 and up to 500 mm across", value=shown(value)))
    return across
