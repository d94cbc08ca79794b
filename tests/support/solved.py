"""Surveys solved and floors planned once: what the desk does with an answer is tested again and again on the same few
jobs.

Solving and planning are pure functions (`tests/test_house.py` sees to that), so one asked twice has the answer it had;
that an answer tells the truth is for the tests of capture and layout, which never come here. A solve that begins near
another is made each time.
"""
from __future__ import annotations

import pickle
from typing import Any

import capture.solve
import layout.planning.planner
from capture.adjustment.survey import Survey
from layout.plan import Plan

_solve, _plan = capture.solve.solve_floor, layout.planning.planner.plan_floor
_known: dict[bytes, Any] = {}


def solved_once(network: Any, *, near: Survey | None = None) -> Survey:
    """As `capture.solve.solve_floor`."""
    if near is not None:
        return _solve(network, near=near)
    asked = pickle.dumps(network)
    if asked not in _known:
        _known[asked] = _solve(network)
    return _known[asked]


def planned_once(*arguments: Any, **more: Any) -> Plan:
    """As `layout.planning.planner.plan_floor`."""
    asked = pickle.dumps((arguments, sorted(more.items())))
    if asked not in _known:
        _known[asked] = _plan(*arguments, **more)
    return _known[asked]


def answer_once(monkeypatch: Any) -> None:
    """In a test the same job is solved and planned once in this process, for whoever asks."""
    monkeypatch.setattr("capture.solve.solve_floor", solved_once)
    monkeypatch.setattr("layout.planning.planner.plan_floor", planned_once)


def plan_once() -> None:
    """The same of planning, as long as this process lives: for one that only plans."""
    layout.planning.planner.plan_floor = planned_once
