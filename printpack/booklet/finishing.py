"""Doors before the floor, and the work after it: beading with saw angles, profiles, collars.

The gauge for undercutting is a scrap of board on a scrap of underlay (trade practice, no source).
"""
from __future__ import annotations

from layout.materials.beading import outside_ends
from layout.room import Door
from layout.words.purchases import sawn_words, stretch_words
from printpack.drawing.page_layout import (
    BODY, SMALL, Block, Page, column_width, heading, pages_of, paragraph, point, table)
from printpack.drawing.hatch import hatch
from printpack.job import PackJob
from printpack.booklet.lists import undercut_mm
from printpack.paper import Paper
from printpack.drawing.sheet import DASHED, FINE, HAIR, MEDIUM, STRONG, Item, Line, Text, rectangle


FIRE_DOORS = ("Never trim a fire door or a flat's entrance door: its gap is fixed by its certificate and the law. Ask "
              "the landlord or the"
              " building authority.")

MITRES = ("The angle is what the saw is set to. In: an inside corner, the front edge is the shorter. Out: an outside "
          "corner, the front edge is the"
          " longer, and the length is along the wall. Try each angle on two scraps first.")
#: A saw set to less cuts square, degrees.
_SQUARE_DEG = 0.05


def door_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """One page on doors; none if the room has none."""
    if not job.room.doors:
        return ()
    width = column_width(paper)
    general, doors = door_points(job)
    blocks = [_gauge(job, width), *(point(text, width, tick=True) for text in general), heading("Each door", width),
              *(point(text, width, lead=lead, tick=bool(lead)) for lead, text in doors),
              paragraph(FIRE_DOORS, width, bold=True)]
    return pages_of(blocks, paper, bookmark="Doors", title="Doors, before the first row")


def door_points(job: PackJob) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    """(what holds for every door, (lead or "", text) of each door in turn)."""
    units = job.units
    rise = job.plan.board.thickness_mm + job.underlay_mm
    general = ("Lay a scrap of board on a scrap of underlay against the casing. Rest a fine saw flat on it and saw. "
               "The scrap is the"
               " gauge: trust it before the figure.",
               f"Undercut deep enough for the boards to reach {units.length(10)} under the casing and still keep the"
               f" {units.length(job.plan.gap_mm)} gap behind it.",
               "Metal frames are not cut: saw the board to their shape and keep the gap.")
    return general, tuple(line for door in job.room.doors for line in _door(job, door, rise))


def _gauge(job: PackJob, width: float) -> Block:
    """A section, twice life size, of the casing over board and underlay."""
    scale = 2.0
    board, under, cut = (scale * v for v in (job.plan.board.thickness_mm, job.underlay_mm, undercut_mm(job)))
    floor, wide = 12.0 + cut + 10.0, 62.0
    casing = rectangle(wide - 22.0, 2.0, 22.0, floor - cut - 2.0, pen=MEDIUM)
    items: list[Item] = [*hatch((casing.points,), spacing_mm=3.0), casing,
                         rectangle(0.0, floor - under - board, wide - 26.0, board, pen=FINE, fill=0.85),
                         rectangle(0.0, floor - under, wide - 26.0, under, pen=HAIR, fill=0.95),
                         Line((-2.0, floor), (wide + 8.0, floor), STRONG),
                         Line((wide + 2.0, floor - cut), (wide + 8.0, floor - cut), FINE),
                         Line((wide - 26.0, floor - cut), (wide + 2.0, floor - cut), DASHED)]
    note = f"saw {job.units.fine(undercut_mm(job))} above the bare floor:"
    more = (f"board {job.units.fine(job.plan.board.thickness_mm)} + underlay {job.units.fine(job.underlay_mm)} + "
            f"{job.units.fine(1.0)}"
            " to slide under")
    items += [Text((wide + 10.0, floor - cut + 1.2), note, BODY, bold=True),
              Text((wide + 10.0, floor - cut + 7.0), more, SMALL), Text((wide + 2.0, 7.0), "casing", SMALL),
              Text((wide + 10.0, floor + 1.0), "bare floor", SMALL)]
    return Block(height_mm=floor + 6.0, items=tuple(items))


def _door(job: PackJob, door: Door, rise: float) -> list[tuple[str, str]]:
    units = job.units
    place = f"Door {door.name}, {units.length(door.width_mm)} wide, in wall {door.wall[0]}–{door.wall[1]}"
    lines = [
        (
            place,
            f"The floor rises by {units.fine(rise)}. Under the leaf keep at least {units.length(rise + 4)} above the "
            "bare floor, so"
            f" {units.fine(4)} stay free; more if the leaf lets air in for a fire or a fan. Measure it first.",
        )
    ]
    way = next((way for way in job.plan.doorways if way.door == door.name), None)
    if way:
        lines.append(
            (
                "",
                "The boards run into the doorway. The profile's middle lies under the closed leaf, "
                f"{units.length(way.depth_mm)} from the wall line; the boards stop {units.length(job.plan.gap_mm)} "
                "short of it. Fix it to the subfloor only.",
            )
        )
    elif door.reveal_mm:
        lines.append(
            (
                "",
                f"The reveal is {units.length(door.reveal_mm)} deep. The profile's middle lies under the closed leaf; "
                "the boards stop"
                f" {units.length(job.plan.gap_mm)} short of its web. Fix it to the subfloor only.",
            )
        )
    if door.casing:
        lines.append(("", (f"Casing {units.length(door.casing.width_mm)} wide, "
                           f"{units.length(door.casing.thickness_mm)} thick: undercut both sides.")))
    return lines


