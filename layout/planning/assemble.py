"""A finished plan from the way of laying that was chosen: pieces, holes, doorways, profiles, what to buy, what to
know."""
from __future__ import annotations

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient
from shapely.ops import unary_union

from layout.materials.beading import bars_of, beading_of
from layout.search.fewest.lower_bound import SAYS
from layout.planning.cautions import CAUTIONS, Findings, beading_least_mm, warnings_for
from layout.region.inset import LEAST_PART_MM2, lost_alcoves, polygons_of, to_polygon
from layout.region.doorways import doorways_of
from layout.region.run_ends import at_ends
from layout.region.frame import Frame
from layout.region.holes import bore
from layout.search.beam_search import Laying as MixedLaying
from layout.planning.mixed_lengths import MIXED_SAYS, packs_say, placements_of
from layout.search.core.owned_stock import Labelled, as_owned, label_stock
from layout.planning.pieces import (
    Placement, lay_order, make_rows, name_pieces, number_boards, place_boards, trace_offcuts)
from layout.plan import Choice, LeftOut, Offcut, Owned, Plan, Profile, Row
from layout.region.expansion_profiles import Band
from layout.planning.relaxation_report import alike_rows, relaxed_rules, thin_strips
from layout.room import Board, Room, Settled, Wishes
from layout.region.rows import RunShape, Strip, measured
from layout.planning.fitting.settled_ends import settle_ends
from layout.planning.fitting.shaping import NEAR_MM, Limits, shape_pieces, union_of
from layout.planning.fitting.broken_rows import with_joining_rows
from layout.planning.fitting.chalk_line import chalk_line_of, chalk_says
from layout.planning.fitting.end_gaps import with_gaps
from layout.planning.fitting.tight_places import in_tight_places
from layout.materials.shopping import Need, packs_for, shopping_list
from layout.planning.site import Site
from layout.planning.candidate import Trial
from layout.planning.search_task import window_of


Laying = tuple[tuple[Row, ...], tuple[Offcut, ...], tuple[Owned, ...], int]


