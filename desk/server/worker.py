"""One thread for the long work, so that the page never waits on a solve and two solves never race.

A newer request of the same kind replaces an older one: at once if that has not begun, and at its next step if it is a
solve under way. Finished work is kept for a short list of recent tasks; asking for one waits a moment, so that quick
work is answered in one request.
"""
from __future__ import annotations

import contextvars
import itertools
import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from concurrent.futures import TimeoutError as StillRunning

from capture.progress import Doing, heard_by

_KEPT = 16
#: The page is on the screen by then, mostly.
_PAGE_LOADS_S = 1.5


def once_page_is_shown(begin: Callable[[], None]) -> threading.Timer:
    """Begin something while the person still looks at the page, and not while the page itself loads; to be cancelled
    where that is not wanted any more."""
    timer = threading.Timer(_PAGE_LOADS_S, begin)
    timer.daemon = True
    timer.start()
    return timer


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
        self._doing: tuple[str, Doing | None] = ("", None)

    def start(self, kind: str, work: Callable[[], object], *, droppable: bool = True) -> str:
        """Queue `work`; returns the task's id. Waiting work of the same kind is dropped, and a solve under way in it;
        not one that was started with `droppable` False. What it says is in the language of who asked."""
        with self._lock:
            waiting = self._tasks.get(self._latest.get(kind, ""))
            if waiting is not None:
                waiting.cancel()
            task = f"{kind}-{next(self._numbers)}"
            self._latest[kind] = task
            self._tasks[task] = self._pool.submit(contextvars.copy_context().run, self._heard, kind, task, work,
                                                 droppable)
            while len(self._tasks) > _KEPT:
                self._tasks.popitem(last=False)
        return task

    def _heard(self, kind: str, task: str, work: Callable[[], object], droppable: bool) -> object:
        def hear(doing: Doing | None) -> None:
            if droppable and self._latest[kind] != task:
                raise Replaced(task)
            if doing is not None:
                self._doing = (task, doing)
        with heard_by(hear):
            return work()

    def doing(self, task: str) -> Doing | None:
        """What a solve under way in a task does beyond its first fit; None if it does no more, or is not under way."""
        at, doing = self._doing
        return doing if at == task else None

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
