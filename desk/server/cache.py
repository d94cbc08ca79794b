"""Surveys and plans of the open job, each made once, however many steps ask for it: looking, keeping, printing.

A preview is made on the spot; every other plan in a process of its own (`plan_process`), so that it can be dropped.
"""
from __future__ import annotations

import dataclasses
import threading
from collections.abc import Mapping

from capture.floor import Floor
from capture.adjustment.survey import Survey
from desk.jobfile.job import Job
from desk.jobfile.laying_entries import FlooringEntry
from desk.store.photos import PhotoFacts
from desk.server.plan_process import Planning
from layout.plan import Plan

_SURVEYS_KEPT, _PLANS_KEPT = 4, 6
#: How hard a plan was searched for, least first; names of `layout.planning.planner.EFFORTS`.
EFFORTS = ("preview", "usual", "long")


class Solver:
    """What was solved and planned lately; safe to use from several threads."""

    def __init__(self, planning: Planning | None = None) -> None:
        self.planning = planning or Planning()
        self._lock = threading.Lock()
        self._surveys: list[tuple[Job, Mapping[str, PhotoFacts], Survey]] = []
        self._plans: list[tuple[Job, Floor, str, Plan]] = []

    def survey(self, job: Job, photos: Mapping[str, PhotoFacts]) -> Survey:
        """The solved floor in words; begun from the last one where that is near. Raises as `solve_job` does.

        In another unit the same floor is only worded anew.
        """
        from desk.actions.pipeline import solve_job, worded
        asked = dataclasses.replace(_asked(job), flooring=FlooringEntry())  # no reading is in there
        with self._lock:
            known = next((survey for had, seen, survey in self._surveys if had == asked and seen == photos), None)
            if known is None:
                known = solve_job(job, photos, near=self.last_survey)
                self._surveys = [(asked, photos, known), *self._surveys[: _SURVEYS_KEPT - 1]]
            return worded(known, job)

    def follow(self, job: Job, photos: Mapping[str, PhotoFacts]) -> Floor | None:
        """The floor of a job that is being changed by hand, from the last survey; without covariance. None where it
        cannot be followed."""
        from capture.solve import follow_floor
        from desk.convert import to_network
        near = self.last_survey
        points = follow_floor(to_network(job, photos), near) if near is not None else None
        return None if points is None or near is None else dataclasses.replace(near.floor, points_mm=points,
                                                                               cov_mm2=0.0 * near.floor.cov_mm2)

    @property
    def last_survey(self) -> Survey | None:
        """The survey made last, if any."""
        return self._surveys[0][2] if self._surveys else None

    def plan(self, job: Job, survey: Survey, effort: str = "usual", *, droppable: bool = False) -> Plan:
        """The best plan searched for at least so hard. Raises as `plan_job` does; Replaced if it could be dropped
        and was."""
        from desk.actions.pipeline import plan_job
        asked, enough = _asked(job), EFFORTS.index(effort)
        known = [(EFFORTS.index(had_effort), plan) for had, of, had_effort, plan in self._plans if had == asked
                 and of is survey.floor]
        best = max(known, key=lambda entry: entry[0], default=None)
        if best is not None and best[0] >= enough:
            return best[1]
        if effort == "preview":
            return plan_job(job, survey, effort=effort)
        plan = self.planning.run(_plan_apart, job, survey.floor, effort, droppable=droppable)
        self._plans = [(asked, survey.floor, effort, plan), *self._plans[: _PLANS_KEPT - 1]]
        return plan


def _asked(job: Job) -> Job:
    """A job without what neither a survey nor a plan depends on."""
    return dataclasses.replace(job, data={}, title="", show="metric", has_plan=False, rulers=None, closeups=(), day=())


def _plan_apart(job: Job, floor: Floor, effort: str) -> Plan:
    """What the other process does: a plan needs no more of a survey than its floor."""
    from desk.actions.pipeline import plan_job
    return plan_job(job, Survey(floor=floor), effort=effort)
