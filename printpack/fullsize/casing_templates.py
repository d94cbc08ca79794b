"""Traced casings on paper, true to size: a page to cut out and try first, and the template for each board that meets
the casing.

Try-out page: the footprint as traced, the wall line at the top, seen from above as it lies on the floor in front of a
reader who faces the wall. Template: in the board's frame, wall edge up, as every template of the pack; the one thick
line goes all round what comes off, the gap to the casing kept; a thin dashed one is the edge the board keeps where the
casing is undercut instead.
One sheet each: a leg is narrower than a sheet, and of the board only the stretch beside it is shown.
"""
from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import atan2, ceil, cos, floor, sin

from capture.language.messages import gettext, marked, ngettext, worded
from layout.region.casings import StandingLeg, met_pieces, sawn_off, standing_legs
from layout.plan import Piece, Point, Ring
from printpack.fullsize.check_sheet import check_lines, check_sheet
from printpack.drawing.clip import clip_line, clipped
from printpack.drawing.page_layout import BODY, FIGURE, SMALL, text_lines
from printpack.drawing.hatch import hatch
from printpack.drawing.label_placement import Placer
from printpack.job import PackJob
from printpack.words.doors import undercut_mm
from printpack.drawing.metrics import text_box
from printpack.paper import MARGIN_MM, Paper
from printpack.drawing.frames import board_shift, box_of, in_board, in_rows
from printpack.words.printer_scale import rulers_of
from printpack.drawing.wall_labels import WallLabels
from printpack.drawing.sheet import NONE, THIN, Box, Item, Line, Pen, Poly, Sheet, Text, mapped, rectangle
from printpack.fullsize.templates import FACE, align_words

_LEG = {"left": marked("left leg of {door}"), "right": marked("right leg of {door}")}
_LEG_PIECE = {"left": marked("{name}: left leg of {door}, piece {piece}"),
              "right": marked("{name}: right leg of {door}, piece {piece}")}
_THIN = Pen(0.2)
_CUT = Pen(0.7)
_KEPT = Pen(0.2, 0.0, (3.0, 1.2))
#: Shown beside a footprint, mm; the widest and narrowest window; distances for pencil marks; room for words and for the
#: foot of a sheet.
_BESIDE_MM, _WIDEST_MM, _NARROWEST_MM = 40.0, 170.0, 110.0
_ROUND_MM = {"metric": 10.0, "imperial": 12.7}
_HEAD_MM, _LEFT_MM = 36.0, 8.0
#: Room for the label of an edge, and how near beyond it a wall is shown too, mm.
_LABEL_MM, _NEAR_MM = 8.0, 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawing:
    """What one sheet shows: heading, sentences, and items inside a window (left, top, right, bottom), mm."""

    name: str
    says: tuple[str, ...]
    items: tuple[Item, ...]
    window: Box


def traced_sheets(job: PackJob, paper: Paper) -> tuple[Sheet, ...]:
    """The check sheet, then for each traced leg its try-out page and its templates; none if nothing was traced."""
    legs = standing_legs(job.room, job.plan.gap_mm)
    if not legs:
        return ()
    drawings = [drawing for number, leg in enumerate(legs, start=1) for drawing in _drawings(job, leg, f"C{number}")]
    return (check_sheet(job, paper), *(_sheet(job, drawing, paper) for drawing in drawings))


def _drawings(job: PackJob, leg: StandingLeg, name: str) -> list[_Drawing]:
    pieces = {piece.id: piece for piece in job.plan.pieces}
    met = [pieces[piece] for piece in met_pieces(job.plan, leg)]
    return [_try_out(job, leg, name, met), *(_template(job, leg, name, piece) for piece in met)]


def _pm_words(job: PackJob, leg: StandingLeg) -> str:
    pm = max((door.traced_pm_mm for door in job.room.doors if door.name == leg.door), default=0.0)
    return gettext("Traced in a photo to {spread}.", spread=job.units.spread(pm)) if pm else ""


