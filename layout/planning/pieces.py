"""From first pieces to pieces: who is cut from which board, in which order, and what each looks like.

A *placement* is a board laid in a row: its left end at s0 in the row frame. The piece is what of the board lies in the
run; if that falls apart (an island or a spur of wall between), each part is a piece of its own from the same placement.
Boards are numbered, and offcuts labelled, in laying order: rows in turn, within a row as the fitter lays. An offcut's
label is its board's number with what it keeps: R the right end (it can start a run), L the left end (it can end one),
M neither (a run of one piece). Pieces the reader owns already (S1, S2, ...) are numbered after the boards to buy.
"""
from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from layout.region.inset import polygons_of
from layout.planning.cuts import cuts_for, keeps_of
from layout.frame import Frame
from layout.search.core.model import SAME_MM, Span, Task, split_run
from layout.search.core.owned_stock import runs_of_owned
from layout.plan import Offcut, Piece, Row, Run
from layout.room import Board, OwnPiece
from layout.region.rows import RunShape, Strip
from layout.search.core.board_pairing import Shares, share_boards

#: Pieces of a placement smaller than this are rounding, mm2.
LEAST_PIECE_MM2 = 0.5
#: A placement that ends this near to its run's end ends there: a slanted end is moved within the edge window later.
AT_END_MM = 9.0


