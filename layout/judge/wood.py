"""The judge on the wood: pieces fit their boards, boards are not used twice, cuts make the pieces, offcuts are where
they are said to be."""
from __future__ import annotations

from collections import Counter
from math import ceil, copysign, isfinite

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from capture.language.messages import Message, lazy_gettext
from layout.judge.fault import Fault
from layout.judge.piece_geometry import Laid, area_mm2
from layout.plan import Cut, Offcut, Piece, Plan
from layout.room import OwnPiece, Room

WOOD_MM = 1e-6
SHAPE_MM2 = 1.0
#: How far a pipe may be told from its place, mm.
PLACE_MM = 1e-3
#: A hole biting less than the first of these needs no cut; more than the second needs one, mm2.
BITES_MM2 = (0.5, 2.0)


def check_wood(plan: Plan, room: Room, laid: tuple[Laid, ...]) -> list[Fault]:
    """Faults of pieces in their boards, of cuts, of offcuts, and of the sums."""
    boards = _by_board(plan, laid)
    stocks = {offcut.label: (offcut.from_mm, offcut.to_mm) for offcut in plan.offcuts} | {piece.label: _own(plan, piece)
                                                                                          for piece in plan.owned}
    faults = [fault for one in laid for fault in (*_extent(plan, one), *_keeps(plan, one), *_cuts(plan, one, stocks))]
    for number, uses in boards.items():
        faults += _apart(plan, number, uses)
    return [*faults, *_offcuts(plan, boards), *_owned(plan, boards), *_holes(plan, room, laid), *_sums(plan, boards),
            *_mix(plan)]


def _extent(plan: Plan, one: Laid) -> list[Fault]:
    """The piece's extent is what it says, and lies within a board."""
    piece, faults = one.piece, []
    left, near, right, far = one.shape.bounds
    off = max(abs(right - left - (piece.to_mm - piece.from_mm)), abs(far - near - (piece.far_mm - piece.near_mm)))
    if off > WOOD_MM * 10:
        faults.append(Fault(slug="extent", where=piece.id, amount=off,
                            says=lazy_gettext("the outline is not as long or wide as from, to, near and far say")))
    over = max(-piece.from_mm, piece.to_mm - plan.board_of(piece.board).length_mm, -piece.near_mm,
               piece.far_mm - plan.board.width_mm)
    if over > WOOD_MM:
        faults.append(Fault(slug="off-board", where=piece.id, amount=over,
                            says=lazy_gettext("the piece is larger than its board")))
    return faults


def _keeps(plan: Plan, one: Laid) -> list[Fault]:
    """`keeps` names the factory ends and edges with more than 1 mm of the outline on them.

    0.9 to 1.1 mm either way is let pass, and so are edges that lie within 0.01 mm of the factory one but not on it.
    """
    board, faults = plan.board_of(one.piece.board), []
    s, t = shapely.get_coordinates(one.in_board.exterior).T
    off = np.abs([s, s - board.length_mm, t, t - board.width_mm])
    along = np.abs([t[1:] - t[:-1], s[1:] - s[:-1]]).repeat(2, axis=0)
    sides = zip(("left", "right", "near", "far"), *(_lengths_within(off, along, within) for within in (1e-7, 1e-2)))
    for name, surely, perhaps in sides:
        if (surely > 1.1 and name not in one.piece.keeps) or (perhaps < 0.9 and name in one.piece.keeps):
            faults.append(Fault(slug="keeps", where=one.piece.id, amount=perhaps,
                                says=lazy_gettext("{side} is wrongly listed or left out in keeps", side=name)))
    return faults


def _lengths_within(off: np.ndarray, along: np.ndarray, within: float) -> list[float]:
    """How much of a ring lies within a distance of each of some lines, mm. off: how far its corners are from each;
    along: the length of its steps."""
    on = off < within
    lengths: list[float] = (along * (on[:, :-1] & on[:, 1:])).sum(axis=1).tolist()
    return lengths


