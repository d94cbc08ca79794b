"""One thread for the long work, so that the page never waits on a solve and two solves never race.

A newer request of the same kind replaces an older one that has not begun. Finished work is kept for a short list of
recent tasks; asking for one waits a moment, so that quick work is answered in one request.
"""
from __future__ import annotations

import itertools
import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from concurrent.futures import TimeoutError as StillRunning

_KEPT = 16


class Replaced(Exception):
    """A newer request of the same kind took this one's place, or it is too old to be remembered."""


class Worker:
    """Runs functions one after the other in a single thread."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="desk-work")
        self._lock = threading.Lock()
        self._numbers = itertools.count(1)
        self._tasks: OrderedDict[str, Future[object]] = OrderedDict()
        self._latest: dict[str, str] = {}

    def start(self, kind: str, work: Callable[[], object]) -> str:
        """Queue `work`; returns the task's id. Waiting work of the same kind is dropped."""
        with self._lock:
            waiting = self._tasks.get(self._latest.get(kind, ""))
            if waiting is not None:
                waiting.cancel()
            task = f"{kind}-{next(self._numbers)}"
            self._tasks[task] = self._pool.submit(work)
            self._latest[kind] = task
            while len(self._tasks) > _KEPT:
                self._tasks.popitem(last=False)
        return task

    def find_result(self, task: str, *, wait_s: float) -> tuple[bool, object]:
        """(done, result) after waiting at most `wait_s` seconds; raises what the work raised, or Replaced."""
        with self._lock:
            future = self._tasks.get(task)
        if future is None:
            raise Replaced(task)
        try:
            return True, future.result(timeout=wait_s)
        except StillRunning:
            return False, None
        except CancelledError:
            raise Replaced(task) from None

    def close(self) -> None:
        """Drop waiting work and let the running one end."""
        self._pool.shutdown(wait=False, cancel_futures=True)
