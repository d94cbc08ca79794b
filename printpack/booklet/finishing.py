"""The work after the last row: beading with saw angles, profiles, collars."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from capture.language.messages import apart, gettext, led, marked, ngettext, worded
from layout.flat_plan import FlatBars
from layout.materials.beading import outside_ends
from layout.plan import Bars
from layout.words.purchases import sawn_words, stretch_words
from layout.words.terms import in_terms
from printpack.drawing.page_layout import (
    BODY, SMALL, Block, Page, abreast, column_width, heading, page_title, pages_of, paragraph, point, room_mm, stacked,
    table)
from printpack.job import PackJob
from printpack.paper import Paper
from printpack.units import Units, capitalised

MITRES = marked(
    "The angle is what the saw is set to. In: an inside corner, the front edge is the shorter. Out: an outside corner, "
    "the front edge is the longer, and the length is along the wall. Try each angle on two scraps first.")
#: A length sawn from a bar: what it is for, and how long it is, mm.
Sawn = tuple[str, float]
#: A saw set to less cuts square, degrees.
_SQUARE_DEG = 0.05
FINISHING_TITLE = marked("Finishing")
#: Between columns of a table, mm.
_BETWEEN_MM = 7.0


def finishing_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """Spacers out, beading, profiles, collars: on one page, its tables in two columns and in smaller type where that
    takes it; on several where nothing does."""
    title = worded(FINISHING_TITLE)
    return pages_of(finishing_blocks(job, paper), paper, bookmark=title, title=title)


def finishing_blocks(job: PackJob, paper: Paper, sawn_from: str = "") -> list[Block]:
    """What the page says. sawn_from: where it is told instead what each bar of beading is sawn into."""
    width = column_width(paper)
    room = room_mm(paper) - page_title(worded(FINISHING_TITLE), width).height_mm
    every = [_blocks(job, width, setting, sawn_from) for setting in _SETTINGS]
    return next((blocks for blocks in every if sum(block.height_mm for block in blocks) <= room), every[0])


@dataclass(frozen=True, slots=True)
class _Setting:
    """How many columns the walls and the bars stand in, and the size of type, mm."""

    walls: int
    bars: int
    size: float


_SETTINGS = (_Setting(1, 1, BODY), _Setting(2, 1, BODY), _Setting(2, 2, BODY), _Setting(2, 2, SMALL))


def _blocks(job: PackJob, width: float, setting: _Setting, sawn_from: str) -> list[Block]:
    """What stands on the page."""
    blocks = [point(text, width, tick=True, size=setting.size) for text in finishing_points(job)]
    if job.plan.beading:
        how = gettext("Measure each wall in place before you saw. Left and right as you face the wall.")
        blocks += [heading(capitalised(job.units.terms.beading), width),
                   paragraph(f"{how} {worded(MITRES)}", width, size=setting.size),
                   *_walls(job, width, setting, sawn_from)]
    bars = [] if sawn_from else _bars(job, width, setting)
    return blocks + bars + _profiles(job, width, setting.size)


def _walls(job: PackJob, width: float, setting: _Setting, sawn_from: str) -> list[Block]:
    """The beading of each wall, and how much that is in all."""
    total = job.units.length(sum(piece.length_mm for piece in job.plan.beading))
    if job.plan.bars is None:
        said = in_terms(gettext("{length} of walls in all; buy a tenth more for the mitres.", length=total), job.show)
    elif sawn_from:
        said = gettext("{length} of walls in all. {bars}", length=total, bars=sawn_from)
    else:
        said = gettext("{length} of walls in all; each bar is cut as listed below.", length=total)
    shares = (0.28, 0.24, 0.24, 0.24) if setting.walls > 1 else (0.34, 0.26, 0.2, 0.2)
    head = (gettext("wall"), gettext("length"), gettext("left end"), gettext("right end"))
    return [*_in_columns(head, beading_rows(job), shares, width, setting.walls, setting.size),
            paragraph(said, width, size=setting.size)]


def _in_columns(head: tuple[str, ...], rows: list[tuple[str, ...]], shares: tuple[float, ...], width: float,
                columns: int, size: float) -> list[Block]:
    """A table with boxes to tick, in one column or in several beside one another. shares: of the width, by column."""
    wide = (width - _BETWEEN_MM * (columns - 1)) / columns
    widths = tuple((wide - 8.0) * share for share in shares)
    if columns == 1:
        return table(head, rows, widths, ticks=True, size=size)
    each = -(-len(rows) // columns)
    parts = [stacked(table(head, rows[k:k + each], widths, ticks=True, size=size)) for k in range(0, len(rows), each)]
    return [abreast(parts, width, _BETWEEN_MM) if len(parts) == columns else parts[0]]


def _bars(job: PackJob, width: float, setting: _Setting) -> list[Block]:
    """What is sawn from each bar of beading."""
    bars, units = job.plan.bars, job.units
    if bars is None or not bars.bars:
        return []
    shares = (0.1, 0.6, 0.3) if setting.bars > 1 else (0.08, 0.76, 0.16)
    sawn = [[(sawn_words(piece), piece.length_mm) for piece in bar] for bar in bars.bars]
    together = gettext("Where the list of the whole flat says what each bar is sawn into, saw by that: it may take "
                       "fewer bars than its rooms one by one. Alone, this room takes these.")
    said = [together] * bool(job.shared_with) + [bars_words(bars, units)]
    return [heading(gettext("Bars"), width), *(paragraph(text, width, size=setting.size) for text in said),
            *_in_columns(bar_head(), bar_rows(sawn, bars, units), shares, width, setting.bars, setting.size)]


def bar_head() -> tuple[str, str, str]:
    """The head of a list of bars."""
    return gettext("bar"), gettext("saw, in this order"), gettext("left over")


def bars_words(bars: Bars | FlatBars, units: Units) -> str:
    """How many bars, whether fewer could do, and how they are sawn."""
    count = len(bars.bars)
    fewest = (gettext("No fewer can do.") if count == bars.bound else
              gettext("At least {count} are needed.", count=bars.bound))
    return gettext(
        "{bars} of {length}. {fewest} Lengths are along the longest edge, the tip of the {mitre} included, for "
        "{beading} {width} wide and a saw cut of {kerf}. Parts of one wall are joined on a slant of 45°. Saw the "
        "longest first: a length cut too short may still serve as a shorter one.",
        bars=ngettext("{count}\u00a0bar", "{count}\u00a0bars", count), length=units.length(bars.bar_mm), fewest=fewest,
        mitre=units.terms.mitre, beading=units.terms.beading, width=units.fine(bars.width_mm),
        kerf=units.fine(bars.kerf_mm))


def bar_rows(sawn: Sequence[Sequence[Sawn]], bars: Bars | FlatBars, units: Units) -> list[tuple[str, ...]]:
    """(number, what is sawn from it, what is left) of each bar; whole bars in one line. sawn: by bar."""
    whole = [bar[0][0] for bar in sawn if _is_whole(bar, bars.bar_mm)]
    rows: list[tuple[str, ...]] = [(f"1–{len(whole)}" if len(whole) > 1 else "1",
                                    gettext("whole bars for {walls}", walls=apart(whole)),
                                    units.length(0.0))] if whole else []
    parted = [bar for bar in sawn if not _is_whole(bar, bars.bar_mm)]
    for number, bar in enumerate(parted, start=len(whole) + 1):
        left = bars.bar_mm - sum(length for _, length in bar) - bars.kerf_mm * (len(bar) - 1)
        rows.append((str(number), apart([led(said, units.length(length)) for said, length in bar]),
                     units.length(max(0.0, left))))
    return rows


def _is_whole(bar: Sequence[Sawn], bar_mm: float) -> bool:
    return len(bar) == 1 and bar[0][1] > bar_mm - 0.5


def _profiles(job: PackJob, width: float, size: float) -> list[Block]:
    """Expansion profiles within the room."""
    if not job.plan.profiles:
        return []
    return [heading(gettext("Expansion profiles"), width),
            *(point(text, width, tick=True, size=size) for text in job.said.profiles)]


def beading_rows(job: PackJob) -> list[tuple[str, ...]]:
    """(wall, length, left end, right end). Walls run anticlockwise, so facing one from the room its end is at the
    left hand."""
    outside = outside_ends(job.room, job.plan.beading)
    return [(stretch_words(piece), job.units.length(piece.length_mm), _mitre(piece.end_deg, ends),
             _mitre(piece.start_deg, starts)) for piece, (starts, ends) in zip(job.plan.beading, outside)]


def _mitre(angle_deg: float, outside: bool) -> str:
    """What the saw is set to, and which way it slants."""
    if angle_deg < _SQUARE_DEG:
        return gettext("square")
    return gettext("{angle:.1f}° out", angle=angle_deg) if outside else gettext("{angle:.1f}° in", angle=angle_deg)


def finishing_points(job: PackJob) -> list[str]:
    """What is done when the last row is down."""
    units, plan, terms = job.units, job.plan, job.units.terms
    steps = [gettext("Take out every spacer. Count them."),
             gettext("Keep the {gap} gap empty: no foam, no filler, no cable in it.", gap=units.length(plan.gap_mm)),
             gettext("Fix {beading} and {skirting} to the wall, never to the floor.", beading=terms.beading,
                     skirting=terms.skirting)]
    if plan.holes:
        collars = ", ".join(gettext("{pipe}: hole {size}", pipe=hole.pipe, size=units.fine(hole.diameter_mm))
                            for hole in plan.holes)
        steps.append(gettext(
            "Glue each back piece to its board only, not to the pipe or the subfloor. Push the collars on: each must "
            "cover its hole all round ({collars}).", collars=collars))
    steps += [gettext("Inside corners off square: saw one piece square and scribe the other over it, or use the angles "
                      "below."),
              gettext("Keep spare boards, offcuts and this booklet for repairs.")]
    return steps
