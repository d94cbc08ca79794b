"""Pages that are lists: shopping, the day on one page, the offcut register, the blank grid for notes."""
from __future__ import annotations

from itertools import groupby

from layout.plan import Offcut, Piece, Row
from printpack.drawing.page_layout import BODY, Block, Page, column_width, continued, pages_of, paragraph, point, table
from printpack.job import PackJob
from printpack.paper import Paper
from printpack.drawing.frames import row_width
from printpack.drawing.sheet import HAIR, Item, Line


def shopping_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """What to buy, with the rule each number comes from."""
    width = column_width(paper)
    lead = paragraph(board_words(job), width)
    rows = [(item.what, f"{item.quantity:g} {item.unit}", item.why) for item in job.said.shopping]
    blocks = [lead, *table(("what", "how many", "why this many"), rows, (50.0, 38.0, width - 96.0), ticks=True)]
    return pages_of(blocks, paper, bookmark="Shopping list", title="Shopping list")


def board_words(job: PackJob) -> str:
    """Which boards to buy."""
    board, units = job.plan.board, job.units
    if board.mix:
        held = ", ".join(f"{count} of {units.length(length)}" for length, count in board.mix)
        return (f"The boards must be {units.fine(board.width_mm)} wide and {units.fine(board.thickness_mm)} thick, and "
                f"a pack must hold {held}. "
                "Packs may differ from their label: before row 1 open them all, sort the boards by length and count "
                "them. If there are fewer of a "
                "length than the plan uses, type what a pack holds and plan again. Buy all packs from one batch.")
    return (f"The board must be {units.length(board.length_mm)} × {units.fine(board.width_mm)} × "
            f"{units.fine(board.thickness_mm)}, {board.pack} in a"
            " pack. Another size needs a new plan. Buy all packs from one batch.")


def summary_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """The day on one page (a second one if there are very many rows)."""
    width = column_width(paper)
    plan = job.plan
    blocks = [point(text, width, size=BODY) for text in summary_points(job)]
    rows = [_summary_row(job, row) for row in plan.rows]
    widths = (16.0, width - 8.0 - 16.0 - 46.0 - 36.0, 46.0, 36.0)
    lines = table(("row", "take, in laying order", "last piece", "width"), rows, widths, ticks=True)
    title = "The day on one page"
    return pages_of([*blocks, *lines], paper, bookmark=title, title=title,
                    again=lambda k: continued(title, width, lines[0]))


def summary_points(job: PackJob) -> tuple[str, ...]:
    """The day in a few sentences."""
    plan, units = job.plan, job.units
    steps = (f"Gap {units.length(plan.gap_mm)} at every wall, pipe and frame. End joints at least"
             f" {units.length(plan.rules.stagger_mm)} apart from row to row.",
             f"Undercut door casings at {units.fine(undercut_mm(job))} above the bare floor." if job.room.doors else "",
             f"{plan.boards} boards, {plan.packs} packs. First row {units.length(row_width(plan.rows[0]))},"
             f" last row {units.length(row_width(plan.rows[-1]))} wide.",
             "Pencil every offcut's label on it at once. Keep labelled offcuts by the start wall.",
             "The last piece of every row: measure in place, then saw.")
    return tuple(text for text in steps if text)


def _new(job: PackJob, piece: Piece) -> str:
    """A new board, and how long it is where they differ."""
    return f"new {job.units.bare(job.plan.board_of(piece.board).length_mm)}" if job.plan.board.mix else "new"


def _summary_row(job: PackJob, row: Row) -> tuple[str, ...]:
    pieces = row.pieces if job.plan.lay == "left-to-right" else row.pieces[::-1]
    takes = ", ".join(_run_of(what, len(list(same)))
                      for what, same in groupby(piece.takes or _new(job, piece) for piece in pieces))
    last = job.units.length(pieces[-1].to_mm - pieces[-1].from_mm)
    return str(row.number), takes, last, job.units.length(row_width(row))


def _run_of(what: str, count: int) -> str:
    return what if count == 1 else f"{count} {what}"


def undercut_mm(job: PackJob) -> float:
    """Height of the saw cut in a door casing over the bare floor: board, underlay and 1 mm to slide (common
    practice)."""
    return job.plan.board.thickness_mm + job.underlay_mm + 1.0


def offcut_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """Every labelled offcut: where it comes from and where it goes."""
    width = column_width(paper)
    own = _own_pieces(job, width)
    if not job.plan.offcuts:
        return pages_of([paragraph("This plan keeps no offcuts.", width), *own], paper, bookmark="Offcuts",
                        title="Offcuts")
    rows = offcut_rows(job)
    rest = width - 8.0
    widths = tuple(rest * share for share in (0.11, 0.18, 0.16, 0.14, 0.19, 0.22))
    blocks = [*own,
              paragraph("Pencil the label on the face of each offcut as soon as it is sawn. Tick it when it is laid.",
                        width), *(lines := table(("label", "length", "width", "sawn from", "clicks at", "goes to"),
                                                 rows, widths, ticks=True))]
    return pages_of(blocks, paper, bookmark="Offcuts", title="Offcuts",
                    again=lambda k: continued("Offcuts", width, lines[0]))


def offcut_rows(job: PackJob) -> list[tuple[str, ...]]:
    """(label, length, width, sawn from, clicks at, goes to) of every labelled offcut."""
    units = job.units
    return [(offcut.label, units.length(offcut.to_mm - offcut.from_mm), units.length(offcut.far_mm - offcut.near_mm),
             offcut.cut_by, _keeps(offcut), f"piece {offcut.used_by}" if offcut.used_by else "keep as a spare")
            for offcut in job.plan.offcuts]


def _own_pieces(job: PackJob, width: float) -> list[Block]:
    """The pieces the reader had already, with the labels this plan gives them."""
    if not job.plan.owned:
        return []
    taken = {piece.takes: piece.id for piece in job.plan.pieces}
    rows = [(own.label, job.units.length(own.length_mm), " and ".join(f"{end} end" for end in own.keeps),
             f"piece {taken[own.label]}" if own.board else "not needed, keep as a spare") for own in job.plan.owned]
    shares = tuple((width - 8.0) * share for share in (0.14, 0.24, 0.3, 0.32))
    return [paragraph("Your own pieces: pencil these labels on them before you start.", width),
            *table(("label", "length", "clicks at", "goes to"), rows, shares, ticks=True)]


def _keeps(offcut: Offcut) -> str:
    ends = [side for side in ("left", "right") if side in offcut.keeps]
    edges = [side for side in ("near", "far") if side in offcut.keeps]
    words = [f"{side} end" for side in ends] + ([f"{side} edge" for side in edges] if len(edges) < 2 else [])
    return ", ".join(words) or "edges only"


def notes_page(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """Blank squared paper."""
    width = column_width(paper)
    height = paper.height_mm - 2 * 12.0 - 7.0 - 16.0
    step = 5.0
    across, down = int(width / step), int(height / step)
    items: list[Item] = [Line((k * step, 0.0), (k * step, down * step), HAIR) for k in range(across + 1)]
    items += [Line((0.0, k * step), (across * step, k * step), HAIR) for k in range(down + 1)]
    return pages_of([Block(height_mm=down * step, items=tuple(items))], paper, bookmark="Notes", title="Notes")
