"""Which steps a plan needs, and the few words beside each drawing.

All are common practice without a source, but for what a comment names; the board maker's leaflet overrides them.
"""
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from capture.language.messages import gettext
from layout.plan import Plan, Run
from printpack.drawing.frames import box_of, in_rows
from printpack.howto import from_above, sections
from printpack.howto.scene import Scene
from printpack.units import Units

#: Places of the last row as long at both ends as this are sawn parallel, mm (fitters' habit).
PARALLEL_MM = 2.0


@dataclass(frozen=True, slots=True)
class Step:
    """One step: its name, its drawing, one or two short sentences."""

    name: str
    scene: Scene
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Needs:
    """What a plan's room asks for beyond the basics."""

    pipes: bool
    casings: bool
    broken: bool


def needs_of(plan: Plan, *, casings: bool) -> Needs:
    """From the plan; `casings`: whether a door has one that is undercut."""
    return Needs(pipes=any(hole.pieces for hole in plan.holes), casings=casings,
                 broken=any(sum(not _in_doorway(plan, run) for run in row.runs) > 1 for row in plan.rows))


def _in_doorway(plan: Plan, run: Run) -> bool:
    """Whether a stretch of a row lies in the opening of a door."""
    left, near, right, far = box_of(*(in_rows(plan, piece.outline_mm) for piece in run.pieces))
    reach = plan.gap_mm + plan.board.width_mm / 2
    ways = (box_of(in_rows(plan, way.outline)) for way in plan.doorways)
    return any(west - reach < left and right < east + reach and north - reach < near and far < south + reach
               for west, north, east, south in ways)


def steps_for(plan: Plan, needs: Needs, units: Units) -> tuple[Step, ...]:
    """In the order they are met."""
    gap = units.length(plan.gap_mm)
    every: tuple[tuple[bool, str, Callable[[], Scene], str], ...] = (
        (True, gettext("Which way round"), sections.way_round, gettext(
            "Decor side up. The gap counts from the tongue’s tip: or saw the tongue off. Some boards are made the "
            "other way round: try two scraps first.")),
        (True, gettext("Click"), sections.click, gettext(
            "Hold it at a slant, push, lower it. No gap may show. Short ends click as the boards’ leaflet says.")),
        (True, gettext("Unclick"), sections.unclick, gettext(
            "Lift the whole row together. Then slide its boards apart, lengthwise. Never lever one up.")),
        (True, gettext("Tap with a block"), sections.tap, gettext("Light taps. Never hit the bare lip or tongue.")),
        (True, gettext("Rows 1 to 3"), from_above.first_rows, gettext(
            "Row 1 follows the string, not the wall. Spacers of {gap}: two a board, one at each row’s end.", gap=gap)),
        (True, gettext("The piece that closes a row"), from_above.closing, gettext(
            "From the joint to the spacer: one length, sawn square. Pencil on the rest where it goes.")),
        (True, gettext("Pull bar"), sections.pull, gettext(
            "At the end of a row and along the last row. The joint must close.")),
        (True, gettext("Where it cannot be tilted"), lambda: sections.flat(casing=needs.casings), gettext(
            "Under a casing or a radiator, or between two walls. Glue (D3) on the planed lip, then push it in flat.")),
        (needs.pipes, gettext("A pipe"), from_above.pipe, gettext(
            "The hole leaves {gap} round the pipe. Glue the wedge to its board only, not to the pipe or below.",
            gap=gap)),
        (needs.broken, gettext("Rows on both sides of a corner"), from_above.broken, gettext(
            "Both sides lie on one line before they meet: try it with a whole board.")),
        (True, gettext("The last row"), from_above.last_row, gettext(
            "Measure each place at both ends, to the spacer. Alike within {same}: saw parallel. Else saw the slant.",
            same=units.fine(PARALLEL_MM))),
        (True, gettext("Stop at the end of a row"), from_above.night, gettext(
            "Spacers stay in, nothing heavy on the boards, packs closed and flat. Never stop within a row.")),
    )
    return tuple(Step(name, scene(), words) for wanted, name, scene, words in every if wanted)
