"""What a flat takes, bought once.

Boards are those the floors' plans take with what goes from one to another: each floor is kept and printed by that plan.
Bars of beading are sawn by one list over all floors (`bars_together`). Boards of one kind are bought in packs for all
floors; `SPARE_BOARDS` to spare are kept once a kind (`BoardKind.packs_to_buy`). What is left of a roll of underlay,
film or tape goes on in the next room. A doorway between two floors takes one profile, however many rooms list its door.
Spacers move on with the rows and from room to room, so the room with the most decides.
"""
from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from math import ceil

from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from layout.facts import purchases
from layout.flat_plan import BoardKind, FlatBars, FloorPlan
from layout.materials.cutting_stock import cut_bars
from layout.materials.shopping import TAPE_ROLL_MM, packs_for
from layout.materials.underlay_sheets import FILM_WIDTH_MM, Sheets, film_sheets, rolls_for, underlay_sheets
from layout.plan import BarPiece, Item, Plan
from layout.room import Board, Room, Underlay, Wishes

#: Two doors that are one opening: (floor, door) from either side.
Opening = tuple[tuple[str, str], tuple[str, str]]
#: What a floor's list is made from beside its plan.
Asked = Mapping[str, tuple[Room, Wishes]]


def kinds_of(floors: Sequence[FloorPlan], bounds: Sequence[tuple[tuple[str, ...], int]]) -> tuple[BoardKind, ...]:
    """Every kind of board with all that take it. bounds: fewer boards than this cannot do for these floors."""
    boards: dict[Board, list[FloorPlan]] = {}
    for floor in floors:
        boards.setdefault(floor.plan.board, []).append(floor)
    return tuple(BoardKind(board=board, floors=tuple(floor.name for floor in some),
                           boards=sum(floor.plan.boards for floor in some), alone=sum(floor.alone for floor in some),
                           bound=sum(bound for names, bound in bounds if {floor.name for floor in some} & set(names)),
                           packs=_packs(board, some),
                           packs_alone=sum(_packs_alone(floor) for floor in some)) for board, some in boards.items())


def _packs(board: Board, floors: Sequence[FloorPlan]) -> int:
    """Packs that hold what the floors take; of several lengths as many as the scarcest asks for."""
    if not board.mix:
        return packs_for(sum(floor.plan.boards for floor in floors), board)
    lengths = [length for floor in floors for length in floor.plan.lengths_mm]
    return max(ceil(lengths.count(length) / count) for length, count in board.mix)


def _packs_alone(floor: FloorPlan) -> int:
    """Packs bought for a floor planned alone, its own spares included."""
    if floor.plan.board.mix:
        return floor.plan.packs_to_buy
    return replace(floor.plan, boards=floor.alone, packs=packs_for(floor.alone, floor.plan.board)).packs_to_buy


def bars_together(floors: Sequence[FloorPlan]) -> tuple[FlatBars, ...]:
    """The beading of all floors out of bars of each length, never more bars than floor by floor."""
    kinds: dict[tuple[float, float, float], list[FloorPlan]] = {}
    for floor in floors:
        bars = floor.plan.bars
        if bars is not None and bars.bars:
            kinds.setdefault((bars.bar_mm, bars.kerf_mm, bars.width_mm), []).append(floor)
    return tuple(_bars(*kind, some) for kind, some in kinds.items())


def _bars(bar_mm: float, kerf_mm: float, width_mm: float, floors: Sequence[FloorPlan]) -> FlatBars:
    apart = tuple(tuple((floor.name, piece) for piece in bar) for floor in floors if floor.plan.bars is not None
                  for bar in floor.plan.bars.bars)
    pieces: list[tuple[str, BarPiece]] = [one for bar in apart for one in bar]
    cutting = cut_bars([piece.length_mm for _, piece in pieces], bar_mm, kerf_mm)
    together = tuple(tuple(pieces[i] for i in bar) for bar in cutting.bars)
    return FlatBars(bar_mm=bar_mm, kerf_mm=kerf_mm, width_mm=width_mm, bound=cutting.bound, alone=len(apart),
                    bars=together if len(together) < len(apart) else apart)


def shopping_together(floors: Sequence[FloorPlan], asked: Asked, kinds: Sequence[BoardKind], bars: Sequence[FlatBars],
                      openings: Sequence[Opening]) -> tuple[Item, ...]:
    """One list for all, boards first."""
    plans = [floor.plan for floor in floors]
    return (*_boards(floors, kinds), *_underlays(floors, asked), *_films(floors, asked), *_tapes(floors, asked),
            *_spacers(plans), *(_beading(bar, plans) for bar in bars), *_expansion_profiles(plans),
            *_thresholds(floors, asked, openings), *_collars(floors))


def _boards(floors: Sequence[FloorPlan], kinds: Sequence[BoardKind]) -> list[Item]:
    found = []
    for kind in kinds:
        board, more = kind.board, kind.packs_to_buy > kind.packs
        if board.mix:
            lengths = [length for floor in floors if floor.name in kind.floors for length in floor.plan.lengths_mm]
            mixed = tuple((length, lengths.count(length), count * kind.packs_to_buy) for length, count in board.mix)
            found.append(Item(quantity=kind.packs_to_buy, purchase=purchases.MixedBoards(
                face_mm=(board.width_mm, board.thickness_mm), lengths=mixed, spare=kind.spare, pack_more=more)))
            continue
        size = (board.length_mm, board.width_mm, board.thickness_mm)
        found.append(Item(quantity=kind.packs_to_buy, purchase=purchases.Boards(
            size_mm=size, boards=kind.boards, pack=board.pack, spare=kind.spare, pack_more=more, owned=())))
    return found


