"""Work done in processes of their own, each piece under a limit of time and memory: what goes wrong in one ends that
one alone.

The processes are Pebble's. Tried beside it: loky, whose processes end all together when one dies (40 tasks, one killed:
Pebble lost that one, loky 31), and which has no limit of time for one task. The standard library's pool shares both
faults. Pebble's own weak moment, a process killed while it holds the pipe that all share, is mended here by beginning a
new pool.

Limits of memory are the system's own (`resource.setrlimit`), of address space. Windows has none, and macOS does not
keep to it: there a task may take what it wants, and `MEMORY_IS_LIMITED` says so.
"""
from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import sys
import threading
import warnings
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from enum import Enum
from multiprocessing import resource_tracker
from typing import Any

from pebble import ProcessExpired, ProcessPool

from capture.language.messages import Language, read_by, spoken
from desk.spawning import spawn_context

#: Whether a limit of memory is kept to on this system.
MEMORY_IS_LIMITED = sys.platform not in ("win32", "darwin")
#: Exit status of a process that was refused memory; it is not used again.
_OUT_OF_MEMORY = 99


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What one task may take. seconds: by the clock, from its beginning. memory_mb: address space of its process,
    millions of bytes.
    """

    seconds: float = 600.0
    memory_mb: float = 4000.0


class Death(Enum):
    """How a task ended that has no answer: over a limit, or with its process."""

    TIME = "time"
    MEMORY = "memory"
    ENDED = "ended"


class LimitedPool:
    """Runs functions of modules in a few processes, loaded and warm. They end with this one, however it ends."""

    def __init__(self, processes: int, limits: Limits) -> None:
        self._processes = processes
        self._limits = limits
        self._spawn = spawn_context()
        self._pool: ProcessPool | None = None
        self._lock = threading.Lock()
        self._open: set[Future[Any]] = set()

    def submit(self, work: Callable[..., Any], *arguments: Any) -> Future[Any]:
        """Have `work(*arguments)` done. The future holds what it returns or raises, or the Death it died. What it
        says is in the language of who asked."""
        told: Future[Any] = Future()
        with _uninterrupted():
            pool, task = self._scheduled(work, arguments)
        with self._lock:
            if self._pool is not pool:
                told.set_result(Death.ENDED)
                return told
            self._open.add(told)
        task.add_done_callback(lambda done: self._tell(told, done))
        return told

    def _scheduled(self, work: Callable[..., Any], arguments: tuple[Any, ...]) -> tuple[ProcessPool, Future[Any]]:
        """The pool that took the task, and its future; a pool that breaks in that moment is replaced."""
        for attempt in (1, 2, 3):
            pool = self._pool
            try:
                if pool is not None and pool.active:
                    task = (spoken(), work, *arguments)
                    return pool, pool.schedule(_with_care, args=task, timeout=self._limits.seconds)
            except RuntimeError:
                if attempt == 3:
                    raise
            self._replace(pool, self._new())
        raise BrokenProcessPool("no process can be begun")

    def renew(self) -> None:
        """Go on with new processes, for a pool that does not answer any more; what the old ones had begun has died."""
        self._replace(self._pool, self._new())

    def close(self) -> None:
        """End every process, and what it does."""
        self._replace(self._pool, None)

    def _new(self) -> ProcessPool:
        return ProcessPool(self._processes, initializer=_begin, initargs=(self._limits.memory_mb,),
                           context=self._spawn)

    def _replace(self, old: ProcessPool | None, new: ProcessPool | None) -> None:
        """Put another pool in the place of one; if somebody did so before, all is well."""
        with self._lock:
            if self._pool is not old:
                return
            self._pool = new
            left, self._open = self._open, set()
        if old is not None:
            # Without the lock: its threads may be on their way into `_tell`.
            old.stop()
            old.join()
        for told in left:
            told.set_result(Death.ENDED)

    def _tell(self, told: Future[Any], task: Future[Any]) -> None:
        with self._lock:
            if told not in self._open:
                return  # told already that it died with its pool
            self._open.remove(told)
        error = None if task.cancelled() else task.exception()
        if error is None:
            told.set_result(Death.ENDED if task.cancelled() else task.result())
        elif (death := _death_of(error)) is not None:
            told.set_result(death)
        else:
            told.set_exception(error)


def _death_of(error: BaseException) -> Death | None:
    """Which death of a task an error means; None for an error of the task itself."""
    match error:
        case TimeoutError():
            return Death.TIME
        case ProcessExpired(exitcode=code):
            return Death.MEMORY if code == _OUT_OF_MEMORY else Death.ENDED
        case BrokenProcessPool():
            return Death.ENDED
    return None


@contextlib.contextmanager
def _uninterrupted() -> Iterator[None]:
    """Ctrl+C is this process's to answer. What is begun within, threads and processes, never hears it, not even while a
    process loads.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    # Multiprocessing's own helper lets the signal through again when it begins; so it begins first.
    resource_tracker.ensure_running()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _begin(memory_mb: float) -> None:
    """The first thing a process does."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    if not sys.warnoptions:
        warnings.simplefilter("ignore")
    threading.Thread(target=_end_with_parent, daemon=True).start()
    if MEMORY_IS_LIMITED:
        import resource
        _, most = resource.getrlimit(resource.RLIMIT_AS)
        asked = int(memory_mb * 1e6)
        resource.setrlimit(resource.RLIMIT_AS, (asked if most == resource.RLIM_INFINITY else min(asked, most), most))


def _end_with_parent() -> None:
    """Without this a process whose parent was killed would finish its task first, and one that hangs would stay for
    ever.
    """
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _with_care(reader: Language, work: Callable[..., Any], *arguments: Any) -> Any:
    """Runs in the process: what it returns, unless memory is refused. A process that was refused some is not trusted
    with more work.
    """
    try:
        with read_by(reader):
            return work(*arguments)
    except MemoryError:
        os._exit(_OUT_OF_MEMORY)
