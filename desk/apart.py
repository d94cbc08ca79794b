"""Functions run in other processes within limits of time and memory, so that bytes from outside can neither stop nor fill this one.

The processes, their time limit and what happens when one dies are pebble's. An error of ours that was raised over there is raised again
here. Memory is bounded where the system can do that: on Linux by RLIMIT_DATA, which counts private writable mappings too (getrlimit(2),
since Linux 4.7). macOS and Windows have no such limit for a process that sets it for itself; there the work's own limits must do.
"""
from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable
from concurrent.futures import CancelledError
from concurrent.futures import TimeoutError as TookTooLong
from pathlib import Path
from typing import Any

from pebble import ProcessExpired, ProcessPool

from capture.errors import CaptureError
from desk.problem import JobFileError
from desk.worker import Replaced


class TooHeavy(Exception):
    """The work took more time or memory than it was given, or brought its process down."""


class Apart:
    """A few processes, begun with the first work; safe to use from several threads."""

    def __init__(self, *, processes: int, most_bytes: int, longest_s: float) -> None:
        """most_bytes: what one of them may use beyond what it begins with; longest_s: how long one piece of work may take."""
        self._processes, self._most_bytes, self._longest_s = processes, most_bytes, longest_s
        self._lock = threading.Lock()
        self._pool: ProcessPool | None = None
        self._closed = False
        self._waiting: set[Any] = set()

    def warm_up(self) -> None:
        """Have the processes ready before they are wanted."""
        self.run(_nothing)

    def run(self, work: Callable[..., Any], *arguments: Any) -> Any:
        """What `work(*arguments)` returns; `work` must be a function of a module, or a partial of one.

        Raises the CaptureError or JobFileError it raised, TooHeavy, Replaced if this is closed, RuntimeError for anything else.
        """
        future = self._begun(work, arguments)
        try:
            how, result = future.result()
        except CancelledError:
            raise Replaced("closed") from None
        except (TookTooLong, ProcessExpired) as error:
            raise TooHeavy(str(error)) from error
        finally:
            with self._lock:
                self._waiting.discard(future)
        match how:
            case "done":
                return result
            case "refused":
                slug, says, where = result
                raise CaptureError(slug, says, where=where)
            case "file":
                raise JobFileError(result)
            case "heavy":
                raise TooHeavy(result)
        raise RuntimeError(result)

    def close(self) -> None:
        """Drop all work and end the processes; nothing can be run any more."""
        with self._lock:
            self._closed = True
            pool, self._pool = self._pool, None
            for future in self._waiting:
                future.cancel()
        if pool is not None:
            pool.stop()
            pool.join()

    def _begun(self, work: Callable[..., Any], arguments: tuple[Any, ...]) -> Any:
        with self._lock:
            if self._closed:
                raise Replaced("closed")
            if self._pool is None or not self._pool.active:  # at first, or all of them were ended from outside
                self._pool = ProcessPool(max_workers=self._processes, initializer=_prepared, initargs=(self._most_bytes,),
                                         context=multiprocessing.get_context("spawn"))  # a forked one would inherit locks of other threads
            future = self._pool.schedule(_done, args=(work, arguments), timeout=self._longest_s)
            self._waiting.add(future)
        return future


def _nothing() -> None:
    return


def _prepared(most_bytes: int) -> None:
    """A new process: the page comes first, Ctrl+C in the terminal is the desk's to answer, and memory has an end."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    import capture.photo  # noqa: F401  loaded before it is wanted
    if sys.platform != "win32":
        os.nice(5)
    if sys.platform == "linux":
        import resource
        pages = int(Path("/proc/self/statm").read_text().split()[5])  # data and stack (proc(5))
        most = pages * resource.getpagesize() + most_bytes
        resource.setrlimit(resource.RLIMIT_DATA, (most, most))


def _done(work: Callable[..., Any], arguments: tuple[Any, ...]) -> tuple[str, Any]:
    """How the work ended, in plain data: an error of ours does not survive the way between processes as it is."""
    try:
        return "done", work(*arguments)
    except CaptureError as error:
        return "refused", (error.slug, str(error), error.where)
    except JobFileError as error:
        return "file", error.problems
    except MemoryError:
        return "heavy", "out of memory"
    except Exception as error:  # whatever it is, the one who asked is told
        return "fault", f"{type(error).__name__}: {error}"
