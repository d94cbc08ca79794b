"""Walls nobody has seen: the floor is a guess there, so its plan may be looked at, but not kept or printed as the
room's."""
from __future__ import annotations

from capture.language.messages import gettext, led
from capture.network import Network
from capture.readings.coverage import Wall, unseen_walls
from capture.words import unseen_words
from desk.jobfile.job import Job
from desk.problem import JobProblems, Problem
from desk.readings import readings_of

def way_out() -> str:
    """What answers the question about such a wall."""
    return gettext("mark both its ends in one photo, click on its floor line, tape along it, or, if you know that it "
                   "is one, write it in the job as \"straight\"")


def unseen_of(job: Job) -> tuple[Wall, ...]:
    """Walls of the outline that no reading of the job shows; none of a floor given as coordinates."""
    return () if job.floor is not None else unseen_walls(Network(outline=job.outline, straight=job.straight,
                                                                 **readings_of(job)))


def unseen_problems(job: Job, *, severity: str) -> tuple[Problem, ...]:
    """A problem for each wall that no reading shows."""
    return tuple(Problem(slug="unseen-wall", where="outline", stage="plan", severity=severity, name="-".join(wall),
                         says=f"{led(unseen_words(wall), way_out())}.") for wall in unseen_of(job))


def refuse_unseen(job: Job) -> None:
    """Raise JobProblems (unseen-wall) where a floor is a guess: for what keeps its plan or prints from it."""
    problems = unseen_problems(job, severity="stop")
    if problems:
        raise JobProblems(problems)
