"""A flat planned: every floor as it is best laid alone, then all that take one kind of board together.

Each floor's way of laying is chosen as for one room (`layout.planning.planner.choose_way`). Which pieces share a board
is then sought over all floors at once (`joint_task`), beginning with the first pieces they have alone, so that a flat
never takes more boards than its floors one by one; the same bound that proves a room's boards proves the flat's. Boards
are followed through the floors in the order of laying (`shared_boards`). The judge must find no fault, neither in a
floor's plan nor in the flat; a floor that cannot be laid together is laid by itself.

Not done: ways of laying chosen by what the other floors leave; boards of several lengths and floors with a pattern
share no offcuts.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from layout.errors import LayoutError
from layout.facts.reasons import BoardsNeeded
from layout.flat.joint_task import JointTask, fewest_together, joint_task
from layout.flat.purchase import Opening, bars_together, kinds_of, shopping_together
from layout.flat.shared_boards import lay_together
from layout.flat_plan import FlatPlan, FloorPlan, Travel
from layout.judge.check import find_faults
from layout.judge.flat import find_flat_faults
from layout.plan import Plan
from layout.planning.assemble import Laying, assemble
from layout.planning.planner import MOVES, ChosenWay, assembled, choose_way, plan_floor
from layout.room import Board, Room, Wishes


#: A floor that cannot be planned, and why.
Refusal = tuple[str, LayoutError]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Floor:
    """A floor to be planned: its name, its room, the boards and the wishes."""

    name: str
    room: Room
    board: Board
    wishes: Wishes


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class PlannedFlat:
    """A flat and the floors that could not be planned, each with what the planner said."""

    flat: FlatPlan
    refused: tuple[Refusal, ...]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Group:
    """Floors that share boards, planned: plans and boards alone by name, what travels, the bound of them all, and what
    was refused."""

    plans: dict[str, Plan]
    alone: dict[str, int]
    bound: int
    travels: tuple[Travel, ...] = ()
    refused: tuple[Refusal, ...] = ()


def plan_flat(floors: Sequence[Floor], *, openings: Sequence[Opening] = (), seed: int = 0,
              moves: int = MOVES) -> PlannedFlat:
    """The plan of a flat whose floors are laid in this order; the same arguments give the same plan.

    openings: doors of two floors that are one opening, which takes one profile. moves: the budget a floor. A floor that
    cannot be planned is left out and told of. Raises LayoutError (internal-fault) if the judge finds the flat wrong.
    """
    ways, plans, refused = _each_alone(floors, seed, moves)
    groups = [_together(some, seed, moves) for some in _sharing(ways)]
    groups += [_Group(plans={name: plan}, alone={name: plan.boards}, bound=plan.bound) for name, plan in plans.items()]
    refused += [one for group in groups for one in group.refused]
    planned = {name: plan for group in groups for name, plan in group.plans.items()}
    alone = {name: boards for group in groups for name, boards in group.alone.items()}
    laid = tuple(FloorPlan(name=floor.name, plan=planned[floor.name], alone=alone[floor.name])
                 for floor in floors if floor.name in planned)
    known = {floor.name: floor for floor in floors}
    bars = bars_together(laid)
    kinds = kinds_of(laid, [(tuple(group.plans), group.bound) for group in groups])
    flat = FlatPlan(floors=laid, travels=tuple(travel for group in groups for travel in group.travels), bars=bars,
                    kinds=kinds, shopping=shopping_together(laid, {name: (known[name].room, known[name].wishes)
                                                                   for name in planned}, kinds, bars, openings))
    faults = find_flat_faults(flat)
    if faults:
        raise LayoutError("internal-fault", f"The flat we planned has a fault ({faults[0].slug} at {faults[0].where}, "
                                            f"{faults[0].amount:.3g}); this is our mistake, not yours - please report "
                                            "it with the job files.", where=faults[0].where)
    return PlannedFlat(flat=flat, refused=tuple(refused))


def _each_alone(floors: Sequence[Floor], seed: int, moves: int) -> tuple[dict[str, ChosenWay], dict[str, Plan],
                                                                         list[Refusal]]:
    """(ways of laying of the floors that may share boards, plans of the others, what was refused), by name."""
    ways: dict[str, ChosenWay] = {}
    plans: dict[str, Plan] = {}
    refused = []
    for floor in floors:
        try:
            if floor.board.mix or floor.wishes.pattern != "fewest":
                plans[floor.name] = plan_floor(floor.room, floor.board, floor.wishes, seed=seed, moves=moves)
            else:
                ways[floor.name] = choose_way(floor.room, floor.board, floor.wishes, seed=seed, moves=moves)
        except LayoutError as error:
            refused.append((floor.name, error))
    return ways, plans, refused


def _sharing(ways: dict[str, ChosenWay]) -> list[dict[str, ChosenWay]]:
    """The ways whose boards are one kind, sawn by one saw and laid from one side."""
    groups: dict[tuple[object, ...], dict[str, ChosenWay]] = {}
    for name, way in ways.items():
        key = (way.board, way.wishes.kerf_mm, way.wishes.step_mm, way.wishes.lay, way.trial.task.kerf_mm)
        groups.setdefault(key, {})[name] = way
    return list(groups.values())


def _together(ways: dict[str, ChosenWay], seed: int, moves: int) -> _Group:
    """Floors with shared boards where that is sound and takes no board more, else each by itself."""
    alone = {name: way.trial.boards for name, way in ways.items()}
    plans, travels, bound = _laid(ways, seed, moves)
    faulty = [name for name, plan in plans.items() if find_faults(plan, ways[name].room)]
    if not faulty and sum(plan.boards for plan in plans.values()) <= sum(alone.values()):
        return _Group(plans=plans, alone=alone, bound=bound, travels=travels)
    return _apart(ways, faulty or list(ways), seed, moves)


def _laid(ways: dict[str, ChosenWay], seed: int, moves: int) -> tuple[dict[str, Plan], tuple[Travel, ...], int]:
    """(plans of floors laid together by name, what travels, the bound of them all)."""
    if len(ways) == 1:
        ((name, way),) = ways.items()
        return {name: assembled(way)}, (), way.trial.bound
    some = list(ways.values())
    joint = fewest_together(joint_task(some), some[0].wishes.kerf_mm, moves=moves, seed=seed)
    layings, travels = lay_together(joint, some, tuple(ways))
    return {name: _plan_of(way, joint, bounds, laying)
            for (name, way), bounds, laying in zip(ways.items(), joint.ranges, layings)}, travels, joint.bound


def _apart(ways: dict[str, ChosenWay], apart: list[str], seed: int, moves: int) -> _Group:
    """Some floors each by itself, the others together. Nothing is proved of them all."""
    plans, refused = dict[str, Plan](), list[Refusal]()
    for name in apart:
        try:
            plans[name] = _by_itself(ways[name], seed, moves)
        except LayoutError as error:
            refused.append((name, error))
    alone = {name: plan.boards for name, plan in plans.items()}
    others = {name: way for name, way in ways.items() if name not in apart}
    rest = _together(others, seed, moves) if others else _Group(plans={}, alone={}, bound=0)
    return _Group(plans=plans | rest.plans, alone=alone | rest.alone, bound=0, travels=rest.travels,
                  refused=(*refused, *rest.refused))


def _by_itself(way: ChosenWay, seed: int, moves: int) -> Plan:
    """A floor's plan alone; sought anew only where the judge finds fault with the way that was chosen."""
    plan = assembled(way)
    return plan_floor(way.room, way.board, way.wishes, seed=seed, moves=moves) if find_faults(plan, way.room) else plan


def _plan_of(way: ChosenWay, joint: JointTask, bounds: tuple[int, int], laying: Laying) -> Plan:
    """A floor's plan with the pieces it was given. Every piece of another floor it takes saves it one board at most."""
    lo, hi = bounds
    row = joint.task.spans[lo].row - way.trial.task.spans[0].row
    spans = tuple(replace(span, row=span.row - row) for span in joint.task.spans[lo:hi])
    _, _, owned, boards = laying
    came = sum(piece.came_from is not None for piece in owned)
    trial = replace(way.trial, task=replace(way.trial.task, spans=spans), firsts=joint.firsts[lo:hi], boards=boards,
                    bound=min(boards, max(0, way.trial.bound - came)))
    needed = BoardsNeeded(boards=boards, bound=trial.bound, pattern=way.wishes.pattern)
    reasons = tuple(needed if isinstance(reason, BoardsNeeded) else reason for reason in way.reasons)
    return assemble(way.room, way.site, way.board, way.wishes, trial, way.choices, reasons, laying=laying)
