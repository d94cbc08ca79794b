"""Tape lengths that cannot close: one longer than the way round through the others."""
from __future__ import annotations

import heapq
from collections.abc import Iterator

from capture.language.messages import gettext
from capture.network import default_tape_sd_mm
from capture.tape import format_length
from desk.jobfile.job import Job, TapeEntry
from desk.problem import Problem

#: A tape length this many times the longest other one has most likely a slipped decimal mark.
SLIPPED = 4.0


def too_long_to_close(job: Job) -> Iterator[Problem]:
    """Lengths longer than a way round between the same two points: such a floor cannot be drawn, whatever else is
    right.

    The shortest way through the other lengths is found with Dijkstra's rule; a way of k lengths may be short by four
    standard deviations of their sum. Only a note, for with readings to spare the survey tells which length is the wrong
    one.
    """
    for tape in job.tapes:
        others = [other for other in job.tapes if frozenset(other.between) != frozenset(tape.between)]
        way = _shortest_way(others, *tape.between)
        if way and tape.length_mm > way[0] + 4 * default_tape_sd_mm(tape.length_mm) * len(way[1]) ** 0.5:
            slipped = tape.length_mm > SLIPPED * max(other.length_mm
                                                     for other in others) and tape.length_mm / 10 <= way[0]
            yield Problem(slug="cannot-close", where=tape.where, severity="note", stage="survey",
                          says=_cannot_close(tape, way, job.show, slipped=slipped))


def _cannot_close(tape: TapeEntry, way: tuple[float, tuple[str, ...]], show: str, *, slipped: bool) -> str:
    """Which of them is wrong nobody can tell: a length in the way may be too short as well."""
    lengths = {"a": tape.between[0], "b": tape.between[1], "length": format_length(tape.length_mm, show=show),
               "way": "-".join(way[1]), "way_length": format_length(way[0], show=show)}
    if slipped:
        return gettext("{a}-{b} is typed as {length}, but the way {way} is only {way_length} long, so these lengths "
                       "cannot close; did you mean {meant}? If not, measure them again, this one first.",
                       meant=format_length(tape.length_mm / 10, show=show), **lengths)
    return gettext("{a}-{b} is typed as {length}, but the way {way} is only {way_length} long, so these lengths cannot "
                   "close: one of them is wrong; measure them again.", **lengths)


def _shortest_way(tapes: list[TapeEntry], start: str, end: str) -> tuple[float, tuple[str, ...]] | None:
    """(length, points passed) of the shortest way along tape lengths, or None if there is none."""
    queue: list[tuple[float, tuple[str, ...]]] = [(0.0, (start,))]
    done: set[str] = set()
    while queue:
        length, way = heapq.heappop(queue)
        if way[-1] == end:
            return length, way
        if way[-1] in done:
            continue
        done.add(way[-1])
        for tape in tapes:
            if way[-1] in tape.between:
                onward = tape.between[tape.between[0] == way[-1]]
                heapq.heappush(queue, (length + tape.length_mm, (*way, onward)))
    return None
