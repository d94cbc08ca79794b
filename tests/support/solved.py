"""Surveys solved, floors planned, kept plans judged and sheets in pictures found once: what the desk does with an
answer is tested again and again on the same few jobs. Plans are searched for no longer than a preview is: each is whole
and sound, and how few boards a longer search finds is for the tests of layout.

All four are pure functions (`tests/test_house.py` sees to that of the lower rooms), so one asked twice has the answer
it had; that an answer tells the truth is for the tests of capture and layout, which never come here, and for
`test_foreign_plan.py`. A solve that begins near another is made each time.
"""
from __future__ import annotations

from typing import Any

import capture.solve
import desk.actions.closeups
import desk.actions.foreign_plan
import layout.planning.planner
from capture.adjustment.survey import Survey
from layout.plan import Plan
from layout.planning.planner import EFFORTS, MOVES
from tests.support.once import once

_solve = capture.solve.solve_floor
_solved_once, _planned_once = once(_solve), once(layout.planning.planner.plan_floor)
_found_once = once(desk.actions.closeups.find_reference)
_believed_once = once(desk.actions.foreign_plan.believed)


def _solved(network: Any, *, near: Survey | None = None) -> Survey:
    return _solved_once(network) if near is None else _solve(network, near=near)


def _planned(*arguments: Any, moves: int = MOVES, **more: Any) -> Plan:
    return _planned_once(*arguments, moves=min(moves, EFFORTS["preview"]), **more)


def answer_once(monkeypatch: Any) -> None:
    """In a test the same is solved, planned and found once in this process, for whoever asks."""
    monkeypatch.setattr("capture.solve.solve_floor", _solved)
    monkeypatch.setattr("layout.planning.planner.plan_floor", _planned)
    monkeypatch.setattr("desk.actions.closeups.find_reference", _found_once)
    for module in ("desk.actions.foreign_plan", "desk.actions.day"):
        monkeypatch.setattr(f"{module}.believed", _believed_once)
    for module in ("layout.planning.planner", "desk.actions.day"):
        monkeypatch.setattr(f"{module}.MOVES", EFFORTS["preview"])


def plan_once() -> None:
    """The same of planning, as long as this process lives: for one that only plans."""
    layout.planning.planner.plan_floor = _planned_once
