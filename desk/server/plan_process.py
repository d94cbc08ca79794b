"""Plans made in a process of their own, so that a plan nobody waits for any more can be dropped at once.

A thread cannot be stopped from outside; a process can. It is kept for the next plan, loaded and warm, and begun anew
after a drop.
"""
from __future__ import annotations

import signal
import threading
from collections.abc import Callable
from multiprocessing.connection import Connection
from typing import Any

from capture.language.messages import read_by, spoken
from desk.server.worker import Replaced
from desk.spawning import spawn_context
from layout.errors import LayoutError

#: How often a waiting thread looks whether its plan is still wanted, s.
_LOOK_S = 0.03


class Planning:
    """Runs one function of plain arguments at a time in another process."""

    def __init__(self) -> None:
        self._spawn = spawn_context()
        self._lock = threading.Lock()
        self._dropped = threading.Event()
        self._droppable = False
        self._process: Any = None
        self._pipe: Connection | None = None

    def warm_up(self) -> None:
        """Have the process ready before it is wanted."""
        with self._lock:
            self._ready()

    def run(self, work: Callable[..., Any], *arguments: Any, droppable: bool = True) -> Any:
        """What `work(*arguments)` returns; `work` must be a function of a module. What it says is in the language of
        who asked.

        droppable: `drop` ends it; `close` always does. Raises the LayoutError it raised, RuntimeError for anything else
        that went wrong, Replaced if it was dropped.
        """
        with self._lock:
            self._dropped.clear()
            self._droppable = droppable
            pipe = self._ready()
            try:
                pipe.send((spoken(), work, arguments))
                while not pipe.poll(_LOOK_S):
                    if self._dropped.is_set():
                        self._end()
                        raise Replaced("dropped")
                how, result = pipe.recv()
            except (EOFError, OSError) as error:
                self._end()
                raise RuntimeError("the process that plans ended by itself") from error
        if how == "refused":
            slug, message, where = result
            raise LayoutError(slug, message, where=where)
        if how == "fault":
            raise RuntimeError(result)
        return result

    def drop(self) -> None:
        """End the work that is being done, if there is any; whoever waits for it is told that it was replaced."""
        if self._droppable:
            self._dropped.set()

    def close(self) -> None:
        """Drop the work, whatever it is, and end the process."""
        self._dropped.set()
        with self._lock:
            self._end()

    def _ready(self) -> Connection:
        if self._pipe is None or not self._process.is_alive():
            self._end()
            self._pipe, theirs = self._spawn.Pipe()
            self._process = self._spawn.Process(target=_serve, args=(theirs,), daemon=True, name="desk-planning")
            self._process.start()
            theirs.close()
        return self._pipe

    def _end(self) -> None:
        if self._pipe is not None:
            self._pipe.close()
            self._process.kill()
            self._process.join()
            self._process.close()
        self._pipe = self._process = None


def _serve(pipe: Connection) -> None:
    """The process's life: functions in, results out, until the desk is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl+C in the terminal is the desk's to answer
    import layout.planning.planner  # noqa: F401  loaded before it is wanted
    import scipy.optimize  # noqa: F401
    while True:
        try:
            reader, work, arguments = pipe.recv()
        except (EOFError, OSError):
            return  # the desk is gone
        with read_by(reader):
            pipe.send(_done(work, arguments))


def _done(work: Callable[..., Any], arguments: tuple[Any, ...]) -> tuple[str, Any]:
    """How the work ended, in plain data: an error of ours does not survive the way between processes as it is."""
    try:
        return "done", work(*arguments)
    except LayoutError as error:
        return "refused", (error.slug, error.message, error.where)
    except Exception as error:  # whatever it is, the one who asked is told
        return "fault", f"{type(error).__name__}: {error}"
