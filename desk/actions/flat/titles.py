"""Rooms and floors of a flat by their titles, as a person reads them. Folders are named where a file is meant, and on
wood: what is pencilled on an offcut begins with the folder of the floor that takes it, which no new title alters.
"""
from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from capture.language.messages import listed
from desk.jobfile.job import Job
from layout.facts.purchases import Collars, Purchase, Threshold
from layout.flat_plan import FlatPlan, LayingOrder, PassageChoice
from layout.plan import Plan
from layout.room import Elsewhere

#: A title longer than this is cut short where it is one of several in a line, letters.
LONGEST = 40

#: Titles by the names of rooms or floors.
Titles = Mapping[str, str]


def room_titles(rooms: Sequence[str], jobs: Mapping[str, Job]) -> dict[str, str]:
    """A title for every room, no two alike: its folder's name is added where another has the same title, and stands for
    that of a room without one."""
    own = {name: short(jobs[name].title, LONGEST) if name in jobs and jobs[name].title else name for name in rooms}
    count = Counter(title.casefold() for title in own.values())
    return {name: title if count[title.casefold()] == 1 or title == name else f"{title} ({name})"
            for name, title in own.items()}


def short(title: str, longest: int) -> str:
    """A title on one line, of so many letters at most."""
    words = " ".join(title.split())
    return words if len(words) <= longest else f"{words[:longest - 1].rstrip()}…"


def floor_titles(groups: Mapping[str, Sequence[str]], titles: Titles, numbers: Mapping[str, int]) -> dict[str, str]:
    """A title for every floor: those of its rooms, in the order of their numbers."""
    return {floor: listed([titles[name] for name in sorted(group, key=lambda name: numbers[name])])
            for floor, group in groups.items()}


def titled_groups(groups: Mapping[str, Sequence[str]], titles: Titles) -> list[list[str]]:
    """The rooms of each floor by their titles."""
    return [[titles[name] for name in group] for group in groups.values()]


def titled_order(order: LayingOrder, titles: Titles) -> LayingOrder:
    """An order of laying with titles for the rooms' names."""
    return replace(order, rooms=tuple(titles[name] for name in order.rooms), entrance=titles[order.entrance])


def titled_passage(choice: PassageChoice, titles: Titles) -> PassageChoice:
    """A doorway with titles for its rooms' names."""
    a, b = choice.rooms
    return replace(choice, rooms=(titles[a], titles[b]))


def titled_flat(flat: FlatPlan, titles: Titles) -> FlatPlan:
    """What is said of a flat together, with titles for the names of its floors; floors and bars keep theirs."""
    return replace(flat, kinds=tuple(replace(kind, floors=tuple(titles[name] for name in kind.floors))
                                     for kind in flat.kinds),
                   travels=tuple(replace(one, from_floor=titles.get(one.from_floor, one.from_floor),
                                         to_floor=titles[one.to_floor]) for one in flat.travels),
                   shopping=tuple(replace(item, purchase=_titled_purchase(item.purchase, titles))
                                  for item in flat.shopping))


def titled_plan(plan: Plan, titles: Titles) -> Plan:
    """A floor's plan that calls the other floors by their titles; what is pencilled stays."""
    return replace(plan, owned=tuple(replace(own, came_from=_titled(own.came_from, titles)) for own in plan.owned),
                   offcuts=tuple(replace(offcut, goes_to=_titled(offcut.goes_to, titles)) for offcut in plan.offcuts))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Titled(Elsewhere):
    """A piece of another floor, called by the title of that; folder: its name on wood."""

    folder: str

    @property
    def label(self) -> str:
        return f"{self.folder} {self.piece}"


def _titled(place: Elsewhere | None, titles: Titles) -> Elsewhere | None:
    if place is None:
        return None
    return _Titled(floor=titles.get(place.floor, place.floor), piece=place.piece, folder=place.floor)


def _titled_purchase(good: Purchase, titles: Titles) -> Purchase:
    """What is bought for doors or pipes of several floors, which are named floor first."""
    if isinstance(good, Threshold):
        return replace(good, door=_titled_name(good.door, titles))
    if isinstance(good, Collars):
        return replace(good, pipes=tuple(_titled_name(pipe, titles) for pipe in good.pipes))
    return good


def _titled_name(named: str, titles: Titles) -> str:
    floor = max((name for name in titles if named.startswith(f"{name} ")), key=len, default="")
    return f"{titles[floor]} {named[len(floor) + 1:]}" if floor else named
