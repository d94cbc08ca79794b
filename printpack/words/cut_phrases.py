"""Cuts and pieces in words. Each sentence stands alone: a person may read only that one.

The four sides of a board are its left end and right end, the wall edge (towards the start wall) and your edge.
"""
from __future__ import annotations

from layout.plan import Cut, Piece, Plan, Ring
from printpack.words.piece_outline import SLIVER_MM, is_sliver, sawn_path, straight_ends
from printpack.units import NO_BREAK, Units

SIDES = {"left": "left end", "right": "right end", "near": "wall edge", "far": "your edge"}
_OWN = {"left": "its left end", "right": "its right end", "near": "the wall edge", "far": "your edge"}

#: Two distances of one saw line that differ by less than this are printed as one, mm.
SAME_MM = 1.0


def take_words(piece: Piece, plan: Plan, units: Units) -> str:
    """What the piece is made of. An offcut bears the name of the piece it will be, a piece the reader had already its
    label. With several lengths a new board's is told."""
    if is_own(piece.takes, plan):
        return f"your own piece {piece.takes}"
    if piece.takes:
        return f"the offcut marked {piece.id}"
    return f"new board, {units.length(plan.board_of(piece.board).length_mm)} long" if plan.board.mix else "new board"


def is_own(label: str, plan: Plan) -> bool:
    """Whether the piece of that label was the reader's already."""
    return any(piece.label == label for piece in plan.owned)


def cut_words(cut: Cut, plan: Plan, piece: Piece, units: Units, template: str = "") -> str:
    """One cut as an instruction with its distances."""
    words = {"cross": _cross, "rip": _rip, "notch": _notch, "line": _notch, "hole": _hole}[cut.kind](
        cut, plan, piece, units
    )
    return f"{words}: template {template}" if template else words


def piece_side_distance(side: str, point: tuple[float, float], piece: Piece) -> float:
    """Distance of a place in the board frame from one of the piece's own four sides, mm."""
    return {"left": point[0] - piece.from_mm, "right": piece.to_mm - point[0],
            "near": point[1] - piece.near_mm, "far": piece.far_mm - point[1]}[side]


def anchors(point: tuple[float, float], piece: Piece) -> tuple[str, str]:
    """The end and the edge to measure a place from: factory sides if the piece has them, and of those the nearer."""
    def best(a: str, b: str) -> str:
        return min((a, b), key=lambda side: (side not in piece.keeps,
                                             round(piece_side_distance(side, point, piece), 3)))
    return best("left", "right"), best("near", "far")


def listed(parts: list[str]) -> str:
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1]


def is_one(at: tuple[float, float], units: Units) -> bool:
    """Whether two distances of one saw line are printed as one: less than a millimetre apart, or the same in the
    reader's units."""
    return abs(at[0] - at[1]) < SAME_MM or units.length(at[0]) == units.length(at[1])


def _straight(verb: str, cut: Cut, first: str, second: str, units: Units) -> str:
    """One distance for a square cut; one at each end of the saw line where they differ."""
    if is_one(cut.at, units):
        return f"{verb} {units.length((cut.at[0] + cut.at[1]) / 2)} from {_OWN[cut.kept]}"
    marks = ", ".join(f"{side}{NO_BREAK}{units.length(mm)}" for side, mm in zip((first, second), cut.at))
    return f"{verb}, from {_OWN[cut.kept]}: {marks}"


def _cross(cut: Cut, plan: Plan, piece: Piece, units: Units) -> str:
    mitre = cut.mitre_deg(plan.board.width_mm)
    if not mitre:
        return _straight("Saw across", cut, "wall edge", "your edge", units)
    (short, short_mm), (long, long_mm) = sorted(zip(("wall edge", "your edge"), cut.at), key=lambda mark: mark[1])
    return (f"Saw across at {mitre:.1f}°, from {_OWN[cut.kept]}: short point {short}{NO_BREAK}"
            f"{units.length(short_mm)}, long point {long}{NO_BREAK}{units.length(long_mm)}")


def _rip(cut: Cut, plan: Plan, piece: Piece, units: Units) -> str:
    """By its distances at the two ends; where an end is slanted, or the saw line itself makes the piece's tip, the
    picture tells its two corners."""
    if {"left", "right"} <= set(straight_ends(plan, piece)):
        return _straight("Saw along", cut, "left", "right", units)
    return f"Saw along, {_OWN[cut.kept]} stays: its corners are on the row's page"


def _notch(cut: Cut, plan: Plan, piece: Piece, units: Units) -> str:
    """A square notch by its reach and depth; any other by the corners of its saw line."""
    if is_sliver(cut):
        return f"Leave the last sliver, under {units.fine(SLIVER_MM)}: the gap takes it up"
    path = sawn_path(plan, piece, cut)
    square = all(min(abs(a[0] - b[0]), abs(a[1] - b[1])) < 1.0 for a, b in zip(path, path[1:]))
    return _square_notch(cut, piece, units) if square or not path else _cut_out(path, piece)


def _cut_out(path: Ring, piece: Piece) -> str:
    """Where a slanted cut-out is; its figures are in the picture."""
    middle = (sum(x for x, _ in path) / len(path), sum(y for _, y in path) / len(path))
    end, edge = anchors(middle, piece)
    return f"Slanted cut-out at {_OWN[end]} and {_OWN[edge]}"


def _square_notch(cut: Cut, piece: Piece, units: Units) -> str:
    xs, ys = [p[0] for p in cut.shape], [p[1] for p in cut.shape]
    xs = [min(max(x, piece.from_mm), piece.to_mm) for x in xs]
    middle = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    end, _ = anchors(middle, piece)
    reach = sorted(piece_side_distance(end, (x, 0.0), piece) for x in (min(xs), max(xs)))
    side = "near" if min(ys) - piece.near_mm < piece.far_mm - max(ys) else "far"
    deep = max(piece_side_distance(side, (0.0, y), piece) for y in (min(ys), max(ys)))
    return (f"Notch {units.bare(max(reach[0], 0.0))} to {units.length(reach[1])} from {_OWN[end]},"
            f" {units.length(deep)} deep at {_OWN[side]}")


def _hole(cut: Cut, plan: Plan, piece: Piece, units: Units) -> str:
    end, edge = anchors(cut.centre, piece)
    what = "Half hole" if runs_over(cut, piece) else "Hole"
    return (f"{what} {units.fine(cut.diameter)} across for pipe {cut.pipe}, centre"
            f" {_from(end, cut.centre, piece, units)}, {_from(edge, cut.centre, piece, units)}")


def _from(side: str, point: tuple[float, float], piece: Piece, units: Units) -> str:
    away = piece_side_distance(side, point, piece)
    if abs(away) < SAME_MM:
        return f"on {_OWN[side]}"
    return f"{units.length(abs(away))} {'beyond' if away < 0 else 'from'} {_OWN[side]}"


def runs_over(cut: Cut, piece: Piece) -> bool:
    """Whether a hole runs over a side of its piece (a half hole: no wedge is needed)."""
    sides = [piece_side_distance(side, cut.centre, piece) for side in SIDES]
    return min(sides) < cut.diameter / 2