def _cuts(plan: Plan, one: Laid, stocks: dict[str, tuple[float, float]]) -> list[Fault]:
    """The cuts, applied to the stock, give the piece."""
    piece = one.piece
    stock = (0.0, plan.board_of(piece.board).length_mm) if piece.takes == "" else stocks.get(piece.takes)
    if stock is None:
        return []
    wood: BaseGeometry = shapely.box(stock[0], 0.0, stock[1], plan.board.width_mm)
    faults = []
    for cut in piece.cuts:
        if cut.kind in ("cross", "rip"):
            wood = _saw(wood, _line(plan, one, cut, stock), one.in_board.representative_point())
        elif cut.kind in ("notch", "line"):
            told = Polygon(cut.shape)
            taken = wood.intersection(_box(plan, cut, stock) if cut.kind == "notch" and cut.kept else told)
            faults += _off(piece, taken, told, lazy_gettext("the shape of a cut is not the wood it takes"))
            wood = wood.difference(taken)
    return faults + _off(piece, wood, one.in_board, lazy_gettext("the cuts do not give the piece"))


def _off(piece: Piece, wood: BaseGeometry, told: BaseGeometry, says: Message) -> list[Fault]:
    off = area_mm2(shapely.symmetric_difference, wood, told, most=SHAPE_MM2)
    return [Fault(slug="cuts", where=piece.id, amount=off, says=says)] if off > SHAPE_MM2 else []


def _box(plan: Plan, cut: Cut, stock: tuple[float, float]) -> Polygon:
    """What a square notch takes out of the board."""
    (a, b), width = cut.at, plan.board.width_mm
    ends = {"near": (a, 0.0, b, cut.deep), "far": (a, width - cut.deep, b, width),
            "left": (stock[0], a, stock[0] + cut.deep, b), "right": (stock[1] - cut.deep, a, stock[1], b)}
    return shapely.box(*ends[cut.kept])


def _line(plan: Plan, one: Laid, cut: Cut, stock: tuple[float, float]) -> LineString:
    """The saw line of a straight cut in the board frame, as a person would mark it."""
    if cut.kind == "cross":
        s = [stock[0] + at if cut.kept == "left" else stock[1] - at for at in cut.at]
        ends = (s[0], 0.0), (s[1], plan.board.width_mm)
    else:
        t = [at if cut.kept == "near" else plan.board.width_mm - at for at in cut.at]
        ends = (one.piece.from_mm, t[0]), (one.piece.to_mm, t[1])
    (s0, t0), (s1, t1) = ends
    return LineString([(s0 - 1e3 * (s1 - s0), t0 - 1e3 * (t1 - t0)), (s1 + 1e3 * (s1 - s0), t1 + 1e3 * (t1 - t0))])


def _saw(wood: BaseGeometry, line: LineString, inside: Point) -> BaseGeometry:
    """What is left on the side of the line where the piece lies."""
    (x0, y0), (x1, y1) = line.coords
    side = copysign(1.0, (x1 - x0) * (inside.y - y0) - (y1 - y0) * (inside.x - x0))
    across = side * (y0 - y1), side * (x1 - x0)
    return wood.intersection(Polygon([(x0, y0), (x1, y1), (x1 + across[0], y1 + across[1]),
                                      (x0 + across[0], y0 + across[1])]))


def _by_board(plan: Plan, laid: tuple[Laid, ...]) -> dict[int, list[Laid]]:
    """Pieces of each board in laying order."""
    sense = 1.0 if plan.lay == "left-to-right" else -1.0
    boards: dict[int, list[Laid]] = {}
    for one in sorted(laid, key=lambda one: (one.row, sense * one.shape.bounds[0])):
        boards.setdefault(one.piece.board, []).append(one)
    return boards


def _apart(plan: Plan, number: int, uses: list[Laid]) -> list[Fault]:
    """Pieces of one board keep a saw's width apart in it (parts of one placement only must not overlap)."""
    faults = []
    for i, a in enumerate(uses):
        for b in uses[i + 1:]:
            need = -WOOD_MM if _same_placement(a, b) else plan.kerf_mm
            apart = a.in_board.distance(b.in_board)
            common = area_mm2(shapely.intersection, a.in_board, b.in_board, most=SHAPE_MM2)
            if apart < need - WOOD_MM * 10 or common > SHAPE_MM2:
                faults.append(Fault(slug="board-overlap", where=f"board {number}", amount=max(need - apart, common),
                                    says=lazy_gettext("pieces {a} and {b} overlap or leave no saw cut",
                                                      a=a.piece.id, b=b.piece.id)))
    return faults


