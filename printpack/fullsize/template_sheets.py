"""Templates on paper: the check sheet, then each template at full size on as many sheets as it needs; and each as SVG.

Sheet: a band of words on top, the window in a frame, 100 mm check lines at the left and below. The drawing is
multiplied by the job's paper scale before it is cut into windows; words and frames are not.
"""
from __future__ import annotations

from dataclasses import dataclass, replace

from capture.language.messages import gettext, worded
from printpack.fullsize.check_sheet import check_lines, check_sheet
from printpack.drawing.clip import clipped
from printpack.drawing.page_layout import BODY, FIGURE, SMALL, text_lines
from printpack.job import PackJob
from printpack.drawing.metrics import ASCENT, shortened, wrapped
from printpack.paper import MARGIN_MM, Paper
from printpack.words.printer_scale import rulers_of
from printpack.drawing.sheet import HAIR, THIN, Item, Sheet, Text, mapped, moved, rectangle
from printpack.fullsize.template_draw import template_items, window_of
from printpack.fullsize.templates import FACE, Template, template_title, template_words
from printpack.fullsize.tiles import Tile, tile_grid, tile_items

HEAD_MM = 34.0
FOOT_MM = 9.0
LEFT_MM = 8.0
_SVG_SIDE_MM = 9.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawing:
    template: Template
    items: tuple[Item, ...]
    size_mm: tuple[float, float]


def template_sheets(job: PackJob, templates: tuple[Template, ...], paper: Paper) -> tuple[Sheet, ...]:
    """The check sheet and every template's sheets. Sheets without a line of the drawing are left out."""
    sheets = [check_sheet(job, paper)]
    for template in templates:
        drawing = _drawing(job, template)
        room = (paper.live_width_mm - LEFT_MM, paper.live_height_mm - HEAD_MM - FOOT_MM)
        tiles = tile_grid(drawing.size_mm, room)
        sheets += [_sheet(job, drawing, tile, tiles, paper) for tile in tiles]
    return tuple(sheets)


def template_svg_sheet(job: PackJob, template: Template) -> Sheet:
    """One template whole, at full size, with its words above it and a 100 mm line beside it; the paper scale is left
    out."""
    left, top, right, bottom = window = window_of(template)
    check_mm = rulers_of(job.show).line_mm
    wide = max(right - left + 2 * _SVG_SIDE_MM, check_mm + 8.0)
    words, used = _words(job, template, wide - 2 * _SVG_SIDE_MM)
    head = used + 4.0
    drawn = [part for item in template_items(template, job.plan, job.units) for part in clipped(item, window)]
    tall = max(bottom - top + head + 2 * _SVG_SIDE_MM, check_mm + 8.0)
    check = (*check_lines(job.show, (1.0, 1.0), (4.0, tall - 4.0)),
             Text((7.0, tall - 1.0), job.units.plain(check_mm), SMALL))
    return Sheet(width_mm=wide, height_mm=tall,
                 items=(*(moved(item, _SVG_SIDE_MM, _SVG_SIDE_MM) for item in words), *check,
                        *(moved(item, _SVG_SIDE_MM - left, _SVG_SIDE_MM + head - top) for item in drawn)))


def _words(job: PackJob, template: Template, width: float) -> tuple[tuple[Text, ...], float]:
    lines, used = text_lines(template_title(template), 0.0, 0.0, width, size=FIGURE, bold=True)
    for text in (worded(FACE), *template_words(template, job.plan, job.units)):
        more, tall = text_lines(text, 0.0, used, width, size=SMALL)
        lines, used = (*lines, *more), used + tall
    return lines, used


def _drawing(job: PackJob, template: Template) -> _Drawing:
    """The template from its window's top left corner, multiplied by the paper scale."""
    left, top, right, bottom = window = window_of(template)
    sx, sy = job.paper_scale
    items = tuple(mapped(part, sx, sy, -sx * left, -sy * top)
                  for item in template_items(template, job.plan, job.units) for part in clipped(item, window))
    return _Drawing(template=template, items=items, size_mm=(sx * (right - left), sy * (bottom - top)))


