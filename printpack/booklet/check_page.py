"""What to do when a check fails: one page, named on the rows' pages, on paper and on the phone.

Tolerances are the plan's own: its gap, the window between which a gap may lie, its shortest piece. The rest is common
practice, no source.
"""
from __future__ import annotations

from printpack.drawing.page_layout import FIGURE, Page, column_width, pages_of, point
from printpack.job import PackJob
from printpack.paper import Paper
from printpack.words.row_words import CHECK_PAGE


def check_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """The page."""
    width = column_width(paper)
    return pages_of([point(text, width, lead=lead, size=FIGURE, after=3.4) for lead, text in check_points(job)], paper,
                    bookmark=CHECK_PAGE, title=CHECK_PAGE)


def check_points(job: PackJob) -> tuple[tuple[str, str], ...]:
    """(what is found, what to do) one after the other."""
    plan, units = job.plan, job.units
    gap, half = units.length(plan.gap_mm), units.length(plan.gap_mm / 2)
    least, most = units.bare(plan.gap_least_mm), units.length(plan.gap_most_mm)
    return (
        ("A measured piece comes out outside its range",
         "Look along the row: mostly a joint stands open. Tap it closed, measure again. Still outside? Trust the tape "
         f"and saw what it says, if {units.length(plan.rules.shortest_mm)} or more is left."),
        ("Its place is longer than the wood",
         f"Up to {gap} longer: lay it unsawn and slide the row until both gaps are alike. With a pipe or a cut-out in "
         f"the row: up to {half}, and do not slide. Longer still: take a new board."),
        ("Your edge is off the far wall's figure",
         "Measure at both ends and in the middle. All off alike: the last row will be wider or narrower by that; tell "
         "the program (step Day) and print the changed pages. Off at one end: the rows run askew. Look for an open "
         "joint, lay a string along row 1, and lift rows before you lay more."),
        ("A cut-out or a pipe is not where the figures say",
         "Do not saw. Lay the board beside the place, spacers against the wall, and mark it from there."),
        ("A joint does not close", "Lift the board, brush tongue and groove clean, tilt it in again. Tap on a tapping "
                                   "block, never on the bare edge. A broken lip: take another board."),
        ("The gap at a wall is wrong", f"Good from {least} to {most}. Less: saw the piece again. More: the beading "
                                       "must cover it, or take another piece."),
        ("A board or an offcut is spoiled", "Tell the program (step Day): it plans the rest with what there is."))
