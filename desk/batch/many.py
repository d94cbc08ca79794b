"""Every job in a folder planned, several at once in processes of their own; one that fails, hangs or takes all memory
says so and stops no other.

A job whose process dies, or that goes over a limit, is tried once more. What has a plan is noted (`desk.batch.record`),
so the same run begun again passes over it. Who does the work is an `Engine`: this machine's processes
(`desk.batch.engine`) or a cluster's (`desk.batch.cluster`).
"""
from __future__ import annotations

import os
import queue
import time
from collections import deque
from collections.abc import Generator, Iterator
from concurrent.futures import Future
from dataclasses import dataclass, replace
from pathlib import Path

from capture.language.messages import gettext
from desk.limited_pool import Death, Limits
from desk.batch.engine import Asked, Engine, EngineLost, Here
from desk.jobfile.files import JOB_NAME
from desk.batch.outcome import Outcome
from desk.batch.parcel import Reply, name_of
from desk.problem import file_error
from desk.actions.error_report import refusal_of
from desk.store.house_store import rooms_in_floors
from desk.batch.record import Record

#: A job is begun this often at most.
TRIES = 2
#: How often a waiting run looks about, s.
_LOOK_S = 0.5
#: A process has this long beyond a job's time, s; after that the processes are taken not to answer any more.
_GRACE_S = 90.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ended:
    """A job has its outcome. done: how many have; count: how many jobs there are."""

    outcome: Outcome
    done: int
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedAgain:
    """A job died and is begun once more."""

    name: str
    death: Death


def find_jobs(folder: Path) -> tuple[Path, ...]:
    """Every folder under this one, itself included, that holds a job, by name; what lies inside a job is not searched,
    nor are rooms of a house whose floors have been made.

    Raises JobFileError if there is no such folder, or no job in it.
    """
    if not folder.is_dir():
        raise file_error("no-job", gettext(
            "There is no folder {folder}; name the folder that holds the folders of the jobs.", folder=folder))
    found = []
    for place, below, files in os.walk(folder):
        if JOB_NAME in files:
            found.append(Path(place))
            below.clear()
        laid = rooms_in_floors(Path(place))
        below[:] = sorted(name for name in below if not name.startswith(".") and name not in laid)
    if not found:
        raise file_error("no-job", gettext(
            "No folder under {folder} holds a {file}; name the folder that holds the folders of the jobs.",
            folder=folder, file=JOB_NAME))
    return tuple(sorted(found))


def plan_many(asked: Asked, *, processes: int | None = None, scheduler: str = "",
              record: Record | None = None) -> Generator[Ended | TriedAgain]:
    """Plan every job under a folder; yields what happens, as it happens.

    processes: how many jobs at once here, one a processor if None. scheduler: address of a Dask cluster that plans them
    instead. record: what need not be planned again; it is kept up to date. Raises JobFileError as `find_jobs` does and
    for a cluster that cannot be used, EngineLost if it is lost on the way.
    """
    places = find_jobs(asked.folder)
    record = record or Record()
    engine = _engine(asked, min(processes or os.cpu_count() or 1, len(places)), scheduler, record.folder)
    run = _Run(asked, places, record, engine)
    try:
        yield from run.events()
    finally:
        engine.close()


def _engine(asked: Asked, processes: int, scheduler: str, kept: Path | None) -> Engine:
    if not scheduler:
        return Here(asked, processes, kept)
    from desk.batch.cluster import Cluster
    return Cluster(asked, processes, scheduler, kept)


class _Run:
    """One run over the jobs of a folder: those that wait, those under way, those that have ended."""

    def __init__(self, asked: Asked, places: tuple[Path, ...], record: Record, engine: Engine) -> None:
        self._asked = asked
        self._record = record
        self._engine = engine
        self._waiting = deque((place, 1) for place in places)
        self._under_way: dict[Future[Reply | Death], tuple[Path, int]] = {}
        self._ended: queue.SimpleQueue[Future[Reply | Death]] = queue.SimpleQueue()
        self._count, self._done = len(places), 0

    def events(self) -> Iterator[Ended | TriedAgain]:
        while self._waiting or self._under_way:
            while self._waiting and len(self._under_way) < self._engine.room():
                self._begin(*self._waiting.popleft())
            future = self._next()
            place, tries = self._under_way.pop(future)
            name = name_of(place, self._asked.folder)
            reply = _reply(future, name)
            if isinstance(reply, Death) and tries < TRIES:
                self._waiting.append((place, tries + 1))
                yield TriedAgain(name=name, death=reply)
                continue
            self._done += 1
            yield Ended(outcome=self._outcome(reply, name, tries), done=self._done, count=self._count)

    def _begin(self, place: Path, tries: int) -> None:
        future = self._engine.submit(place, self._record.digest_of(name_of(place, self._asked.folder)))
        self._under_way[future] = (place, tries)
        future.add_done_callback(self._ended.put)

    def _next(self) -> Future[Reply | Death]:
        """The next job that ends. Looks about while it waits: Windows hears Ctrl+C between two looks only."""
        since = time.monotonic()
        while True:
            try:
                return self._ended.get(timeout=_LOOK_S)
            except queue.Empty:
                if time.monotonic() - since > self._asked.limits.seconds + _GRACE_S:
                    self._engine.revive()
                    since = time.monotonic()

    def _outcome(self, reply: Reply | Death, name: str, tries: int) -> Outcome:
        if isinstance(reply, Death):
            return Outcome(name=name, tries=tries, says=(_died(reply, self._asked.limits),))
        if reply.outcome is None:
            return self._record.outcome_of(name)
        self._record.add(reply.outcome, reply.digest)
        self._record.note = self._record.note or reply.unkept
        return replace(reply.outcome, tries=tries)


def _reply(future: Future[Reply | Death], name: str) -> Reply | Death:
    """What came of a job; an error nobody foresaw is that job's alone. Raises EngineLost."""
    error = future.exception()
    if error is None:
        return future.result()
    if isinstance(error, EngineLost) or not isinstance(error, Exception):
        raise error
    return Reply(outcome=Outcome(name=name, says=tuple(problem.says for problem in refusal_of(error)[0])), digest="")


def _died(death: Death, limits: Limits) -> str:
    """Why a job that died has no plan, and what to do."""
    tries = gettext("twice") if TRIES == 2 else gettext("{tries} times", tries=TRIES)
    match death:
        case Death.TIME:
            return gettext("It was tried {tries} and took more than {seconds:g} s; allow it more with --seconds.",
                           tries=tries, seconds=limits.seconds)
        case Death.MEMORY:
            return gettext("It was tried {tries} and wanted more than {memory:g} MB of memory; allow it more with "
                           "--memory.", tries=tries, memory=limits.memory_mb)
        case Death.ENDED:
            return gettext("It was tried {tries} and its process was ended from outside, for want of memory perhaps; "
                           "run it alone, or fewer at once with --processes.", tries=tries)
