"""What the two sides of every doorway of a flat tell, as sentences beside what else is wrong and as plain data."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, TypeVar

from capture.floor import Z95
from desk.actions.flat.gathering import no_thickness
from desk.actions.flat.titles import Titles
from desk.jobfile.house_file import HouseEntry
from desk.problem import Problem
from layout.flat.fitting import FittedRooms
from layout.flat_plan import DoorwayDoubt, MeasuredDoorway, RingClosure
from layout.words.doorways import closure_words, doubt_words, measured_words, widths_words


_Sided = TypeVar("_Sided", MeasuredDoorway, RingClosure, DoorwayDoubt)


def doorway_problems(entry: HouseEntry, fitted: FittedRooms, show: str, titles: Titles) -> tuple[Problem, ...]:
    """Doorways left out as nothing tells how thick their wall is; widths that disagree; distances to measure again."""
    unsure = {(passage.rooms, passage.doors) for passage in fitted.unsure}
    return (*(no_thickness(one) for one in entry.doorways if (one.rooms, one.doors) in unsure),
            *(Problem(slug="widths-differ", where=f"{one.rooms[0]} {one.doors[0]}", stage="plan", severity="note",
                      says=widths_words(_titled(one, titles), show)) for one in fitted.doorways if not one.agrees),
            *_doubts(fitted, show, titles))


def doorway_lines(fitted: FittedRooms, show: str, titles: Titles) -> tuple[list[str], list[str]]:
    """(how every ring of rooms closes, what both sides make of every doorway), as sentences."""
    return ([closure_words(_titled(one, titles), show) for one in fitted.closures],
            [measured_words(_titled(one, titles), show) for one in fitted.doorways])


def _doubts(fitted: FittedRooms, show: str, titles: Titles) -> Iterator[Problem]:
    """A sentence for every reading that stands alone as wrong, and one for all that cannot be told apart."""
    together = [one for one in fitted.doubts if not one.left_out]
    for doubts in (*([one] for one in fitted.doubts if one.left_out), together):
        if doubts:
            yield Problem(slug="doorway-doubted", where=f"{doubts[0].room} {doubts[0].door}", stage="plan",
                          severity="note", says=doubt_words([_titled_doubt(one, titles) for one in doubts], show))


def measured_answer(fitted: FittedRooms, rooms: tuple[str, str], doors: tuple[str, str], show: str,
                    titles: Titles) -> dict[str, Any]:
    """What both sides make of a doorway that fits; lengths mm."""
    one = next(one for one in fitted.doorways if (one.rooms, one.doors) == (rooms, doors))
    return {"width": _mm(one.width_mm), "width_pm95": _mm(Z95 * one.width_sd_mm), "widths": list(one.widths_mm),
            "agree": one.agrees, "most_apart": _mm(one.most_apart_mm), "from": [_mm(at) for at in one.from_mm],
            "thickness": _mm(one.thickness_mm), "thickness_pm95": _mm(Z95 * one.thickness_sd_mm),
            "thickness_by": one.thickness_by, "says": _said(_titled(one, titles), show)}


def rings_answer(fitted: FittedRooms, show: str, titles: Titles) -> list[dict[str, Any]]:
    """How every ring of rooms closes; lengths mm."""
    return [{"rooms": list(one.rooms), "doors": list(one.doors), "along": _mm(one.along_mm),
             "along_pm95": _mm(Z95 * one.along_sd_mm), "across": _mm(one.across_mm),
             "across_pm95": _mm(Z95 * one.across_sd_mm), "off": _mm(one.off_mm), "most": _mm(one.most_mm),
             "closes": one.closes, "says": closure_words(_titled(one, titles), show)} for one in fitted.closures]


def doubts_answer(fitted: FittedRooms) -> list[dict[str, Any]]:
    """The readings that the others contradict, likeliest first; lengths mm."""
    return [{"rooms": list(one.rooms), "reading": one.reading, "room": one.room, "door": one.door,
             "corner": one.corner, "told": _mm(one.told_mm), "should": _mm(one.should_mm),
             "should_pm95": _mm(Z95 * one.should_sd_mm), "left_out": one.left_out} for one in fitted.doubts]


def _titled(one: _Sided, titles: Titles) -> _Sided:
    a, b = one.rooms
    return replace(one, rooms=(titles.get(a, a), titles.get(b, b)))


def _titled_doubt(one: DoorwayDoubt, titles: Titles) -> DoorwayDoubt:
    return replace(_titled(one, titles), room=titles.get(one.room, one.room))


def _said(one: MeasuredDoorway, show: str) -> str:
    return measured_words(one, show) if one.agrees else f"{widths_words(one, show)} {measured_words(one, show)}"


def _mm(value: float) -> float:
    return round(value, 1)