def _same_placement(a: Laid, b: Laid) -> bool:
    return a.row == b.row and abs(a.s0_mm - b.s0_mm) < 1e-5 and a.piece.takes == b.piece.takes


def _offcuts(plan: Plan, boards: dict[int, list[Laid]]) -> list[Fault]:
    """Each offcut lies in its board clear of what was cut before, and is used once, later, by the piece that says
    so."""
    faults = []
    known = {offcut.label: offcut for offcut in plan.offcuts}
    at_hand = {piece.label: piece.board for piece in plan.owned}
    if len(known) != len(plan.offcuts):
        faults.append(Fault(slug="offcut", where="offcuts", amount=float(len(plan.offcuts) - len(known)),
                            says=lazy_gettext("two offcuts share a label")))
    for offcut in plan.offcuts:
        faults += _offcut(plan, offcut, boards.get(offcut.board, []))
    for number, uses in boards.items():
        for k, one in enumerate(uses):
            first = _same_placement(one, uses[0])
            takes = one.piece.takes
            fresh = takes == "" or takes in at_hand
            if fresh != first:
                faults.append(Fault(slug="offcut", where=one.piece.id, amount=float(number),
                                    says=lazy_gettext("a new board is taken twice, or not first")))
            elif not fresh and (takes not in known or known[takes].board != number):
                faults.append(Fault(slug="offcut", where=one.piece.id, amount=float(number),
                                    says=lazy_gettext("there is no offcut {label} of this board", label=takes)))
            for label in one.piece.leaves:
                if label not in known or known[label].cut_by != one.piece.id:
                    faults.append(Fault(slug="offcut", where=one.piece.id, amount=float(k),
                                        says=lazy_gettext("offcut {label} is not listed as this piece's", label=label)))
    return faults


def _owned(plan: Plan, boards: dict[int, list[Laid]]) -> list[Fault]:
    """The reader's own pieces: each used once at most, by pieces that lie in its wood; numbered after the boards to
    buy."""
    faults = []
    by_number = {piece.board: piece for piece in plan.owned if piece.board}
    if len({piece.label for piece in plan.owned}) != len(plan.owned) or len(by_number) != sum(
        bool(piece.board) for piece in plan.owned
    ):
        faults.append(Fault(slug="owned", where="owned", amount=float(len(plan.owned)),
                            says=lazy_gettext("two pieces at hand share a label or a number")))
    for number, uses in boards.items():
        piece, first = by_number.get(number), uses[0].piece.takes
        lo, hi = (0.0, plan.board_of(number).length_mm) if piece is None else _own(plan, piece)
        over = max(max(lo - one.piece.from_mm, one.piece.to_mm - hi) for one in uses)
        if (number > plan.boards) != (piece is not None) or first != (""
                                                                      if piece is None
                                                                      else piece.label) or over > WOOD_MM:
            faults.append(Fault(slug="owned", where=f"board {number}", amount=over,
                                says=lazy_gettext("a piece at hand is not there, or is too short")))
    return faults


def _own(plan: Plan, piece: OwnPiece) -> tuple[float, float]:
    """Where an owned piece lies in its board: at the end it keeps, or where it says."""
    lo = piece.from_mm if piece.from_mm is not None else 0.0 if "left" in piece.keeps else (
        plan.board.length_mm - piece.length_mm)
    return lo, lo + piece.length_mm


