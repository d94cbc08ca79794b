"""The surveyed floor a kept plan was made for, as it stands under `plan.kept`: written, and read back key by key.

What it was to be doubted for is kept as facts and worded when it is told (`capture.words`). A survey kept by an earlier
version of this program told that in sentences: it is read without.
"""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from capture.adjustment.notes import Note, Standing
from capture.adjustment.straightness import Bow
from capture.adjustment.survey import Advice, Reading, Survey
from capture.floor import Floor, Island
from capture.language.messages import lazy_gettext
from capture.readings.findings import Doubt, Finding
from layout.planfile.declared import Codec, Declaration, kinds_of, many_of, tagged
from layout.planfile.reader import Reader, damaged, number_in, shown

#: Points of a floor with a name; their covariance has the square of four times as many numbers.
MOST_POINTS = 1000


def _codec() -> Codec:
    """A doubt is of another finding, never of a doubt."""
    forms: dict[Any, Any] = {}
    codec = Codec(Declaration(keys={}, forms=forms))
    forms[Doubt, "how"] = tagged({slug: codec.form(each) for slug, each in kinds_of(Finding).items()
                                  if each is not Doubt})
    return codec


_CODEC = _codec()
_DOUBTS = {"suspects": many_of(_CODEC.form(Reading)), "next": many_of(_CODEC.form(Advice)),
           "notes": many_of(_CODEC.form(Note)), "bows": many_of(_CODEC.form(Bow))}
_STANDING = _CODEC.form(Standing)
#: All readings of a survey, as they are kept beside a job.
READINGS = many_of(_CODEC.form(Reading))


def survey_tree(survey: Survey) -> dict[str, Any]:
    """A survey as it is kept: the floor with its covariance, and what it was to be doubted for, without a sentence."""
    floor = survey.floor
    told = {"names": list(floor.names), "points": floor.points_mm.tolist(), "cov": floor.cov_mm2.tolist(),
            "outline": list(floor.outline), "islands": [{"name": island.name, "corners": list(island.corners)}
                                                        for island in floor.islands], "gauge": floor.gauge}
    facts: dict[str, Any] = {
        "suspects": [replace(reading, says="") for reading in survey.suspects],
        "next": [replace(advice, says="") for advice in survey.advice[:1]],
        "bows": [replace(bow, says="") for bow in survey.bows], "notes": survey.notes,
    }
    standing = {} if survey.standing is None else {"standing": _STANDING.write(survey.standing)}
    return {"floor": told} | standing | {key: _DOUBTS[key].write(value) for key, value in facts.items()}


def tells_doubts(kept: Mapping[str, Any]) -> bool:
    """Whether a kept survey tells what it was to be doubted for."""
    return "notes" in kept


def read_survey(kept: Reader) -> Survey:
    """The survey of a kept plan, not yet worded. Raises LayoutError (damaged-plan), naming the first key that is
    amiss."""
    floor = _floor(kept.inner("floor"))
    if not tells_doubts(kept.data):
        return Survey(floor=floor)
    suspects, advice, notes, bows = (_DOUBTS[key].read(kept.raw(key), f"{kept.where}.{key}")
                                     for key in ("suspects", "next", "notes", "bows"))
    standing = _STANDING.read(kept.raw("standing"), f"{kept.where}.standing") if "standing" in kept.data else None
    return Survey(floor=floor, suspects=suspects, advice=advice, notes=notes, bows=bows, standing=standing)


def _floor(r: Reader) -> Floor:
    names = r.texts("names")
    if not 3 <= len(names) <= MOST_POINTS or len(set(names)) < len(names):
        raise damaged(f"{r.where}.names", lazy_gettext(
            "is {value}, not 3 to {most} names, each once", value=shown(names), most=MOST_POINTS))
    points = r.ring("points")
    if len(points) != len(names):
        raise damaged(f"{r.where}.points", lazy_gettext(
            "has {places} places for {names} names", places=len(points), names=len(names)))
    outline = _corners(r, "outline", names)
    islands = r.each("islands", lambda one: Island(name=one.text("name"), corners=_corners(one, "corners", names)))
    return Floor(names=names, points_mm=np.array(points), cov_mm2=_covariance(r, 2 * len(names)), outline=outline,
                 islands=islands, gauge=r.text("gauge"))


def _corners(r: Reader, key: str, names: tuple[str, ...]) -> tuple[str, ...]:
    corners = r.texts(key)
    strange = next((name for name in corners if name not in names), None)
    if strange is not None:
        raise damaged(f"{r.where}.{key}", lazy_gettext(
            "names {name}, which is no point of the kept floor", name=shown(strange)))
    if len(corners) < 3 or len(set(corners)) < len(corners):
        raise damaged(f"{r.where}.{key}", lazy_gettext(
            "is {value}, but it must be 3 corners or more, each once", value=shown(corners)))
    return corners


def _covariance(r: Reader, size: int) -> np.ndarray:
    """A square table of numbers, the same on both sides of its diagonal, no spread below zero."""
    rows = [[number_in(*member) for member in Reader({"row": row}, where).items("row")]
            for row, where in r.items("cov")]
    if len(rows) != size or any(len(row) != size for row in rows):
        raise damaged(f"{r.where}.cov", lazy_gettext("is not a table of {size} rows of {size} numbers", size=size))
    cov = np.array(rows, dtype=np.float64)
    if not np.allclose(cov, cov.T, rtol=1e-6, atol=1e-6) or (np.diag(cov) < 0.0).any():
        raise damaged(f"{r.where}.cov", lazy_gettext(
            "is no covariance: its two halves differ, or a spread is below zero"))
    return cov
