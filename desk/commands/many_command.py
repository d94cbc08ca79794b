"""One run of `tapegroove many`: jobs planned here or on a cluster, told of as they end, summed up, also when somebody
stops it half way."""
from __future__ import annotations

import contextlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from capture.language.messages import gettext
from desk.limited_pool import MEMORY_IS_LIMITED
from desk.batch.engine import Asked, EngineLost
from desk.batch.many import Ended, find_jobs, plan_many
from desk.batch.outcome import Outcome, many_csv
from desk.batch.parcel import name_of
from desk.batch.record import open_record, record_folder
from desk.jobfile.save import write_whole
from desk.text.say_many import say_stopped, say_progress


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """outcomes: by name. left: jobs not come to. interrupted: by Ctrl+C."""

    outcomes: tuple[Outcome, ...]
    left: int
    interrupted: bool


def run_many(asked: Asked, *, processes: int | None, scheduler: str, afresh: bool, output: Path | None,
             tell: Callable[[str], None], memory_matters: bool = False) -> Ran:
    """Plan every job of a folder, telling each line of progress; write the table, if one is wanted, of all that ended.

    memory_matters: somebody has set its limit. Raises JobFileError as `plan_many` does, and if the table cannot be
    written.
    """
    if memory_matters and not MEMORY_IS_LIMITED and not scheduler:
        tell(gettext("This system cannot limit the memory of a process; --memory has no effect here."))
    places = find_jobs(asked.folder)
    record = open_record(record_folder(asked.folder), [name_of(place, asked.folder) for place in places], afresh=afresh)
    if record.note:
        tell(record.note)
        record.note = ""
    outcomes: list[Outcome] = []
    interrupted, lost = False, ""
    try:
        with contextlib.closing(plan_many(asked, processes=processes, scheduler=scheduler, record=record)) as events:
            for event in events:
                if isinstance(event, Ended):
                    outcomes.append(event.outcome)
                tell(say_progress(event))
    except KeyboardInterrupt:
        interrupted = True
    except EngineLost as error:
        lost = str(error)
    if record.note:
        tell(record.note)
    outcomes.sort(key=lambda outcome: outcome.name)
    left = len(places) - len(outcomes)
    if output:
        write_whole(output, many_csv(outcomes))
    if interrupted or lost:
        tell(say_stopped(lost, len(outcomes), len(places)))
    return Ran(outcomes=tuple(outcomes), left=left, interrupted=interrupted)
