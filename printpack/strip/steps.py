"""The saw steps of a piece: for its length, its width, its cut-outs and its pipes, in the order a saw takes them.

Each step starts from what the one before left. Board frame, mm: x along from the board's left end, y across from its
wall edge (near), as `layout.plan` has it.
"""
from __future__ import annotations

from dataclasses import replace
from typing import Any

from layout.plan import Cut, Offcut, Piece, Plan, Point, Ring
from layout.planning.fitting.sawn_ends import reaches, sawn_end
from printpack.drawing.frames import offcut_of, piece_called, stock_of
from printpack.strip.corner_figures import corner_tapes, edge_y
from printpack.strip.rest_first import as_sawn
from printpack.strip.step import ONE_MM, Bore, Pencil, Step, Tape
from printpack.words.cut_phrases import SAME_MM, anchors, piece_side_distance
from printpack.words.in_place import InPlace
from printpack.words.piece_outline import (
    cross_line, frame_of, hooked_ends, is_sliver, rip_line, sawn_path, sawn_side)

#: A cut-out told by more figures than this is left to its template.
MOST_FIGURES = 6
#: Cut-outs in one drawing.
_MOST_CUT_OUTS = 2


def saw_steps(plan: Plan, piece: Piece, place: InPlace, templates: tuple[str, ...] = ()) -> tuple[Step, ...]:
    """The steps of one piece, () if nothing is sawn. place: what is taped before it is sawn."""
    piece = as_sawn(plan, piece)
    steps = [*_length(plan, piece, place), *_fit(plan, piece, place), *_width(plan, piece, place),
             *_shape(plan, piece, place, templates), *_holes(plan, piece, place, templates)]
    pencils = [(pencil, max(range(len(steps)), key=lambda k: _covered(steps[k], pencil)))
               for pencil in (_pencils(plan, piece) if steps else ())]
    return tuple(replace(step, first=k == 0, pencils=tuple(pencil for pencil, at in pencils if at == k))
                 for k, step in enumerate(steps))


def _covered(step: Step, pencil: Pencil) -> float:
    """How much of a rest's length comes off in a step, mm."""
    return max((min(max(x for x, _ in ring), pencil.right) - max(min(x for x, _ in ring), pencil.left)
                for ring in step.off), default=-1e9)


def _step(piece: Piece, kind: str, wood: Ring, **more: Any) -> Step:
    return Step(pieces=(piece.id,), kind=kind, first=False, takes=piece.takes, wood=wood, **more)


def _length(plan: Plan, piece: Piece, place: InPlace) -> list[Step]:
    """The crosscuts, on the wood as taken."""
    crosses = [cut for cut in piece.cuts if cut.kind == "cross"]
    if not crosses:
        return []
    left, near, right, far = stock_of(plan, piece)
    wide = plan.board.width_mm
    beyond = _wedges(plan, piece, crosses)
    lines: list[Ring] = []
    off: list[Ring] = []
    tapes: list[Tape] = []
    for number, cut in enumerate(crosses):
        a, b = cross_line(plan, piece, cut)
        lines.append((a, b))
        side = sawn_side(plan, piece, cut)
        end = left if side == "left" else right
        off.append((a, (end + beyond[side][0], 0.0), (end + beyond[side][1], wide), b))
        pm = place.length.pm_mm if place.length and number == _closing(plan, piece, crosses) else 0.0
        tapes += _across(cut, (a, b), left if cut.kept == "left" else right, number, pm)
    wood = ((left + beyond["left"][0], near), (right + beyond["right"][0], near),
            (right + beyond["right"][1], far), (left + beyond["left"][1], far))
    return [_step(piece, "length", wood, lines=tuple(lines), off=tuple(off), tapes=tuple(tapes))]


