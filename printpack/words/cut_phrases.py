"""Cuts and pieces in words. Each sentence stands alone: a person may read only that one.

The four sides of a board are its left end and right end, the wall edge (towards the start wall) and your edge.
"""
from __future__ import annotations

from capture.language.messages import gettext, marked, worded
from layout.plan import Cut, Piece, Plan, Ring
from layout.room import Elsewhere
from printpack.words.piece_outline import SLIVER_MM, is_sliver, sawn_path, straight_ends
from printpack.units import NO_BREAK, Units

SIDES = {"left": marked("left end"), "right": marked("right end"), "near": marked("wall edge"),
         "far": marked("your edge")}
#: A place or a distance and a side of the piece, each in one phrase: languages bend the side's name by what goes
#: before it.
_FROM = {"left": marked("from its left end"), "right": marked("from its right end"),
         "near": marked("from the wall edge"), "far": marked("from your edge")}
_BEYOND = {"left": marked("beyond its left end"), "right": marked("beyond its right end"),
           "near": marked("beyond the wall edge"), "far": marked("beyond your edge")}
_ON = {"left": marked("on its left end"), "right": marked("on its right end"), "near": marked("on the wall edge"),
       "far": marked("on your edge")}
_AT = {"left": marked("at its left end"), "right": marked("at its right end"), "near": marked("at the wall edge"),
       "far": marked("at your edge")}

_STAYS = {"near": marked("Saw along, the wall edge stays: its corners are on the row's page"),
          "far": marked("Saw along, your edge stays: its corners are on the row's page")}
_CUT_OUT = {("left", "near"): marked("Slanted cut-out at its left end and the wall edge"),
            ("left", "far"): marked("Slanted cut-out at its left end and your edge"),
            ("right", "near"): marked("Slanted cut-out at its right end and the wall edge"),
            ("right", "far"): marked("Slanted cut-out at its right end and your edge")}
_LEFT, _RIGHT = marked("left"), marked("right")

#: Two distances of one saw line that differ by less than this are printed as one, mm.
SAME_MM = 1.0


def take_words(piece: Piece, plan: Plan, units: Units) -> str:
    """What the piece is made of. An offcut bears the name of the piece it will be, a piece the reader had already its
    label. With several lengths a new board's is told."""
    came = came_from(piece.takes, plan)
    if came is not None:
        return gettext("the offcut marked {label}, from {floor}", label=piece.takes, floor=came.floor)
    if is_own(piece.takes, plan):
        return gettext("your own piece {label}", label=piece.takes)
    if piece.takes:
        return gettext("the offcut marked {piece}", piece=piece.id)
    if not plan.board.mix:
        return gettext("new board")
    return gettext("new board, {length} long", length=units.length(plan.board_of(piece.board).length_mm))


def is_own(label: str, plan: Plan) -> bool:
    """Whether the piece of that label was the reader's already."""
    return any(piece.label == label for piece in plan.owned)


def came_from(label: str, plan: Plan) -> Elsewhere | None:
    """The piece of another room of the flat whose sawing leaves the piece of that label; None for any other."""
    return next((piece.came_from for piece in plan.owned if piece.label == label), None)


def kept_for(goes_to: Elsewhere) -> str:
    """What becomes of an offcut that another room of the flat takes."""
    return gettext("keep for {floor}, row {row}", floor=goes_to.floor, row=goes_to.piece.partition(".")[0])


def cut_words(cut: Cut, plan: Plan, piece: Piece, units: Units, template: str = "") -> str:
    """One cut as an instruction with its distances."""
    words = {"cross": _cross, "rip": _rip, "notch": _notch, "line": _notch, "hole": _hole}[cut.kind](
        cut, plan, piece, units
    )
    return gettext("{instruction}: template {name}", instruction=words, name=template) if template else words


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


def is_one(at: tuple[float, float], units: Units) -> bool:
    """Whether two distances of one saw line are printed as one: less than a millimetre apart, or the same in the
    reader's units."""
    return abs(at[0] - at[1]) < SAME_MM or units.length(at[0]) == units.length(at[1])


def _middle_of(cut: Cut, units: Units) -> str:
    """The distance of a saw line that runs square."""
    return units.length((cut.at[0] + cut.at[1]) / 2)


def _mark(side: str, mm: float, units: Units) -> str:
    """A distance at one end of a saw line. side: from a table of `marked` names."""
    return f"{worded(side)}{NO_BREAK}{units.length(mm)}"


