"""A pure function that has an answer it gave before; the judge of plans is one in every test."""
from __future__ import annotations

import hashlib
import pickle
from collections.abc import Callable
from typing import Any

import layout.judge.check


def once(really: Callable[..., Any]) -> Callable[..., Any]:
    """The function, which has an answer it gave before."""
    known: dict[bytes, Any] = {}

    def answered(*arguments: Any, **more: Any) -> Any:
        asked = hashlib.sha256(pickle.dumps((arguments, sorted(more.items())))).digest()
        if asked not in known:
            known[asked] = really(*arguments, **more)
        return known[asked]
    return answered


def judge_once() -> None:
    """A plan that the planner had judged as it made it is not judged again for the test that asks: whoever imports the
    judge from now on has what it found of the very same plan and room in this process."""
    layout.judge.check.find_faults = once(layout.judge.check.find_faults)