def assemble(room: Room, floor: BaseGeometry, site: Site, board: Board, wishes: Settled, trial: Trial,
             choices: tuple[Choice, ...], why_gap: str, *, laying: Laying | None = None) -> Plan:
    """The plan of a trial. floor: wall to wall less islands; why_gap: why the gap is so wide, "" if the reader chose
    it.

    laying: rows of pieces without holes, offcuts, own pieces and boards to buy, where they are settled already.
    """
    (rows, offcuts, owned, boards), lengths = (laying, ()) if laying else _lay(site, trial, board, wishes)
    rows, holes = bore(rows, list(trial.strips), room.pipes, wishes.gap_mm, trial.frame)
    rows = in_tight_places(rows, room, trial.frame, board.length_mm, wishes.lay)
    runs = _runs_as_laid(rows, trial)
    lengths_of = {offcut.label: offcut.to_mm - offcut.from_mm for offcut in offcuts} | {piece.label: piece.length_mm
                                                                                        for piece in owned}
    relaxed = (*relaxed_rules(trial.joints, runs, rows, wishes.rules, trial.bores),
               *thin_strips(rows, lengths_of, lambda number: board.of_length(lengths[number - 1]) if lengths
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
    found = Findings(cover=cover, lost=lost_alcoves(floor, cover, wishes.gap_mm), holes=holes, doorways=doorways,
                     blocked=site.opened.blocked, profiles=profiles, left_out=left_out,
                     extents_mm=(trial.along_mm, trial.depth_mm), relaxed=relaxed, rows=rows)
    return Plan(floor=to_polygon(ground), cover=tuple(to_polygon(part) for part in cover), board=board,
                kerf_mm=wishes.kerf_mm, gap_mm=wishes.gap_mm, gap_least_mm=wishes.gap_least_mm,
                gap_most_mm=wishes.gap_most_mm, rules=wishes.rules, u=trial.frame.u, v=trial.frame.v,
                start_mm=trial.frame.start_mm, lay=wishes.lay, pattern=wishes.pattern, rows=rows, offcuts=offcuts,
                holes=holes, boards=boards, bound=trial.bound, bound_says=MIXED_SAYS if trial.mixed else SAYS,
                proven=trial.proven, packs=packs, waste_percent=waste_percent(cover,
                                                                              sum(lengths) or boards * board.length_mm,
                                                                              owned, board),
                says=(*_says(trial, board, choices, wishes, why_gap), *([chalk_says(chalk)] if chalk else []),
                      *_says_owned(owned)), choices=choices,
                shopping=shopping_list(room, board, wishes, need), beading=beading, cautions=CAUTIONS,
                warnings=warnings_for(room, board, wishes, found), relaxed=relaxed, longest_mm=wishes.longest_mm,
                doorways=doorways, profiles=profiles, left_out=left_out, owned=owned, bars=bars, lengths_mm=lengths,
                least_packs=trial.mixed.least_packs if trial.mixed else 0, chalk=chalk)


def waste_percent(cover: list[Polygon], boards_mm: float, owned: tuple[Owned, ...], board: Board) -> float:
    """Share of the wood cut or laid (boards, so long in all, and own pieces; not the packs bought) that does not end up
    in the floor, percent.

    Pipe holes count as floor.
    """
    length = boards_mm + sum(piece.length_mm for piece in owned if piece.board)
    return 100.0 * (1.0 - sum(part.area for part in cover) / (length * board.width_mm))


def _runs_as_laid(rows: tuple[Row, ...], trial: Trial) -> list[RunShape]:
    """The runs as their pieces make them."""
    laid = [(Strip(near_mm=row.near_mm, far_mm=row.far_mm, board_near_mm=0.0), run) for row in rows for run in row.runs]
    found = []
    for planned, (strip, run) in zip(trial.runs, laid):
        pieces = [trial.frame.shape_to_row(Polygon(piece.outline_mm, piece.holes_mm)) for piece in run.pieces]
        shape = union_of(pieces)
        found.append(measured(planned.row, shape, strip) if isinstance(shape, Polygon) else planned)
    return found


def _cover(runs: list[RunShape], frame: Frame) -> list[Polygon]:
    """What the boards cover."""
    parts = [shapely.transform(part, frame.to_plan) for part in polygons_of(union_of([run.shape for run in runs]))]
    return sorted(map(orient, parts), key=lambda part: (-part.area, part.bounds))


def _profiles(trial: Trial) -> tuple[Profile, ...]:
    """Every expansion profile as a line in the plan."""
    return tuple(_profile(trial.frame, band, ends) for band in trial.ground.bands for ends in band.ends())


def _profile(frame: Frame, band: Band, ends: tuple[tuple[float, float], tuple[float, float]]) -> Profile:
    (x0, y0), (x1, y1) = (tuple(map(float, point))
                          for point in frame.to_plan(shapely.get_coordinates(shapely.LineString(ends))))
    long = shapely.LineString(ends).length / 1000
    way = (
        f"across the rows, {band.middle_mm / 1000:.2f} m from their left end" if band.axis == "s" else "along the rows"
    )
    return Profile(ends=((x0, y0), (x1, y1)), clear_mm=band.clear_mm,
                   says=f"An expansion profile {long:.2f} m long goes {way}: the boards stop {band.clear_mm:g} mm "
                        "short of its middle on both sides.")


def _left_out(site: Site, trial: Trial, runs: list[RunShape]) -> tuple[LeftOut, ...]:
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


def limits_of(site: Site, trial: Trial, board: Board, wishes: Settled) -> Limits:
    """The limits of the pieces of a trial."""
    open_ = shapely.union_all([*(chip.buffer(NEAR_MM, join_style="mitre") for chip in trial.ground.chips),
                               *(band.box(wishes.gap_most_mm - wishes.gap_least_mm) for band in trial.ground.bands)])
    bands = shapely.union_all([band.box() for band in trial.ground.bands])
    return Limits(widest=trial.frame.shape_to_row(site.widest).difference(bands),
                  least=trial.frame.shape_to_row(site.least).difference(open_), window=window_of(board, wishes),
                  step_mm=wishes.step_mm, kerf_mm=wishes.kerf_mm)


def _lay(site: Site, trial: Trial, board: Board, wishes: Settled) -> tuple[Laying, tuple[float, ...]]:
    """(rows of pieces, offcuts, the reader's own pieces, and the number of boards to buy; the length of each of
    these where they differ)."""
    stock = label_stock(wishes.stock, len(trial.runs))
    behind: dict[int, Labelled] = {}
    if trial.mixed:
        spans, loose = trial.task.spans, placements_of(trial.task, trial.mixed.laying)
    else:
        lay = settle_ends(trial.task, list(trial.firsts), list(trial.runs), kerf_mm=wishes.kerf_mm,
                          step_mm=wishes.step_mm, lay=wishes.lay)
        spans, (loose, behind) = lay.task.spans, place_boards(lay.task, list(lay.firsts), stock, lay.shares)
    order = lay_order(loose, trial.task.spans, wishes.lay)
    placements, used, boards = number_boards(loose, order, behind, [piece for piece in stock if piece.run < 0])
    lengths = _lengths(loose, placements, trial.mixed.laying) if trial.mixed else ()

    def board_of(number: int) -> Board:
        return board.of_length(lengths[number - 1]) if lengths else board

    runs = [at_ends(run, span.left_mm, span.right_mm) for run, span in zip(trial.runs, spans)]
    placements, parts = shape_pieces(runs, list(trial.strips), placements, board_of,
                                     limits_of(site, trial, board, wishes))
    ids = name_pieces(runs, placements, parts)
    sources, offcuts = trace_offcuts(placements, order, [names[0] for names in ids], board_of, wishes.kerf_mm,
                                     wishes.rules.shortest_mm, used)
    rows = make_rows(runs, list(trial.strips), placements, board_of, trial.frame, parts, ids, sources)
    numbers = {piece.label: number for number, piece in used.items()}
    return (rows, offcuts, tuple(as_owned(piece, numbers.get(piece.label, 0)) for piece in stock), boards), lengths


def _lengths(loose: list[Placement], numbered: list[Placement], laying: MixedLaying) -> tuple[float, ...]:
    """The length of every board, by its number."""
    opened = {piece.board: piece.board_mm for piece in laying.pieces()}
    found = {after.board: opened[before.board] for before, after in zip(loose, numbered)}
    return tuple(found[number] for number in sorted(found))


def _says_owned(owned: tuple[Owned, ...]) -> tuple[str, ...]:
    """Which of the reader's own pieces are used, and which are not."""
    used, idle = ([piece.label for piece in owned if bool(piece.board) == taken] for taken in (True, False))
    says = [(f"Of the pieces you have already, {', '.join(used)} {'are' if len(used) > 1 else 'is'} used before new "
             "boards.")] if used else []
    if idle:
        does, them = ("do", "them") if len(idle) > 1 else ("does", "it")
        says.append(f"{', '.join(idle)} {does} not save a board here; keep {them} for repairs.")
    return tuple(says)


def _says_start(trial: Trial) -> list[str]:
    """What is to be known of a first row that is no good one to begin with."""
    number, start = trial.start.row + 1, trial.start
    says = []
    if start.is_wedge:
        says.append(f"Row {number} is sawn to a wedge: its wall is {start.wedge_mm:.0f} mm out of line with the rows.")
    if start.runs > 1:
        says.append(f"Row {number} lies in {start.runs} stretches: string them to one line.")
    return says


def _says(trial: Trial, board: Board, choices: tuple[Choice, ...], wishes: Wishes, why_gap: str) -> tuple[str, ...]:
    """Why this way of laying, in sentences."""
    says = [f"Rows run along {trial.way.along} and start at {trial.way.start}."]
    if len(choices) > 1:
        what = "packs" if trial.mixed else "boards"
        this, *others = (choice.boards if choice.packs is None else choice.packs for choice in choices)
        says.append(f"{len(choices)} ways of laying were weighed: this one needs {this} {what}, the others "
                    f"{min(others) if min(others) == max(others) else f'{min(others)} to {max(others)}'}. Rows had "
                    "best run "
                    "towards the main window, or along the longer side: other ways are taken where they save a pack "
                    "and 5 % of the boards. "
                    f"Then ways that keep every rule come first, then fewest {what}, then a start along one long wall "
                    "that neither a chimney breast nor a jamb breaks and that asks for no wedge, then rows along the "
                    "longer side (common practice).")
    first, last = trial.strips[0], trial.strips[-1]
    in_doorway = (
        " Row 1 begins in the doorway: the first row meant here is the one at the wall."
        if trial.starts_in_doorway
        else ""
    )
    wide, last_wide = first.far_mm - first.near_mm, last.far_mm - last.near_mm
    says.append(f"{trial.first_row.says} Row 1 is {wide:.0f} mm wide, the last row {last_wide:.0f} mm.{in_doorway}")
    says += _says_start(trial)
    says += [why_gap] if why_gap else []
    if trial.mixed:
        says.append(packs_say(trial.mixed, board.mix))
    elif trial.boards == trial.bound:
        says.append(f"{trial.boards} boards are the fewest possible for these rows.")
    elif wishes.pattern != "fewest":
        says.append(f"The pattern of {wishes.pattern} needs {trial.boards} boards; freely placed joints need at least "
                    f"{trial.bound}, so the pattern "
                    f"costs at most {trial.boards - trial.bound} boards.")
    else:
        says.append(f"{trial.boards} boards; at least {trial.bound} are needed for these rows, so at most "
                    f"{trial.boards - trial.bound} could be saved.")
    return tuple(says)
