"""Why rows lie as they do, in one line, and what that avoids, for a picture: a last row that would be a sliver, or a
way that would take more boards or cuts."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from capture.floor import Floor
from capture.language.messages import ENGLISH, gettext, ngettext, spoken
from layout.facts.reasons import FirstRowWide
from layout.plan import Choice, Plan
from layout.words.plan import choice_words
from printpack.units import Units

#: Less than this is no row at all: the gap takes it up, mm.
_NO_ROW_MM = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Avoided:
    """What the plan avoids. u_deg: heading of its rows; first_mm: width of its first row; sliver_mm: width of its last
    row, where that is what is wrong with it; choice: the way that was weighed, if it is one."""

    u_deg: float
    first_mm: float
    sliver_mm: float = 0.0
    choice: Choice | None = None


def avoided(plan: Plan) -> Avoided | None:
    """The plainest thing this plan avoids; None where nothing worse was near."""
    taken = plan.choices[0]
    for reason in plan.reasons:
        if isinstance(reason, FirstRowWide) and reason.rule in ("shared", "keeps-wide") and not reason.in_doorway:
            left = (reason.width_mm + reason.last_mm) % plan.board.width_mm
            if _NO_ROW_MM < left < reason.narrowest_mm:
                return Avoided(u_deg=taken.u_deg, first_mm=plan.board.width_mm, sliver_mm=left)
    others = [other for other in plan.choices[1:] if _worse(other, taken)]
    if not others:
        return None
    worst = max(others, key=lambda other: (other.boards, other.cuts))
    return Avoided(u_deg=worst.u_deg, first_mm=worst.first_row_mm, choice=worst)


def _worse(other: Choice, taken: Choice) -> bool:
    return other.boards > taken.boards or (other.boards == taken.boards and other.cuts > taken.cuts)


def show_avoided(plan: Plan, floor: Floor, show: str) -> dict[str, Any] | None:
    """For the page: the line, captions of two pictures, and the rows of both; lines are ends across the whole floor,
    mm; strip: what would be left, between two distances along v, 0 0 for none."""
    found = avoided(plan)
    if found is None:
        return None
    units, taken = Units(show), plan.choices[0]
    way = choice_words(taken)
    if found.choice is None:
        says = gettext(
            "{way}: a first row of {first_row} leaves a last row of {last_row}; a whole board first would leave a "
            "strip of only {sliver}.", way=way, first_row=units.length(min(taken.first_row_mm, plan.board.width_mm)),
            last_row=units.length(taken.last_row_mm), sliver=units.length(found.sliver_mm))
        instead = gettext("Avoided: a last row of {sliver}", sliver=units.length(found.sliver_mm))
    else:
        more = _more(found.choice, taken)
        other = choice_words(found.choice)
        other = other[0].lower() + other[1:] if spoken() is ENGLISH else other  # elsewhere it may be a noun
        says = gettext("{way}: {other}, would take {more}.", way=way, other=other, more=more)
        instead = gettext("Avoided: {more}", more=more)
    return {"says": says, "taken": _rows(taken.u_deg, taken.first_row_mm, 0.0, plan, floor) | {"says": gettext(
        "As planned")},
            "avoided": _rows(found.u_deg, found.first_mm, found.sliver_mm, plan, floor) | {"says": instead}}


def _more(other: Choice, taken: Choice) -> str:
    boards, cuts = other.boards - taken.boards, other.cuts - taken.cuts
    return (ngettext("{count} board more", "{count} boards more", boards) if boards
            else ngettext("{count} cut more", "{count} cuts more", cuts))


def _rows(u_deg: float, first_mm: float, sliver_mm: float, plan: Plan, floor: Floor) -> dict[str, Any]:
    u = np.array([np.cos(np.radians(u_deg)), np.sin(np.radians(u_deg))])
    v = np.array([u[1], -u[0]])
    along, across = floor.ring() @ u, floor.ring() @ v
    begin, end = float(across.min()) + plan.gap_mm, float(across.max()) - plan.gap_mm
    seams = np.arange(begin + first_mm, end, plan.board.width_mm)
    ends = [[(u * s + v * t).round(1).tolist() for s in (along.min(), along.max())] for t in seams]
    strip = [end - sliver_mm, float(across.max())] if sliver_mm else [0.0, 0.0]
    return {"u": u.round(6).tolist(), "v": v.round(6).tolist(), "rows": ends, "strip": [round(t, 1) for t in strip]}