def _offcut(plan: Plan, offcut: Offcut, uses: list[Laid]) -> list[Fault]:
    def fault(amount: float, says: Message) -> Fault:
        return Fault(slug="offcut", where=offcut.label, amount=amount, says=says)

    order = [one.piece.id for one in uses]
    if offcut.cut_by not in order:
        return [fault(0.0, lazy_gettext("no piece of its board makes it"))]
    cut_at = order.index(offcut.cut_by)
    faults = []
    if offcut.label not in uses[cut_at].piece.leaves:
        faults.append(fault(0.0, lazy_gettext("the piece that makes it does not list it")))
    if offcut.from_mm < -WOOD_MM or offcut.to_mm > plan.board_of(
            offcut.board).length_mm + WOOD_MM or offcut.to_mm <= offcut.from_mm:
        faults.append(fault(offcut.to_mm - offcut.from_mm, lazy_gettext("it does not lie in its board")))
    ends = {"left": offcut.from_mm < WOOD_MM, "right": offcut.to_mm > plan.board_of(offcut.board).length_mm - WOOD_MM}
    if any((name in offcut.keeps) != has for name, has in ends.items()):
        faults.append(fault(0.0, lazy_gettext("it keeps other ends than it says")))
    for one in uses[:cut_at + 1]:
        short = plan.kerf_mm - max(one.piece.from_mm - offcut.to_mm, offcut.from_mm - one.piece.to_mm)
        if short > WOOD_MM * 10:
            faults.append(fault(short, lazy_gettext("it overlaps {piece} or leaves no saw cut", piece=one.piece.id)))
    return faults + _use(offcut, uses, order, cut_at)


def _use(offcut: Offcut, uses: list[Laid], order: list[str], cut_at: int) -> list[Fault]:
    """The piece made of an offcut takes it, comes later, and lies within it; nobody else takes it."""
    takers = [k for k, one in enumerate(uses) if one.piece.takes == offcut.label]
    if offcut.used_by == "" and not takers:
        return []
    ok = (offcut.used_by in order and takers and order.index(offcut.used_by) in takers
          and all(_same_placement(uses[k], uses[takers[0]]) for k in takers) and min(takers) > cut_at)
    if not ok:
        return [Fault(slug="offcut", where=offcut.label, amount=float(len(takers)),
                      says=lazy_gettext("it is not used once, later, by the piece it names"))]
    over = max(max(offcut.from_mm - uses[k].piece.from_mm, uses[k].piece.to_mm - offcut.to_mm) for k in takers)
    return [Fault(slug="offcut", where=offcut.label, amount=over,
                  says=lazy_gettext("the piece made of it is longer than it"))] if over > WOOD_MM else []


def _holes(plan: Plan, room: Room, laid: tuple[Laid, ...]) -> list[Fault]:
    """Every pipe has a hole of its diameter and two gaps, cut at its place from every piece it bites."""
    listed = {hole.pipe: hole for hole in plan.holes}
    faults = _strange_holes(plan, room)
    for pipe in room.pipes:
        wanted = pipe.diameter_mm + 2 * plan.gap_mm
        hole = listed.get(pipe.name)
        if hole is None or abs(hole.diameter_mm - wanted) > WOOD_MM:
            faults.append(Fault(slug="hole", where=pipe.name, amount=wanted,
                                says=lazy_gettext("the pipe's hole is missing or of the wrong size")))
            continue
        centre = Point(*plan.to_row_frame((float(pipe.centre_mm[0]), float(pipe.centre_mm[1]))))
        disc = centre.buffer(wanted / 2)
        for one in laid:
            bite = one.shape.intersection(disc).area if one.shape.intersects(disc) else 0.0
            place = (centre.x - one.s0_mm, centre.y - one.t0_mm)
            cut = any(c.kind == "hole" and c.pipe == pipe.name and abs(c.diameter - wanted) < WOOD_MM
                      and max(abs(c.centre[0] - place[0]), abs(c.centre[1] - place[1])) < 1e-3 for c in one.piece.cuts)
            both = cut and one.piece.id in hole.pieces
            either = one.piece.id in hole.pieces or any(c.kind == "hole"
                                                        and c.pipe == pipe.name for c in one.piece.cuts)
            if (bite > BITES_MM2[1] and not both) or (bite < BITES_MM2[0] and either):
                faults.append(Fault(slug="hole", where=one.piece.id, amount=bite,
                                    says=lazy_gettext("the hole of {pipe} is missing or not wanted", pipe=pipe.name)))
    return faults


