"""From a room, boards and wishes to a plan.

Plan frame in and out, mm. Method: the cover (floor less gaps) is cut into rows for every way of laying that fits the
wishes; each way is tried with a small effort (`layout.trial`); the best is searched longer; pieces, offcuts, cuts, holes,
shopping and words follow from it; the judge (`layout.check`), which shares nothing with the planner, must find no fault.

Rules give way in this order, least first, and the plan's `relaxed` says which, where and by how much:
first `narrowest`, only if no first-row width keeps it (settled before any joint is placed); then `stagger` down to 200 mm;
then `shortest` down to 200 mm; then `stagger` and at last `shortest` without limit (`layout.giveway`).

Choice of the way: a way that keeps every rule comes before one that does not; then fewest boards; then rows along the
longer side; then fewest cuts.

What it does not do: place expansion profiles, lay into door reveals, rip two narrow pieces from one board side by side,
or nest slanted ends into one another.
"""
from __future__ import annotations

from shapely.geometry import Polygon

from layout.beading import beading_of
from layout.bound import SAYS
from layout.cautions import CAUTIONS, warnings_for
from layout.check import find_faults
from layout.cover import cover_parts, floor_shape, lost_alcoves, room_polygon, to_polygon
from layout.direction import Way, ways_to_lay
from layout.errors import LayoutError
from layout.holes import bore
from layout.inputs import check_board, check_doors, check_pipes, check_wishes
from layout.pieces import cut_shapes, lay_order, make_rows, name_pieces, number_boards, place_boards, trace_offcuts
from layout.plan import Choice, Offcut, Plan, Row
from layout.relaxed import relaxed_rules
from layout.room import Board, Room, Wishes
from layout.shopping import Need, packs_for, shopping_list
from layout.trial import Effort, Trial, as_choice, try_way

MOVES = 10_000
QUICK = Effort(rounds=0, moves=1500)
#: One round of the bound for so many moves of the search.
MOVES_A_ROUND = 60


