"""The judge on what a saw and a tape can do: from the plan's own cuts and boards, whatever the planner meant.

Nothing between 0 and 15 mm comes off an end or an edge where most does (a saw cannot hold such a strip: common
practice, no source), or the plan says so; no cut takes nothing off; length comes first, then rips, notches, what a
template tells, holes; a notch is less deep than the board is wide; straight cuts are one a side.
"""
from __future__ import annotations

from capture.language.messages import lazy_gettext
from layout.judge.fault import Fault
from layout.plan import Cut, Offcut, Piece, Plan

SLIVER_MM = 15.0
SAID_MM = 0.05
ROUNDING_MM = 1e-5
OTHER_END = {"left": "right", "right": "left"}
ORDER = ("cross", "rip", "notch", "line", "hole")


def check_saw(plan: Plan) -> list[Fault]:
    """Faults of cuts no saw can make, in the order of the pieces."""
    told = {rule.where: rule.had_mm for rule in plan.relaxed if rule.rule == "sliver"}
    faults: list[Fault] = []
    found: dict[str, float] = {}
    for piece in plan.pieces:
        faults += [*_needless(plan, piece), *_slanted(plan, piece), *_order(piece), *_notches(plan, piece)]
        least = min((off for off in strips_off(plan, piece) if ROUNDING_MM < off < SLIVER_MM - ROUNDING_MM),
                    default=None)
        if least is not None:
            found[piece.id] = least
            if abs(told.get(piece.id, -1.0) - least) > SAID_MM:
                faults.append(Fault(slug="sliver", where=piece.id, amount=least,
                                    says=lazy_gettext(
                                        "a strip comes off that no saw can hold, and the plan does not say so")))
    return faults + [Fault(slug="relaxed-wrong", where=where, amount=had,
                           says=lazy_gettext("the plan says a thin strip comes off here, but none does"))
                     for where, had in told.items() if where not in found]


def strips_off(plan: Plan, piece: Piece) -> list[float]:
    """How much each straight cut takes off where it takes most, mm. An offcut's sawn end is slanted as the cut that
    left it, so what comes off there is wider on one side."""
    found, offcut = [], next((offcut for offcut in plan.offcuts if offcut.label == piece.takes), None)
    for cut in piece.cuts:
        if cut.kind == "rip":
            found.append(plan.board.width_mm - min(cut.at))
        elif cut.kind == "cross":
            before, side = _before(cut, piece), _side(cut, piece)
            whole = _whole(plan, piece)
            falls = (0.0, 0.0) if offcut is None else _falls_back(plan, offcut, side)
            found.append(max((at if before else whole - at) + fall for at, fall in zip(cut.at, falls)))
    return found


def _before(cut: Cut, piece: Piece) -> bool:
    """Whether a crosscut takes off what lies before it, seen from the end it is measured from: it is then nearer to
    that end than the piece is long."""
    return max(cut.at) < piece.to_mm - piece.from_mm - ROUNDING_MM


def _side(cut: Cut, piece: Piece) -> str:
    """The end of the piece that a crosscut makes."""
    return cut.kept if _before(cut, piece) else OTHER_END[cut.kept]


def _falls_back(plan: Plan, offcut: Offcut, side: str) -> tuple[float, float]:
    """How far an offcut's end reaches beyond the length told of it, at the near and at the far edge; (0, 0) of an end
    its cutter did not make."""
    for piece in plan.pieces:
        is_beyond = side == ("left" if offcut.to_mm > piece.to_mm else "right")
        for cut in piece.cuts if piece.id == offcut.cut_by and is_beyond else ():
            if cut.kind == "cross" and _side(cut, piece) == OTHER_END[side]:
                near, far, least, most = *cut.at, min(cut.at), max(cut.at)
                return (near - least, far - least) if _before(cut, piece) else (most - near, most - far)
    return 0.0, 0.0


def _whole(plan: Plan, piece: Piece) -> float:
    """Length of the stock a piece is cut from."""
    lengths = {offcut.label: offcut.to_mm - offcut.from_mm for offcut in plan.offcuts} | {own.label: own.length_mm
                                                                                          for own in plan.owned}
    return lengths.get(piece.takes, plan.board_of(piece.board).length_mm)


def _slanted(plan: Plan, piece: Piece) -> list[Fault]:
    """A piece as long as its offcut is where that is shortest still has a wedge on it at the slanted end."""
    offcut = next((offcut for offcut in plan.offcuts if offcut.label == piece.takes), None)
    if offcut is None:
        return []
    sawn = {_side(cut, piece) for cut in piece.cuts if cut.kind == "cross"}
    left = {"left": piece.from_mm - offcut.from_mm, "right": offcut.to_mm - piece.to_mm}
    return [Fault(slug="cuts", where=piece.id, amount=max(_falls_back(plan, offcut, side)),
                  says=lazy_gettext("the left end of its offcut is slanted and nothing takes that off")
             if side == "left" else
                  lazy_gettext("the right end of its offcut is slanted and nothing takes that off"))
            for side, off in left.items()
            if off < ROUNDING_MM and side not in sawn and max(_falls_back(plan, offcut, side)) > ROUNDING_MM]


def _needless(plan: Plan, piece: Piece) -> list[Fault]:
    return [Fault(slug="needless-cut", where=piece.id, amount=off, says=lazy_gettext("a cut takes nothing off"))
            for off in strips_off(plan, piece) if off <= ROUNDING_MM]


def _order(piece: Piece) -> list[Fault]:
    places = [ORDER.index(cut.kind) for cut in piece.cuts]
    sides = [(cut.kind, cut.kept) for cut in piece.cuts if cut.kind == "rip"]
    if places == sorted(places) and len(sides) == len(set(sides)) and places.count(0) <= 2:
        return []
    return [Fault(slug="cut-order", where=piece.id, amount=float(len(places)),
                  says=lazy_gettext("cuts are not in the order they are sawn, or twice on one side"))]


def _notches(plan: Plan, piece: Piece) -> list[Fault]:
    return [Fault(slug="notch-deep", where=piece.id, amount=cut.deep,
                  says=lazy_gettext("a notch is as deep as the board is wide"))
            for cut in piece.cuts if cut.kind == "notch" and cut.kept in ("near", "far")
            and cut.deep >= plan.board.width_mm - ROUNDING_MM]