def _try_out(job: PackJob, leg: StandingLeg, name: str, met: Sequence[Piece]) -> _Drawing:
    """The footprint alone, as it lies before a reader who faces the wall."""
    traced, foot = (_facing_wall(leg, ring) for ring in (leg.traced, leg.foot))
    box = box_of(traced)
    window = (box[0] - _BESIDE_MM, -14.0, box[2] + _BESIDE_MM, box[3] + _BESIDE_MM)
    items: list[Item] = [*_cut_to(hatch((foot,)), (window[0], 0.0, window[2], window[3])),
                         Poly(traced, _CUT, None, True, "cut"),
                         Line((window[0], 0.0), (window[2], 0.0), _THIN, "wall"),
                         Text(((window[0] + window[2]) / 2, -3.0),
                              gettext("bare wall: this line along the foot of the wall or skirting"), SMALL,
                              "middle", True),
                         Text(((window[0] + window[2]) / 2, window[3] - 6.0),
                              gettext("into the room: you kneel here and face the wall"), SMALL, "middle"),
                         Text(((box[0] + box[2]) / 2, box[3] + 7.0), worded(_LEG[leg.leg], door=leg.door), SMALL,
                              "middle", True)]
    boards = (ngettext("Board it meets: {pieces}.", "Boards it meets: {pieces}.", len(met),
                       pieces=", ".join(piece.id for piece in met))
              if met else gettext("No board of the plan comes near it."))
    misfit = gettext("If it does not fit: take the close-up again, or mend this paper with scissors and tape and trace "
                     "it.")
    says = (gettext("Paper first: cut along the thick line and take the hatched part out. Push the paper on the floor "
                    "against the casing, print up. It must touch all round with no gap wider than 1 mm."),
            _joined(_pm_words(job, leg), misfit, boards))
    return _Drawing(name=gettext("{name}: paper first", name=name), says=says, items=tuple(items), window=window)


def _joined(*sentences: str) -> str:
    return " ".join(filter(None, sentences))


def _facing_wall(leg: StandingLeg, ring: Ring) -> Ring:
    """Plan points as seen from above by someone who faces the wall: x to the right along it, y off it towards the
    reader."""
    (x0, y0), (x1, y1) = leg.wall if leg.leg == "right" else (leg.wall[1], leg.wall[0])
    turn = atan2(y1 - y0, x1 - x0)
    c, s = cos(turn), sin(turn)
    # The wall's ends in `leg.wall` run away from the opening; for a right leg that is to the reader's right.
    return tuple(((x - x0) * c + (y - y0) * s, (x - x0) * s - (y - y0) * c) for x, y in ring)


def _template(job: PackJob, leg: StandingLeg, name: str, piece: Piece) -> _Drawing:
    """The board beside the leg: its edges, the footprint, and both ways of meeting it."""
    plan = job.plan
    ds, dt = board_shift(plan, piece)

    def on_board(ring: Sequence[Point]) -> Ring:
        return tuple((s + ds, t + dt) for s, t in in_rows(plan, tuple(ring)))

    foot, traced, wall = on_board(leg.foot), on_board(leg.traced), on_board(leg.wall)
    outline, *_ = in_board(plan, piece)
    left, _, right, _ = box_of(foot, outline)
    stretch = tuple(plan.to_plan(x - ds, y - dt) for x, y in (
        (max(left, box_of(foot)[0] - _WIDEST_MM), 0.0), (min(right, box_of(foot)[2] + _WIDEST_MM), 0.0),
        (min(right, box_of(foot)[2] + _WIDEST_MM), plan.board.width_mm),
        (max(left, box_of(foot)[0] - _WIDEST_MM), plan.board.width_mm)))
    off = [on_board(ring) for ring in sawn_off(piece, leg, stretch)]
    box = box_of(on_board(leg.grown))
    half = max(_NARROWEST_MM, min(_WIDEST_MM, box[2] - box[0] + 2 * _BESIDE_MM)) / 2
    middle = (box[0] + box[2]) / 2
    above = _past_wall(wall, lambda y: piece.near_mm - y)
    below = _past_wall(wall, lambda y: y - piece.far_mm)
    window = (middle - half, piece.near_mm - above - _LABEL_MM, middle + half, piece.far_mm + below + _LABEL_MM)
    align, where = _alignment(job, piece, window, (box[0], box[2]))
    names = ((gettext("↑ wall edge, towards the START WALL"), piece.near_mm - above - 2.6),
             (gettext("your edge"), piece.far_mm + below + 5.6))
    edges = [item for name, y in names for item in _on_white(Text((middle, y), name, SMALL, "middle", True))]
    items: list[Item] = [*(line for ring in off for line in hatch((ring,), spacing_mm=2.4)),
                         *(Poly(ring, _CUT, None, True, "cut") for ring in off),
                         Poly(traced, _THIN, None, False, "foot"), Line(wall[0], wall[1], _THIN, "wall"),
                         *([Poly(outline, _KEPT, None, True, "kept")] if _is_cut_under(job, leg) else []), *align,
                         *_names(traced, wall, window, (*edges, *align)), *edges]
    return _Drawing(name=worded(_LEG_PIECE[leg.leg], name=name, door=leg.door, piece=piece.id),
                    says=(worded(FACE), where, *_ways(job, leg)), items=tuple(items), window=window)


