"""Floor targets on paper: one sheet of words on how to lay them, then one black-and-white square a sheet.

The squares' pattern is that of `capture.image.targets`, drawn as polygons in mm. A sheet has no top: photos tell its
turn. Round the square 25 mm of paper stay white on every side (more than one cell), or the pattern cannot be told from
the floor.
"""
from __future__ import annotations

from capture.image.targets import CELLS, MOST_TARGETS, target_cells
from capture.language.messages import gettext, lazy_ngettext, marked, worded
from printpack.errors import PrintError
from printpack.drawing.page_layout import BODY, column_width, heading, pages_of, paragraph, point, text_lines
from printpack.drawing.metrics import ASCENT
from printpack.paper import MARGIN_MM, Paper
from printpack.drawing.sheet import FINE, NONE, Item, Line, Poly, Sheet, Text, rectangle

#: Side of the black square, mm.
SIDE_OF_SQUARE_MM = 150.0
#: What is left white round it at least, mm.
QUIET_MM = 25.0
FEWEST_USEFUL = 2
_NAME_MM = 9.0
_LEAD = marked(
    "These sheets are laid on the floor before you take the photos. The tool finds them by itself: no click is needed, "
    "and two photos that show the same targets are joined even if they share no corner of the room.")
_STEPS = (
    (marked("Print at 100 % (“actual size”)"),
     marked("On plain white matt paper; shiny paper mirrors the window. Measure the 100 mm line.")),
    (marked("Lay each flat and tape it down"),
     marked("At all four corners, so that no edge curls. The printed side is up. Its turn does not matter.")),
    (marked("Spread them over the room"),
     marked("Near the middle of the floor and towards the walls, not all in one line, at least half a metre apart, and "
            "none half on a rug or a step.")),
    (marked("Lay them where all your photos look"),
     marked("Stand where you will stand and look: best is every sheet in every photo, at least two in each, and the "
            "floor corners as before. From more than about 4 m a target may be too small to be read.")),
    (marked("Do not move one between photos"),
     marked("Take all photos first, then pick the sheets up. If one was kicked, leave it out: take it away and take "
            "all photos again.")),
    (marked("One sheet of each name"),
     marked("Never lay two sheets with the same name; a name seen twice in a photo is not used.")),
    (marked("Tell the tool"),
     marked("On the page, step Photos, tick that targets lie on the floor. If the black square measures something else "
            "than 150 mm, type that.")),
    (marked("The tape rules"),
     marked("Paper and printers stretch: the printed size is taken only as a weak hint of scale (about 1 %). Type your "
            "tape lengths as before; the room's size comes from them.")),
)


def target_sheets(paper: Paper, *, count: int = 6) -> tuple[Sheet, ...]:
    """The sheet of instructions and `count` targets, T0 first.

    Raises PrintError: "target-count" for a number of targets that cannot be printed or would not help.
    """
    if not FEWEST_USEFUL <= count <= MOST_TARGETS:
        raise PrintError("target-count", lazy_ngettext(
            "{count} target cannot be printed: ask for {fewest} to {most}; six suit most rooms.",
            "{count} targets cannot be printed: ask for {fewest} to {most}; six suit most rooms.", count,
            fewest=FEWEST_USEFUL, most=MOST_TARGETS), where="count")
    return (_words(paper, count), *(_target(number, paper) for number in range(count)))


def _words(paper: Paper, count: int) -> Sheet:
    width = column_width(paper)
    number = gettext("There are {count} of them, T0 to T{last}, one a sheet.", count=count, last=count - 1)
    blocks = [paragraph(worded(_LEAD), width, after=3.0), paragraph(number, width),
              heading(gettext("How to lay them"), width),
              *(point(worded(says), width, lead=worded(lead), tick=True, after=3.0) for lead, says in _STEPS)]
    page = pages_of(blocks, paper, bookmark=gettext("How to lay the floor targets"),
                    title=gettext("Floor targets"))[0]
    return Sheet(width_mm=paper.width_mm, height_mm=paper.height_mm, items=page.items, bookmark=page.bookmark)


def _target(number: int, paper: Paper) -> Sheet:
    """One target, its name well clear of it, and below it the check line and what to measure."""
    left, top = (paper.width_mm - SIDE_OF_SQUARE_MM) / 2, MARGIN_MM + _NAME_MM + QUIET_MM + 2.0
    below = top + SIDE_OF_SQUARE_MM + QUIET_MM + 4.0
    called = gettext("Target T{number}", number=number)
    name = Text((paper.width_mm / 2, MARGIN_MM + ASCENT * _NAME_MM), called, _NAME_MM, "middle", True)
    words, _ = text_lines(gettext(
        "The thin line must measure 100 mm, the black square 150 mm both ways. Lay this sheet flat, tape down its "
        "corners, and do not move it between photos."), left, below + 6.0, SIDE_OF_SQUARE_MM, size=BODY)
    return Sheet(width_mm=paper.width_mm, height_mm=paper.height_mm, bookmark=called,
                 items=(name, *_square(number, left, top), *_check_line(left, below), *words))


def _check_line(x: float, y: float) -> tuple[Line, ...]:
    """100 mm across, with its ticks."""
    return (Line((x, y), (x + 100.0, y), FINE, "check"),
            *(Line((end, y - 1.5), (end, y + 1.5), FINE) for end in (x, x + 100.0)))


def _square(number: int, left: float, top: float) -> list[Item]:
    """The black square, and its white cells on top, joined along each row so that no seam shows."""
    cell = SIDE_OF_SQUARE_MM / CELLS
    items: list[Item] = [rectangle(left, top, SIDE_OF_SQUARE_MM, SIDE_OF_SQUARE_MM, pen=NONE, fill=0.0, layer="target")]
    for row, cells in enumerate(target_cells(number).tolist()):
        column = 0
        while column < CELLS:
            end = column
            while end < CELLS and not cells[end]:
                end += 1
            if end > column:
                items.append(_white(left + column * cell, top + row * cell, (end - column) * cell, cell))
            column = end + 1
    return items


def _white(x: float, y: float, width: float, height: float) -> Poly:
    return rectangle(x, y, width, height, pen=NONE, fill=1.0, layer="cell")