def _wedges(plan: Plan, piece: Piece, crosses: list[Cut]) -> dict[str, tuple[float, float]]:
    """How far the wood reaches beyond the length told of it at the near and at the far edge, to the right, where all
    that comes off a slanted end is its wedge; else the end is drawn where the length ends."""
    none = {"left": (0.0, 0.0), "right": (0.0, 0.0)}
    offcut = offcut_of(plan, piece)
    cutter = None if offcut is None else piece_called(plan, offcut.cut_by)
    if offcut is None or cutter is None:
        return none
    end = sawn_end(offcut, cutter)
    if not reaches(piece, offcut, end, ONE_MM) or all(sawn_side(plan, piece, cut) != end.side for cut in crosses):
        return none
    sign = -1.0 if end.side == "left" else 1.0
    near, far = end.beyond_mm
    return none | {end.side: (sign * near, sign * far)}


def _fit(plan: Plan, piece: Piece, place: InPlace) -> list[Step]:
    """The piece that closes a run and should fit as it is: nothing comes off, but its place is taped first."""
    crosses = [cut for cut in piece.cuts if cut.kind == "cross"]
    if place.length is None or _closing(plan, piece, crosses) >= 0 or any(cut.kind == "line" for cut in piece.cuts):
        return []
    left, near, right, far = stock_of(plan, piece)
    start, end = (left, right) if plan.lay == "left-to-right" else (right, left)
    long = sum(place.length.at_mm) / 2
    return [_step(piece, "fit", ((left, near), (right, near), (right, far), (left, far)),
                  tapes=(Tape(start=(start, near), end=(end, near), mm=long, lane="above",
                              reach_mm=_around(long, place.length.pm_mm)),))]


def _closing(plan: Plan, piece: Piece, crosses: list[Cut]) -> int:
    """Which crosscut makes the end at the wall that closes the run: the one taped in place. Of a piece that is alone in
    its run the only one, whichever end it makes."""
    if len(crosses) == 1 and any(len(run.pieces) == 1 and run.pieces[0].id == piece.id
                                 for row in plan.rows for run in row.runs):
        return 0
    side = "right" if plan.lay == "left-to-right" else "left"
    return next((k for k, cut in enumerate(crosses) if sawn_side(plan, piece, cut) == side), -1)


def _across(cut: Cut, line: Ring, end: float, number: int, pm: float) -> list[Tape]:
    """One distance for a square cut, one at each edge for a slanted one."""
    (a, t0), (b, t1) = line
    if abs(cut.at[0] - cut.at[1]) < SAME_MM:
        mean = sum(cut.at) / 2
        return [Tape(start=(end, t0), end=((a + b) / 2, t0), mm=mean, lane="below" if number else "above",
                     reach_mm=_around(mean, pm))]
    return [Tape(start=(end, t), end=(x, t), mm=mm, lane=lane, reach_mm=_around(mm, pm))
            for x, t, mm, lane in ((a, t0, cut.at[0], "above"), (b, t1, cut.at[1], "below"))]


def _around(mm: float, pm: float) -> tuple[float, float] | None:
    return (max(0.0, mm - pm), mm + pm) if pm else None


def _pencils(plan: Plan, piece: Piece) -> tuple[Pencil, ...]:
    return tuple(_pencil(plan, offcut) for offcut in plan.offcuts if offcut.label in piece.leaves)


def _pencil(plan: Plan, offcut: Offcut) -> Pencil:
    """The rest's label: which of its ends stays an end of the piece it becomes."""
    user = piece_called(plan, offcut.used_by)
    ends: list[str] = [side for side in ("left", "right") if user and side in user.keeps and side in offcut.keeps]
    ends += [cut.kept for cut in user.cuts if cut.kind == "cross"] if user else []
    if offcut.goes_to is not None:  # what is sawn of it there is that room's to tell; a factory end stays an end
        ends = [side for side in ("left", "right") if side in offcut.keeps]
    return Pencil(to=offcut.for_piece, stays=ends[0] if ends else "", left=offcut.from_mm, right=offcut.to_mm,
                  goes_to=offcut.goes_to)


