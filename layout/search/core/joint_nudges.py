"""Joints moved a little where two pieces of a board would leave a strip between them that no saw can hold.

A run's joints move together by a few mm. That changes what its start and its end leave of their boards; the pairs are
chosen anew. A move is kept if fewer such strips are left, no more boards are taken and every rule holds.
"""
from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import partial

from layout.search.core.model import SAME_MM, Task, split_run
from layout.search.core.neat_pairing import pair_neatly
from layout.search.core.state import State, state_of
from layout.search.core.board_pairing import Shares, count_boards, share_boards

#: How far joints are moved at most, mm: past the strip from either side; and how many moves are tried in all.
FURTHEST_MM, MOST_TRIES = 18, 300


def neat_shares(task: Task, firsts: list[float], rooms: Sequence[int] = (),
                kept: Collection[tuple[int, int]] = ()) -> list[Shares]:
    """Which pieces share a board: as few boards as can be, then as few strips that no saw can hold. rooms: the room of
    each run, where they lie in several; kept: as in `pair_neatly`."""
    neat = share_boards(task, firsts, partial(pair_neatly, rooms=rooms, kept=kept))
    if all(span.length_mm - first > SAME_MM for span, first in zip(task.spans, firsts)):
        return neat  # as many pairs as can be are as few boards as can be, where no run of one piece joins two
    return min(neat, share_boards(task, firsts), key=len)


def without_slivers(task: Task, firsts: list[float], rooms: Sequence[int] = ()) -> list[float]:
    """First pieces that leave fewer such strips, or the same."""
    wrong = sliver_runs(task, firsts, rooms)
    if not wrong:
        return firsts
    state, boards, tries = state_of(task, firsts), count_boards(task, firsts), 0
    settled = set()
    while wrong and tries < MOST_TRIES:
        run = next((run for run in wrong if run not in settled), None)
        if run is None:
            break
        settled.add(run)
        for step in sorted(range(-FURTHEST_MM, FURTHEST_MM + 1), key=abs)[1:]:
            tries += 1
            better = _moved(state, run, float(step), (boards, len(wrong)), rooms)
            if better is not None:
                wrong, settled = better, set()
                break
    return list(state.firsts)


def _moved(state: State, run: int, step: float, most: tuple[int, int], rooms: Sequence[int]) -> list[int] | None:
    """The runs still wrong once a run is moved; None, and nothing moved, where that is no better. most: boards, and
    runs wrong now."""
    first = state.firsts[run] + step
    if not state.allows(run, first):
        return None
    before = state.firsts[run]
    state.set(run, first)
    if state.holds(run) and count_boards(state.task, state.firsts) <= most[0]:
        wrong = sliver_runs(state.task, state.firsts, rooms, enough=most[1])
        if len(wrong) < most[1]:
            return wrong
    state.set(run, before)
    return None


def sliver_runs(task: Task, firsts: list[float], rooms: Sequence[int] = (), enough: int | None = None) -> list[int]:
    """Runs whose start or end leaves a strip no saw can hold; of more than `enough` not all."""
    found: list[int] = []
    for share in neat_shares(task, firsts, rooms):
        runs = [*([share.end] if share.end >= 0 else []), *share.slices, *([share.start] if share.start >= 0 else [])]
        if _leaves_sliver(task, firsts, share, runs):
            found += [run for run in runs if task.spans[run].row >= 0]
            if enough is not None and len(found) >= enough:
                break
    return found


def _leaves_sliver(task: Task, firsts: list[float], share: Shares, runs: list[int]) -> bool:
    used = task.kerf_mm * (len(runs) - 1)
    give = over = sliver = 0.0
    tapers = []
    for run in runs:
        span, first = task.spans[run], firsts[run]
        count, last = split_run(span.length_mm, first, task.board_mm)
        sliver = max(sliver, span.sliver_mm)
        if count == 1:
            used += span.length_mm
            give += span.left_give_mm + span.right_give_mm
            over += span.left_over_mm + span.right_over_mm
            tapers.append(max(span.left_taper_mm, span.right_taper_mm))
        elif run == share.end and run not in share.slices:
            used, give, over = used + last, give + span.right_give_mm, over + span.right_over_mm
            tapers.append(span.right_taper_mm)
        else:
            used, give, over = used + first, give + span.left_give_mm, over + span.left_over_mm
            tapers.append(span.left_taper_mm)
    spare = task.board_mm - used
    widest = min(map(max, zip(tapers, tapers[1:])), default=tapers[0])
    return spare + over < sliver - widest - SAME_MM and not (max(tapers) == 0.0 and spare <= give + SAME_MM)
