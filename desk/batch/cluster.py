"""Many jobs planned on a Dask cluster: the same work under the same limits as on one machine, by whatever machines the
scheduler has.

Each job is read here, in processes of this machine, and sent as values (`desk.batch.parcel`): the cluster needs no
shared folder, and no picture leaves this machine. A worker of the cluster hands the job on to a process of its own
(`desk.limited_pool`), so a job dies there as alone as here. A worker that is lost as a whole is the scheduler's to
answer: it gives its jobs to another.

A scheduler and its workers run what they are sent, and what they send back is loaded here: use a cluster you trust, in
a network of your own.
"""
from __future__ import annotations

import itertools
import multiprocessing
import threading
import uuid
from concurrent.futures import Future
from pathlib import Path
from typing import Any

from capture.language.messages import gettext, read_by
from desk.limited_pool import LimitedPool, Death, Limits
from desk.batch.engine import Asked, EngineLost
from desk.batch.outcome import Outcome
from desk.batch.parcel import Parcel, Reply, read_parcel, tool_digest
from desk.batch.record import keep_done
from desk.problem import file_error

#: A scheduler that has not answered by then is taken not to be there, s.
_CONNECT_S = 6.0
#: Processes kept ready on a worker for the next job are let go after this long without one, s.
_IDLE_S = 60.0
#: Jobs at a time here for each that the cluster plans at once: the others are being read, or wait at the scheduler.
_AHEAD = 3


class Cluster:
    """The engine that hands jobs to a cluster."""

    def __init__(self, asked: Asked, processes: int, address: str, kept: Path | None) -> None:
        """kept: where what was planned is noted, here. Raises JobFileError if Dask is not installed here, the scheduler
        does not answer, or its workers are none or of another version.
        """
        self._asked, self._kept = asked, kept
        self._client = _connected(address)
        self._address = address
        self._numbers = itertools.count()
        self._run = uuid.uuid4().hex
        try:
            self._threads = _threads_of(self._client, address)
        except BaseException:
            self._client.close(timeout=1)
            raise
        self._reading = LimitedPool(processes, asked.limits)

    def room(self) -> int:
        if self._client.status == "running":
            workers = self._client.scheduler_info(n_workers=-1)["workers"].values()
            self._threads = sum(worker["nthreads"] for worker in workers) or self._threads
        return _AHEAD * self._threads

    def submit(self, place: Path, known: str) -> Future[Reply | Death]:
        told: Future[Reply | Death] = Future()
        read = self._reading.submit(read_parcel, place, self._asked.folder, self._asked.effort, known)
        read.add_done_callback(lambda done: self._send(done, told))
        return told

    def revive(self) -> None:
        self._reading.renew()
        if self._client.status != "running" or not self._client.scheduler_info(n_workers=-1)["workers"]:
            raise EngineLost(gettext("The cluster at {address} has no workers any more.", address=self._address))

    def close(self) -> None:
        self._reading.close()
        self._client.close(timeout=2)

    def _send(self, read: Future[Any], told: Future[Reply | Death]) -> None:
        """A job that was read goes on to the cluster."""
        try:
            parcel = read.result()
            if not isinstance(parcel, Parcel):
                told.set_result(parcel)
                return
            # A name of its own: work of the same name is done once and shared, and a job that died must be done again.
            sent = self._client.submit(plan_there, parcel, self._asked, tool_digest(),
                                       key=f"tapegroove-{self._run}-{next(self._numbers)}", pure=False)
            sent.add_done_callback(lambda done: self._answer(done, parcel, told))
        except Exception as error:
            told.set_exception(error if read.done() and read.exception() else self._lost())

    def _answer(self, sent: Any, parcel: Parcel, told: Future[Reply | Death]) -> None:
        """What the cluster made of a job."""
        from distributed import KilledWorker
        try:
            result = sent.result(timeout=_CONNECT_S)
            told.set_result(result if isinstance(result, Death) else Reply(
                outcome=result, digest=parcel.digest, unkept=keep_done(self._kept, result, parcel.digest)))
        except KilledWorker:
            told.set_result(Death.ENDED)
        except Exception as error:
            told.set_exception(error if sent.status == "error" else self._lost())

    def _lost(self) -> EngineLost:
        return EngineLost(gettext("The scheduler at {address} cannot be reached any more.", address=self._address))


