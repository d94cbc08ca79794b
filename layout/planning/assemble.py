"""A finished plan from the way of laying that was chosen: pieces, holes, doorways, profiles, what to buy, what to
know."""
from __future__ import annotations

from dataclasses import replace
from itertools import islice

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient
from shapely.ops import unary_union

from layout.materials.beading import bars_of, beading_of
from layout.facts.reasons import FirstRowWide, OwnIdle, OwnUsed, Reason
from layout.planning.report.notes import beading_least_mm, noted
from layout.region.inset import LEAST_PART_MM2, polygons_of, to_polygon
from layout.region.doorways import doorways_of
from layout.region.run_ends import at_ends
from layout.frame import Frame
from layout.region.holes import bore
from layout.search.beam_search import Laying as MixedLaying
from layout.planning.mixed_lengths import lengths_of, placements_of
from layout.search.core.owned_stock import label_stock
from layout.planning.pieces import (
    Placement, lay_order, make_rows, name_pieces, number_boards, place_boards, trace_offcuts)
from layout.plan import Choice, LeftOut, Offcut, Plan, Profile, Row
from layout.region.expansion_profiles import Band
from layout.planning.fitting.sawn_ends import squared
from layout.planning.relaxation_report import alike_rows, relaxed_rules, thin_strips
from layout.room import Board, OwnPiece, Room, Settled
from layout.region.rows import RunShape, Strip, measured
from layout.planning.fitting.set_apart import set_apart
from layout.planning.fitting.settled_ends import settle_ends
from layout.planning.fitting.against_ends import against_ends
from layout.planning.fitting.shaping import NEAR_MM, Limits, shape_pieces, union_of
from layout.planning.fitting.broken_rows import with_joining_rows
from layout.planning.fitting.chalk_line import chalk_line_of
from layout.planning.fitting.end_gaps import with_gaps
from layout.planning.fitting.tight_places import in_tight_places
from layout.materials.shopping import Need, packs_for, shopping_list
from layout.planning.site import Site
from layout.planning.laid import Laid
from layout.planning.search_task import window_of


Laying = tuple[tuple[Row, ...], tuple[Offcut, ...], tuple[OwnPiece, ...], int]


def assemble(room: Room, site: Site, board: Board, wishes: Settled, trial: Laid,
             choices: tuple[Choice, ...], reasons: tuple[Reason, ...], *, laying: Laying | None = None,
             lengths_mm: tuple[float, ...] = ()) -> Plan:
    """The plan of a floor laid on trial. reasons: why it is laid so.

    laying: rows of pieces without holes, offcuts, own pieces and boards to buy, where they are settled already, and the
    length of each of these boards where they differ.
    """
    (rows, offcuts, owned, boards), lengths = (laying, lengths_mm) if laying else _lay(site, trial, board, wishes)
    rows = squared(rows, offcuts)
    rows, holes = bore(rows, list(trial.strips), room.pipes, wishes.gap_mm, trial.frame)
    rows = in_tight_places(rows, room, trial.frame, board.length_mm, wishes.lay)
    runs = _runs_as_laid(rows, trial)
    lengths_of = {offcut.label: offcut.to_mm - offcut.from_mm for offcut in offcuts} | {piece.label: piece.length_mm
                                                                                        for piece in owned}
    relaxed = (*relaxed_rules(trial.joints, runs, rows, wishes.rules, trial.bores),
               *thin_strips(rows, offcuts, lengths_of, lambda number: board.of_length(lengths[number - 1]) if lengths
                            and number <= len(lengths) else board))
    if trial.mixed is None and wishes.pattern == "fewest":
        relaxed = (*relaxed, *alike_rows(trial.joints, runs, board.length_mm))
    cover = _cover(runs, trial.frame)
    doorways, profiles, left_out = (
        doorways_of(room, site.opened, board, wishes),
        _profiles(trial),
        _left_out(site, trial, runs),
    )
    beading, packs = beading_of(room), packs_for(boards, board) if trial.mixed is None else trial.mixed.packs
    bars = bars_of(room, beading, wishes.beading, wishes.kerf_mm)
    ground = Polygon(site.opened.outline_mm, [ring for _, ring in room.islands])
    rows = with_gaps(with_joining_rows(rows, trial.frame), overlayable(ground), trial.frame)
    chalk = chalk_line_of(rows, room, trial.frame)
    need = Need(boards=boards, lengths=lengths, packs=packs, owned=owned,
                floor_rf=trial.frame.shape_to_row(overlayable(ground)), row_ends=2 * len(trial.runs), bars=bars,
                beading_least_mm=beading_least_mm(room, wishes, left_out), profiles=profiles)
    plan = Plan(floor=to_polygon(ground), cover=tuple(to_polygon(part) for part in cover), board=board,
                kerf_mm=wishes.kerf_mm, gap_mm=wishes.gap_mm, gap_least_mm=wishes.gap_least_mm,
                gap_most_mm=wishes.gap_most_mm, rules=wishes.rules, frame=trial.frame,
                lay=wishes.lay, pattern=wishes.pattern, rows=rows, offcuts=offcuts,
                holes=holes, boards=boards, bound=trial.bound, bound_by="packs" if trial.mixed else "cuts",
                proven=trial.proven, packs=packs, waste_percent=waste_percent(cover,
                                                                              sum(lengths) or boards * board.length_mm,
                                                                              owned, board),
                reasons=(*_as_cut(reasons, rows), *_about_owned(owned)), choices=choices,
                shopping=shopping_list(room, board, wishes, need), beading=beading,
                notes=(), relaxed=relaxed, longest_mm=wishes.longest_mm,
                doorways=doorways, profiles=profiles, left_out=left_out, owned=owned, bars=bars, lengths_mm=lengths,
                least_packs=trial.mixed.least_packs if trial.mixed else 0, chalk=chalk)
    return noted(plan, room, wishes)