def _width(plan: Plan, piece: Piece, place: InPlace) -> list[Step]:
    """The cuts along, on the wood cut to its length; one that runs out between the ends is a cut-out like others."""
    steps: list[Step] = []
    lines: list[Ring] = []
    off: list[Ring] = []
    tapes: list[Tape] = []
    wood = _blank(plan, piece, ("cross",))
    for cut in (cut for cut in piece.cuts if cut.kind == "rip"):
        p, q = _through(rip_line(plan, piece, cut), wood)
        open_ends = (not _on(p, (wood[0], wood[3])), not _on(q, (wood[1], wood[2])))
        waste = _beyond(wood, (p, q), cut.kept, open_ends)
        if any(open_ends):
            steps.append(_step(piece, "shape", wood, lines=((p, q),), off=(waste,), pm_mm=place.cut_out_pm_mm,
                               tapes=tuple(corner_tapes((p, q), wood, cut.kept, hooked_ends(plan, piece)))))
            continue
        pm = place.width.pm_mm if place.width and not lines else 0.0
        tapes += _ends((p, q), wood[0 if cut.kept == "near" else 3][1], len(lines), pm)
        lines.append((p, q))
        off.append(waste)
    if lines:
        slanted = place.cut_out_pm_mm if place.width is None else 0.0
        steps.insert(0, _step(piece, "width", wood, lines=tuple(lines), off=tuple(off), tapes=tuple(tapes),
                              pm_mm=slanted))
    return steps


def _through(line: Ring, wood: Ring) -> tuple[Point, Point]:
    """Where a saw line along enters and leaves the wood: at its ends, or at an edge it runs out over."""
    (x0, y0), (x1, y1) = line
    slope = (y1 - y0) / (x1 - x0)
    found = []
    for (ax, ay), (bx, by) in ((wood[0], wood[3]), (wood[1], wood[2])):
        lean = (bx - ax) / ((by - ay) or 1.0)
        y = (y0 + slope * (ax - lean * ay - x0)) / (1.0 - slope * lean)
        edge = min(max(y, min(ay, by)), max(ay, by))
        found.append((ax + lean * (y - ay), y) if abs(y - edge) < ONE_MM else (x0 + (edge - y0) / slope, edge))
    return found[0], found[1]


def _ends(line: Ring, edge: float, number: int, pm: float) -> list[Tape]:
    """The widths at the two ends of a saw line along, or one if it is parallel."""
    marks = [(abs(place[1] - edge), place, lane) for place, lane in zip(line, ("left", "right"))]
    if abs(marks[0][0] - marks[1][0]) < SAME_MM:
        marks = [marks[number % 2]]
    return [Tape(start=(place[0], edge), end=place, mm=mm, lane=lane, reach_mm=_around(mm, pm))
            for mm, place, lane in marks]


def _on(place: Point, end: tuple[Point, Point]) -> bool:
    """Whether a place lies on an end of the wood."""
    (x0, y0), (x1, y1) = end
    return abs(place[0] - x0 - (x1 - x0) * (place[1] - y0) / ((y1 - y0) or 1.0)) < ONE_MM


def _beyond(wood: Ring, line: Ring, kept: str, open_ends: tuple[bool, bool]) -> Ring:
    """What a cut along takes off: the wood on the other side of the line than the kept edge, with the ends it runs out
    before."""
    a, b, c, d = wood
    if kept == "far":
        a, b, c, d = d, c, b, a
    return (*line, *((b,) if open_ends[1] else ()), c, d, *((a,) if open_ends[0] else ()))


