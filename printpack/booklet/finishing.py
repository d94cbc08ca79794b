"""The work after the last row: beading with saw angles, profiles, collars."""
from __future__ import annotations

from layout.materials.beading import outside_ends
from layout.words.purchases import sawn_words, stretch_words
from printpack.drawing.page_layout import Block, Page, column_width, heading, pages_of, paragraph, point, table
from printpack.job import PackJob
from printpack.paper import Paper
from printpack.units import counted

MITRES = ("The angle is what the saw is set to. In: an inside corner, the front edge is the shorter. Out: an outside "
          "corner, the front edge is the"
          " longer, and the length is along the wall. Try each angle on two scraps first.")
#: A saw set to less cuts square, degrees.
_SQUARE_DEG = 0.05


def finishing_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """Spacers out, beading, profiles, collars."""
    width, units = column_width(paper), job.units
    blocks = [point(text, width, tick=True) for text in finishing_points(job)]
    if job.plan.beading:
        rows = beading_rows(job)
        total = sum(piece.length_mm for piece in job.plan.beading)
        buy = "each bar is cut as listed below" if job.plan.bars else f"buy a tenth more for the {units.terms.mitre}s"
        shares = tuple((width - 8.0) * share for share in (0.34, 0.26, 0.2, 0.2))
        blocks += [heading(units.terms.beading.capitalize(), width),
                   paragraph("Measure each wall in place before you saw. Left and right as you face the wall. "
                             f"{MITRES}", width),
                   *table(("wall", "length", "left end", "right end"), rows, shares, ticks=True),
                   paragraph(f"{units.length(total)} of walls in all; {buy}.", width)]
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
            paragraph(f"{counted(count, 'bar')} of {units.length(bars.bar_mm)}. {fewest} Lengths are along the "
                      f"longest edge, the tip of the {units.terms.mitre} included, for {units.terms.beading} "
                      f"{units.fine(bars.width_mm)} wide and a saw cut of {units.fine(bars.kerf_mm)}. Parts of one "
                      "wall are joined on a slant of 45°. Saw the longest first: a length cut too short may still "
                      "serve as a shorter one.", width),
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
    units = job.units
    return (f"The {units.terms.beading} must be wider than the widest gap, {units.length(widest)}, by "
            f"{units.length(6)} or more: boards shrink in winter (the shopping list has the least width).")


def finishing_points(job: PackJob) -> list[str]:
    """What is done when the last row is down."""
    units, plan, terms = job.units, job.plan, job.units.terms
    steps = ["Take out every spacer. Count them.",
             f"Keep the {units.length(plan.gap_mm)} gap empty: no foam, no filler, no cable in it.",
             f"Fix {terms.beading} and {terms.skirting} to the wall, never to the floor.",
             _wide_enough(job)]
    if plan.holes:
        collars = ", ".join(f"{hole.pipe}: hole {units.fine(hole.diameter_mm)}" for hole in plan.holes)
        steps.append(
            "Glue each back piece to its board only, not to the pipe or the subfloor. Push the collars on: each must"
            f" cover its hole all round ({collars}).")
    steps += ["Inside corners off square: saw one piece square and scribe the other over it, or use the angles below.",
              "Keep spare boards, offcuts and this booklet for repairs."]
    return steps