def _as_cut(reasons: tuple[Reason, ...], rows: tuple[Row, ...]) -> list[Reason]:
    """The reasons with the first and last row as wide as their boards are cut, to a whole mm along a wall."""
    first, last = (row.far_mm - row.near_mm for row in (rows[0], rows[-1]))
    return [replace(reason, width_mm=first, last_mm=last) if isinstance(reason, FirstRowWide) else reason
            for reason in reasons]


def waste_percent(cover: list[Polygon], boards_mm: float, owned: tuple[OwnPiece, ...], board: Board) -> float:
    """Share of the wood cut or laid (boards, so long in all, and own pieces; not the packs bought) that does not end up
    in the floor, percent.

    Pipe holes count as floor.
    """
    length = boards_mm + sum(piece.length_mm for piece in owned if piece.board)
    return 100.0 * (1.0 - sum(part.area for part in cover) / (length * board.width_mm))


def _runs_as_laid(rows: tuple[Row, ...], trial: Laid) -> list[RunShape]:
    """The runs as their pieces make them."""
    laid = [(Strip(near_mm=row.near_mm, far_mm=row.far_mm, board_near_mm=0.0), run) for row in rows for run in row.runs]
    pieces = iter(trial.frame.shapes_to_row([Polygon(piece.outline_mm, piece.holes_mm) for _, run in laid
                                             for piece in run.pieces]))
    found = []
    for planned, (strip, run) in zip(trial.runs, laid):
        shape = union_of(list(islice(pieces, len(run.pieces))))
        found.append(measured(planned.row, shape, strip) if isinstance(shape, Polygon) else planned)
    return found


def _cover(runs: list[RunShape], frame: Frame) -> list[Polygon]:
    """What the boards cover."""
    parts = [shapely.transform(part, frame.to_plan) for part in polygons_of(union_of([run.shape for run in runs]))]
    return sorted(map(orient, parts), key=lambda part: (-part.area, part.bounds))


def _profiles(trial: Laid) -> tuple[Profile, ...]:
    """Every expansion profile as a line in the plan."""
    return tuple(_profile(trial.frame, band, ends) for band in trial.ground.bands for ends in band.ends())


def _profile(frame: Frame, band: Band, ends: tuple[tuple[float, float], tuple[float, float]]) -> Profile:
    (x0, y0), (x1, y1) = (tuple(map(float, point))
                          for point in frame.to_plan(shapely.get_coordinates(shapely.LineString(ends))))
    return Profile(ends=((x0, y0), (x1, y1)), clear_mm=band.clear_mm)


def _left_out(site: Site, trial: Laid, runs: list[RunShape]) -> tuple[LeftOut, ...]:
    """Strips too thin to saw that the edge window does not take up, as outlines in the plan with their greatest
    width."""
    found = []
    least = trial.frame.shape_to_row(site.least)
    for chip in trial.ground.chips:
        if chip.intersection(least).area < LEAST_PART_MM2:
            continue
        bare = [part for part in polygons_of(chip.difference(union_of([run.shape for run in runs])))
                if part.area > LEAST_PART_MM2]
        found += [_as_left_out(part, trial.frame) for part in bare]
    return tuple(found)