#: The board with a number.
BoardOf = Callable[[int], Board]


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """A board in a row: the run (index), the stretch of s it fills, where its left end lies, and a board key."""

    run: int
    lo_mm: float
    hi_mm: float
    s0_mm: float
    board: int

    @property
    def taken(self) -> tuple[float, float]:
        """The stretch of the board it uses."""
        return self.lo_mm - self.s0_mm, self.hi_mm - self.s0_mm

    def in_board(self, shape: Polygon, near_mm: float) -> Polygon:
        """A shape of the row frame in the board's. near_mm: t of the board's near edge."""
        return shapely.transform(shape, lambda corners: corners - np.array([self.s0_mm, near_mm]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where a placement's wood comes from: offcut label ("" a new board), the stock's stretch, labels of what it
    leaves."""

    takes: str
    stock: tuple[float, float]
    leaves: tuple[str, ...]


def place_boards(task: Task, firsts: list[float], owned: tuple[OwnPiece, ...] = (),
                 shares: Sequence[Shares] | None = None,) -> tuple[list[Placement], dict[int, OwnPiece]]:
    """(every placement, run by run from left to right, with boards shared as told or as
    `layout.search.core.board_pairing` says; the owned piece behind a board key).

    Board keys are arbitrary. Runs that stand for owned pieces are not placed.
    """
    start_of, end_of, slice_of = _board_keys(task, firsts, share_boards(task, firsts) if shares is None else shares)
    fresh = 1 + max([*start_of.values(), *end_of.values(), *(key for key, _ in slice_of.values())], default=-1)
    earlier = runs_of_owned(task, owned)
    behind = {(end_of if "right" in piece.keeps else start_of)[run]: piece for run, piece in earlier.items()}
    placements = []
    for run, (span, first) in enumerate(zip(task.spans, firsts)):
        if run in earlier:
            continue
        count, _ = split_run(span.length_mm, first, task.board_mm)
        if count == 1:
            key, at = slice_of[run]
            placements.append(Placement(run=run, lo_mm=span.left_mm, hi_mm=span.right_mm, s0_mm=span.left_mm - at,
                                        board=key))
            continue
        for number in range(count):
            s0 = span.left_mm + first + (number - 1) * task.board_mm
            key = start_of[run] if number == 0 else end_of[run] if number == count - 1 else fresh
            fresh += key == fresh
            lo = span.left_mm if number == 0 else s0
            hi = span.right_mm if number == count - 1 else s0 + task.board_mm
            placements.append(Placement(run=run, lo_mm=lo, hi_mm=hi, s0_mm=s0, board=key))
    return placements, behind


def lay_order(placements: list[Placement], spans: tuple[Span, ...], lay: str) -> list[int]:
    """Indices of the placements in the order they are laid."""
    sense = 1.0 if lay == "left-to-right" else -1.0
    return sorted(range(len(placements)), key=lambda i: (spans[placements[i].run].row, sense * placements[i].lo_mm))


def number_boards(placements: list[Placement], order: list[int], behind: dict[int, OwnPiece], whole: list[OwnPiece],
                  ) -> tuple[list[Placement], dict[int, OwnPiece], int]:
    """(the placements with boards numbered as they are first cut, the owned piece of a number, how many boards are to
    be bought).

    Boards to buy come first, from 1. Whole boards at hand are laid before new ones.
    """
    keys = list(dict.fromkeys(placements[i].board for i in order))
    fresh = [key for key in keys if key not in behind]
    behind = behind | dict(zip(fresh, whole))
    numbers = {key: n for n, key in enumerate(sorted(keys, key=lambda key: (key in behind, keys.index(key))), start=1)}
    numbered = [replace(placement, board=numbers[placement.board]) for placement in placements]
    return (
        numbered,
        {numbers[key]: piece for key, piece in behind.items() if key in numbers},
        sum(key not in behind for key in keys),
    )


def trace_offcuts(placements: list[Placement], order: list[int], ids: list[str], board_of: BoardOf, kerf_mm: float,
                  keep_mm: float, owned: dict[int, OwnPiece]) -> tuple[list[Source], tuple[Offcut, ...]]:
    """Follow every board through its cuts. Offcuts never used are kept on the list if at least `keep_mm` long.

    owned: the owned piece that stands for a board, by the board's number.
    """
    sources: list[Source | None] = [None] * len(placements)
    offcuts: list[Offcut] = []
    by_board: dict[int, list[int]] = {}
    for i in order:
        by_board.setdefault(placements[i].board, []).append(i)
    for number, uses in sorted(by_board.items()):
        board = board_of(number)
        stock = (0.0, board.length_mm, "") if number not in owned else (*owned[number].stretch(board),
                                                                        owned[number].label)
        offcuts += _cut_board(number, [(i, placements[i].taken) for i in uses], ids, board, kerf_mm, keep_mm, sources,
                              stock)
    return [source for source in sources if source is not None], tuple(offcuts)


def make_rows(runs: list[RunShape], strips: list[Strip], placements: list[Placement], board_of: BoardOf, frame: Frame,
              parts: list[list[Polygon]], ids: list[list[str]], sources: list[Source]) -> tuple[Row, ...]:
    """The plan's rows; parts and ids as `cut_shapes` and `name_pieces` give them."""
    made: dict[int, list[Piece]] = {}
    for i, placement in enumerate(placements):
        near = strips[runs[placement.run].row].board_near_mm
        made.setdefault(placement.run, []).extend(_piece(name, shape, placement,
                                                         sources[i] if number == 0 else replace(sources[i], leaves=()),
                                                         board_of(placement.board), frame, near)
                                                  for number, (name, shape) in enumerate(zip(ids[i], parts[i])))
    reach = _reach(runs, strips, placements, parts)
    return tuple(Row(number=row + 1, near_mm=reach[0] if row == 0 else strip.near_mm,
                     far_mm=reach[1] if row == len(strips) - 1 else strip.far_mm,
                     runs=tuple(Run(pieces=tuple(made[k])) for k, run in enumerate(runs) if run.row == row))
                 for row, strip in enumerate(strips))


def _reach(runs: list[RunShape], strips: list[Strip], placements: list[Placement],
           parts: list[list[Polygon]]) -> tuple[float, float]:
    """t of the first row's near edge and of the last row's far edge: where their boards end within the window at the
    walls."""
    ends = [part.bounds for placement, shapes in zip(placements, parts) if runs[placement.run].row == 0
            for part in shapes]
    far_ends = [part.bounds for placement, shapes in zip(placements, parts)
                if runs[placement.run].row == len(strips) - 1 for part in shapes]
    return min((bounds[1] for bounds in ends), default=strips[0].near_mm), max((bounds[3] for bounds in far_ends),
                                                                               default=strips[-1].far_mm)


def cut_shapes(runs: list[RunShape], placements: list[Placement]) -> list[list[Polygon]]:
    """For each placement the parts of its run it covers (row frame), from left to right, crumbs left out."""
    laid = np.array([runs[placement.run].shape for placement in placements], dtype=object)
    cut = np.array([placement.lo_mm > runs[placement.run].left_mm + AT_END_MM
                    or placement.hi_mm < runs[placement.run].right_mm - AT_END_MM for placement in placements])
    if cut.any():
        windows = [_window(runs[placement.run].shape, placement) for placement, is_cut in zip(placements, cut)
                   if is_cut]
        laid[cut] = shapely.intersection(laid[cut], windows)
    shapes = []
    for found in map(polygons_of, laid):
        big = [part for part in found if part.area > LEAST_PIECE_MM2] or [max(found, key=lambda part: part.area)]
        shapes.append(sorted(big, key=lambda part: part.bounds))
    return shapes


def _window(run: Polygon, placement: Placement) -> Polygon:
    """A box that holds what a placement takes of its run. An end of it is put on a corner of the run that lies there
    but for rounding: a joint a hair beside it would cut off a spike without area."""
    left, near, right, far = run.bounds
    corners = shapely.get_coordinates(run)[:, 0]
    lo, hi = (_at_corner(corners, s) for s in (placement.lo_mm, placement.hi_mm))
    return shapely.box(left - 1.0 if lo <= left + AT_END_MM else lo, near - 1.0,
                       right + 1.0 if hi >= right - AT_END_MM else hi, far + 1.0)


def _at_corner(corners: np.ndarray, s: float) -> float:
    nearest = float(corners[np.argmin(np.abs(corners - s))])
    return nearest if abs(nearest - s) < SAME_MM else s


def name_pieces(runs: list[RunShape], placements: list[Placement], parts: list[list[Polygon]]) -> list[list[str]]:
    """Ids "row.number" of every part, counted from the left of each row."""
    numbers: dict[int, int] = {}
    names: list[list[str]] = []
    for placement, shapes in zip(placements, parts):
        row = runs[placement.run].row + 1
        here = []
        for _ in shapes:
            numbers[row] = numbers.get(row, 0) + 1
            here.append(f"{row}.{numbers[row]}")
        names.append(here)
    return names


def _board_keys(task: Task, firsts: list[float], shares: Sequence[Shares]) -> tuple[dict[int, int], dict[int, int],
                                                                                    dict[int, tuple[int, float]]]:
    """(run -> board of its start, run -> board of its end, run of one piece -> (board, where its left end lies in
    it))."""
    start_of, end_of, slice_of = {}, {}, {}
    for key, share in enumerate(shares):
        left, right = 0.0, task.board_mm
        if share.end >= 0:
            end_of[share.end] = key
            left = split_run(task.spans[share.end].length_mm, firsts[share.end], task.board_mm)[1] + task.kerf_mm
        if share.start >= 0:
            start_of[share.start] = key
            right -= firsts[share.start] + task.kerf_mm
        for number, run in enumerate(share.slices):
            span = task.spans[run]
            taken = span.left_over_mm + span.length_mm + span.right_over_mm
            at_right = share.start < 0 and number == (0 if share.end >= 0 else 1)
            slice_of[run] = (key, (right - taken if at_right else left) + span.left_over_mm)
            if at_right:
                right -= taken + task.kerf_mm
            else:
                left += taken + task.kerf_mm
    return start_of, end_of, slice_of


def _cut_board(number: int, uses: list[tuple[int, tuple[float, float]]], ids: list[str], board: Board, kerf_mm: float,
               keep_mm: float, sources: list[Source | None], stock: tuple[float, float, str]) -> list[Offcut]:
    """Cut one board, or an owned piece of one, in the order of `uses`; fills `sources` and returns its offcuts."""
    free: list[tuple[float, float, str]] = [stock]
    offcuts: dict[str, Offcut] = {}
    for turn, (i, (lo, hi)) in enumerate(uses):
        at = next(k for k, (a, b, _) in enumerate(free) if a <= lo + SAME_MM and hi <= b + SAME_MM)
        a, b, label = free.pop(at)
        if label in offcuts:
            offcuts[label] = replace(offcuts[label], used_by=ids[i])
        later = [stretch for _, stretch in uses[turn + 1:]]
        leaves = []
        for new_lo, new_hi in ((a, lo - kerf_mm), (hi + kerf_mm, b)):
            needed = any(new_lo <= s + SAME_MM and e <= new_hi + SAME_MM for s, e in later)
            if needed or new_hi - new_lo >= keep_mm:
                name = _label(number, new_lo, new_hi, board, offcuts)
                offcuts[name] = _offcut(name, number, new_lo, new_hi, board, ids[i])
                free.append((new_lo, new_hi, name))
                leaves.append(name)
        sources[i] = Source(takes=label, stock=(a, b), leaves=tuple(leaves))
    return list(offcuts.values())


def _label(number: int, lo: float, hi: float, board: Board, taken: dict[str, Offcut]) -> str:
    kind = "L" if lo < SAME_MM else "R" if hi > board.length_mm - SAME_MM else "M"
    label = f"{number}{kind}"
    count = 1 + sum(name.startswith(label) for name in taken)
    return label if count == 1 else f"{label}{count}"


def _offcut(label: str, number: int, lo: float, hi: float, board: Board, cut_by: str) -> Offcut:
    ends = (("left",) if lo < SAME_MM else ()) + (("right",) if hi > board.length_mm - SAME_MM else ())
    return Offcut(label=label, board=number, from_mm=lo, to_mm=hi, near_mm=0.0, far_mm=board.width_mm,
                  keeps=(*ends, "near", "far"), cut_by=cut_by, used_by="")


def _piece(name: str, shape: Polygon, placement: Placement, source: Source, board: Board, frame: Frame,
           near: float) -> Piece:
    in_board = shapely.transform(shape, lambda c: _exact(c - np.array([placement.s0_mm, near]), board))
    left, low, right, high = in_board.bounds
    rings = [frame.to_plan(shapely.get_coordinates(ring)[:-1]) for ring in _plan_rings(shape)]
    return Piece(id=name, board=placement.board, takes=source.takes, outline_mm=_points(rings[0]),
                 holes_mm=tuple(_points(ring) for ring in rings[1:]), from_mm=left, to_mm=right, near_mm=low,
                 far_mm=high, keeps=keeps_of(in_board, board), cuts=cuts_for(in_board, source.stock, board),
                 leaves=source.leaves)


def _exact(corners: np.ndarray, board: Board) -> np.ndarray:
    """Corners within rounding of the board's own ends and edges put on them."""
    for axis, size in ((0, board.length_mm), (1, board.width_mm)):
        for place in (0.0, size):
            near = np.abs(corners[:, axis] - place) < SAME_MM
            corners[near, axis] = place
    return corners


def _plan_rings(shape: Polygon) -> list[shapely.LinearRing]:
    """Outline and holes so turned that they run anticlockwise and clockwise in the plan (the passage mirrors)."""
    turned = orient(shape, sign=-1.0)
    return [turned.exterior, *turned.interiors]


def _points(ring: np.ndarray) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in ring)