def _ways(job: PackJob, leg: StandingLeg) -> tuple[str, ...]:
    """How the board meets the casing: sawn round it, or pushed under it where it is undercut."""
    gap, traced = job.units.length(job.plan.gap_mm), _pm_words(job, leg)
    if not _is_cut_under(job, leg):
        return (_joined(gettext("Saw along the thick line, all round the hatched waste: the {gap} gap to the casing is "
                                "in it.", gap=gap), traced),)
    return (gettext("Either saw along the thick line, all round the hatched waste: the {gap} gap to the casing is in "
                    "it.", gap=gap),
            _joined(gettext("Or undercut the casing at {height} above the bare floor and keep the dashed edge: the "
                            "board slides under it.", height=job.units.fine(undercut_mm(job))), traced))


def _is_cut_under(job: PackJob, leg: StandingLeg) -> bool:
    return any(door.casing is not None for door in job.room.doors if door.name == leg.door)


def _names(traced: Ring, wall: Ring, window: Box, others: Sequence[Item]) -> list[Item]:
    """What the thin lines are, each name where it stands clear of lines and of other words."""
    placer = Placer(window)
    for item in others:
        if isinstance(item, Text):
            placer.block(text_box(item))
        elif isinstance(item, Line):
            placer.block(box_of((item.start, item.end)))
    labels = WallLabels(placer, (traced, wall))
    left, top, right, bottom = box_of(traced)
    spots = [(left + u * (right - left), top + v * (bottom - top) + 1.2) for v in (0.5, 0.25, 0.75)
             for u in (0.5, 0.25, 0.75)]
    spots += [((left + right) / 2, y) for y in (bottom + 4.5, top - 2.5)]
    casing = labels.first(Text(spot, gettext("casing"), SMALL, "middle") for spot in spots)
    return [item for text in (*casing, *labels.first(_beside_wall(traced, wall, window))) for item in _on_white(text)]


def _beside_wall(traced: Ring, wall: Ring, window: Box) -> Iterator[Text]:
    """Places for the wall's name along its visible stretch, beyond the wall first."""
    seen = clip_line(wall[0], wall[1], window)
    if seen is None:
        return
    (x0, y0), (x1, y1) = seen
    left, top, right, bottom = box_of(traced)
    for share in (0.7, 0.5, 0.85, 0.3, 0.95, 0.15, 0.05):
        x, y = x0 + share * (x1 - x0), y0 + share * (y1 - y0)
        if abs(x1 - x0) > abs(y1 - y0):
            beyond = -1.0 if (top + bottom) / 2 > y else 1.0
            for way in (beyond, -beyond):
                yield Text((x, y + (4.2 if way > 0 else -2.0)), gettext("bare wall"), SMALL, "middle")
        else:
            beyond = -1.0 if (left + right) / 2 > x else 1.0
            for way in (beyond, -beyond):
                yield Text((x + 2.0 * way, y + 1.2), gettext("bare wall"), SMALL, "start" if way > 0 else "end")


