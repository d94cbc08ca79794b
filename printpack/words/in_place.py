"""What is measured in place before it is cut, as facts: what the tape should come to, how far it may be off, and where
the wood ends.

A survey knows where the joints of one row fall to a few millimetres and no better, so nothing that ends at a wall is
cut by the figures alone: the closing piece of a run, a piece ripped along a wall, a cut-out. Tapes go from what is laid
already to the spacer, so that the gap is taken off without arithmetic. The bounds are 95 % intervals (`tolerances`).
"""
from __future__ import annotations

from dataclasses import dataclass

from layout.plan import Cut, Piece, Plan, Point, Row, Run
from printpack.words.tolerances import Fit, Reach, cut_out_pm95_mm, end_pm95_mm, far_pm95_mm
from printpack.job import PackJob
from printpack.drawing.frames import board_shift, box_of, in_rows, is_first_in_room, stock_of
from printpack.words.piece_outline import frame_of, is_sliver, new_sides, straight_ends

#: A wall that a ray meets further off than this from where the piece ends is another wall, mm.
_SAME_WALL_MM = 15.0
#: Wood that is too short by no more than this is long enough, mm.
_NOTHING_MM = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """How long or wide the place of a piece should be: at the wall edge and at your edge (or at the left and the right
    end), and half a 95 % interval, mm."""

    at_mm: tuple[float, float]
    pm_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class InPlace:
    """What of one piece is taped before it is sawn. closes: whether it is the last of its run; length, width: its
    place; cut_out_pm_mm, pipe_pm_mm: how far the figures of cut-outs and of holes may be off, 0 without; short_mm: how
    long the wood of a closing piece is, where it may end before its place does, 0 else."""

    closes: bool = False
    length: Place | None = None
    width: Place | None = None
    cut_out_pm_mm: float = 0.0
    pipe_pm_mm: float = 0.0
    short_mm: float = 0.0


def in_place(job: PackJob, row: Row, piece: Piece, fit: Fit) -> InPlace:
    """The facts of one piece."""
    run = next(run for run in row.runs if piece in run.pieces)
    closes = piece is (run.pieces[-1] if job.plan.lay == "left-to-right" else run.pieces[0])
    place = _closed(job, row, run, piece, fit) if closes else None
    return InPlace(closes=closes, length=place, width=_width(job, row, piece, fit),
                   cut_out_pm_mm=_cut_out(job, row, piece, fit), pipe_pm_mm=_pipe(job, row, piece, fit),
                   short_mm=_short(job.plan, piece, place) if place else 0.0)


def _closed(job: PackJob, row: Row, run: Run, piece: Piece, fit: Fit) -> Place:
    """For the piece that closes a run: how long its place should be."""
    s0, _, s1, _ = box_of(in_rows(job.plan, piece.outline_mm))
    reach = fit.across((s0 + s1) / 2, (row.near_mm + row.far_mm) / 2)
    a, b, c, d = frame_of(job.plan, piece).corners
    return Place(at_mm=(b[0] - a[0], c[0] - d[0]),
                 pm_mm=end_pm95_mm(reach.sd_mm if reach else fit.fallback_sd, len(run.pieces) - 1))


def _short(plan: Plan, piece: Piece, place: Place) -> float:
    """How long the wood of a closing piece is, if its place may be longer, mm; 0 if there is enough."""
    low, _, high, _ = stock_of(plan, piece)
    has = high - piece.from_mm if plan.lay == "left-to-right" else piece.to_mm - low
    return has if max(place.at_mm) + place.pm_mm > has + _NOTHING_MM else 0.0


def _width(job: PackJob, row: Row, piece: Piece, fit: Fit) -> Place | None:
    """For a piece ripped along a wall, from square end to square end: how wide its place should be. The rows hang on
    the start wall, so nothing is measured where row 1 follows it."""
    if not {"left", "right"} <= set(straight_ends(job.plan, piece)):
        return None
    a, b, c, d = frame_of(job.plan, piece).corners
    for cut in piece.cuts:
        if cut.kind == "rip" and not (cut.kept == "far" and is_first_in_room(job.plan, row)):
            sd = _edge_sd(job, row, piece, cut, fit)
            return Place(at_mm=(d[1] - a[1], c[1] - b[1]), pm_mm=far_pm95_mm(sd, row.number - 1))
    return None