def _as_left_out(chip: Polygon, frame: Frame) -> LeftOut:
    return LeftOut(outline=to_polygon(shapely.transform(chip, frame.to_plan)).outline,
                   width_mm=2 * float(shapely.maximum_inscribed_circle(chip).length))


def overlayable(ground: Polygon) -> BaseGeometry:
    """The ground as overlays can take it: islands may touch walls and one another, but for rounding."""
    return (
        ground
        if ground.is_valid
        else Polygon(ground.exterior).difference(unary_union([Polygon(ring) for ring in ground.interiors]))
    )


def limits_of(site: Site, trial: Laid, board: Board, wishes: Settled) -> Limits:
    """The limits of the pieces of a trial."""
    open_ = shapely.union_all([*(chip.buffer(NEAR_MM, join_style="mitre") for chip in trial.ground.chips),
                               *(band.box(wishes.gap_most_mm - wishes.gap_least_mm) for band in trial.ground.bands)])
    bands = shapely.union_all([band.box() for band in trial.ground.bands])
    return Limits(widest=trial.frame.shape_to_row(site.widest).difference(bands),
                  least=trial.frame.shape_to_row(site.least).difference(open_), window=window_of(board, wishes),
                  step_mm=wishes.step_mm, kerf_mm=wishes.kerf_mm)


def _lay(site: Site, trial: Laid, board: Board, wishes: Settled) -> tuple[Laying, tuple[float, ...]]:
    """(rows of pieces, offcuts, the reader's own pieces, and the number of boards to buy; the length of each of
    these where they differ)."""
    stock = label_stock(wishes.stock)
    behind: dict[int, OwnPiece] = {}
    if trial.mixed:
        spans, loose = trial.task.spans, placements_of(trial.task, trial.mixed.laying)
        behind = {-k: piece for k, piece in enumerate(stock, start=1)}
    else:
        lay = settle_ends(trial.task, list(trial.firsts), list(trial.runs), kerf_mm=wishes.kerf_mm,
                          step_mm=wishes.step_mm, lay=wishes.lay)
        spans, (loose, behind) = lay.task.spans, place_boards(lay.task, list(lay.firsts), stock, lay.shares)
    order = lay_order(loose, trial.task.spans, wishes.lay)
    whole = [] if trial.mixed else [piece for piece in stock if piece.is_whole]
    placements, used, boards = number_boards(loose, order, behind, whole)
    lengths = _lengths(loose, placements, trial.mixed.laying) if trial.mixed else ()

    def board_of(number: int) -> Board:
        return board.of_length(lengths[number - 1]) if number <= len(lengths) else board

    runs = [at_ends(run, span.left_mm, span.right_mm) for run, span in zip(trial.runs, spans)]
    placements, parts = shape_pieces(runs, list(trial.strips), placements, board_of,
                                     limits_of(site, trial, board, wishes))
    nears = [trial.strips[runs[placement.run].row].board_near_mm for placement in placements]
    placements = against_ends(placements, parts, nears, board_of, fixed=used)
    placements = set_apart(placements, parts, nears, board_of, wishes.kerf_mm, fixed=used)
    ids = name_pieces(runs, placements, parts)
    sources, offcuts = trace_offcuts(placements, order, [names[0] for names in ids], board_of, wishes.kerf_mm,
                                     wishes.rules.shortest_mm, used)
    rows = make_rows(runs, list(trial.strips), placements, board_of, trial.frame, parts, ids, sources)
    numbers = {piece.label: number for number, piece in used.items()}
    return (rows, offcuts, tuple(replace(piece, board=numbers.get(piece.label, 0)) for piece in stock), boards), lengths


def _lengths(loose: list[Placement], numbered: list[Placement], laying: MixedLaying) -> tuple[float, ...]:
    """The length of every board, by its number."""
    opened = lengths_of(laying)
    found = {after.board: opened[before.board] for before, after in zip(loose, numbered) if before.board in opened}
    return tuple(found[number] for number in sorted(found))


def _about_owned(owned: tuple[OwnPiece, ...]) -> list[Reason]:
    """Which of the reader's own pieces are used, and which are not."""
    used, idle = (tuple(piece.label for piece in owned if bool(piece.board) == taken) for taken in (True, False))
    reasons: list[Reason] = [OwnUsed(labels=used)] if used else []
    return [*reasons, OwnIdle(labels=idle)] if idle else reasons
