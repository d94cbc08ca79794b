"""The judge of a flat: wood that goes from floor to floor, and what is bought for all, from the plan's own numbers.

Each floor's plan has its own judge (`layout.judge.check`). Here boards are followed over floors: an offcut goes to one
floor only, to one laid later, as long and with the ends it was left with; the pieces of one board, wherever they lie,
do not overlap and leave a saw cut between them.
"""
from __future__ import annotations

from collections import Counter
from math import ceil

from layout.flat_plan import BoardKind, FlatPlan, FloorPlan, Travel
from layout.judge.fault import Fault
from layout.plan import SPARE_BOARDS, Offcut
from layout.room import Elsewhere, OwnPiece

WOOD_MM = 1e-6
#: A board as one floor numbers it.
_Numbered = tuple[str, int]


def find_flat_faults(flat: FlatPlan) -> tuple[Fault, ...]:
    """All faults of a flat beside those of its floors' own plans."""
    return (*_travels(flat), *_wood(flat), *(fault for kind in flat.kinds for fault in _kind(flat, kind)),
            *_listed(flat), *_bars(flat))


def _flat_fault(slug: str, where: str, amount: float, says: str) -> Fault:
    return Fault(slug=slug, where=where, amount=amount, says=says)


def _travels(flat: FlatPlan) -> list[Fault]:
    """Every offcut that goes to another floor is left before it is taken, once, and is what it is said to be."""
    order, faults = [floor.name for floor in flat.floors], []
    if len(set(order)) < len(order):
        faults.append(_flat_fault("flat-floor", "floors", float(len(order)), "two floors share a name"))
    for travel in flat.travels:
        if {travel.from_floor, travel.to_floor} - set(order):
            faults.append(_flat_fault("flat-travel", travel.label, 0.0, "it goes between floors that are not there"))
        elif order.index(travel.from_floor) >= order.index(travel.to_floor):
            faults.append(_flat_fault("flat-order", travel.label, 0.0, "it is taken before it is left"))
        else:
            faults += _travel(flat, travel)
    faults += [_flat_fault("flat-travel", label, float(count), "two offcuts bear one name")
               for label, count in Counter(travel.label for travel in flat.travels).items() if count > 1]
    came = Counter((travel.to_floor, travel.label) for travel in flat.travels)
    left = Counter((travel.from_floor, offcut.label) for travel in flat.travels
                   if (offcut := _offcut(flat, travel)) is not None)
    faults += [_flat_fault("flat-twice", f"{name} {label}", float(count), "an offcut goes to two places")
               for (name, label), count in left.items() if count > 1]
    told = {(travel.from_floor, travel.to_floor, travel.used_by) for travel in flat.travels}
    faults += [_flat_fault("flat-travel", f"{floor.name} {offcut.label}", 0.0, "it goes to a piece that takes no such")
               for floor in flat.floors for offcut in floor.plan.offcuts if offcut.goes_to is not None
               and (floor.name, offcut.goes_to.floor, offcut.goes_to.piece) not in told]
    own = [piece for floor in flat.floors for piece in floor.plan.owned
           if piece.board and not came[floor.name, piece.label]]
    faults += [_flat_fault("flat-twice", label, float(count), "a piece at hand is used in two floors")
               for label, count in Counter(piece.label for piece in own).items() if count > 1]
    return faults + [_flat_fault("flat-travel", piece.label, 0.0, "no floor leaves this offcut") for piece in own
                     if piece.came_from is not None and piece.came_from.piece and piece.came_from.floor in order]


def _floor(flat: FlatPlan, name: str) -> FloorPlan | None:
    return next((floor for floor in flat.floors if floor.name == name), None)


def _offcut(flat: FlatPlan, travel: Travel) -> Offcut | None:
    """The offcut as the floor that leaves it lists it: sawn off by that piece, not used there, and so long."""
    floor = _floor(flat, travel.from_floor)
    return None if floor is None else next((offcut for offcut in floor.plan.offcuts if offcut.cut_by == travel.cut_by
                                            and not offcut.used_by
                                            and abs(offcut.to_mm - offcut.from_mm - travel.length_mm) < WOOD_MM
                                            and _goes(flat, travel, offcut)), None)


def _goes(flat: FlatPlan, travel: Travel, offcut: Offcut) -> bool:
    """Whether the piece at hand at the other end is this offcut: ends, place in the board, and what either says of the
    other."""
    came = _owned(flat, travel)
    ends = tuple(end for end in ("left", "right") if end in offcut.keeps)
    return (came is not None and came.keeps == ends and (bool(ends) or came.from_mm == offcut.from_mm)
            and came.came_from == Elsewhere(floor=travel.from_floor, piece=travel.cut_by)
            and offcut.goes_to == Elsewhere(floor=travel.to_floor, piece=travel.used_by))


def _owned(flat: FlatPlan, travel: Travel) -> OwnPiece | None:
    floor = _floor(flat, travel.to_floor)
    return None if floor is None else next((piece for piece in floor.plan.owned if piece.label == travel.label), None)


