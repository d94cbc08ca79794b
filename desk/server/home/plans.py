"""A flat's plans on its page: searched for in another process, kept in the floors' jobs, printed."""
from __future__ import annotations

import datetime
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from desk.problem import JobProblems
from desk.server.packs import Packs
from desk.server.plan_process import Planning

if TYPE_CHECKING:
    from desk.actions.flat.state import FlatJob, FlatState
    from desk.jobfile.job import Job

#: How hard the floors of a flat are searched for, least first.
EFFORTS = ("preview", "usual")
_KEPT = 4


class Plans:
    """What was planned of a flat lately; `planning` does it, `packs` holds what is printed."""

    def __init__(self, planning: Planning, packs: Packs) -> None:
        self._planning, self._packs = planning, packs
        self._known: list[tuple[object, FlatJob]] = []

    def buy(self, state: FlatState, effort: str) -> dict[str, Any]:
        """What the flat takes together: by the plans its floors keep, else planned; "kept" tells which."""
        from desk.actions.flat.keeping import kept_flat
        from desk.actions.flat.planning import house_answer
        kept = kept_flat(state)
        answer = house_answer(kept if kept.flat is not None else self._planned(state, effort), "")
        return {"together": _with_amounts(answer["together"]), "problems": answer["problems"],
                "kept": kept.flat is not None,
                "floors": [{key: value for key, value in floor.items() if key != "plan"}
                           for floor in answer["floors"]]}

    def keep(self, state: FlatState) -> dict[str, Any]:
        """Keep every floor's plan in its job. Raises JobProblems where none can be kept, JobFileError."""
        from desk.actions.flat.keeping import keep_flat, refuse_keeping
        from desk.actions.flat.planning import settled
        refuse_keeping(state)
        staying = settled(state)
        job = self._planned(state, "usual", staying)
        if job.flat is None and not staying:
            raise JobProblems(job.troubles)
        keep_flat(job, on=datetime.date.today())
        return {"kept": True}

    def pack(self, state: FlatState, *, each: bool) -> dict[str, Any]:
        """The flat's booklet, or one a room, ready to fetch; by the plans that are kept, else planned. Raises
        JobProblems."""
        from desk.actions.flat.keeping import kept_flat
        from desk.actions.flat.printing import flat_pack
        from desk.actions.pack import usual_paper, with_own_printer
        from desk.checks.unseen import refuse_unseen
        from desk.store.settings import read_settings
        from printpack.outputs.flat_pack import make_flat_pack
        from printpack.paper import paper_named
        for room in state.joined.rooms:
            refuse_unseen(state.joined.own_jobs[room])
        kept, (settings, _) = kept_flat(state), read_settings()
        job = kept if kept.flat is not None else self._planned(state, "usual")
        if job.flat is None:
            raise JobProblems(job.troubles)

        def tuned(floor: Job) -> Job:
            return with_own_printer(floor, settings)
        sheet = paper_named(usual_paper(state.jobs.floors[0].job, settings))
        files = make_flat_pack(flat_pack(job, job.flat, datetime.date.today(), tuned), sheet, each=each)
        return {"zip": f"{self._packs.hold(files)}/pack.zip", "files": sorted(files)}

    def _planned(self, state: FlatState, effort: str, staying: frozenset[str] = frozenset()) -> FlatJob:
        """The flat planned at least so hard, but for floors that are being laid or keep the plans they have."""
        from desk.actions.kept_plan import is_begun
        from desk.jobfile.files import with_keys
        asked = ({name: with_keys(job, title="").text for name, job in state.joined.jobs.items()},  # no plan knows it
                 state.joined.openings, staying,
                 {floor.name: floor.job.text for floor in state.jobs.floors if is_begun(floor.job)})
        for least in EFFORTS[EFFORTS.index(effort):]:
            for had, job in self._known:
                if had == (least, asked):
                    return replace(job, state=state, troubles=tuple(dict.fromkeys((*state.troubles, *job.troubles))))
        job = self._planning.run(planned_apart, state, effort, staying)
        self._known = [((effort, asked), job), *self._known[: _KEPT - 1]]
        return job


def _with_amounts(together: dict[str, Any] | None) -> dict[str, Any] | None:
    """What the flat takes, every line of its shopping with how many in words: "1 roll", not "1 rolls"."""
    from printpack.units import NO_BREAK, how_many
    if together is None:
        return None
    return together | {"shopping": [
        line | {"amount": how_many(line["quantity"], line["unit"]).replace(NO_BREAK, " ")}
        for line in together["shopping"]]}


def planned_apart(state: FlatState, effort: str, staying: frozenset[str]) -> FlatJob:
    """What the other process does."""
    from desk.actions.flat.planning import plan_house
    return plan_house(state, effort, staying)