def _sheet(job: PackJob, drawing: _Drawing, tile: Tile, tiles: tuple[Tile, ...], paper: Paper) -> Sheet:
    corner = (MARGIN_MM + LEFT_MM, MARGIN_MM + HEAD_MM)
    wide, tall = tile.window[2] - tile.window[0], tile.window[3] - tile.window[1]
    items = [moved(item, *corner) for item in tile_items(drawing.items, tile, tiles)]
    frame = rectangle(*corner, wide, tall, pen=THIN, layer="frame")
    foot = corner[1] + tall
    checks = check_lines(job.show, job.paper_scale, (MARGIN_MM + 3.5, foot + 4.0))
    name = drawing.template.name if tile is tiles[0] else ""
    return Sheet(width_mm=paper.width_mm, height_mm=paper.height_mm, bookmark=name,
                 items=(*items, frame, *checks, *_head(job, drawing, tile, paper), *_foot(job, tile, paper, foot),
                        *_key_map(tile, paper), *_neighbours(tile, corner, (wide, tall))))


def _head(job: PackJob, drawing: _Drawing, tile: Tile, paper: Paper) -> list[Item]:
    """Name and sheet, how it lies, what is cut."""
    width = paper.live_width_mm - (26.0 if tile.columns * tile.rows > 1 else 0.0)
    template = drawing.template
    sheet = gettext("{template} sheet {sheet} of {last} · piece {piece}", template=template.name, sheet=tile.name,
                    last=tile.last_name, piece=template.piece.id)
    lines: list[Item] = [Text((MARGIN_MM, MARGIN_MM + ASCENT * FIGURE), sheet, FIGURE, bold=True)]
    y, step = MARGIN_MM + 6.6, 1.2 * BODY
    for k, text in enumerate((worded(FACE), *_short(template_words(template, job.plan, job.units), width))):
        lines.append(Text((MARGIN_MM, y + k * step + ASCENT * BODY), shortened(text, BODY, width, bold=k == 0), BODY,
                          bold=k == 0))
    return lines


def _short(sentences: tuple[str, ...], width: float) -> tuple[str, ...]:
    """At most four lines: the last sentence (how to align) always stays."""
    *what, where = sentences
    tail = wrapped(where, BODY, width)
    lines = [line for text in what for line in wrapped(text, BODY, width)]
    room = 4 - len(tail)
    if len(lines) > room:
        lines = [*lines[:room - 1], gettext("More cuts: see the row's page.")]
    return (*lines, *tail)


def _foot(job: PackJob, tile: Tile, paper: Paper, top: float) -> list[Item]:
    right = paper.width_mm - MARGIN_MM
    y = top + 8.0
    words = shortened(f"{job.title} · {job.day}", SMALL, right - MARGIN_MM - 108.0)
    check = gettext("{length} both ways? Printed at 100 %?", length=job.units.plain(rulers_of(job.show).line_mm))
    return [Text((MARGIN_MM + 6.0, y), check, SMALL), Text((right, y), words, SMALL, "end")]


def _key_map(tile: Tile, paper: Paper) -> list[Item]:
    """All sheets as small boxes, this one black."""
    if tile.columns * tile.rows == 1:
        return []
    side = min(20.0 / tile.columns, 12.0 / tile.rows, 6.0)
    x, y = paper.width_mm - MARGIN_MM - side * tile.columns, MARGIN_MM + 1.0
    return [rectangle(x + i * side, y + j * side, side, side, pen=HAIR,
                      fill=0.0 if (i, j) == (tile.column, tile.row) else 1.0) for j in range(tile.rows)
            for i in range(tile.columns)]


def _neighbours(tile: Tile, corner: tuple[float, float], size: tuple[float, float]) -> list[Item]:
    """The name of the sheet that joins at each shared edge, beside that edge outside the frame."""
    (x, y), (w, h) = corner, size
    places = {"left": Text((x - 1.2, y + h * 0.4), "", SMALL, "middle", True, 90.0),
              "right": Text((x + w - 2.0, y + h * 0.4), "", SMALL, "middle", True, 90.0),
              "top": Text((x + w * 0.4, y - 1.0), "", SMALL, "middle", True),
              "bottom": Text((x + w * 0.8, y + h + 3.6), "", SMALL, "middle", True)}
    return [replace(places[side], text=gettext("joins {sheet}", sheet=name))
            for side, name in tile.neighbours().items()]
