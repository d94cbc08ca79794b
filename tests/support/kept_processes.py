"""Processes of a desk that go on to the next desk of a test run: each is loaded and warm as the desk keeps it for its
own next plan or picture, and loading takes longer than most of what it is asked here.

A process that is still at work when its desk closes ends with it, as ever. One that plans has a plan it was asked
before.
"""
from __future__ import annotations

import atexit
from typing import Any

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
            pipe.send((plan_once, ()))
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


_really_look, _looked = Decoding.look, dict[Any, Any]()


def _look_once(self: Decoding, file: str, focal_px: float | None, k1: float) -> Any:
    path = self._folder / file
    asked = (path.read_bytes() if path.is_file() else str(path), file, focal_px, k1)
    if asked not in _looked:
        _looked[asked] = _really_look(self, file, focal_px, k1)
    return _looked[asked]


def keep_processes(monkeypatch: Any) -> None:
    """Desks opened from now on, in this process, take and leave such processes, and look for corners in a picture once.
    """
    monkeypatch.setattr("desk.server.decoding.Decoding.look", _look_once)
    monkeypatch.setattr("desk.server.cache.Planning", KeptPlanning)
    monkeypatch.setattr("desk.server.decoding.LimitedPool", KeptPool)


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
