"""The judge on what a saw and a tape can do: from the plan's own cuts and boards, whatever the planner meant.

Nothing between 0 and 15 mm comes off an end or an edge where most does (a saw cannot hold such a strip: common
practice, no source), or the plan says so; no cut takes nothing off; length comes first, then rips, notches, what a
template tells, holes; a notch is less deep than the board is wide; straight cuts are one a side.
"""
from __future__ import annotations

from layout.judge.fault import Fault
from layout.plan import Cut, Piece, Plan

SLIVER_MM = 15.0
SAID_MM = 0.05
ROUNDING_MM = 1e-5
ORDER = ("cross", "rip", "notch", "line", "hole")


def check_saw(plan: Plan) -> list[Fault]:
    """Faults of cuts no saw can make, in the order of the pieces."""
    told = {rule.where: rule.had_mm for rule in plan.relaxed if rule.rule == "sliver"}
    faults: list[Fault] = []
    found: dict[str, float] = {}
    for piece in plan.pieces:
        faults += [*_needless(plan, piece), *_order(piece), *_notches(plan, piece)]
        least = min((off for off in _strips(plan, piece) if ROUNDING_MM < off < SLIVER_MM - ROUNDING_MM), default=None)
        if least is not None:
            found[piece.id] = least
            if abs(told.get(piece.id, -1.0) - least) > SAID_MM:
                faults.append(Fault(slug="sliver", where=piece.id, amount=least,
                                    says="a strip comes off that no saw can hold, and the plan does not say so"))
    return faults + [Fault(slug="relaxed-wrong", where=where, amount=had,
                           says="the plan says a thin strip comes off here, but none does")
                     for where, had in told.items() if where not in found]


def _strips(plan: Plan, piece: Piece) -> list[float]:
    """How much each straight cut takes off where it takes most, mm."""
    found = []
    for cut in piece.cuts:
        if cut.kind in ("cross", "rip"):
            # A crosscut nearer to the end it is measured from than the piece is long takes off what lies between.
            before = cut.kind == "cross" and max(cut.at) < piece.to_mm - piece.from_mm - ROUNDING_MM
            found.append(max(cut.at) if before else _whole(plan, piece, cut) - min(cut.at))
    return found


def _whole(plan: Plan, piece: Piece, cut: Cut) -> float:
    """Length of the stock a crosscut is made in; width of the board."""
    if cut.kind == "rip":
        return plan.board.width_mm
    lengths = {offcut.label: offcut.to_mm - offcut.from_mm for offcut in plan.offcuts} | {own.label: own.length_mm
                                                                                          for own in plan.owned}
    return lengths.get(piece.takes, plan.board_of(piece.board).length_mm)


def _needless(plan: Plan, piece: Piece) -> list[Fault]:
    return [Fault(slug="needless-cut", where=piece.id, amount=off, says="a cut takes nothing off")
            for off in _strips(plan, piece) if off <= ROUNDING_MM]


def _order(piece: Piece) -> list[Fault]:
    places = [ORDER.index(cut.kind) for cut in piece.cuts]
    sides = [(cut.kind, cut.kept) for cut in piece.cuts if cut.kind == "rip"]
    if places == sorted(places) and len(sides) == len(set(sides)) and places.count(0) <= 2:
        return []
    return [Fault(slug="cut-order", where=piece.id, amount=float(len(places)),
                  says="cuts are not in the order they are sawn, or twice on one side")]


def _notches(plan: Plan, piece: Piece) -> list[Fault]:
    return [Fault(slug="notch-deep", where=piece.id, amount=cut.deep, says="a notch is as deep as the board is wide")
            for cut in piece.cuts if cut.kind == "notch" and cut.kept in ("near", "far")
            and cut.deep >= plan.board.width_mm - ROUNDING_MM]
