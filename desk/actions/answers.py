"""What the commands answer to other programs: plain data for JSON, as the contract of the commands has it.

Lengths mm, areas m2, angles degrees (they are radians inside). Nothing here is computed; a number that is not finite is
a fault of this program and is refused rather than written.
"""
from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Iterable
from typing import Any, cast

from capture.adjustment.survey import Advice, PhotoFit, Reading, Survey
from capture.mends import Mend, mends_of, mends_of_note
from capture.readings.table import UNITS
from capture.words import mend_words, unseen_words
from desk.jobfile.answer_schema import (
    AdviceShape, Another, MendableShape, MendShape, PhotoFitShape, PointShape, ReadingShape, SurveyShape, UnseenShape)
from desk.jobfile.job import Job
from desk.checks.seen_order import seen_order
from desk.checks.unseen import unseen_of
from desk.problem import Problem


def survey_answer(survey: Survey, job: Job) -> SurveyShape:
    """The `survey --json` object."""
    floor = survey.floor
    area_mm2, pm95_mm2 = floor.area()
    return {"format": "tapegroove-survey", "version": 1, "title": job.title,
            "points": {name: _point(survey, name) for name in floor.names},
            "walls": [{"from": w.a, "to": w.b, "length": w.length_mm, "pm95": w.pm95_mm} for w in floor.walls()],
            "outline": list(floor.outline), "islands": [{"name": island.name, "corners": list(island.corners)}
                                                        for island in floor.islands], "gauge": floor.gauge,
            "area_m2": area_mm2 / 1e6, "area_pm95": pm95_mm2 / 1e6,
            **_another(survey),
            "readings": [_reading(reading) for reading in survey.readings],
            "suspects": [_suspect(reading, survey, job) for reading in survey.suspects],
            "next": [_advice(advice) for advice in survey.advice], "unseen": _unseen_in(survey, job),
            "sigma0": survey.sigma0,
            "redundancy": survey.redundancy, "photos": [_photo(photo) for photo in survey.photos],
            "verdict": survey.verdict, "warnings": list(survey.warnings), "mendable": _mendable(survey, job),
            "bows": [{"from": bow.a, "to": bow.b, "points": list(bow.points), "at": bow.at, "off": bow.off_mm,
                      "pm95": bow.pm95_mm, "says": bow.says} for bow in survey.bows],}


def _another(survey: Survey) -> Another:
    """Where the points are in another floor that fits almost as well; nothing where there is none."""
    if survey.rival_mm is None:
        return {}
    return {"another": {name: (float(x), float(y)) for name, (x, y) in zip(survey.floor.names, survey.rival_mm)}}


def unseen_answer(job: Job) -> list[UnseenShape]:
    """Walls that no reading shows, each with its question: the floor is a guess there."""
    return [{"wall": list(wall), "says": unseen_words(wall)} for wall in unseen_of(job)]


def _unseen_in(survey: Survey, job: Job) -> list[UnseenShape]:
    """The same of a floor that is known, with the order of the corners that would leave none."""
    unseen = unseen_answer(job)
    order = seen_order(job, survey.floor) if unseen else None
    return [{**wall, "mends": [_mend(order, job.show)]} for wall in unseen] if order is not None else unseen


def problems_answer(problems: Iterable[Problem]) -> dict[str, Any]:
    """What `check --json` says, and what every command says with `--json` when it cannot do its work."""
    listed = [{"severity": p.severity, "stage": p.stage, "slug": p.slug, "where": p.where, "says": p.says}
              | ({"mends": mends_answer(p.mends)} if p.mends else {}) for p in problems]
    return {"format": "tapegroove-problems", "version": 1, "ok": not any(p["severity"] == "stop" for p in listed),
            "problems": listed}


def to_json(answer: Any) -> str:
    """One JSON object as text, in plain letters that any terminal can carry. Raises ValueError for a number that is
    not finite."""
    return json.dumps(answer, allow_nan=False)


def _point(survey: Survey, name: str) -> PointShape:
    x, y = survey.floor.at(name)
    return {"x": float(x), "y": float(y), "cov": survey.floor.covariance((name,)).tolist()}


def _reading(reading: Reading) -> ReadingShape:
    """One reading; `between` holds the names it concerns, two for a tape length, point and wall for a distance off a
    wall."""
    unit = UNITS.get(reading.kind, "")
    turn = math.degrees if unit == "deg" else float
    answer: ReadingShape = {
        "kind": reading.kind, "between": list(reading.names),
        "value": turn(reading.value), "residual": turn(reading.residual), "sd": turn(reading.sd), "unit": unit,
        "w": float(reading.w), "redundancy": float(reading.redundancy), "suspect": bool(reading.suspect),
        "says": reading.says, "where": reading.where,
    }
    if reading.photo:
        answer["photo"] = reading.photo
    return answer


def _suspect(reading: Reading, survey: Survey, job: Job) -> ReadingShape:
    """A reading to check, with what would put it right."""
    mends = mends_of(reading, survey.suspects, job.show)
    return _reading(reading) | {"mends": [_mend(mend, job.show) for mend in mends]} if mends else _reading(reading)


def _mendable(survey: Survey, job: Job) -> list[MendableShape]:
    """Warnings with the change that each asks about."""
    asked = ((says, mends_of_note(note, job.outline)) for note, says in zip(survey.notes, survey.warnings))
    return [{"says": says, "mends": [_mend(mend, job.show) for mend in mends]} for says, mends in asked if mends]


def mends_answer(mends: Iterable[Mend]) -> list[MendShape]:
    """Changes that would put right a job that cannot be surveyed or planned as it stands: none of them has a length."""
    return [_mend(mend, "metric") for mend in mends]


def _mend(mend: Mend, show: str) -> MendShape:
    told = {field.name: getattr(mend, field.name) for field in dataclasses.fields(mend)}
    return cast(MendShape, {"do": mend.slug, "says": mend_words(mend, show)} | told)


def _advice(advice: Advice) -> AdviceShape:
    return {"between": [advice.a, advice.b], "gain": advice.gain_mm, "says": advice.says}


def _photo(photo: PhotoFit) -> PhotoFitShape:
    return {"file": photo.photo, "focal_px": photo.focal_px, "k1": photo.k1, "k2": photo.k2, "rms_px": photo.rms_px}
