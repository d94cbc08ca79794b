"""Processes of a desk that go on to the next desk of a test run: each is loaded and warm as the desk keeps it for its
own next plan or picture, and loading takes longer than most of what it is asked here.

A process that is still at work when its desk closes ends with it, as ever. One that plans has a plan it was asked
before.
"""
from __future__ import annotations

import atexit
import pickle
from collections.abc import Callable
from typing import Any

from capture.language.messages import ENGLISH
from desk.limited_pool import LimitedPool, Limits
from desk.server.decoding import Decoding
from desk.server.plan_process import Planning
from tests.support.solved import plan_once

_planning: list[tuple[Any, Any]] = []
_pools: dict[tuple[int, Limits], list[Any]] = {}


class KeptPlanning(Planning):
    """As `Planning`."""

    def close(self) -> None:
        self._dropped.set()
        with self._lock:
            if self._pipe is not None and self._process.is_alive():
                _planning.append((self._process, self._pipe))
                self._process = self._pipe = None
            self._end()

    def _ready(self) -> Any:
        if self._pipe is None and _planning:
            self._process, self._pipe = _planning.pop()
        before, pipe = self._pipe, super()._ready()
        if pipe is not before:
            pipe.send((ENGLISH, plan_once, ()))
            pipe.recv()
        return pipe


class KeptPool(LimitedPool):
    """As `LimitedPool`."""

    def __init__(self, processes: int, limits: Limits) -> None:
        super().__init__(processes, limits)
        self._kept = _pools.setdefault((processes, limits), [])
        self._pool = self._kept.pop() if self._kept else None

    def close(self) -> None:
        with self._lock:
            if self._pool is not None and self._pool.active and not self._open:
                self._kept.append(self._pool)
                self._pool = None
        super().close()


def _once(name: str) -> Callable[..., Any]:
    """A method of `Decoding` that asks for a picture by its file: the same of the same bytes is found out once."""
    really, known = getattr(Decoding, name), dict[Any, Any]()

    def told(self: Decoding, picture: Any, *more: Any, **named: Any) -> Any:
        path = self._folder / getattr(picture, "file", picture)
        asked = (path.read_bytes() if path.is_file() else str(path),
                 pickle.dumps((picture, more, sorted(named.items()))))
        if asked not in known:
            known[asked] = really(self, picture, *more, **named)
        return known[asked]
    return told


_looked_once = _once("look")
_shown_once = {name: _once(name) for name in ("facts", "preview", "marked")}


def keep_processes(monkeypatch: Any) -> None:
    """Desks opened from now on, in this process, take and leave such processes, and look for corners in a picture once.
    """
    monkeypatch.setattr(Decoding, "look", _looked_once)
    monkeypatch.setattr("desk.server.cache.Planning", KeptPlanning)
    monkeypatch.setattr("desk.server.decoding.LimitedPool", KeptPool)


def show_once(monkeypatch: Any) -> None:
    """A picture is also decoded once for each thing the page wants of it: for tests of the page, which open the same
    few."""
    for name, told in _shown_once.items():
        monkeypatch.setattr(Decoding, name, told)


@atexit.register
def _end() -> None:
    """End those that nobody has."""
    for process, pipe in _planning:
        pipe.close()
        process.kill()
        process.join()
    for pool in (each for kept in _pools.values() for each in kept):
        pool.stop()
        pool.join()
    _planning.clear()
    _pools.clear()