def plan_floor(room: Room, board: Board, wishes: Wishes, *, seed: int = 0, moves: int = MOVES) -> Plan:
    """How to lay the floor of `room` with `board` under `wishes`; the same arguments give the same plan.

    moves: budget of the search (not seconds). Raises LayoutError, in one sentence, for input that no plan can follow, and
    with slug internal-fault if the judge finds our own plan wrong.
    """
    check_board(board)
    check_wishes(wishes, board)
    check_pipes(room)
    floor = floor_shape(room)
    check_doors(room)
    cover = cover_parts(room, wishes.gap_mm)
    trials = _try_ways(cover, board, wishes, ways_to_lay(room, wishes), moves, seed)
    best = min(trials, key=lambda trial: _rank(trial, wishes))
    final = try_way(cover, board, wishes, best.way, effort=Effort(rounds=moves // MOVES_A_ROUND, moves=moves), seed=seed)
    chosen = final if _rank(final, wishes) <= _rank(best, wishes) else best
    weighed = [chosen if trial is best else trial for trial in trials]
    plan = _assemble(room, board, wishes, floor, cover, chosen, _choices(weighed, chosen, wishes))
    faults = find_faults(plan, room)
    if faults:
        raise LayoutError("internal-fault", f"The plan we made has a fault ({faults[0].slug} at {faults[0].where}, {faults[0].amount:.3g}); this is "
                          "our mistake, not yours - please report it with the job file.", where=faults[0].where)
    return plan


def _try_ways(cover: list[Polygon], board: Board, wishes: Wishes, ways: list[Way], moves: int, seed: int) -> list[Trial]:
    quick = Effort(rounds=QUICK.rounds, moves=min(QUICK.moves, moves))
    return [try_way(cover, board, wishes, way, effort=quick, seed=seed) for way in ways]


def _rank(trial: Trial, wishes: Wishes) -> tuple[int, int, float, int]:
    """The order of choice: rules broken, boards, rows along the longer side, cuts."""
    broken = int(trial.narrow_mm < min(wishes.rules.narrowest_mm, trial.depth_mm) - 1e-6) + int(trial.eased)
    return broken, trial.boards, -round(trial.along_mm, 0), trial.cuts


def _choices(trials: list[Trial], best: Trial, wishes: Wishes) -> tuple[Choice, ...]:
    """The ways weighed, best first."""
    ranked = sorted(trials, key=lambda trial: _rank(trial, wishes))
    return tuple(as_choice(trial, f"Rows along {trial.way.along}, starting at {trial.way.start}" + (" (chosen)" if trial is best else ""))
                 for trial in ranked)


def _assemble(room: Room, board: Board, wishes: Wishes, floor: Polygon, cover: list[Polygon], trial: Trial,
              choices: tuple[Choice, ...]) -> Plan:
    rows, offcuts, boards = _lay(trial, board, wishes)
    rows, holes = bore(rows, list(trial.strips), room.pipes, wishes.gap_mm, trial.frame)
    relaxed = relaxed_rules(trial.task, list(trial.firsts), list(trial.runs), rows, wishes.rules)
    beading, packs = beading_of(room), packs_for(boards, board)
    need = Need(boards=boards, packs=packs, floor_m2=floor.area / 1e6, wall_mm=floor.length, row_ends=2 * len(trial.runs))
    warnings = warnings_for(room, board, wishes, cover, lost_alcoves(floor, cover, wishes.gap_mm), rows, holes,
                            (trial.along_mm, trial.depth_mm), relaxed)
    return Plan(floor=room_polygon(room), cover=tuple(to_polygon(part) for part in cover), board=board, kerf_mm=wishes.kerf_mm,
                gap_mm=wishes.gap_mm, rules=wishes.rules, u=trial.frame.u, v=trial.frame.v, start_mm=trial.frame.start_mm, lay=wishes.lay,
                pattern=wishes.pattern, rows=rows, offcuts=offcuts, holes=holes, boards=boards, bound=trial.bound,
                bound_says=SAYS, proven=boards == trial.bound, packs=packs,
                waste_percent=waste_percent(cover, boards, board), says=_says(trial, choices, wishes), choices=choices,
                shopping=shopping_list(room, board, wishes, need, beading), beading=beading, cautions=CAUTIONS, warnings=warnings,
                relaxed=relaxed)


def waste_percent(cover: list[Polygon], boards: int, board: Board) -> float:
    """Share of the boards cut or laid (not of the packs bought) that does not end up in the floor, percent. Pipe holes count as floor."""
    return 100.0 * (1.0 - sum(part.area for part in cover) / (boards * board.length_mm * board.width_mm))


def _lay(trial: Trial, board: Board, wishes: Wishes) -> tuple[tuple[Row, ...], tuple[Offcut, ...], int]:
    """Rows of pieces, offcuts, and the number of boards used."""
    loose = place_boards(trial.task, list(trial.firsts))
    order = lay_order(loose, trial.task.spans, wishes.lay)
    placements = number_boards(loose, order)
    runs = list(trial.runs)
    parts = cut_shapes(runs, placements)
    ids = name_pieces(runs, placements, parts)
    sources, offcuts = trace_offcuts(placements, order, [names[0] for names in ids], board, wishes.kerf_mm, wishes.rules.shortest_mm)
    rows = make_rows(runs, list(trial.strips), placements, board, trial.frame, parts, ids, sources)
    return rows, offcuts, max(placement.board for placement in placements)


def _says(trial: Trial, choices: tuple[Choice, ...], wishes: Wishes) -> tuple[str, ...]:
    """Why this way of laying, in sentences."""
    says = [f"Rows run along {trial.way.along} and start at {trial.way.start}."]
    if len(choices) > 1:
        others = sorted({choice.boards for choice in choices[1:]})
        says.append(f"{len(choices)} ways of laying were weighed: this one needs {trial.boards} boards, the others "
                    f"{others[0] if len(others) == 1 else f'{others[0]} to {others[-1]}'}. Ways that keep every rule come first, then fewest "
                    "boards, then rows along the longer side (common practice).")
    says.append(trial.first_row.says + f" First row {trial.first_row.width_mm:.0f} mm, last row {trial.first_row.last_mm:.0f} mm.")
    if trial.boards == trial.bound:
        says.append(f"{trial.boards} boards are the fewest possible for these rows.")
    elif wishes.pattern != "fewest":
        says.append(f"The pattern of {wishes.pattern} needs {trial.boards} boards; freely placed joints need at least {trial.bound}, so the pattern "
                    f"costs at most {trial.boards - trial.bound} boards.")
    else:
        says.append(f"{trial.boards} boards; at least {trial.bound} are needed for these rows, so at most {trial.boards - trial.bound} could be saved.")
    return tuple(says)
