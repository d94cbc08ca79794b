"""Which way rows had best run: towards the main window where one is named, else along the longer side (common practice,
no source).

Other ways are set aside, to be shown and not chosen, unless they save a whole pack and 5 % of the boards, or keep rules
the best of the preferred ways breaks without taking more boards. Rows never cross a space under two
metres wide: a hall is laid along.
"""
from __future__ import annotations

from dataclasses import replace
from math import pi

from layout.planning.orientations import turn
from layout.room import Board, Settled
from layout.materials.shopping import packs_for
from layout.planning.candidate import Trial

#: A space narrower than this is a hall, mm; sides that differ by less than this share are alike.
HALL_MM, ALIKE = 2000.0, 0.05
#: What a turn has to save beside a pack, as a share of the boards (common practice, no source).
SAVED_SHARE = 0.05
#: Ways whose rows run within this of each other run alike.
SAME_WAY_RAD = pi / 12


def with_preference(trials: list[Trial], board: Board, wishes: Settled, window_rad: float | None) -> list[Trial]:
    """The trials with those set aside that are not to be chosen. window_rad: the heading of the wall with the main
    window, if one is named."""
    asked = wishes.direction_rad is not None or wishes.along is not None or wishes.start is not None
    if asked or len(trials) < 2:
        return trials
    preferred = [_is_preferred(trial, trials, window_rad) for trial in trials]
    best = min((_standing(trial, board, wishes) for trial, liked in zip(trials, preferred) if liked), default=None)
    return [replace(trial, aside=not liked and best is not None and not _is_worth_it(trial, best, board, wishes))
            for trial, liked in zip(trials, preferred)]


def rules_broken(trial: Trial, wishes: Settled) -> int:
    """How many kinds of rules a trial breaks."""
    return int(trial.narrow_mm < min(wishes.rules.narrowest_mm, trial.depth_mm) - 1e-6) + int(trial.eased)


def _is_preferred(trial: Trial, trials: list[Trial], window_rad: float | None) -> bool:
    if _crosses_hall(trial):
        return False
    if window_rad is not None:
        return abs(turn(2 * (trial.way.angle_rad - window_rad - pi / 2))) < 2 * SAME_WAY_RAD
    return trial.along_mm >= (1.0 - ALIKE) * max(other.along_mm for other in trials)


def _crosses_hall(trial: Trial) -> bool:
    return trial.along_mm < HALL_MM and trial.depth_mm > trial.along_mm


def _standing(trial: Trial, board: Board, wishes: Settled) -> tuple[int, float, int]:
    """(rules broken, boards or packs, packs)."""
    packs = trial.mixed.packs if trial.mixed is not None else packs_for(trial.boards, board)
    return rules_broken(trial, wishes), trial.price[0], packs


def _is_worth_it(trial: Trial, best: tuple[int, float, int], board: Board, wishes: Settled) -> bool:
    broken, price, packs = _standing(trial, board, wishes)
    if _crosses_hall(trial):
        return False
    saves = packs < best[2] and price <= (1.0 - SAVED_SHARE) * best[1]
    return (saves and broken <= best[0]) or (broken < best[0] and price <= best[1])
