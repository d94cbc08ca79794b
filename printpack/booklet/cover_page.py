"""The first page: title, the plan to scale, the job in figures."""
from __future__ import annotations

from layout.region.baseline import row_at_wall
from printpack.drawing.page_layout import (
    FIGURE, HEADING, SMALL, TITLE, Block, Page, column_width, pages_of, text_lines)
from printpack.job import PackJob
from printpack.drawing.metrics import ASCENT, printable, shortened, text_width, wrapped
from printpack.paper import Paper
from printpack.drawing.frames import row_width
from printpack.booklet.plan_view import plan_drawing
from printpack.drawing.sheet import FINE, Item, Line, Text

def cover_page(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """One page."""
    width = column_width(paper)
    size = TITLE if len(wrapped(job.title, TITLE, width, bold=True)) < 3 else HEADING
    name = shortened(job.title, size, 2.6 * width, bold=True)
    title, used = text_lines(name, 0.0, 0.0, width, size=size, bold=True)
    stand_in = "" if printable(job.title) == job.title else " Letters this typeface has not are written in Latin ones."
    line, more = text_lines(f"Laying booklet, {job.day}. Lengths in {_unit_words(job)}. The start wall is at the top."
                            f" {sureness(job)}{stand_in}", 0.0, used + 1.2, width)
    head = Block(height_mm=used + more + 3.2, items=(*title, *line))
    figures = _figures(job, width)
    drawing = paper.height_mm - 2 * 12.0 - 7.0 - head.height_mm - figures.height_mm - 2.0
    picture = Block(height_mm=drawing, items=plan_drawing(job, 0.0, 0.0, width, drawing))
    return pages_of([head, picture, figures], paper, bookmark="The plan")


def _unit_words(job: PackJob) -> str:
    return "millimetres" if job.show == "metric" else "inches, to the nearest 1/8"


def sureness(job: PackJob) -> str:
    """The survey in one sentence."""
    if not job.floor.cov_mm2.any():
        return "The floor was typed in and is taken as exact."
    worst = max(wall.pm95_mm for wall in job.floor.walls())
    sure = f"Walls are sure to {job.units.spread(worst)} (95 %) or better."
    if not job.survey_notes:
        return sure
    things = "1 thing" if len(job.survey_notes) == 1 else f"{len(job.survey_notes)} things"
    return f"{sure} {things} to look at first: see “How sure the survey is”."


def key_figures(job: PackJob) -> tuple[tuple[str, str, str], ...]:
    """(name, value, note) of the job's key figures."""
    plan, units = job.plan, job.units
    area, pm = job.floor.area()
    (_, first_mm), last = row_at_wall(plan, job.floor), plan.rows[-1]
    spare = plan.packs_to_buy * plan.board.pack - plan.boards
    proof = "no plan of these rows needs fewer" if plan.proven else f"at least {plan.bound} are needed"
    shortest = f"{units.bare(plan.board.mix[0][0])} to " if plan.board.mix else ""
    return (("Floor area", units.area(area, pm), "95 % sure" if pm else "taken as exact"),
            ("Boards", f"{plan.boards}", "of several lengths" if plan.board.mix else proof),
            ("Packs to buy", f"{plan.packs_to_buy}", f"of {plan.board.pack} boards, {spare} to spare"),
            ("Rows", f"{len(plan.rows)}", f"{len(plan.pieces)} pieces"),
            ("First row", units.length(first_mm), f"of {units.fine(plan.board.width_mm)}"),
            ("Last row", units.length(row_width(last)), f"of {units.fine(plan.board.width_mm)}"),
            ("Waste", f"{plan.waste_percent:.1f} %", "sawn off and not used"),
            ("Gap at walls", units.length(plan.gap_mm), "all round, kept empty"),
            ("Board", shortest + units.bare(plan.board.length_mm) + " × " + units.fine(plan.board.width_mm),
             f"{units.fine(plan.board.thickness_mm)} thick"))


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