def _ground(plan: Plan) -> BaseGeometry:
    """The floor in the row frame."""
    ground = Polygon(plan.floor.outline, plan.floor.holes)
    return plan.frame.shape_to_row(ground if ground.is_valid else ground.buffer(0.0))


def _summed(sheets: Iterable[Sheets]) -> Sheets:
    every = list(sheets)
    return Sheets(strips=sum(one.strips for one in every), length_mm=sum(one.length_mm for one in every),
                  joint_mm=sum(one.joint_mm for one in every))


def _underlays(floors: Sequence[FloorPlan], asked: Asked) -> list[Item]:
    kinds: dict[Underlay | None, list[BaseGeometry]] = {}
    for floor in floors:
        kinds.setdefault(asked[floor.name][1].underlay, []).append(_ground(floor.plan))
    found = []
    for underlay, grounds in kinds.items():
        area = sum(ground.area for ground in grounds) / 1e6
        if underlay is None:
            found.append(Item(purchase=purchases.Underlay(), quantity=round(area + 0.05, 1)))
            continue
        sheets = _summed(underlay_sheets(ground, underlay) for ground in grounds)
        found.append(Item(quantity=rolls_for(sheets, underlay), purchase=purchases.UnderlayRolls(
            thickness_mm=underlay.thickness_mm, floor_m2=area, sheets=sheets.strips, laid_mm=sheets.length_mm,
            roll_mm=(underlay.roll_length_mm, underlay.roll_width_mm))))
    return found


def _films(floors: Sequence[FloorPlan], asked: Asked) -> list[Item]:
    found = []
    for sure in (True, False):
        sheets = _summed(film_sheets(_ground(floor.plan)) for floor in floors
                         if asked[floor.name][1].subfloor == ("mineral" if sure else ""))
        if sheets.strips:
            film = purchases.Film(sheets=sheets.strips, wide_mm=FILM_WIDTH_MM, laid_mm=sheets.length_mm, sure=sure)
            found.append(Item(purchase=film, quantity=ceil(sheets.length_mm * FILM_WIDTH_MM / 1e6)))
    return found


def _tapes(floors: Sequence[FloorPlan], asked: Asked) -> list[Item]:
    """Rolls for all joints that are known; one roll more where a room's are not."""
    known: list[purchases.JointTape] = []
    unknown = 0
    for floor in floors:
        for item in floor.plan.shopping:
            if isinstance(item.purchase, purchases.JointTape):
                known.append(item.purchase)
            unknown += isinstance(item.purchase, purchases.TapeRoll)
    found = [Item(purchase=purchases.TapeRoll(), quantity=1)] if unknown else []
    if not known:
        return found
    joints = sum(tape.joints_mm for tape in known)
    tape = purchases.JointTape(joints_mm=joints, roll_mm=TAPE_ROLL_MM, underlay=any(tape.underlay for tape in known),
                               film=any(tape.film for tape in known))
    return [Item(purchase=tape, quantity=ceil(joints * 1.1 / TAPE_ROLL_MM)), *found]


def _spacers(plans: Sequence[Plan]) -> list[Item]:
    most = max((item.quantity for plan in plans for item in plan.shopping
                if isinstance(item.purchase, purchases.Spacers)), default=0)
    return [Item(purchase=purchases.Spacers(), quantity=most)] if most else []


def _beading(bar: FlatBars, plans: Sequence[Plan]) -> Item:
    least = max(item.purchase.least_mm for plan in plans for item in plan.shopping
                if isinstance(item.purchase, purchases.BeadingBars))
    sawn = sum(piece.length_mm for one in bar.bars for _, piece in one)
    return Item(quantity=len(bar.bars), purchase=purchases.BeadingBars(
        bar_mm=bar.bar_mm, sawn_mm=sawn, kerf_mm=bar.kerf_mm, bars=len(bar.bars), bound=bar.bound, least_mm=least))


def _expansion_profiles(plans: Sequence[Plan]) -> list[Item]:
    lengths = tuple(length for plan in plans for item in plan.shopping
                    if isinstance(item.purchase, purchases.ExpansionProfiles) for length in item.purchase.lengths_mm)
    if not lengths:
        return []
    return [Item(purchase=purchases.ExpansionProfiles(lengths_mm=lengths), quantity=ceil(sum(lengths) / 100) / 10)]


def _thresholds(floors: Sequence[FloorPlan], asked: Asked, openings: Sequence[Opening]) -> list[Item]:
    """A profile for every opening, named by the door of the floor laid first."""
    other = {side: pair[1 - k] for pair in openings for k, side in enumerate(pair)}
    found: dict[tuple[str, str], Item] = {}
    for floor in floors:
        for door in asked[floor.name][0].doors:
            if other.get((floor.name, door.name)) not in found:
                threshold = purchases.Threshold(door=f"{floor.name} {door.name}", width_mm=door.width_mm)
                found[floor.name, door.name] = Item(purchase=threshold, quantity=1)
    return list(found.values())


def _collars(floors: Sequence[FloorPlan]) -> list[Item]:
    found = [(floor.name, item.purchase) for floor in floors for item in floor.plan.shopping
             if isinstance(item.purchase, purchases.Collars)]
    if not found:
        return []
    pipes = tuple(f"{name} {pipe}" for name, collars in found for pipe in collars.pipes)
    return [Item(quantity=len(pipes), purchase=purchases.Collars(
        pipes=pipes, across_mm=max(collars.across_mm for _, collars in found)))]