def _cross(cut: Cut, plan: Plan, piece: Piece, units: Units) -> str:
    mitre = cut.mitre_deg(plan.board.width_mm)
    start, edges = worded(_FROM[cut.kept]), (SIDES["near"], SIDES["far"])
    if mitre:
        short, long = sorted(zip(edges, cut.at), key=lambda mark: mark[1])
        return gettext("Saw across at {angle:.1f}°, {start}: short point {short}, long point {long}", angle=mitre,
                       start=start, short=_mark(*short, units), long=_mark(*long, units))
    if is_one(cut.at, units):
        return gettext("Saw across {length} {start}", length=_middle_of(cut, units), start=start)
    return gettext("Saw across, {start}: {marks}", start=start,
                   marks=", ".join(_mark(side, mm, units) for side, mm in zip(edges, cut.at)))


def _rip(cut: Cut, plan: Plan, piece: Piece, units: Units) -> str:
    """By its distances at the two ends; where an end is slanted, or the saw line itself makes the piece's tip, the
    picture tells its two corners."""
    if not {"left", "right"} <= set(straight_ends(plan, piece)):
        return worded(_STAYS[cut.kept])
    start = worded(_FROM[cut.kept])
    if is_one(cut.at, units):
        return gettext("Saw along {length} {start}", length=_middle_of(cut, units), start=start)
    return gettext("Saw along, {start}: {marks}", start=start,
                   marks=", ".join(_mark(side, mm, units) for side, mm in zip((_LEFT, _RIGHT), cut.at)))


def _notch(cut: Cut, plan: Plan, piece: Piece, units: Units) -> str:
    """A square notch by its reach and depth; any other by the corners of its saw line."""
    if is_sliver(cut):
        return gettext("Leave the last sliver, under {least}: the gap takes it up", least=units.fine(SLIVER_MM))
    path = sawn_path(plan, piece, cut)
    square = all(min(abs(a[0] - b[0]), abs(a[1] - b[1])) < 1.0 for a, b in zip(path, path[1:]))
    return _square_notch(cut, piece, units) if square or not path else _cut_out(path, piece)


def _cut_out(path: Ring, piece: Piece) -> str:
    """Where a slanted cut-out is; its figures are in the picture."""
    middle = (sum(x for x, _ in path) / len(path), sum(y for _, y in path) / len(path))
    end, edge = anchors(middle, piece)
    return worded(_CUT_OUT[end, edge])


def _square_notch(cut: Cut, piece: Piece, units: Units) -> str:
    xs, ys = [p[0] for p in cut.shape], [p[1] for p in cut.shape]
    xs = [min(max(x, piece.from_mm), piece.to_mm) for x in xs]
    middle = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    end, _ = anchors(middle, piece)
    reach = sorted(piece_side_distance(end, (x, 0.0), piece) for x in (min(xs), max(xs)))
    side = "near" if min(ys) - piece.near_mm < piece.far_mm - max(ys) else "far"
    deep = max(piece_side_distance(side, (0.0, y), piece) for y in (min(ys), max(ys)))
    return gettext("Notch {first} to {last} {start}, {depth} deep {edge}", first=units.bare(max(reach[0], 0.0)),
                   last=units.length(reach[1]), start=worded(_FROM[end]), depth=units.length(deep),
                   edge=worded(_AT[side]))


def _hole(cut: Cut, plan: Plan, piece: Piece, units: Units) -> str:
    end, edge = anchors(cut.centre, piece)
    told = {"size": units.fine(cut.diameter), "pipe": cut.pipe, "along": _from(end, cut.centre, piece, units),
            "across": _from(edge, cut.centre, piece, units)}
    if runs_over(cut, piece):
        return gettext("Half hole {size} across for pipe {pipe}, centre {along}, {across}", **told)
    return gettext("Hole {size} across for pipe {pipe}, centre {along}, {across}", **told)


def _from(side: str, point: tuple[float, float], piece: Piece, units: Units) -> str:
    away = piece_side_distance(side, point, piece)
    if abs(away) < SAME_MM:
        return worded(_ON[side])
    start = worded((_BEYOND if away < 0 else _FROM)[side])
    return gettext("{length} {start}", length=units.length(abs(away)), start=start)


def runs_over(cut: Cut, piece: Piece) -> bool:
    """Whether a hole runs over a side of its piece (a half hole: no wedge is needed)."""
    sides = [piece_side_distance(side, cut.centre, piece) for side in SIDES]
    return min(sides) < cut.diameter / 2