def _shape(plan: Plan, piece: Piece, place: InPlace, templates: tuple[str, ...]) -> list[Step]:
    """Notches and what only a template tells, two to a drawing."""
    cuts = [cut for cut in piece.cuts if cut.kind in ("notch", "line") and not is_sliver(cut)]
    steps = []
    wood = _blank(plan, piece)
    for k in range(0, len(cuts), _MOST_CUT_OUTS):
        some = cuts[k:k + _MOST_CUT_OUTS]
        told = [_cut_out(plan, piece, cut) for cut in some]
        steps.append(_step(piece, "shape", wood, lines=tuple(path for path, _ in told),
                           off=tuple(cut.shape for cut in some), tapes=tuple(tape for _, tapes in told
                                                                             for tape in tapes),
                           pm_mm=place.cut_out_pm_mm, template=templates))
    return steps


def _blank(plan: Plan, piece: Piece, kinds: tuple[str, ...] = ("cross", "rip")) -> Ring:
    """The wood once its straight cuts of some kinds are sawn: left near, right near, right far, left far."""
    frame, stock = frame_of(plan, piece), stock_of(plan, piece)
    sawn = {sawn_side(plan, piece, cut) for cut in piece.cuts if cut.kind in kinds}
    sides = {"left": ((stock[0], 0.0), (stock[0], 1.0)), "right": ((stock[2], 0.0), (stock[2], 1.0)),
             "near": ((0.0, 0.0), (1.0, 0.0)), "far": ((0.0, plan.board.width_mm), (1.0, plan.board.width_mm))}
    return replace(frame, **{side: line for side, line in sides.items() if side not in sawn}).corners


def _cut_out(plan: Plan, piece: Piece, cut: Cut) -> tuple[Ring, tuple[Tape, ...]]:
    """(the saw line, its figures): along from the nearer end, in from the edge it opens to; no figures if there would
    be too many."""
    path = sawn_path(plan, piece, cut) or cut.shape
    frame = _blank(plan, piece)
    xs, ys = [x for x, _ in cut.shape], [y for _, y in cut.shape]
    low, high = (edge_y(frame, edge, sum(xs) / len(xs)) for edge in ("near", "far"))
    tapes = corner_tapes(path, frame, "near" if min(ys) - low <= high - max(ys) else "far", hooked_ends(plan, piece))
    return path, tuple(tapes) if len(tapes) <= MOST_FIGURES else ()


def _holes(plan: Plan, piece: Piece, place: InPlace, templates: tuple[str, ...]) -> list[Step]:
    """Pipes, two to a drawing."""
    cuts = [cut for cut in piece.cuts if cut.kind == "hole"]
    return [_step(piece, "holes", _blank(plan, piece), tapes=_centres(piece, cuts[k:k + 2]),
                  bores=tuple(Bore(centre=cut.centre, diameter=cut.diameter, to=cut.kept) for cut in cuts[k:k + 2]),
                  pm_mm=place.pipe_pm_mm, template=templates) for k in range(0, len(cuts), 2)]


def _centres(piece: Piece, cuts: list[Cut]) -> tuple[Tape, ...]:
    """Where the centres are; two holes in one line across have that distance once."""
    tapes = [tape for number, cut in enumerate(cuts) for tape in _centre(piece, cut, number)]
    if len(tapes) == 4 and tapes[1].start[1] == tapes[3].start[1] and abs(tapes[1].mm - tapes[3].mm) < ONE_MM:
        del tapes[3]
    return tuple(tapes)


def _centre(piece: Piece, cut: Cut, number: int) -> list[Tape]:
    """Where a hole's centre is: from an end and from an edge."""
    (x, y), (end, edge) = cut.centre, anchors(cut.centre, piece)
    other = {"left": "right", "right": "left"}[end]
    at = {"left": piece.from_mm, "right": piece.to_mm, "near": piece.near_mm, "far": piece.far_mm}
    return [Tape(start=(at[end], at[edge]), end=(x, at[edge]), mm=piece_side_distance(end, cut.centre, piece),
                 lane="below" if number else "above"),
            Tape(start=(x, at[edge]), end=(x, y), mm=abs(piece_side_distance(edge, cut.centre, piece)),
                 lane=other if number else end)]