def finishing_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """Spacers out, beading, profiles, collars."""
    width, units = column_width(paper), job.units
    blocks = [point(text, width, tick=True) for text in finishing_points(job)]
    if job.plan.beading:
        rows = beading_rows(job)
        total = sum(piece.length_mm for piece in job.plan.beading)
        shares = tuple((width - 8.0) * share for share in (0.34, 0.26, 0.2, 0.2))
        blocks += [heading("Beading", width),
                   paragraph(
            f"Measure each wall in place before you saw. Left and right as you face the wall. {MITRES}", width),
                   *table(("wall", "length", "left end", "right end"), rows, shares, ticks=True),
                   paragraph(f"{units.length(total)} of walls in all" + ("; each bar is cut as listed below."
                                                                         if job.plan.bars
                                                                         else "; buy a tenth more for the mitres."),
                             width)]
    blocks += _bars(job, width) + _profiles(job, width)
    return pages_of(blocks, paper, bookmark="Finishing", title="Finishing")


def _bars(job: PackJob, width: float) -> list[Block]:
    """What is sawn from each bar of beading."""
    bars, units = job.plan.bars, job.units
    if bars is None or not bars.bars:
        return []
    count = len(bars.bars)
    whole = [sawn_words(bar[0]) for bar in bars.bars if len(bar) == 1 and bar[0].length_mm > bars.bar_mm - 0.5]
    rows = [(f"1–{len(whole)}" if len(whole) > 1 else "1", f"whole bars for {'; '.join(whole)}",
             units.length(0.0))] if whole else []
    for number, bar in enumerate(bars.bars[len(whole):], start=len(whole) + 1):
        left = bars.bar_mm - sum(piece.length_mm for piece in bar) - bars.kerf_mm * (len(bar) - 1)
        rows.append((str(number), "; ".join(f"{sawn_words(piece)}: {units.length(piece.length_mm)}" for piece in bar),
                     units.length(max(0.0, left))))
    fewest = "No fewer can do." if count == bars.bound else f"At least {bars.bound} are needed."
    shares = (14.0, width - 8.0 - 14.0 - 26.0, 26.0)
    return [heading("Bars", width),
            paragraph(f"{count} bar{'s' * (count != 1)} of {units.length(bars.bar_mm)}. {fewest} Lengths are along the "
                      "longest edge, the tip of"
                      f" the mitre included, for beading {units.fine(bars.width_mm)} wide and a saw cut of "
                      f"{units.fine(bars.kerf_mm)}. Parts of"
                      " one wall are joined on a slant of 45°. Saw the longest first: a length cut too short may still "
                      "serve as a shorter one.",
                      width),
            *table(("bar", "saw, in this order", "left over"), rows, shares, ticks=True)]


def _profiles(job: PackJob, width: float) -> list[Block]:
    """Expansion profiles within the room."""
    if not job.plan.profiles:
        return []
    return [heading("Expansion profiles", width),
            *(point(text, width, tick=True) for text in job.said.profiles)]


def beading_rows(job: PackJob) -> list[tuple[str, ...]]:
    """(wall, length, left end, right end). Walls run anticlockwise, so facing one from the room its end is at the
    left hand."""
    outside = outside_ends(job.room, job.plan.beading)
    return [(stretch_words(piece), job.units.length(piece.length_mm), _mitre(piece.end_deg, ends),
             _mitre(piece.start_deg, starts)) for piece, (starts, ends) in zip(job.plan.beading, outside)]


def _mitre(angle_deg: float, outside: bool) -> str:
    """What the saw is set to, and which way it slants."""
    return "square" if angle_deg < _SQUARE_DEG else f"{angle_deg:.1f}° {'out' if outside else 'in'}"


def _wide_enough(job: PackJob) -> str:
    """How wide the beading must be, with strips left out counted as gap."""
    widest = job.plan.gap_mm + max((strip.width_mm for strip in job.plan.left_out), default=0.0)
    return (f"The beading must be wider than the widest gap, {job.units.length(widest)}, by {job.units.length(6)} or "
            "more: boards shrink in"
            " winter (the shopping list has the least width).")


def finishing_points(job: PackJob) -> list[str]:
    """What is done when the last row is down."""
    units, plan = job.units, job.plan
    steps = ["Take out every spacer. Count them.",
             f"Keep the {units.length(plan.gap_mm)} gap empty: no foam, no filler, no cable in it.",
             "Fix beading and skirting to the wall, never to the floor.",
             _wide_enough(job)]
    if plan.holes:
        collars = ", ".join(f"{hole.pipe}: hole {units.fine(hole.diameter_mm)}" for hole in plan.holes)
        steps.append(
            "Glue each back piece to its board only, not to the pipe or the subfloor. Push the collars on: each must"
            f" cover its hole all round ({collars}).")
    steps += ["Inside corners off square: saw one piece square and scribe the other over it, or use the angles below.",
              "Keep spare boards, offcuts and this booklet for repairs."]
    return steps
