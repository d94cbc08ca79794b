"""What is measured in place before it is cut: what the tape should come to, how far it may be off, and when to stop.

A survey knows where the joints of one row fall to a few millimetres and no better, so nothing that ends at a wall is
cut by the figures alone: the closing piece of a run, a piece ripped along a wall, a cut-out. Tapes go from what is laid
already to the spacer, so that the gap is taken off without arithmetic. The bounds are 95 % intervals (`tolerances`).
"""
from __future__ import annotations

from dataclasses import dataclass

from layout.plan import Cut, Piece, Point, Row, Run
from printpack.words.tolerances import Fit, Reach, cut_out_pm95_mm, end_pm95_mm, far_pm95_mm
from printpack.job import PackJob
from printpack.drawing.frames import board_shift, box_of, in_rows, is_first_in_room, stock_of
from printpack.words.piece_outline import frame_of, is_sliver, new_sides, straight_ends
from printpack.units import NO_BREAK, Units
from printpack.words.cut_phrases import is_one

#: A wall that a ray meets further off than this from where the piece ends is another wall, mm.
_SAME_WALL_MM = 15.0
#: Wood that is too short by no more than this is long enough, mm.
_NOTHING_MM = 1.0


def in_place_words(job: PackJob, row: Row, piece: Piece, fit: Fit) -> tuple[str, ...]:
    """The sentences for one piece; () for a piece that touches no wall but at its run's beginning."""
    closed = _closed_by(job, row, piece, fit)
    bounded = [*(_place(job, piece, closed) if closed else ()), *_width(job, row, piece, fit),
               *_cut_out(job, row, piece, fit), *_pipe(job, row, piece, fit)]
    return (*bounded[:-1], *(f"{last} Outside that, stop and check." for last in bounded[-1:]),
            *(_too_short(job, piece, closed) if closed else ()))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Closed:
    """A run and the place of the piece that closes it: its length at the near edge and at the far, half a 95 %
    interval, mm."""

    run: Run
    at_mm: tuple[float, float]
    pm_mm: float


def _closed_by(job: PackJob, row: Row, piece: Piece, fit: Fit) -> _Closed | None:
    """The run that a piece closes; None if it closes none."""
    run = next(run for run in row.runs if piece in run.pieces)
    if piece is not (run.pieces[-1] if job.plan.lay == "left-to-right" else run.pieces[0]):
        return None
    s0, _, s1, _ = box_of(in_rows(job.plan, piece.outline_mm))
    reach = fit.across((s0 + s1) / 2, (row.near_mm + row.far_mm) / 2)
    a, b, c, d = frame_of(job.plan, piece).corners
    return _Closed(run=run, at_mm=(b[0] - a[0], c[0] - d[0]),
                   pm_mm=end_pm95_mm(reach.sd_mm if reach else fit.fallback_sd, len(run.pieces) - 1))


def _place(job: PackJob, piece: Piece, closed: _Closed) -> list[str]:
    """For the piece that closes a run: how long its place should be."""
    place = _expected(closed.at_mm, ("NEAR", "FAR"), closed.pm_mm, job.units)
    tape = "from joint to spacer" if len(closed.run.pieces) > 1 else "from spacer to spacer"
    if not any(cut.kind == "cross" for cut in piece.cuts):
        return [f"Expect its place to be {place}: measure {tape} first."]
    return [f"Expect {place}: measure {tape}, then cut."]


def _too_short(job: PackJob, piece: Piece, closed: _Closed) -> list[str]:
    """For a closing piece whose place may be longer than the wood it is cut from: how much the gaps bear, and what to
    do beyond.

    Shared out to both ends, as much as a gap is wide makes each gap half as wide again, which beading covers that is 6
    mm wider than the gap (the shopping list's rule); a run that a pipe or a corner holds cannot be slid, so there it is
    half of that.
    """
    plan = job.plan
    low, _, high, _ = stock_of(plan, piece)
    has = high - piece.from_mm if plan.lay == "left-to-right" else piece.to_mm - low
    if max(closed.at_mm) + closed.pm_mm <= has + _NOTHING_MM:
        return []
    held = any(cut.kind in ("hole", "notch", "line") for each in closed.run.pieces for cut in each.cuts)
    bears = job.units.length(plan.gap_mm / 2 if held else plan.gap_mm)
    lay = "lay it uncut" if held else "lay it uncut and slide the row until both gaps are alike"
    more = "take a new board" if has < plan.board.length_mm - _NOTHING_MM else "stop and check"
    return [f"Its wood ends at {job.units.length(has)}: up to {bears} short, {lay}; shorter still, {more}."]


