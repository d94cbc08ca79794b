"""The first page: title, the plan to scale, the job in figures."""
from __future__ import annotations

from capture.language.messages import figure, gettext, ngettext
from layout.plan import Plan
from layout.region.baseline import row_at_wall
from layout.room import Board
from printpack.drawing.page_layout import (
    FIGURE, HEADING, SMALL, TITLE, Block, Page, column_width, pages_of, text_lines)
from printpack.job import PackJob
from printpack.drawing.metrics import ASCENT, printable, shortened, text_width, wrapped
from printpack.paper import Paper
from printpack.drawing.frames import row_width
from printpack.booklet.plan_view import plan_drawing
from printpack.drawing.sheet import FINE, Item, Line, Text
from printpack.units import Units


def cover_page(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """One page."""
    width = column_width(paper)
    size = TITLE if len(wrapped(job.title, TITLE, width, bold=True)) < 3 else HEADING
    name = shortened(job.title, size, 2.6 * width, bold=True)
    title, used = text_lines(name, 0.0, 0.0, width, size=size, bold=True)
    line, more = text_lines(" ".join(_opening(job)), 0.0, used + 1.2, width)
    head = Block(height_mm=used + more + 3.2, items=(*title, *line))
    figures = _figures(job, width)
    drawing = paper.height_mm - 2 * 12.0 - 7.0 - head.height_mm - figures.height_mm - 2.0
    picture = Block(height_mm=drawing, items=plan_drawing(job, 0.0, 0.0, width, drawing))
    return pages_of([head, picture, figures], paper, bookmark=gettext("The plan"))


def _opening(job: PackJob) -> list[str]:
    """What stands under the title, sentence by sentence."""
    if job.show == "metric":
        lengths = gettext("Laying booklet, {day}. Lengths in millimetres. The start wall is at the top.", day=job.day)
    else:
        lengths = gettext("Laying booklet, {day}. Lengths in inches, to the nearest 1/8. The start wall is at the top.",
                          day=job.day)
    if printable(job.title) == job.title:
        return [lengths, sureness(job)]
    return [lengths, sureness(job), gettext("Letters this typeface has not are written in Latin ones.")]


def sureness(job: PackJob) -> str:
    """The survey in one sentence."""
    if not job.floor.cov_mm2.any():
        return gettext("The floor was typed in and is taken as exact.")
    worst = max(wall.pm95_mm for wall in job.floor.walls())
    sure = gettext("Walls are sure to {spread} (95 %) or better.", spread=job.units.spread(worst))
    if not job.survey_notes:
        return sure
    look = ngettext("{count} thing to look at first: see “How sure the survey is”.",
                    "{count} things to look at first: see “How sure the survey is”.", len(job.survey_notes))
    return f"{sure} {look}"


def key_figures(job: PackJob) -> tuple[tuple[str, str, str], ...]:
    """(name, value, note) of the job's key figures."""
    plan, units = job.plan, job.units
    area, pm = job.floor.area()
    (_, first_mm), last = row_at_wall(plan, job.floor), plan.rows[-1]
    board_width = units.fine(plan.board.width_mm)
    return ((gettext("Floor area"), units.area(area, pm), gettext("95 % sure") if pm else gettext("taken as exact")),
            (gettext("Boards"), f"{plan.boards}", _proof(plan)),
            _packs(job),
            (gettext("Rows"), f"{len(plan.rows)}", ngettext("{count} piece", "{count} pieces", len(plan.pieces))),
            (gettext("First row"), units.length(first_mm), gettext("of {width}", width=board_width)),
            (gettext("Last row"), units.length(row_width(last)), gettext("of {width}", width=board_width)),
            _waste(job),
            (gettext("Gap at walls"), units.length(plan.gap_mm), gettext("all round, kept empty")),
            (gettext("Board"), _board_size(plan.board, units),
             gettext("{thickness} thick", thickness=units.fine(plan.board.thickness_mm))))


def _packs(job: PackJob) -> tuple[str, str, str]:
    """The packs, where they are bought for this floor alone."""
    plan = job.plan
    if job.shared_with:
        return gettext("Packs to buy"), gettext("together"), gettext("with the other rooms of the flat")
    spare = plan.packs_to_buy * plan.board.pack - plan.boards
    return (gettext("Packs to buy"), f"{plan.packs_to_buy}",
            gettext("of {boards} boards, {spare} to spare", boards=plan.board.pack, spare=spare))


def _waste(job: PackJob) -> tuple[str, str, str]:
    """What is sawn off and not used; of a room that others take offcuts from, how many those are."""
    kept = sum(offcut.goes_to is not None for offcut in job.plan.offcuts)
    if kept:
        return gettext("Kept for other rooms"), f"{kept}", ngettext("offcut", "offcuts", kept)
    return gettext("Waste"), f"{figure(job.plan.waste_percent, '.1f')} %", gettext("sawn off and not used")


def _proof(plan: Plan) -> str:
    """How few boards could do."""
    if plan.board.mix:
        return gettext("of several lengths")
    if plan.proven:
        return gettext("no plan of these rows needs fewer")
    return gettext("at least {count} are needed", count=plan.bound)


def _board_size(board: Board, units: Units) -> str:
    """Length, or shortest and longest length, by width."""
    length, width = units.bare(board.length_mm), units.fine(board.width_mm)
    if board.mix:
        return gettext("{shortest} to {length} × {width}", shortest=units.bare(board.mix[0][0]), length=length,
                       width=width)
    return f"{length} × {width}"


def _figures(job: PackJob, width: float) -> Block:
    """Key figures in a grid of three columns: small name, large value."""
    items: list[Item] = [Line((0.0, 0.0), (width, 0.0), FINE)]
    step, tall = width / 3, 17.0
    for k, (name, value, note) in enumerate(key_figures(job)):
        x, y = (k % 3) * step, (k // 3) * tall + 1.6
        items += [Text((x, y + ASCENT * SMALL), name, SMALL),
                  Text((x, y + 4.4 + ASCENT * 1.25 * FIGURE), value, _fits(value, 1.25 * FIGURE, step - 4.0),
                       bold=True), Text((x, y + 11.0 + ASCENT * SMALL), note, _fits(note, SMALL, step - 2.0))]
    return Block(height_mm=3 * tall + 2.0, items=tuple(items))


def _fits(text: str, size: float, width: float) -> float:
    return min(size, size * width / max(text_width(text, size, bold=True), 1e-9))