def _strange_holes(plan: Plan, room: Room) -> list[Fault]:
    """Every hole is listed once, of a pipe that is there, at its place and of its size."""
    pipes = {pipe.name: pipe for pipe in room.pipes}
    faults = []
    for name, times in Counter(hole.pipe for hole in plan.holes).items():
        if times > 1 or name not in pipes:
            faults.append(Fault(slug="hole", where=name, amount=float(times),
                                says=lazy_gettext("a hole is listed twice, or of a pipe that is not there")))
    for hole, pipe in ((hole, pipes[hole.pipe]) for hole in plan.holes if hole.pipe in pipes):
        off = max(abs(hole.centre_mm[0] - pipe.centre_mm[0]), abs(hole.centre_mm[1] - pipe.centre_mm[1]),
                  abs(hole.pipe_mm - pipe.diameter_mm))
        if off > PLACE_MM:
            faults.append(Fault(slug="hole", where=hole.pipe, amount=float(off),
                                says=lazy_gettext("the hole is listed at another place or for another pipe")))
    return faults


def _sums(plan: Plan, boards: dict[int, list[Laid]]) -> list[Fault]:
    """Board numbers, packs, bound and waste."""
    faults = []
    numbers = sorted(boards)
    at_hand = [piece for piece in plan.owned if piece.board]
    if numbers != list(range(1, plan.boards + len(at_hand) + 1)):
        faults.append(Fault(slug="board-number", where="boards", amount=float(len(numbers)),
                            says=lazy_gettext("boards are not numbered 1 to their count")))
    if plan.packs != _packs(plan):
        faults.append(Fault(slug="packs", where="packs", amount=float(plan.packs),
                            says=lazy_gettext("the packs do not match the boards")))
    if plan.bound > plan.boards or plan.proven != (plan.least_packs == plan.packs
                                                   if plan.board.mix else plan.bound == plan.boards):
        faults.append(Fault(slug="bound", where="bound", amount=float(plan.bound),
                            says=lazy_gettext("the bound does not fit the boards")))
    area = sum(Polygon(part.outline, part.holes).area for part in plan.cover)
    wood = (sum(plan.lengths_mm) or plan.boards * plan.board.length_mm) + sum(piece.length_mm for piece in at_hand)
    waste = 100.0 * (1.0 - area / (wood * plan.board.width_mm))
    if not isfinite(plan.waste_percent) or abs(waste - plan.waste_percent) > 1e-6:
        faults.append(Fault(slug="waste", where="waste", amount=plan.waste_percent,
                            says=lazy_gettext("the waste does not follow from boards and cover")))
    return faults


def _packs(plan: Plan) -> int:
    """The packs that hold the boards: of each length as many as are cut."""
    if not plan.board.mix:
        return ceil(plan.boards / plan.board.pack)
    return max(ceil(plan.lengths_mm.count(length) / count) for length, count in plan.board.mix)


def _mix(plan: Plan) -> list[Fault]:
    """With several lengths: every board has one that the packs hold, and what is said of fewer packs is true of
    their wood."""
    if not plan.board.mix:
        return [Fault(slug="packs", where="packs", amount=float(plan.least_packs),
                      says=lazy_gettext("lengths are told of boards that have one only"))] if (plan.lengths_mm
                                                                                 or plan.least_packs) else []
    faults = []
    strange = set(plan.lengths_mm) - {length for length, _ in plan.board.mix}
    if strange or len(plan.lengths_mm) != plan.boards:
        faults.append(Fault(slug="packs", where="lengths", amount=float(len(plan.lengths_mm)),
                            says=lazy_gettext("a board has no length, or one no pack holds")))
    in_a_pack = sum(length * count for length, count in plan.board.mix)
    laid = sum(piece.to_mm - piece.from_mm for piece in plan.pieces)
    if not bool(plan.boards) <= plan.least_packs <= plan.packs or (plan.least_packs - 1) * in_a_pack >= laid:
        faults.append(Fault(slug="packs", where="least packs", amount=float(plan.least_packs),
                            says=lazy_gettext("so many packs are not known to be needed")))
    return faults