def _width(job: PackJob, row: Row, piece: Piece, fit: Fit) -> list[str]:
    """For a piece ripped along a wall, from square end to square end: how wide its place should be. The rows hang on
    the start wall, so nothing is measured where row 1 follows it."""
    if not {"left", "right"} <= set(straight_ends(job.plan, piece)):
        return []
    a, b, c, d = frame_of(job.plan, piece).corners
    found = []
    for cut in piece.cuts:
        sd = _edge_sd(job, row, piece, cut, fit) if cut.kind == "rip" else None
        if sd is None or (cut.kept == "far" and is_first_in_room(job.plan, row)):
            continue
        tape = "from the spacer to a straightedge along this row's far edge" if cut.kept == "far" else \
            f"from row {row.number - 1} to spacer" if row.number > 1 else "from spacer to spacer"
        place = _expected((d[1] - a[1], c[1] - b[1]), ("LEFT", "RIGHT"), far_pm95_mm(sd, row.number - 1), job.units)
        found.append(f"Expect its width to be {place}: measure {tape}, then cut.")
    return found


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


def _cut_out(job: PackJob, row: Row, piece: Piece, fit: Fit) -> list[str]:
    """For notches, and for rips that run out between the ends: one plus-minus for all their corners."""
    if not any(_is_cut_out(job, piece, cut) for cut in piece.cuts):
        return []
    ds, dt = board_shift(job.plan, piece)
    sds = [reach.sd_mm for cut in piece.cuts if _is_cut_out(job, piece, cut) for a, b in _walls(job, piece, cut)
           for reach in _reaches(fit, ((a[0] - ds, a[1] - dt), (b[0] - ds, b[1] - dt)))]
    pm = cut_out_pm95_mm(max(sds, default=fit.fallback_sd), row.number, len(row.pieces))
    return [(f"Tape its cut-out first, {_from(job, row, piece)} to spacer: expect the figures {job.units.spread(pm)}; "
             "saw what the tape says.")]


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


def _from(job: PackJob, row: Row, piece: Piece) -> str:
    run = next(run for run in row.runs if piece in run.pieces)
    first = run.pieces[0] if job.plan.lay == "left-to-right" else run.pieces[-1]
    along = "spacer" if piece is first else "joint"
    return f"{along} and row {row.number - 1}" if row.number > 1 else along


def _pipe(job: PackJob, row: Row, piece: Piece, fit: Fit) -> list[str]:
    """For holes: where the pipes stand from the joint before and the row before, with one plus-minus for all of
    them."""
    names = list(dict.fromkeys(cut.pipe for cut in piece.cuts if cut.kind == "hole"))
    if not names:
        return []
    begins = "left" if job.plan.lay == "left-to-right" else "right"
    pm = cut_out_pm95_mm(max(fit.point_sd_mm(name, begins) for name in names), row.number, len(row.pieces))
    from_row = f" and row {row.number - 1}" if row.number > 1 else ""
    return [f"Tape pipe {' and '.join(names)} first, from joint or spacer{from_row}:"
            f" expect the figures {job.units.spread(pm)}; drill where it stands."]


def _expected(at: tuple[float, float], names: tuple[str, str], pm: float, units: Units) -> str:
    """A length with its bounds, or one for each of its two places where they differ."""
    def bounds(d: float) -> tuple[str, str]:
        return units.bare(max(0.0, d - pm)), units.bare(d + pm)
    if is_one(at, units):
        return f"{units.length(at[0])}, {' to '.join(bounds(at[0]))}"
    return ", ".join(f"{name}{NO_BREAK}{units.length(d)} ({f'{NO_BREAK}to{NO_BREAK}'.join(bounds(d))})"
                     for d, name in zip(at, names))
