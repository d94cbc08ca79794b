"""Why the way of laying that was chosen is laid, and the ways it was weighed against, as facts."""
from __future__ import annotations

from collections import Counter
from math import degrees

from layout.facts.reasons import (
    BoardsNeeded, FirstRowWide, PacksTaken, Reason, RowsRun, StartBroken, StartWedge, WaysWeighed)
from layout.plan import Choice
from layout.planning.candidate import Trial
from layout.planning.mixed_lengths import Mixed, lengths_of
from layout.room import Board, Wishes


def reasons_for(trial: Trial, board: Board, choices: tuple[Choice, ...], wishes: Wishes,
                why_gap: Reason | None) -> tuple[Reason, ...]:
    """Why this way of laying. why_gap: why the gap is so wide, None if the reader chose it."""
    reasons: list[Reason] = [RowsRun(along=trial.way.along, start=trial.way.start)]
    if len(choices) > 1:
        this, *others = (choice.boards if choice.packs is None else choice.packs for choice in choices)
        reasons.append(WaysWeighed(ways=len(choices), this=this, least=min(others), most=max(others),
                                   what="packs" if trial.mixed else "boards"))
    first, last = trial.strips[0], trial.strips[-1]
    reasons.append(FirstRowWide(rule=trial.first_row.rule, narrowest_mm=wishes.rules.narrowest_mm,
                                width_mm=first.far_mm - first.near_mm, last_mm=last.far_mm - last.near_mm,
                                in_doorway=trial.starts_in_doorway))
    reasons += _about_start(trial)
    reasons += [why_gap] if why_gap is not None else []
    reasons.append(_packs(trial.mixed, board) if trial.mixed
                   else BoardsNeeded(boards=trial.boards, bound=trial.bound, pattern=wishes.pattern))
    return tuple(reasons)


def _about_start(trial: Trial) -> list[Reason]:
    """What is to be known of a first row that is no good one to begin with."""
    number, start = trial.start.row + 1, trial.start
    found: list[Reason] = [StartWedge(row=number, wedge_mm=start.wedge_mm)] if start.is_wedge else []
    return [*found, StartBroken(row=number, stretches=start.runs)] if start.runs > 1 else found


def as_choice(trial: Trial) -> Choice:
    """The trial as a line of the table of choices."""
    return Choice(u_deg=round(degrees(trial.way.angle_rad) % 360.0, 6), first_row_mm=trial.first_row.width_mm,
                  last_row_mm=trial.first_row.last_mm, boards=trial.boards, cuts=trial.cuts,
                  narrowest_mm=trial.narrow_mm, packs=trial.mixed.packs if trial.mixed else None,
                  along=trial.way.along, start=trial.way.start)


def _packs(mixed: Mixed, board: Board) -> PacksTaken:
    """How the boards of the plan stand against the packs."""
    used = Counter(lengths_of(mixed.laying).values())
    return PacksTaken(used=tuple((length, used[length]) for length, _ in board.mix), packs=mixed.packs,
                      least_packs=mixed.least_packs)