def _travel(flat: FlatPlan, travel: Travel) -> list[Fault]:
    came, floor = _owned(flat, travel), _floor(flat, travel.to_floor)
    if came is None or floor is None or not came.board:
        return [_flat_fault("flat-travel", travel.label, 0.0, "the floor it goes to does not have it at hand")]
    if abs(came.length_mm - travel.length_mm) > WOOD_MM or _offcut(flat, travel) is None:
        return [_flat_fault("flat-travel", travel.label, came.length_mm, "no floor leaves such an offcut")]
    takers = [piece.id for piece in floor.plan.pieces if piece.takes == travel.label]
    if travel.used_by not in takers:
        return [_flat_fault("flat-travel", travel.label, float(len(takers)), "the piece it is for is not cut from it")]
    return []


def _boards(flat: FlatPlan) -> dict[_Numbered, _Numbered]:
    """Every floor's numbered boards, by the floor and number the board began with."""
    began: dict[_Numbered, _Numbered] = {}
    for floor in flat.floors:
        for number in {piece.board for piece in floor.plan.pieces}:
            began.setdefault((floor.name, number), (floor.name, number))
        for travel in (one for one in flat.travels if one.to_floor == floor.name):
            came, offcut = _owned(flat, travel), _offcut(flat, travel)
            if came is not None and offcut is not None:
                source = (travel.from_floor, offcut.board)
                began[floor.name, came.board] = began.get(source, source)
    return began


def _wood(flat: FlatPlan) -> list[Fault]:
    """Pieces of one board, over all floors: apart by a saw cut."""
    began, faults = _boards(flat), []
    stretches: dict[_Numbered, list[tuple[float, float, str]]] = {}
    for floor in flat.floors:
        shared: dict[tuple[int, str], tuple[float, float, str]] = {}
        for piece in floor.plan.pieces:
            # Parts of one placement, beside an island, share their stretch of the board.
            key = (piece.board, piece.takes)
            lo, hi, name = shared.get(key, (piece.from_mm, piece.to_mm, f"{floor.name} {piece.id}"))
            shared[key] = (min(lo, piece.from_mm), max(hi, piece.to_mm), name)
        for (board, _), stretch in shared.items():
            stretches.setdefault(began[floor.name, board], []).append(stretch)
    kerf = {floor.name: floor.plan.kerf_mm for floor in flat.floors}
    for (name, _), taken in stretches.items():
        taken.sort()
        for (_, hi, _), (lo, _, where) in zip(taken, taken[1:]):
            if lo - hi < kerf[name] - WOOD_MM:
                faults.append(_flat_fault("flat-wood", where, lo - hi,
                                          "pieces of one board overlap or leave no saw cut"))
    return faults


def _kind(flat: FlatPlan, kind: BoardKind) -> list[Fault]:
    """Boards, bound and packs of one kind."""
    plans = [floor.plan for floor in flat.floors if floor.name in kind.floors]
    faults = []
    boards, where = sum(plan.boards for plan in plans), ", ".join(kind.floors)
    if boards != kind.boards or any(plan.board != kind.board for plan in plans):
        faults.append(_flat_fault("flat-boards", where, float(kind.boards), "the floors take other boards"))
    if not kind.bound <= kind.boards <= kind.alone:
        faults.append(_flat_fault("flat-boards", where, float(kind.bound),
                                  "boards do not lie between the bound and the sum of the floors alone"))
    lengths = [length for plan in plans for length in plan.lengths_mm]
    packs = max(ceil(lengths.count(length) / count) for length, count in kind.board.mix) if kind.board.mix else ceil(
        kind.boards / kind.board.pack)
    if packs != kind.packs or not SPARE_BOARDS <= kind.spare < SPARE_BOARDS + kind.board.pack + sum(
            count for _, count in kind.board.mix) * kind.packs:
        faults.append(_flat_fault("flat-packs", where, float(kind.packs),
                                  "the packs do not hold the boards and the spares"))
    return faults


def _listed(flat: FlatPlan) -> list[Fault]:
    """The list says the packs of every kind."""
    listed = sorted(item.quantity for item in flat.shopping if item.purchase.slug in ("boards", "mixed-boards"))
    asked = sorted(float(kind.packs_to_buy) for kind in flat.kinds)
    if listed == asked:
        return []
    return [_flat_fault("flat-list", "boards", sum(listed), "the list does not say these packs")]


def _bars(flat: FlatPlan) -> list[Fault]:
    """Every bar holds what is sawn from it, every floor's pieces are sawn once, and the bound fits."""
    faults = []
    for bars in flat.bars:
        for k, bar in enumerate(bars.bars):
            over = sum(piece.length_mm for _, piece in bar) + bars.kerf_mm * (len(bar) - 1) - bars.bar_mm
            if over > WOOD_MM:
                faults.append(_flat_fault("flat-bars", f"bar {k + 1}", over, "more is sawn from a bar than it holds"))
        if not bars.bound <= len(bars.bars) <= bars.alone:
            faults.append(_flat_fault("flat-bars", "bars", float(bars.bound), "the bound does not fit the bars"))
    sawn = Counter(one for bars in flat.bars for bar in bars.bars for one in bar)
    asked = Counter((floor.name, piece) for floor in flat.floors if floor.plan.bars is not None
                    for bar in floor.plan.bars.bars for piece in bar)
    if sawn != asked:
        faults.append(_flat_fault("flat-bars", "bars", float(sawn.total()), "not every piece of beading is sawn once"))
    return faults