def _alignment(job: PackJob, piece: Piece, window: Box, busy: tuple[float, float]) -> tuple[list[Item], str]:
    """How the template is laid along the board: by an end of the piece if the window shows one, else by a line at a
    round distance."""
    for side, x in (("left", piece.from_mm), ("right", piece.to_mm)):
        if window[0] + 2.0 < x < window[2] - 2.0:
            return [], align_words(piece, side, 0.0, job.units)
    to_left = busy[0] - piece.from_mm <= piece.to_mm - busy[1]
    end = piece.from_mm if to_left else piece.to_mm
    step = _ROUND_MM[job.show]
    spot = window[0] + 4.0 if to_left else window[2] - 4.0
    away = ceil(abs(spot - end) / step) * step if to_left else floor(abs(end - spot) / step + 1.0) * step
    x = end + away if to_left else end - away
    side = "left" if to_left else "right"
    line = Line((x, window[1] + 8.0), (x, window[3] - 8.0), Pen(0.25), "align")
    mark = Text((x + 1.2, (window[1] + window[3]) / 2), "M", BODY, "start", True)
    return [line, mark], align_words(piece, side, away, job.units)


def _past_wall(wall: Ring, beyond: Callable[[float], float]) -> float:
    """How far an edge's label is moved out: its white ground must not wipe out a wall that runs along close beyond
    that edge."""
    (x0, y0), (x1, y1) = wall[:2]
    runs_along = abs(x1 - x0) > abs(y1 - y0)
    away = (beyond(y0), beyond(y1))
    return max(away) + 1.5 if runs_along and any(-1.5 < mm < _NEAR_MM for mm in away) else 0.0


def _on_white(text: Text) -> tuple[Item, ...]:
    left, top, right, bottom = text_box(text)
    return Poly(((left, top), (right, top), (right, bottom), (left, bottom)), NONE, 1.0, True, "ground"), text


def _cut_to(items: Sequence[Item], window: Box) -> list[Item]:
    return [part for item in items for part in clipped(item, window)]


def _sheet(job: PackJob, drawing: _Drawing, paper: Paper) -> Sheet:
    """A heading, some sentences, the drawing at full size in its frame, and check lines."""
    width = paper.width_mm - 2 * MARGIN_MM
    lines, used = text_lines(drawing.name, MARGIN_MM, MARGIN_MM, width, size=FIGURE, bold=True)
    for sentence in drawing.says:
        more, tall = text_lines(sentence, MARGIN_MM, MARGIN_MM + used, width, size=BODY)
        lines, used = (*lines, *more), used + tall
    sx, sy = job.paper_scale
    left, top, right, bottom = drawing.window
    corner = (MARGIN_MM + _LEFT_MM, MARGIN_MM + max(_HEAD_MM, used + 3.0))
    drawn = [mapped(part, sx, sy, corner[0] - sx * left, corner[1] - sy * top)
             for part in _cut_to(drawing.items, drawing.window)]
    foot = corner[1] + sy * (bottom - top)
    check = rulers_of(job.show).line_mm
    frame = rectangle(*corner, sx * (right - left), sy * (bottom - top), pen=THIN, layer="frame")
    down = max(foot + 4.0, corner[1] + sy * check)
    said = gettext("{length} both ways? Printed at 100 %?", length=job.units.plain(check))
    items = (*lines, *drawn, frame, *check_lines(job.show, job.paper_scale, (MARGIN_MM + 3.5, down)),
             Text((MARGIN_MM + 6.0, down + 4.0), f"{said} · {job.title} · {job.day}", SMALL))
    return Sheet(width_mm=paper.width_mm, height_mm=paper.height_mm, bookmark=drawing.name, items=items)