def _connected(address: str) -> Any:
    """A client of the scheduler there, or a sentence within seconds."""
    try:
        import dask
        # What goes wrong is said by this program, in sentences; the library logs it as well.
        dask.config.set({"logging": {"distributed": "critical", "distributed.client": "critical"}})
        from distributed import Client
    except ImportError as error:
        raise file_error("no-cluster", gettext(
            'Planning on a cluster needs a library that is not installed: pip install "tapegroove[cluster]".'
        )) from error
    found: Future[Any] = Future()

    def connect() -> None:
        try:
            found.set_result(Client(address, timeout=_CONNECT_S / 2, set_as_default=False))
        except BaseException as error:
            found.set_exception(error)

    # The library waits for ever for an answer from a port where something else listens; a thread of that kind can be
    # left behind.
    threading.Thread(target=connect, daemon=True).start()
    try:
        return found.result(timeout=_CONNECT_S)
    except ValueError as error:
        raise file_error("no-scheduler", gettext(
            "{address!r} is no address of a scheduler ({error}); write it like 192.168.1.5:8786.",
            address=address, error=error)) from error
    except (OSError, RuntimeError) as error:  # a time that has passed is an OSError too
        raise file_error("no-scheduler", gettext(
            "No scheduler answers at {address}; start one there with: dask scheduler, or correct the address.",
            address=address)) from error


def _threads_of(client: Any, address: str) -> int:
    """How many jobs the cluster can plan at once. Raises JobFileError if none, or not as this machine would."""
    workers = client.scheduler_info(n_workers=-1)["workers"]
    if not workers:
        raise file_error("no-workers", gettext(
            "The scheduler at {address} has no workers; start some with: dask worker {address}.", address=address))
    versions = client.run(version_there, on_error="return")
    for worker, found in versions.items():
        if found != tool_digest():  # an error, where there is none at all
            raise file_error("other-version",
                             gettext(
                                 "The cluster's worker {worker} lacks this version of tapegroove; install there what "
                                 "is installed here, or plans would differ.", worker=worker))
    return sum(worker["nthreads"] for worker in workers.values())


def version_there() -> str:
    """Runs on a worker: which version it has."""
    return tool_digest()


def plan_there(parcel: Parcel, asked: Asked, version: str) -> Outcome | Death:
    """Runs on a worker: the job planned in a process of its own, under its limits."""
    if version != tool_digest():
        with read_by(parcel.reader):
            return Outcome(name=parcel.name, says=(gettext(
                "A worker of the cluster lacks this version of tapegroove."),))
    with _lent_lock:
        lent = _lent.get(asked.limits)
        if lent is None:
            lent = _lent[asked.limits] = _Lent(asked.limits)
        lent.take()
    try:
        with read_by(parcel.reader):
            result: Outcome | Death = lent.pool.submit(asked.planner, parcel, asked.effort).result()
        return result
    finally:
        with _lent_lock:
            lent.give_back()


class _Lent:
    """Processes of one worker for jobs of the same limits: as many as it has threads, let go when nobody has used them
    for a while.
    """

    def __init__(self, limits: Limits) -> None:
        from distributed import get_worker
        _allow_children()
        self.limits = limits
        self.pool = LimitedPool(get_worker().state.nthreads, limits)
        self._users = 0
        self._timer: threading.Timer | None = None

    def take(self) -> None:
        self._users += 1
        if self._timer is not None:
            self._timer.cancel()

    def give_back(self) -> None:
        self._users -= 1
        if self._users == 0:
            self._timer = threading.Timer(_IDLE_S, self._let_go)
            self._timer.daemon = True
            self._timer.start()

    def _let_go(self) -> None:
        with _lent_lock:
            if self._users:
                return
            _lent.pop(self.limits, None)
        self.pool.close()


_lent: dict[Limits, _Lent] = {}
_lent_lock = threading.Lock()


def _allow_children() -> None:
    """A worker with a nanny is what multiprocessing calls a daemon, and may have no processes of its own lest they
    outlive it. Ours end with it by themselves; Dask's setting `distributed.worker.daemon: false` would do the same, but
    has to be made where the worker is started.
    """
    multiprocessing.current_process()._config.pop("daemon", None)  # type: ignore[attr-defined]
