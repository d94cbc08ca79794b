"""Doors: what each asks for before the first row, as figures; and the few sentences that hold for all.

Under a leaf lie the boards, their underlay and the profile in the doorway, and air. A profile stands 5 mm over the
boards and 3 mm of air is enough (common practice, no source). An undercut is 1 mm higher than board and underlay
(common practice) and 10 mm deeper than the gap (trade advice pages, quoted second-hand). Floors within 3 mm are level
to a profile (common practice, no source). What a door weighs is from memory. Fire doors: BS 8214:2016, 12.3, and NFPA
80:2007, 4.8.4, both quoted second-hand.
"""
from __future__ import annotations

from dataclasses import dataclass

from capture.language.messages import gettext, marked, worded
from layout.region.doorways import LEAST_REVEAL_MM, TUCK_MM, UNDERCUT_CLEARANCE_MM
from layout.room import Door
from printpack.job import PackJob
from printpack.units import Units

PROFILE_MM, AIR_MM = 5.0, 3.0
#: A step up to this is none, and one beyond that trips people (1/2 in, an American limit quoted second-hand), mm.
LEVEL_MM, TRIP_MM = 3.0, 13.0

#: What a door leaf weighs (from memory, no source).
_WEIGHT = {"metric": marked("15 to 40\u00a0kg"), "imperial": marked("30 to 90\u00a0lb")}
FIRE_DOORS = marked(
    "Never trim or undercut a fire door, its frame or a flat’s entrance door: only its maker or certifier may say what "
    "is allowed. Ask the landlord or the building authority first.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """What lies under a leaf, from the bare floor up, mm."""

    board_mm: float
    underlay_mm: float
    profile_mm: float = PROFILE_MM
    air_mm: float = AIR_MM

    @property
    def floor_mm(self) -> float:
        """The new floor's height."""
        return self.board_mm + self.underlay_mm

    @property
    def leaf_mm(self) -> float:
        """How high the leaf's foot must be."""
        return self.floor_mm + self.profile_mm + self.air_mm

    @property
    def undercut_mm(self) -> float:
        """How high a casing is sawn."""
        return self.floor_mm + UNDERCUT_CLEARANCE_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorFacts:
    """One door. depth_mm: from the wall line to the profile's middle (0: the boards stop at the wall). step_mm: how far
    the floor next door lies above the new one (None: not told). undercut: whether its casing is sawn; thin: whether
    that is no thicker than the gap, which then shows in front of it."""

    door: Door
    depth_mm: float
    step_mm: float | None
    undercut: bool
    thin: bool

    @property
    def blocked(self) -> bool:
        """Whether its doorway was to be laid and runs into another part of the floor."""
        return not self.depth_mm and self.door.reveal_mm >= LEAST_REVEAL_MM


def stack_of(job: PackJob) -> Stack:
    """Of the boards and underlay of a job."""
    return Stack(board_mm=job.plan.board.thickness_mm, underlay_mm=job.underlay_mm)


def undercut_mm(job: PackJob) -> float:
    """How high a casing is sawn over the bare floor, mm."""
    return stack_of(job).undercut_mm


def undercut_deep_mm(job: PackJob) -> float:
    """How deep a casing is sawn: the board's reach under it and the gap behind."""
    return job.plan.gap_mm + TUCK_MM


def door_facts(job: PackJob) -> tuple[DoorFacts, ...]:
    """Every door of the room."""
    ways = {way.door: way.depth_mm for way in job.plan.doorways}
    return tuple(DoorFacts(door=door, depth_mm=ways.get(door.name, 0.0), undercut=door.casing is not None,
                           thin=door.casing is not None and door.casing.thickness_mm <= job.plan.gap_mm,
                           step_mm=None if door.next_floor_mm is None else door.next_floor_mm - stack_of(job).floor_mm)
                 for door in job.room.doors)


def profile_words(facts: DoorFacts, units: Units) -> str:
    """Which profile, by the step to the floor next door."""
    step = facts.step_mm
    if step is None:
        return gettext("measure next door")
    if abs(step) <= LEVEL_MM:
        return gettext("level: flat profile")
    told = {"step": units.fine(abs(step)), "ramp": units.terms.ramp}
    if abs(step) > TRIP_MM:
        return (gettext("{step} higher there: {ramp}, a trip edge", **told) if step > 0
                else gettext("{step} lower there: {ramp}, a trip edge", **told))
    return (gettext("{step} higher there: {ramp}", **told) if step > 0
            else gettext("{step} lower there: {ramp}", **told))


def depth_words(facts: DoorFacts, units: Units) -> str:
    """How far the boards' floor goes into the opening."""
    if facts.depth_mm:
        return units.length(facts.depth_mm)
    return gettext("check its wall: it runs into other floor") if facts.blocked else gettext("stops at the wall")


def undercut_words(facts: DoorFacts, units: Units) -> str:
    """Whether the casing is sawn; how high and deep is the same at every door."""
    if facts.thin:
        return gettext("as drawn; {beading} in front", beading=units.terms.beading)
    return gettext("as drawn") if facts.undercut else gettext("none")


def stops_words(facts: tuple[DoorFacts, ...]) -> str:
    """What to do where the boards stop at the wall; "" if they do nowhere."""
    if not any(not each.depth_mm and not each.blocked for each in facts):
        return ""
    return gettext(
        "Where they stop at the wall, a strip in the doorway is still to be laid: type the opening’s depth to have it "
        "planned.")


def fire_gap(show: str) -> str:
    """The gap the rules know, as quoted."""
    if show == "imperial":
        return gettext(
            'Under a fire door NFPA 80:2007, 4.8.4, allows 3/4" at most (quoted second-hand); its label and your local '
            "code decide.")
    return gettext(
        "Under a fire door BS 8214:2016, 12.3, allows 3\u00a0mm at most where smoke is to be held back, or a seal; "
        "else what its certificate says, usually 6 to 10\u00a0mm (quoted second-hand).")


def before_rows(job: PackJob) -> tuple[tuple[str, str], ...]:
    """(lead, text) of what is done at any door, in order."""
    units, terms = job.units, job.units.terms
    return (
        (gettext("Measure under the closed leaf"), _under_leaf(units, units.at_least(stack_of(job).leaf_mm))),
        (gettext("Take the door off"), gettext(
            "Open it and wedge it from below; take out the hinge pins or screws, the lower hinge first. Two people: it "
            "weighs {weight}.", weight=worded(_WEIGHT[units.show]))),
        (gettext("Undercut casing, {lining} and {stop}", lining=terms.lining, stop=terms.stop), gettext(
            "Lay a saw flat on a scrap of board on a scrap of underlay: that is the height. Metal frames are never "
            "cut: saw the board to their shape, with its gap. Old paint may hold lead: wet it, no dust.")),
        (gettext("The {profile}", profile=terms.profile), gettext(
            "Its middle lies under the closed leaf. Screws go into the floor below and touch no board. First find what "
            "lies there: pipes, cables, heating. Over floor heating glue it, never drill. A step over {step} trips "
            "people.", step=units.fine(TRIP_MM))),
    )


def _under_leaf(units: Units, least: str) -> str:
    """How high a leaf must stand; in metric with the English rule on air (Approved Document F)."""
    if units.show == "metric":
        return gettext(
            "Less than {least} over the bare floor: the leaf is shortened, by a joiner if you never did. Cupboard "
            "doors too. Does the gap let air in for a fire, a boiler or a fan? Then more must stay: 10\u00a0mm over "
            "the finished floor at a 760\u00a0mm leaf (England, Approved Document F).", least=least)
    return gettext(
        "Less than {least} over the bare floor: the leaf is shortened, by a joiner if you never did. Cupboard doors "
        "too. Does the gap let air in for a fire, a boiler or a fan? Then more must stay.", least=least)


def door_points(job: PackJob) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    """(what holds for every door, (lead, text) of each door in turn): the page on doors as lines of text."""
    units, stack = job.units, stack_of(job)
    general = tuple(f"{lead}. {text}" for lead, text in before_rows(job))
    leaf = gettext(
        "Under the leaf {leaf} over the bare floor: board {board}, underlay {underlay}, profile {profile}, air {air}. "
        "Undercut {undercut} high, {deep} deep.", leaf=units.at_least(stack.leaf_mm), board=units.fine(stack.board_mm),
        underlay=units.fine(stack.underlay_mm), profile=units.fine(stack.profile_mm), air=units.fine(stack.air_mm),
        undercut=units.at_least(stack.undercut_mm), deep=units.at_least(undercut_deep_mm(job)))
    return (leaf, *general, fire_gap(job.show)), tuple(_door_point(facts, units) for facts in door_facts(job))


def _door_point(facts: DoorFacts, units: Units) -> tuple[str, str]:
    """(lead, text) of one door."""
    door = facts.door
    lead = gettext("Door {name}, {width} wide, in wall {a}–{b}", name=door.name, width=units.length(door.width_mm),
                   a=door.wall[0], b=door.wall[1])
    told = {"depth": depth_words(facts, units), "profile": profile_words(facts, units)}
    if facts.undercut:
        return lead, gettext("Profile’s middle: {depth}. Casing undercut. Next door: {profile}.", **told)
    return lead, gettext("Profile’s middle: {depth}. Casing not undercut. Next door: {profile}.", **told)
