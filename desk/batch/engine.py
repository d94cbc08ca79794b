"""Who plans many jobs: what is asked of them, and this machine's processes as the usual answer."""
from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

from desk.limited_pool import LimitedPool, Death, Limits
from desk.batch.outcome import Outcome
from desk.batch.parcel import Parcel, Reply, plan_parcel, read_parcel
from desk.batch.record import keep_done

#: Plans a job from its values alone; a function of a module, so that another process can find it.
Planner = Callable[[Parcel, str], Outcome]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """How the jobs of a folder are to be planned. effort: as `plan_job`'s. planner: what plans one."""

    folder: Path
    effort: str = "usual"
    limits: Limits = field(default_factory=Limits)
    planner: Planner = plan_parcel


class EngineLost(Exception):
    """Those who do the work cannot be reached any more; what has ended stays valid."""


class Engine(Protocol):
    """Plans jobs somewhere; `submit` says through its future what came of one, and EngineLost if nothing can come any
    more.
    """

    def room(self) -> int:
        """How many jobs may be under way at once."""

    def submit(self, place: Path, known: str) -> Future[Reply | Death]:
        """Begin a job, given the digest it was last planned with ("" if never)."""

    def revive(self) -> None:
        """Begin anew where jobs under way should long have ended."""

    def close(self) -> None:
        """Give up what is under way."""


class Here:
    """This machine's processes."""

    def __init__(self, asked: Asked, processes: int, kept: Path | None) -> None:
        """kept: where each of them notes what it has planned."""
        self._asked, self._kept = asked, kept
        self._processes = processes
        self._pool = LimitedPool(processes, asked.limits)

    def room(self) -> int:
        # One job waits at the side of each that is planned, so that no process waits for this one.
        return 2 * self._processes

    def submit(self, place: Path, known: str) -> Future[Reply | Death]:
        return self._pool.submit(_read_and_plan, place, known, self._asked, self._kept)

    def revive(self) -> None:
        self._pool.renew()

    def close(self) -> None:
        self._pool.close()


def _read_and_plan(place: Path, known: str, asked: Asked, kept: Path | None) -> Reply:
    """The whole of one job, in a process of its own."""
    parcel = read_parcel(place, asked.folder, asked.effort, known)
    if isinstance(parcel, Reply):
        return parcel
    outcome = asked.planner(parcel, asked.effort)
    return Reply(outcome=outcome, digest=parcel.digest, unkept=keep_done(kept, outcome, parcel.digest))
