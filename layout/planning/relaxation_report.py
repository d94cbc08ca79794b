"""Rules that had to give way in a finished plan: found on the pieces as they lie."""
from __future__ import annotations

from collections.abc import Callable

from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from layout.search.core.joint_preferences import HOLE_CLEAR_MM, NOTCH_CLEAR_MM, Bore, notch_corners
from layout.search.core.model import SAME_MM
from layout.plan import Cut, Offcut, Piece, Relaxed, Row
from layout.planning.fitting.sawn_ends import SawnEnd, end_of, is_before, sawn_end
from layout.room import SLIVER_MM, Board, Rules
from layout.region.rows import RunShape, Strip, seams_between
from layout.search.core.state import nearest
from layout.search.first_pieces import H_MM, LONG_BOARD_MM


#: A joint this near to a pipe's middle is on it: joints lie on whole mm.
ON_CENTRE_MM = 0.51
#: An edge this near to a seam lies on it but for rounding, mm.
ON_SEAM_MM = 1e-5


def relaxed_rules(joints: list[list[float]], runs: list[RunShape], rows: tuple[Row, ...], rules: Rules,
                  bores: tuple[Bore, ...] = ()) -> tuple[Relaxed, ...]:
    """Every place where a rule is not kept: by row (stagger, narrowest, joints near a hole or a notch) or by piece
    (shortest).

    joints: of each run, s in mm; runs: as their pieces lie in the end.
    """
    return (*_staggers(joints, runs, rows, rules), *_shortest(rows, rules), *_narrowest(runs, rules),
            *_at_holes(runs, joints, bores), *_at_notches(runs, joints))


def thin_strips(rows: tuple[Row, ...], offcuts: tuple[Offcut, ...], lengths: dict[str, float],
                board_of: Callable[[int], Board]) -> tuple[Relaxed, ...]:
    """Every piece off which a strip must come that no saw can hold. lengths: of offcuts and own pieces, by label."""
    pieces = {piece.id: piece for row in rows for piece in row.pieces}
    sawn = {offcut.label: sawn_end(offcut, pieces[offcut.cut_by]) for offcut in offcuts if offcut.cut_by in pieces}
    found = []
    for piece in pieces.values():
        board = board_of(piece.board)
        long, end = lengths.get(piece.takes, board.length_mm), sawn.get(piece.takes)
        offs = [board.width_mm - min(cut.at) if cut.kind == "rip" else _taken_off(cut, piece, long, end)
                for cut in piece.cuts if cut.kind in ("cross", "rip")]
        thin = [off for off in offs if SAME_MM < off < SLIVER_MM - SAME_MM]
        if thin:
            found.append(Relaxed(rule="sliver", where=piece.id, asked_mm=SLIVER_MM, had_mm=min(thin)))
    return tuple(found)


def _taken_off(cut: Cut, piece: Piece, long_mm: float, sawn: SawnEnd | None) -> float:
    """How much a crosscut takes off a stock so long where it takes most."""
    beyond = sawn.beyond_mm if sawn is not None and sawn.side == end_of(cut, piece) else (0.0, 0.0)
    return max((at if is_before(cut, piece) else long_mm - at) + more for at, more in zip(cut.at, beyond))


def _staggers(joints: list[list[float]], runs: list[RunShape], rows: tuple[Row, ...], rules: Rules) -> list[Relaxed]:
    """Measured along the seams as they are laid: within the edge window they end elsewhere than planned."""
    strips = [Strip(near_mm=row.near_mm, far_mm=row.far_mm, board_near_mm=row.near_mm) for row in rows]
    least: dict[int, float] = {}
    for upper, lower, lo, hi in seams_between(runs, strips, ON_SEAM_MM):
        _lower(least, runs[lower].row + 1, nearest(*([s for s in joints[run] if lo <= s <= hi]
                                                     for run in (upper, lower))))
    return [Relaxed(rule="stagger", where=f"row {row}", asked_mm=rules.stagger_mm, had_mm=had)
            for row, had in sorted(least.items()) if had < rules.stagger_mm - SAME_MM]


def _shortest(rows: tuple[Row, ...], rules: Rules) -> list[Relaxed]:
    found = []
    for run in (run for row in rows for run in row.runs):
        for piece in run.pieces:
            had = piece.to_mm - piece.from_mm
            if had < rules.shortest_mm - SAME_MM:
                found.append(Relaxed(rule="shortest", where=piece.id, asked_mm=rules.shortest_mm, had_mm=had,
                                     alone=len(run.pieces) == 1))
    return found


def _narrowest(runs: list[RunShape], rules: Rules) -> list[Relaxed]:
    least: dict[int, float] = {}
    for run in runs:
        _, near, _, far = run.shape.bounds
        _lower(least, run.row + 1, min(run.narrow_mm, far - near))
    return [Relaxed(rule="narrowest", where=f"row {row}", asked_mm=rules.narrowest_mm, had_mm=had)
            for row, had in sorted(least.items()) if had < rules.narrowest_mm - SAME_MM]


def _at_holes(runs: list[RunShape], joints: list[list[float]], bores: tuple[Bore, ...]) -> list[Relaxed]:
    """Rows with an end joint off a pipe's centre line and within 30 mm of its hole."""
    least: dict[int, float] = {}
    for bore in bores:
        centre = Point(bore.s_mm, bore.t_mm)
        for run, places in zip(runs, joints):
            if run.shape.distance(centre) < bore.radius_mm:
                for s in (s for s in places if abs(s - bore.s_mm) > ON_CENTRE_MM):
                    _lower(least, run.row + 1, max(0.0, _line_at(run.shape, s).distance(centre) - bore.radius_mm))
    return [Relaxed(rule="pipe-joint", where=f"row {row}", asked_mm=HOLE_CLEAR_MM, had_mm=had)
            for row, had in sorted(least.items()) if had < HOLE_CLEAR_MM - SAME_MM]


def _at_notches(runs: list[RunShape], joints: list[list[float]]) -> list[Relaxed]:
    """Rows with an end joint within 60 mm of a notch's inner corner."""
    least: dict[int, float] = {}
    for run, places in zip(runs, joints):
        for corner in notch_corners(run.shape) if places else ():
            for s in places:
                _lower(least, run.row + 1, abs(s - corner))
    return [Relaxed(rule="notch-joint", where=f"row {row}", asked_mm=NOTCH_CLEAR_MM, had_mm=had)
            for row, had in sorted(least.items()) if had < NOTCH_CLEAR_MM - SAME_MM]


def alike_rows(joints: list[list[float]], runs: list[RunShape], board_mm: float) -> tuple[Relaxed, ...]:
    """Rows of long boards with a joint within 100 mm of one two rows before. Told of freely placed joints only: a
    pattern repeats them on purpose."""
    by_row: dict[int, list[float]] = {}
    for run, places in zip(runs, joints):
        by_row.setdefault(run.row, []).extend(places)
    least = {row + 1: nearest(sorted(by_row.get(row - 2, ())), sorted(places)) for row, places in by_row.items()}
    return tuple(Relaxed(rule="alike", where=f"row {row}", asked_mm=H_MM, had_mm=had)
                 for row, had in sorted(least.items()) if had < H_MM - SAME_MM and board_mm >= LONG_BOARD_MM)


def _lower(least: dict[int, float], row: int, value: float) -> None:
    least[row] = min(least.get(row, float("inf")), value)


def _line_at(shape: Polygon, s: float) -> BaseGeometry:
    """The end joint at s: where an upright line lies in a run's shape."""
    _, near, _, far = shape.bounds
    return shape.intersection(LineString([(s, near - 1.0), (s, far + 1.0)]))