def _edge_sd(job: PackJob, row: Row, piece: Piece, cut: Cut, fit: Fit) -> float:
    """How sure the wall beside a ripped edge is, seen across the row, mm."""
    left, near, right, far = box_of(in_rows(job.plan, piece.outline_mm))
    middle = (near + far) / 2
    sds = []
    for share in (0.2, 0.5, 0.8):
        s = left + share * (right - left)
        reach = fit.to_far_wall(s, middle) if cut.kept == "near" else fit.to_near_wall(s, middle)
        if reach and reach.squarely and reach.length_mm < (far - near) + job.plan.gap_mm + _SAME_WALL_MM:
            sds.append(reach.sd_mm)
    return max(sds, default=fit.fallback_sd)


def _cut_out(job: PackJob, row: Row, piece: Piece, fit: Fit) -> float:
    """For notches, and for rips that run out between the ends: one plus-minus for all their corners, mm; 0 without."""
    if not any(_is_cut_out(job, piece, cut) for cut in piece.cuts):
        return 0.0
    ds, dt = board_shift(job.plan, piece)
    sds = [reach.sd_mm for cut in piece.cuts if _is_cut_out(job, piece, cut) for a, b in _walls(job, piece, cut)
           for reach in _reaches(fit, ((a[0] - ds, a[1] - dt), (b[0] - ds, b[1] - dt)))]
    return cut_out_pm95_mm(max(sds, default=fit.fallback_sd), row.number, len(row.pieces))


def _is_cut_out(job: PackJob, piece: Piece, cut: Cut) -> bool:
    if cut.kind == "rip":
        return not {"left", "right"} <= set(straight_ends(job.plan, piece))
    return cut.kind in ("notch", "line") and not is_sliver(cut)


def _walls(job: PackJob, piece: Piece, cut: Cut) -> tuple[tuple[Point, Point], ...]:
    """The sawn sides of a cut-out, board frame; each lies along a wall."""
    if cut.kind in ("notch", "line"):
        return new_sides(job.plan, piece, cut)
    frame = frame_of(job.plan, piece)
    return (frame.far if cut.kept == "near" else frame.near,)


def _reaches(fit: Fit, side: tuple[Point, Point]) -> list[Reach]:
    """Distances square to the rows, or along them, to the wall beside a side: whichever meets it more squarely."""
    (s0, t0), (s1, t1) = side
    s, t = (s0 + s1) / 2, (t0 + t1) / 2
    along = abs(s1 - s0) > abs(t1 - t0)
    found = (fit.to_far_wall(s, t), fit.to_near_wall(s, t)) if along else (fit.across(s, t),)
    return [reach for reach in found if reach and reach.squarely and (not along or reach.length_mm < 60.0)]


def _pipe(job: PackJob, row: Row, piece: Piece, fit: Fit) -> float:
    """For holes: how far the pipes may stand from where the figures say, one plus-minus for all of them, mm; 0
    without."""
    names = list(dict.fromkeys(cut.pipe for cut in piece.cuts if cut.kind == "hole"))
    if not names:
        return 0.0
    begins = "left" if job.plan.lay == "left-to-right" else "right"
    return cut_out_pm95_mm(max(fit.point_sd_mm(name, begins) for name in names), row.number, len(row.pieces))


def start_gap_mm(job: PackJob, row: Row, fit: Fit) -> float:
    """The gap at the start wall where the first row is laid unsawn at another than the usual one, so that its spacers
    differ; 0 else."""
    plan = job.plan
    if not is_first_in_room(plan, row):
        return 0.0
    found = []
    for piece in (piece for piece in row.pieces if not any(cut.kind != "cross" for cut in piece.cuts)):
        left, near, right, _ = box_of(in_rows(plan, piece.outline_mm))
        reach = fit.to_near_wall((left + right) / 2, near)
        if reach and reach.squarely:
            found.append(reach.length_mm)
    mean = sum(found) / len(found) if found else plan.gap_mm
    alike = all(abs(gap - mean) < _NOTHING_MM for gap in found)
    return mean if alike and abs(mean - plan.gap_mm) >= _NOTHING_MM else 0.0
